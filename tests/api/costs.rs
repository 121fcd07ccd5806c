//! Costs of a job: reported by the accounting system, and told by the job's own records. Invented jobs and figures; the
//! sums are reckoned here from what the routes say.

use crate::app::{Ask, TestApp, text};
use crate::purchase_orders::published;
use crate::records::terms;
use rillcast::units::Amount;
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn sum(value: &Value) -> Decimal {
    value.as_str().unwrap_or_default().parse().unwrap_or_else(|e| panic!("{value}: {e}"))
}

struct Job {
    app: TestApp,
    estimate: String,
}

impl Job {
    async fn accepted() -> Self {
        let app = TestApp::start().await;
        let made = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
        let estimate = text(&made, "id");
        app.contract(&app.job, &terms(&estimate)).await;
        Self { app, estimate }
    }

    fn path(&self, rest: &str) -> String {
        format!("/v1/jobs/{}/{rest}", self.app.job)
    }

    async fn ledger(&self) -> Value {
        self.app.get(&self.path("ledger")).await.ok(200).json()
    }

    async fn of(&self, category: &str) -> Value {
        let page = self.ledger().await;
        let list = page["margin"]["by_category"].as_array().unwrap();
        list.iter().find(|c| c["category"] == category).unwrap().clone()
    }

    async fn record(&self, entry: Value) -> crate::app::Answer {
        self.app.post(&self.path("actuals"), &json!({"entries": [entry]})).await
    }

    async fn report(&self, reference: &str, category: &str, amount: &str, committed: bool) {
        let cost = json!({"system": "accounting", "reference": reference, "on": "2026-03-11", "category": category,
            "amount": amount, "committed": committed});
        self.app.money(&self.path("costs"), &cost).await.ok(201);
    }
}

/// A third of an hour has no end in decimals: cut, half a cent of its cost would be less than half.
#[tokio::test]
async fn a_third_of_an_hour_costs_a_third_of_its_rate() {
    let job = Job::accepted().await;
    let entry = json!({"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "20 min"});
    job.record(entry).await.ok(201);
    // 34.155 / 3 = 11.385
    assert_eq!(job.of("labor").await["recorded"], "11.39");
    let page = job.ledger().await;
    assert!(text(&page["costs"][0], "basis").contains(": 20 min recorded at 34.155,"), "{page}");
}

#[tokio::test]
async fn recorded_hours_cost_what_the_book_pays_for_them() {
    let job = Job::accepted().await;
    let before = job.app.get(&job.path("ledger")).await.etag();
    job.record(json!({"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "6.5 hr"}))
        .await
        .ok(201);
    let page = job.app.get(&job.path("ledger")).await;
    assert_ne!(page.etag(), before, "a recorded cost moves the ledger");
    let labor = job.of("labor").await;
    // The same figure as the comparison has, and it is wage x burden of the book.
    let comparison = job.app.get(&job.path("comparison")).await.ok(200).json();
    assert_eq!(labor["recorded"], comparison["actual_cost"]);
    assert_eq!(labor["to_date"], labor["recorded"]);
    let books = job.app.all("/v1/price-books").await;
    let version = job.app.all(&format!("/v1/price-books/{}/versions", text(&books[0], "id"))).await;
    let document = format!("/v1/price-book-versions/{}/document", text(&version[0], "id"));
    let book = job.app.get(&document).await.ok(200).json();
    let trade = book["trades"].as_array().unwrap().iter().find(|t| t["code"] == "laborer").unwrap().clone();
    let hundred = Decimal::ONE_HUNDRED;
    let hour = sum(&trade["wage"]) * (hundred + sum(&trade["burden_pct"])) / hundred;
    let cost = (hour * Decimal::new(65, 1))
        .round_dp_with_strategy(2, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    assert_eq!(sum(&labor["recorded"]), cost);
    // Pay that accounting reports is the same money: the larger stands, never both.
    job.report("PAY-1", "labor", "100.00", false).await;
    assert_eq!(job.of("labor").await["to_date"], labor["recorded"]);
    job.report("PAY-2", "labor", "900.00", false).await;
    let labor = job.of("labor").await;
    assert_eq!(labor["to_date"], "1000.00");
    assert!(text(&labor, "basis").contains("the larger of 1000.00 reported"), "{labor}");
    // Every cost stands in the list with where it is known from.
    let page = job.ledger().await;
    let sources: Vec<&str> =
        page["costs"].as_array().unwrap().iter().map(|c| c["source"].as_str().unwrap()).collect();
    assert_eq!(sources, ["reported_spent", "reported_spent", "recorded_hours"]);
    let sums = page["margin"]["by_category"].as_array().unwrap();
    let to_date: Decimal = sums.iter().map(|c| sum(&c["to_date"])).sum();
    assert_eq!(sum(&page["margin"]["cost_to_date"]), to_date);
}

#[tokio::test]
async fn an_order_placed_is_a_cost_until_its_bills_are_larger() {
    let job = Job::accepted().await;
    let orders = job.app.get(&format!("/v1/estimates/{}/purchase-orders", job.estimate)).await.ok(200).json();
    let first = orders["orders"][0].clone();
    assert_eq!(job.of("material").await["to_date"], "0.00", "an order that is not placed costs nothing");
    let placed = json!({"kind": "order", "on": "2026-03-03", "order": first["number"]});
    let kept = job.record(placed.clone()).await.ok(201).json();
    // With the purchase tax that the estimate counts: 6.25 % on what the office buys.
    let taxed = Amount::line(sum(&first["total"]) * Decimal::new(10_625, 4));
    assert_eq!(job.of("material").await["ordered"], taxed.to_string());
    let page = job.ledger().await;
    let basis = text(&page["costs"][0], "basis");
    assert!(basis.contains(" 6.25 % ") && basis.ends_with(&format!("= {taxed}")), "{basis}");
    // Twice, of nobody, of another job.
    let again = job.record(placed).await.problem(422, "validation-failed");
    assert_eq!(again["errors"][0]["code"], "placed_already");
    let unknown = job.record(json!({"kind": "order", "on": "2026-03-03", "order": "est_x-1"})).await;
    let unknown = unknown.problem(422, "validation-failed");
    assert_eq!(unknown["errors"][0]["code"], "unknown_order");
    let allowed = unknown["errors"][0]["allowed"].as_array().unwrap();
    let placeable = orders["orders"].as_array().unwrap().iter().filter(|o| o["supplier"] != "own stock");
    assert_eq!(allowed.len(), placeable.count(), "what is charged by its wear is not ordered");
    // The supplier confirmed another total.
    let right = json!({"kind": "order", "on": "2026-03-03", "order": first["number"], "total": "1234.50",
        "corrects": kept["items"][0]["id"]});
    let kept = job.record(right).await.ok(201).json();
    let material = job.of("material").await;
    assert_eq!((&material["ordered"], &material["to_date"]), (&json!("1311.66"), &json!("1311.66")));
    // The bill comes in: the same money.
    job.report("BILL-1", "material", "1311.66", false).await;
    assert_eq!(job.of("material").await["to_date"], "1311.66");
    // A blank at an end does not make another reference of it.
    let again = json!({"system": "accounting", "reference": "BILL-1 ", "on": "2026-03-11", "category": "material",
        "amount": "1234.50"});
    assert_eq!(job.app.money(&job.path("costs"), &again).await.pointers(), ["#/reference"]);
    job.report("BILL-2", "material", "15.00", false).await;
    job.report("PO-9", "material", "50.00", true).await;
    assert_eq!(job.of("material").await["to_date"], "1376.66");
    // The file of the order carries the day it was placed.
    let file =
        job.app.get(&format!("/v1/estimates/{}/purchase-orders/1/ubl", job.estimate)).await.ok(200).text();
    assert!(file.contains("<cbc:IssueDate>2026-03-03</cbc:IssueDate>"), "{file}");
    let void = json!({"kind": "void", "on": "2026-03-12", "corrects": kept["items"][0]["id"], "reason": "cancelled"});
    job.record(void).await.ok(201);
    assert_eq!(job.of("material").await["ordered"], "0.00");
}

#[tokio::test]
async fn a_mark_by_hand_keeps_the_price_and_gives_way_to_the_quote() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let mut ids = Vec::new();
    for _ in 0..2 {
        ids.push(text(&app.act(&path, "*").await.ok(201).json(), "id"));
    }
    let mark = format!("/v1/jobs/{}/acceptance", app.job);
    app.post(&mark, &json!({"accepted_on": "2026-01-31", "estimate_id": ids[0]})).await.ok(201);
    let refused = app.post(&format!("/v1/jobs/{}/reprice", app.job), &json!({})).await;
    refused.problem(409, "state-conflict");
    let quote = app.issued(&app.job, &terms(&ids[1])).await;
    let accept = format!("/v1/quotes/{quote}/accept");
    let mut terms_open = json!({"by": "H", "on": "2099-01-01"});
    let answer = app.money(&accept, &terms_open).await.problem(422, "validation-failed");
    let codes: Vec<&str> =
        answer["errors"].as_array().unwrap().iter().map(|e| e["code"].as_str().unwrap()).collect();
    assert_eq!(codes, ["in_the_future", "after_valid_until"]);
    terms_open["on"] = json!("2026-02-10");
    app.money(&accept, &terms_open).await.ok(200);
    let now = app.get(&mark).await.ok(200).json();
    assert_eq!((&now["estimate_id"], &now["source"]), (&json!(ids[1]), &json!(quote)));
    assert_eq!(now["accepted_on"], "2026-02-10");
    let trail = app.send(Ask::get("/v1/audit?limit=200").key(&app.key)).await.ok(200).json();
    let moved = trail["items"].as_array().unwrap().iter().find(|a| a["action"] == "job.accept").unwrap();
    assert!(moved.to_string().contains(&ids[0]), "the trail keeps the mark that was there: {moved}");
}

/// An order holds more than materials where somebody offers a permit or a tipping fee: each line costs in its own category.
#[tokio::test]
async fn an_order_placed_costs_in_the_category_of_each_line() {
    let app = TestApp::start().await;
    let version = published(&app, |book| {
        book["offers"]
            .as_array_mut()
            .unwrap()
            .push(json!({"supplier": "millbrook", "item": "permit-drainage",
            "order_code": "M-PERMIT", "price": "150.00"}));
    })
    .await;
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["extras"] = json!([{"item": "permit-drainage", "quantity": "2"}]);
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let body = json!({"notes": notes, "price_book_version": version});
    let made = app.post(&path, &body).await.ok(201).json();
    let estimate = text(&made, "id");
    app.contract(&app.job, &terms(&estimate)).await;
    let job = Job { app, estimate };
    let orders = job.app.get(&format!("/v1/estimates/{}/purchase-orders", job.estimate)).await.ok(200).json();
    let permit = |o: &Value| o["lines"].as_array().unwrap().iter().any(|l| l["category"] == "permit");
    let order = orders["orders"].as_array().unwrap().iter().find(|o| permit(o)).unwrap();
    assert!(order["lines"].as_array().unwrap().iter().any(|l| l["category"] == "material"), "{order}");
    let placed = json!({"kind": "order", "on": "2026-03-03", "order": order["number"]});
    let kept = job.record(placed.clone()).await.ok(201).json();
    // The tax that the office pays falls on materials alone; what is brought is a material in the estimate, too.
    let materials = sum(&order["total"]) - Decimal::new(30000, 2);
    let taxed = |cost: Decimal| Amount::line(cost * Decimal::new(10_625, 4)).to_string();
    assert_eq!(job.of("permit").await["ordered"], "300.00");
    assert_eq!(job.of("material").await["ordered"], taxed(materials));
    let page = job.ledger().await;
    let costs = page["costs"].as_array().unwrap();
    assert!(costs.iter().all(|c| c["reference"] == order["number"]) && costs.len() == 2, "{costs:?}");
    for cost in costs {
        let basis = text(cost, "basis");
        assert!(basis.contains(&text(order, "total")), "{basis}");
        assert!(basis.contains(&format!(" for {}", text(cost, "category"))), "{basis}");
    }
    // What the supplier confirmed is shared as the order has it: the parts foot.
    let total = sum(&order["total"]) + Decimal::ONE_HUNDRED;
    let mut right = placed;
    right["total"] = json!(total.to_string());
    right["corrects"] = kept["items"][0]["id"].clone();
    job.record(right).await.ok(201);
    let permit = sum(&job.of("permit").await["ordered"]);
    let share = total * Decimal::from(300) / sum(&order["total"]);
    assert!((permit - share).abs() < Decimal::new(1, 2), "{permit} and {share}");
    assert_eq!(job.of("material").await["ordered"], taxed(total - permit));
}

/// The costs of a job are one sum, so that orders in another currency than its contract are not among them.
#[tokio::test]
async fn an_order_in_another_currency_is_not_booked() {
    let job = Job::accepted().await;
    let euro = published(&job.app, |book| book["currency"] = json!("EUR")).await;
    let made =
        job.app.post(&job.path("estimates"), &json!({"price_book_version": euro})).await.ok(201).json();
    let number = format!("{}-1", text(&made, "id"));
    let told = job.record(json!({"kind": "order", "on": "2026-03-03", "order": number})).await;
    let told = told.problem(422, "validation-failed");
    assert_eq!(crate::app::faults_in(&told), crate::app::fault("#/entries/0/order", "currency"), "{told}");
    let fault = &told["errors"][0];
    assert_eq!(fault["value"], number.as_str());
    let detail = text(fault, "detail");
    assert!(detail.contains("EUR") && detail.contains("USD"), "{detail}");
    assert_eq!(job.of("material").await["ordered"], "0.00");
    // Nor is it offered in place of one that is not known.
    let known = format!("{}-1", job.estimate);
    let entries = json!({"entries": [{"kind": "order", "on": "2026-03-03", "order": number},
        {"kind": "order", "on": "2026-03-03", "order": "est_x-1"}]});
    let told = job.app.post(&job.path("actuals"), &entries).await.problem(422, "validation-failed");
    let allowed = told["errors"][1]["allowed"].as_array().unwrap();
    assert!(allowed.contains(&json!(known)) && !allowed.contains(&json!(number)), "{told}");
}
