//! The store below the API: statements, migrations, what the database itself refuses, and transactions that do not end.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod failures;
mod papers;

use rillcast::store::estimates::NewEstimate;
use rillcast::store::idempotency::{KEPT_MS, KeptAnswer};
use rillcast::store::jobs::{JobFields, JobFilter, JobSort};
use rillcast::store::{Actor, Store, StoreError};
use sqlx::SqlitePool;
use sqlx::sqlite::SqliteConnectOptions;
use std::path::PathBuf;
use tempfile::TempDir;

struct File {
    directory: TempDir,
    store: Store,
}

impl File {
    fn path(&self) -> PathBuf {
        self.directory.path().join("test.sqlite")
    }

    async fn new() -> Self {
        let directory = tempfile::tempdir().unwrap();
        let store = Store::open(&directory.path().join("test.sqlite"), 2).await.unwrap();
        Self { directory, store }
    }

    /// With a published book, a job and an estimate.
    async fn populated() -> Self {
        let file = Self::new().await;
        let mut write = file.store.begin(actor(1_000)).await.unwrap();
        write.put_book("pb_1", "Book").await.unwrap();
        write.put_version("pbv_1", "pb_1", "{\"a\":1}").await.unwrap();
        write.publish_version("pbv_1", 1).await.unwrap();
        write.put_version("pbv_2", "pb_1", "{\"a\":2}").await.unwrap();
        write.put_job("job_1", &fields("Job", "C-1")).await.unwrap();
        write.put_estimate(&estimate("est_1", "job_1")).await.unwrap();
        write.put_rain_table("valley", "Valley", "{\"a\":1}", None).await.unwrap();
        write.commit().await.unwrap();
        file
    }

    /// A connection of its own, as any tool on the file has.
    async fn raw(&self) -> SqlitePool {
        let options = SqliteConnectOptions::new().filename(self.path()).foreign_keys(true);
        SqlitePool::connect_with(options).await.unwrap()
    }
}

fn actor(now: i64) -> Actor {
    Actor { key_id: "key".to_owned(), request_id: "request".to_owned(), now }
}

fn fields(title: &str, reference: &str) -> JobFields {
    JobFields {
        title: title.to_owned(),
        customer_name: "Customer".to_owned(),
        customer: "{}".to_owned(),
        site_address: "Site".to_owned(),
        site: "{}".to_owned(),
        notes: None,
        refs: vec![("accounting".to_owned(), reference.to_owned())],
        external_refs: "[]".to_owned(),
        closed: false,
    }
}

fn estimate(id: &str, job: &str) -> NewEstimate {
    NewEstimate {
        id: id.to_owned(),
        job_id: job.to_owned(),
        price_book_version_id: "pbv_1".to_owned(),
        engine: "1".to_owned(),
        notes: "{}".to_owned(),
        answer: "{\"total\":\"1.00\"}".to_owned(),
        total_minor: 100,
        outcome: "pass".to_owned(),
    }
}

async fn count(pool: &SqlitePool, table: &'static str) -> i64 {
    let statement = match table {
        "jobs" => "SELECT COUNT(*) FROM jobs",
        "job_refs" => "SELECT COUNT(*) FROM job_refs",
        "audit" => "SELECT COUNT(*) FROM audit",
        "estimates" => "SELECT COUNT(*) FROM estimates",
        "idempotency" => "SELECT COUNT(*) FROM idempotency",
        other => panic!("no count of {other}"),
    };
    sqlx::query_scalar(statement).fetch_one(pool).await.unwrap()
}

#[tokio::test]
async fn every_statement_prepares_against_the_migrated_schema() {
    let file = File::new().await;
    assert_eq!(file.store.prepare_all().await.unwrap(), Vec::<String>::new());
    assert!(rillcast::store::sql::ALL.len() >= 35, "{}", rillcast::store::sql::ALL.len());
    // The check can fail: an unmigrated file has no tables.
    let bare = Store::connect(&file.directory.path().join("bare.sqlite"), 1).await.unwrap();
    assert!(bare.prepare_all().await.unwrap().len() > 30);
}

#[test]
fn statements_keep_to_the_portable_subset() {
    for (name, text) in rillcast::store::sql::ALL {
        assert!(!text.contains('?'), "{name}: placeholders are $1, $2 and so on");
        let upper = text.to_uppercase();
        for own in [
            "INSERT OR",
            "REPLACE INTO",
            "PRAGMA",
            "ROWID",
            "STRFTIME",
            "DATETIME(",
            "IFNULL",
            "GLOB",
            "JSON_",
        ] {
            assert!(!upper.contains(own), "{name} uses {own}");
        }
    }
}

/// A state of the plan of the first job.
fn plan_state(number: i64) -> rillcast::store::plans::NewPlanVersion {
    rillcast::store::plans::NewPlanVersion {
        plan_id: "plan_1".to_owned(),
        job_id: "job_1".to_owned(),
        number,
        version: 1,
        estimate_id: "est_1".to_owned(),
        inputs: "{}".to_owned(),
        answer: "{}".to_owned(),
        issued: "{}".to_owned(),
        changes: "[]".to_owned(),
    }
}

#[tokio::test]
async fn states_of_plans_and_records_of_jobs_cannot_be_changed_or_deleted() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    write.put_plan_version(&plan_state(1)).await.unwrap();
    write.put_plan_version(&plan_state(2)).await.unwrap();
    assert!(matches!(write.put_plan_version(&plan_state(2)).await, Err(StoreError::Conflict)));
    let record = |id: &str, corrects: Option<&str>| rillcast::store::actuals::NewActual {
        id: id.to_owned(),
        kind: "finished".to_owned(),
        day: "2026-03-20".to_owned(),
        document: "{}".to_owned(),
        corrects: corrects.map(ToOwned::to_owned),
    };
    // Nothing is recorded on a job that was never accepted.
    assert!(write.put_actuals("job_1", &[record("act_0", None)]).await.is_err());
    write.set_acceptance("job_1", "est_1", "2026-03-02", "mark", None).await.unwrap();
    let again = write.set_acceptance("job_1", "est_1", "2026-03-02", "mark", None).await;
    assert!(matches!(again, Err(StoreError::Conflict)));
    write.put_actuals("job_1", &[record("act_1", None), record("act_2", Some("act_1"))]).await.unwrap();
    let twice = write.put_actuals("job_1", &[record("act_3", Some("act_1"))]).await;
    assert!(matches!(twice, Err(StoreError::Conflict)), "a record is corrected once");
    write.commit().await.unwrap();
    let raw = file.raw().await;
    for statement in [
        "UPDATE plan_versions SET answer = 'x'",
        "DELETE FROM plan_versions",
        "UPDATE actuals SET document = 'x'",
        "DELETE FROM actuals",
    ] {
        assert!(sqlx::query(statement).execute(&raw).await.is_err(), "{statement}");
    }
    assert_eq!(file.store.plan("plan_1").await.unwrap().unwrap().number, 2);
    assert_eq!(file.store.actuals("job_1", None, 10).await.unwrap().len(), 2);
    assert_eq!(file.store.finished_jobs(10).await.unwrap(), ["job_1"]);
}

#[tokio::test]
async fn opening_a_populated_file_again_changes_nothing() {
    let file = File::populated().await;
    let before = file.store.estimate("est_1").await.unwrap().unwrap();
    for _ in 0..3 {
        let again = Store::open(&file.path(), 1).await.unwrap();
        assert!(again.is_current().await.unwrap());
        let row = again.estimate("est_1").await.unwrap().unwrap();
        assert_eq!((row.answer, row.notes, row.revision), (before.answer.clone(), before.notes.clone(), 1));
        assert_eq!(again.current_version("2026-03-01").await.unwrap().as_deref(), Some("pbv_1"));
        again.close().await;
    }
    let secret = file.store.secret("s", || "first".to_owned()).await.unwrap();
    assert_eq!(secret, "first");
    assert_eq!(file.store.secret("s", || "second".to_owned()).await.unwrap(), "first");
}

#[tokio::test]
async fn a_file_of_an_unknown_newer_schema_is_not_opened() {
    let file = File::populated().await;
    let raw = file.raw().await;
    sqlx::query(
        "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time) \
         VALUES (9999, 'newer', 1, x'00', 0)",
    )
    .execute(&raw)
    .await
    .unwrap();
    assert!(!file.store.is_current().await.unwrap());
    assert!(matches!(Store::open(&file.path(), 1).await, Err(StoreError::Migrate(_))));
}

#[tokio::test]
async fn the_database_keeps_references_and_write_ahead() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    assert!(write.put_version("pbv_x", "pb_none", "{}").await.is_err(), "a version of no book");
    drop(write);
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    assert!(write.put_estimate(&estimate("est_x", "job_none")).await.is_err(), "an estimate of no job");
    drop(write);
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    let mut other = estimate("est_x", "job_1");
    other.price_book_version_id = "pbv_none".to_owned();
    assert!(write.put_estimate(&other).await.is_err(), "an estimate from no version");
    drop(write);
    let raw = file.raw().await;
    let mode: String = sqlx::query_scalar("PRAGMA journal_mode").fetch_one(&raw).await.unwrap();
    assert_eq!(mode, "wal");
    let broken: Vec<(String,)> =
        sqlx::query_as("SELECT \"table\" FROM pragma_foreign_key_check").fetch_all(&raw).await.unwrap();
    assert!(broken.is_empty());
}

#[tokio::test]
async fn what_is_final_cannot_be_changed_by_sql_either() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(1_500)).await.unwrap();
    write.set_acceptance("job_1", "est_1", "2026-03-02", "mark", None).await.unwrap();
    write.put_plan_version(&plan_state(1)).await.unwrap();
    write.put_proposal("prop_1", "pb_1", "{}").await.unwrap();
    write.commit().await.unwrap();
    let raw = file.raw().await;
    for (statement, reason) in [
        (
            "UPDATE price_book_versions SET document = '{}' WHERE id = 'pbv_1'",
            "a published price-book version",
        ),
        ("UPDATE estimates SET answer = '{}'", "an estimate revision cannot change"),
        ("UPDATE rain_tables SET document = '{}' WHERE code = 'valley'", "a rain table cannot change"),
        ("DELETE FROM rain_tables", "a rain table cannot be deleted"),
        ("UPDATE estimates SET total_minor = 0 WHERE id = 'est_1'", "an estimate revision cannot change"),
        ("DELETE FROM estimates", "an estimate revision cannot be deleted"),
        ("UPDATE audit SET key_id = 'someone else'", "the audit trail cannot change"),
        ("DELETE FROM audit WHERE id = 1", "the audit trail cannot be deleted"),
        ("DELETE FROM price_book_versions WHERE id = 'pbv_1'", "cannot be deleted"),
        ("UPDATE price_book_versions SET state = 'draft' WHERE id = 'pbv_1'", "no draft again"),
        (
            "UPDATE price_book_versions SET state = 'draft', document = '{}' WHERE id = 'pbv_1'",
            "a published price-book version",
        ),
        (
            "UPDATE price_book_versions SET number = 7 WHERE id = 'pbv_1'",
            "keeps its book, number and instants",
        ),
        ("UPDATE price_book_versions SET book_id = 'pb_2' WHERE id = 'pbv_1'", "keeps its book, number"),
        ("UPDATE price_book_versions SET published_at = 1 WHERE id = 'pbv_1'", "keeps its book, number"),
        ("UPDATE price_book_versions SET published_at = NULL WHERE id = 'pbv_1'", "keeps its book, number"),
        (
            "UPDATE acceptances SET estimate_id = 'est_2', source = 'mark'",
            "acceptance of a job cannot change",
        ),
        ("DELETE FROM acceptances", "acceptance of a job cannot be deleted"),
        ("UPDATE plans SET job_id = 'job_2'", "a plan stays with its job"),
        (
            "UPDATE price_book_versions SET made_from = 'pbv_1' WHERE id = 'pbv_2'",
            "stays a copy of what it was made from",
        ),
        ("DELETE FROM plans", "a plan cannot be deleted"),
        ("UPDATE rate_proposals SET document = '{}'", "proposed rates cannot change"),
        ("DELETE FROM rate_proposals", "proposed rates cannot be deleted"),
        ("DELETE FROM jobs", "FOREIGN KEY"),
        (
            "INSERT INTO price_book_versions SELECT 'pbv_9', book_id, 9, 'lost', document, 1, 1, 1, NULL, NULL, NULL, NULL, NULL FROM price_book_versions WHERE id = 'pbv_1'",
            "CHECK",
        ),
    ] {
        let error = sqlx::query(statement).execute(&raw).await.map(|_| ()).unwrap_err().to_string();
        assert!(error.contains(reason), "{statement}: {error}");
    }
    // Two published versions of one book do not share a day.
    let dated = "UPDATE price_book_versions SET effective_from = '2026-03-01' WHERE id = 'pbv_1'";
    sqlx::query(dated).execute(&raw).await.unwrap();
    let published = "UPDATE price_book_versions SET state = 'published', effective_from = $1, effective_to = $2 WHERE id = 'pbv_2'";
    for (from, to) in [("2026-03-01", None), ("2026-01-01", None), ("2026-02-01", Some("2026-03-02"))] {
        let error = sqlx::query(published).bind(from).bind(to).execute(&raw).await.map(|_| ()).unwrap_err();
        assert!(error.to_string().contains("on the same day"), "{from} {to:?}: {error}");
    }
    sqlx::query("UPDATE price_book_versions SET effective_from = NULL WHERE id = 'pbv_1'")
        .execute(&raw)
        .await
        .unwrap();
    // A draft is not final yet.
    sqlx::query("UPDATE price_book_versions SET document = '{}' WHERE id = 'pbv_2'")
        .execute(&raw)
        .await
        .unwrap();
    // Retiring does not touch the document.
    let mut write = file.store.begin(actor(3_000)).await.unwrap();
    write.retire_version("pbv_1", 2).await.unwrap();
    write.commit().await.unwrap();
    assert_eq!(file.store.version("pbv_1").await.unwrap().unwrap().document, "{\"a\":1}");
    for state in ["draft", "published"] {
        let again = sqlx::query("UPDATE price_book_versions SET state = $1 WHERE id = 'pbv_1'").bind(state);
        let error = again.execute(&raw).await.map(|_| ()).unwrap_err().to_string();
        assert!(error.contains("stays retired"), "{state}: {error}");
    }
    // A mark set by hand gives way to an accepted quote, and that is final.
    let taken = "UPDATE acceptances SET source = 'quo_1' WHERE job_id = 'job_1'";
    sqlx::query(taken).execute(&raw).await.unwrap();
    let error = sqlx::query(taken).execute(&raw).await.map(|_| ()).unwrap_err().to_string();
    assert!(error.contains("acceptance of a job cannot change"), "{error}");
}

#[tokio::test]
async fn lists_of_jobs_leave_the_site_notes_where_they_are() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    let noted = JobFields { notes: Some("{\"runs\":[]}".to_owned()), ..fields("Noted", "C-2") };
    write.put_job("job_2", &noted).await.unwrap();
    write.commit().await.unwrap();
    for sort in [JobSort::Updated, JobSort::UpdatedDesc, JobSort::Created, JobSort::CreatedDesc] {
        let rows = file.store.jobs(&JobFilter::default(), sort, None, 10).await.unwrap();
        assert_eq!(rows.len(), 2);
        assert!(rows.iter().all(|row| row.notes.is_none()), "{sort:?}");
    }
    assert_eq!(file.store.job("job_2").await.unwrap().unwrap().notes, noted.notes);
}

#[tokio::test]
async fn keys_revoked_by_their_name_are_in_the_trail_one_by_one() {
    let file = File::new().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    for (id, name) in [("a", "office"), ("b", "office"), ("c", "other")] {
        write.put_key(id, name, "hash", "calculate").await.unwrap();
    }
    assert!(write.revoke_key("a").await.unwrap());
    write.revoke_keys_named("office").await.unwrap();
    write.commit().await.unwrap();
    for (id, revoked) in [("a", true), ("b", true), ("c", false)] {
        let trail = file.store.audit_trail(Some(id), None, 10).await.unwrap();
        let actions: Vec<&str> = trail.iter().map(|row| row.action.as_str()).collect();
        let expected: &[&str] = if revoked { &["key.revoke", "key.create"] } else { &["key.create"] };
        assert_eq!(actions, expected, "{id}");
    }
}

#[tokio::test]
async fn a_write_that_is_dropped_leaves_nothing() {
    let file = File::populated().await;
    let raw = file.raw().await;
    let tables = ["jobs", "job_refs", "audit", "estimates", "idempotency"];
    let mut before = Vec::new();
    for table in tables {
        before.push(count(&raw, table).await);
    }
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    write.put_job("job_2", &fields("Second", "C-2")).await.unwrap();
    write.put_estimate(&estimate("est_2", "job_2")).await.unwrap();
    let kept = KeptAnswer {
        fingerprint: "f".to_owned(),
        status: 201,
        location: None,
        etag: None,
        body: "{}".to_owned(),
    };
    write.keep("idempotency-key", &kept).await.unwrap();
    // Inside, it is there; outside, it is not.
    assert!(write.job("job_2").await.unwrap().is_some());
    assert!(file.store.job("job_2").await.unwrap().is_none());
    drop(write);
    for (table, before) in tables.into_iter().zip(before) {
        assert_eq!(count(&raw, table).await, before, "{table}");
    }
    // The writer is free again, and the key is not taken.
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    assert!(write.kept("idempotency-key").await.unwrap().is_none());
    write.put_job("job_2", &fields("Second", "C-2")).await.unwrap();
    write.commit().await.unwrap();
    assert!(file.store.job("job_2").await.unwrap().is_some());
}

#[tokio::test]
async fn a_stale_row_version_changes_nothing() {
    let file = File::populated().await;
    let current = file.store.job("job_1").await.unwrap().unwrap().row_version;
    for wrong in [0, current - 1, current + 1] {
        let mut write = file.store.begin(actor(2_000)).await.unwrap();
        let refused = write.edit_job("job_1", wrong, &fields("Edited", "C-1"), serde_json::json!({})).await;
        assert!(matches!(refused, Err(StoreError::Stale)), "{wrong}: {refused:?}");
        drop(write);
        let mut write = file.store.begin(actor(2_000)).await.unwrap();
        assert!(matches!(
            write.edit_version("pbv_2", 7, "{}", serde_json::json!({})).await,
            Err(StoreError::Stale)
        ));
        assert!(matches!(write.publish_version("pbv_2", 7).await, Err(StoreError::Stale)));
        // Right row version, wrong state.
        assert!(matches!(
            write.edit_version("pbv_1", 2, "{}", serde_json::json!({})).await,
            Err(StoreError::Stale)
        ));
        assert!(matches!(write.publish_version("pbv_1", 2).await, Err(StoreError::Stale)));
    }
    assert_eq!(file.store.job("job_1").await.unwrap().unwrap().title, "Job");
}

#[tokio::test]
async fn a_reference_belongs_to_one_job() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    let refused = write.put_job("job_2", &fields("Second", "C-1")).await;
    assert!(matches!(refused, Err(StoreError::Conflict)), "{refused:?}");
}

#[tokio::test]
async fn kept_answers_last_seven_days() {
    let file = File::new().await;
    let kept = KeptAnswer {
        fingerprint: "f".to_owned(),
        status: 201,
        location: Some("/v1/jobs/job_1".to_owned()),
        etag: Some("\"job_1.1\"".to_owned()),
        body: "{\"a\":1}".to_owned(),
    };
    let start = 1_000_000;
    let mut write = file.store.begin(actor(start)).await.unwrap();
    write.keep("key-number-one", &kept).await.unwrap();
    write.commit().await.unwrap();
    for (later, there) in [(0, true), (KEPT_MS - 1, true), (KEPT_MS, false), (KEPT_MS + 86_400_000, false)] {
        let mut write = file.store.begin(actor(start + later)).await.unwrap();
        let found = write.kept("key-number-one").await.unwrap();
        assert_eq!(found.is_some(), there, "{later} ms later");
        if let Some(found) = found {
            assert_eq!(
                (found.status, found.body, found.location),
                (201, kept.body.clone(), kept.location.clone())
            );
        }
    }
    // After that the key is free, though its old row may still lie there.
    let mut write = file.store.begin(actor(start + KEPT_MS)).await.unwrap();
    write.keep("key-number-one", &kept).await.unwrap();
    write.commit().await.unwrap();
    assert_eq!(count(&file.raw().await, "idempotency").await, 1);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn writers_queue_and_readers_do_not_wait() {
    let file = File::populated().await;
    let open = file.store.begin(actor(2_000)).await.unwrap();
    // A read goes on beside an open write.
    let filter = JobFilter::default();
    let read = file.store.jobs(&filter, JobSort::Created, None, 10);
    let rows = tokio::time::timeout(std::time::Duration::from_secs(2), read).await.unwrap().unwrap();
    assert_eq!(rows.len(), 1);
    let mut writers = Vec::new();
    for number in 0..12 {
        let store = file.store.clone();
        writers.push(tokio::spawn(async move {
            let mut write = store.begin(actor(3_000)).await?;
            write.put_job(&format!("job_w{number}"), &fields("W", &format!("W-{number}"))).await?;
            write.commit().await
        }));
    }
    tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    assert!(writers.iter().all(|w| !w.is_finished()), "a second writer got in");
    open.commit().await.unwrap();
    for writer in writers {
        writer.await.unwrap().unwrap();
    }
    assert_eq!(file.store.jobs(&filter, JobSort::Created, None, 100).await.unwrap().len(), 13);
}
