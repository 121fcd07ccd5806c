//! What the layers answer by themselves: unknown routes, HEAD and OPTIONS, panics, deadlines, overload, quota.

use crate::app::{Ask, TestApp, send, text};
use crate::document::operations;
use crate::records::Records;
use axum::Router;
use axum::http::Method;
use axum::routing::get;
use rillcast::app::AppState;
use rillcast::http::problem::KINDS;
use serde_json::json;
use std::time::Duration;

#[tokio::test]
async fn unknown_routes_are_problems_with_and_without_a_key() {
    let app = TestApp::start().await;
    for path in [
        "/nothing",
        "/v2/jobs",
        "/docsx",
        "/problems/none",
        "/problems/%FF",
        "/%FF",
        "/problems/a/b",
        "/livez/x",
        "/.env",
    ] {
        for method in [Method::GET, Method::POST, Method::DELETE, Method::OPTIONS] {
            let answer = app.send(Ask::new(method.clone(), path)).await;
            if path == "/problems/none" && method != Method::GET {
                answer.problem(405, "wrong-method");
            } else {
                answer.problem(404, "not-found");
            }
        }
    }
    // Docs assets that are not there come from a library and still leave as problems.
    app.send(Ask::get("/docs/none.js")).await.problem(404, "not-found");
    for path in ["/v1", "/v1/", "/v1/nothing", "/v1/jobs/", "/v1/jobs/x/y/z", "/v1/calculators", "/v1/%FF"] {
        for method in [Method::GET, Method::POST, Method::PUT, Method::OPTIONS] {
            app.send(Ask::new(method.clone(), path).key(&app.key)).await.problem(404, "not-found");
            app.send(Ask::new(method, path)).await.problem(401, "no-credential");
        }
    }
}

#[tokio::test]
async fn the_bare_address_leads_to_the_page() {
    let app = TestApp::start().await;
    for method in [Method::GET, Method::HEAD] {
        let answer = app.send(Ask::new(method, "/")).await.ok(308);
        assert_eq!(answer.header("location"), "/docs/");
        assert!(answer.bytes.is_empty());
        app.send(Ask::get(&answer.header("location"))).await.ok(200);
    }
    for method in [Method::POST, Method::PUT, Method::DELETE, Method::OPTIONS] {
        let answer = app.send(Ask::new(method, "/")).await;
        assert_eq!(answer.header("allow"), "GET,HEAD");
        answer.problem(405, "wrong-method");
    }
}

#[tokio::test]
async fn head_answers_as_get_without_a_body() {
    let app = TestApp::start().await;
    for path in [
        "/livez",
        "/readyz",
        "/openapi.json",
        "/problems",
        "/v1/jobs",
        "/v1/rules",
        &format!("/v1/jobs/{}", app.job),
    ] {
        let got = app.send(Ask::get(path).key(&app.key)).await.ok(200);
        let head = app.send(Ask::new(Method::HEAD, path).key(&app.key)).await.ok(200);
        assert!(head.bytes.is_empty(), "{path}");
        assert_eq!(head.headers.get("content-type"), got.headers.get("content-type"), "{path}");
        assert_eq!(head.headers.get("etag"), got.headers.get("etag"), "{path}");
    }
    let head = app.send(Ask::new(Method::HEAD, "/v1/jobs/none").key(&app.key)).await.ok(404);
    assert_eq!(head.header("content-type"), "application/problem+json");
    let head = app.send(Ask::new(Method::HEAD, "/v1/jobs")).await.ok(401);
    assert!(head.header("www-authenticate").starts_with("Bearer"));
    // HEAD where only POST is: refused like any wrong method.
    let head = app.send(Ask::new(Method::HEAD, "/v1/calculators/estimate").key(&app.key)).await.ok(405);
    assert_eq!(head.header("allow"), "POST");
}

async fn slow() -> &'static str {
    tokio::time::sleep(Duration::from_secs(5)).await;
    "too late"
}

async fn panics() -> &'static str {
    panic!("canary-panic at src/http/secret.rs")
}

fn extra() -> Router<AppState> {
    Router::new().route("/slow", get(slow)).route("/panics", get(panics))
}

#[tokio::test]
async fn a_panic_is_a_clean_problem_and_the_service_goes_on() {
    let app = TestApp::start_serving(|_| {}, extra()).await;
    let answer = app.send(Ask::get("/panics")).await;
    assert!(!answer.text().contains("canary-panic"));
    answer.problem(500, "internal");
    app.get("/v1/jobs").await.ok(200);
}

/// A body that an operation does not read is refused: `validate_only` in it would be lost, and what was to be looked at written.
#[tokio::test]
async fn a_body_that_nobody_reads_is_refused() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let mut tried = 0;
    for operation in operations() {
        if operation.method != Method::POST || operation.value.get("requestBody").is_some() {
            continue;
        }
        tried += 1;
        let before = app.counts().await;
        for body in [r#"{"validate_only": true}"#, "x", "[]"] {
            let ask = operation.working(&records).key(&app.key).typed("text/plain", body);
            app.send(ask).await.problem(400, "no-body-here");
        }
        let long =
            operation.working(&records).key(&app.key).typed("text/plain", "x".repeat(3_000_000)).chunked();
        app.send(long).await.problem(400, "no-body-here");
        assert_eq!(app.counts().await, before, "{}", operation.id);
        let nothing = operation.working(&records).key(&app.key).json(&json!({}));
        assert!(app.send(nothing).await.status.is_success(), "{}", operation.id);
    }
    assert!(tried >= 4, "only {tried} operations without a body");
}

#[tokio::test]
async fn a_slow_route_is_cut_off_at_the_deadline() {
    let app = TestApp::start_serving(|c| c.deadline = Duration::from_millis(50), extra()).await;
    let started = std::time::Instant::now();
    app.send(Ask::get("/slow")).await.problem(503, "deadline");
    assert!(started.elapsed() < Duration::from_secs(3));
}

/// A commit that has begun goes on when the deadline passes or a connection breaks off.
#[test]
fn no_answer_promises_that_nothing_was_written_where_it_may_have_been() {
    for slug in ["deadline", "internal"] {
        let kind = KINDS.iter().find(|k| k.slug == slug).unwrap();
        assert!(!kind.help.to_lowercase().contains("nothing was written"), "{slug}: {}", kind.help);
        assert!(
            kind.help.contains("may have been written") && kind.help.contains("Idempotency-Key"),
            "{slug}"
        );
    }
    let document = rillcast::http::openapi::text();
    assert!(!document.contains("could not answer; nothing was written"));
}

#[tokio::test]
async fn requests_beyond_the_concurrency_are_shed() {
    let app = TestApp::start_serving(
        |c| {
            c.concurrency = 1;
            c.deadline = Duration::from_millis(600);
        },
        extra(),
    )
    .await;
    let router = app.router.clone();
    let first = tokio::spawn(send(router, Ask::get("/slow")));
    tokio::time::sleep(Duration::from_millis(150)).await;
    app.get("/v1/jobs").await.problem(503, "overloaded");
    app.send(Ask::get("/nothing")).await.problem(503, "overloaded");
    // Busy is not dead.
    app.send(Ask::get("/livez")).await.ok(200);
    app.send(Ask::get("/readyz")).await.ok(200);
    first.await.unwrap().problem(503, "deadline");
    app.get("/v1/jobs").await.ok(200);
}

#[tokio::test]
async fn a_key_has_its_quota_and_no_other_key_pays_for_it() {
    let app = TestApp::start_with(|c| c.requests_per_minute = 3).await;
    let other = app.key_with(rillcast::http::auth::Scope::ALL).await;
    for left in [2, 1, 0] {
        let answer = app.get("/v1/rules").await.ok(200);
        assert_eq!(answer.header("ratelimit-policy"), "\"perkey\";q=3;w=60");
        // The next one comes within a third of a minute, as the refusal will say.
        let told = answer.header("ratelimit");
        let wait = told.strip_prefix(&format!("\"perkey\";r={left};t=")).and_then(|t| t.parse::<u32>().ok());
        assert!(wait.is_some_and(|wait| (1..=20).contains(&wait)), "{told}");
    }
    let answer = app.get("/v1/rules").await;
    let wait: u32 = answer.header("retry-after").parse().unwrap();
    assert!((1..=20).contains(&wait), "a third of a minute brings the next request, not {wait} s");
    assert_eq!(answer.header("ratelimit"), format!("\"perkey\";r=0;t={wait}"));
    answer.problem(429, "quota-used");
    app.send(Ask::get("/v1/rules").key(&other)).await.ok(200);
    // Refusals without a key cost nobody's quota.
    app.send(Ask::get("/v1/rules")).await.problem(401, "no-credential");
}

#[tokio::test]
async fn every_answer_carries_the_fixed_headers() {
    let app = TestApp::start().await;
    for ask in [
        Ask::get("/livez"),
        Ask::get("/docs/"),
        Ask::get("/nothing"),
        Ask::get("/v1/jobs"),
        Ask::get("/v1/jobs").key(&app.key),
    ] {
        let answer = app.send(ask).await;
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{}", answer.line);
        assert_eq!(answer.header("x-frame-options"), "DENY", "{}", answer.line);
        assert!(!answer.header("cache-control").is_empty());
        assert!(!answer.headers.contains_key("access-control-allow-origin"));
        assert!(!answer.headers.contains_key("server"));
        if !answer.status.is_success() {
            assert_eq!(answer.header("cache-control"), "no-store");
        }
    }
}

#[tokio::test]
async fn health_problems_and_docs_need_no_key() {
    let app = TestApp::start().await;
    assert_eq!(text(&app.send(Ask::get("/livez")).await.ok(200).json(), "status"), "live");
    assert_eq!(text(&app.send(Ask::get("/readyz")).await.ok(200).json(), "status"), "ready");
    let list = app.send(Ask::get("/problems")).await.ok(200).json();
    for kind in list["items"].as_array().unwrap() {
        let one = app.send(Ask::get(&text(kind, "type"))).await.ok(200).json();
        assert_eq!(&one, kind);
    }
    assert_eq!(list["items"].as_array().unwrap().len(), rillcast::http::problem::KINDS.len());
    let page = app.send(Ask::get("/docs/")).await.ok(200);
    assert!(page.header("content-type").starts_with("text/html"));
    assert!(page.header("content-security-policy").starts_with("default-src 'none'; script-src 'self'; "));
    assert!(page.text().contains("<title>rillcast: every route</title>"), "{}", page.text());
    assert_eq!(page.text().matches("<title>").count(), 1);
    let icons = page.text().matches("rel=\"icon\"").count();
    assert!(icons == 1 && page.text().contains(r#"<link rel="icon" href="data:,">"#), "{}", page.text());
    // a phone shows it as wide as itself
    let wide = r#"<meta name="viewport" content="width=device-width, initial-scale=1">"#;
    assert_eq!(page.text().matches(wide).count(), 1, "{}", page.text());
    for outside in ["https://", "http://", "//cdn"] {
        assert!(!page.text().contains(outside), "the docs page names {outside}");
    }
    app.state.inner.draining.store(true, std::sync::atomic::Ordering::SeqCst);
    app.send(Ask::get("/readyz")).await.problem(503, "overloaded");
    app.send(Ask::get("/livez")).await.ok(200);
}

#[tokio::test]
async fn a_trace_id_sent_is_the_instance_answered() {
    let app = TestApp::start().await;
    let trace = "0af7651916cd43dd8448eb211c80319c";
    let sent = Ask::get("/nothing").header("traceparent", &format!("00-{trace}-b7ad6b7169203331-01"));
    assert_eq!(
        text(&app.send(sent).await.problem(404, "not-found"), "instance"),
        format!("/requests/{trace}")
    );
    // A version to come may say more; this one may not.
    for good in [format!("01-{trace}-b7ad6b7169203331-01-more"), format!("cc-{trace}-b7ad6b7169203331-00")] {
        let problem =
            app.send(Ask::get("/nothing").header("traceparent", &good)).await.problem(404, "not-found");
        assert_eq!(text(&problem, "instance"), format!("/requests/{trace}"), "{good}");
    }
    for bad in [
        "00-0-0-01",
        "ff-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01",
        "00-0af7651916cd43dd8448eb211c80319c-0000000000000000-01",
        "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01-",
        "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01-more",
        "00-00000000000000000000000000000000-b7ad6b7169203331-01",
        "x",
        "../../etc",
    ] {
        let problem =
            app.send(Ask::get("/nothing").header("traceparent", bad)).await.problem(404, "not-found");
        let instance = text(&problem, "instance");
        assert!(!instance.contains(trace) && !instance.ends_with(&"0".repeat(32)), "{bad}");
    }
}
