//! Records that tests start from.

use crate::app::{Answer, TestApp, text};
use serde_json::{Value, json};
use std::collections::BTreeMap;

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
    /// The paper each operation works on, or the job that is in the right state for it.
    pub(crate) papers: BTreeMap<&'static str, String>,
}

impl Records {
    pub(crate) async fn make(app: &TestApp) -> Self {
        let mut records = Self::bare(app).await;
        records.papers = papers(app, &records.estimate).await;
        records
    }

    /// Without papers; the demo job is finished, and rates are proposed from it.
    pub(crate) async fn bare(app: &TestApp) -> Self {
        let mut records = Self::open(app).await;
        finish(app, &app.job).await;
        let proposals = format!("/v1/price-books/{}/rate-proposals", records.book);
        records.proposal = text(&app.post(&proposals, &json!({})).await.ok(201).json(), "id");
        records
    }

    /// Without papers and proposals; nobody has accepted the demo job.
    pub(crate) async fn open(app: &TestApp) -> Self {
        let book = app.all("/v1/price-books").await.remove(0);
        let book = text(&book, "id");
        let versions = format!("/v1/price-books/{book}/versions");
        let published = text(&app.all(&versions).await[0], "id");
        let draft = text(&app.post(&versions, &json!({})).await.ok(201).json(), "id");
        let estimate = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json();
        let estimate = text(&estimate, "id");
        let start = json!({"start": "2027-03-02"});
        let plan = app.post(&format!("/v1/estimates/{estimate}/plan"), &start).await.ok(201).json();
        let document = app.get(&format!("/v1/price-book-versions/{published}/document")).await.ok(200).json();
        Self {
            job: app.job.clone(),
            book,
            draft,
            published,
            estimate,
            plan: text(&plan, "id"),
            proposal: String::new(),
            document,
            papers: BTreeMap::new(),
        }
    }
}

/// Terms of a quote on an estimate.
pub(crate) fn terms(estimate: &str) -> Value {
    json!({
        "estimate_id": estimate,
        "seller": {"name": "Example Drainage", "street": "2 Quarry Road", "city": "Millbrook", "country": "US"},
        "valid_until": "2026-03-31",
        "schedule": [
            {"code": "deposit", "name": "On signing", "due": "deposit", "pct": "30"},
            {"code": "poured", "name": "Channel set", "due": "progress", "pct": "40"},
            {"code": "done", "name": "On completion", "due": "completion", "pct": "30"}
        ],
        "retainage": {"pct": "10"},
        "additions": [{"code": "spare", "name": "Spare grate", "category": "material", "price": "95.00"}]
    })
}

impl TestApp {
    /// A POST of the money part: under any tag, with a key of its own.
    pub(crate) async fn money(&self, path: &str, body: &Value) -> Answer {
        self.send(self.ask_money(path, body, "*")).await
    }

    pub(crate) fn ask_money(&self, path: &str, body: &Value, tag: &str) -> crate::app::Ask {
        static NEXT: std::sync::atomic::AtomicU64 = std::sync::atomic::AtomicU64::new(0);
        let key = format!("money-{:08}", NEXT.fetch_add(1, std::sync::atomic::Ordering::Relaxed));
        let ask = crate::app::Ask::post(path).key(&self.key).json(body);
        ask.header("if-match", tag).header("idempotency-key", &key)
    }

    /// A draft of a quote; its id.
    pub(crate) async fn quote(&self, job: &str, terms: &Value) -> String {
        text(&self.money(&format!("/v1/jobs/{job}/quotes"), terms).await.ok(201).json(), "id")
    }

    /// An issued quote; its id.
    pub(crate) async fn issued(&self, job: &str, terms: &Value) -> String {
        let id = self.quote(job, terms).await;
        self.money(&format!("/v1/quotes/{id}/issue"), &json!({"on": "2026-02-02"})).await.ok(200);
        id
    }

    /// An accepted quote on a job: its contract.
    pub(crate) async fn contract(&self, job: &str, terms: &Value) -> String {
        let id = self.issued(job, terms).await;
        let yes = json!({"by": "Household", "on": "2026-02-10"});
        self.money(&format!("/v1/quotes/{id}/accept"), &yes).await.ok(200);
        id
    }

    /// An issued change order of one line; its id.
    pub(crate) async fn change(&self, job: &str, price: &str) -> String {
        let body = json!({"title": "Change", "basis": {"kind": "lines", "lines": [
            {"code": "more", "description": "More", "category": "labor", "price": price, "cost": "1.00"}]}});
        let made = self.money(&format!("/v1/jobs/{job}/change-orders"), &body).await.ok(201).json();
        let id = text(&made, "id");
        self.money(&format!("/v1/change-orders/{id}/issue"), &json!({"on": "2026-02-20"})).await.ok(200);
        id
    }

    /// An invoice; the answer.
    pub(crate) async fn bill(&self, job: &str, bill: &Value) -> Answer {
        self.money(&format!("/v1/jobs/{job}/invoices"), &json!({"bill": bill, "on": "2026-03-02"})).await
    }
}

/// A paper in the right state for each operation, on the demo job unless it needs another.
async fn papers(app: &TestApp, estimate: &str) -> BTreeMap<&'static str, String> {
    let job = app.job.clone();
    let terms = |change: fn(&mut Value)| {
        let mut terms = terms(estimate);
        change(&mut terms);
        terms
    };
    let mut out = BTreeMap::new();
    out.insert("editQuote", app.quote(&job, &terms(|_| {})).await);
    out.insert("declineQuote", app.issued(&job, &terms(|_| {})).await);
    out.insert("withdrawQuote", app.issued(&job, &terms(|_| {})).await);
    out.insert("supersedeQuote", app.issued(&job, &terms(|_| {})).await);
    out.insert("expireQuote", app.issued(&job, &terms(|t| t["valid_until"] = json!("2026-03-01"))).await);
    let contract = app.contract(&job, &terms(|_| {})).await;
    for operation in ["getQuote", "recomputeQuote", "getQuoteUbl", "printQuote"] {
        out.insert(operation, contract.clone());
    }
    // One job has one contract: the next is accepted on a job of its own.
    let other = text(&make_job(app, &job_with_notes()).await.json(), "id");
    let made = app.post(&format!("/v1/jobs/{other}/estimates"), &json!({})).await.ok(201).json();
    out.insert("acceptQuote", app.issued(&other, &self::terms(&text(&made, "id"))).await);
    let third = text(&make_job(app, &job_with_notes()).await.json(), "id");
    let made = app.post(&format!("/v1/jobs/{third}/estimates"), &json!({})).await.ok(201).json();
    out.insert("issueQuote", app.quote(&third, &self::terms(&text(&made, "id"))).await);
    // The demo job is accepted on another day than the example says.
    out.insert("acceptJob", third);
    // A job under contract is not priced anew.
    let open = text(&make_job(app, &job_with_notes()).await.json(), "id");
    app.post(&format!("/v1/jobs/{open}/estimates"), &json!({})).await.ok(201);
    out.insert("repriceJob", open);

    let draft = json!({"title": "Draft", "basis": {"kind": "lines", "lines": [
        {"code": "more", "description": "More", "category": "labor", "price": "10.00"}]}});
    let draft = app.money(&format!("/v1/jobs/{job}/change-orders"), &draft).await.ok(201).json();
    out.insert("issueChangeOrder", text(&draft, "id"));
    let change = app.change(&job, "-20.00").await;
    for operation in ["getChangeOrder", "recomputeChangeOrder", "getChangeOrderUbl", "printChangeOrder"] {
        out.insert(operation, change.clone());
    }
    for operation in ["acceptChangeOrder", "declineChangeOrder", "withdrawChangeOrder"] {
        out.insert(operation, app.change(&job, "40.00").await);
    }
    let line = json!({"kind": "lines", "lines": [{"line": "labor", "amount": "12.00"}]});
    for operation in ["reportVoid", "createCreditNote"] {
        out.insert(operation, text(&app.bill(&job, &line).await.ok(201).json(), "id"));
    }
    // The payment of the example is no more than it asks for.
    let much = json!({"kind": "lines", "lines": [{"line": "labor", "amount": "1700.00"}]});
    out.insert("reportPayment", text(&app.bill(&job, &much).await.ok(201).json(), "id"));
    let invoice = text(&app.bill(&job, &line).await.ok(201).json(), "id");
    for operation in ["getInvoice", "recomputeInvoice", "getInvoiceUbl", "printInvoice"] {
        out.insert(operation, invoice.clone());
    }
    let paid = text(&app.bill(&job, &line).await.ok(201).json(), "id");
    let pay = json!({"system": "accounting", "reference": "RCPT-PART", "on": "2026-03-03", "amount": "1.00"});
    app.money(&format!("/v1/invoices/{paid}/payments"), &pay).await.ok(200);
    out.insert("listPayments", paid);
    let credit = json!({"credit": {"kind": "lines", "lines": [{"line": "labor", "amount": "2.00"}]}, "on": "2026-03-03",
        "reason": "Too much"});
    let credit = app.money(&format!("/v1/invoices/{invoice}/credit-notes"), &credit).await.ok(201).json();
    for operation in ["getCreditNote", "recomputeCreditNote", "getCreditNoteUbl", "printCreditNote"] {
        out.insert(operation, text(&credit, "id"));
    }
    out
}

fn job_with_notes() -> Value {
    let mut body = job(90);
    body["notes"] = short_notes();
    body
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
