//! Quotes to the last invoice over the API: moves, races, repeats, what stays as it is.

use crate::app::{Answer, Ask, TestApp, fault, faults_in, send, text};
use crate::records::{Records, job, make_job, short_notes, terms};
use rillcast::units::Amount;
use rillcast::wire::contract::Signed;
use serde_json::{Value, json};

/// An estimate of the demo job; its id.
async fn estimate(app: &TestApp, body: &Value) -> String {
    let path = format!("/v1/jobs/{}/estimates", app.job);
    text(&app.post(&path, body).await.ok(201).json(), "id")
}

#[track_caller]
fn money(value: &Value) -> Amount {
    rillcast::wire::read_value::<Signed>(value).unwrap_or_else(|e| panic!("{e}: {value}")).0
}

/// Contract = quote + accepted change orders = asked for + retained + open.
#[track_caller]
fn foots(ledger: &Value) {
    let at = |pointer: &str| money(ledger.pointer(pointer).unwrap_or(&Value::Null));
    assert_eq!(at("/contract/total"), at("/quoted/total") + at("/changes/total"), "{ledger}");
    assert_eq!(at("/contract/total"), at("/invoiced") + at("/retained") + at("/open/total"), "{ledger}");
    assert_eq!(at("/billed/total"), at("/invoiced") + at("/retained"), "{ledger}");
    assert_eq!(at("/unpaid"), at("/invoiced") - at("/paid"), "{ledger}");
    let papers = ledger["papers"].as_array().unwrap().iter();
    let asked: Amount = papers.filter(|p| p["state"] != "voided").map(|p| money(&p["payable"])).sum();
    assert_eq!(asked, at("/invoiced"), "{ledger}");
}

async fn ledger(app: &TestApp) -> Answer {
    let answer = app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200);
    foots(&answer.json());
    answer
}

#[tokio::test]
async fn an_accepted_quote_marks_its_job_and_keeps_its_price() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    let mark = format!("/v1/jobs/{}/acceptance", app.job);
    app.get(&mark).await.problem(404, "not-found");
    app.contract(&app.job, &terms(&first)).await;
    let found = app.get(&mark).await.ok(200).json();
    assert_eq!(found["estimate_id"], json!(first));
    let quotes = app.all(&format!("/v1/jobs/{}/quotes", app.job)).await;
    assert_eq!(found["source"], quotes[0]["id"], "{found}");
    // What happens is recorded without another mark.
    let ended = json!({"entries": [{"kind": "finished", "on": "2026-03-05"}]});
    app.post(&format!("/v1/jobs/{}/actuals?validate_only=true", app.job), &ended).await.ok(200);
    // The agreed price is not made anew: not alone, and not among the open jobs.
    let draft = app.all("/v1/price-books").await.remove(0);
    let versions = format!("/v1/price-books/{}/versions", text(&draft, "id"));
    let published = text(&app.all(&versions).await[0], "id");
    let copy = text(&app.post(&versions, &json!({"copy_of": published})).await.ok(201).json(), "id");
    let publish = format!("/v1/price-book-versions/{copy}/publish");
    app.send(Ask::post(&publish).key(&app.key).header("if-match", "*").json(&json!({}))).await.ok(200);
    let alone = app.post(&format!("/v1/jobs/{}/reprice", app.job), &json!({})).await;
    assert!(alone.problem(409, "state-conflict")["detail"].as_str().unwrap().contains("change order"));
    let all = app.act(&format!("/v1/price-book-versions/{copy}/reprice"), "*").await.ok(200).json();
    let ours = all["items"].as_array().unwrap().iter().find(|i| i["job_id"] == json!(app.job)).unwrap();
    assert_eq!(ours["outcome"], "accepted");
    assert!(ours.get("estimate").is_none());
}

#[tokio::test]
async fn the_days_of_a_change_come_from_the_two_plans() {
    let app = TestApp::start().await;
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["schedule"] = json!({"start": "2027-03-02"});
    let first = estimate(&app, &json!({"notes": notes})).await;
    app.contract(&app.job, &terms(&first)).await;
    notes["runs"][0]["legs"][0]["length"] = json!("120 ft");
    let second = estimate(&app, &json!({"notes": notes})).await;
    let planned = |answer: Value| answer["estimate"]["plan"]["crew_days"].as_i64().unwrap();
    let mut crew_days = Vec::new();
    for id in [&first, &second] {
        crew_days.push(planned(app.get(&format!("/v1/estimates/{id}")).await.ok(200).json()));
    }
    assert!(crew_days[1] > crew_days[0], "{crew_days:?}");
    let path = format!("/v1/jobs/{}/change-orders", app.job);
    let body = json!({"title": "Longer", "basis": {"kind": "revision", "estimate_id": second}});
    let work = app.money(&path, &body).await.ok(201).json()["document"]["work"].clone();
    assert_eq!(work["days"]["value"], json!((crew_days[1] - crew_days[0]).to_string()), "{work}");
    assert!(text(&work, "basis").contains("by the plan"), "{work}");
    // By line there is no second plan: hours over the day.
    let lines = json!({"title": "More", "basis": {"kind": "lines", "lines": [
        {"code": "more", "description": "More", "category": "labor", "price": "10.00", "crew_hours": "4"}]}});
    let work = app.money(&path, &lines).await.ok(201).json()["document"]["work"].clone();
    assert!(text(&work, "basis").contains("a day; lines written by hand have no plan"), "{work}");
    // It takes no more than the contract holds, neither when written nor when issued after another.
    let less = |price: &str| {
        json!({"title": "Less", "basis": {"kind": "lines", "lines": [
            {"code": "less", "description": "Less", "category": "labor", "price": price}]}})
    };
    let told = app.money(&path, &less("-99999.00")).await.problem(422, "validation-failed");
    assert_eq!(
        (&told["errors"][0]["pointer"], &told["errors"][0]["code"]),
        (&json!("#/basis"), &json!("over_contract"))
    );
    let drafts = [
        app.money(&path, &less("-9000.00")).await.ok(201).json(),
        app.money(&path, &less("-9000.00")).await.ok(201).json(),
    ];
    let issue = |draft: &Value| format!("/v1/change-orders/{}/issue", text(draft, "id"));
    let first_path = issue(&drafts[0]);
    app.money(&first_path, &json!({"on": "2026-02-10"})).await.ok(200);
    let accept = first_path.replace("/issue", "/accept");
    app.money(&accept, &json!({"on": "2026-02-10", "by": "the customer"})).await.ok(200);
    app.money(&issue(&drafts[1]), &json!({"on": "2026-02-10"})).await.problem(409, "state-conflict");
}

#[tokio::test]
async fn a_job_from_estimate_to_the_last_invoice_line() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    let empty = ledger(&app).await.json();
    assert_eq!(empty["contract"]["total"], "0.00");
    app.contract(&app.job, &terms(&first)).await;
    let quoted = ledger(&app).await.json()["contract"]["total"].clone();
    assert_eq!(quoted, app.get(&format!("/v1/estimates/{first}")).await.json()["total"]);

    app.bill(&app.job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201);
    ledger(&app).await;
    app.bill(&app.job, &json!({"kind": "percent", "pct_to_date": "50"})).await.ok(201);
    ledger(&app).await;

    // A changed layout: the contract sum becomes the total of the new revision.
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let second = estimate(&app, &json!({"notes": notes})).await;
    let body = json!({"title": "Longer", "basis": {"kind": "revision", "estimate_id": second}});
    let path = format!("/v1/jobs/{}/change-orders", app.job);
    let change = app.money(&path, &body).await.ok(201).json();
    let change_path = format!("/v1/change-orders/{}", text(&change, "id"));
    app.money(&format!("{change_path}/issue"), &json!({"on": "2026-02-20"})).await.ok(200);
    let before = ledger(&app).await.json();
    assert_eq!(before["contract"]["total"], quoted, "a change that is not accepted changes nothing");
    let yes = json!({"by": "Household", "on": "2026-02-21"});
    app.money(&format!("{change_path}/accept"), &yes).await.ok(200);
    let after = ledger(&app).await.json();
    let total = app.get(&format!("/v1/estimates/{second}")).await.json()["total"].clone();
    assert_eq!(after["contract"]["total"], total);
    assert_eq!(after["parts"][1]["contract_sum"], total);

    let progress = app.bill(&app.job, &json!({"kind": "percent", "pct_to_date": "80"})).await.ok(201).json();
    assert!(money(&progress["document"]["retained"]) > Amount::ZERO);
    ledger(&app).await;
    let last = app.bill(&app.job, &json!({"kind": "final"})).await.ok(201).json();
    let end = ledger(&app).await.json();
    assert_eq!((&end["open"]["total"], &end["retained"]), (&json!("0.00"), &json!("0.00")));
    assert_eq!(end["invoiced"], total);
    assert_eq!(last["document"]["account"]["open"], "0.00");
    app.bill(&app.job, &json!({"kind": "final"})).await.problem(422, "validation-failed");

    // Paid as the accounting system says; one reference is one payment.
    for (i, paper) in end["papers"].as_array().unwrap().iter().enumerate() {
        if paper["kind"] != "invoice" {
            continue;
        }
        let path = format!("/v1/invoices/{}/payments", text(paper, "id"));
        let body = json!({"system": "books", "reference": format!("R-{i}"), "on": "2026-04-01",
            "amount": paper["payable"]});
        assert_eq!(app.money(&path, &body).await.ok(200).json()["state"], "paid");
        app.money(&path, &body).await.problem(409, "conflict");
    }
    let paid = ledger(&app).await.json();
    assert_eq!((&paid["paid"], &paid["unpaid"]), (&total, &json!("0.00")));
    assert!(paid.get("warnings").is_none());
    // Paid twice: taken as reported once that is confirmed, and told.
    let invoice = end["papers"].as_array().unwrap().iter().find(|p| p["kind"] == "invoice").unwrap();
    let path = format!("/v1/invoices/{}/payments", text(invoice, "id"));
    let mut again = json!({"system": "books", "reference": "R-again", "on": "2026-04-02", "amount": "1.00"});
    let problem = app.money(&path, &again).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&problem), fault("#/amount", "over_paid"));
    let detail = text(&problem["errors"][0], "detail");
    assert!(
        detail.contains("0.00 are left to pay: this is 1.00 more") && detail.contains("`over_paid: true`"),
        "{detail}"
    );
    assert!(ledger(&app).await.json().get("warnings").is_none(), "nothing is written");
    again["over_paid"] = json!(true);
    app.money(&path, &again).await.ok(200);
    let warned = ledger(&app).await.json()["warnings"].clone();
    assert!(warned[0].as_str().unwrap().contains(": 1.00 more"), "{warned}");
    // Numbers run without a gap, though some invoices were refused.
    let numbers: Vec<String> = app
        .all(&format!("/v1/jobs/{}/invoices", app.job))
        .await
        .iter()
        .rev()
        .map(|p| text(p, "number"))
        .collect();
    assert_eq!(numbers, ["INV-0001", "INV-0002", "INV-0003", "INV-0004"]);
}

#[tokio::test]
async fn refused_moves_name_those_that_are_allowed() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let paper = |operation: &str| records.papers[operation].clone();
    let on = json!({"on": "2026-03-05", "reason": "x"});
    let yes = json!({"by": "H", "on": "2026-02-20"});
    let accepted = paper("getQuote");
    let draft = paper("issueQuote");
    let issued = paper("declineQuote");
    let cases = [
        (format!("/v1/quotes/{accepted}/decline"), &on, "nothing more"),
        (format!("/v1/quotes/{accepted}/withdraw"), &on, "nothing more"),
        (format!("/v1/quotes/{accepted}/issue"), &json!({"on": "2026-02-05"}), "nothing more"),
        (format!("/v1/quotes/{draft}/accept"), &yes, "`edit`, `issue`, `withdraw`"),
        (format!("/v1/quotes/{issued}/issue"), &json!({"on": "2026-02-05"}), "`accept`, `decline`, `expire`"),
        (format!("/v1/quotes/{issued}/accept"), &yes, "change orders"),
        (format!("/v1/change-orders/{}/accept", paper("issueChangeOrder")), &yes, "`issue`, `withdraw`"),
    ];
    for (path, body, allowed) in cases {
        let problem = app.money(&path, body).await.problem(409, "state-conflict");
        assert!(text(&problem, "detail").contains(allowed), "{path}: {problem}");
    }
    app.patch(&format!("/v1/quotes/{issued}"), "*", &json!({"scope": "x"}))
        .await
        .problem(409, "state-conflict");
    // Too late, and too early to expire.
    let late = json!({"by": "H", "on": "2026-04-01"});
    let quote = paper("acceptQuote");
    let pointers = app.money(&format!("/v1/quotes/{quote}/accept"), &late).await.pointers();
    assert_eq!(pointers, ["#/on"]);
    let early = json!({"on": "2026-03-31"});
    assert_eq!(app.money(&format!("/v1/quotes/{issued}/expire"), &early).await.pointers(), ["#/on"]);
    // A draft leaves as no file, a job without a contract bills nothing.
    app.get(&format!("/v1/quotes/{draft}/ubl")).await.problem(409, "state-conflict");
    let bare = text(&make_job(&app, &job(1)).await.json(), "id");
    app.bill(&bare, &json!({"kind": "final"})).await.problem(409, "state-conflict");
    let more = json!({"title": "x", "basis": {"kind": "lines", "lines": [
        {"code": "a", "description": "A", "category": "labor", "price": "1.00"}]}});
    app.money(&format!("/v1/jobs/{bare}/change-orders"), &more).await.problem(409, "state-conflict");

    // Paid is not voided; it is given back.
    let invoice = format!("/v1/invoices/{}", paper("reportPayment"));
    let pay = |reference: &str, amount: &str| json!({"system": "books", "reference": reference, "on": "2026-03-20", "amount": amount});
    app.money(&format!("{invoice}/payments"), &pay("P-1", "5.00")).await.ok(200);
    let void = json!({"system": "books", "reference": "V-1", "on": "2026-03-21", "reason": "x"});
    let problem = app.money(&format!("{invoice}/void"), &void).await.problem(409, "state-conflict");
    assert!(text(&problem, "detail").contains("`pay`, `credit`"), "{problem}");
    assert_eq!(
        app.money(&format!("{invoice}/payments"), &pay("P-2", "-6.00")).await.pointers(),
        ["#/amount"]
    );
    let back = app.money(&format!("{invoice}/payments"), &pay("P-3", "-5.00")).await.ok(200).json();
    assert_eq!(back["state"], "issued");
    app.money(&format!("{invoice}/void"), &void).await.ok(200);
    app.money(&format!("{invoice}/payments"), &pay("P-4", "5.00")).await.problem(409, "state-conflict");
    ledger(&app).await;
}

#[tokio::test]
async fn every_fault_of_a_body_is_listed_at_once() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let mut wrong = terms("est_of_another_job");
    wrong["valid_until"] = json!("31.3.2026");
    wrong["schedule"][0]["pct"] = json!(30);
    wrong["sellr"] = json!({});
    let pointers = app.money(&format!("/v1/jobs/{}/quotes", app.job), &wrong).await.pointers();
    assert_eq!(pointers, ["#/schedule/0/pct", "#/sellr", "#/valid_until"]);
    let unknown = terms("est_00000000000000000000000000");
    let pointers = app.money(&format!("/v1/jobs/{}/quotes", app.job), &unknown).await.pointers();
    assert_eq!(pointers, ["#/estimate_id"]);
    let invoice = json!({"bill": {"kind": "lines", "lines": [
        {"line": "labor", "pct_to_date": "1,000"}, {"line": "labor", "amount": "1.001"}]}, "on": "2026-02-30"});
    let pointers = app.money(&format!("/v1/jobs/{}/invoices", app.job), &invoice).await.pointers();
    assert_eq!(pointers, ["#/bill/lines/0/pct_to_date", "#/bill/lines/1/amount", "#/on"]);
    let over = json!({"kind": "lines", "lines": [
        {"line": "labor", "amount": "99999.00"}, {"line": "none", "amount": "1.00"}, {"line": "hire"}]});
    let problem = app.bill(&app.job, &over).await.problem(422, "validation-failed");
    let codes: Vec<String> = problem["errors"].as_array().unwrap().iter().map(|e| text(e, "code")).collect();
    assert_eq!(codes, ["unknown_code", "one_of", "over_contract"], "{problem}");
    let credit = json!({"credit": {"kind": "lines", "lines": [{"line": "labor", "amount": "12.01"}]},
        "on": "2026-03-01", "reason": "x"});
    let path = format!("/v1/invoices/{}/credit-notes", records.papers["createCreditNote"]);
    assert_eq!(app.money(&path, &credit).await.pointers(), ["#/credit/lines/0/amount", "#/on"]);
    // A key is needed, and its form is checked.
    let bare = Ask::post(&format!("/v1/jobs/{}/invoices", app.job))
        .key(&app.key)
        .json(&json!({"bill": {"kind": "final"}, "on": "2026-03-09"}))
        .header("if-match", "*");
    let problem = app.send(bare.clone()).await.problem(400, "bad-header");
    assert_eq!(text(&problem["errors"][0], "header"), "Idempotency-Key");
    app.send(bare.header("idempotency-key", "short")).await.problem(400, "bad-header");
}

#[tokio::test]
async fn money_needs_the_version_that_was_read() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let invoices = format!("/v1/jobs/{}/invoices", app.job);
    let body = json!({"bill": {"kind": "percent", "pct_to_date": "5"}, "on": "2026-03-02"});
    let tag = ledger(&app).await.etag();
    let mut without = app.ask_money(&invoices, &body, "*");
    without.headers.remove("if-match");
    app.send(without).await.problem(428, "version-needed");
    app.send(app.ask_money(&invoices, &body, &format!("W/{tag}"))).await.problem(412, "version-conflict");
    app.send(app.ask_money(&invoices, &body, &format!("\"x.1\", {tag}"))).await.ok(201);
    // The ledger has moved.
    app.send(app.ask_money(&invoices, &body, &tag)).await.problem(412, "version-conflict");
    assert_ne!(ledger(&app).await.etag(), tag);
    for (path, body) in [
        (format!("/v1/quotes/{}/decline", records.papers["declineQuote"]), json!({"on": "2026-03-05"})),
        (
            format!("/v1/change-orders/{}/accept", records.papers["acceptChangeOrder"]),
            json!({"by": "H", "on": "2026-03-05"}),
        ),
        (
            format!("/v1/invoices/{}/payments", records.papers["reportPayment"]),
            json!({"system": "s", "reference": "r", "on": "2026-03-05", "amount": "1.00"}),
        ),
        (
            format!("/v1/invoices/{}/void", records.papers["reportVoid"]),
            json!({"system": "s", "reference": "r", "on": "2026-03-05", "reason": "x"}),
        ),
        (
            format!("/v1/invoices/{}/credit-notes", records.papers["createCreditNote"]),
            json!({"credit": {"kind": "whole"}, "on": "2026-03-05", "reason": "x"}),
        ),
    ] {
        app.send(app.ask_money(&path, &body, "\"stale.1\"")).await.problem(412, "version-conflict");
        let mut without = app.ask_money(&path, &body, "*");
        without.headers.remove("if-match");
        app.send(without).await.problem(428, "version-needed");
        app.money(&path, &body).await;
    }
}

/// Two offices bill the same progress from the same page: one invoice.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_two_writers_from_one_version_one_writes() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    app.contract(&app.job, &terms(&first)).await;
    let invoices = format!("/v1/jobs/{}/invoices", app.job);
    for round in 1..=8 {
        let tag = ledger(&app).await.etag();
        let body =
            json!({"bill": {"kind": "percent", "pct_to_date": (round * 5).to_string()}, "on": "2026-03-02"});
        let sends: Vec<_> = (0..2)
            .map(|_| tokio::spawn(send(app.router.clone(), app.ask_money(&invoices, &body, &tag))))
            .collect();
        let mut statuses = Vec::new();
        for sent in sends {
            statuses.push(sent.await.unwrap().status.as_u16());
        }
        statuses.sort_unstable();
        assert_eq!(statuses, [201, 412]);
    }
    assert_eq!(app.all(&invoices).await.len(), 8);
    // Two customers' yes on two quotes of one job: one contract.
    let other = text(&make_job(&app, &job(2)).await.json(), "id");
    let path = format!("/v1/jobs/{other}/estimates");
    let estimate = text(&app.post(&path, &json!({"notes": short_notes()})).await.ok(201).json(), "id");
    let quotes = [app.issued(&other, &terms(&estimate)).await, app.issued(&other, &terms(&estimate)).await];
    let mut sends = Vec::new();
    for quote in quotes {
        let yes = json!({"by": "H", "on": "2026-02-20"});
        let ask = app.ask_money(&format!("/v1/quotes/{quote}/accept"), &yes, "*");
        sends.push(tokio::spawn(send(app.router.clone(), ask)));
    }
    let mut statuses = Vec::new();
    for sent in sends {
        statuses.push(sent.await.unwrap().status.as_u16());
    }
    statuses.sort_unstable();
    assert_eq!(statuses, [200, 409]);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn twenty_repeats_at_once_make_one_invoice() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    app.contract(&app.job, &terms(&first)).await;
    let invoices = format!("/v1/jobs/{}/invoices", app.job);
    let body = json!({"bill": {"kind": "percent", "pct_to_date": "30"}, "on": "2026-03-02"});
    let ask = app.ask_money(&invoices, &body, "*").header("idempotency-key", "bill-thirty-percent");
    let sends: Vec<_> = (0..20).map(|_| tokio::spawn(send(app.router.clone(), ask.clone()))).collect();
    let mut bodies = std::collections::BTreeSet::new();
    let mut fresh = 0;
    for sent in sends {
        let answer = sent.await.unwrap().ok(201);
        fresh += usize::from(!answer.headers.contains_key("idempotency-replayed"));
        bodies.insert(answer.bytes);
    }
    assert_eq!((fresh, bodies.len(), app.all(&invoices).await.len()), (1, 1, 1));
    // The key with one digit changed is another request; with its members in another order it is the same.
    let other = json!({"bill": {"kind": "percent", "pct_to_date": "31"}, "on": "2026-03-02"});
    let ask = ask.json(&other);
    app.send(ask.clone()).await.problem(422, "idempotency-key-reused");
    let same = r#"{"on":"2026-03-02","bill":{"pct_to_date":"30","kind":"percent"}}"#;
    let again = app.send(ask.typed("application/json", same)).await.ok(201);
    assert_eq!(again.header("idempotency-replayed"), "true");
    assert_eq!(app.all(&invoices).await.len(), 1);
    ledger(&app).await;
}

/// What was issued stays, byte for byte, and can be made again from its snapshot; so after the price book has changed.
#[tokio::test]
async fn papers_stay_and_are_made_again_to_the_byte() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let paths: Vec<String> = [
        ("quotes", "getQuote"),
        ("quotes", "issueQuote"),
        ("change-orders", "getChangeOrder"),
        ("change-orders", "issueChangeOrder"),
        ("invoices", "getInvoice"),
        ("invoices", "reportVoid"),
        ("credit-notes", "getCreditNote"),
    ]
    .iter()
    .map(|(noun, operation)| format!("/v1/{noun}/{}", records.papers[operation]))
    .collect();
    let mut before = Vec::new();
    for path in &paths {
        before.push(app.get(path).await.ok(200).bytes);
    }
    // A dearer book is published, the job renamed and estimated again.
    let draft = format!("/v1/price-book-versions/{}", records.draft);
    let mut items = records.document["items"].as_array().unwrap().clone();
    for item in items.iter_mut().filter(|i| text(i, "code").starts_with("channel")) {
        item["price"] = json!("199.99");
    }
    app.patch(&format!("{draft}/document"), "*", &json!({"items": items})).await.ok(200);
    app.act(&format!("{draft}/publish"), "*").await.ok(200);
    app.patch(&format!("/v1/jobs/{}", app.job), "*", &json!({"title": "Another title"})).await.ok(200);
    let dearer = estimate(&app, &json!({})).await;
    let (old, new) = (format!("/v1/estimates/{}", records.estimate), format!("/v1/estimates/{dearer}"));
    assert_ne!(app.get(&old).await.json()["total"], app.get(&new).await.json()["total"]);
    let app = app.restart().await;
    for (path, before) in paths.iter().zip(before) {
        let now = app.get(path).await.ok(200);
        assert!(now.bytes == before, "{path}");
        let answer = app.act(&format!("{path}/recompute"), "*").await.ok(200).json();
        assert_eq!(answer["same"], json!(true), "{path}: {answer}");
        assert_eq!(answer["stored_total"], answer["total"], "{path}");
    }
}

#[tokio::test]
async fn validate_only_shows_an_invoice_and_takes_no_number() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    app.contract(&app.job, &terms(&first)).await;
    let invoices = format!("/v1/jobs/{}/invoices", app.job);
    let body = json!({"bill": {"kind": "percent", "pct_to_date": "30"}, "on": "2026-03-02"});
    let tag = ledger(&app).await.etag();
    let mut ask = app.ask_money(&format!("{invoices}?validate_only=true"), &body, &tag);
    ask.headers.remove("idempotency-key");
    let shown = app.send(ask).await.ok(200).json();
    assert!(shown.get("id").is_none());
    assert_eq!(ledger(&app).await.etag(), tag);
    let made = app.send(app.ask_money(&invoices, &body, &tag)).await.ok(201).json();
    assert_eq!(made["document"], shown["document"]);
    assert_eq!(made["number"], "INV-0001");
}

/// The alternate taken is the contract, and changes start from its revision.
#[tokio::test]
async fn an_alternate_with_an_addition_becomes_the_contract() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let longer = estimate(&app, &json!({"notes": notes})).await;
    let mut terms = terms(&first);
    terms["alternates"] = json!([{"code": "longer", "name": "Six feet more", "estimate_id": longer}]);
    let quote = app.issued(&app.job, &terms).await;
    let document = app.get(&format!("/v1/quotes/{quote}")).await.json()["document"].clone();
    let (alternate, addition) =
        (money(&document["alternates"][0]["total"]), money(&document["additions"][0]["total"]));
    let yes = json!({"by": "H", "on": "2026-02-10", "alternate": "longer", "additions": ["spare"]});
    let accepted = app.money(&format!("/v1/quotes/{quote}/accept"), &yes).await.ok(200).json();
    assert_eq!(money(&accepted["decision"]["contract"]), alternate + addition);
    let page = ledger(&app).await.json();
    assert_eq!(money(&page["contract"]["total"]), alternate + addition);
    // Back to the first revision: the change takes off what the alternate put on.
    let path = format!("/v1/jobs/{}/change-orders", app.job);
    let body = json!({"title": "Shorter", "basis": {"kind": "revision", "estimate_id": first}});
    let change = app.money(&path, &body).await.ok(201).json();
    assert_eq!(change["document"]["from_estimate_id"], longer.as_str());
    assert_eq!(money(&change["document"]["total"]), money(&document["offer"]["total"]) - alternate);
    let same = json!({"title": "Same", "basis": {"kind": "revision", "estimate_id": longer}});
    assert_eq!(app.money(&path, &same).await.pointers(), ["#/basis/estimate_id"]);
    // Two changes from one revision: the second starts from where the contract no longer stands.
    let mut ids = Vec::new();
    for _ in 0..2 {
        let id = text(&app.money(&path, &body).await.ok(201).json(), "id");
        app.money(&format!("/v1/change-orders/{id}/issue"), &json!({"on": "2026-02-11"})).await.ok(200);
        ids.push(id);
    }
    let yes = json!({"by": "H", "on": "2026-02-12"});
    app.money(&format!("/v1/change-orders/{}/accept", ids[0]), &yes).await.ok(200);
    let late = app.money(&format!("/v1/change-orders/{}/accept", ids[1]), &yes).await;
    assert!(text(&late.problem(409, "state-conflict"), "detail").contains("write it anew"));
    ledger(&app).await;
}

/// Two changes that the contract could bear alone do not go through together, and a decision has a day that can be.
#[tokio::test]
async fn changes_together_take_no_more_than_the_contract_holds() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    let quote = app.issued(&app.job, &terms(&first)).await;
    let close = |paper: &str, on: &str| (paper.to_owned(), json!({"on": on}));
    for (path, body) in [
        close(&format!("/v1/quotes/{quote}/decline"), "2026-02-01"),
        close(&format!("/v1/quotes/{quote}/withdraw"), "2999-01-01"),
        close(&format!("/v1/quotes/{quote}/expire"), "2999-01-01"),
    ] {
        assert_eq!(app.money(&path, &body).await.pointers(), ["#/on"], "{path}");
    }
    app.money(&format!("/v1/quotes/{quote}/accept"), &json!({"by": "H", "on": "2026-02-10"})).await.ok(200);
    let less = json!({"title": "Less", "basis": {"kind": "lines", "lines": [
        {"code": "less", "description": "Less", "category": "labor", "price": "-6400.00"}]}});
    let mut ids = Vec::new();
    for _ in 0..2 {
        let id = text(
            &app.money(&format!("/v1/jobs/{}/change-orders", app.job), &less).await.ok(201).json(),
            "id",
        );
        let issue = format!("/v1/change-orders/{id}/issue");
        assert_eq!(app.money(&issue, &json!({"on": "2026-02-01"})).await.pointers(), ["#/on"]);
        app.money(&issue, &json!({"on": "2026-02-11"})).await.ok(200);
        ids.push(id);
    }
    let yes = json!({"by": "H", "on": "2026-02-12"});
    app.money(&format!("/v1/change-orders/{}/accept", ids[0]), &yes).await.ok(200);
    let second = app.money(&format!("/v1/change-orders/{}/accept", ids[1]), &yes).await;
    assert!(
        text(&second.problem(409, "state-conflict"), "detail").contains("at most what the contract holds")
    );
    let early = json!({"bill": {"kind": "percent", "pct_to_date": "10"}, "on": "2026-02-01"});
    assert_eq!(app.money(&format!("/v1/jobs/{}/invoices", app.job), &early).await.pointers(), ["#/on"]);
    ledger(&app).await;
}

/// A contract has twelve digits at most: what would make it greater is refused before anything of it is kept.
#[tokio::test]
async fn a_contract_that_cannot_be_written_is_refused() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    let quote = app.issued(&app.job, &terms(&first)).await;
    app.money(&format!("/v1/quotes/{quote}/accept"), &json!({"by": "H", "on": "2026-02-10"})).await.ok(200);
    let more = json!({"title": "More", "basis": {"kind": "lines", "lines": [
        {"code": "more", "description": "More", "category": "labor", "price": "999999999999.99"}]}});
    let refused = app.money(&format!("/v1/jobs/{}/change-orders", app.job), &more).await;
    assert_eq!(refused.pointers(), ["#/basis"]);
    ledger(&app).await;
}

#[tokio::test]
async fn a_quote_that_was_declined_is_superseded_by_a_new_draft() {
    let app = TestApp::start().await;
    let first = estimate(&app, &json!({})).await;
    let old = app.issued(&app.job, &terms(&first)).await;
    let no = json!({"on": "2026-02-05", "by": "H", "reason": "Too dear"});
    app.money(&format!("/v1/quotes/{old}/decline"), &no).await.ok(200);
    let second = estimate(&app, &json!({"notes": short_notes()})).await;
    let body = json!({"on": "2026-02-06", "estimate_id": second, "valid_until": "2026-05-31"});
    let answer = app.money(&format!("/v1/quotes/{old}/supersede"), &body).await.ok(201);
    let new = answer.json();
    assert_eq!(answer.header("location"), format!("/v1/quotes/{}", text(&new, "id")));
    assert_eq!((&new["state"], &new["of"]), (&json!("draft"), &json!(old)));
    assert_eq!(new["document"]["supersedes"], "Q-0001");
    assert_eq!(new["document"]["offer"]["estimate"]["id"], second.as_str());
    assert_eq!(app.get(&format!("/v1/quotes/{old}")).await.json()["state"], "superseded");
    app.money(&format!("/v1/quotes/{old}/supersede"), &body).await.problem(409, "state-conflict");
    // A draft is edited, then issued with the next number; the edit is refused afterwards.
    let path = format!("/v1/quotes/{}", text(&new, "id"));
    let tag = app.get(&path).await.etag();
    let edited = app.patch(&path, &tag, &json!({"scope": "One run.", "schedule": null})).await.ok(200).json();
    assert_eq!(
        (&edited["document"]["scope"], &edited["document"]["schedule"]),
        (&json!("One run."), &json!([]))
    );
    app.patch(&path, &tag, &json!({"scope": "x"})).await.problem(412, "version-conflict");
    // It is no older than the one whose place it takes.
    let issue = async |on: &str| app.money(&format!("{path}/issue"), &json!({"on": on})).await;
    let told = issue("2026-02-01").await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/on", "before_issue_date"));
    let detail = text(&told["errors"][0], "detail");
    assert!(detail.contains("the place of Q-0001, which was issued on 2026-02-02"), "{detail}");
    let issued = issue("2026-02-02").await.ok(200).json();
    assert_eq!(issued["number"], "Q-0002");
}

/// Every write leaves an entry in its own transaction, with what was before and after.
#[tokio::test]
async fn the_trail_says_what_was_before_and_after() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let invoice = records.papers["reportPayment"].clone();
    let pay = json!({"system": "books", "reference": "P-1", "on": "2026-03-20", "amount": "5.00"});
    app.money(&format!("/v1/invoices/{invoice}/payments"), &pay).await.ok(200);
    let trail = app.all(&format!("/v1/audit?object={invoice}")).await;
    let actions: Vec<String> = trail.iter().map(|e| text(e, "action")).collect();
    assert_eq!(actions, ["invoice.pay", "invoice.issue"]);
    let detail = &trail[0]["detail"];
    assert_eq!((&detail["before"]["paid"], &detail["after"]["paid"]), (&json!("0.00"), &json!("5.00")));
    assert_eq!(detail["payment"]["reference"], "P-1");
    let quote = records.papers["getQuote"].clone();
    let trail = app.all(&format!("/v1/audit?object={quote}")).await;
    let actions: Vec<String> = trail.iter().map(|e| text(e, "action")).collect();
    assert_eq!(actions, ["quote.accept", "quote.issue", "quote.draft"]);
    // A refused request leaves none.
    let count = app.all("/v1/audit").await.len();
    app.bill(&app.job, &json!({"kind": "stage", "stage": "none"})).await.problem(422, "validation-failed");
    assert_eq!(app.all("/v1/audit").await.len(), count);
}
