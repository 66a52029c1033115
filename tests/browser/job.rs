//! A whole job, from the first pull to the report.

use crate::browser::{Driver, PHONE, TABLET, block_on, job, play};
use crate::recording::{WHEEL, pulls};
use serde_json::json;
use std::time::Duration;

#[test]
fn a_wheel_is_pulled_shown_closed_and_reported() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(WHEEL);
        let page = driver.page_with(&rig, TABLET, json!({"voice": "on"})).await;
        page.watch().await;
        assert_eq!(page.text("answer").await, "SOUND OFF: tap");
        page.tap("#answer").await;
        page.until(
            "sound is on",
            "return document.getElementById('sound').innerText === 'sound on'",
        )
        .await;
        assert_eq!(page.text("group").await, "Front left wheel");
        assert_eq!(page.text("head").await, "1");
        assert_eq!(page.text("word").await, "120 N·m");
        page.picture("next").await;
        let recording =
            pulls(&[(4.0, 121.0), (9.0, 119.0), (14.0, 122.0), (19.0, 118.0), (24.0, 120.0)]);
        let _served = play(&rig, served, &recording, &page).await;
        page.until_phase("pull").await;
        page.picture("pull").await;
        page.until("the pull is told", "return document.body.dataset.phase === 'told' && document.getElementById('word').innerText === 'REACHED'").await;
        assert_eq!(page.text("figure").await.replace('\n', ""), "121.0");
        page.picture("told").await;
        page.within(
            Duration::from_secs(60),
            "nothing is open",
            "return document.body.dataset.phase === 'done'",
        )
        .await;
        page.picture("done").await;
        let log = page.run("return window.log", Vec::new()).await;
        let words: Vec<&str> =
            log.as_array().unwrap().iter().filter_map(|one| one[1].as_str()).collect();
        let times = |word: &str| words.iter().filter(|one| **one == word).count();
        assert!(times("PULL") >= 5 && times("REACHED") >= 5, "{words:?}");
        assert_eq!((times("OVER"), times("LOOK")), (0, 0), "{words:?}");
        let sounds = page.run("return window.sounds", Vec::new()).await;
        let heard = |hertz: f64| {
            sounds.as_array().unwrap().iter().filter(|one| one.as_f64() == Some(hertz)).count()
        };
        // One when it was armed, and one a pull; two for each time that it was enough.
        assert_eq!((heard(1500.0), heard(1900.0)), (6, 10), "{sounds}");
        let spoken = page.run("return window.spoken", Vec::new()).await;
        assert!(spoken.to_string().contains("Accepted. 1 2 1. Next: 3."), "{spoken}");
        page.tap("#menu-open").await;
        page.tap_text("Whole job").await;
        page.until(
            "five pulls with traces",
            "return document.querySelectorAll('#job .pull .trace').length === 5",
        )
        .await;
        page.picture("job").await;
        page.tap_text("Close the job").await;
        page.until(
            "it is closed",
            "return document.querySelector('#job h2')?.innerText === 'NO JOB'",
        )
        .await;
        page.stayed_here().await;
        page.tap_text("Report").await;
        page.until(
            "the report",
            "return document.title !== 'Clampbook' && document.body.innerText.includes('121.0')",
        )
        .await;
        page.close().await;
    });
}

#[test]
fn what_is_over_is_told_while_the_pull_is_on_and_stays_until_it_was_seen() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(WHEEL);
        let page = driver.page(&rig, PHONE).await;
        let _served = play(&rig, served, &pulls(&[(4.0, 141.0)]), &page).await;
        page.until("it is over", "return document.body.dataset.how === 'over'").await;
        page.picture("over-in-the-pull").await;
        page.until("it is judged", "return document.body.dataset.phase === 'warned'").await;
        assert_eq!(page.text("word").await, "OVER");
        assert!(page.text("say").await.starts_with("Stop. front-left-wheel/1 is over: 141.0 N·m"));
        page.picture("over").await;
        page.tap("#answer").await;
        page.until("it was seen", "return document.body.dataset.phase !== 'warned'").await;
        let suspect =
            page.run("return document.querySelectorAll('.member.suspect').length", vec![]).await;
        assert_eq!(suspect, 1, "a suspect stays one");
        page.close().await;
    });
}
