//! Opening the database: pools, pragmas, migrations.

use super::{Store, StoreError, sql};
use sqlx::migrate::Migrator;
use sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use std::path::Path;
use std::time::Duration;

static MIGRATOR: Migrator = sqlx::migrate!("migrations/sqlite");

/// How long a connection waits for the writer.
const BUSY: Duration = Duration::from_secs(10);

impl Store {
    /// Opens the file, makes it if needed, and migrates it.
    ///
    /// # Errors
    /// When the file cannot be opened or a migration fails.
    pub async fn open(path: &Path, readers: u32) -> Result<Store, StoreError> {
        let store = Self::connect(path, readers).await?;
        MIGRATOR.run(&store.write).await?;
        Ok(store)
    }

    /// Opens the file without migrating it.
    ///
    /// # Errors
    /// When the file cannot be opened.
    pub async fn connect(path: &Path, readers: u32) -> Result<Store, StoreError> {
        // FULL: what is acknowledged survives a power cut.
        let options = SqliteConnectOptions::new()
            .filename(path)
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(BUSY);
        let write = SqlitePoolOptions::new().max_connections(1).connect_with(options.clone()).await?;
        let read = SqlitePoolOptions::new()
            .max_connections(readers.max(1))
            .connect_with(options.read_only(false).pragma("query_only", "1"))
            .await?;
        Ok(Store { read, write })
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
