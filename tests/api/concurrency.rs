//! ETags and preconditions.

use crate::app::TestApp;
use axum::body::Body;
use serde_json::json;

#[tokio::test]
async fn if_match_guards_a_job() {
    let app = TestApp::new().await;
    let path = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&path).await.expect(200).header("etag").to_owned();
    app.patch(&path, &json!({"title": "x"}), &[]).await.problem(428);
    app.patch(&path, &json!({"title": "x"}), &[("if-match", "\"job_x.1\"")]).await.problem(412);
    app.patch(&path, &json!({"title": "x"}), &[("if-match", &format!("W/{tag}"))]).await.problem(412);
    assert_eq!(app.get(&path).await.header("etag"), tag);
    let listed = format!("\"other.9\", {tag}");
    let changed =
        app.patch(&path, &json!({"title": "New title"}), &[("if-match", &listed)]).await.expect(200);
    assert_eq!(changed.json()["title"], "New title");
    assert_eq!(changed.header("etag"), app.get(&path).await.header("etag"));
    assert_ne!(changed.header("etag"), tag);
    let stale = app.patch(&path, &json!({"title": "y"}), &[("if-match", &tag)]).await.problem(412);
    assert!(stale.json()["detail"].as_str().unwrap().contains(changed.header("etag")));
    app.patch(&path, &json!({"title": "Any"}), &[("if-match", "*")]).await.expect(200);
    // A merge patch cannot set what the server sets.
    let answer =
        app.patch(&path, &json!({"id": "job_mine", "version": 9}), &[("if-match", "*")]).await.problem(422);
    assert_eq!(answer.json()["errors"].as_array().unwrap().len(), 2);
    // Null deletes, lists are replaced whole.
    app.patch(&path, &json!({"external_refs": [{"system": "books", "id": "7"}]}), &[("if-match", "*")])
        .await
        .expect(200);
    let cleared = app.patch(&path, &json!({"external_refs": null}), &[("if-match", "*")]).await.expect(200);
    assert_eq!(cleared.json()["external_refs"], json!([]));
}

#[tokio::test]
async fn one_of_two_racing_changes_wins() {
    let app = TestApp::new().await;
    let path = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&path).await.header("etag").to_owned();
    let headers = [("if-match", tag.as_str())];
    let (one, two) = (json!({"title": "one"}), json!({"title": "two"}));
    let (a, b) = tokio::join!(app.patch(&path, &one, &headers), app.patch(&path, &two, &headers));
    let mut statuses = [a.status.as_u16(), b.status.as_u16()];
    statuses.sort_unstable();
    assert_eq!(statuses, [200, 412]);
}

#[tokio::test]
async fn a_client_that_has_it_gets_304() {
    let app = TestApp::new().await;
    let path = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&path).await.header("etag").to_owned();
    for held in [tag.clone(), format!("W/{tag}"), format!("\"x.1\", {tag}"), "*".to_owned()] {
        let request = app.request("GET", &path).header("if-none-match", &held).body(Body::empty()).unwrap();
        let answer = app.send(request).await.expect(304);
        assert!(answer.text.is_empty());
        assert_eq!(answer.header("etag"), tag);
    }
    let head = app.send(app.request("HEAD", &path).body(Body::empty()).unwrap()).await.expect(200);
    assert!(head.text.is_empty());
    assert_eq!(head.header("etag"), tag);
    // A new estimate changes the job's tag.
    app.post_empty(&format!("{path}/estimates"), &[]).await.expect(201);
    let request = app.request("GET", &path).header("if-none-match", &tag).body(Body::empty()).unwrap();
    app.send(request).await.expect(200);
}

#[tokio::test]
async fn references_are_unique_per_system() {
    let app = TestApp::new().await;
    let job = |id: &str| json!({"customer": {"name": "A"}, "site": {"address": "B"}, "external_refs": [{"system": "accounting", "id": id}]});
    app.post("/v1/jobs", &job("4711")).await.expect(201);
    app.post("/v1/jobs", &job("4711")).await.problem(409);
    app.post("/v1/jobs", &job("4712")).await.expect(201);
}
