//! Which jobs a price-book version was used for, and the last revisions that are priced anew.

use super::{Store, StoreError, Write, sql};

/// A job with revisions made from a version.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct VersionJobRow {
    /// Job.
    pub id: String,
    /// Its title.
    pub title: String,
    /// When it was closed.
    pub closed_at: Option<i64>,
    /// How many revisions were made from the version.
    pub revisions: i64,
    /// The last of them.
    pub last_revision: i64,
    /// The last revision of the job.
    pub newest_revision: i64,
}

/// The last revision of a job.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct PricedRow {
    /// Job.
    pub job_id: String,
    /// Its title.
    pub title: String,
    /// The revision's id.
    pub id: String,
    /// Its number.
    pub revision: i64,
    /// Price-book version it was made from.
    pub price_book_version_id: String,
    /// Engine it was computed with.
    pub engine: String,
    /// Site notes, JSON.
    pub notes: String,
    /// The estimate, JSON.
    pub answer: String,
}

impl Store {
    /// Jobs with revisions made from a version, by id.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn version_jobs(
        &self,
        version: &str,
        after: Option<&str>,
        limit: i64,
    ) -> Result<Vec<VersionJobRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_JOBS)
            .bind(version)
            .bind(after)
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }

    /// The last revision of each open job that has one, by job; with a book, of those whose last revision was made from it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn open_jobs_priced(
        &self,
        book: Option<&str>,
        after: Option<&str>,
        limit: i64,
    ) -> Result<Vec<PricedRow>, StoreError> {
        Ok(sqlx::query_as(sql::OPEN_JOBS_PRICED)
            .bind(book)
            .bind(after)
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }

    /// How many open jobs have a last revision that was made from another book.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn open_jobs_of_other_books(&self, book: &str) -> Result<i64, StoreError> {
        Ok(sqlx::query_scalar(sql::OPEN_JOBS_OF_OTHER_BOOKS).bind(book).fetch_one(&self.read).await?)
    }

    /// The last revision of a job.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn job_priced(&self, job: &str) -> Result<Option<PricedRow>, StoreError> {
        Ok(sqlx::query_as(sql::JOB_PRICED).bind(job).fetch_optional(&self.read).await?)
    }
}

impl Write {
    /// The number of a job's last revision as this transaction sees it; 0 when there is none.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn last_revision(&mut self, job: &str) -> Result<i64, StoreError> {
        Ok(sqlx::query_scalar(sql::ESTIMATE_LAST_REVISION).bind(job).fetch_one(&mut *self.tx).await?)
    }
}
