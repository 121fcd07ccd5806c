//! What is reported about papers fits what they say: sums that can go back, days that can have been.

use crate::app::{Ask, TestApp, fault, faults_in, text};
use crate::records::{job, short_notes, terms};
use serde_json::{Value, json};

async fn estimate(app: &TestApp, body: &Value) -> Value {
    app.post(&format!("/v1/jobs/{}/estimates", app.job), body).await.ok(201).json()
}

/// The demo job with a contract.
async fn contracted(app: &TestApp) {
    let first = text(&estimate(app, &json!({})).await, "id");
    app.contract(&app.job, &terms(&first)).await;
}

fn payment(reference: &str, on: &str, amount: &str) -> Value {
    json!({"system": "accounting", "reference": reference, "on": on, "amount": amount})
}

/// One of more than is owed.
fn over_paid(reference: &str, on: &str, amount: &str) -> Value {
    let mut payment = payment(reference, on, amount);
    payment["over_paid"] = json!(true);
    payment
}

/// The invoice of the deposit, its path.
async fn deposit(app: &TestApp) -> String {
    let billed = app.bill(&app.job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201).json();
    format!("/v1/invoices/{}", text(&billed, "id"))
}

#[tokio::test]
async fn no_more_goes_back_than_an_invoice_owes_after_its_credit_notes() {
    let app = TestApp::start().await;
    contracted(&app).await;
    let change = app.change(&app.job, "-500.00").await;
    app.money(&format!("/v1/change-orders/{change}/accept"), &json!({"by": "H", "on": "2026-02-21"}))
        .await
        .ok(200);
    let billed =
        app.bill(&app.job, &json!({"kind": "change_order", "change_order": "co-1"})).await.ok(201).json();
    let invoice = format!("/v1/invoices/{}", text(&billed, "id"));
    let line = text(&billed["document"]["lines"][0], "code");
    let payable = text(&billed, "payable");
    assert!(payable.starts_with('-'), "{payable}");
    let part = json!({"credit": {"kind": "lines", "lines": [{"line": line, "amount": "-300.00"}]}, "on": "2026-03-03", "reason": "most"});
    app.money(&format!("{invoice}/credit-notes"), &part).await.ok(201);
    let pay = format!("{invoice}/payments");
    let refused =
        app.money(&pay, &payment("R-1", "2026-03-04", &payable)).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&refused), fault("#/amount", "over_refunded"));
    assert_eq!(
        app.money(&pay, &payment("R-1", "2026-03-04", "-100.00")).await.ok(200).json()["paid"],
        "-100.00"
    );
}

#[tokio::test]
async fn payments_of_an_invoice_keep_to_what_can_be_written() {
    let app = TestApp::start().await;
    contracted(&app).await;
    let pay = format!("{}/payments", deposit(&app).await);
    app.money(&pay, &over_paid("P-1", "2026-03-04", "999999999999.99")).await.ok(200);
    let refused =
        app.money(&pay, &payment("P-2", "2026-03-04", "0.01")).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&refused), fault("#/amount", "out_of_range"));
}

/// Each invoice within its limit, and the job beyond what its ledger can write.
#[tokio::test]
async fn payments_of_a_job_keep_to_what_can_be_written() {
    let app = TestApp::start().await;
    contracted(&app).await;
    let first = format!("{}/payments", deposit(&app).await);
    let poured = app.bill(&app.job, &json!({"kind": "stage", "stage": "poured"})).await.ok(201).json();
    let second = format!("/v1/invoices/{}/payments", text(&poured, "id"));
    app.money(&first, &over_paid("P-1", "2026-03-04", "999999999999.00")).await.ok(200);
    let refused =
        app.money(&second, &payment("P-2", "2026-03-04", "1.00")).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&refused), fault("#/amount", "out_of_range"));
    let told = &refused["errors"][0];
    assert_eq!(told["value"], "1.00");
    assert!(text(told, "detail").contains("all payments of a job come to at most 999999999999.99"), "{told}");
    app.money(&second, &payment("P-2", "2026-03-04", "0.99")).await.ok(200);
    let ledger = app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
    assert_eq!(ledger["paid"], "999999999999.99");
    app.money(&first, &payment("P-3", "2026-03-05", "-500.00")).await.ok(200);
}

/// What is retained is billed too, though nobody asks for it yet.
#[tokio::test]
async fn invoices_with_their_retainage_keep_to_what_can_be_written() {
    let app = TestApp::start().await;
    contracted(&app).await;
    let bill = async |amount: &str| {
        let lines = json!({"kind": "lines", "lines": [{"line": "labor", "amount": amount}]});
        let body = json!({"bill": lines, "on": "2026-03-02", "over_contract": true});
        app.money(&format!("/v1/jobs/{}/invoices", app.job), &body).await
    };
    let first = bill("900000000000.00").await.ok(201).json();
    let retained: f64 = text(&first["document"], "retained").parse().unwrap();
    assert!(retained >= 9e10, "{first}");
    // With what is asked for alone it would come to less.
    let refused = bill("120000000000.00").await.problem(422, "validation-failed");
    assert_eq!(faults_in(&refused), fault("#/bill", "out_of_range"));
    assert!(text(&refused["errors"][0], "detail").contains("what is retained among them"), "{refused}");
    bill("10000.00").await.ok(201);
}

#[tokio::test]
async fn costs_of_a_job_keep_to_what_can_be_written() {
    let app = TestApp::start().await;
    let costs = format!("/v1/jobs/{}/costs", app.job);
    let most = "999999999999.99";
    let report = async |reference: &str, category: &str, amount: &str, committed: bool| {
        let cost = json!({"system": "accounting", "reference": reference, "on": "2026-03-11", "category": category,
            "amount": amount, "committed": committed});
        app.money(&costs, &cost).await
    };
    report("C-1", "material", most, false).await.ok(201);
    for (category, committed) in [("material", false), ("material", true), ("hire", false)] {
        let refused = report("C-2", category, "0.01", committed).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&refused), fault("#/amount", "out_of_range"));
        let told = &refused["errors"][0];
        assert_eq!(told["value"], "0.01");
        assert!(text(told, "detail").starts_with(&format!("{most} were reported before; ")), "{told}");
    }
    // A refund makes room, and one that leads below what can be written is refused as well.
    report("C-3", "hire", "-100.00", false).await.ok(201);
    report("C-4", "permit", "100.00", true).await.ok(201);
    report("C-5", "material", &format!("-{most}"), false).await.ok(201);
    report("C-6", "material", &format!("-{most}"), false).await.ok(201);
    report("C-7", "material", "-0.01", true).await.problem(422, "validation-failed");
}

#[tokio::test]
async fn what_is_reported_has_happened() {
    let app = TestApp::start().await;
    contracted(&app).await;
    let invoice = deposit(&app).await;
    let void =
        |on: &str| json!({"system": "accounting", "reference": "V-1", "on": on, "reason": "sent twice"});
    let cost = |on: &str, committed: bool| {
        json!({"system": "accounting", "reference": format!("C-{committed}"), "on": on, "category": "material",
            "amount": "10.00", "committed": committed})
    };
    let costs = format!("/v1/jobs/{}/costs", app.job);
    let future = fault("#/on", "in_the_future");
    for (path, body, expected) in [
        (format!("{invoice}/payments"), payment("P-1", "2099-01-01", "1.00"), future.clone()),
        (format!("{invoice}/void"), void("2099-01-01"), future.clone()),
        (format!("{invoice}/void"), void("2026-03-01"), fault("#/on", "before_issue_date")),
        (costs.clone(), cost("2099-01-01", false), future),
    ] {
        let refused = app.money(&path, &body).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&refused), expected, "{path}");
    }
    // an order may be for a day to come
    app.money(&costs, &cost("2099-01-01", true)).await.ok(201);
    app.money(&format!("{invoice}/void"), &void("2026-03-02")).await.ok(200);
}

/// The paper says what it said; nobody pays from a file of it, and the sums leave it out.
#[tokio::test]
async fn a_voided_invoice_asks_for_nothing() {
    let app = TestApp::start().await;
    contracted(&app).await;
    let kept = deposit(&app).await;
    let wrong = app.bill(&app.job, &json!({"kind": "stage", "stage": "poured"})).await.ok(201).json();
    let (path, number) = (format!("/v1/invoices/{}", text(&wrong, "id")), text(&wrong, "number"));
    app.get(&format!("{path}/ubl")).await.ok(200);
    let void =
        json!({"system": "accounting", "reference": "V-1", "on": "2026-03-05", "reason": "Sent twice"});
    app.money(&format!("{path}/void"), &void).await.ok(200);
    let told = app.get(&format!("{path}/ubl")).await.problem(409, "state-conflict");
    let detail = text(&told, "detail");
    assert!(detail.contains(&format!("invoice {number} was voided on 2026-03-05")), "{detail}");
    app.get(&format!("{kept}/ubl")).await.ok(200);
    // Its document is read as it was.
    let read = app.get(&path).await.ok(200).json();
    assert_eq!(
        (read["payable"].clone(), read["document"].clone()),
        (wrong["payable"].clone(), wrong["document"].clone())
    );
    let ledger = app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
    let cents = |sum: &Value| sum.as_str().unwrap().replace('.', "").parse::<i64>().unwrap();
    let asked = |papers: &Value, all: bool| -> i64 {
        let papers = papers.as_array().unwrap().iter();
        papers.filter(|p| all || p["state"] != "voided").map(|p| cents(&p["payable"])).sum()
    };
    assert_eq!(cents(&ledger["invoiced"]), asked(&ledger["papers"], false));
    let listed = app.get(&format!("/v1/jobs/{}/invoices", app.job)).await.ok(200).json()["items"].clone();
    assert_eq!(cents(&ledger["invoiced"]), asked(&listed, false));
    assert!(asked(&listed, true) > asked(&listed, false));
}

#[tokio::test]
async fn a_superseded_quote_keeps_who_declined_it() {
    let app = TestApp::start().await;
    let first = text(&estimate(&app, &json!({})).await, "id");
    let quote = app.issued(&app.job, &terms(&first)).await;
    let no = json!({"on": "2026-02-05", "by": "H", "reason": "Too dear"});
    app.money(&format!("/v1/quotes/{quote}/decline"), &no).await.ok(200);
    let supersede = format!("/v1/quotes/{quote}/supersede");
    for (on, code) in [("2026-02-01", "before_issue_date"), ("2099-01-01", "in_the_future")] {
        let refused = app.money(&supersede, &json!({"on": on})).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&refused), fault("#/on", code));
    }
    app.money(&supersede, &json!({"on": "2026-02-06"})).await.ok(201);
    let decision = app.get(&format!("/v1/quotes/{quote}")).await.ok(200).json()["decision"].clone();
    assert_eq!(decision, json!({"on": "2026-02-06", "earlier": no}));
}

#[tokio::test]
async fn a_stage_asks_for_something() {
    let app = TestApp::start().await;
    let mut terms = terms(&text(&estimate(&app, &json!({})).await, "id"));
    terms["schedule"] = json!([{"code": "a", "name": "A", "due": "deposit", "pct": "0"},
        {"code": "b", "name": "B", "due": "progress", "pct": "100"}]);
    let refused =
        app.money(&format!("/v1/jobs/{}/quotes", app.job), &terms).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&refused), fault("#/schedule/0/pct", "out_of_range"));
}

#[tokio::test]
async fn validate_only_checks_the_idempotency_key_too() {
    let app = TestApp::start().await;
    for path in ["/v1/jobs", "/v1/jobs?validate_only=true"] {
        let ask = Ask::post(path).key(&app.key).json(&job(1));
        app.send(ask.header("idempotency-key", "short")).await.problem(400, "bad-header");
    }
}

#[tokio::test]
async fn a_price_of_allowances_alone_has_no_category_below_nothing() {
    let app = TestApp::start().await;
    let mut notes = short_notes();
    notes["options"] = json!({"markup_scheme": "repeat-customer"});
    notes["pricing"] = json!({"discounts": [{"kind": "percent", "name": "Warranty", "pct": "100"}],
        "allowances": [{"code": "perm", "name": "Permit", "category": "permit", "amount": "740.40"}]});
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await.ok(200).json();
    let price = &answer["price"];
    let prices: Vec<(String, String)> = price["by_category"]
        .as_array()
        .unwrap()
        .iter()
        .map(|c| (text(c, "category"), text(c, "price")))
        .filter(|(_, price)| price != "0.00")
        .collect();
    assert_eq!(prices, [("permit".to_owned(), text(price, "price_before_tax"))], "{price}");
}
