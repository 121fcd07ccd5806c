//! Lists: pages, filters, order.

use crate::app::TestApp;
use serde_json::{Value, json};

async fn make(app: &TestApp, i: usize) -> String {
    let body = json!({"title": format!("Job {i}"), "customer": {"name": format!("Paging 100%_{i}")}, "site": {"address": format!("{i} Long Lane")}});
    app.post("/v1/jobs", &body).await.expect(201).json()["id"].as_str().unwrap().to_owned()
}

fn ids(page: &Value) -> Vec<String> {
    page["items"].as_array().unwrap().iter().map(|i| i["id"].as_str().unwrap().to_owned()).collect()
}

#[tokio::test]
async fn pages_hold_every_job_once() {
    let app = TestApp::new().await;
    let mut made = Vec::new();
    for i in 0..23 {
        made.push(make(&app, i).await);
    }
    for sort in ["created_at", "-created_at", "updated_at", "-updated_at"] {
        let mut seen = Vec::new();
        let mut path = format!("/v1/jobs?q=long+lane&limit=10&sort={sort}");
        let mut sizes = Vec::new();
        loop {
            let answer = app.get(&path).await.expect(200);
            let page = answer.json();
            sizes.push(ids(&page).len());
            seen.extend(ids(&page));
            let Some(next) = page["next_cursor"].as_str() else {
                assert!(!answer.headers.contains_key("link"));
                break;
            };
            let link = answer.header("link");
            assert!(link.ends_with("; rel=\"next\"") && link.contains(next), "{link}");
            path = link[1..link.find('>').unwrap()].to_owned();
            // A job that comes between two pages neither hides nor repeats one that was there.
            if sort == "created_at" && sizes.len() == 1 {
                make(&app, 100).await;
            }
        }
        let mut sorted: Vec<String> = seen.clone();
        sorted.sort();
        sorted.dedup();
        assert_eq!(sorted.len(), seen.len(), "{sort}: repeated");
        assert!(made.iter().all(|m| seen.contains(m)), "{sort}: missing");
        if sort == "-created_at" {
            assert_eq!(sizes, [10, 10, 4]);
        }
    }
}

#[tokio::test]
async fn filters_find_what_they_say() {
    let app = TestApp::new().await;
    let first = make(&app, 1).await;
    make(&app, 2).await;
    assert_eq!(ids(&app.get("/v1/jobs?customer=paging%20100%25_1").await.json()), [first.clone()]);
    assert_eq!(ids(&app.get("/v1/jobs?site=1%20LONG").await.json()), [first]);
    assert!(ids(&app.get("/v1/jobs?q=nobody").await.json()).is_empty());
    assert_eq!(ids(&app.get("/v1/jobs?updated_since=2020-01-01T00:00:00Z").await.json()).len(), 3);
    assert!(ids(&app.get("/v1/jobs?updated_since=2999-01-01T00:00:00Z").await.json()).is_empty());
}

#[tokio::test]
async fn bad_parameters_are_refused() {
    let app = TestApp::new().await;
    for i in 0..3 {
        make(&app, i).await;
    }
    for query in [
        "limit=0",
        "limit=-1",
        "limit=201",
        "limit=abc",
        "sort=%2Bid",
        "sort=name",
        "updated_since=yesterday",
        "q=",
        "limit=1&limit=2",
        "statuss=x",
    ] {
        app.get(&format!("/v1/jobs?{query}")).await.problem(400);
    }
    let cursor = app.get("/v1/jobs?limit=1").await.json()["next_cursor"].as_str().unwrap().to_owned();
    app.get(&format!("/v1/jobs?limit=2&cursor={cursor}")).await.expect(200);
    app.get(&format!("/v1/jobs?limit=1&q=long&cursor={cursor}")).await.problem(400);
    app.get(&format!("/v1/jobs?limit=1&sort=created_at&cursor={cursor}")).await.problem(400);
    let mut flipped = cursor.into_bytes();
    flipped[5] = if flipped[5] == b'A' { b'B' } else { b'A' };
    let flipped = String::from_utf8(flipped).unwrap();
    let answer = app.get(&format!("/v1/jobs?limit=1&cursor={flipped}")).await.problem(400);
    assert_eq!(answer.json()["errors"][0]["code"], "cursor_mismatch");
}
