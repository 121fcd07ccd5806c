//! Requests sent twice, at once, changed, or broken off: one row each.

use crate::app::{Answer, Ask, TestApp, send, text};
use crate::document::{Operation, operations};
use crate::records::{Records, job, short_notes};
use rillcast::store::Actor;
use rillcast::store::idempotency::KeptAnswer;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use std::future::Future;
use std::task::{Context, Waker};
use std::time::{Duration, Instant};

const KEY: &str = "8e03978e-40d5-43dd-bc93-6894a57f9324";

fn keyed(app: &TestApp, path: &str, body: &Value, key: &str) -> Ask {
    Ask::post(path).key(&app.key).json(body).header("idempotency-key", key)
}

async fn jobs(app: &TestApp) -> usize {
    app.all("/v1/jobs").await.len() - 1
}

#[track_caller]
fn same(first: &Answer, again: &Answer) {
    assert_eq!((first.status, &first.bytes), (again.status, &again.bytes));
    for name in ["location", "etag", "content-type"] {
        assert_eq!(first.headers.get(name), again.headers.get(name), "{name}");
    }
    assert_eq!(again.header("idempotency-replayed"), "true");
    assert!(!first.headers.contains_key("idempotency-replayed"));
}

#[tokio::test]
async fn sent_twice_is_done_once() {
    let app = TestApp::start().await;
    let first = app.send(keyed(&app, "/v1/jobs", &job(1), KEY)).await.ok(201);
    let again = app.send(keyed(&app, "/v1/jobs", &job(1), KEY)).await.ok(201);
    same(&first, &again);
    // Quoted, as a structured field is, it is the same key.
    let quoted = app.send(keyed(&app, "/v1/jobs", &job(1), &format!("\"{KEY}\""))).await.ok(201);
    same(&first, &quoted);
    assert_eq!(jobs(&app).await, 1);
}

#[tokio::test]
async fn two_keys_of_one_request_are_refused() {
    let app = TestApp::start().await;
    for second in ["another-key-0001", KEY] {
        let ask = keyed(&app, "/v1/jobs", &job(1), KEY).line("idempotency-key", second);
        let problem = app.send(ask).await.problem(400, "bad-header");
        assert_eq!(problem["errors"][0]["header"], "Idempotency-Key");
        assert!(text(&problem["errors"][0], "detail").contains("more than once"), "{problem}");
    }
    assert_eq!(jobs(&app).await, 0);
    app.send(keyed(&app, "/v1/jobs", &job(1), KEY)).await.ok(201);
}

/// Changes whatever requests are judged by: notes and state of the job, its newest estimate, the state of the book's versions. Where
/// something does not allow it any more, it has changed already.
async fn disturb(app: &TestApp, records: &Records) {
    app.post(&format!("/v1/jobs/{}/estimates", records.job), &json!({"notes": short_notes()})).await;
    let change = json!({"title": "Changed", "notes": null, "closed": true});
    app.patch(&format!("/v1/jobs/{}", records.job), "*", &change).await.ok(200);
    for version in [&records.draft, &records.published] {
        let version = format!("/v1/price-book-versions/{version}");
        app.patch(&format!("{version}/document"), "*", &json!({"note": "Changed"})).await;
        app.act(&format!("{version}/publish"), "*").await;
        let retire = Ask::post(&format!("{version}/retire")).key(&app.key).header("if-match", "*");
        app.send(retire.json(&json!({"allow_gap": true}))).await;
    }
    app.post("/v1/calculators/labor-hours", &json!({"quantities": []})).await.problem(409, "no-price-book");
}

/// A repeat is answered from the first, whatever has happened in between.
#[tokio::test]
async fn every_write_that_takes_a_key_replays() {
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    let mut of_papers = Vec::new();
    let keyed: Vec<Operation> =
        operations().into_iter().filter(|o| o.takes_header("Idempotency-Key")).collect();
    assert!(keyed.len() >= 30, "only {} operations take a key", keyed.len());
    for operation in keyed {
        let own = operation.own_ground().await;
        let (app, records) = own.as_ref().map_or((&shared, &papers), |(app, records)| (app, records));
        let ask = operation.working(records).key(&app.key);
        let ask = ask.header("idempotency-key", &format!("twice-{}", operation.id));
        let first = app.send(ask.clone()).await;
        assert!(first.status.is_success(), "{}: {}", operation.id, first.text());
        if own.is_none() {
            // What works on papers shares one service: it is disturbed by the others, and all of it at the end.
            of_papers.push((ask, first));
            continue;
        }
        let before = app.counts().await;
        same(&first, &app.send(ask.clone()).await);
        disturb(app, records).await;
        same(&first, &app.send(ask).await);
        let after = app.counts().await;
        // The estimate that disturbs, where it could be made, and no job, book or version.
        assert_eq!(after[..3], before[..3], "{}", operation.id);
        assert!(after[3] <= before[3] + 1, "{}", operation.id);
    }
    assert!(of_papers.len() >= 15, "only {} operations on papers", of_papers.len());
    disturb(&shared, &papers).await;
    let before = shared.counts().await;
    for (ask, first) in of_papers {
        same(&first, &shared.send(ask).await);
    }
    assert_eq!(shared.counts().await, before);
}

#[tokio::test]
async fn a_repeated_edit_is_answered_though_its_tag_is_stale() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&path).await.etag();
    let patch = Ask::patch(&path, &json!({"title": "Once"}))
        .key(&app.key)
        .header("if-match", &tag)
        .header("idempotency-key", "patch-number-1");
    let first = app.send(patch.clone()).await.ok(200);
    same(&first, &app.send(patch).await);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn twenty_at_once_make_one_row() {
    let app = TestApp::start().await;
    let mut sends = Vec::new();
    for _ in 0..20 {
        sends.push(tokio::spawn(send(app.router.clone(), keyed(&app, "/v1/jobs", &job(1), KEY))));
    }
    let mut fresh = 0;
    let mut bodies = std::collections::BTreeSet::new();
    for sent in sends {
        let answer = sent.await.unwrap().ok(201);
        fresh += usize::from(!answer.headers.contains_key("idempotency-replayed"));
        bodies.insert(answer.bytes);
    }
    assert_eq!((fresh, bodies.len()), (1, 1));
    assert_eq!(jobs(&app).await, 1);

    let path = format!("/v1/jobs/{}/estimates", app.job);
    let mut sends = Vec::new();
    for _ in 0..20 {
        let ask = keyed(&app, &path, &json!({"notes": short_notes()}), KEY);
        // The key belongs to the job above already.
        let ask = ask.header("idempotency-key", "estimate-20-times");
        sends.push(tokio::spawn(send(app.router.clone(), ask)));
    }
    let mut bodies = std::collections::BTreeSet::new();
    for sent in sends {
        bodies.insert(sent.await.unwrap().ok(201).bytes);
    }
    assert_eq!(bodies.len(), 1);
    assert_eq!(app.all(&path).await.len(), 1);
}

#[tokio::test]
async fn the_same_key_with_another_request_is_refused() {
    let app = TestApp::start().await;
    app.send(keyed(&app, "/v1/jobs", &job(1), KEY)).await.ok(201);
    app.send(keyed(&app, "/v1/jobs", &job(2), KEY)).await.problem(422, "idempotency-key-reused");
    // Another path, and another query, are other requests too.
    let path = format!("/v1/jobs/{}/estimates", app.job);
    app.send(keyed(&app, &path, &json!({}), KEY)).await.problem(422, "idempotency-key-reused");
    assert_eq!(jobs(&app).await, 1);
    assert_eq!(app.all(&path).await.len(), 0);
}

#[tokio::test]
async fn the_order_of_members_does_not_matter() {
    let app = TestApp::start().await;
    let typed = |body: &str| {
        Ask::post("/v1/jobs").key(&app.key).typed("application/json", body).header("idempotency-key", KEY)
    };
    let first = app
        .send(typed(r#"{"customer":{"name":"A","phone":"1"},"site":{"address":"B"},"title":"T"}"#))
        .await
        .ok(201);
    let again = app
        .send(typed(
            "{ \"title\": \"T\",\n \"site\": {\"address\":\"B\"}, \"customer\":{\"phone\":\"1\",\"name\":\"A\"} }",
        ))
        .await;
    same(&first, &again);
    assert_eq!(jobs(&app).await, 1);
}

#[tokio::test]
async fn the_order_of_query_parameters_does_not_matter() {
    let app = TestApp::start().await;
    let import = |query: &str| {
        let ask = Ask::post(&format!("/v1/rain-table-imports?{query}")).key(&app.key);
        ask.typed("text/csv", rillcast::domain::demo::RAIN_FILE).header("idempotency-key", KEY)
    };
    let first = app.send(import("code=millbrook&bound=mean")).await.ok(201);
    same(&first, &app.send(import("bound=mean&code=millbrook")).await);
    // Other values are another request.
    app.send(import("bound=mean&code=mill")).await.problem(422, "idempotency-key-reused");
}

#[tokio::test]
async fn a_body_left_out_is_the_one_that_says_nothing() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let bare = || Ask::post(&path).key(&app.key).header("idempotency-key", KEY);
    let first = app.send(bare()).await.ok(201);
    same(&first, &app.send(bare().json(&json!({}))).await);
    same(&first, &app.send(bare()).await);
    assert_eq!(app.all(&path).await.len(), 1);
}

/// Keeps an answer of the demo key under a request as it is written here.
async fn keep(app: &TestApp, key: &str, request: &str) {
    let key_id = app.key.split('_').nth(1).unwrap().to_owned();
    let now = jiff::Timestamp::now().as_millisecond();
    let actor = Actor { key_id, request_id: "before".to_owned(), now };
    let fingerprint = Sha256::digest(request).iter().map(|b| format!("{b:02x}")).collect();
    let (location, etag) = (None, None);
    let answer = KeptAnswer { fingerprint, status: 201, location, etag, body: "{\"kept\":true}".to_owned() };
    let mut write = app.state.inner.store.begin(actor).await.unwrap();
    write.keep(key, &answer).await.unwrap();
    write.commit().await.unwrap();
}

/// Once the order of query parameters told requests apart, and so did a body left out and one that says nothing.
#[tokio::test]
async fn answers_kept_under_the_request_as_it_was_sent_are_found() {
    let app = TestApp::start().await;
    let estimates = format!("/v1/jobs/{}/estimates", app.job);
    let rain = rillcast::domain::demo::RAIN_FILE;
    let import = "/v1/rain-table-imports";
    let query = "code=millbrook&bound=mean";
    for (key, request) in [
        ("kept-without-body", format!("POST\n{estimates}\n\n")),
        ("kept-with-nothing", format!("POST\n{estimates}\n\n{{}}")),
        ("kept-without-both", format!("POST\n{estimates}\nvalidate_only=false\n")),
        ("kept-unsorted", format!("POST\n{import}\n{query}\n{rain}")),
    ] {
        keep(&app, key, &request).await;
    }
    let bare = |path: &str, key: &str| Ask::post(path).key(&app.key).header("idempotency-key", key);
    let list = |query: &str, key: &str| bare(&format!("{import}?{query}"), key).typed("text/csv", rain);
    let unsaid = format!("{estimates}?validate_only=false");
    for ask in [
        bare(&estimates, "kept-without-body"),
        bare(&estimates, "kept-without-body").json(&json!({})),
        bare(&estimates, "kept-with-nothing"),
        bare(&unsaid, "kept-without-both"),
        list(query, "kept-unsorted"),
    ] {
        let answer = app.send(ask.clone()).await;
        assert_eq!(
            (answer.status.as_u16(), answer.text()),
            (201, "{\"kept\":true}".to_owned()),
            "{}",
            ask.path
        );
        assert_eq!(answer.header("idempotency-replayed"), "true");
    }
    // What is another request stays one.
    for ask in [
        bare(&estimates, "kept-without-body").json(&json!({"notes": short_notes()})),
        bare(&estimates, "kept-without-both"),
        list("bound=mean&code=mill", "kept-unsorted"),
    ] {
        app.send(ask).await.problem(422, "idempotency-key-reused");
    }
    assert_eq!(app.all(&estimates).await.len(), 0);
}

#[test]
fn the_document_says_how_long_a_key_is_kept_and_what_is_not() {
    for operation in operations().into_iter().filter(|o| o.takes_header("Idempotency-Key")) {
        let mut parameters = operation.value["parameters"].as_array().unwrap().iter();
        let parameter = parameters.find(|p| p["name"] == "Idempotency-Key").unwrap();
        let told = text(&parameter["schema"], "description");
        assert!(told.contains("kept for 7 days") && told.contains("refusal is not kept"), "{told}");
    }
}

#[tokio::test]
async fn two_callers_do_not_share_a_key() {
    let app = TestApp::start().await;
    let other = app.key_with(rillcast::http::auth::Scope::ALL).await;
    let first = app.send(keyed(&app, "/v1/jobs", &job(1), KEY)).await.ok(201).json();
    let second = app.send(keyed(&app, "/v1/jobs", &job(1), KEY).key(&other)).await.ok(201).json();
    assert_ne!(text(&first, "id"), text(&second, "id"));
    assert_eq!(jobs(&app).await, 2);
}

#[tokio::test]
async fn a_refused_request_does_not_use_up_its_key() {
    let app = TestApp::start().await;
    app.send(keyed(&app, "/v1/jobs", &json!({"titel": "x"}), KEY)).await.problem(422, "validation-failed");
    app.send(keyed(&app, "/v1/jobs", &job(1), KEY)).await.ok(201);
    let path = format!("/v1/jobs/{}", app.job);
    let patch = |tag: &str| {
        Ask::patch(&path, &json!({"title": "New"}))
            .key(&app.key)
            .header("if-match", tag)
            .header("idempotency-key", "stale-then-right")
    };
    let tag = app.get(&path).await.etag();
    app.send(patch("\"stale\"")).await.problem(412, "version-conflict");
    app.send(patch(&tag)).await.ok(200);
    assert_eq!(jobs(&app).await, 1);
}

/// A client that goes away drops the handler at any of its waits: the retry then either runs or replays, and there is one
/// row in the end.
#[tokio::test]
async fn a_handler_dropped_half_way_leaves_nothing_half_written() {
    let app = TestApp::start().await;
    let mut finished = 0;
    let mut dropped = 0;
    for step in 0..400 {
        let key = format!("dropped-at-step-{step}");
        let ask = keyed(&app, "/v1/jobs", &job(1000 + step), &key);
        let mut future = Box::pin(send(app.router.clone(), ask.clone()));
        let started = Instant::now();
        let done = loop {
            if future.as_mut().poll(&mut Context::from_waker(Waker::noop())).is_ready() {
                break true;
            }
            if started.elapsed() >= Duration::from_micros(40 * step as u64) {
                break false;
            }
        };
        drop(future);
        finished += usize::from(done);
        dropped += usize::from(!done);
        let made = app.send(ask).await.ok(201).json();
        let found = app.all(&format!("/v1/jobs?q=Job%20{}", 1000 + step)).await;
        assert_eq!(found.len(), 1, "step {step}");
        let trail = app.all(&format!("/v1/audit?object={}", text(&made, "id"))).await;
        assert_eq!(trail.len(), 1, "step {step}: {trail:?}");
        if finished >= 3 {
            break;
        }
    }
    assert!(finished >= 3 && dropped >= 3, "finished {finished} times, dropped {dropped} times");
}

#[tokio::test]
async fn validate_only_checks_everything_and_writes_nothing() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let before = app.counts().await;
    let path = |p: &str| format!("{p}?validate_only=true");
    let posts = [
        ("/v1/jobs".to_owned(), job(1)),
        ("/v1/price-books".to_owned(), json!({"document": records.document})),
        (format!("/v1/price-books/{}/versions", records.book), json!({})),
        (format!("/v1/jobs/{}/estimates", records.job), json!({})),
    ];
    for (target, body) in &posts {
        let answer = app.send(keyed(&app, &path(target), body, KEY)).await.ok(200);
        assert!(answer.json().get("id").is_none(), "{target}: an id of nothing");
        assert!(!answer.headers.contains_key("location"), "{target}");
    }
    let job_path = format!("/v1/jobs/{}", records.job);
    let document_path = format!("/v1/price-book-versions/{}/document", records.draft);
    let tags = (app.get(&job_path).await.etag(), app.get(&document_path).await.etag());
    let patched = app.patch(&path(&job_path), &tags.0, &json!({"title": "Never"})).await.ok(200).json();
    assert_eq!(patched["id"], records.job.as_str(), "what is there keeps its id");
    app.patch(&path(&document_path), &tags.1, &json!({"note": "Never"})).await.ok(200);
    app.act(&path(&format!("/v1/price-book-versions/{}/publish", records.draft)), "*").await.ok(200);
    let retire = Ask::post(&path(&format!("/v1/price-book-versions/{}/retire", records.published)));
    let retire = retire.key(&app.key).header("if-match", "*").json(&json!({"allow_gap": true}));
    app.send(retire).await.ok(200);
    // The checks are those of the real thing.
    app.patch(&path(&job_path), "\"stale\"", &json!({"title": "x"})).await.problem(412, "version-conflict");
    app.patch(&path(&job_path), "*", &json!({"title": ""})).await.problem(422, "validation-failed");
    app.post(&path("/v1/jobs"), &json!({})).await.problem(422, "validation-failed");

    assert_eq!(app.counts().await, before);
    assert_eq!((app.get(&job_path).await.etag(), app.get(&document_path).await.etag()), tags);
    // The key was not used up, and the published book is still the current one.
    app.send(keyed(&app, "/v1/jobs", &job(1), KEY)).await.ok(201);
    app.post("/v1/calculators/concrete-order", &json!({"volume": "2 yd3"})).await.ok(200);
}
