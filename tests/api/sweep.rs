//! No path of the server answers plain text or an empty error body.

use crate::app::{TestApp, operations};
use axum::Router;
use axum::body::Body;
use axum::http::Request;
use axum::routing::get;
use serde_json::json;
use std::time::Duration;

#[tokio::test]
async fn every_operation_refuses_as_a_problem() {
    let app = TestApp::new().await;
    let revoked = app.key(rillcast::http::auth::Scope::ALL).await;
    let id = revoked.split('_').nth(1).unwrap().to_owned();
    assert!(rillcast::http::auth::revoke_key(&app.state.inner.store, &id).await.unwrap());
    for (method, template, operation) in operations() {
        let path = app.path(&template).await;
        let build = |path: &str| Request::builder().method(method.as_str()).uri(path);
        // Credentials.
        for (header, status) in [
            (None, 401),
            (Some("Bearer garbage".to_owned()), 401),
            (Some("Basic eDp5".to_owned()), 401),
            (Some(format!("Bearer {}x", app.key)), 401),
            (Some(format!("Bearer {revoked}")), 401),
        ] {
            let mut request = build(&path);
            if let Some(header) = &header {
                request = request.header("authorization", header);
            }
            app.send(request.body(Body::empty()).unwrap()).await.problem(status);
        }
        app.send(build(&format!("{path}?token={}", app.key)).body(Body::empty()).unwrap()).await.problem(401);
        // A path with an id that is not there.
        if template.contains("{id}") {
            let unknown = template.replace("{id}", "job_00000000000000000000000000");
            let mut request = app.request(&method, &unknown).header("if-match", "*");
            let patch = method == "PATCH";
            if patch {
                request = request.header("content-type", "application/merge-patch+json");
            }
            app.send(request.body(Body::from(if patch { "{}" } else { "" })).unwrap()).await.problem(404);
        }
        // A parameter nobody knows.
        let json = ["POST", "PATCH"].contains(&method.as_str());
        let media = if method == "PATCH" { "application/merge-patch+json" } else { "application/json" };
        let mut request = app.request(&method, &format!("{path}?no_such=1"));
        if json {
            request = request.header("content-type", media);
        }
        let body = valid_body(&operation);
        let answer = app.send(request.body(Body::from(body.clone())).unwrap()).await.problem(400);
        assert_eq!(answer.json()["errors"][0]["parameter"], "no_such", "{operation}");
        // Methods nobody offers.
        for wrong in ["PUT", "TRACE", "OPTIONS"] {
            app.send(app.request(wrong, &path).body(Body::empty()).unwrap()).await.problem(405);
        }
        if !body.is_empty() {
            body_faults(&app, &method, &path, media).await;
        }
    }
}

fn valid_body(operation: &str) -> String {
    match operation {
        "calculateLayoutQuantities" => json!({"length": "4 ft"}),
        "calculateConcreteOrder" => json!({"volume": "1 yd3"}),
        "calculateLaborHours" => json!({"quantities": [{"measure": "grates", "quantity": "2 each"}]}),
        "calculateEstimate" => {
            json!({"notes": serde_json::from_str::<serde_json::Value>(rillcast::domain::demo::NOTES).unwrap()})
        }
        "createPriceBook" => {
            json!({"document": serde_json::from_str::<serde_json::Value>(rillcast::domain::demo::BOOK).unwrap()})
        }
        "createJob" => json!({"customer": {"name": "A"}, "site": {"address": "B"}}),
        "createEstimate" | "createPriceBookVersion" | "editJob" | "editPriceBookDocument" => json!({}),
        _ => return String::new(),
    }
    .to_string()
}

async fn body_faults(app: &TestApp, method: &str, path: &str, media: &str) {
    for (text, status) in [("{", 400), ("{\"a\":1,\"a\":2}", 400), ("{} x", 400), ("\u{0}", 400)] {
        let request = app.request(method, path).header("content-type", media).header("if-match", "*");
        app.send(request.body(Body::from(text)).unwrap()).await.problem(status);
    }
    for (text, media) in
        [("{}", "text/plain"), ("a=1", "application/x-www-form-urlencoded"), ("{}", "application/xml")]
    {
        let request = app.request(method, path).header("content-type", media).header("if-match", "*");
        app.send(request.body(Body::from(text)).unwrap()).await.problem(415);
    }
    let request = app.request(method, path).header("content-type", media).header("content-encoding", "gzip");
    app.send(request.body(Body::from("{}")).unwrap()).await.problem(415);
    // Too large, with and without a declared length.
    let large = format!("{{\"a\":\"{}\"}}", "x".repeat(2 << 20));
    let request = app.request(method, path).header("content-type", media).header("if-match", "*");
    app.send(request.header("content-length", large.len()).body(Body::from(large.clone())).unwrap())
        .await
        .problem(413);
    let chunks = undeclared(large);
    let request = app.request(method, path).header("content-type", media).header("if-match", "*");
    app.send(request.body(chunks).unwrap()).await.problem(413);
    // Unknown member, wrong type.
    let request = app.request(method, path).header("content-type", media).header("if-match", "*");
    let answer = app.send(request.body(Body::from("{\"no_such_member\":1}")).unwrap()).await;
    assert!([409, 422].contains(&answer.status.as_u16()), "{}", answer.text);
    let request = app.request(method, path).header("content-type", media).header("if-match", "*");
    let answer = app.send(request.body(Body::from("[1]")).unwrap()).await;
    assert!([400, 422].contains(&answer.status.as_u16()), "{}", answer.text);
}

/// A body that does not tell its length.
fn undeclared(text: String) -> Body {
    struct Undeclared(Option<axum::body::Bytes>);
    impl axum::body::HttpBody for Undeclared {
        type Data = axum::body::Bytes;
        type Error = std::convert::Infallible;
        fn poll_frame(
            mut self: std::pin::Pin<&mut Self>,
            _: &mut std::task::Context<'_>,
        ) -> std::task::Poll<Option<Result<http_body::Frame<Self::Data>, Self::Error>>> {
            std::task::Poll::Ready(self.0.take().map(|b| Ok(http_body::Frame::data(b))))
        }
    }
    Body::new(Undeclared(Some(text.into())))
}

#[tokio::test]
async fn paths_outside_the_api_refuse_as_problems() {
    let app = TestApp::new().await;
    for path in ["/", "/nope", "/livez/", "/problems/nope", "/docsx", "/v2/jobs"] {
        app.send(Request::get(path).body(Body::empty()).unwrap()).await.problem(404);
    }
    app.send(Request::get("/v1/nope").body(Body::empty()).unwrap()).await.problem(401);
    app.get("/v1/nope").await.problem(404);
    app.get("/v1").await.problem(404);
    for path in ["/livez", "/readyz", "/openapi.json", "/problems", "/problems/not-json", "/docs/"] {
        app.send(Request::get(path).body(Body::empty()).unwrap()).await.expect(200);
        let answer = app.send(Request::head(path).body(Body::empty()).unwrap()).await.expect(200);
        assert!(answer.text.is_empty());
        if path != "/docs/" {
            app.send(Request::post(path).body(Body::empty()).unwrap()).await.problem(405);
        }
    }
}

#[tokio::test]
async fn panic_deadline_and_overload_are_problems() {
    let more = Router::new()
        .route("/panic", get(|| async { if true { panic!("src/secret.rs says SELECT") } else { "" } }))
        .route(
            "/slow",
            get(|| async {
                tokio::time::sleep(Duration::from_secs(5)).await;
                "late"
            }),
        );
    let app = TestApp::with(
        |c| {
            c.deadline = Duration::from_millis(200);
            c.concurrency = 1;
        },
        more,
    )
    .await;
    app.send(Request::get("/panic").body(Body::empty()).unwrap()).await.problem(500);
    let (slow, shed) = tokio::join!(app.send(Request::get("/slow").body(Body::empty()).unwrap()), async {
        tokio::time::sleep(Duration::from_millis(50)).await;
        app.send(Request::get("/livez").body(Body::empty()).unwrap()).await
    });
    assert_eq!(slow.problem(503).json()["type"], "/problems/deadline");
    assert_eq!(shed.problem(503).json()["type"], "/problems/overloaded");
    app.send(Request::get("/livez").body(Body::empty()).unwrap()).await.expect(200);
}

#[tokio::test]
async fn a_key_has_a_quota() {
    let app = TestApp::with(|c| c.requests_per_minute = 3, Router::new()).await;
    for left in ["r=2", "r=1", "r=0"] {
        assert!(app.get("/v1/rules").await.expect(200).header("ratelimit").contains(left));
    }
    let answer = app.get("/v1/rules").await.problem(429);
    assert!(answer.header("ratelimit-policy").contains("q=3;w=60"));
    // Another key has its own.
    let other = app.key(rillcast::http::auth::Scope::ALL).await;
    let request = Request::get("/v1/rules").header("authorization", format!("Bearer {other}"));
    app.send(request.body(Body::empty()).unwrap()).await.expect(200);
}

#[tokio::test]
async fn five_planted_faults_give_five_pointers() {
    let app = TestApp::new().await;
    let mut notes: serde_json::Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["runs"][0]["legs"][0]["length"] = json!(24);
    notes["runs"][1]["crossing"] = json!("tanks");
    notes["drain_lines"][0]["ground"][1]["level"] = json!("9");
    notes["colour"] = json!("blue");
    notes["drain_lines"][1]["fall_pct"] = json!("1.5%");
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await.problem(422).json();
    let mut pointers: Vec<&str> =
        answer["errors"].as_array().unwrap().iter().map(|e| e["pointer"].as_str().unwrap()).collect();
    pointers.sort_unstable();
    let mut expected = [
        "#/notes/runs/0/legs/0/length",
        "#/notes/runs/1/crossing",
        "#/notes/drain_lines/0/ground/1/level",
        "#/notes/colour",
        "#/notes/drain_lines/1/fall_pct",
    ];
    expected.sort_unstable();
    assert_eq!(pointers, expected);
    let sent = json!({"notes": notes});
    for pointer in pointers {
        assert!(sent.pointer(pointer.trim_start_matches('#')).is_some(), "{pointer}");
    }
}
