//! Answers without hands, values, marks, and several who watch.

use crate::browser::{Driver, PHONE, TABLET, TABLET_UPRIGHT, block_on, job};
use crate::recording::{HELD, WHEEL};

const ENTER: &str = "\u{E007}";
const PAGE_DOWN: &str = "\u{E00F}";
const BACKSPACE: &str = "\u{E003}";
const ESCAPE: &str = "\u{E00C}";

#[test]
fn keys_and_pedals_answer_take_back_and_type() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, _served) = job(HELD);
        let page = driver.page(&rig, TABLET_UPRIGHT).await;
        page.until_phase("hold").await;
        assert_eq!(page.text("say").await, "Hub to arch 512 ± 5 mm, supported under the knuckle?");
        page.picture("hold").await;
        page.key(PAGE_DOWN).await;
        page.until_phase("next").await;
        page.key(BACKSPACE).await;
        page.until_phase("hold").await;
        page.key(ENTER).await;
        page.until_phase("next").await;
        assert_eq!(page.text("group").await, "Trailing arm pivot");
        for key in ["1", "7", "9"] {
            page.key(key).await;
        }
        page.picture("keypad").await;
        page.key(ENTER).await;
        page.until(
            "the value counts",
            "return document.getElementById('word').innerText === 'REACHED'",
        )
        .await;
        page.until(
            "the next is due",
            "return document.getElementById('group').innerText === 'Damper eye'",
        )
        .await;
        page.key("9").await;
        page.key(ESCAPE).await;
        page.until("the keypad has gone", "return document.getElementById('menu').hidden").await;
        page.close().await;
    });
}

#[test]
fn a_pedal_that_the_page_was_taught_answers_and_is_kept_as_a_pedal() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(HELD);
        let page = driver.page(&rig, TABLET).await;
        page.until_phase("hold").await;
        page.tap("#menu-open").await;
        page.tap_text("Settings").await;
        page.tap("#pedal").await;
        page.key("b").await;
        page.until("it is known", "return document.getElementById('pedal').value === 'b'").await;
        page.tap_text("Now").await;
        page.until_phase("hold").await;
        page.key("b").await;
        page.until_phase("next").await;
        page.key(BACKSPACE).await;
        page.until_phase("hold").await;
        page.key(ENTER).await;
        page.until_phase("next").await;
        let marks: serde_json::Value =
            serde_json::from_str(&served.get("/v1/jobs/1/marks").1).unwrap();
        let said = marks.as_array().unwrap().iter();
        let said: Vec<(&str, &str)> = said
            .map(|mark| (mark["said"]["say"].as_str().unwrap(), mark["origin"].as_str().unwrap()))
            .collect();
        assert_eq!(said, [("confirm", "pedal"), ("retract", "page"), ("confirm", "page")]);
        page.close().await;
    });
}

#[test]
fn two_who_watch_see_the_same_and_marks_are_one_tap_away() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, _served) = job(WHEEL);
        let one = driver.page(&rig, PHONE).await;
        let other = driver.page(&rig, TABLET).await;
        one.tap("#menu-open").await;
        one.picture("menu").await;
        one.tap_text("I am at …").await;
        one.picture("which").await;
        one.tap_text("4").await;
        for page in [&one, &other] {
            page.until("both are at 4", "return document.getElementById('head').innerText === '4'")
                .await;
        }
        other.tap("#back").await;
        for page in [&one, &other] {
            page.until(
                "both are at 1 again",
                "return document.getElementById('head').innerText === '1'",
            )
            .await;
        }
        let said = "return [...document.querySelectorAll('#group, #pass, #head, #word, #say')].map((one) => one.innerText).join('|')";
        assert_eq!(one.run(said, vec![]).await, other.run(said, vec![]).await);
        let listed = rig.output(&["page", "--list"]).stdout;
        assert_eq!(String::from_utf8(listed).unwrap().lines().count(), 2);
        one.close().await;
        other.close().await;
    });
}
