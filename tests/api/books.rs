//! The life of a price book.

use crate::app::TestApp;
use serde_json::{Value, json};

fn demo_book() -> Value {
    serde_json::from_str(rillcast::domain::demo::BOOK).unwrap()
}

#[tokio::test]
async fn a_draft_is_loaded_edited_checked_published_and_frozen() {
    let app = TestApp::new().await;
    let mut book = demo_book();
    book["haul"] = Value::Null;
    book.as_object_mut().unwrap().remove("haul");
    let made =
        app.post("/v1/price-books", &json!({"name": "Spring", "document": book})).await.expect(201).json();
    let version = made["versions"][0]["id"].as_str().unwrap().to_owned();
    let path = format!("/v1/price-book-versions/{version}");
    assert_eq!(made["versions"][0]["state"], "draft");
    // It reads back equal: loading what was read makes the same document again.
    let read = app.get(&format!("{path}/document")).await.expect(200).json();
    let copy = app.post("/v1/price-books", &json!({"document": read})).await.expect(201).json();
    let copy_path =
        format!("/v1/price-book-versions/{}/document", copy["versions"][0]["id"].as_str().unwrap());
    assert_eq!(app.get(&copy_path).await.json(), read);
    // A draft cannot be computed from, and cannot be published while it is incomplete.
    let asked = json!({"volume": "1 yd3", "price_book_version": version});
    let refused = app.post("/v1/calculators/concrete-order", &asked).await.problem(422).json();
    assert_eq!(refused["errors"][0]["pointer"], "#/price_book_version");
    let report = app.post_empty(&format!("{path}/check"), &[]).await.expect(200).json();
    assert_eq!(
        (report["publishable"].as_bool(), report["errors"][0]["pointer"].as_str()),
        (Some(false), Some("#/haul"))
    );
    let refused = app.post_empty(&format!("{path}/publish"), &[("if-match", "*")]).await.problem(422).json();
    assert_eq!(refused["errors"][0]["pointer"], "#/haul");
    // Mended by a merge patch.
    app.post_empty(&format!("{path}/publish"), &[]).await.problem(428);
    let haul = json!({"haul": demo_book()["haul"], "note": "Prices of spring"});
    app.patch(&format!("{path}/document"), &haul, &[]).await.problem(428);
    let edited =
        app.patch(&format!("{path}/document"), &haul, &[("if-match", &format!("\"{version}.1\""))]).await;
    let tag = edited.expect(200).header("etag").to_owned();
    let bad = json!({"currency": "dollars"});
    app.patch(&format!("{path}/document"), &bad, &[("if-match", &tag)]).await.problem(422);
    let published = app.post_empty(&format!("{path}/publish"), &[("if-match", &tag)]).await.expect(200);
    assert_eq!(published.json()["state"], "published");
    // It is the current one now, and frozen.
    let order =
        app.post("/v1/calculators/concrete-order", &json!({"volume": "1 yd3"})).await.expect(200).json();
    assert_eq!(order["price_book"]["version_id"], version.as_str());
    let frozen = app
        .patch(&format!("{path}/document"), &json!({"note": "x"}), &[("if-match", "*")])
        .await
        .problem(409);
    assert!(frozen.json()["detail"].as_str().unwrap().contains("may be retired"));
    app.post_empty(&format!("{path}/publish"), &[("if-match", "*")]).await.problem(409);
    // A new draft copies it.
    let book_id = made["id"].as_str().unwrap();
    let next = app.post_empty(&format!("/v1/price-books/{book_id}/versions"), &[]).await.expect(201).json();
    assert_eq!((next["number"].as_i64(), next["state"].as_str()), (Some(2), Some("draft")));
    // Retired: the one published before is current again.
    app.post_empty(&format!("{path}/retire"), &[("if-match", "*")]).await.expect(200);
    app.post_empty(&format!("{path}/retire"), &[("if-match", "*")]).await.problem(409);
    let order =
        app.post("/v1/calculators/concrete-order", &json!({"volume": "1 yd3"})).await.expect(200).json();
    assert_ne!(order["price_book"]["version_id"], version.as_str());
    let trail = app.get(&format!("/v1/audit?object={version}")).await.expect(200).json();
    let actions: Vec<&str> =
        trail["items"].as_array().unwrap().iter().map(|e| e["action"].as_str().unwrap()).collect();
    assert_eq!(
        actions,
        [
            "price_book_version.retire",
            "price_book_version.publish",
            "price_book_version.edit",
            "price_book_version.create"
        ]
    );
}

#[tokio::test]
async fn without_a_published_book_the_answer_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let state = rillcast::app::AppState::open(crate::app::config(folder.path())).await.unwrap();
    let key =
        rillcast::http::auth::create_key(&state.inner.store, "k", rillcast::http::auth::Scope::ALL, false)
            .await
            .unwrap();
    let router = rillcast::http::router(state.clone());
    let app = TestApp { state, router, key, job: String::new(), folder };
    let answer = app.post("/v1/calculators/concrete-order", &json!({"volume": "1 yd3"})).await.problem(409);
    assert_eq!(answer.json()["type"], "/problems/no-price-book");
    let unknown = json!({"volume": "1 yd3", "price_book_version": "pbv_none"});
    app.post("/v1/calculators/concrete-order", &unknown).await.problem(422);
    assert!(app.folder.path().exists());
}
