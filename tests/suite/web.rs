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
    refused(served.get("/v1/jobs/seven"), 400, "address");
    refused(served.get("/v1/jobs/4294967296"), 400, "address");
    refused(served.post("/v1/adapters/%ff/zero", &json!({})), 400, "address");
    refused(served.post("/v1/adapters/KB-0412/zero", &json!({})), 404, "no-adapter");
    refused(served.post("/v1/jobs/current/close", &json!({})), 409, "no-job");
    refused(served.post("/v1/jobs", &json!({"paln": ""})), 422, "body");
    refused(served.post("/v1/jobs", &json!({"plan": PLAN, "paln": ""})), 422, "body");
    refused(served.post("/v1/jobs/current/close", &json!({"open_reson": "x"})), 422, "body");
    refused(served.post("/v1/jobs/resume", &json!({"job": 4_294_967_296_u64})), 422, "body");
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
    let lang = |query: &str| {
        let page = served.get(&format!("/v1/jobs/1/report.html{query}")).1;
        assert!(page.starts_with("<!DOCTYPE html>"));
        page.split_once("<html lang=\"").unwrap().1[..2].to_owned()
    };
    for (query, language) in [("", "en"), ("?language=en", "en"), ("?language=de", "de")] {
        assert_eq!(lang(query), language, "{query}");
    }
    assert_eq!(json(served.post("/v1/jobs/current/close", &json!({})))["done"], "closed");
    assert_eq!(json(served.get("/v1/jobs"))[0]["complete"], true);
    assert_eq!(json(served.get("/v1/state"))["job"], Value::Null);
}

#[test]
fn what_cannot_be_read_is_refused_with_what_was_expected() {
    let (_rig, served) = served();
    let say = |path: &str, lines: &str, body: &str| {
        let head = format!("{}{lines}", served.head("POST", path));
        let (status, _, body) = served.answer(&head, body);
        (status, body)
    };
    for query in ["language=xx", "language=", "language=de&language=fr", "tongue=de"] {
        refused(served.get(&format!("/v1/jobs/1/report.html?{query}")), 400, "address");
    }
    let json = "Content-Type: application/json\r\n";
    let details = |answer: (u16, String), status: u16, kind: &str| {
        refused(answer, status, kind)["detail"].as_str().unwrap().to_owned()
    };
    assert_eq!(
        details(say("/v1/jobs", json, "{\"plan\": "), 400, "malformed"),
        "expected a body in JSON, but found: plan: EOF while parsing a value at line 1 column 9"
    );
    assert_eq!(
        details(say("/v1/jobs", json, "{\"plan\": 3}"), 422, "body"),
        "expected a body as /openapi.json describes it, but found: plan: invalid type: integer \
         `3`, expected a string at line 1 column 10"
    );
    for lines in ["", "Content-Type: text/plain\r\n"] {
        assert_eq!(
            details(say("/v1/jobs", lines, "{}"), 415, "not-json"),
            "expected the header `Content-Type: application/json`, but found none or another"
        );
    }
    let around = r#"{"plan":""}"#.len();
    let longest = format!(r#"{{"plan":"{}"}}"#, "#".repeat((1 << 20) - around));
    refused(say("/v1/jobs", json, &longest), 422, "plan");
    assert_eq!(
        details(say("/v1/jobs", json, &format!("{longest} ")), 413, "too-large"),
        "expected at most 1048576 octets, but found more; send less"
    );
}

#[test]
fn a_method_that_an_address_does_not_take_is_told_which_it_takes() {
    let (_rig, served) = served();
    for (method, path, allowed) in [
        ("DELETE", "/v1/jobs", "get,head,post"),
        ("POST", "/v1/state", "get,head"),
        ("GET", "/v1/jobs/resume", "post"),
        ("PUT", "/openapi.json", "get,head"),
    ] {
        let (status, head, body) = served.answer(&served.head(method, path), "");
        refused((status, body), 405, "method");
        assert!(head.contains(&format!("allow: {allowed}\r\n")), "{method} {path}: {head}");
    }
}

#[test]
fn a_whole_number_is_taken_however_it_is_written() {
    let (_rig, served) = served();
    assert_eq!(served.post("/v1/jobs", &json!({"plan": PLAN})).0, 201);
    assert_eq!(served.post("/v1/jobs/current/park", &json!({})).0, 200);
    assert_eq!(served.post("/v1/jobs/resume", &json!({"job": 1.0})).0, 200);
    refused(served.post("/v1/jobs/resume", &json!({"job": 1.5})), 422, "body");
}

#[test]
fn whoever_starts_a_job_is_told_where_it_is_shown() {
    let (_rig, served) = served();
    let head = format!("{}Content-Type: application/json\r\n", served.head("POST", "/v1/jobs"));
    let (status, head, _) = served.answer(&head, &json!({"plan": PLAN}).to_string());
    assert_eq!(status, 201);
    assert!(head.contains("location: /v1/jobs/1\r\n"), "{head}");
}

#[test]
fn every_operation_names_every_answer_that_it_can_give() {
    let (_rig, served) = served();
    let description: Value = serde_json::from_str(&served.get("/openapi.json").1).unwrap();
    assert_eq!(description["openapi"], "3.2.0");
    assert_eq!(description["security"], json!([{"token": []}, {"screen": []}]));
    assert_eq!(description["components"]["securitySchemes"]["token"]["scheme"], "bearer");
    let page = &description["paths"]["/v1/jobs/{job}/report.html"]["get"]["parameters"][1];
    assert_eq!((&page["name"], &page["in"]), (&json!("language"), &json!("query")));
    assert_ne!(page["required"], true);
    assert_eq!(page["schema"]["enum"], json!(["en", "de", "es", "fr"]));
    let mut table = String::new();
    for (path, item) in description["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let mut statuses = Vec::new();
            for (status, answer) in operation["responses"].as_object().unwrap() {
                let content = answer["content"].as_object();
                let content: Vec<&String> =
                    content.into_iter().flat_map(|one| one.keys()).collect();
                if status.as_str() >= "400" {
                    assert_eq!(content, ["application/problem+json"], "{method} {path} {status}");
                }
                statuses.push(status.as_str());
            }
            let method = method.to_uppercase();
            table += &format!("{method:4} {path}: {}\n", statuses.join(" "));
        }
    }
    insta::assert_snapshot!(table);
}

#[test]
fn every_name_that_the_description_refers_to_is_there() {
    let (_rig, served) = served();
    let text = served.get("/openapi.json").1;
    let description: Value = serde_json::from_str(&text).unwrap();
    let schemas = description["components"]["schemas"].as_object().unwrap();
    let referred = text.split("\"#/components/schemas/").skip(1);
    let mut count = 0;
    for name in referred.map(|rest| rest.split('"').next().unwrap()) {
        assert!(schemas.contains_key(name), "{name}");
        count += 1;
    }
    assert!(count > 100, "{count}");
}

#[test]
fn the_stream_tells_the_state_and_then_what_changes() {
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
    assert_eq!(last, serde_json::from_str::<Value>(&served.get("/v1/state").1).unwrap());
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

#[test]
fn what_was_said_last_is_said_again_on_request() {
    let (_rig, served) = served();
    refused(served.post("/v1/repeat", &json!({})), 409, "nothing-said");
    assert_eq!(served.post("/v1/jobs", &json!({"plan": PLAN})).0, 201);
    let said = json!({
        "en": "Next: damper eye. 122 newton metres.",
        "de": "Weiter: damper eye. 122 Newtonmeter.",
        "es": "Siguiente: damper eye. 122 newton metro.",
        "fr": "Suivant : damper eye. 122 newtons mètres.",
    });
    let answer = served.post("/v1/repeat", &json!({}));
    assert_eq!(
        serde_json::from_str::<Value>(&answer.1).unwrap(),
        json!({"done": "repeated", "words": said})
    );
    let state: Value = serde_json::from_str(&served.get("/v1/state").1).unwrap();
    let prompts = state["prompts"].as_array().unwrap();
    assert_eq!(prompts.len(), 2);
    assert_eq!(prompts[1]["words"], said);
    assert_eq!(prompts[1]["number"], 2);
}
