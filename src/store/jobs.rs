//! Jobs.

use super::{Store, StoreError, Write, sql};
use unicode_normalization::UnicodeNormalization as _;

/// A job.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct JobRow {
    /// Id.
    pub id: String,
    /// Title.
    pub title: String,
    /// Customer, JSON.
    pub customer: String,
    /// Site, JSON.
    pub site: String,
    /// Site notes, JSON. Lists leave them out.
    pub notes: Option<String>,
    /// References, JSON.
    pub external_refs: String,
    /// Row version, for ETags.
    pub row_version: i64,
    /// Creation.
    pub created_at: i64,
    /// Last change.
    pub updated_at: i64,
    /// When it was closed.
    pub closed_at: Option<i64>,
    /// Civil date of its acceptance.
    pub accepted_on: Option<String>,
    /// Estimate that was accepted.
    pub accepted_estimate_id: Option<String>,
}

/// What a job is written with.
#[derive(Debug, Clone)]
pub struct JobFields {
    /// Title.
    pub title: String,
    /// Customer's name.
    pub customer_name: String,
    /// Customer, JSON.
    pub customer: String,
    /// Address of the site.
    pub site_address: String,
    /// Site, JSON.
    pub site: String,
    /// Site notes, JSON.
    pub notes: Option<String>,
    /// References: system and id.
    pub refs: Vec<(String, String)>,
    /// References, JSON.
    pub external_refs: String,
    /// Whether the job is closed.
    pub closed: bool,
}

impl JobFields {
    /// Title, customer and site on a line each, [`folded`]; none of them has a line break.
    fn search(&self) -> String {
        folded(&format!("{}\n{}\n{}", self.title, self.customer_name, self.site_address))
    }

    /// What the audit trail keeps of a new job. Its notes are long, and every change of them is kept with what was there before.
    fn written(&self) -> serde_json::Value {
        let read = |text: &str| serde_json::from_str(text).unwrap_or(serde_json::Value::Null);
        serde_json::json!({"title": self.title, "customer": read(&self.customer), "site": read(&self.site),
            "external_refs": read(&self.external_refs), "closed": self.closed, "notes": self.notes.is_some()})
    }
}

/// How jobs are sorted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JobSort {
    /// Last change, oldest first.
    Updated,
    /// Last change, newest first.
    UpdatedDesc,
    /// Creation, oldest first.
    Created,
    /// Creation, newest first.
    CreatedDesc,
}

/// Which jobs are listed.
#[derive(Debug, Clone, Default)]
pub struct JobFilter {
    /// Text in title, customer or site.
    pub text: Option<String>,
    /// Text in the customer's name.
    pub customer: Option<String>,
    /// Text in the site's address.
    pub site: Option<String>,
    /// Changed at or after.
    pub updated_since: Option<i64>,
    /// Whether it is accepted.
    pub accepted: Option<bool>,
    /// What another system calls it.
    pub external_id: Option<String>,
    /// That other system.
    pub external_system: Option<String>,
}

/// What looks the same as the same text: lower case of every alphabet, letters and their accents put together (Unicode form NFKC),
/// a final sigma as any other.
fn folded(text: &str) -> String {
    text.nfkc().collect::<String>().to_lowercase().replace('ς', "σ")
}

/// A `LIKE` pattern that finds the text between `before` and `after` in [`JobFields::search`].
fn pattern(before: &str, text: &str, after: &str) -> String {
    let mut out = String::with_capacity(before.len() + text.len() + after.len());
    out.push_str(before);
    for c in folded(text).chars() {
        if matches!(c, '%' | '_' | '\\') {
            out.push('\\');
        }
        out.push(c);
    }
    out.push_str(after);
    out
}

impl Store {
    /// A job.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn job(&self, id: &str) -> Result<Option<JobRow>, StoreError> {
        Ok(sqlx::query_as(sql::JOB_GET).bind(id).fetch_optional(&self.read).await?)
    }

    /// The oldest job of a title.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn job_titled(&self, title: &str) -> Result<Option<String>, StoreError> {
        Ok(sqlx::query_scalar(sql::JOB_BY_TITLE).bind(title).fetch_optional(&self.read).await?)
    }

    /// The job that another system calls so.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn job_called(&self, system: &str, external_id: &str) -> Result<Option<String>, StoreError> {
        Ok(sqlx::query_scalar(sql::JOB_REF_GET)
            .bind(system)
            .bind(external_id)
            .fetch_optional(&self.read)
            .await?)
    }

    /// Jobs after a place in the order.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn jobs(
        &self,
        filter: &JobFilter,
        sort: JobSort,
        after: Option<(i64, &str)>,
        limit: i64,
    ) -> Result<Vec<JobRow>, StoreError> {
        let statement = match sort {
            JobSort::Updated => sql::JOB_LIST_UPDATED,
            JobSort::UpdatedDesc => sql::JOB_LIST_UPDATED_DESC,
            JobSort::Created => sql::JOB_LIST_CREATED,
            JobSort::CreatedDesc => sql::JOB_LIST_CREATED_DESC,
        };
        Ok(sqlx::query_as(statement)
            .bind(filter.text.as_deref().map(|t| pattern("%", t, "%")))
            .bind(filter.customer.as_deref().map(|t| pattern("%\n%", t, "%\n%")))
            .bind(filter.site.as_deref().map(|t| pattern("%\n%\n%", t, "%")))
            .bind(filter.updated_since)
            .bind(filter.accepted)
            .bind(&filter.external_id)
            .bind(&filter.external_system)
            .bind(after.map(|a| a.0))
            .bind(after.map(|a| a.1))
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }
}

impl Write {
    /// A new job.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when a reference belongs to another job.
    pub async fn put_job(&mut self, id: &str, fields: &JobFields) -> Result<(), StoreError> {
        sqlx::query(sql::JOB_PUT)
            .bind(id)
            .bind(&fields.title)
            .bind(&fields.customer_name)
            .bind(&fields.customer)
            .bind(&fields.site_address)
            .bind(&fields.site)
            .bind(&fields.notes)
            .bind(&fields.external_refs)
            .bind(fields.search())
            .bind(self.actor.now)
            .bind(fields.closed)
            .execute(&mut *self.tx)
            .await?;
        self.put_refs(id, fields).await?;
        self.audit("job.create", id, serde_json::json!({"after": fields.written()})).await
    }

    /// Changes a job; `changes` goes into the audit trail.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile, [`StoreError::Conflict`] as for a new one.
    pub async fn edit_job(
        &mut self,
        id: &str,
        row_version: i64,
        fields: &JobFields,
        changes: serde_json::Value,
    ) -> Result<(), StoreError> {
        let done = sqlx::query(sql::JOB_EDIT)
            .bind(id)
            .bind(row_version)
            .bind(&fields.title)
            .bind(&fields.customer_name)
            .bind(&fields.customer)
            .bind(&fields.site_address)
            .bind(&fields.site)
            .bind(&fields.notes)
            .bind(&fields.external_refs)
            .bind(fields.search())
            .bind(self.actor.now)
            .bind(fields.closed)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 {
            return Err(StoreError::Stale);
        }
        sqlx::query(sql::JOB_REFS_DROP).bind(id).execute(&mut *self.tx).await?;
        self.put_refs(id, fields).await?;
        self.audit_edit("job.edit", id, row_version, changes).await
    }

    async fn put_refs(&mut self, id: &str, fields: &JobFields) -> Result<(), StoreError> {
        for (system, external) in &fields.refs {
            sqlx::query(sql::JOB_REF_PUT).bind(system).bind(external).bind(id).execute(&mut *self.tx).await?;
        }
        Ok(())
    }

    /// A job as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn job(&mut self, id: &str) -> Result<Option<JobRow>, StoreError> {
        Ok(sqlx::query_as(sql::JOB_GET).bind(id).fetch_optional(&mut *self.tx).await?)
    }
}
