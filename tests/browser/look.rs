//! How the page looks: heights of letters at the distance that it is seen from, contrast, targets, and what a
//! checker of accessibility finds. Figures: ISO 9241-303 (16 minutes of arc at least) and WCAG 2.2 (7 to 1).

use crate::browser::{
    Driver, PHONE, PHONE_ACROSS, Page, Screen, TABLET, TABLET_UPRIGHT, block_on, job, play,
};
use crate::recording::{HELD, WHEEL, pulls};
use crate::rig::Rig;
use serde_json::{Value, json};

const SCREENS: [Screen; 4] = [PHONE, PHONE_ACROSS, TABLET, TABLET_UPRIGHT];

/// Height of capitals of a part, in minutes of arc at the distance of the settings.
const HEIGHT: &str = "
    const node = document.querySelector(arguments[0]);
    const style = getComputedStyle(node);
    const minute = parseFloat(getComputedStyle(document.documentElement).getPropertyValue('--minute'));
    return parseFloat(style.fontSize) * 0.72 / minute;
";

/// Every text that can be seen, with its contrast, if that is below the limit.
const FAINT: &str = "
    const limit = arguments[0];
    const rgb = (text) => {
      const parts = text.match(/[\\d.]+/g).map(Number);
      return { r: parts[0], g: parts[1], b: parts[2], a: parts.length > 3 ? parts[3] : 1 };
    };
    const light = ({ r, g, b }) => {
      const [x, y, z] = [r, g, b].map((one) => {
        const part = one / 255;
        return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
      });
      return 0.2126 * x + 0.7152 * y + 0.0722 * z;
    };
    const ground = (node) => {
      for (let one = node; one; one = one.parentElement) {
        const colour = rgb(getComputedStyle(one).backgroundColor);
        if (colour.a > 0) return colour;
      }
      return { r: 255, g: 255, b: 255, a: 1 };
    };
    const found = [];
    let seen = 0;
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const node = walker.currentNode.parentElement;
      const box = node.getBoundingClientRect();
      const isShown = walker.currentNode.textContent.trim() && box.width > 0 && box.height > 0;
      // Digits in a fastener stand on its own shape; those pairs are the same as on the ground.
      if (!isShown || node.closest('svg') || node.closest('option')) continue;
      seen += 1;
      const [a, b] = [light(rgb(getComputedStyle(node).color)), light(ground(node))];
      const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
      if (contrast < limit) found.push(`${contrast.toFixed(1)} ${node.id} ${walker.currentNode.textContent}`);
    }
    return [seen, found];
";

/// Whatever is tapped and is smaller than fingers in gloves need, or nearer to another: 20 mm, and 5 mm apart. On a
/// phone three keys of a keypad stand beside each other, with what is left between them.
const SMALL: &str = "
    const mm = parseFloat(getComputedStyle(document.documentElement).getPropertyValue('--mm'));
    const targets = [...document.querySelectorAll('button, a.button, select, input')]
      .filter((one) => one.checkVisibility())
      .map((one) => ({ one, key: one.closest('.keys'), text: one.innerText.slice(0, 20) || one.id || one.type, box: one.getBoundingClientRect() }));
    const found = targets
      .filter(({ box, key }) => box.height < 19.9 * mm || box.width < (key ? 18.9 : 19.9) * mm)
      .map(({ text, box }) => `${text} ${(box.width / mm).toFixed(1)} x ${(box.height / mm).toFixed(1)} mm`);
    const shown = ({ one }) => document.getElementById('menu').hidden || one.closest('#menu');
    const seen = targets.filter(shown);
    seen.forEach((a, index) => seen.slice(index + 1).forEach((b) => {
      if (a.key && a.key === b.key) return;
      const across = Math.max(a.box.left - b.box.right, b.box.left - a.box.right);
      const down = Math.max(a.box.top - b.box.bottom, b.box.top - a.box.bottom);
      const apart = Math.max(across, down) / mm;
      if (apart < arguments[0]) found.push(`${a.text} and ${b.text} ${apart.toFixed(1)} mm apart`);
    }));
    return found;
";

/// Parts that stick out of the working view, which does not scroll.
const OUTSIDE: &str = "
    return [...document.querySelectorAll('#now > *, #bar > *, #strip > *')]
      .filter((one) => one.offsetParent)
      .filter((one) => {
        const box = one.getBoundingClientRect();
        return box.bottom > innerHeight + 1 || box.right > innerWidth + 1 || box.left < -1 || box.top < -1;
      })
      .map((one) => one.id);
";

/// Texts set as large as their box allows of which something is cut off, above or below: by how much of the size.
const CUT: &str = "
    const context = document.createElement('canvas').getContext('2d');
    return ['group', 'figure', 'word']
      .map((id) => document.getElementById(id))
      .filter((box) => box.checkVisibility() && box.innerText.trim())
      .map((box) => {
        const text = box.querySelector('.glyphs');
        const style = getComputedStyle(text);
        context.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
        const told = context.measureText(text.innerText);
        const [size, line] = [parseFloat(style.fontSize), parseFloat(style.lineHeight)];
        const [outer, inner] = [box.getBoundingClientRect(), text.getBoundingClientRect()];
        const rest = (line - told.fontBoundingBoxAscent - told.fontBoundingBoxDescent) / 2;
        const first = inner.top + rest + told.fontBoundingBoxAscent;
        const last = inner.bottom - rest - told.fontBoundingBoxDescent;
        const above = outer.top - (first - told.actualBoundingBoxAscent);
        const below = last + told.actualBoundingBoxDescent - outer.bottom;
        return [Math.max(above, below) / size, `${box.id} ${text.innerText}`];
      })
      .filter(([by]) => by > 0.04)
      .map(([by, what]) => `${what}: ${by.toFixed(2)}`);
";

async fn height(page: &Page, css: &str) -> f64 {
    page.run(HEIGHT, vec![json!(css)]).await.as_f64().unwrap()
}

/// What has to hold for every view, at any time.
async fn holds(page: &Page, what: &str) {
    let found = page.run(FAINT, vec![json!(7.0)]).await;
    let (seen, faint) = (&found[0], &found[1]);
    assert!(seen.as_u64().unwrap() > 2, "{what}: texts are found");
    assert_eq!(*faint, json!([]), "{what} on {}", page.screen.name);
    let name = page.screen.name;
    assert_eq!(page.run(SMALL, vec![json!(4.9)]).await, json!([]), "{what} on {name}");
    assert_eq!(page.run(CUT, vec![]).await, json!([]), "{what} on {name}");
    assert_eq!(page.run(OUTSIDE, vec![]).await, json!([]), "{what} on {name}");
    accessible(page, what).await;
}

/// What axe-core finds, if its file is there.
async fn accessible(page: &Page, what: &str) {
    let Some(file) = std::env::var_os("CLAMPBOOK_AXE") else {
        println!("CLAMPBOOK_AXE names no file: axe-core was left out");
        return;
    };
    let axe = std::fs::read_to_string(file).unwrap();
    page.run(&format!("if (!window.axe) {{ {axe} }}"), vec![]).await;
    let check = "const done = arguments[arguments.length - 1];
        axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice']})
          .then((told) => done(told.violations.map((one) =>
            `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 120)).join(' | ')}`)));";
    let found = page.client.execute_async(check, Vec::new()).await.unwrap();
    assert_eq!(found, json!([]), "{what} on {}", page.screen.name);
}

#[test]
fn letters_are_large_enough_for_their_distance_and_everything_has_contrast() {
    block_on(async {
        let driver = Driver::start().await;
        for screen in SCREENS {
            for light in ["dark", "sunlit"] {
                let (rig, served) = job(WHEEL);
                let page = driver.page_with(&rig, screen, json!({"light": light})).await;
                page.tap("#answer").await;
                page.until_phase("next").await;
                holds(&page, "next").await;
                page.picture(&format!("next-{light}")).await;
                let (number, words) =
                    (height(&page, "#figure .glyphs").await, height(&page, "#word .glyphs").await);
                println!("{} {light}: next {number:.0}', its value {words:.0}'", screen.name);
                assert!(number >= 40.0, "{number} on {}", screen.name);
                let recording = pulls(&[(4.0, 98.0), (600.0, 120.0)]);
                let _served = play(&rig, served, &recording, &page).await;
                page.until_phase("pull").await;
                page.picture(&format!("pull-{light}")).await;
                page.until(
                    "a pull that was not enough",
                    "return document.getElementById('word').innerText === 'MORE'",
                )
                .await;
                holds(&page, "more").await;
                page.picture(&format!("more-{light}")).await;
                let (number, words) =
                    (height(&page, "#figure .glyphs").await, height(&page, "#word .glyphs").await);
                println!("{} {light}: figure {number:.0}', word {words:.0}'", screen.name);
                // Three figures and their decimal fill the width of a phone.
                assert!(number >= 39.0, "{number} on {}", screen.name);
                assert!(words >= 16.0, "{words} on {}", screen.name);
                page.close().await;
            }
        }
    });
}

#[test]
fn questions_lists_settings_and_menus_hold_up_on_every_screen() {
    block_on(async {
        let driver = Driver::start().await;
        for screen in SCREENS {
            let (rig, _served) = job(HELD);
            let page = driver.page_with(&rig, screen, json!({"light": "sunlit"})).await;
            page.until_phase("hold").await;
            holds(&page, "hold").await;
            let words = height(&page, "#word .glyphs").await;
            println!("{}: hold {words:.0}'", screen.name);
            assert!(words >= 16.0, "{words} on {}", screen.name);
            // Fifty letters have no room on a phone at that height; what room there is, they use, and more of it once
            // the sound is on and needs no button.
            let (least, with_sound) = match screen.name {
                "phone" => (9.9, 12.0),
                "phone-across" => (10.3, 10.3),
                _ => (16.0, 16.0),
            };
            let question = height(&page, "#say .lines").await;
            println!("{}: question {question:.1}'", screen.name);
            assert!(question >= least, "{question} on {}", screen.name);
            page.picture("hold").await;
            page.tap("#arm").await;
            page.until("sound is on", "return document.getElementById('arm').hidden").await;
            holds(&page, "hold with sound").await;
            let question = height(&page, "#say .lines").await;
            println!("{}: question with sound {question:.1}'", screen.name);
            assert!(question >= with_sound, "{question} on {}", screen.name);
            page.picture("hold-with-sound").await;
            page.tap("#menu-open").await;
            page.until("the menu", "return !document.getElementById('menu').hidden").await;
            holds(&page, "menu").await;
            page.picture("menu").await;
            page.tap_text("Settings").await;
            page.until(
                "settings",
                "return document.querySelectorAll('#settings select').length >= 5",
            )
            .await;
            holds(&page, "settings").await;
            page.picture("settings").await;
            page.tap_text("Now").await;
            page.tap("#menu-open").await;
            page.tap_text("Whole job").await;
            page.until("the list", "return document.querySelectorAll('#job article').length === 2")
                .await;
            holds(&page, "job").await;
            page.picture("job").await;
            page.close().await;
        }
    });
}

#[test]
fn every_language_fits_and_a_page_without_a_job_says_what_to_do() {
    block_on(async {
        let driver = Driver::start().await;
        for language in ["en", "de", "es", "fr"] {
            let rig = Rig::new().file("plan.toml", HELD);
            let _served = rig.serve(&[]);
            let page = driver.page_with(&rig, PHONE, json!({"language": language})).await;
            page.until_phase("none").await;
            assert_eq!(
                page.run("return document.documentElement.lang", vec![]).await,
                Value::from(language)
            );
            holds(&page, language).await;
            page.picture(&format!("none-{language}")).await;
            let rig = rig.run("job start plan.toml");
            page.until_phase("hold").await;
            holds(&page, language).await;
            page.picture(&format!("hold-{language}")).await;
            drop(rig);
            page.close().await;
        }
    });
}

/// Plans whose first thing to do is something else than a pull.
const TO_LOOK_UP: &str = "plan = \"Hub\"\ntolerance = \"±8 %\"\nsource = \"invented sheet\"\n[joints]\nhub-nut = \"?\"\n";
const BY_HAND: &str = "plan = \"Clip\"\ntolerance = \"±8 %\"\nsource = \"invented sheet\"\n[joints]\nclip = \"none\"\n";
const SHORT: &str = "plan = \"Pivot\"\ntolerance = \"±8 %\"\nsource = \"invented sheet\"\n[holds]\nheight = \"At ride height?\"\n[joints.pivot]\ntarget = \"178 N·m\"\nhold = \"height\"\n";

#[test]
fn trouble_is_read_from_afar_on_every_screen() {
    block_on(async {
        let driver = Driver::start().await;
        let away = json!([{"id": "large", "serial": "KB-1190", "link": "lost"}]);
        let weak = json!([{"wanted": "KB-1190", "serial": "KB-1190", "battery_pct": 7, "last_value": null}]);
        let states = [
            ("LINK LOST", json!({"adapters": away})),
            ("BATTERY LOW", json!({"links": weak})),
            ("NOT KEPT", json!({"trouble": "expected room on the disk, but found it full"})),
        ];
        for (screen, light) in [
            (PHONE, "dark"),
            (PHONE_ACROSS, "dark"),
            (TABLET, "dark"),
            (PHONE, "sunlit"),
            (TABLET, "sunlit"),
        ] {
            let (rig, _served) = job(WHEEL);
            let page = driver.page_with(&rig, screen, json!({"light": light})).await;
            page.tap("#answer").await;
            page.intercept().await;
            for (word, fields) in &states {
                page.feed(fields.clone()).await;
                let told = format!(
                    "return document.getElementById('band-word').innerText.includes('{word}')"
                );
                page.within(std::time::Duration::from_secs(2), word, &told).await;
                holds(&page, word).await;
                let letters = height(&page, "#band-word .lines").await;
                println!("{} {light}: {word} {letters:.1}'", screen.name);
                assert!(letters >= 15.9, "{word} {letters} on {}", screen.name);
                page.picture(&format!("{}-{light}", word.to_lowercase().replace(' ', "-"))).await;
            }
            if screen.name == PHONE.name && light == "dark" {
                page.feed(states[1].1.clone()).await;
                // What can wait leaves the work in view again.
                let small = "return document.getElementById('band').offsetHeight < innerHeight / 5";
                page.within(std::time::Duration::from_secs(20), "less of it", small).await;
                holds(&page, "what can wait").await;
                page.picture("battery-low-later").await;
            }
            page.feed(json!({"torque": [{"adapter": "large", "at": 0, "nm": 60.0,
                "pull": {"peak_nm": 60.0, "reached": false, "over": false}}]}))
                .await;
            page.within(
                std::time::Duration::from_secs(3),
                "no reading",
                "return document.body.dataset.phase === 'silent'",
            )
            .await;
            holds(&page, "no reading").await;
            let letters = height(&page, "#word .glyphs").await;
            println!("{} {light}: NO READING {letters:.1}'", screen.name);
            assert!(letters >= 15.9, "{letters} on {}", screen.name);
            page.picture(&format!("no-reading-{light}")).await;
            page.close().await;
        }
    });
}

#[test]
fn what_is_no_pull_is_as_legible_as_what_is_one() {
    block_on(async {
        let driver = Driver::start().await;
        for (screen, light) in [(PHONE, "dark"), (PHONE_ACROSS, "dark"), (TABLET, "sunlit")] {
            for (name, plan, word) in [
                ("no-value", TO_LOOK_UP, "NO VALUE"),
                ("by-hand", BY_HAND, "BY HAND"),
                ("short-hold", SHORT, "HOLD"),
            ] {
                let (rig, _served) = job(plan);
                let page = driver.page_with(&rig, screen, json!({"light": light})).await;
                page.until(
                    word,
                    &format!("return document.getElementById('word').innerText === '{word}'"),
                )
                .await;
                holds(&page, name).await;
                let letters = height(&page, "#word .glyphs").await;
                println!("{} {light}: {word} {letters:.1}'", screen.name);
                assert!(letters >= 15.9, "{word} {letters} on {}", screen.name);
                if name == "short-hold" {
                    let question = height(&page, "#say .lines").await;
                    println!("{}: a short question {question:.0}'", screen.name);
                    assert!(question >= 16.0, "{question} on {}", screen.name);
                }
                page.picture(&format!("{name}-{light}")).await;
                if name == "no-value" {
                    page.tap("#answer").await;
                    page.until("the keypad", "return Boolean(document.querySelector('.keypad'))")
                        .await;
                    holds(&page, "keypad").await;
                    page.picture(&format!("keypad-{light}")).await;
                }
                page.close().await;
            }
        }
    });
}

#[test]
fn verdicts_and_the_end_have_contrast_too() {
    block_on(async {
        let driver = Driver::start().await;
        for (screen, light) in
            [(PHONE, "dark"), (TABLET, "dark"), (PHONE, "sunlit"), (TABLET, "sunlit")]
        {
            let one = "plan = \"Eye\"\ntolerance = \"±10 %\"\nsource = \"invented sheet\"\n[joints]\ndamper-eye = \"120 N·m\"\n";
            let (rig, served) = job(one);
            let page = driver.page_with(&rig, screen, json!({"light": light})).await;
            page.tap("#answer").await;
            let _served = play(&rig, served, &pulls(&[(4.0, 141.0)]), &page).await;
            page.until("over in the pull", "return document.body.dataset.how === 'over' && document.body.dataset.phase === 'pull'").await;
            let faint = page.run(FAINT, vec![json!(7.0)]).await;
            assert_eq!(faint[1], json!([]), "over in the pull on {}", screen.name);
            page.until_phase("warned").await;
            holds(&page, "over").await;
            page.picture(&format!("over-{light}")).await;
            page.close().await;
            let (rig, served) = job(one);
            let page = driver.page_with(&rig, screen, json!({"light": light})).await;
            page.tap("#answer").await;
            let _served = play(&rig, served, &pulls(&[(4.0, 121.0)]), &page).await;
            page.until("reached", "return document.body.dataset.phase === 'told' && document.body.dataset.how === 'reached'").await;
            let faint = page.run(FAINT, vec![json!(7.0)]).await;
            assert_eq!(faint[1], json!([]), "reached on {}", screen.name);
            page.until_phase("done").await;
            holds(&page, "done").await;
            page.picture(&format!("done-{light}")).await;
            // What is typed wrongly is told in a notice.
            page.tap("#menu-open").await;
            page.tap_text("Opened, not in the plan").await;
            page.find("#words").await.send_keys("Hose clip\u{E007}").await.unwrap();
            page.until("a notice", "return !document.getElementById('notice').hidden && document.getElementById('notice').innerText === 'Noted'").await;
            let faint = page.run(FAINT, vec![json!(7.0)]).await;
            assert_eq!(faint[1], json!([]), "a notice on {}", screen.name);
            page.picture(&format!("notice-{light}")).await;
            page.close().await;
        }
    });
}
