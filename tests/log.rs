//! The log says who asked what and how it went, and nothing that is nobody's business.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

#[path = "api/app.rs"]
#[allow(dead_code, reason = "shared with the tests of the API, which use the rest of it")]
mod app;

use app::{Ask, TestApp, text};
use axum::Router;
use axum::routing::get;
use rillcast::http::auth::Scope;
use rillcast::store::Actor;
use serde_json::json;
use std::io::Write;
use std::sync::{Arc, Mutex};
use std::time::Duration;

#[derive(Clone, Default)]
struct Captured(Arc<Mutex<Vec<u8>>>);

impl Write for Captured {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

async fn slow() -> &'static str {
    tokio::time::sleep(Duration::from_secs(60)).await;
    "too late"
}

/// Sends it and goes away before there is an answer.
async fn give_up(app: &TestApp, ask: Ask) {
    assert!(tokio::time::timeout(Duration::from_millis(300), app.send(ask)).await.is_err());
}

async fn panics() -> &'static str {
    panic!("the reason of the panic")
}

const PHONE: &str = "555-0142-canary";
const NAME: &str = "Canary Customer";
const NOTE: &str = "gate code canary-4711";

#[tokio::test]
async fn secrets_and_customers_stay_out_of_the_log_and_of_refusals() {
    let captured = Captured::default();
    let writer = captured.clone();
    let subscriber = tracing_subscriber::fmt()
        .json()
        .flatten_event(true)
        .with_env_filter("trace")
        .with_writer(move || writer.clone())
        .finish();
    // For the whole process, the threads of the database among them: this file is a process of its own.
    tracing::subscriber::set_global_default(subscriber).unwrap();

    let app =
        TestApp::start_serving(|_| {}, Router::new().route("/panics", get(panics)).route("/slow", get(slow)))
            .await;
    let limited = app.key_with(&[Scope::Calculate]).await;
    let body = json!({"title": "Canary title", "customer": {"name": NAME, "phone": PHONE},
        "site": {"address": "1 Canary Row", "access": NOTE}});
    let mut refusals = Vec::new();
    let made = app.post("/v1/jobs", &body).await.ok(201);
    let path = made.header("location");
    app.get(&path).await.ok(200);
    app.get("/v1/jobs?customer=canary-in-query").await.ok(200);
    app.patch(&path, "*", &json!({"customer": {"phone": format!("{PHONE}-2")}})).await.ok(200);
    refusals.push(app.patch(&path, "\"stale\"", &body).await);
    let mut wrong = body.clone();
    wrong["unknown"] = json!(PHONE);
    refusals.push(app.post("/v1/jobs", &wrong).await);
    refusals.push(app.send(Ask::post("/v1/jobs").key(&limited).json(&body)).await);
    refusals.push(app.send(Ask::post("/v1/jobs").key("rc_canarykey_canarysecret").json(&body)).await);
    refusals.push(
        app.send(Ask::post("/v1/jobs").key(&app.key).typed("application/json", format!("{{\"{PHONE}"))).await,
    );
    refusals.push(app.send(Ask::get("/panics")).await);
    for refusal in &refusals {
        refusal.any_problem();
        for secret in [NAME, NOTE, "canarysecret", &app.key, &limited, "the reason of the panic"] {
            assert!(!refusal.text().contains(secret), "{}: {}", refusal.line, refusal.text());
        }
    }
    give_up(&app, Ask::get("/slow")).await;
    // Nobody can write while another does.
    let nobody = Actor { key_id: "other".to_owned(), request_id: "other".to_owned(), now: 1 };
    let writing = app.state.inner.store.begin(nobody).await.unwrap();
    give_up(&app, Ask::post("/v1/jobs").key(&app.key).json(&body)).await;
    drop(writing);

    let log = String::from_utf8(captured.0.lock().unwrap().clone()).unwrap();
    let secret = app.key.splitn(3, '_').nth(2).unwrap();
    for canary in [PHONE, NAME, NOTE, "1 Canary Row", "canarysecret", "canary-in-query", secret, "Bearer "] {
        let line = log.lines().find(|l| l.contains(canary));
        assert!(line.is_none(), "`{canary}` is in the log: {line:?}");
    }
    assert!(!log.contains(&*app.state.inner.cursor_secret));

    // One event per request, with what an operator looks for.
    let events: Vec<serde_json::Value> = log
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .filter(|e: &serde_json::Value| e["message"].as_str().is_some_and(|m| m.starts_with("request ")))
        .collect();
    assert_eq!(events.len(), 12, "{events:#?}");
    let key_id = app.key.split('_').nth(1).unwrap();
    let first = &events[0];
    assert_eq!(text(first, "method"), "POST");
    assert_eq!(text(first, "route"), "/v1/jobs");
    assert_eq!(first["status"], json!(201));
    assert_eq!(text(first, "key_id"), key_id);
    assert!(first["elapsed_us"].is_u64());
    assert_eq!(text(&events[1], "route"), "/v1/jobs/{id}");
    for (event, refusal) in events[4..10].iter().zip(&refusals) {
        let instance = text(&refusal.json(), "instance");
        assert_eq!(
            format!("/requests/{}", text(event, "request_id")),
            instance,
            "the log leads to the refusal"
        );
        assert_eq!(event["status"], json!(refusal.status.as_u16()));
    }
    // The reason of a failure is told here, and only here.
    let failed = &events[9];
    assert_eq!(text(failed, "message"), "request failed");
    assert!(text(failed, "cause").contains("the reason of the panic"));
    // What nobody waited for is told as well, since it may have been done.
    for (event, (method, route, key)) in
        events[10..].iter().zip([("GET", "/slow", ""), ("POST", "/v1/jobs", key_id)])
    {
        assert_eq!(text(event, "message"), "request given up by its client");
        assert_eq!((text(event, "method"), text(event, "route")), (method.to_owned(), route.to_owned()));
        assert_eq!(text(event, "key_id"), key);
        assert_eq!(text(event, "request_id").len(), 32);
        assert!(event["elapsed_us"].as_u64().unwrap() > 100_000, "{event}");
        assert!(event["status"].is_null(), "{event}");
    }
}

#[test]
fn the_settings_shown_hold_no_secret() {
    let lines = rillcast::config::Config::default().lines().join("\n");
    assert!(lines.contains("RILLCAST_LISTEN=127.0.0.1:8080") && lines.contains("masked"));
}
