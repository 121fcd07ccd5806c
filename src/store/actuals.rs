//! Accepted jobs, what happened on them, and rates proposed from that.

use super::{Store, StoreError, Write, sql};

/// The mark that a job was accepted.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct AcceptanceRow {
    /// Job.
    pub job_id: String,
    /// Estimate that was accepted.
    pub estimate_id: String,
    /// Civil date.
    pub accepted_on: String,
    /// Who set it: the mark itself, or a quote.
    pub source: String,
    /// Creation.
    pub created_at: i64,
    /// Key that set it.
    pub created_by: String,
}

/// A record of what happened.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct ActualRow {
    /// Id.
    pub id: String,
    /// Job.
    pub job_id: String,
    /// Running number within the job.
    pub number: i64,
    /// Kind of entry.
    pub kind: String,
    /// Civil date it is about.
    pub day: String,
    /// The entry, JSON.
    pub document: String,
    /// The record it corrects.
    pub corrects: Option<String>,
    /// When it was recorded.
    pub recorded_at: i64,
    /// Key that recorded it.
    pub recorded_by: String,
}

/// A new record.
#[derive(Debug, Clone)]
pub struct NewActual {
    /// Id.
    pub id: String,
    /// Kind of entry.
    pub kind: String,
    /// Civil date it is about.
    pub day: String,
    /// The entry, JSON.
    pub document: String,
    /// The record it corrects.
    pub corrects: Option<String>,
}

/// A set of proposed rates.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct ProposalRow {
    /// Id.
    pub id: String,
    /// Book.
    pub book_id: String,
    /// JSON.
    pub document: String,
    /// Creation.
    pub created_at: i64,
    /// Key that made it.
    pub created_by: String,
}

impl Store {
    /// The acceptance of a job.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn acceptance(&self, job: &str) -> Result<Option<AcceptanceRow>, StoreError> {
        Ok(sqlx::query_as(sql::ACCEPTANCE_GET).bind(job).fetch_optional(&self.read).await?)
    }

    /// Records of a job above a number, oldest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn actuals(
        &self,
        job: &str,
        above: Option<i64>,
        limit: i64,
    ) -> Result<Vec<ActualRow>, StoreError> {
        Ok(sqlx::query_as(sql::ACTUAL_LIST).bind(job).bind(above).bind(limit).fetch_all(&self.read).await?)
    }

    /// Jobs with a record of their end.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn finished_jobs(&self, limit: i64) -> Result<Vec<String>, StoreError> {
        Ok(sqlx::query_scalar(sql::ACTUAL_FINISHED_JOBS).bind(limit).fetch_all(&self.read).await?)
    }

    /// A set of proposed rates.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn proposal(&self, id: &str) -> Result<Option<ProposalRow>, StoreError> {
        Ok(sqlx::query_as(sql::PROPOSAL_GET).bind(id).fetch_optional(&self.read).await?)
    }

    /// All sets of proposed rates of a book, oldest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn proposals(&self, book: &str) -> Result<Vec<ProposalRow>, StoreError> {
        Ok(sqlx::query_as(sql::PROPOSAL_LIST).bind(book).fetch_all(&self.read).await?)
    }
}

impl Write {
    /// The acceptance of a job, as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn acceptance(&mut self, job: &str) -> Result<Option<AcceptanceRow>, StoreError> {
        Ok(sqlx::query_as(sql::ACCEPTANCE_GET).bind(job).fetch_optional(&mut *self.tx).await?)
    }

    /// Marks a job as accepted, in place of the mark `before`.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when it is accepted already and `before` does not say so.
    pub async fn set_acceptance(
        &mut self,
        job: &str,
        estimate: &str,
        accepted_on: &str,
        source: &str,
        before: Option<AcceptanceRow>,
    ) -> Result<(), StoreError> {
        sqlx::query(if before.is_some() { sql::ACCEPTANCE_MOVE } else { sql::ACCEPTANCE_PUT })
            .bind(job)
            .bind(estimate)
            .bind(accepted_on)
            .bind(source)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .execute(&mut *self.tx)
            .await?;
        sqlx::query(sql::JOB_TOUCH).bind(job).bind(self.actor.now).execute(&mut *self.tx).await?;
        let mut detail = serde_json::json!({"estimate": estimate, "source": source});
        if let (Some(before), Some(members)) = (before, detail.as_object_mut()) {
            let was = serde_json::json!({"estimate": before.estimate_id, "source": before.source,
                "accepted_on": before.accepted_on});
            members.insert("before".to_owned(), was);
        }
        self.audit("job.accept", job, detail).await
    }

    /// All records of a job, oldest first, as this transaction sees them.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn actuals(&mut self, job: &str) -> Result<Vec<ActualRow>, StoreError> {
        Ok(sqlx::query_as(sql::ACTUAL_LIST)
            .bind(job)
            .bind(None::<i64>)
            .bind(i64::MAX)
            .fetch_all(&mut *self.tx)
            .await?)
    }

    /// Adds records.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when one corrects a record that is corrected already.
    pub async fn put_actuals(&mut self, job: &str, new: &[NewActual]) -> Result<(), StoreError> {
        let mut number: i64 =
            sqlx::query_scalar(sql::ACTUAL_LAST_NUMBER).bind(job).fetch_one(&mut *self.tx).await?;
        for entry in new {
            number += 1;
            sqlx::query(sql::ACTUAL_PUT)
                .bind(&entry.id)
                .bind(job)
                .bind(number)
                .bind(&entry.kind)
                .bind(&entry.day)
                .bind(&entry.document)
                .bind(&entry.corrects)
                .bind(self.actor.now)
                .bind(&self.actor.key_id)
                .execute(&mut *self.tx)
                .await?;
        }
        // Records never change: with its id the audit trail finds what one says.
        let written = |e: &NewActual| {
            let mut entry = serde_json::json!({"id": e.id, "kind": e.kind, "on": e.day});
            if let Some(corrects) = &e.corrects {
                entry["corrects"] = corrects.as_str().into();
            }
            entry
        };
        let entries: Vec<serde_json::Value> = new.iter().map(written).collect();
        self.audit("actuals.add", job, serde_json::json!({"after": entries})).await
    }

    /// Keeps a set of proposed rates.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn put_proposal(&mut self, id: &str, book: &str, document: &str) -> Result<(), StoreError> {
        sqlx::query(sql::PROPOSAL_PUT)
            .bind(id)
            .bind(book)
            .bind(document)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .execute(&mut *self.tx)
            .await?;
        self.audit("rate_proposal.create", id, serde_json::json!({"book": book})).await
    }
}
