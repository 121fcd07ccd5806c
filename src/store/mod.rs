//! The store: all SQL of the project, SQLite by default.
//!
//! One writer, many readers. Every write is one `BEGIN IMMEDIATE` transaction opened by [`Store::begin`]; dropping a
//! [`Write`] rolls it back, so an early return or a dropped request leaves nothing half written. What belongs to a write
//! (its audit row, its idempotent answer) goes into the same transaction. A connection whose transaction the database ended by
//! itself (a full disk) is closed instead of used again.
//!
//! Statements keep to a portable subset: `$1` placeholders, text ids, JSON as text, times as unix milliseconds.
//! [`sql::ALL`] lists them, and a test prepares each one against the migrated schema.
//!
//! | file | subject |
//! |---|---|
//! | [`sql`] | every statement but those that open, check and copy a database |
//! | [`connect`], [`backup`] | opening the database; copying it while it is in use |
//! | [`error`] | what can go wrong |
//! | [`keys`], [`idempotency`], [`audit`] | API keys; answers kept for repeated requests; the audit trail |
//! | [`price_books`], [`book_life`] | price books and their versions; the jobs they were used for |
//! | [`rain_tables`] | rain tables |
//! | [`jobs`], [`estimates`] | jobs and their estimate revisions |
//! | [`papers`], [`reports`] | quotes, change orders, invoices, credit notes; payments, voids and costs as they are reported |
//! | [`plans`], [`actuals`] | plans and their versions; accepted jobs, what happened on them, rates proposed from it |

pub mod actuals;
pub mod audit;
pub mod backup;
pub mod book_life;
pub mod connect;
pub mod error;
pub mod estimates;
pub mod idempotency;
pub mod jobs;
pub mod keys;
pub mod papers;
pub mod plans;
pub mod price_books;
pub mod rain_tables;
pub mod reports;
pub mod sql;

pub use error::StoreError;

use sqlx::{Sqlite, SqlitePool, Transaction};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The database.
#[derive(Debug, Clone)]
pub struct Store {
    pub(crate) read: SqlitePool,
    pub(crate) write: SqlitePool,
    /// Whether the last write failed on the side of the database.
    doubtful: Arc<AtomicBool>,
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
    doubtful: Arc<AtomicBool>,
}

impl Store {
    /// Opens a write transaction.
    ///
    /// # Errors
    /// When the database cannot be reached or another writer holds it beyond the wait.
    pub async fn begin(&self, actor: Actor) -> Result<Write, StoreError> {
        let tx = noted(&self.doubtful, self.write.begin_with("BEGIN IMMEDIATE").await)?;
        Ok(Write { tx, actor, doubtful: Arc::clone(&self.doubtful) })
    }

    /// Whether the database takes writes. It is tried only where the last one failed, so asking costs nothing as long as all is
    /// well, and whoever asks again after that learns when there is room once more.
    ///
    /// # Errors
    /// When it does not.
    pub async fn writable(&self) -> Result<(), StoreError> {
        if !self.doubtful.load(Ordering::SeqCst) {
            return Ok(());
        }
        let actor = Actor { key_id: String::new(), request_id: String::new(), now: 0 };
        let mut write = self.begin(actor).await?;
        sqlx::query(sql::META_TRY).execute(&mut *write.tx).await?;
        write.commit().await
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
    /// The instant that what is written from here on carries, unix milliseconds.
    pub fn dated(&mut self, now: i64) {
        self.actor.now = now;
    }

    /// Makes everything in this transaction durable.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn commit(self) -> Result<(), StoreError> {
        let Write { tx, actor: _, doubtful } = self;
        noted(&doubtful, tx.commit().await)?;
        doubtful.store(false, Ordering::SeqCst);
        Ok(())
    }
}

/// What came of a step of a transaction, and the doubt where the disk is at fault.
fn noted<T>(doubtful: &AtomicBool, came: Result<T, sqlx::Error>) -> Result<T, StoreError> {
    came.map_err(|error| {
        let error = StoreError::from(error);
        if matches!(error, StoreError::Full(_) | StoreError::Disk(_)) {
            doubtful.store(true, Ordering::SeqCst);
        }
        error
    })
}
