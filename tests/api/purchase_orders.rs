//! Purchase orders of stored estimates: nothing of the materials is left out, one order a supplier, delivered to the job.

use crate::app::{Ask, TestApp, text};
use rillcast::domain::demo::{BOOK, NOTES};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn figure(value: &Value) -> Decimal {
    value.as_str().unwrap_or_default().parse().unwrap_or_else(|e| panic!("{value}: {e}"))
}

/// The id of a version of the demo book, changed and published.
async fn published(app: &TestApp, change: impl FnOnce(&mut Value)) -> String {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    let made = app.post("/v1/price-books", &json!({"document": book})).await.ok(201).json();
    let id = text(&made["versions"][0], "id");
    let publish = Ask::post(&format!("/v1/price-book-versions/{id}/publish")).key(&app.key);
    app.send(publish.header("if-match", "*").json(&json!({}))).await.ok(200);
    id
}

#[tokio::test]
async fn the_orders_are_the_materials_of_the_estimate() {
    let app = TestApp::start().await;
    // Somebody offers the bags of the pour, and more of the same are wanted beside it.
    let version = published(&app, |book| {
        book["offers"].as_array_mut().unwrap().push(json!({"supplier": "millbrook", "item": "bag-80",
            "order_code": "M-BAG", "price": "7.50"}));
    })
    .await;
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    notes["options"] = json!({"concrete_way": "bags-80"});
    notes["extras"] = json!([{"item": "bag-80", "quantity": "7"}]);
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let body = json!({"notes": notes, "price_book_version": version});
    let made = app.post(&path, &body).await.ok(201).json();
    let (id, estimate) = (text(&made, "id"), &made["estimate"]);
    let orders = app.get(&format!("/v1/estimates/{id}/purchase-orders")).await.ok(200).json();
    let lines = estimate["cost_lines"].as_array().unwrap().iter().filter(|l| l["category"] == "material");
    let materials: Decimal = lines.map(|l| figure(&l["cost"])).sum();
    assert_eq!(figure(&orders["total"]), materials, "{orders}");
    let list = orders["orders"].as_array().unwrap();
    for (i, order) in list.iter().enumerate() {
        let goods: Decimal = order["lines"].as_array().unwrap().iter().map(|l| figure(&l["cost"])).sum();
        assert_eq!(figure(&order["goods"]), goods);
        assert_eq!(figure(&order["total"]), goods + figure(&order["delivery"]));
        assert!(list.iter().skip(i + 1).all(|o| o["supplier"] != order["supplier"]), "one order a supplier");
    }
    // The bags of the pour are loaded by the crew.
    let loaded = estimate["load_out"].as_array().unwrap();
    assert!(loaded.iter().any(|l| l["because"] == "concrete.bags"), "{loaded:?}");
}

#[tokio::test]
async fn they_are_delivered_where_the_job_is() {
    let app = TestApp::start().await;
    let job = format!("/v1/jobs/{}", app.job);
    let tag = app.get(&job).await.etag();
    let moved = json!({"title": "New title", "site": {"address": "16 Corrected Road", "access": null}});
    app.patch(&job, &tag, &moved).await.ok(200);
    let id = text(&app.act(&format!("{job}/estimates"), "*").await.ok(201).json(), "id");
    let orders = app.get(&format!("/v1/estimates/{id}/purchase-orders")).await.ok(200).json();
    assert_eq!(orders["title"], "New title");
    for order in orders["orders"].as_array().unwrap() {
        assert_eq!(order["deliver_to"], "16 Corrected Road");
        assert!(order.get("access").is_none(), "{order}");
    }
    let sheet = app.get(&format!("/v1/estimates/{id}/cutting-sheet")).await.ok(200).json();
    assert_eq!((&sheet["title"], &sheet["site"]), (&json!("New title"), &json!("16 Corrected Road")));
}
