//! What a screen says in its own language, and what is kept with its name.

use crate::browser::{Driver, PHONE, TABLET, TABLET_UPRIGHT, block_on, job, play};
use crate::recording::{WHEEL, pulls};
use fantoccini::Locator;
use serde_json::json;
use std::fs;

/// One pixel.
const PNG: &[u8] = b"\x89PNG\x0d\x0a\x1a\x0a\x00\x00\x00\x0dIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x00\x00\x00\x00:~\x9bU\x00\x00\x00\x0aIDATx\x9cch\x00\x00\x00\x82\x00\x81w\xcdr\xb6\x00\x00\x00\x00IEND\xaeB`\x82";

#[test]
fn a_warning_is_told_in_the_language_of_the_screen() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(WHEEL);
        let page = driver.page_with(&rig, TABLET, json!({"language": "de"})).await;
        let _served = play(&rig, served, &pulls(&[(4.0, 141.0)]), &page).await;
        page.until_phase("warned").await;
        let told = page.text("say").await;
        let expected = "Halt. front-left-wheel/1 ist zu fest angezogen: 141,0 N·m, gefordert ist 108,0–132,0 N·m. ";
        assert!(told.starts_with(expected), "{told}");
        page.picture("warned-german").await;
        page.close().await;
    });
}

#[test]
fn what_is_said_and_photographed_is_kept_with_the_name_of_the_screen() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, _served) = job(WHEEL);
        let page = driver.page(&rig, PHONE).await;
        page.tap("#menu-open").await;
        page.tap_text("Settings").await;
        page.until("it has a name", "return Boolean(document.getElementById('screen-name'))").await;
        let name = page.find("#screen-name").await;
        // All of it is marked and written over: an empty name would be told of as soon as it is one.
        name.send_keys("\u{E009}a\u{E000}Ada\u{E007}").await.unwrap();
        page.until(
            "it is called so",
            "return document.getElementById('settings').innerText.includes(': Ada ·')",
        )
        .await;
        page.picture("screen-name").await;
        page.tap_text("Now").await;
        page.tap("#menu-open").await;
        page.tap_text("I am at …").await;
        page.tap_text("3").await;
        page.tap("#menu-open").await;
        page.tap_text("Take a photo").await;
        page.picture("photo-of-what").await;
        page.tap_text("Front left wheel").await;
        let file = rig.path("seen.png");
        fs::write(&file, PNG).unwrap();
        let input = page.client.find(Locator::Css("#photo-file")).await.unwrap();
        input.send_keys(file.to_str().unwrap()).await.unwrap();
        page.until(
            "it is kept",
            "return document.getElementById('notice').innerText === 'Photo kept'",
        )
        .await;
        page.tap("#menu-open").await;
        page.tap_text("Whole job").await;
        page.until("the photo is shown", "return [...document.querySelectorAll('#job .photos img')].some((one) => one.complete && one.naturalWidth === 1)").await;
        let told = page.text("job").await;
        assert!(told.contains("I am at … Front left wheel 3 (Ada)"), "{told}");
        assert!(told.contains("Front left wheel (Ada)"), "{told}");
        page.picture("said-and-seen").await;
        page.stayed_here().await;
        page.close().await;
        let wide = driver.page(&rig, TABLET_UPRIGHT).await;
        wide.tap("#menu-open").await;
        wide.picture("menu").await;
        wide.close().await;
    });
}
