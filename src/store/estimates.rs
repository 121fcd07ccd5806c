//! Estimate revisions.

use super::{Store, StoreError, Write, sql};

/// A revision. Lists leave notes and answer empty.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct EstimateRow {
    /// Id.
    pub id: String,
    /// Job.
    pub job_id: String,
    /// Revision, from 1.
    pub revision: i64,
    /// Price-book version.
    pub price_book_version_id: String,
    /// Engine version.
    pub engine: String,
    /// Site notes, JSON.
    pub notes: String,
    /// The estimate, byte for byte.
    pub answer: String,
    /// Price with tax, minor units.
    pub total_minor: i64,
    /// Worst outcome of the checks.
    pub outcome: String,
    /// Creation.
    pub created_at: i64,
    /// Key that made it.
    pub created_by: String,
}

/// What a new revision is written with.
#[derive(Debug, Clone)]
pub struct NewEstimate {
    /// Id.
    pub id: String,
    /// Job.
    pub job_id: String,
    /// Price-book version.
    pub price_book_version_id: String,
    /// Engine version.
    pub engine: String,
    /// Site notes, JSON.
    pub notes: String,
    /// The estimate.
    pub answer: String,
    /// Price with tax, minor units.
    pub total_minor: i64,
    /// Worst outcome of the checks.
    pub outcome: String,
}

impl Store {
    /// A revision with everything.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn estimate(&self, id: &str) -> Result<Option<EstimateRow>, StoreError> {
        Ok(sqlx::query_as(sql::ESTIMATE_GET).bind(id).fetch_optional(&self.read).await?)
    }

    /// Revisions of a job below a number, newest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn estimates(
        &self,
        job: &str,
        below: Option<i64>,
        limit: i64,
    ) -> Result<Vec<EstimateRow>, StoreError> {
        Ok(sqlx::query_as(sql::ESTIMATE_LIST).bind(job).bind(below).bind(limit).fetch_all(&self.read).await?)
    }
}

impl Write {
    /// The price-book version of a job's last revision as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn last_version(&mut self, job: &str) -> Result<Option<String>, StoreError> {
        Ok(sqlx::query_scalar(sql::ESTIMATE_LAST_VERSION).bind(job).fetch_optional(&mut *self.tx).await?)
    }

    /// Adds a revision; gives its number. The job's row version rises with it.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn put_estimate(&mut self, new: &NewEstimate) -> Result<i64, StoreError> {
        let last: i64 = sqlx::query_scalar(sql::ESTIMATE_LAST_REVISION)
            .bind(&new.job_id)
            .fetch_one(&mut *self.tx)
            .await?;
        let revision = last + 1;
        sqlx::query(sql::ESTIMATE_PUT)
            .bind(&new.id)
            .bind(&new.job_id)
            .bind(revision)
            .bind(&new.price_book_version_id)
            .bind(&new.engine)
            .bind(&new.notes)
            .bind(&new.answer)
            .bind(new.total_minor)
            .bind(&new.outcome)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .execute(&mut *self.tx)
            .await?;
        sqlx::query(sql::JOB_TOUCH).bind(&new.job_id).bind(self.actor.now).execute(&mut *self.tx).await?;
        self.audit("estimate.create", &new.id, serde_json::json!({"job": new.job_id, "revision": revision}))
            .await?;
        Ok(revision)
    }
}
