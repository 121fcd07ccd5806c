//! What the database does by itself or refuses: transactions it ends, several starts at once.

use crate::{File, actor, count, estimate, fields};
use rillcast::store::StoreError;

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
