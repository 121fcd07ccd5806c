//! Copying the database while it is in use.

use super::connect::{BUSY, private};
use super::{Store, StoreError};
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions as _, Connection as _};
use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};

/// Why there is no copy.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    /// There is nothing to copy.
    #[error("there is no database {0}")]
    Missing(PathBuf),
    /// What is there lacks our tables.
    #[error("{0} is no database of rillcast: it lacks its tables, so there is nothing to copy")]
    Foreign(PathBuf),
    /// A file is in the way.
    #[error("{0} is there already: a backup overwrites nothing")]
    Exists(PathBuf),
    /// What a backup that broke off has left is in the way.
    #[error("{0} is there: another backup is under way, or one broke off; if none is running, remove it")]
    LeftOver(PathBuf),
    /// The name of the copy cannot be handed to the database.
    #[error("{0} is no UTF-8 text")]
    Name(PathBuf),
    /// The file system refuses.
    #[error("{0}: {1}")]
    File(PathBuf, Error),
    /// The database refuses.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// SQLite's own: one whole file without a log beside it, from one state of the database, while others read and write.
const COPY: &str = "VACUUM INTO $1";

/// Whether a database has the tables that each of ours has from its first migration on: 1 or 0.
const IS_OURS: &str = "SELECT COUNT(*) = 4 FROM sqlite_master WHERE type = 'table' \
                       AND name IN ('_sqlx_migrations', 'meta', 'api_keys', 'price_book_versions')";

impl Store {
    /// Opens a database that is to be copied. It is neither made nor migrated: a backup changes nothing, also not before an upgrade,
    /// and the copy of an empty file would pass for a backup.
    ///
    /// # Errors
    /// [`BackupError`], where there is no file, or one that is no database of rillcast.
    pub async fn to_copy(database: &Path) -> Result<Store, BackupError> {
        let failed = |error: sqlx::Error| BackupError::Store(StoreError::from(error));
        if !database.try_exists().map_err(|e| BackupError::File(database.to_owned(), e))? {
            return Err(BackupError::Missing(database.to_owned()));
        }
        // Without the write-ahead log that ours have: another's file stays as it is.
        let as_it_is = SqliteConnectOptions::new().filename(database).create_if_missing(false);
        let mut connection = as_it_is.busy_timeout(BUSY).connect().await.map_err(failed)?;
        let tables: Result<i64, _> = sqlx::query_scalar(IS_OURS).fetch_one(&mut connection).await;
        connection.close().await.map_err(failed)?;
        match tables.map_err(failed)? {
            0 => Err(BackupError::Foreign(database.to_owned())),
            _ => Ok(Self::connect(database, 1).await?),
        }
    }

    /// Copies the database as it is now into a new file. The file has its name only once it is whole and on the disk.
    ///
    /// # Errors
    /// [`BackupError`]; then there is no file of that name.
    pub async fn back_up(&self, to: &Path) -> Result<(), BackupError> {
        // Whole, since the database would read a name such as `:memory:` in its own way.
        let to = &std::path::absolute(to).map_err(|e| BackupError::File(to.to_owned(), e))?;
        let mut part = to.clone().into_os_string();
        part.push(".part");
        let part = PathBuf::from(part);
        let name = part.to_str().ok_or_else(|| BackupError::Name(to.to_owned()))?;
        let in_the_way = |file: &Path| file.try_exists().map_err(|e| BackupError::File(file.to_owned(), e));
        if in_the_way(to)? {
            return Err(BackupError::Exists(to.to_owned()));
        }
        if in_the_way(&part)? {
            return Err(BackupError::LeftOver(part));
        }
        // The copy goes into a file that is there and empty.
        private(&part, true).map_err(|error| match error.kind() {
            ErrorKind::AlreadyExists => BackupError::LeftOver(part.clone()),
            _ => BackupError::File(to.to_owned(), error),
        })?;
        let copied = sqlx::query(COPY).bind(name).execute(&self.write).await;
        if let Err(error) = copied {
            let _ = std::fs::remove_file(&part);
            return Err(StoreError::from(error).into());
        }
        settled(&part, to).map_err(|error| match error.kind() {
            ErrorKind::AlreadyExists => BackupError::Exists(to.to_owned()),
            _ => BackupError::File(to.to_owned(), error),
        })
    }
}

/// Gives the copy its name, once it is on the disk. A link never takes the place of another file.
fn settled(part: &Path, to: &Path) -> std::io::Result<()> {
    std::fs::File::open(part)?.sync_all()?;
    if let Err(error) = std::fs::hard_link(part, to) {
        if error.kind() == ErrorKind::AlreadyExists {
            std::fs::remove_file(part)?;
            return Err(error);
        }
        // A file system without links.
        return std::fs::rename(part, to);
    }
    std::fs::remove_file(part)
}
