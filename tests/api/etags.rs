//! A tag changes whenever the bytes under it do, and what is written under it is refused only where that matters.

use crate::app::{Answer, Ask, TestApp, text};
use crate::records::terms;
use serde_json::{Value, json};

/// A page that is read again and again under the tag it had.
struct Watched<'a> {
    app: &'a TestApp,
    path: String,
    last: Answer,
}

impl<'a> Watched<'a> {
    async fn start(app: &'a TestApp, path: String) -> Self {
        let last = app.get(&path).await.ok(200);
        Self { app, path, last }
    }

    /// After `what` the page reads as another one, under another tag.
    async fn changes(&mut self, what: &str) {
        let tag = self.last.etag();
        let ask = || Ask::get(&self.path).key(&self.app.key);
        let answer = self.app.send(ask().header("if-none-match", &tag)).await;
        assert_eq!(answer.status, 200, "{what}: the page still stands under {tag}");
        assert!(answer.bytes != self.last.bytes && answer.etag() != tag, "{what}: {tag}");
        let again = self.app.send(ask().header("if-none-match", &answer.etag())).await.ok(304);
        assert_eq!(again.etag(), answer.etag(), "{what}");
        self.last = answer;
    }
}

async fn estimate(app: &TestApp) -> String {
    text(&app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json(), "id")
}

#[tokio::test]
async fn the_tag_of_a_ledger_changes_with_every_move_of_a_paper() {
    let app = TestApp::start().await;
    let terms = terms(&estimate(&app).await);
    let mut ledger = Watched::start(&app, format!("/v1/jobs/{}/ledger", app.job)).await;
    let moves = async |path: String, body: Value| app.money(&path, &body).await.ok(200);

    let first = app.quote(&app.job, &terms).await;
    ledger.changes("a quote is drafted").await;
    moves(format!("/v1/quotes/{first}/issue"), json!({"on": "2026-02-02"})).await;
    ledger.changes("it is issued").await;
    let second = app.money(&format!("/v1/quotes/{first}/supersede"), &json!({"on": "2026-02-03"})).await;
    assert!(second.status.is_success(), "{}", second.text());
    ledger.changes("another takes its place").await;
    let second = text(&second.json(), "id");
    moves(format!("/v1/quotes/{second}/issue"), json!({"on": "2026-02-03"})).await;
    ledger.changes("that is issued").await;
    moves(format!("/v1/quotes/{second}/accept"), json!({"by": "Household", "on": "2026-02-10"})).await;
    ledger.changes("that is accepted").await;

    let lines = json!({"title": "More", "basis": {"kind": "lines", "lines": [
        {"code": "more", "description": "More", "category": "labor", "price": "10.00", "cost": "1.00"}]}});
    let change = app.money(&format!("/v1/jobs/{}/change-orders", app.job), &lines).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&change, "id"));
    ledger.changes("a change order is drafted").await;
    moves(format!("{change}/issue"), json!({"on": "2026-02-20"})).await;
    ledger.changes("it is issued").await;
    moves(format!("{change}/accept"), json!({"by": "Household", "on": "2026-02-21"})).await;
    ledger.changes("it is accepted").await;
    app.bill(&app.job, &json!({"kind": "percent", "pct_to_date": "5"})).await.ok(201);
    ledger.changes("an invoice").await;
}

#[tokio::test]
async fn an_invoice_is_refused_only_where_money_or_the_contract_moved() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let (path, invoices) = (format!("/v1/jobs/{}/ledger", app.job), format!("/v1/jobs/{}/invoices", app.job));
    let mut pct = 0;
    let mut bill = |tag: &str| {
        pct += 5;
        let body = json!({"bill": {"kind": "percent", "pct_to_date": pct.to_string()}, "on": "2026-03-02"});
        app.send(app.ask_money(&invoices, &body, tag))
    };
    // A change order that is written and issued changes the page, not what can be billed.
    let read = app.get(&path).await.ok(200).etag();
    app.change(&app.job, "25.00").await;
    assert_ne!(app.get(&path).await.ok(200).etag(), read);
    bill(&read).await.ok(201);
    // The invoice does.
    let told = text(&bill(&read).await.problem(412, "version-conflict"), "detail");
    let begin = told.split("begins with ").nth(1).unwrap();
    let now = app.get(&path).await.ok(200);
    assert!(now.etag().starts_with(begin), "{told}: {}", now.etag());
    // The row version alone, as the page names it, does too; a weak tag, another version and another digest's form do not.
    let alone = format!("\"{}.ledger.{}\"", app.job, now.json()["version"]);
    for wrong in [
        format!("W/{}", now.etag()),
        now.etag().replace(".ledger.", ".ledger.1"),
        alone.replace(".ledger.", ".ledger.1"),
        format!("{}.x\"", alone.trim_end_matches('"')),
    ] {
        bill(&wrong).await.problem(412, "version-conflict");
    }
    bill(&alone).await.ok(201);
    // A list may come in several lines.
    let tag = app.get(&path).await.ok(200).etag();
    let body = json!({"bill": {"kind": "percent", "pct_to_date": "90"}, "on": "2026-03-02"});
    let ask = app.ask_money(&invoices, &body, "\"x.1\"").line("if-match", &tag);
    app.send(ask).await.ok(201);
}
