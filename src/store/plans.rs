//! Plans and their versions.

use super::{Store, StoreError, Write, sql};

/// A version of a plan. Lists leave answer and issued empty.
#[derive(Debug, Clone, sqlx::FromRow)]
pub struct PlanRow {
    /// Plan.
    pub plan_id: String,
    /// Job.
    pub job_id: String,
    /// Number of this state: the row version of the plan.
    pub number: i64,
    /// Version as handed out.
    pub version: i64,
    /// Estimate it was made from.
    pub estimate_id: String,
    /// What was asked and reported, JSON.
    pub inputs: String,
    /// The plan, JSON.
    pub answer: String,
    /// Tasks and hold points with their sequence numbers, JSON.
    pub issued: String,
    /// What changed against the state before, JSON list.
    pub changes: String,
    /// Creation.
    pub created_at: i64,
    /// Key that made it.
    pub created_by: String,
}

/// What a new state of a plan is written with.
#[derive(Debug, Clone)]
pub struct NewPlanVersion {
    /// Plan.
    pub plan_id: String,
    /// Job.
    pub job_id: String,
    /// Number of the state, from 1; the plan itself is made with the first.
    pub number: i64,
    /// Version as handed out.
    pub version: i64,
    /// Estimate it was made from.
    pub estimate_id: String,
    /// What was asked and reported, JSON.
    pub inputs: String,
    /// The plan, JSON.
    pub answer: String,
    /// Tasks and hold points with their sequence numbers, JSON.
    pub issued: String,
    /// What changed, JSON list.
    pub changes: String,
}

impl Store {
    /// The newest state of a plan.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn plan(&self, id: &str) -> Result<Option<PlanRow>, StoreError> {
        Ok(sqlx::query_as(sql::PLAN_LATEST).bind(id).fetch_optional(&self.read).await?)
    }

    /// Id of the plan of a job.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn plan_of_job(&self, job: &str) -> Result<Option<String>, StoreError> {
        Ok(sqlx::query_scalar(sql::PLAN_OF_JOB).bind(job).fetch_optional(&self.read).await?)
    }

    /// States of a plan below a number, newest first.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn plan_versions(
        &self,
        id: &str,
        below: Option<i64>,
        limit: i64,
    ) -> Result<Vec<PlanRow>, StoreError> {
        Ok(sqlx::query_as(sql::PLAN_VERSION_LIST)
            .bind(id)
            .bind(below)
            .bind(limit)
            .fetch_all(&self.read)
            .await?)
    }
}

impl Write {
    /// The newest state of the plan of a job, as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn plan_of_job(&mut self, job: &str) -> Result<Option<PlanRow>, StoreError> {
        let id: Option<String> =
            sqlx::query_scalar(sql::PLAN_OF_JOB).bind(job).fetch_optional(&mut *self.tx).await?;
        match id {
            Some(id) => self.plan(&id).await,
            None => Ok(None),
        }
    }

    /// The newest state of a plan, as this transaction sees it.
    ///
    /// # Errors
    /// When the database does not answer.
    pub async fn plan(&mut self, id: &str) -> Result<Option<PlanRow>, StoreError> {
        Ok(sqlx::query_as(sql::PLAN_LATEST).bind(id).fetch_optional(&mut *self.tx).await?)
    }

    /// Adds a state; with the first, the plan.
    ///
    /// # Errors
    /// When the database refuses.
    pub async fn put_plan_version(&mut self, new: &NewPlanVersion) -> Result<(), StoreError> {
        if new.number == 1 {
            sqlx::query(sql::PLAN_PUT)
                .bind(&new.plan_id)
                .bind(&new.job_id)
                .bind(self.actor.now)
                .execute(&mut *self.tx)
                .await?;
        }
        sqlx::query(sql::PLAN_VERSION_PUT)
            .bind(&new.plan_id)
            .bind(new.number)
            .bind(new.version)
            .bind(&new.estimate_id)
            .bind(&new.inputs)
            .bind(&new.answer)
            .bind(&new.issued)
            .bind(&new.changes)
            .bind(self.actor.now)
            .bind(&self.actor.key_id)
            .execute(&mut *self.tx)
            .await?;
        let action = if new.number == 1 { "plan.create" } else { "plan.change" };
        self.audit(action, &new.plan_id, serde_json::json!({"job": new.job_id, "version": new.version})).await
    }
}
