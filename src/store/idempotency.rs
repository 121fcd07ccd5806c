//! Answers kept for repeated requests. The claim, the work and the answer are one transaction, so a repeat either waits
//! for the first and replays it or finds nothing and runs.

use super::{StoreError, Write, sql};

/// How long an answer is kept: seven days.
pub const KEPT_MS: i64 = 7 * 24 * 3600 * 1000;

/// A kept answer.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct KeptAnswer {
    /// Fingerprint of the request.
    pub fingerprint: String,
    /// Status.
    pub status: i64,
    /// `Location`.
    pub location: Option<String>,
    /// `ETag`.
    pub etag: Option<String>,
    /// Body.
    pub body: String,
}

impl Write {
    /// The kept answer of this caller's key.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn kept(&mut self, idem_key: &str) -> Result<Option<KeptAnswer>, StoreError> {
        Ok(sqlx::query_as(sql::IDEMPOTENCY_GET)
            .bind(&self.actor.key_id)
            .bind(idem_key)
            .bind(self.actor.now - KEPT_MS)
            .fetch_optional(&mut *self.tx)
            .await?)
    }

    /// Keeps an answer.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn keep(&mut self, idem_key: &str, answer: &KeptAnswer) -> Result<(), StoreError> {
        sqlx::query(sql::IDEMPOTENCY_EXPIRE).bind(self.actor.now - KEPT_MS).execute(&mut *self.tx).await?;
        sqlx::query(sql::IDEMPOTENCY_PUT)
            .bind(&self.actor.key_id)
            .bind(idem_key)
            .bind(&answer.fingerprint)
            .bind(answer.status)
            .bind(&answer.location)
            .bind(&answer.etag)
            .bind(&answer.body)
            .bind(self.actor.now)
            .execute(&mut *self.tx)
            .await?;
        Ok(())
    }
}
