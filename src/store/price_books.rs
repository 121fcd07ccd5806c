//! Price books and their versions.

use super::{Store, StoreError, Write, sql};

/// A price book.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct BookRow {
    /// Id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Creation.
    pub created_at: i64,
    /// Last change.
    pub updated_at: i64,
}

/// A version of a price book. Lists leave the document empty.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct VersionRow {
    /// Id.
    pub id: String,
    /// Book.
    pub book_id: String,
    /// Name of the book.
    pub name: String,
    /// Number within the book.
    pub number: i64,
    /// `draft`, `published` or `retired`.
    pub state: String,
    /// The document, JSON.
    pub document: String,
    /// Row version, for ETags.
    pub row_version: i64,
    /// Creation.
    pub created_at: i64,
    /// Last change.
    pub updated_at: i64,
    /// Publication.
    pub published_at: Option<i64>,
    /// Retirement.
    pub retired_at: Option<i64>,
    /// First day for which it holds.
    pub effective_from: Option<String>,
    /// The day after the last.
    pub effective_to: Option<String>,
    /// The version that it was copied from.
    pub made_from: Option<String>,
}

impl Store {
    /// A book.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn book(&self, id: &str) -> Result<Option<BookRow>, StoreError> {
        Ok(sqlx::query_as(sql::BOOK_GET).bind(id).fetch_optional(&self.read).await?)
    }

    /// Books after a place in the order of creation.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn books(&self, after: Option<(i64, &str)>, limit: i64) -> Result<Vec<BookRow>, StoreError> {
        Ok(sqlx::query_as(sql::BOOK_LIST)
            .bind(after.map(|a| a.0))
            .bind(after.map(|a| a.1))
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }

    /// A version with its document.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn version(&self, id: &str) -> Result<Option<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_GET).bind(id).fetch_optional(&self.read).await?)
    }

    /// Versions of a book below a number, newest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn versions(
        &self,
        book: &str,
        below: Option<i64>,
        limit: i64,
    ) -> Result<Vec<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_LIST).bind(book).bind(below).bind(limit).fetch_all(&self.read).await?)
    }

    /// Id of the current version of a day: a dated one that holds on it, else the undated one published last.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn current_version(&self, day: &str) -> Result<Option<String>, StoreError> {
        Ok(sqlx::query_scalar(sql::VERSION_CURRENT).bind(day).fetch_optional(&self.read).await?)
    }

    /// Published versions of a book: dated ones in order, then undated ones, last published first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn published_versions(&self, book: &str) -> Result<Vec<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_PUBLISHED).bind(book).fetch_all(&self.read).await?)
    }

    /// Versions of a book that were ever published, retired since or not, in the order of [`Store::published_versions`].
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn ever_published(&self, book: &str) -> Result<Vec<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_EVER_PUBLISHED).bind(book).fetch_all(&self.read).await?)
    }

    /// Drafts of a book above a number, newest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn drafts(&self, book: &str, above: i64) -> Result<Vec<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_DRAFTS).bind(book).bind(above).fetch_all(&self.read).await?)
    }
}

impl Write {
    /// A new book.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn put_book(&mut self, id: &str, name: &str) -> Result<(), StoreError> {
        sqlx::query(sql::BOOK_PUT).bind(id).bind(name).bind(self.actor.now).execute(&mut *self.tx).await?;
        self.audit("price_book.create", id, serde_json::json!({"name": name})).await
    }

    /// A new draft version whose document was sent; gives its number.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn put_version(&mut self, id: &str, book: &str, document: &str) -> Result<i64, StoreError> {
        self.put_version_from(id, book, document, None).await
    }

    /// A new draft version, made from another one; gives its number.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn put_version_from(
        &mut self,
        id: &str,
        book: &str,
        document: &str,
        made_from: Option<&str>,
    ) -> Result<i64, StoreError> {
        let last: i64 = sqlx::query_scalar(sql::BOOK_LAST_NUMBER).bind(book).fetch_one(&mut *self.tx).await?;
        sqlx::query(sql::VERSION_PUT)
            .bind(id)
            .bind(book)
            .bind(last + 1)
            .bind(document)
            .bind(self.actor.now)
            .bind(made_from)
            .execute(&mut *self.tx)
            .await?;
        let mut detail = serde_json::json!({"book": book, "number": last + 1});
        if let Some(from) = made_from {
            detail["made_from"] = from.into();
        }
        self.audit("price_book_version.create", id, detail).await?;
        Ok(last + 1)
    }

    /// A version as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn version(&mut self, id: &str) -> Result<Option<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_GET).bind(id).fetch_optional(&mut *self.tx).await?)
    }

    /// Another document for a draft.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when the draft has changed meanwhile or is no draft any more.
    pub async fn edit_version(
        &mut self,
        id: &str,
        row_version: i64,
        document: &str,
        changes: serde_json::Value,
    ) -> Result<(), StoreError> {
        let done = sqlx::query(sql::VERSION_EDIT)
            .bind(id)
            .bind(row_version)
            .bind(document)
            .bind(self.actor.now)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 {
            return Err(StoreError::Stale);
        }
        self.audit_edit("price_book_version.edit", id, row_version, changes).await
    }

    /// Publishes a draft that holds wherever no dated version does.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile or is no draft any more.
    pub async fn publish_version(&mut self, id: &str, row_version: i64) -> Result<(), StoreError> {
        self.publish_version_for(id, row_version, None, None).await
    }

    /// Publishes a draft for the days from `from` on, up to but not including `to`.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile or is no draft any more.
    pub async fn publish_version_for(
        &mut self,
        id: &str,
        row_version: i64,
        from: Option<&str>,
        to: Option<&str>,
    ) -> Result<(), StoreError> {
        let done = sqlx::query(sql::VERSION_PUBLISH)
            .bind(id)
            .bind(row_version)
            .bind(self.actor.now)
            .bind(from)
            .bind(to)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 {
            return Err(StoreError::Stale);
        }
        self.audit_state("price_book_version.publish", id, ("draft", row_version), "published").await
    }

    /// Lets a published, dated version end before `to`.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile, is not published or not dated.
    pub async fn end_version(&mut self, row: &VersionRow, to: &str) -> Result<(), StoreError> {
        let done = sqlx::query(sql::VERSION_END)
            .bind(&row.id)
            .bind(row.row_version)
            .bind(to)
            .bind(self.actor.now)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 {
            return Err(StoreError::Stale);
        }
        let detail = serde_json::json!({"effective_to": {"before": row.effective_to, "after": to}});
        self.audit("price_book_version.end", &row.id, detail).await
    }

    /// Published versions of a book as this transaction sees them: dated ones in order, then undated ones.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn published_versions(&mut self, book: &str) -> Result<Vec<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_PUBLISHED).bind(book).fetch_all(&mut *self.tx).await?)
    }

    /// Versions of a book that were ever published, as this transaction sees them, in the same order.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn ever_published(&mut self, book: &str) -> Result<Vec<VersionRow>, StoreError> {
        Ok(sqlx::query_as(sql::VERSION_EVER_PUBLISHED).bind(book).fetch_all(&mut *self.tx).await?)
    }

    /// Retires a version, published or still a draft.
    ///
    /// # Errors
    /// [`StoreError::Stale`] when it has changed meanwhile or is retired already.
    pub async fn retire_version(&mut self, id: &str, row_version: i64) -> Result<(), StoreError> {
        let done = sqlx::query(sql::VERSION_RETIRE)
            .bind(id)
            .bind(row_version)
            .bind(self.actor.now)
            .execute(&mut *self.tx)
            .await?;
        if done.rows_affected() == 0 {
            return Err(StoreError::Stale);
        }
        let published = self.version(id).await?.is_some_and(|row| row.published_at.is_some());
        let was = if published { "published" } else { "draft" };
        self.audit_state("price_book_version.retire", id, (was, row_version), "retired").await
    }

    /// The audit row of a version in another state: what it was and what is written.
    async fn audit_state(
        &mut self,
        action: &str,
        id: &str,
        (was, row_version): (&str, i64),
        is: &str,
    ) -> Result<(), StoreError> {
        let row = self.version(id).await?.ok_or(StoreError::Stale)?;
        let mut after = serde_json::json!({"state": is, "version": row.row_version});
        for (name, day) in [("effective_from", &row.effective_from), ("effective_to", &row.effective_to)] {
            if let Some(day) = day {
                after[name] = day.as_str().into();
            }
        }
        let detail = serde_json::json!({"book": row.book_id, "number": row.number,
            "before": {"state": was, "version": row_version}, "after": after});
        self.audit(action, id, detail).await
    }
}
