//! Orders after a change order: each estimate buys the whole job, so what was placed before stands beside, and the ledger warns.

use crate::app::{TestApp, text};
use crate::purchase_orders::published;
use crate::records::terms;
use serde_json::{Value, json};

#[tokio::test]
async fn orders_of_two_revisions_for_one_supplier_are_told() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let first = text(&app.post(&path, &json!({})).await.ok(201).json(), "id");
    app.contract(&app.job, &terms(&first)).await;
    let mut longer: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    longer["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let second = text(&app.post(&path, &json!({"notes": longer})).await.ok(201).json(), "id");
    let body = json!({"title": "Longer", "basis": {"kind": "revision", "estimate_id": second}});
    let change = app.money(&format!("/v1/jobs/{}/change-orders", app.job), &body).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&change, "id"));
    app.money(&format!("{change}/issue"), &json!({"on": "2026-02-20"})).await.ok(200);
    app.money(&format!("{change}/accept"), &json!({"by": "H", "on": "2026-02-21"})).await.ok(200);

    let orders =
        async |id: &str| app.get(&format!("/v1/estimates/{id}/purchase-orders")).await.ok(200).json();
    assert!(orders(&second).await.get("placed").is_none(), "nothing is placed yet");
    let supplier = text(&orders(&first).await["orders"][0], "supplier");
    let list = orders(&second).await["orders"].as_array().unwrap().clone();
    let again = list.iter().find(|o| text(o, "supplier") == supplier).unwrap();
    let ledger = async || app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
    let put = async |entry: Value| {
        let entries = json!({"entries": [entry]});
        app.post(&format!("/v1/jobs/{}/actuals", app.job), &entries).await.ok(201).json()
    };
    let record =
        async |number: &str, on: &str| put(json!({"kind": "order", "on": on, "order": number})).await;
    let number = format!("{first}-1");
    record(&number, "2026-03-02").await;
    assert!(ledger().await.get("warnings").is_none());
    let placed = orders(&second).await["placed"].clone();
    let total = text(&orders(&first).await["orders"][0], "total");
    assert_eq!(
        placed,
        json!([{"number": number, "supplier": supplier, "on": "2026-03-02", "total": total,
            "confirmed": false}])
    );
    // Another order of the same estimate, as for another supplier, is none again.
    let other = orders(&first).await["orders"][1].clone();
    if text(&other, "supplier") != "own stock" {
        record(&text(&other, "number"), "2026-03-02").await;
        assert!(ledger().await.get("warnings").is_none());
    }
    let made = record(&text(again, "number"), "2026-03-06").await;
    let warned = ledger().await["warnings"].clone();
    assert_eq!(warned.as_array().unwrap().len(), 1, "{warned}");
    let told = warned[0].as_str().unwrap();
    for part in [supplier.as_str(), number.as_str(), &text(again, "number"), "counted twice"] {
        assert!(told.contains(part), "{part}: {told}");
    }
    // Once the record says what the later order adds, nothing is counted twice.
    put(json!({"kind": "order", "on": "2026-03-06", "order": again["number"], "total": "60.00",
        "corrects": made["items"][0]["id"]}))
    .await;
    assert!(ledger().await.get("warnings").is_none());
}

#[tokio::test]
async fn goods_ordered_again_from_another_supplier_are_told() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let first = text(&app.post(&path, &json!({})).await.ok(201).json(), "id");
    app.contract(&app.job, &terms(&first)).await;
    // The same goods, offered by somebody else.
    let version = published(&app, |book| {
        for supplier in book["suppliers"].as_array_mut().unwrap() {
            supplier["name"] = json!(format!("Other {}", text(supplier, "code")));
        }
    })
    .await;
    let second = app.post(&path, &json!({"price_book_version": version})).await.ok(201).json();
    let (first, second) = (format!("{first}-1"), format!("{}-1", text(&second, "id")));
    let ledger = async || app.get(&format!("/v1/jobs/{}/ledger", app.job)).await.ok(200).json();
    // What the supplier confirmed for the order before does not say that the later one adds anything.
    let entries =
        json!({"entries": [{"kind": "order", "on": "2026-03-02", "order": first, "total": "2300.00"}]});
    app.post(&format!("/v1/jobs/{}/actuals", app.job), &entries).await.ok(201);
    assert!(ledger().await.get("warnings").is_none());
    let entries = json!({"entries": [{"kind": "order", "on": "2026-03-06", "order": second}]});
    app.post(&format!("/v1/jobs/{}/actuals", app.job), &entries).await.ok(201);
    let page = ledger().await;
    let warnings = page["warnings"].as_array().unwrap();
    assert_eq!(warnings.len(), 1, "{warnings:?}");
    let told = warnings[0].as_str().unwrap();
    for part in [first.as_str(), &second, "Other ", "channel-6-u-4ft", "counted twice"] {
        assert!(told.contains(part), "{part}: {told}");
    }
}
