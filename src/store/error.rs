//! What can go wrong in the store.

/// An error of the store. The HTTP edge decides the status; the cause goes to the log only.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Something with this natural key exists already.
    #[error("already there")]
    Conflict,
    /// The row has changed since it was read.
    #[error("changed meanwhile")]
    Stale,
    /// A stored document could not be read back.
    #[error("stored document cannot be read: {0}")]
    Corrupt(String),
    /// The database is busy beyond the wait.
    #[error("database busy")]
    Busy,
    /// Anything else.
    #[error("database: {0}")]
    Db(sqlx::Error),
    /// Migration failed.
    #[error("migration: {0}")]
    Migrate(#[from] sqlx::migrate::MigrateError),
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        if let sqlx::Error::Database(database) = &error {
            if database.is_unique_violation() {
                return StoreError::Conflict;
            }
            if database.code().is_some_and(|c| matches!(c.as_ref(), "5" | "6" | "261" | "517")) {
                return StoreError::Busy;
            }
        }
        StoreError::Db(error)
    }
}
