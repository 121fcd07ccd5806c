//! What an estimate's pricing brings into its quote: discounts, allowances, optional lines. Invented job and figures.

use crate::app::{TestApp, fault, faults_in, text};
use crate::records::terms;
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn sum(value: &Value) -> Decimal {
    value.as_str().unwrap_or_default().parse().unwrap_or_else(|e| panic!("{value}: {e}"))
}

/// The demo job with a discount, an allowance and an optional line.
async fn priced(app: &TestApp) -> Value {
    revised(app, |_| {}).await
}

/// A revision of it; `change` changes its notes.
async fn revised(app: &TestApp, change: impl FnOnce(&mut Value)) -> Value {
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["pricing"] = json!({
        "discounts": [{"kind": "percent", "name": "Neighbor", "pct": "5"}],
        "allowances": [{"code": "rock", "name": "Rock in the trench", "category": "labor", "amount": "300.00"}],
        "optional": [{"code": "spares", "name": "Spare hangers", "extras": [{"item": "hanger", "quantity": "10"}]}]});
    change(&mut notes);
    app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({"notes": notes})).await.ok(201).json()
}

fn with_spares(notes: &mut Value) {
    notes["pricing"]["chosen"] = json!(["spares"]);
}

#[tokio::test]
async fn an_optional_line_is_offered_by_its_code_and_may_be_taken() {
    let app = TestApp::start().await;
    let made = priced(&app).await;
    let (estimate, option) = (text(&made, "id"), made["estimate"]["options"][0].clone());
    // The difference stands in the estimate: the whole work with it less the work without.
    let price = &made["estimate"]["summary"]["price_before_tax"];
    assert_eq!(sum(&option["difference_before_tax"]), sum(&option["price_before_tax"]) - sum(price));
    let mut terms = terms(&estimate);
    terms["additions"] = json!([{"code": "spares"}]);
    let draft = app.money(&format!("/v1/jobs/{}/quotes", app.job), &terms).await.ok(201).json();
    let document = &draft["document"];
    let offered = &document["additions"][0];
    assert_eq!(
        (&offered["name"], &offered["lines"][0]["category"]),
        (&json!("Spare hangers"), &json!("material"))
    );
    assert_eq!(offered["before_tax"], option["difference_before_tax"]);
    // Discount and allowance are shown, and they are in the price already.
    let step =
        made["estimate"]["price"]["steps"].as_array().unwrap().iter().find(|s| s["name"] == "discount");
    assert_eq!(document["discounts"], json!([{"name": "Neighbor", "amount": step.unwrap()["amount"]}]));
    assert!(sum(&document["discounts"][0]["amount"]) < Decimal::ZERO);
    assert_eq!(document["allowances"], json!([{"name": "Rock in the trench", "amount": "300.00"}]));
    assert_eq!(document["offer"]["before_tax"], *price);
    let quote = format!("/v1/quotes/{}", text(&draft, "id"));
    app.money(&format!("{quote}/issue"), &json!({"on": "2026-02-02"})).await.ok(200);
    let yes = json!({"by": "H", "on": "2026-02-10", "additions": ["spares"]});
    let taken = app.money(&format!("{quote}/accept"), &yes).await.ok(200).json();
    let whole = sum(&document["offer"]["total"]) + sum(&offered["total"]);
    assert_eq!(sum(&taken["decision"]["contract"]), whole);
    let ledger = app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
    let line = ledger["lines"].as_array().unwrap().iter().find(|l| l["code"] == "add-spares").unwrap();
    assert_eq!(line["contract"], option["difference_before_tax"]);
    // What it costs the office is in the expected margin.
    let estimated: Decimal = sum(&ledger["margin"]["estimated_cost"]);
    let cost = sum(&made["estimate"]["summary"]["direct_cost"]) + sum(&option["difference_in_cost"]);
    assert_eq!(estimated, cost);
}

#[tokio::test]
async fn an_addition_needs_a_price_or_an_optional_line() {
    let app = TestApp::start().await;
    let mut terms = terms(&text(&priced(&app).await, "id"));
    terms["additions"] =
        json!([{"code": "spares", "price": "99.00"}, {"code": "grates"}, {"code": "lamp", "price": "20.00"}]);
    let path = format!("/v1/jobs/{}/quotes", app.job);
    let told = app.money(&path, &terms).await.problem(422, "validation-failed");
    let found: Vec<(String, String)> =
        told["errors"].as_array().unwrap().iter().map(|e| (text(e, "pointer"), text(e, "code"))).collect();
    let at = |pointer: &str, code: &str| (format!("#/additions/{pointer}"), code.to_owned());
    assert_eq!(found, [at("1/code", "unknown_code"), at("2/name", "required"), at("2/category", "required")]);
    assert_eq!(told["errors"][0]["allowed"], json!(["spares"]));
    // Codes that the paper needs for itself are not given away.
    let own = |code: &str| json!({"code": code, "name": "Lamp", "category": "material", "price": "20.00"});
    terms["additions"] = json!([own("quote"), own("co-1")]);
    let told = app.money(&path, &terms).await.problem(422, "validation-failed");
    let found: Vec<String> = told["errors"].as_array().unwrap().iter().map(|e| text(e, "code")).collect();
    assert_eq!(found, ["reserved", "reserved"], "{told}");
    // A price of the office's own goes before that of the estimate.
    terms["additions"] = json!([{"code": "spares", "price": "99.00"}]);
    let draft = app.money(&path, &terms).await.ok(201).json();
    assert_eq!(draft["document"]["additions"][0]["before_tax"], "99.00");
    assert_eq!(draft["document"]["additions"][0]["lines"][0]["basis"], "price as written in the terms");
}

/// What the estimate has in its price is not offered on top of it, whether by its code alone or at a price of its own.
#[tokio::test]
async fn what_the_quoted_estimate_has_in_its_price_is_no_addition() {
    let app = TestApp::start().await;
    let chosen = text(&revised(&app, with_spares).await, "id");
    let path = format!("/v1/jobs/{}/quotes", app.job);
    let own = json!({"code": "spares", "name": "Spare hangers", "category": "material", "price": "99.00"});
    for addition in [json!({"code": "spares"}), own] {
        let mut terms = terms(&chosen);
        terms["additions"] = json!([addition]);
        let told = app.money(&path, &terms).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&told), fault("#/additions/0/code", "included_already"), "{told}");
        assert!(text(&told["errors"][0], "detail").contains("`pricing.chosen`"), "{told}");
    }
    // Nor by a draft that takes the place of a quote on the estimate without it.
    let mut open = terms(&text(&priced(&app).await, "id"));
    open["additions"] = json!([{"code": "spares"}]);
    let quote = app.issued(&app.job, &open).await;
    let instead = json!({"on": "2026-02-05", "estimate_id": chosen});
    let told = app.money(&format!("/v1/quotes/{quote}/supersede"), &instead).await;
    let told = told.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/additions/0/code", "included_already"), "{told}");
}

#[tokio::test]
async fn an_addition_is_not_taken_with_an_alternate_that_has_it_in_its_price() {
    let app = TestApp::start().await;
    let (quoted, alternate) = (priced(&app).await, revised(&app, with_spares).await);
    let mut terms = terms(&text(&quoted, "id"));
    terms["additions"] = json!([{"code": "spares"}]);
    terms["alternates"] = json!([{"code": "ready", "name": "With spares", "estimate_id": alternate["id"]}]);
    let quote = app.issued(&app.job, &terms).await;
    let accept = format!("/v1/quotes/{quote}/accept");
    let mut yes = json!({"by": "H", "on": "2026-02-10", "alternate": "ready", "additions": ["spares"]});
    let told = app.money(&accept, &yes).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/additions/0", "included_already"), "{told}");
    assert!(text(&told["errors"][0], "detail").contains("`ready`"), "{told}");
    yes["additions"] = json!([]);
    let taken = app.money(&accept, &yes).await.ok(200).json();
    assert_eq!(taken["decision"]["contract"], alternate["total"]);
}

/// An addition that was taken stays in the contract beside the estimate; a changed estimate does not bring it in once more.
#[tokio::test]
async fn an_addition_that_was_taken_is_not_charged_again_by_a_change_order() {
    let app = TestApp::start().await;
    let mut terms = terms(&text(&priced(&app).await, "id"));
    terms["additions"] = json!([{"code": "spares"}]);
    let quote = app.issued(&app.job, &terms).await;
    let yes = json!({"by": "H", "on": "2026-02-10", "additions": ["spares"]});
    app.money(&format!("/v1/quotes/{quote}/accept"), &yes).await.ok(200);
    let part = |ledger: &Value, code: &str| {
        let parts = ledger["parts"].as_array().unwrap();
        sum(&parts.iter().find(|p| p["code"] == code).unwrap()["total"])
    };
    let ledger = format!("/v1/jobs/{}/ledger", app.job);
    let spares = part(&app.get(&ledger).await.ok(200).json(), "add-spares");
    let longer = |notes: &mut Value| notes["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let twice = revised(&app, |notes| {
        longer(notes);
        with_spares(notes);
    })
    .await;
    let path = format!("/v1/jobs/{}/change-orders", app.job);
    let by = |estimate: &Value| json!({"title": "Longer", "basis": {"kind": "revision", "estimate_id": estimate["id"]}});
    let told = app.money(&path, &by(&twice)).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/basis/estimate_id", "taken_already"), "{told}");
    let detail = text(&told["errors"][0], "detail");
    assert!(["`spares`", "Q-0001", "`pricing.chosen`"].iter().all(|w| detail.contains(w)), "{detail}");
    // Without it the contract is the changed estimate and the addition, once.
    let once = revised(&app, longer).await;
    let change = app.money(&path, &by(&once)).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&change, "id"));
    app.money(&format!("{change}/issue"), &json!({"on": "2026-02-11"})).await.ok(200);
    app.money(&format!("{change}/accept"), &json!({"by": "H", "on": "2026-02-12"})).await.ok(200);
    let page = app.get(&ledger).await.ok(200).json();
    assert_eq!(sum(&page["contract"]["total"]), sum(&once["total"]) + spares, "{page}");
}
