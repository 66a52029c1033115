//! Photos of the work: taken in, told, shown in the report, carried along, and erased.

use crate::rig::Rig;
use serde_json::{Value, json};

/// The beginning of a file in WebP, which is plain text as well.
pub(crate) const PICTURE: &str = "RIFF\u{1a}\0\0\0WEBPVP8L\0\0\0\0";
/// The same, packed.
const PACKED: &str = "UklGRhoAAABXRUJQVlA4TAAAAAA=";

const PLAN: &str = "plan = \"Arm pivot\"\ntolerance = \"±6 %\"\nsource = \"invented sheet\"\n\
    [joints]\ntrailing-arm-pivot = \"178 N·m\"\n[as-found]\ncam-mark = \"Cam marks?\"\n";

fn kind(answer: &(u16, String), status: u16, kind: &str) {
    let problem: Value = serde_json::from_str(&answer.1).unwrap();
    let expected = (status, format!("/problems/{kind}"));
    assert_eq!((answer.0, problem["type"].as_str().unwrap().to_owned()), expected, "{problem}");
}

#[test]
fn a_photo_is_kept_shown_carried_along_and_erased() {
    let rig = Rig::new().file("plan.toml", PLAN).run("job start plan.toml");
    let served = rig.serve(&[]);
    let send = |about: &str, body: &str| {
        let path = format!("/v1/jobs/current/photos?about={about}");
        served.raw(&served.head("POST", &path), body)
    };
    for (about, name) in [
        ("trailing-arm-pivot", "trailing-arm-pivot"),
        ("trailing-arm-pivot/1", "trailing-arm-pivot/1"),
        ("as-found:cam-mark", "cam-mark"),
    ] {
        let (status, body) = send(about, PICTURE);
        let told: Value = serde_json::from_str(&body).unwrap();
        assert_eq!((status, told), (200, json!({"done": "attached", "job": 1, "about": name})));
    }
    kind(&send("trailing-arm", PICTURE), 422, "unknown-name");
    kind(&send("cam-mark", "<svg onload='x'>"), 422, "photo");
    kind(&send("cam-mark", ""), 422, "photo");
    kind(&send("cam-mark", &format!("{PICTURE}{}", "\0".repeat(2 << 20))), 413, "too-large");
    let listed: Value = serde_json::from_str(&served.get("/v1/jobs/1/photos").1).unwrap();
    let listed = listed.as_array().unwrap();
    assert_eq!(listed.len(), 3, "{listed:?}");
    let photo = json!({"about": "cam-mark", "format": "web-p", "octets": PICTURE.len()});
    assert_eq!(listed[2]["photo"], photo);
    let path = format!("/v1/photos/{}", listed[2]["entry"]);
    let (status, head, body) = served.answer(&served.head("GET", &path), "");
    assert_eq!((status, body.as_str()), (200, PICTURE));
    for line in ["content-type: image/webp", "x-content-type-options: nosniff", "sandbox"] {
        assert!(head.contains(line), "{head}");
    }
    kind(&served.get("/v1/photos/1"), 404, "not-found");
    let image = format!("<img src=\"data:image/webp;base64,{PACKED}\" alt=\"cam-mark\">");
    assert!(served.get("/v1/jobs/1/report.html").1.contains(&image));
    drop(served);

    let rig = rig.run("report 1 --html full.html").run("report 1 --html redacted.html --redact");
    let read = |rig: &Rig, name: &str| std::fs::read_to_string(rig.path(name)).unwrap();
    assert!(read(&rig, "full.html").contains(&image));
    assert!(!read(&rig, "redacted.html").contains("data:image"));
    let rig = rig.run("backup copy.sqlite").run("export --out all.ndjson");
    let there = Rig::new().file("all.ndjson", read(&rig, "all.ndjson"));
    let there = there.run("import all.ndjson").run("report 1 --html there.html").run("audit");
    assert!(read(&there, "there.html").contains(&image), "{}", there.told());
    let copied = std::fs::read(rig.path("copy.sqlite")).unwrap();
    assert!(copied.windows(PACKED.len()).any(|octets| octets == PACKED.as_bytes()));

    let rig = rig.run("job erase 1 --only photos --yes").run("audit");
    let rig = rig.run("report 1 --html erased.html").run("report 1 --json report.json");
    let told = rig.told();
    assert!(told.contains("3 texts of job 1 erased"), "{told}");
    assert!(told.contains("$ clampbook audit  -> 0"), "{told}");
    assert!(!read(&rig, "erased.html").contains("data:image"));
    let report: Value = serde_json::from_str(&read(&rig, "report.json")).unwrap();
    assert_eq!(report["photos"][2]["state"], "removed", "{}", report["photos"]);
    let journal = std::fs::read(rig.path("journal.sqlite")).unwrap();
    assert!(!journal.windows(PACKED.len()).any(|octets| octets == PACKED.as_bytes()));
}
