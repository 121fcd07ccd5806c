//! What the database does by itself or refuses: transactions it ends, several starts at once.

use crate::{File, actor, count, estimate, fields};
use rillcast::store::{Store, StoreError};

/// As on a full disk, the database rolls the transaction back by itself.
#[tokio::test]
async fn a_transaction_that_the_database_ends_by_itself_stops_no_later_write() {
    let file = File::populated().await;
    let raw = file.raw().await;
    sqlx::query("CREATE TRIGGER ends BEFORE INSERT ON jobs BEGIN SELECT RAISE(ROLLBACK, 'no room'); END")
        .execute(&raw)
        .await
        .unwrap();
    for number in 0..3 {
        let mut write = file.store.begin(actor(2_000)).await.unwrap();
        write.put_estimate(&estimate(&format!("est_{number}x"), "job_1")).await.unwrap();
        let ended = write.put_job("job_2", &fields("Second", "C-2")).await;
        assert!(matches!(ended, Err(StoreError::Db(_))), "{ended:?}");
    }
    // Nothing can be written yet, and whoever asks is told so.
    sqlx::query("CREATE TRIGGER tried BEFORE INSERT ON meta BEGIN SELECT RAISE(ROLLBACK, 'no room'); END")
        .execute(&raw)
        .await
        .unwrap();
    assert!(file.store.writable().await.is_err());
    for trigger in ["DROP TRIGGER ends", "DROP TRIGGER tried"] {
        sqlx::query(trigger).execute(&raw).await.unwrap();
    }
    file.store.writable().await.unwrap();
    let mut write = file.store.begin(actor(3_000)).await.unwrap();
    write.put_job("job_2", &fields("Second", "C-2")).await.unwrap();
    write.commit().await.unwrap();
    assert_eq!((count(&raw, "jobs").await, count(&raw, "estimates").await), (2, 1));
    // The connection in its place keeps references as the first did.
    let mut write = file.store.begin(actor(4_000)).await.unwrap();
    assert!(write.put_estimate(&estimate("est_x", "job_none")).await.is_err());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_new_file_that_several_open_at_once_is_migrated_once() {
    for _ in 0..8 {
        let directory = tempfile::tempdir().unwrap();
        let path = directory.path().join("new.sqlite");
        let mut opening = Vec::new();
        for _ in 0..6 {
            let path = path.clone();
            opening.push(tokio::spawn(async move { Store::open(&path, 1).await }));
        }
        for opened in opening {
            let store = opened.await.unwrap().unwrap();
            assert!(store.is_current().await.unwrap());
        }
    }
}
