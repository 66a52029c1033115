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
