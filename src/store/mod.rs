//! The store: all SQL of the project, SQLite by default.
//!
//! One writer, many readers. Every write is one `BEGIN IMMEDIATE` transaction opened by [`Store::begin`]; dropping a
//! [`Write`] rolls it back, so an early return or a dropped request leaves nothing half written. What belongs to a write
//! (its audit row, its idempotent answer) goes into the same transaction.
//!
//! Statements keep to a portable subset: `$1` placeholders, text ids, JSON as text, times as unix milliseconds.
//! [`sql::ALL`] lists them, and a test prepares each one against the migrated schema.

pub mod actuals;
pub mod audit;
pub mod book_life;
pub mod connect;
pub mod error;
pub mod estimates;
pub mod idempotency;
pub mod jobs;
pub mod keys;
pub mod plans;
pub mod price_books;
pub mod rain_tables;
pub mod sql;

pub use error::StoreError;

use sqlx::{Sqlite, SqlitePool, Transaction};

/// The database.
#[derive(Debug, Clone)]
pub struct Store {
    pub(crate) read: SqlitePool,
    pub(crate) write: SqlitePool,
}

/// Who writes, when, under which request.
#[derive(Debug, Clone)]
pub struct Actor {
    /// Key id of the caller; `cli` for the command line.
    pub key_id: String,
    /// Request id.
    pub request_id: String,
    /// Now, unix milliseconds.
    pub now: i64,
}

/// One open write transaction. Rolls back when dropped.
#[derive(Debug)]
pub struct Write {
    pub(crate) tx: Transaction<'static, Sqlite>,
    pub(crate) actor: Actor,
}

impl Store {
    /// Opens a write transaction.
    ///
    /// # Errors
    /// When the database cannot be reached or another writer holds it beyond the wait.
    pub async fn begin(&self, actor: Actor) -> Result<Write, StoreError> {
        let tx = self.write.begin_with("BEGIN IMMEDIATE").await?;
        Ok(Write { tx, actor })
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// When it does not.
    pub async fn ping(&self) -> Result<(), StoreError> {
        sqlx::query(sql::PING).execute(&self.read).await?;
        Ok(())
    }

    /// Closes all connections.
    pub async fn close(&self) {
        self.read.close().await;
        self.write.close().await;
    }
}

impl Write {
    /// Makes everything in this transaction durable.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn commit(self) -> Result<(), StoreError> {
        self.tx.commit().await?;
        Ok(())
    }
}
