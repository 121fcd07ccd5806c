//! Repeats of a request with an Idempotency-Key.

use crate::app::TestApp;
use rillcast::http::auth::Scope;
use serde_json::{Value, json};

fn job(name: &str) -> Value {
    json!({"title": name, "customer": {"name": "Repeat Customer"}, "site": {"address": "1 Test Row"}})
}

async fn count(app: &TestApp) -> usize {
    app.get("/v1/jobs?customer=repeat&limit=200").await.json()["items"].as_array().unwrap().len()
}

#[tokio::test]
async fn a_repeat_is_answered_from_the_first() {
    let app = TestApp::new().await;
    let key = [("idempotency-key", "\"8e03978e-40d5-43dd-bc93-6894a57f9324\"")];
    let first = app.post_with("/v1/jobs", &job("one"), &key).await.expect(201);
    let again = app.post_with("/v1/jobs", &job("one"), &key).await.expect(201);
    assert_eq!(first.text, again.text);
    assert_eq!(first.header("location"), again.header("location"));
    assert_eq!(first.header("etag"), again.header("etag"));
    assert_eq!(again.header("idempotency-replayed"), "true");
    assert!(!first.headers.contains_key("idempotency-replayed"));
    // Members in another order and the bare form of the key: the same request.
    let bare = [("idempotency-key", "8e03978e-40d5-43dd-bc93-6894a57f9324")];
    let reordered =
        json!({"site": {"address": "1 Test Row"}, "title": "one", "customer": {"name": "Repeat Customer"}});
    assert_eq!(app.post_with("/v1/jobs", &reordered, &bare).await.expect(201).text, first.text);
    // Another body: refused.
    let other = app.post_with("/v1/jobs", &job("two"), &key).await.problem(422);
    assert_eq!(other.json()["type"], "/problems/idempotency-key-reused");
    assert_eq!(count(&app).await, 1);
    // Another caller with the same key is another request.
    let mut second = TestApp { key: app.key(Scope::ALL).await, ..app };
    second.post_with("/v1/jobs", &job("one"), &key).await.expect(201);
    assert_eq!(count(&second).await, 2);
    second.key.push('x');
    second.post_with("/v1/jobs", &job("one"), &key).await.problem(401);
}

#[tokio::test]
async fn twenty_at_once_make_one() {
    let app = TestApp::new().await;
    let key = [("idempotency-key", "twenty-at-once")];
    let body = job("race");
    let mut sends = Vec::new();
    for _ in 0..20 {
        sends.push(app.post_with("/v1/jobs", &body, &key));
    }
    let mut bodies = std::collections::BTreeSet::new();
    let mut fresh = 0;
    for answer in futures_join(sends).await {
        let answer = answer.expect(201);
        fresh += usize::from(!answer.headers.contains_key("idempotency-replayed"));
        bodies.insert(answer.text);
    }
    assert_eq!((fresh, bodies.len(), count(&app).await), (1, 1, 1));
}

/// Polls all at once.
async fn futures_join<F: Future>(futures: Vec<F>) -> Vec<F::Output> {
    let mut pending: Vec<_> = futures.into_iter().map(Box::pin).collect();
    let mut done: Vec<Option<F::Output>> = pending.iter().map(|_| None).collect();
    std::future::poll_fn(move |context| {
        for (slot, future) in done.iter_mut().zip(pending.iter_mut()) {
            if slot.is_none()
                && let std::task::Poll::Ready(output) = future.as_mut().poll(context)
            {
                *slot = Some(output);
            }
        }
        if done.iter().all(Option::is_some) {
            std::task::Poll::Ready(done.iter_mut().map(|d| d.take().unwrap()).collect())
        } else {
            std::task::Poll::Pending
        }
    })
    .await
}

#[tokio::test]
async fn a_refused_request_leaves_its_key_free() {
    let app = TestApp::new().await;
    let key = [("idempotency-key", "refused-first")];
    app.post_with("/v1/jobs", &json!({"title": "no customer"}), &key).await.problem(422);
    app.post_with("/v1/jobs", &job("mended"), &key).await.expect(201);
    for bad in ["short", "has spaces in it", "\"unclosed-quote"] {
        let answer = app.post_with("/v1/jobs", &job("x"), &[("idempotency-key", bad)]).await.problem(400);
        assert_eq!(answer.json()["errors"][0]["header"], "Idempotency-Key");
    }
}

#[tokio::test]
async fn validate_only_writes_nothing() {
    let app = TestApp::new().await;
    let key = [("idempotency-key", "dry-run-key")];
    let dry = app.post_with("/v1/jobs?validate_only=true", &job("dry"), &key).await.expect(200);
    assert!(dry.json().get("id").is_none() && !dry.headers.contains_key("location"));
    assert_eq!(count(&app).await, 0);
    app.post_with("/v1/jobs?validate_only=true", &json!({}), &[]).await.problem(422);
    app.post_with("/v1/jobs?validate_only=maybe", &job("dry"), &[]).await.problem(400);
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let estimate = app.post_empty(&format!("{path}?validate_only=true"), &[]).await.expect(200).json();
    assert!(estimate["estimate"]["summary"]["total"].is_string());
    assert_eq!(app.get(&path).await.json()["items"], json!([]));
    // The key was not used up.
    app.post_with("/v1/jobs", &job("real"), &key).await.expect(201);
}
