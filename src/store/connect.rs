//! Opening the database: pools, pragmas, migrations.

use super::{Store, StoreError, sql};
use sqlx::Connection as _;
use sqlx::migrate::Migrator;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

static MIGRATOR: Migrator = sqlx::migrate!("migrations/sqlite");

/// How long a connection waits for the writer.
pub(super) const BUSY: Duration = Duration::from_secs(10);

/// Makes an empty file that only its owner reads and writes, where there is none: customers, prices and wages stand in a database, and
/// what SQLite puts beside it has the same rights. One that is there keeps those it has, or is in the way of a `new` one.
///
/// # Errors
/// When it cannot be made, or is in the way.
pub(super) fn private(path: &Path, new: bool) -> std::io::Result<()> {
    // One that is there is not opened: closing it would take the locks of this process off it.
    if !new && path.exists() {
        return Ok(());
    }
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(false).create_new(new);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path).map(|_| ())
}

impl Store {
    /// Opens the file, makes it if needed, and migrates it. Of several that open it at once, one migrates and the others wait.
    ///
    /// # Errors
    /// When the file cannot be opened or a migration fails.
    pub async fn open(path: &Path, readers: u32) -> Result<Store, StoreError> {
        let store = Self::connect(path, readers).await?;
        let mut tx = store.write.begin_with("BEGIN IMMEDIATE").await?;
        // Every migration is a savepoint of the one transaction, so a start that is broken off leaves none of them.
        MIGRATOR.run_direct(None, &mut *tx, false).await?;
        tx.commit().await?;
        Ok(store)
    }

    /// Opens the file without migrating it.
    ///
    /// # Errors
    /// When the file cannot be opened.
    pub async fn connect(path: &Path, readers: u32) -> Result<Store, StoreError> {
        let started = Instant::now();
        loop {
            match Self::connect_once(path, readers).await {
                // The change to write-ahead of a new file does not wait for others that make it.
                Err(StoreError::Busy) if started.elapsed() < BUSY => {
                    tokio::time::sleep(Duration::from_millis(20)).await;
                }
                done => return done,
            }
        }
    }

    async fn connect_once(path: &Path, readers: u32) -> Result<Store, StoreError> {
        // Where the file cannot be made, opening it says why.
        let _ = private(path, false);
        // FULL: what is acknowledged survives a power cut.
        let options = SqliteConnectOptions::new()
            .filename(path)
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(BUSY);
        let doubtful = Arc::new(AtomicBool::new(false));
        let noticed = Arc::clone(&doubtful);
        let write = SqlitePoolOptions::new()
            .max_connections(1)
            .after_release(move |connection, _| {
                let noticed = Arc::clone(&noticed);
                Box::pin(async move {
                    // Behind the rollback that a dropped transaction has asked for.
                    connection.ping().await?;
                    // On a full disk the database rolls back by itself, and the rollback of the library finds nothing to roll
                    // back: the library then believes in a transaction that is no more, and would begin no other.
                    let is_left_over = connection.is_in_transaction();
                    if is_left_over {
                        noticed.store(true, Ordering::SeqCst);
                        tracing::warn!("a write broke off in the database; its connection is opened anew");
                    }
                    Ok(!is_left_over)
                })
            })
            .connect_with(options.clone())
            .await?;
        let read = SqlitePoolOptions::new()
            .max_connections(readers.max(1))
            .connect_with(options.read_only(false).pragma("query_only", "1"))
            .await?;
        Ok(Store { read, write, doubtful })
    }

    /// Whether every migration of this build has been applied.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn is_current(&self) -> Result<bool, StoreError> {
        let applied = sqlx::query_scalar::<_, i64>(sql::MIGRATIONS_APPLIED).fetch_one(&self.read).await?;
        let known = MIGRATOR.iter().filter(|m| !m.migration_type.is_down_migration()).count();
        Ok(applied as usize == known)
    }

    /// A secret of this database, made by `make` the first time.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn secret(&self, name: &str, make: impl FnOnce() -> String) -> Result<String, StoreError> {
        sqlx::query(sql::META_PUT).bind(name).bind(make()).execute(&self.write).await?;
        Ok(sqlx::query_scalar(sql::META_GET).bind(name).fetch_one(&self.write).await?)
    }

    /// Prepares every statement against the schema; gives the names of those that fail.
    ///
    /// # Errors
    /// When no connection can be had.
    pub async fn prepare_all(&self) -> Result<Vec<String>, StoreError> {
        use sqlx::Executor as _;
        use sqlx::SqlSafeStr as _;
        let mut connection = self.read.acquire().await?;
        let mut failed = Vec::new();
        for (name, text) in sql::ALL {
            if let Err(error) = (&mut *connection).prepare(text.into_sql_str()).await {
                failed.push(format!("{name}: {error}"));
            }
        }
        Ok(failed)
    }
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where the database does not work")]

    use super::super::Actor;
    use super::*;

    async fn put(store: &Store, name: &str, length: usize) -> Result<(), StoreError> {
        let actor = Actor { key_id: "key".to_owned(), request_id: "request".to_owned(), now: 1 };
        let mut write = store.begin(actor).await?;
        sqlx::query(sql::META_PUT).bind(name).bind("x".repeat(length)).execute(&mut *write.tx).await?;
        write.commit().await
    }

    #[tokio::test]
    async fn a_full_disk_is_told_and_stops_no_later_write() {
        let directory = tempfile::tempdir().unwrap();
        let store = Store::open(&directory.path().join("test.sqlite"), 1).await.unwrap();
        let pages: i64 = sqlx::query_scalar("PRAGMA page_count").fetch_one(&store.write).await.unwrap();
        // As if nothing more had room on the disk; the limit is one of this connection.
        let limit = format!("PRAGMA max_page_count = {pages}");
        sqlx::query(sqlx::AssertSqlSafe(limit)).execute(&store.write).await.unwrap();
        store.writable().await.unwrap();
        assert!(matches!(put(&store, "long", 100_000).await, Err(StoreError::Full(_))));
        // There is room again, and the next write is taken.
        put(&store, "later", 100_000).await.unwrap();
        let kept = |name: &'static str| sqlx::query_scalar::<_, String>(sql::META_GET).bind(name);
        assert_eq!(kept("later").fetch_one(&store.read).await.unwrap().len(), 100_000);
        assert!(kept("long").fetch_optional(&store.read).await.unwrap().is_none());
        assert!(!store.doubtful.load(Ordering::SeqCst));
    }

    #[tokio::test]
    async fn whether_the_database_takes_writes_is_tried_only_after_one_failed() {
        let directory = tempfile::tempdir().unwrap();
        let store = Store::open(&directory.path().join("test.sqlite"), 1).await.unwrap();
        let tried = || sqlx::query_scalar::<_, String>(sql::META_GET).bind("tried");
        store.writable().await.unwrap();
        assert!(tried().fetch_optional(&store.read).await.unwrap().is_none());
        store.doubtful.store(true, Ordering::SeqCst);
        store.writable().await.unwrap();
        assert!(tried().fetch_optional(&store.read).await.unwrap().is_some());
        assert!(!store.doubtful.load(Ordering::SeqCst));
    }
}
