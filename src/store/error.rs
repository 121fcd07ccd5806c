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
    /// The disk of the database is full; nothing of the transaction is there.
    #[error("disk full: {0}")]
    Full(String),
    /// The disk of the database could not be read or written.
    #[error("disk: {0}")]
    Disk(String),
    /// Anything else.
    #[error("database: {0}")]
    Db(sqlx::Error),
    /// Migration failed.
    #[error("migration: {0}")]
    Migrate(#[from] sqlx::migrate::MigrateError),
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        match &error {
            // Every connection stayed taken for the whole wait: whoever holds them waits for the same lock.
            sqlx::Error::PoolTimedOut => return StoreError::Busy,
            sqlx::Error::Database(database) if database.is_unique_violation() => return StoreError::Conflict,
            sqlx::Error::Database(database) => match database.code().as_deref().and_then(primary) {
                Some(BUSY | LOCKED) => return StoreError::Busy,
                Some(FULL) => return StoreError::Full(error.to_string()),
                Some(IO_FAILED) => return StoreError::Disk(error.to_string()),
                _ => {}
            },
            _ => {}
        }
        StoreError::Db(error)
    }
}

/// Another connection holds the file.
const BUSY: i32 = 5;
/// Another connection holds a table.
const LOCKED: i32 = 6;
/// Reading or writing the file failed.
const IO_FAILED: i32 = 10;
/// No room for the file to grow.
const FULL: i32 = 13;

/// The result code that an extended one belongs to: its lowest eight bits.
fn primary(code: &str) -> Option<i32> {
    code.parse::<i32>().ok().map(|code| code & 0xff)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_extended_code_belongs_to_its_primary_one() {
        let codes = ["5", "261", "517", "6", "262", "13", "10", "778", "1034", "2067", "no code"];
        let primaries = codes.map(primary);
        let expected = [5, 5, 5, 6, 6, 13, 10, 10, 10, 19].map(Some);
        assert_eq!(primaries[..10], expected);
        assert_eq!(primaries[10], None);
    }

    #[test]
    fn a_wait_for_a_connection_that_was_too_long_says_busy() {
        assert!(matches!(StoreError::from(sqlx::Error::PoolTimedOut), StoreError::Busy));
        assert!(matches!(StoreError::from(sqlx::Error::PoolClosed), StoreError::Db(_)));
    }
}
