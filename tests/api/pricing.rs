//! Pricing through the service: options side by side, discounts, allowances, places, and what the customer sees.

use crate::app::{Answer, TestApp, text};
use crate::records::{Records, short_notes};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn with(pricing: Value) -> Value {
    let mut notes = short_notes();
    notes["pricing"] = pricing;
    json!({"notes": notes})
}

async fn estimate(app: &TestApp, pricing: Value) -> Answer {
    app.post("/v1/calculators/estimate", &with(pricing)).await
}

fn figure(value: &Value, member: &str) -> Decimal {
    text(value, member).parse().unwrap()
}

#[tokio::test]
async fn two_channel_systems_side_by_side_and_the_chosen_one() {
    let app = TestApp::start().await;
    let pricing = json!({"alternates": [{"code": "six", "name": "6 in channel", "systems": [{"channel_system": "channel-6-u"}]}],
        "optional": [{"code": "spares", "name": "Ten spare hangers", "extras": [{"item": "hanger", "quantity": "10"}]}]});
    let shown = estimate(&app, pricing.clone()).await.ok(200).json();
    let options = shown["options"].as_array().unwrap();
    assert_eq!(
        (text(&options[0], "kind"), text(&options[1], "kind")),
        ("alternate".into(), "optional".into())
    );
    assert_eq!(options[0]["changes"], json!(["every run: channel-6-u"]));
    for (i, code) in [(0, "six"), (1, "spares")] {
        let mut chosen = pricing.clone();
        chosen["chosen"] = json!([code]);
        let with_it = estimate(&app, chosen).await.ok(200).json();
        assert_eq!(with_it["summary"]["total"], options[i]["total"], "{code}");
        assert_eq!(with_it["options"][i]["chosen"], json!(true));
    }
    // A stored one recomputes to the same bytes, and its view shows the options.
    let body = with(pricing);
    let stored = app.post(&format!("/v1/jobs/{}/estimates", app.job), &body).await.ok(201).json();
    let path = format!("/v1/estimates/{}", text(&stored, "id"));
    assert_eq!(app.act(&format!("{path}/recompute"), "*").await.ok(200).json()["same"], json!(true));
    let seen = app.get(&format!("{path}/customer-view?detail=total")).await.ok(200).json();
    assert_eq!((seen["lines"].clone(), seen["total"].clone()), (json!([]), stored["total"].clone()));
    assert_eq!(seen["options"][0]["total"], options[0]["total"]);
    assert!(seen["options"][0].get("direct_cost").is_none());
}

#[tokio::test]
async fn the_concrete_calculator_orders_for_what_is_chosen() {
    let app = TestApp::start().await;
    let order = async |pricing: &Value| {
        let answer = app.post("/v1/calculators/concrete-order", &with(pricing.clone())).await;
        answer.ok(200).json()["concrete"].clone()
    };
    let mut pricing = json!({"alternates": [
        {"code": "six", "name": "6 in channel", "systems": [{"channel_system": "channel-6-u"}]},
        {"code": "mixed", "name": "Six, concrete mixed", "systems": [{"channel_system": "channel-6-u"}], "concrete_way": "bags-80"}]});
    let plain = order(&pricing).await;
    for (code, way) in [("six", None), ("mixed", Some("bags-80"))] {
        pricing["chosen"] = json!([code]);
        let asked = order(&pricing).await;
        let estimated = estimate(&app, pricing.clone()).await.ok(200).json()["concrete"].clone();
        // The wider channel takes a wider trench, so another volume goes around it.
        assert_ne!(asked["net"], plain["net"], "{code}");
        for member in ["net", "with_waste", "chosen"] {
            assert_eq!(asked[member], estimated[member], "{code}: {member}");
        }
        if let Some(way) = way {
            assert_eq!(text(&asked, "chosen"), way);
            assert_ne!(text(&plain, "chosen"), way);
        }
    }
}

#[tokio::test]
async fn discounts_and_allowances_stand_in_the_build_up() {
    let app = TestApp::start().await;
    let plain = estimate(&app, json!({})).await.ok(200).json();
    let pricing = json!({
        "allowances": [
            {"code": "lamp", "name": "Garden lamp, to be chosen", "category": "material", "amount": "200.00"},
            {"code": "rock", "name": "Rock, if met", "category": "disposal", "amount": "300.00", "marked_up": true}
        ],
        "discounts": [{"kind": "percent", "name": "Neighbor", "pct": "5"}, {"kind": "amount", "name": "Voucher", "amount": "50.00"}]
    });
    let priced = estimate(&app, pricing.clone()).await.ok(200).json();
    assert_eq!(
        figure(&priced["summary"], "direct_cost") - figure(&plain["summary"], "direct_cost"),
        Decimal::from(300)
    );
    let steps = priced["price"]["steps"].as_array().unwrap();
    let named: Vec<String> = steps.iter().map(|s| text(s, "name")).collect();
    assert_eq!(named[3..6], ["discount", "discount", "allowances"]);
    let profit = figure(&steps[2], "sum");
    assert_eq!(figure(&steps[3], "base"), profit);
    let off = (profit * Decimal::new(5, 2))
        .round_dp_with_strategy(2, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    assert_eq!(figure(&steps[3], "amount"), -off);
    assert_eq!(figure(&steps[4], "amount"), Decimal::from(-50));
    assert_eq!(figure(&steps[5], "amount"), Decimal::from(200));
    assert!(priced["cost_lines"].as_array().unwrap().iter().any(|l| text(l, "rule") == "allowance"));
    // More off than there is: no more than that, and a check says so.
    let all = json!({"discounts": [{"kind": "amount", "name": "Gift", "amount": "999999.00", "category": "labor"}]});
    let all = estimate(&app, all).await.ok(200).json();
    assert!(
        all["checks"].as_array().unwrap().iter().any(|c| text(c, "name") == "discount"),
        "{}",
        all["checks"]
    );
    let body = with(pricing);
    let stored = app.post(&format!("/v1/jobs/{}/estimates", app.job), &body).await.ok(201).json();
    for detail in ["categories", "lines"] {
        let path = format!("/v1/estimates/{}/customer-view?detail={detail}", text(&stored, "id"));
        let seen = app.get(&path).await.ok(200).json();
        let sum: Decimal = seen["lines"].as_array().unwrap().iter().map(|l| figure(l, "price")).sum();
        assert_eq!(sum, figure(&seen, "subtotal"), "{detail}");
        assert_eq!(seen["discounts"].as_array().unwrap().len(), 2);
        assert_eq!(seen["allowances"], json!([{"name": "Garden lamp, to be chosen", "amount": "200.00"}]));
    }
    // Less for the labor: its price before the discount stands, and so do those of the other categories.
    let seen = async |pricing: Value| {
        let stored =
            app.post(&format!("/v1/jobs/{}/estimates", app.job), &with(pricing)).await.ok(201).json();
        let path = format!("/v1/estimates/{}/customer-view?detail=categories", text(&stored, "id"));
        app.get(&path).await.ok(200).json()
    };
    let less = json!([{"kind": "percent", "name": "Gift", "pct": "20", "category": "labor"}]);
    let (full, less) = (seen(json!({})).await, seen(json!({"discounts": less})).await);
    let prices = |view: &Value| -> Vec<Decimal> {
        view["lines"].as_array().unwrap().iter().map(|l| figure(l, "price")).collect()
    };
    for (before, with) in prices(&full).into_iter().zip(prices(&less)) {
        // The quoted figure is rounded to a multiple of its own in either.
        assert!((before - with).abs() < Decimal::from(10), "{before} {with}");
    }
    let path = format!("/v1/estimates/{}/customer-view?detail=everything", text(&stored, "id"));
    app.get(&path).await.problem(400, "bad-query");
}

#[tokio::test]
async fn taxes_go_by_place_and_rates_by_category() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let mut schemes = records.document["markup_schemes"].clone();
    schemes[0]["by_category"] =
        json!([{"category": "labor", "profit": {"pct": "100", "as_kind": "margin"}}, {"category": "labor"}]);
    let mut taxes = records.document["taxes"].clone();
    taxes.as_array_mut().unwrap().push(json!({"code": "north-sales", "name": "Sales tax, north", "rate_pct": "8.25",
        "categories": ["material"], "due_on": "sale", "rounding": "per_document", "places": ["north", "north"]}));
    let document = format!("/v1/price-book-versions/{}/document", records.draft);
    app.patch(&document, "*", &json!({"markup_schemes": schemes, "taxes": taxes})).await.ok(200);
    let publish = format!("/v1/price-book-versions/{}/publish", records.draft);
    let twice = taxes.as_array().unwrap().len() - 1;
    assert_eq!(
        app.act(&publish, "*").await.pointers(),
        [
            "#/markup_schemes/0/by_category/0/profit/pct".to_owned(),
            "#/markup_schemes/0/by_category/1/category".to_owned(),
            format!("#/taxes/{twice}/places/1")
        ]
    );
    schemes[0]["by_category"] = json!([{"category": "labor", "profit": {"pct": "25", "as_kind": "margin"}}]);
    taxes[twice]["places"] = json!(["north"]);
    app.patch(&document, "*", &json!({"markup_schemes": schemes, "taxes": taxes})).await.ok(200);
    app.act(&publish, "*").await.ok(200);
    let nowhere = estimate(&app, json!({})).await.ok(200).json();
    assert_eq!(nowhere["price"]["sale_taxes"], json!([]));
    let checks = nowhere["checks"].as_array().unwrap();
    assert!(checks.iter().any(|c| text(c, "name") == "tax_place" && text(c, "outcome") == "warn"));
    let north = estimate(&app, json!({"place": "north"})).await.ok(200).json();
    assert_eq!(text(&north["price"], "place"), "north");
    let tax = &north["price"]["sale_taxes"][0];
    let material =
        north["price"]["by_category"].as_array().unwrap().iter().find(|c| text(c, "category") == "material");
    assert_eq!(tax["taxable"], material.unwrap()["price"]);
    assert_eq!(
        figure(&north["summary"], "total"),
        figure(&nowhere["summary"], "total") + figure(tax, "amount")
    );
    let profit = &north["price"]["steps"][2];
    let sum: Decimal = profit["by_category"].as_array().unwrap().iter().map(|c| figure(c, "amount")).sum();
    assert_eq!(sum, figure(profit, "amount"));
    let answer = estimate(&app, json!({"place": "south"})).await.problem(422, "validation-failed");
    assert_eq!(answer["errors"][0]["allowed"], json!(["north"]));
}

#[tokio::test]
async fn every_fault_of_the_pricing_part_is_listed() {
    let app = TestApp::start().await;
    let pricing = json!({
        "place": "nowhere",
        "allowances": [
            {"code": "a", "name": "A", "category": "material", "amount": "1"},
            {"code": "a", "name": "A", "category": "material", "amount": "1"}
        ],
        "discounts": [{"kind": "percent", "name": "x", "pct": "100.5"}],
        "optional": [{"code": "o", "name": "O", "extras": [{"item": "no-such", "quantity": "1"}]}],
        "alternates": [
            {"code": "o", "name": "O"},
            {"code": "p", "name": "P", "systems": [{"run": "zzz", "channel_system": "none"}], "concrete_way": "none"},
            {"code": "q", "name": "Q", "systems": [{"channel_system": "channel-6-u"}]}
        ],
        "chosen": ["p", "q", "p", "r"]
    });
    let at = |p: &str| format!("#/notes/pricing/{p}");
    let mut expected: Vec<String> = [
        "place",
        "allowances/1/code",
        "discounts/0/pct",
        "optional/0/extras/0/item",
        "alternates/0",
        "alternates/0/code",
        "alternates/1/concrete_way",
        "alternates/1/systems/0/run",
        "alternates/1/systems/0/channel_system",
        "chosen/1",
        "chosen/2",
        "chosen/3",
    ]
    .map(at)
    .to_vec();
    expected.sort();
    let mut found = estimate(&app, pricing).await.pointers();
    // The alternate that is chosen is put into the notes, so its way is named there as well.
    found.retain(|p| p.starts_with("#/notes/pricing"));
    assert_eq!(found, expected);
    for (pricing, pointers) in [
        (json!({"discounts": [{"kind": "gift", "name": "x"}]}), vec!["#/notes/pricing/discounts/0/kind"]),
        (
            json!({"discounts": [{"kind": "amount", "name": "x", "amount": "-5", "pct": "1"}]}),
            vec!["#/notes/pricing/discounts/0/amount", "#/notes/pricing/discounts/0/pct"],
        ),
        (
            json!({"allowances": [{"code": "a", "name": "A", "category": "tips", "amount": 5}]}),
            vec!["#/notes/pricing/allowances/0/amount", "#/notes/pricing/allowances/0/category"],
        ),
        (
            json!({"optional": [{"code": "a", "name": "A", "extras": []}]}),
            vec!["#/notes/pricing/optional/0/extras"],
        ),
    ] {
        assert_eq!(estimate(&app, pricing).await.pointers(), pointers);
    }
    // An alternate with which the notes cannot be computed says why, at its own place.
    let mut failing = with(
        json!({"alternates": [{"code": "eight", "name": "8 in", "systems": [{"channel_system": "channel-8-fall"}]}]}),
    );
    failing["notes"]["runs"][0]["legs"] =
        json!([{"length": "24 ft"}, {"length": "9 ft", "meets": {"kind": "tee", "leg": 1, "at": "10 ft"}}]);
    let answer = app.post("/v1/calculators/estimate", &failing).await.problem(422, "validation-failed");
    assert_eq!(text(&answer["errors"][0], "pointer"), "#/notes/pricing/alternates/0");
    assert_eq!(text(&answer["errors"][0], "code"), "option_fails");
}
