//! API keys.

use super::{Store, StoreError, Write, sql};

/// A stored key.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct KeyRow {
    /// Public id.
    pub id: String,
    /// Name.
    pub name: String,
    /// SHA-256 of the secret, hex.
    pub secret_hash: String,
    /// Scopes, separated by spaces.
    pub scopes: String,
    /// Creation.
    pub created_at: i64,
    /// Revocation.
    pub revoked_at: Option<i64>,
}

impl Store {
    /// A key by its public id.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn key(&self, id: &str) -> Result<Option<KeyRow>, StoreError> {
        Ok(sqlx::query_as(sql::KEY_GET).bind(id).fetch_optional(&self.read).await?)
    }

    /// Every key, oldest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn keys(&self) -> Result<Vec<KeyRow>, StoreError> {
        Ok(sqlx::query_as(sql::KEY_LIST).fetch_all(&self.read).await?)
    }
}

impl Write {
    /// Stores a new key.
    ///
    /// # Errors
    /// [`StoreError::Conflict`] when the id is taken.
    pub async fn put_key(
        &mut self,
        id: &str,
        name: &str,
        hash: &str,
        scopes: &str,
    ) -> Result<(), StoreError> {
        sqlx::query(sql::KEY_PUT)
            .bind(id)
            .bind(name)
            .bind(hash)
            .bind(scopes)
            .bind(self.actor.now)
            .execute(&mut *self.tx)
            .await?;
        self.audit("key.create", id, serde_json::json!({"name": name, "scopes": scopes})).await
    }

    /// Revokes a key; says whether there was one.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn revoke_key(&mut self, id: &str) -> Result<bool, StoreError> {
        let done = sqlx::query(sql::KEY_REVOKE).bind(id).bind(self.actor.now).execute(&mut *self.tx).await?;
        if done.rows_affected() > 0 {
            self.audit("key.revoke", id, serde_json::json!({})).await?;
        }
        Ok(done.rows_affected() > 0)
    }

    /// Revokes all keys of a name.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn revoke_keys_named(&mut self, name: &str) -> Result<(), StoreError> {
        let revoked: Vec<String> = sqlx::query_scalar(sql::KEY_REVOKE_NAMED)
            .bind(name)
            .bind(self.actor.now)
            .fetch_all(&mut *self.tx)
            .await?;
        for id in revoked {
            self.audit("key.revoke", &id, serde_json::json!({"name": name})).await?;
        }
        Ok(())
    }
}
