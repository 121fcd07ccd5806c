//! ETag, If-Match and If-None-Match of jobs and drafts (RFC 9110 sections 8.8 and 13, RFC 6585 section 3; read).

use crate::app::{Ask, TestApp, send, text};
use crate::records::{Records, job, make_job};
use axum::http::Method;
use serde_json::{Value, json};

/// A record that is read at one path, edited at another, and two different edits of it.
struct Target {
    read: String,
    edit: String,
    edits: [Value; 3],
}

async fn targets(app: &TestApp) -> Vec<Target> {
    let records = Records::bare(app).await;
    let made = text(&make_job(app, &job(1)).await.json(), "id");
    let version = format!("/v1/price-book-versions/{}", records.draft);
    vec![
        Target {
            read: format!("/v1/jobs/{made}"),
            edit: format!("/v1/jobs/{made}"),
            edits: ["one", "two", "three"].map(|t| json!({"title": t})),
        },
        Target {
            read: version.clone(),
            edit: format!("{version}/document"),
            edits: ["one", "two", "three"].map(|t| json!({"note": t})),
        },
    ]
}

#[tokio::test]
async fn if_match_guards_every_edit() {
    let app = TestApp::start().await;
    for Target { read, edit, edits } in targets(&app).await {
        let before = app.get(&read).await.ok(200);
        let tag = before.etag();
        let missing =
            app.send(Ask::patch(&edit, &edits[0]).key(&app.key)).await.problem(428, "version-needed");
        assert!(text(&missing, "detail").contains(&tag), "the refusal says which tag: {missing}");
        for wrong in ["\"nothing\"".to_owned(), format!("W/{tag}"), "\"a\", \"b\"".to_owned()] {
            app.patch(&edit, &wrong, &edits[0]).await.problem(412, "version-conflict");
        }
        for malformed in [tag.trim_matches('"').to_owned(), format!("{tag}x"), String::new()] {
            app.patch(&edit, &malformed, &edits[0]).await.problem(400, "bad-header");
        }
        assert_eq!(app.get(&read).await.ok(200).bytes, before.bytes, "a refused edit changed something");

        let changed = app.patch(&edit, &format!("\"other\", {tag} , \"third\""), &edits[0]).await.ok(200);
        let new_tag = changed.etag();
        assert_ne!(new_tag, tag);
        let read_again = app.get(&read).await.ok(200);
        assert_eq!((read_again.etag(), &read_again.bytes), (new_tag.clone(), &changed.bytes));
        assert_eq!(changed.json()["version"], json!(before.json()["version"].as_i64().unwrap() + 1));
        app.patch(&edit, &tag, &edits[1]).await.problem(412, "version-conflict");
        app.patch(&edit, &new_tag, &edits[1]).await.ok(200);
        app.patch(&edit, "*", &edits[2]).await.ok(200);
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_two_racing_edits_one_wins() {
    let app = TestApp::start().await;
    for Target { edit, edits, .. } in targets(&app).await {
        for _ in 0..10 {
            // Both are to be a change of what is there.
            let tag = app.patch(&edit, "*", &edits[2]).await.ok(200).etag();
            let race = [&edits[0], &edits[1]].map(|change| {
                let ask = Ask::patch(&edit, change).key(&app.key).header("if-match", &tag);
                tokio::spawn(send(app.router.clone(), ask))
            });
            let mut statuses = Vec::new();
            for racer in race {
                statuses.push(racer.await.unwrap().status.as_u16());
            }
            statuses.sort_unstable();
            assert_eq!(statuses, [200, 412], "{edit}");
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_two_racing_publications_one_wins() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let version = format!("/v1/price-book-versions/{}", records.draft);
    let tag = app.get(&version).await.etag();
    let race = [(), ()].map(|()| {
        let ask = Ask::post(&format!("{version}/publish")).key(&app.key).header("if-match", &tag);
        tokio::spawn(send(app.router.clone(), ask))
    });
    let mut statuses = Vec::new();
    for racer in race {
        statuses.push(racer.await.unwrap().status.as_u16());
    }
    statuses.sort_unstable();
    assert_eq!(statuses, [200, 412]);
    for action in ["publish", "retire"] {
        let path = format!("{version}/{action}");
        app.send(Ask::post(&path).key(&app.key)).await.problem(428, "version-needed");
        app.act(&path, &tag).await.problem(412, "version-conflict");
    }
}

#[tokio::test]
async fn if_none_match_spares_the_body() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    for path in [
        format!("/v1/jobs/{}", records.job),
        format!("/v1/price-book-versions/{}", records.draft),
        format!("/v1/price-book-versions/{}/document", records.draft),
        format!("/v1/estimates/{}", records.estimate),
    ] {
        let full = app.get(&path).await.ok(200);
        let tag = full.etag();
        assert!(tag.starts_with('"') && tag.ends_with('"') && tag.len() > 10, "{tag}");
        // Weak comparison (RFC 9110 section 13.1.2).
        for same in [tag.clone(), format!("W/{tag}"), format!("\"x\", {tag}"), "*".to_owned()] {
            for method in [Method::GET, Method::HEAD] {
                let ask = Ask::new(method, &path).key(&app.key).header("if-none-match", &same);
                let answer = app.send(ask).await.ok(304);
                assert!(answer.bytes.is_empty());
                assert_eq!(answer.etag(), tag);
                assert_eq!(answer.headers.get("cache-control"), full.headers.get("cache-control"));
            }
        }
        for other in ["\"x\"", "", "W/\"x\""] {
            app.send(Ask::get(&path).key(&app.key).header("if-none-match", other)).await.ok(200);
        }
        let head = app.send(Ask::new(Method::HEAD, &path).key(&app.key)).await.ok(200);
        assert_eq!(head.etag(), tag);
        assert_eq!(head.headers.get("content-type"), full.headers.get("content-type"));
        assert!(head.bytes.is_empty());
        assert_eq!(full.header("cache-control"), "private, no-cache");
    }
}

#[tokio::test]
async fn a_patch_cannot_set_what_the_server_sets_and_null_deletes() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}", app.job);
    let answer = app.patch(&path, "*", &json!({"id": "job_mine", "version": 9, "created_at": "x"})).await;
    assert_eq!(answer.pointers(), ["#/created_at", "#/id", "#/version"]);
    let refs = json!({"external_refs": [{"system": "books", "id": "7"}]});
    assert_eq!(app.patch(&path, "*", &refs).await.ok(200).json()["external_refs"], refs["external_refs"]);
    let cleared = app.patch(&path, "*", &json!({"external_refs": null, "notes": null})).await.ok(200).json();
    assert_eq!(cleared["external_refs"], json!([]));
    assert!(cleared.get("notes").is_none());
    assert_eq!(
        app.patch(&path, "*", &json!({"customer": null, "site": null})).await.pointers(),
        ["#/customer", "#/site"]
    );
}

#[tokio::test]
async fn a_new_estimate_changes_the_tag_of_its_job() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&path).await.ok(200).etag();
    app.post(&format!("{path}/estimates"), &json!({})).await.ok(201);
    let answer = app.send(Ask::get(&path).key(&app.key).header("if-none-match", &tag)).await.ok(200);
    assert_ne!(answer.etag(), tag);
}

#[tokio::test]
async fn the_tag_of_a_new_record_is_that_of_its_first_read() {
    let app = TestApp::start().await;
    let made = make_job(&app, &job(1)).await;
    let read = app.get(&made.header("location")).await.ok(200);
    assert_eq!((read.etag(), &read.bytes), (made.etag(), &made.bytes));
    let estimate = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201);
    let read = app.get(&estimate.header("location")).await.ok(200);
    assert_eq!((read.etag(), &read.bytes), (estimate.etag(), &estimate.bytes));
    let records = Records::bare(&app).await;
    let draft = app.post(&format!("/v1/price-books/{}/versions", records.book), &json!({})).await.ok(201);
    let read = app.get(&draft.header("location")).await.ok(200);
    assert_eq!((read.etag(), &read.bytes), (draft.etag(), &draft.bytes));
    // A book has no tag: neither when made nor when read.
    let book = app.post("/v1/price-books", &json!({"document": records.document})).await.ok(201);
    let read = app.get(&book.header("location")).await.ok(200);
    assert_eq!((read.headers.get("etag"), &read.bytes), (book.headers.get("etag"), &book.bytes));
}
