//! Rain tables. They never change.

use super::{Store, StoreError, Write, sql};

/// A stored rain table.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct RainRow {
    /// Code.
    pub code: String,
    /// Name.
    pub name: String,
    /// Document, JSON.
    pub document: String,
    /// Creation.
    pub created_at: i64,
    /// Key that made it.
    pub created_by: String,
}

impl Store {
    /// A rain table.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn rain_table(&self, code: &str) -> Result<Option<RainRow>, StoreError> {
        Ok(sqlx::query_as(sql::RAIN_GET).bind(code).fetch_optional(&self.read).await?)
    }

    /// Rain tables, oldest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn rain_tables(
        &self,
        after: Option<(i64, &str)>,
        limit: i64,
    ) -> Result<Vec<RainRow>, StoreError> {
        Ok(sqlx::query_as(sql::RAIN_LIST)
            .bind(after.map(|a| a.0))
            .bind(after.map(|a| a.1))
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }
}

impl Write {
    /// A rain table within this transaction.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn rain_table(&mut self, code: &str) -> Result<Option<RainRow>, StoreError> {
        Ok(sqlx::query_as(sql::RAIN_GET).bind(code).fetch_optional(&mut *self.tx).await?)
    }

    /// Adds a rain table, with the file it was read from.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when the code is taken.
    pub async fn put_rain_table(
        &mut self,
        code: &str,
        name: &str,
        document: &str,
        source_text: Option<&str>,
    ) -> Result<(), StoreError> {
        sqlx::query(sql::RAIN_PUT)
            .bind(code)
            .bind(name)
            .bind(document)
            .bind(source_text)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .execute(&mut *self.tx)
            .await?;
        self.audit("rain_table.create", code, serde_json::json!({"name": name})).await
    }
}
