//! Quotes, change orders, invoices and credit notes.

use super::{Store, StoreError, Write, sql};

/// A paper. Lists leave inputs, document and effect empty.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct PaperRow {
    /// Id.
    pub id: String,
    /// Job.
    pub job_id: String,
    /// `quote`, `change_order`, `invoice` or `credit_note`.
    pub kind: String,
    /// Order within the job.
    pub place: i64,
    /// Number; none for a draft.
    pub number: Option<String>,
    /// State.
    pub state: String,
    /// Estimate it was made from.
    pub estimate_id: Option<String>,
    /// Quote it supersedes or changes, invoice it gives back.
    pub of_paper: Option<String>,
    /// The snapshot it was made from, JSON.
    pub inputs: String,
    /// The paper, byte for byte.
    pub document: String,
    /// What it does to the account, JSON.
    pub effect: Option<String>,
    /// Who decided what and when, JSON.
    pub decision: Option<String>,
    /// When the decision was recorded.
    pub decided_at: Option<i64>,
    /// With tax, minor units.
    pub total_minor: i64,
    /// Asked for, minor units.
    pub payable_minor: i64,
    /// Paid, minor units.
    pub paid_minor: i64,
    /// Given back, minor units.
    pub credited_minor: i64,
    /// Row version, for ETags.
    pub row_version: i64,
    /// Creation.
    pub created_at: i64,
    /// Key that made it.
    pub created_by: String,
    /// Last change.
    pub updated_at: i64,
}

/// What a new paper is written with.
#[derive(Debug, Clone)]
pub struct NewPaper {
    /// Id.
    pub id: String,
    /// Job.
    pub job_id: String,
    /// Kind.
    pub kind: &'static str,
    /// Number; none for a draft.
    pub number: Option<String>,
    /// State.
    pub state: &'static str,
    /// Estimate it was made from.
    pub estimate_id: Option<String>,
    /// Quote it supersedes or changes, invoice it gives back.
    pub of_paper: Option<String>,
    /// The snapshot, JSON.
    pub inputs: String,
    /// The paper.
    pub document: String,
    /// What it does to the account, JSON.
    pub effect: Option<String>,
    /// With tax, minor units.
    pub total_minor: i64,
    /// Asked for, minor units.
    pub payable_minor: i64,
}

/// A draft written anew, or issued.
#[derive(Debug, Clone)]
pub struct Rewritten {
    /// Number; none for a draft.
    pub number: Option<String>,
    /// State.
    pub state: &'static str,
    /// Estimate it is made from.
    pub estimate_id: Option<String>,
    /// The snapshot, JSON.
    pub inputs: String,
    /// The paper.
    pub document: String,
    /// What it does to the account, JSON.
    pub effect: Option<String>,
    /// With tax, minor units.
    pub total_minor: i64,
}

/// Which papers of all jobs are listed, and how.
#[derive(Debug, Clone)]
pub struct PaperFilter {
    /// In one of these states; in any where there is none.
    pub states: Vec<&'static str>,
    /// Changed at or after.
    pub updated_since: Option<i64>,
    /// Of this number; drafts have none.
    pub number: Option<String>,
    /// Last change, newest first; oldest first where not.
    pub newest_first: bool,
}

impl Store {
    /// A paper.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn paper(&self, id: &str) -> Result<Option<PaperRow>, StoreError> {
        Ok(sqlx::query_as(sql::PAPER_GET).bind(id).fetch_optional(&self.read).await?)
    }

    /// Papers of a job, oldest first, with everything.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn papers(&self, job: &str) -> Result<Vec<PaperRow>, StoreError> {
        Ok(sqlx::query_as(sql::PAPER_OF_JOB).bind(job).fetch_all(&self.read).await?)
    }

    /// Papers of a job of two kinds below a place, newest first; only those of a number where one is named.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn paper_list(
        &self,
        job: &str,
        kinds: [&str; 2],
        number: Option<&str>,
        below: Option<i64>,
        limit: i64,
    ) -> Result<Vec<PaperRow>, StoreError> {
        Ok(sqlx::query_as(sql::PAPER_LIST)
            .bind(job)
            .bind(kinds[0])
            .bind(kinds[1])
            .bind(below)
            .bind(limit)
            .bind(number)
            .fetch_all(&self.read)
            .await?)
    }

    /// Papers of two kinds of all jobs after a place in the order of their last change.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn all_papers(
        &self,
        kinds: [&str; 2],
        filter: &PaperFilter,
        after: Option<(i64, &str)>,
        limit: i64,
    ) -> Result<Vec<PaperRow>, StoreError> {
        let PaperFilter { states, updated_since, number, newest_first } = filter;
        let states = (!states.is_empty()).then(|| format!(",{},", states.join(",")));
        Ok(sqlx::query_as(if *newest_first { sql::PAPER_LIST_UPDATED_DESC } else { sql::PAPER_LIST_UPDATED })
            .bind(kinds[0])
            .bind(kinds[1])
            .bind(states)
            .bind(updated_since)
            .bind(after.map(|a| a.0))
            .bind(after.map(|a| a.1))
            .bind(limit)
            .bind(number)
            .fetch_all(&self.read)
            .await?)
    }

    /// Row version of a job's ledger.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn ledger_version(&self, job: &str) -> Result<i64, StoreError> {
        let version: Option<i64> =
            sqlx::query_scalar(sql::LEDGER_VERSION).bind(job).fetch_optional(&self.read).await?;
        Ok(version.unwrap_or(1))
    }
}

impl Write {
    /// The next number of a kind. It is given back when the transaction rolls back: no number is lost.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn next_number(&mut self, kind: &str) -> Result<i64, StoreError> {
        Ok(sqlx::query_scalar(sql::NUMBER_NEXT).bind(kind).fetch_one(&mut *self.tx).await?)
    }

    /// A paper as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn paper(&mut self, id: &str) -> Result<Option<PaperRow>, StoreError> {
        Ok(sqlx::query_as(sql::PAPER_GET).bind(id).fetch_optional(&mut *self.tx).await?)
    }

    /// Papers of a job, oldest first, as this transaction sees them.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn papers(&mut self, job: &str) -> Result<Vec<PaperRow>, StoreError> {
        Ok(sqlx::query_as(sql::PAPER_OF_JOB).bind(job).fetch_all(&mut *self.tx).await?)
    }

    /// A new paper.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when its number is taken.
    pub async fn put_paper(&mut self, new: &NewPaper) -> Result<(), StoreError> {
        let last: i64 =
            sqlx::query_scalar(sql::PAPER_LAST_PLACE).bind(&new.job_id).fetch_one(&mut *self.tx).await?;
        sqlx::query(sql::PAPER_PUT)
            .bind(&new.id)
            .bind(&new.job_id)
            .bind(new.kind)
            .bind(last + 1)
            .bind(&new.number)
            .bind(new.state)
            .bind(&new.estimate_id)
            .bind(&new.of_paper)
            .bind(&new.inputs)
            .bind(&new.document)
            .bind(&new.effect)
            .bind(new.total_minor)
            .bind(new.payable_minor)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .execute(&mut *self.tx)
            .await?;
        Ok(())
    }

    /// Writes a draft anew, or issues it.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile.
    pub async fn write_paper(
        &mut self,
        id: &str,
        row_version: i64,
        new: &Rewritten,
    ) -> Result<(), StoreError> {
        let done = sqlx::query(sql::PAPER_WRITE)
            .bind(id)
            .bind(row_version)
            .bind(&new.number)
            .bind(new.state)
            .bind(&new.estimate_id)
            .bind(&new.inputs)
            .bind(&new.document)
            .bind(&new.effect)
            .bind(new.total_minor)
            .bind(self.actor.now)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 { Err(StoreError::Stale) } else { Ok(()) }
    }

    /// Records a decision about a paper; `effect` is kept unless there is one.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile, [`StoreError::Conflict`] when the job has a contract already.
    pub async fn decide_paper(
        &mut self,
        id: &str,
        row_version: i64,
        state: &str,
        decision: &str,
        effect: Option<&str>,
    ) -> Result<(), StoreError> {
        let done = sqlx::query(sql::PAPER_DECIDE)
            .bind(id)
            .bind(row_version)
            .bind(state)
            .bind(decision)
            .bind(self.actor.now)
            .bind(effect)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 { Err(StoreError::Stale) } else { Ok(()) }
    }

    /// Writes what was paid and given back of an invoice.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile.
    pub async fn settle_paper(
        &mut self,
        id: &str,
        row_version: i64,
        state: &str,
        paid_minor: i64,
        credited_minor: i64,
    ) -> Result<(), StoreError> {
        let done = sqlx::query(sql::PAPER_SETTLE)
            .bind(id)
            .bind(row_version)
            .bind(state)
            .bind(paid_minor)
            .bind(credited_minor)
            .bind(self.actor.now)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 { Err(StoreError::Stale) } else { Ok(()) }
    }

    /// Row version of a job's ledger as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn ledger_version(&mut self, job: &str) -> Result<i64, StoreError> {
        let version: Option<i64> =
            sqlx::query_scalar(sql::LEDGER_VERSION).bind(job).fetch_optional(&mut *self.tx).await?;
        Ok(version.unwrap_or(1))
    }

    /// The ledger of a job has moved.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn touch_ledger(&mut self, job: &str) -> Result<(), StoreError> {
        sqlx::query(sql::LEDGER_TOUCH).bind(job).execute(&mut *self.tx).await?;
        Ok(())
    }
}
