//! The interface on loopback, met over plain HTTP.

use crate::rig::{Rig, Served};
use serde_json::{Value, json};

const PLAN: &str = "plan = \"Two bolts\"\ntolerance = \"±8 %\"\nsource = \"my sheet\"\n\
                    [joints]\ndamper-eye = \"122 N·m\"\narm-pivot = \"178 N·m\"\n";

fn served() -> (Rig, Served) {
    let rig = Rig::new().file("two.toml", PLAN);
    let served = rig.serve(&[]);
    (rig, served)
}

#[track_caller]
fn refused(answer: (u16, String), status: u16, kind: &str) -> Value {
    assert_eq!(answer.0, status, "{}", answer.1);
    let problem: Value = serde_json::from_str(&answer.1).unwrap();
    assert_eq!(problem["type"], format!("/problems/{kind}"));
    assert_eq!(problem["status"], status);
    assert!(problem["title"].is_string() && problem["detail"].is_string(), "{problem}");
    problem
}

#[test]
fn nobody_without_the_token_is_answered() {
    let (_rig, served) = served();
    for head in [
        "GET /v1/state HTTP/1.1\r\nHost: 127.0.0.1\r\n".to_owned(),
        "GET /v1/state HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Bearer wrong\r\n".to_owned(),
        "GET /openapi.json HTTP/1.1\r\nHost: localhost\r\n".to_owned(),
        format!(
            "GET /v1/state?token={0} HTTP/1.1\r\nHost: 127.0.0.1\r\nAuthorization: Basic {0}\r\n",
            served.token
        ),
    ] {
        refused(served.raw(&head, ""), 401, "token");
    }
}

#[test]
fn nobody_under_another_name_is_answered_not_even_with_the_token() {
    let (_rig, served) = served();
    for host in ["example.org", "localhost.example.org", "127.0.0.1.example.org:80", ""] {
        let head = format!(
            "GET /v1/state HTTP/1.1\r\nHost: {host}\r\nAuthorization: Bearer {}\r\n",
            served.token
        );
        refused(served.raw(&head, ""), 421, "host");
    }
    for host in ["localhost:1", "[::1]", "LOCALHOST"] {
        let head = format!(
            "GET /v1/state HTTP/1.1\r\nHost: {host}\r\nAuthorization: Bearer {}\r\n",
            served.token
        );
        assert_eq!(served.raw(&head, "").0, 200, "{host}");
    }
}

#[test]
fn errors_are_problem_details() {
    let (_rig, served) = served();
    refused(served.get("/v1/nothing"), 404, "not-found");
    refused(served.get("/v1/jobs/7"), 404, "not-found");
    refused(served.post("/v1/jobs/current/close", &json!({})), 409, "no-job");
    refused(served.post("/v1/jobs", &json!({"paln": ""})), 422, "body");
    let faults = refused(served.post("/v1/jobs", &json!({"plan": "joints = 3"})), 422, "plan");
    assert!(faults["faults"].as_array().is_some_and(|faults| !faults.is_empty()), "{faults}");
    assert_eq!(served.post("/v1/jobs", &json!({"plan": PLAN})).0, 201);
    refused(served.post("/v1/jobs", &json!({"plan": PLAN})), 409, "job-under-way");
    let open = refused(served.post("/v1/jobs/current/close", &json!({})), 409, "still-open");
    assert_eq!(open["open"], json!(["damper-eye/1", "arm-pivot/1"]));
    let mark = json!({"say": "at", "fastener": "arm-pivto", "origin": "page"});
    let unknown = refused(served.post("/v1/jobs/current/marks", &mark), 422, "unknown-name");
    assert_eq!(unknown["nearest"][0], "arm-pivot/1");
}

#[test]
fn a_job_is_started_marked_shown_reported_and_closed() {
    let (_rig, served) = served();
    let json = |answer: (u16, String)| -> Value {
        assert!(answer.0 < 300, "{answer:?}");
        serde_json::from_str(&answer.1).unwrap()
    };
    assert_eq!(json(served.get("/v1/jobs")), json!([]));
    let started = json(served.post("/v1/jobs", &json!({"plan": PLAN})));
    assert_eq!(started, json!({"done": "started", "job": 1}));
    for fastener in ["damper-eye", "arm-pivot/1"] {
        let mark = json!({"say": "stated", "fastener": fastener, "origin": "page"});
        assert_eq!(json(served.post("/v1/jobs/current/marks", &mark))["done"], "marked");
    }
    assert_eq!(json(served.get("/v1/state"))["job"], 1);
    let shown = json(served.get("/v1/jobs/1"));
    assert_eq!(
        shown["summary"]["fasteners"],
        json!({"damper-eye/1": "stated", "arm-pivot/1": "stated"})
    );
    assert_eq!(json(served.get("/v1/jobs/1/report.json"))["job"]["number"], 1);
    assert!(served.get("/v1/jobs/1/report.html").1.starts_with("<!DOCTYPE html>"));
    assert_eq!(json(served.post("/v1/jobs/current/close", &json!({})))["done"], "closed");
    assert_eq!(json(served.get("/v1/jobs"))[0]["complete"], true);
    assert_eq!(json(served.get("/v1/state"))["job"], Value::Null);
}

#[test]
fn every_route_is_described() {
    let (_rig, served) = served();
    let description: Value = serde_json::from_str(&served.get("/openapi.json").1).unwrap();
    let paths: Vec<&str> =
        description["paths"].as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(
        paths,
        [
            "/v1/adapters",
            "/v1/adapters/{adapter}/identify",
            "/v1/adapters/{adapter}/zero",
            "/v1/events",
            "/v1/jobs",
            "/v1/jobs/current/claim",
            "/v1/jobs/current/close",
            "/v1/jobs/current/marks",
            "/v1/jobs/current/park",
            "/v1/jobs/resume",
            "/v1/jobs/{job}",
            "/v1/jobs/{job}/report.html",
            "/v1/jobs/{job}/report.json",
            "/v1/loose",
            "/v1/state",
            "/v1/typed",
        ]
    );
}

#[test]
fn the_stream_tells_the_state_now_and_then_every_later_one_in_order() {
    let (_rig, served) = served();
    let mut stream = served.stream("/v1/events");
    let first = stream.next_state();
    assert_eq!(first["job"], Value::Null);
    served.post("/v1/jobs", &json!({"plan": PLAN}));
    let mut last = first;
    for fastener in ["damper-eye/1", "arm-pivot/1"] {
        let mark = json!({"say": "stated", "fastener": fastener, "origin": "page"});
        served.post("/v1/jobs/current/marks", &mark);
        // States in between may be left out; the newest comes.
        while last["snapshot"]["open"].as_array().is_none_or(|open| open.contains(&json!(fastener)))
        {
            let next = stream.next_state();
            assert!(next["revision"].as_u64() > last["revision"].as_u64());
            last = next;
        }
    }
    assert_eq!(last["snapshot"]["open"], json!([]));
}

#[test]
fn a_listener_that_reads_nothing_holds_nobody_up() {
    let (_rig, served) = served();
    let _stuck: Vec<_> = (0..4).map(|_| served.stream("/v1/events")).collect();
    served.post("/v1/jobs", &json!({"plan": PLAN}));
    for number in 0..300 {
        let mark = json!({"say": "note", "text": "x".repeat(200 + number), "origin": "page"});
        assert_eq!(served.post("/v1/jobs/current/marks", &mark).0, 200);
    }
}
