//! Records that tests start from.

use crate::app::{Answer, TestApp, text};
use serde_json::{Value, json};

/// One record of each kind.
pub(crate) struct Records {
    pub(crate) job: String,
    pub(crate) book: String,
    pub(crate) draft: String,
    pub(crate) published: String,
    pub(crate) estimate: String,
    pub(crate) plan: String,
    pub(crate) proposal: String,
    /// The demo price book.
    pub(crate) document: Value,
}

impl Records {
    pub(crate) async fn make(app: &TestApp) -> Self {
        let book = app.all("/v1/price-books").await.remove(0);
        let book = text(&book, "id");
        let versions = format!("/v1/price-books/{book}/versions");
        let published = text(&app.all(&versions).await[0], "id");
        let draft = text(&app.post(&versions, &json!({})).await.ok(201).json(), "id");
        let estimate = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json();
        let estimate = text(&estimate, "id");
        let start = json!({"start": "2027-03-02"});
        let plan = app.post(&format!("/v1/estimates/{estimate}/plan"), &start).await.ok(201).json();
        finish(app, &app.job).await;
        let proposals = format!("/v1/price-books/{book}/rate-proposals");
        let proposal = app.post(&proposals, &json!({})).await.ok(201).json();
        let document = app.get(&format!("/v1/price-book-versions/{published}/document")).await.ok(200).json();
        Self {
            job: app.job.clone(),
            book,
            draft,
            published,
            estimate,
            plan: text(&plan, "id"),
            proposal: text(&proposal, "id"),
            document,
        }
    }
}

/// Accepts a job on its newest estimate, records a day of digging and the end.
pub(crate) async fn finish(app: &TestApp, job: &str) {
    let accepted = json!({"accepted_on": "2026-03-02"});
    app.post(&format!("/v1/jobs/{job}/acceptance"), &accepted).await.ok(201);
    let entries = json!({"entries": [
        {"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "6.5 hr", "crew": "crew-1"},
        {"kind": "finished", "on": "2026-03-20"}]});
    app.post(&format!("/v1/jobs/{job}/actuals"), &entries).await.ok(201);
}

/// A job body that is told apart by a number.
pub(crate) fn job(number: usize) -> Value {
    json!({
        "title": format!("Job {number:02}"),
        "customer": {"name": format!("Customer {number:02}")},
        "site": {"address": format!("{number} Alder Bend")}
    })
}

/// Makes a job; the answer.
pub(crate) async fn make_job(app: &TestApp, body: &Value) -> Answer {
    app.post("/v1/jobs", body).await.ok(201)
}

/// Notes of one short run.
pub(crate) fn short_notes() -> Value {
    json!({"runs": [{"id": "a", "legs": [{"length": "24 ft"}], "channel_system": "channel-4-light",
        "crossing": "feet", "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}]})
}
