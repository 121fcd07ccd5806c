//! The audit trail.

use super::{Store, StoreError, Write, sql};

/// A row of the audit trail.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct AuditRow {
    /// Running number.
    pub id: i64,
    /// When.
    pub at: i64,
    /// Who.
    pub key_id: String,
    /// Under which request.
    pub request_id: String,
    /// What.
    pub action: String,
    /// On what.
    pub object: String,
    /// More, as JSON.
    pub detail: String,
}

impl Write {
    /// Adds a row in this transaction.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn audit(
        &mut self,
        action: &str,
        object: &str,
        detail: serde_json::Value,
    ) -> Result<(), StoreError> {
        sqlx::query(sql::AUDIT_PUT)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .bind(&self.actor.request_id)
            .bind(action)
            .bind(object)
            .bind(detail.to_string())
            .execute(&mut *self.tx)
            .await?;
        Ok(())
    }
}

impl Write {
    /// Adds the row of an edit: which row version was edited, and which members changed.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn audit_edit(
        &mut self,
        action: &str,
        object: &str,
        row_version: i64,
        changes: serde_json::Value,
    ) -> Result<(), StoreError> {
        let mut detail = serde_json::json!({"from_row_version": row_version});
        if let (serde_json::Value::Object(changes), Some(members)) = (changes, detail.as_object_mut()) {
            members.extend(changes);
        }
        self.audit(action, object, detail).await
    }
}

impl Store {
    /// Rows of one object or of all, newest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn audit_trail(
        &self,
        object: Option<&str>,
        before: Option<i64>,
        limit: i64,
    ) -> Result<Vec<AuditRow>, StoreError> {
        Ok(sqlx::query_as(sql::AUDIT_LIST)
            .bind(object)
            .bind(before)
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }
}
