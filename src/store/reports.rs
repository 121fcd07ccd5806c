//! What the accounting system reports: payments, voids, costs. They are added and never changed.

use super::{Store, StoreError, Write, sql};

/// A report.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct ReportRow {
    /// Id.
    pub id: String,
    /// Job.
    pub job_id: String,
    /// Invoice it is about.
    pub paper_id: Option<String>,
    /// `payment`, `void` or `cost`.
    pub kind: String,
    /// The accounting system.
    pub system: String,
    /// Its own reference.
    pub reference: String,
    /// Date, `YYYY-MM-DD`.
    pub on_date: String,
    /// How much, minor units.
    pub amount_minor: i64,
    /// Category of a cost.
    pub category: Option<String>,
    /// Ordered and not billed yet, 0 or 1.
    pub committed: i64,
    /// As it was reported, JSON.
    pub document: String,
    /// When it was recorded.
    pub created_at: i64,
    /// Key that reported it.
    pub created_by: String,
}

/// What the costs reported for a job come to in one category.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct CostSum {
    /// Category.
    pub category: Option<String>,
    /// Ordered and not billed yet, 0 or 1.
    pub committed: i64,
    /// The sum, minor units.
    pub amount_minor: i64,
}

/// What is held under the reference of an accounting system.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct HeldReport {
    /// Job.
    pub job_id: String,
    /// Invoice it is about.
    pub paper_id: Option<String>,
    /// Number of that invoice.
    pub paper_number: Option<String>,
    /// Date, `YYYY-MM-DD`.
    pub on_date: String,
    /// How much, minor units.
    pub amount_minor: i64,
    /// Category of a cost.
    pub category: Option<String>,
    /// Ordered and not billed yet, 0 or 1.
    pub committed: i64,
}

/// What a report is written with.
#[derive(Debug, Clone)]
pub struct NewReport {
    /// Id.
    pub id: String,
    /// Job.
    pub job_id: String,
    /// Invoice it is about.
    pub paper_id: Option<String>,
    /// `payment`, `void` or `cost`.
    pub kind: &'static str,
    /// The accounting system.
    pub system: String,
    /// Its own reference.
    pub reference: String,
    /// Date, `YYYY-MM-DD`.
    pub on_date: String,
    /// How much, minor units.
    pub amount_minor: i64,
    /// Category of a cost.
    pub category: Option<&'static str>,
    /// Ordered and not billed yet.
    pub committed: bool,
    /// As it was reported, JSON.
    pub document: String,
}

impl Store {
    /// Reports of a job, oldest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn reports(&self, job: &str) -> Result<Vec<ReportRow>, StoreError> {
        Ok(sqlx::query_as(sql::REPORT_OF_JOB).bind(job).fetch_all(&self.read).await?)
    }

    /// Reports of a job of one kind before a place, newest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn report_list(
        &self,
        job: &str,
        kind: &str,
        before: Option<(i64, &str)>,
        limit: i64,
    ) -> Result<Vec<ReportRow>, StoreError> {
        Ok(sqlx::query_as(sql::REPORT_LIST)
            .bind(job)
            .bind(kind)
            .bind(before.map(|b| b.0))
            .bind(before.map(|b| b.1))
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }

    /// Payments of an invoice of a job before a place, newest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn payments(
        &self,
        job: &str,
        invoice: &str,
        before: Option<(i64, &str)>,
        limit: i64,
    ) -> Result<Vec<ReportRow>, StoreError> {
        Ok(sqlx::query_as(sql::PAYMENT_LIST)
            .bind(job)
            .bind(invoice)
            .bind(before.map(|b| b.0))
            .bind(before.map(|b| b.1))
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }
}

impl Write {
    /// What is held under the reference of an accounting system, as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn held_report(
        &mut self,
        system: &str,
        kind: &str,
        reference: &str,
    ) -> Result<Option<HeldReport>, StoreError> {
        Ok(sqlx::query_as(sql::REPORT_HELD)
            .bind(system)
            .bind(kind)
            .bind(reference)
            .fetch_optional(&mut *self.tx)
            .await?)
    }

    /// What the costs reported for a job come to, as this transaction sees them.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn cost_sums(&mut self, job: &str) -> Result<Vec<CostSum>, StoreError> {
        Ok(sqlx::query_as(sql::REPORT_COST_SUMS).bind(job).fetch_all(&mut *self.tx).await?)
    }

    /// Adds a report.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when the system has reported under this reference before.
    pub async fn put_report(&mut self, new: &NewReport) -> Result<(), StoreError> {
        sqlx::query(sql::REPORT_PUT)
            .bind(&new.id)
            .bind(&new.job_id)
            .bind(&new.paper_id)
            .bind(new.kind)
            .bind(&new.system)
            .bind(&new.reference)
            .bind(&new.on_date)
            .bind(new.amount_minor)
            .bind(new.category)
            .bind(i64::from(new.committed))
            .bind(&new.document)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .execute(&mut *self.tx)
            .await?;
        Ok(())
    }
}
