//! Estimate revisions: numbered, kept byte for byte, recomputable, safe from restarts and crashes.

use crate::app::{Ask, TestApp, text};
use crate::records::{Records, job, make_job, short_notes};
use serde_json::{Value, json};

fn estimates_of(job: &str) -> String {
    format!("/v1/jobs/{job}/estimates")
}

#[tokio::test]
async fn revisions_count_up_within_a_job() {
    let app = TestApp::start().await;
    let mut body = job(1);
    body["notes"] = short_notes();
    let other = text(&make_job(&app, &body).await.json(), "id");
    for (target, revision) in [(&app.job, 1), (&other, 1), (&app.job, 2), (&other, 2), (&app.job, 3)] {
        let made = app.post(&estimates_of(target), &json!({})).await.ok(201);
        let facts = made.json();
        assert_eq!(facts["revision"], json!(revision));
        assert_eq!(&text(&facts, "job_id"), target);
        assert_eq!(made.header("location"), format!("/v1/estimates/{}", text(&facts, "id")));
        assert_eq!(text(&facts, "total"), text(&facts["estimate"]["summary"], "total"));
        assert_eq!(text(&facts, "outcome"), text(&facts["estimate"]["summary"], "outcome"));
        assert_eq!(text(&facts, "engine"), rillcast::compute::ENGINE);
    }
    let list = app.all(&estimates_of(&app.job)).await;
    let numbers: Vec<i64> = list.iter().map(|e| e["revision"].as_i64().unwrap()).collect();
    assert_eq!(numbers, [3, 2, 1]);
    assert!(list.iter().all(|e| e.get("estimate").is_none()), "lists leave the content out");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn revisions_made_at_once_get_different_numbers() {
    let app = TestApp::start().await;
    let mut sends = Vec::new();
    for _ in 0..8 {
        let ask = Ask::post(&estimates_of(&app.job)).key(&app.key).json(&json!({"notes": short_notes()}));
        sends.push(tokio::spawn(crate::app::send(app.router.clone(), ask)));
    }
    let mut numbers = Vec::new();
    for sent in sends {
        numbers.push(sent.await.unwrap().ok(201).json()["revision"].as_i64().unwrap());
    }
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=8).collect::<Vec<_>>());
}

#[tokio::test]
async fn the_bytes_survive_a_restart() {
    let app = TestApp::start().await;
    let made = app.post(&estimates_of(&app.job), &json!({})).await.ok(201);
    let path = made.header("location");
    let inputs = app.get(&format!("{path}/inputs")).await.ok(200).bytes;
    let app = app.restart().await;
    let read = app.get(&path).await.ok(200);
    assert_eq!((read.etag(), &read.bytes), (made.etag(), &made.bytes));
    assert_eq!(app.get(&format!("{path}/inputs")).await.ok(200).bytes, inputs);
    let again = app.send(Ask::post(&format!("{path}/recompute")).key(&app.key)).await.ok(200).json();
    assert_eq!(again["same"], json!(true), "{again}");
    // A cursor from before the restart still holds.
    for number in 0..3 {
        make_job(&app, &job(number)).await;
    }
    let cursor = text(&app.get("/v1/jobs?limit=2").await.ok(200).json(), "next_cursor");
    let app = app.restart().await;
    app.get(&format!("/v1/jobs?limit=2&cursor={cursor}")).await.ok(200);
}

/// The service is dropped where it stands after each answer, as when its process is killed: what was acknowledged is there.
#[tokio::test]
async fn a_crash_loses_nothing_acknowledged() {
    let mut app = TestApp::start().await;
    let mut kept: Vec<(String, Vec<u8>)> = Vec::new();
    for number in 1..=4 {
        let mut body = job(number);
        body["notes"] = short_notes();
        let job = make_job(&app, &body).await;
        let made = app.post(&estimates_of(&text(&job.json(), "id")), &json!({})).await.ok(201);
        kept.push((made.header("location"), made.bytes.clone()));
        // The estimate has touched its job.
        kept.push((job.header("location"), app.get(&job.header("location")).await.ok(200).bytes));
        // A write that has not been answered yet goes down with the process.
        let actor = rillcast::store::Actor { key_id: "k".to_owned(), request_id: "r".to_owned(), now: 1 };
        let mut unfinished = app.state.inner.store.begin(actor).await.unwrap();
        unfinished.put_book("pb_unfinished", "Unfinished").await.unwrap();
        app = app.restart_dropping(unfinished).await;
        for (path, bytes) in &kept {
            assert_eq!(&app.get(path).await.ok(200).bytes, bytes, "{path}");
        }
        app.get("/v1/price-books/pb_unfinished").await.problem(404, "not-found");
    }
}

#[tokio::test]
async fn a_copy_of_the_files_taken_without_shutdown_has_everything_acknowledged() {
    let app = TestApp::start().await;
    let made = app.post(&estimates_of(&app.job), &json!({})).await.ok(201);
    // The files as a killed process leaves them: database and write-ahead log, nothing checkpointed for us.
    let directory = tempfile::tempdir().unwrap();
    let from = app.state.inner.config.database.parent().unwrap().to_owned();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        if !entry.file_name().to_string_lossy().ends_with("-shm") {
            std::fs::copy(entry.path(), directory.path().join(entry.file_name())).unwrap();
        }
    }
    let store = rillcast::store::Store::open(&directory.path().join("test.sqlite"), 1).await.unwrap();
    let row = store.estimate(&text(&made.json(), "id")).await.unwrap().unwrap();
    assert!(made.text().contains(&row.answer));
    store.close().await;
}

#[tokio::test]
async fn estimates_keep_their_bytes_when_the_book_and_the_job_change() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let first = app.post(&estimates_of(&app.job), &json!({})).await.ok(201);
    let mut items = records.document["items"].as_array().unwrap().clone();
    for item in &mut items {
        item["price"] = json!("77.77");
    }
    let draft = format!("/v1/price-book-versions/{}", records.draft);
    app.patch(&format!("{draft}/document"), "*", &json!({"items": items})).await.ok(200);
    app.act(&format!("{draft}/publish"), "*").await.ok(200);
    let second = app.post(&estimates_of(&app.job), &json!({})).await.ok(201);
    let mut shorter = short_notes();
    for gone in ["drain_lines", "storm", "catchments"] {
        shorter[gone] = Value::Null;
    }
    app.patch(&format!("/v1/jobs/{}", app.job), "*", &json!({"notes": shorter})).await.ok(200);
    let third = app.post(&estimates_of(&app.job), &json!({})).await.ok(201);
    app.act(&format!("/v1/price-book-versions/{}/retire", records.published), "*").await.ok(200);

    assert_eq!(text(&first.json(), "price_book_version_id"), records.published);
    assert_eq!(text(&second.json(), "price_book_version_id"), records.draft);
    assert_ne!(text(&first.json(), "total"), text(&second.json(), "total"));
    assert_ne!(text(&second.json(), "total"), text(&third.json(), "total"));
    for made in [&first, &second, &third] {
        let path = made.header("location");
        assert_eq!(app.get(&path).await.ok(200).bytes, made.bytes);
        let again = app.send(Ask::post(&format!("{path}/recompute")).key(&app.key)).await.ok(200).json();
        assert_eq!(again["same"], json!(true), "{again}");
        assert_eq!(again["total"], again["stored_total"]);
        assert_eq!(text(&again, "total"), text(&made.json(), "total"));
    }
}

#[tokio::test]
async fn the_stateless_calculator_gives_the_estimate_that_is_kept() {
    let app = TestApp::start().await;
    let kept = app.post(&estimates_of(&app.job), &json!({})).await.ok(201);
    let notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let stateless = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await.ok(200);
    assert!(kept.text().ends_with(&format!("\"estimate\":{}}}", stateless.text())), "byte for byte");
    // Naming the current version by hand changes nothing.
    let version = text(&kept.json(), "price_book_version_id");
    let named = app
        .post("/v1/calculators/estimate", &json!({"notes": notes, "price_book_version": version}))
        .await
        .ok(200);
    assert_eq!(named.bytes, stateless.bytes);
}

#[tokio::test]
async fn inputs_are_what_was_sent() {
    let app = TestApp::start().await;
    let made = app.post(&estimates_of(&app.job), &json!({"notes": short_notes()})).await.ok(201).json();
    let inputs = app.get(&format!("/v1/estimates/{}/inputs", text(&made, "id"))).await.ok(200).json();
    assert_eq!(inputs["price_book_version_id"], made["price_book_version_id"]);
    assert_eq!(text(&inputs, "engine"), rillcast::compute::ENGINE);
    // The notes read back to the same estimate.
    let again = app.post(&estimates_of(&app.job), &json!({"notes": inputs["notes"]})).await.ok(201).json();
    assert_eq!(again["estimate"], made["estimate"]);
}

#[tokio::test]
async fn jobs_without_notes_and_unknown_jobs_are_refused() {
    let app = TestApp::start().await;
    let bare = text(&make_job(&app, &job(1)).await.json(), "id");
    let problem = app.post(&estimates_of(&bare), &json!({})).await.problem(409, "state-conflict");
    assert!(text(&problem, "detail").contains("notes"), "{problem}");
    app.post(&estimates_of("job_none"), &json!({})).await.problem(404, "not-found");
    app.get(&estimates_of("job_none")).await.problem(404, "not-found");
    // With the notes in the request, or patched into the job, it goes.
    app.post(&estimates_of(&bare), &json!({"notes": short_notes()})).await.ok(201);
    app.patch(&format!("/v1/jobs/{bare}"), "*", &json!({"notes": short_notes()})).await.ok(200);
    app.send(Ask::post(&estimates_of(&bare)).key(&app.key)).await.ok(201);
    assert_eq!(app.all(&estimates_of(&bare)).await.len(), 2);
}

#[tokio::test]
async fn faults_of_a_layout_are_told_where_the_notes_are() {
    let app = TestApp::start().await;
    let mut wrong = short_notes();
    wrong["runs"][0]["channel_system"] = json!("no-such-system");
    // In the request: under `notes`. In the job: where the job's notes have it.
    let sent = app.post(&estimates_of(&app.job), &json!({"notes": wrong})).await;
    assert_eq!(sent.pointers(), ["#/notes/runs/0/channel_system"]);
    let mut body = job(1);
    body["notes"] = wrong;
    let made = text(&make_job(&app, &body).await.json(), "id");
    let kept = app.post(&estimates_of(&made), &json!({})).await;
    assert_eq!(kept.pointers(), ["#/runs/0/channel_system"]);
    assert!(app.all(&estimates_of(&made)).await.is_empty());
}

#[tokio::test]
async fn references_of_other_systems_belong_to_one_job() {
    let app = TestApp::start().await;
    let mut body = job(1);
    body["external_refs"] = json!([{"system": "accounting", "id": "C-100"}]);
    let first = text(&make_job(&app, &body).await.json(), "id");
    app.post("/v1/jobs", &body).await.problem(409, "conflict");
    // The same id in another system is another reference; a job keeps its own through an edit.
    let mut other = job(2);
    other["external_refs"] = json!([{"system": "calendar", "id": "C-100"}]);
    let second = text(&make_job(&app, &other).await.json(), "id");
    app.patch(&format!("/v1/jobs/{first}"), "*", &json!({"title": "Kept"})).await.ok(200);
    app.patch(&format!("/v1/jobs/{second}"), "*", &json!({"external_refs": body["external_refs"]}))
        .await
        .problem(409, "conflict");
    app.patch(&format!("/v1/jobs/{first}"), "*", &json!({"external_refs": []})).await.ok(200);
    app.patch(&format!("/v1/jobs/{second}"), "*", &json!({"external_refs": body["external_refs"]}))
        .await
        .ok(200);
    let twice = json!([{"system": "a", "id": "1"}, {"system": "a", "id": "1"}]);
    let answer = app.patch(&format!("/v1/jobs/{first}"), "*", &json!({"external_refs": twice})).await;
    assert_eq!(answer.pointers(), ["#/external_refs/1"]);
}
