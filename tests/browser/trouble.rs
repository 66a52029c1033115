//! When something fails: the page says so at once, shows nothing old as new, and finds back by itself.

use crate::browser::{Driver, PHONE, Page, TABLET, block_on, job, play};
use crate::recording::{WHEEL, pulls};
use std::time::Duration;

/// Within so long the page has to say that nobody answers.
const AT_ONCE: Duration = Duration::from_secs(2);

#[test]
fn a_daemon_that_is_killed_is_told_of_at_once_and_found_again() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(WHEEL);
        let page = driver.page(&rig, PHONE).await;
        let recording = pulls(&[(4.0, 121.0), (600.0, 120.0)]);
        let mut served = play(&rig, served, &recording, &page).await;
        page.until_phase("pull").await;
        served.signal("KILL");
        let told = "return document.body.classList.contains('stale') && !document.getElementById('band').hidden";
        let took = page.within(AT_ONCE, "nobody answers", told).await;
        println!("from the end of the daemon to the word on the screen: {took:?}");
        assert!(page.text("band").await.contains("NO CONNECTION"));
        assert_ne!(page.text("word").await, "PULL", "a pull of which nothing is heard is none");
        page.picture("gone").await;
        let _served = rig.serve(&["--adapter", "sim:played.ndjson,speed=1"]);
        page.until("it is found again", "return !document.body.classList.contains('stale') && document.getElementById('band').hidden").await;
        page.close().await;
    });
}

#[test]
fn a_screen_that_is_shut_out_says_so() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, _served) = job(WHEEL);
        let page = driver.page(&rig, TABLET).await;
        assert!(rig.output(&["page", "--shut-out", "1"]).status.success());
        page.until(
            "it is shut out",
            "return document.getElementById('band').innerText.includes('SHUT OUT')",
        )
        .await;
        page.picture("shut-out").await;
        page.close().await;
    });
}

#[test]
fn a_stranger_is_told_how_to_be_let_in_and_a_key_that_was_used_is_refused() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, _served) = job(WHEEL);
        let link = String::from_utf8(rig.output(&["page"]).stdout).unwrap();
        let client = driver.browser(PHONE).await;
        client.goto(link.trim()).await.unwrap();
        let page = Page { client, screen: PHONE, origin: String::new() };
        page.until("it is let in", "return location.pathname === '/'").await;
        page.client.delete_all_cookies().await.unwrap();
        page.client.goto("about:blank").await.unwrap();
        page.client.goto(link.trim()).await.unwrap();
        page.until("it is refused", "return document.getElementById('refused').innerText.includes('The key lets nobody in')").await;
        page.picture("refused").await;
        page.close().await;
    });
}
