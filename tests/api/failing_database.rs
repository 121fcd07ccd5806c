//! A database that cannot write: what is told, and that all is well once it can.

use crate::app::{Ask, TestApp};
use crate::records::job;
use axum::response::IntoResponse as _;
use rillcast::http::problem::{DISK_FAILS, DISK_FULL, Problem};
use rillcast::store::StoreError;
use sqlx::SqlitePool;
use sqlx::sqlite::SqliteConnectOptions;
use std::time::{Duration, Instant};

/// Ends every write of jobs, and those that try whether anything can be written, as a full disk does.
const FULL: [&str; 2] = [
    "CREATE TRIGGER full_jobs BEFORE INSERT ON jobs BEGIN SELECT RAISE(ROLLBACK, 'full'); END",
    "CREATE TRIGGER full_meta BEFORE INSERT ON meta BEGIN SELECT RAISE(ROLLBACK, 'full'); END",
];
const ROOM: [&str; 2] = ["DROP TRIGGER full_jobs", "DROP TRIGGER full_meta"];

#[tokio::test]
async fn a_service_that_cannot_write_is_not_ready_until_it_can() {
    let app = TestApp::start().await;
    let file = SqliteConnectOptions::new().filename(&app.state.inner.config.database);
    let raw = SqlitePool::connect_with(file).await.unwrap();
    let run = async |statements: [&'static str; 2]| {
        for statement in statements {
            sqlx::query(statement).execute(&raw).await.unwrap();
        }
    };
    let ready = || app.send(Ask::get("/readyz"));
    ready().await.ok(200);
    run(FULL).await;
    // Nobody has tried yet.
    ready().await.ok(200);
    for _ in 0..2 {
        assert!(app.post("/v1/jobs", &job(1)).await.status.is_server_error());
        // The connection is looked at once it is given back, a moment after the answer.
        let asked = Instant::now();
        let told = loop {
            let told = ready().await;
            if told.status != 200 || asked.elapsed() > Duration::from_secs(5) {
                break told;
            }
        };
        told.problem(503, "overloaded");
    }
    app.get("/v1/jobs").await.ok(200);
    run(ROOM).await;
    // Nobody needs to write for it to be noticed.
    ready().await.ok(200);
    app.post("/v1/jobs", &job(1)).await.ok(201);
    ready().await.ok(200);
}

#[test]
fn a_full_disk_and_one_that_fails_are_told_apart() {
    for (error, kind, nothing_written) in [
        (StoreError::Full("full".to_owned()), DISK_FULL, true),
        (StoreError::Disk("no disk".to_owned()), DISK_FAILS, false),
    ] {
        let problem = Problem::from(error);
        assert_eq!((problem.kind(), problem.kind().status), (kind, 503));
        assert_eq!(problem.body("id").detail.contains("nothing was written"), nothing_written);
        assert_eq!(kind.help.contains("may have been written"), !nothing_written);
        assert!(problem.into_response().headers().contains_key("retry-after"));
    }
}
