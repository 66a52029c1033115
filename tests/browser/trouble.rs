//! When something fails: the page says so at once, shows nothing old as new, and finds back by itself.

use crate::browser::{Driver, PHONE, Page, TABLET, block_on, job, play};
use crate::recording::{WHEEL, pulls, with};
use crate::rig::Rig;
use serde_json::{Value, json};
use std::process::Command;
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
        assert!(page.text("band").await.contains("NO ANSWER"));
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

/// Whether an alarm is where nothing can cover it: what is met at its middle is itself.
const ON_TOP: &str = "
    const band = document.getElementById('band');
    const box = band.getBoundingClientRect();
    const met = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
    return !band.hidden && box.top >= 0 && box.bottom <= innerHeight && band.contains(met)";

fn lost(adapters: &[(&str, &str)]) -> Value {
    let told = adapters.iter().map(|(id, link)| json!({"id": id, "serial": id, "link": link}));
    json!({"adapters": told.collect::<Vec<_>>()})
}

#[test]
fn a_link_that_is_lost_in_a_pull_is_told_at_once_even_beside_another() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(WHEEL);
        let page = driver.page_with(&rig, TABLET, json!({"voice": "on"})).await;
        page.watch().await;
        page.tap("#answer").await;
        let recording = with(
            &pulls(&[(4.0, 121.0)]),
            &[
                json!({"kind": "adapter", "t": 0.0, "adapter": "small", "serial": "KB-2204",
                    "drive": "3/8\"", "range_nm": [6, 60], "accuracy_pct": 1.0, "reports": ["peak"]}),
                json!({"kind": "link", "t": 5.0, "adapter": "large", "state": "lost"}),
                json!({"kind": "link", "t": 14.0, "adapter": "large", "state": "back"}),
            ],
        );
        let served = play(&rig, served, &recording, &page).await;
        let mut stream = served.stream("/v1/events");
        let heard = tokio::task::spawn_blocking(move || {
            let mut last = f64::NAN;
            while stream.next().is_some() {
                let state = stream.state();
                last = state["torque"][0]["at"].as_f64().unwrap_or(last);
                let adapters = state["adapters"].as_array().unwrap();
                if adapters.iter().any(|one| one["id"] == "large" && one["link"] == "lost") {
                    break;
                }
            }
            last / 1000.0
        });
        page.until(
            "there is no reading",
            "return document.body.dataset.phase === 'silent' && window.log.at(-1)[2] > 0",
        )
        .await;
        let drawn = page.drawn("silent", "NO READING").await;
        let took_ms = drawn[0] - heard.await.unwrap();
        println!("from the last sample before the loss to the word on the screen: {took_ms:.0} ms");
        assert!(took_ms < 2000.0, "{took_ms}");
        let band = page.text("band").await;
        assert!(band.contains("LINK LOST") && band.contains("large: "), "{band}");
        assert_eq!(page.text("figure").await, "", "nothing old stands as if it were so now");
        page.picture("no-reading").await;
        let heard = page
            .run(
                "return [window.sounds.filter((one) => one === 520).length, window.spoken]",
                vec![],
            )
            .await;
        assert_eq!(heard[0], 2, "{heard}");
        assert!(heard[1].to_string().contains("Stop. No reading."), "{heard}");
        page.until("it is back", "return document.getElementById('band').hidden && document.body.dataset.phase !== 'silent'").await;
        page.close().await;
    });
}

/// The daemon as a process that lives on when its disk takes nothing more.
fn on_a_small_disk(rig: &Rig, args: &[&str]) -> Command {
    let own = rig.command(args);
    let mut command = Command::new("sh");
    command
        .arg("-c")
        .arg("trap '' XFSZ; exec \"$0\" \"$@\" > /dev/null 2>&1")
        .arg(own.get_program());
    command.args(own.get_args()).current_dir(own.get_current_dir().unwrap());
    let path = std::env::var_os("PATH").unwrap();
    command.env_clear().env("PATH", path);
    command.envs(own.get_envs().filter_map(|(name, value)| Some((name, value?))));
    command
}

/// How much any file of a process may hold, octets.
fn room(process: u32, octets: &str) {
    let limit = Command::new("prlimit")
        .args(["--pid", &process.to_string(), &format!("--fsize={octets}:")])
        .status();
    assert!(limit.expect("prlimit is installed (util-linux)").success());
}

#[test]
fn a_disk_that_takes_nothing_more_is_told_at_once_and_the_reading_is_kept_when_it_does_again() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(WHEEL);
        let page = driver.page(&rig, PHONE).await;
        drop(served);
        let recording = pulls(&[(4.0, 121.0), (10.0, 119.0), (600.0, 120.0)]);
        std::fs::write(rig.path("played.ndjson"), recording).unwrap();
        let args = ["serve", "--adapter", "sim:played.ndjson,speed=1"];
        let served = rig.serve_by(on_a_small_disk(&rig, &args));
        page.until_phase("told").await;
        room(served.child.id(), "1");
        page.until_phase("pull").await;
        page.until("the pull ends", "return document.body.dataset.phase !== 'pull'").await;
        let told = "return !document.getElementById('band').hidden && document.getElementById('band').innerText.includes('NOT KEPT')";
        let took = page.within(AT_ONCE, "nothing is kept", told).await;
        println!("from the end of the pull to the word that it is not kept: {took:?}");
        page.picture("not-kept").await;
        let kept = || serde_json::from_str::<Value>(&served.get("/v1/jobs/1/pulls").1).unwrap();
        assert_eq!(kept().as_array().unwrap().len(), 1);
        room(served.child.id(), "unlimited");
        page.until("it is kept again", "return document.getElementById('band').hidden").await;
        assert_eq!(kept().as_array().unwrap().len(), 2, "the reading came again, and was kept");
        page.close().await;
    });
}

#[test]
fn alarms_are_seen_over_the_menu_and_however_far_a_list_is_scrolled() {
    block_on(async {
        let driver = Driver::start().await;
        for screen in [PHONE, TABLET] {
            let (rig, _served) = job(WHEEL);
            let page = driver.page(&rig, screen).await;
            page.intercept().await;
            page.feed(lost(&[("large", "lost"), ("small", "back")])).await;
            page.tap("#menu-open").await;
            page.within(AT_ONCE, "an alarm over the menu", ON_TOP).await;
            page.picture("alarm-over-menu").await;
            page.tap_text("Whole job").await;
            page.until("the list", "return document.querySelectorAll('#job article').length >= 1")
                .await;
            page.run("scrollTo(0, document.body.scrollHeight)", vec![]).await;
            page.within(AT_ONCE, "an alarm over the list", ON_TOP).await;
            assert!(page.run("return scrollY > 0", vec![]).await == json!(true), "it is scrolled");
            page.close().await;
        }
    });
}

#[test]
fn what_is_over_closes_the_menu_and_comes_back_to_the_work() {
    block_on(async {
        let driver = Driver::start().await;
        let (rig, served) = job(WHEEL);
        let page = driver.page_with(&rig, PHONE, json!({"voice": "on"})).await;
        page.watch().await;
        page.tap("#answer").await;
        let each = [(5.0, 100.0), (11.0, 141.0), (20.0, 143.0)];
        let _served = play(&rig, served, &pulls(&each), &page).await;
        page.tap("#menu-open").await;
        let there = "return document.body.dataset.how === 'over' && document.body.dataset.view === 'now' && document.getElementById('menu').hidden && document.getElementById('word').innerText === 'OVER'";
        page.until("over, and not behind the menu", there).await;
        page.until("it is judged", "return document.body.dataset.phase === 'warned'").await;
        page.tap("#answer").await;
        page.tap("#menu-open").await;
        page.tap_text("Whole job").await;
        page.until(
            "the warning can be found again",
            "return document.querySelectorAll('#job .warnings li').length >= 1",
        )
        .await;
        page.until("over, and not beside the list", there).await;
        let heard = page.run("return [window.sounds, window.spoken]", vec![]).await;
        let sounds: Vec<f64> =
            heard[0].as_array().unwrap().iter().map(|one| one.as_f64().unwrap()).collect();
        let rhythm =
            |wanted: &[f64]| sounds.windows(wanted.len()).filter(|some| *some == wanted).count();
        assert!(rhythm(&[800.0, 1200.0, 800.0]) >= 2, "over: {sounds:?}");
        assert_eq!(rhythm(&[700.0, 950.0]), 1, "more: {sounds:?}");
        let spoken = heard[1].to_string();
        assert!(spoken.contains("Stop. Over. 1 "), "{spoken}");
        assert_eq!(spoken.matches("More.").count(), 1, "to a hand that rests: {spoken}");
        page.close().await;
    });
}
