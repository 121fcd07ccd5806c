//! Revisions never change, over restarts and price changes.

use crate::app::{TestApp, config};
use rillcast::app::AppState;
use serde_json::json;

#[tokio::test]
async fn a_revision_is_the_same_bytes_after_a_restart() {
    let app = TestApp::new().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let made = app.post_empty(&path, &[]).await.expect(201);
    let id = made.json()["id"].as_str().unwrap().to_owned();
    assert_eq!(made.header("location"), format!("/v1/estimates/{id}"));
    let read = app.get(&format!("/v1/estimates/{id}")).await.expect(200);
    assert_eq!(read.text, made.text);
    let again = app.post_empty(&path, &[]).await.expect(201).json();
    assert_eq!((made.json()["revision"].as_i64(), again["revision"].as_i64()), (Some(1), Some(2)));
    // The service goes away without a word, as in a crash; another opens the same file.
    let TestApp { state, router, key, job, folder } = app;
    drop(router);
    drop(state);
    let state = AppState::open(config(folder.path())).await.unwrap();
    let router = rillcast::http::router(state.clone());
    let app = TestApp { state, router, key, job, folder };
    let later = app.get(&format!("/v1/estimates/{id}")).await.expect(200);
    assert_eq!(later.text, made.text);
    let recomputed = app.post_empty(&format!("/v1/estimates/{id}/recompute"), &[]).await.expect(200).json();
    assert_eq!(recomputed["same"], true);
}

#[tokio::test]
async fn a_new_price_book_changes_no_old_revision() {
    let app = TestApp::new().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let first = app.post_empty(&path, &[]).await.expect(201);
    let first_id = first.json()["id"].as_str().unwrap().to_owned();
    let books = app.get("/v1/price-books").await.json();
    let book = books["items"][0]["id"].as_str().unwrap();
    let draft = app.post_empty(&format!("/v1/price-books/{book}/versions"), &[]).await.expect(201).json();
    let draft_path = format!("/v1/price-book-versions/{}", draft["id"].as_str().unwrap());
    let mut document = app.get(&format!("{draft_path}/document")).await.json();
    for item in document["items"].as_array_mut().unwrap() {
        if item["code"] == "grate-6-cast" {
            item["price"] = json!("99.00");
        }
    }
    let patch = json!({"items": document["items"]});
    app.patch(&format!("{draft_path}/document"), &patch, &[("if-match", "*")]).await.expect(200);
    app.post_empty(&format!("{draft_path}/publish"), &[("if-match", "*")]).await.expect(200);
    let second = app.post_empty(&path, &[]).await.expect(201).json();
    assert_ne!(second["total"], first.json()["total"]);
    assert_eq!(app.get(&format!("/v1/estimates/{first_id}")).await.text, first.text);
    let recomputed = app.post_empty(&format!("/v1/estimates/{first_id}/recompute"), &[]).await.json();
    assert_eq!(recomputed["same"], true);
    let old = json!({"price_book_version": first.json()["price_book_version_id"]});
    let third = app.post(&path, &old).await.expect(201).json();
    assert_eq!(third["total"], first.json()["total"]);
    let list = app.get(&format!("{path}?limit=2")).await.json();
    assert_eq!(list["items"][0]["revision"], 3);
    let next =
        app.get(&format!("{path}?limit=2&cursor={}", list["next_cursor"].as_str().unwrap())).await.json();
    assert_eq!(next["items"][0]["revision"], 1);
    let inputs = app.get(&format!("/v1/estimates/{first_id}/inputs")).await.expect(200).json();
    assert_eq!(inputs["notes"]["runs"][0]["id"], "drive");
}

#[tokio::test]
async fn a_job_without_notes_says_what_is_missing() {
    let app = TestApp::new().await;
    let job = json!({"customer": {"name": "A"}, "site": {"address": "B"}});
    let id = app.post("/v1/jobs", &job).await.expect(201).json()["id"].as_str().unwrap().to_owned();
    app.post_empty(&format!("/v1/jobs/{id}/estimates"), &[]).await.problem(409);
    let mut notes: serde_json::Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    app.post(&format!("/v1/jobs/{id}/estimates"), &json!({"notes": notes})).await.expect(201);
    notes["runs"][0]["channel_system"] = json!("no-such");
    let answer =
        app.post(&format!("/v1/jobs/{id}/estimates"), &json!({"notes": notes})).await.problem(422).json();
    assert_eq!(answer["errors"][0]["pointer"], "#/notes/runs/0/channel_system");
    assert!(answer["errors"][0]["allowed"].as_array().unwrap().iter().any(|a| a == "channel-6-u"));
}
