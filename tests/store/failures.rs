//! What the database does by itself or refuses: transactions it ends, several starts at once; and copies of it.

use crate::{File, actor, count, estimate, fields};
use rillcast::store::backup::BackupError;
use rillcast::store::{Store, StoreError};
use std::time::Duration;

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

#[tokio::test]
async fn a_backup_is_one_whole_file_beside_an_open_write() {
    let file = File::populated().await;
    let to = file.directory.path().join("copy.sqlite");
    let mut open = file.store.begin(actor(2_000)).await.unwrap();
    open.put_job("job_2", &fields("Second", "C-2")).await.unwrap();
    // As the program does it: by a connection of its own.
    let beside = Store::connect(&file.path(), 1).await.unwrap();
    tokio::time::timeout(Duration::from_secs(5), beside.back_up(&to)).await.unwrap().unwrap();
    open.commit().await.unwrap();
    let names = |directory: &std::path::Path| {
        let entries = std::fs::read_dir(directory).unwrap();
        entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect::<Vec<_>>()
    };
    let beside_it = names(file.directory.path());
    assert!(beside_it.iter().filter(|name| name.starts_with("copy")).count() == 1, "{beside_it:?}");
    // The copy holds what was committed, and no half of the write that was open.
    let copy = Store::open(&to, 1).await.unwrap();
    assert!(copy.job("job_1").await.unwrap().is_some() && copy.job("job_2").await.unwrap().is_none());
    assert_eq!(copy.estimate("est_1").await.unwrap().unwrap().answer, estimate("est_1", "job_1").answer);
    copy.close().await;

    // Nothing is overwritten, and what broke off is not taken for a backup.
    let before = std::fs::read(&to).unwrap();
    assert!(matches!(beside.back_up(&to).await, Err(BackupError::Exists(_))));
    assert_eq!(std::fs::read(&to).unwrap(), before);
    let other = file.directory.path().join("other.sqlite");
    std::fs::write(file.directory.path().join("other.sqlite.part"), "half").unwrap();
    assert!(matches!(beside.back_up(&other).await, Err(BackupError::LeftOver(_))));
    let nowhere = file.directory.path().join("none").join("copy.sqlite");
    assert!(beside.back_up(&nowhere).await.is_err());
    assert!(!other.exists() && !nowhere.exists());
}
