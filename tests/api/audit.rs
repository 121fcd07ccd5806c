//! What the audit trail keeps of an edit: which members changed, with their values before and after.

use crate::app::{Ask, TestApp, text};
use crate::records::{Records, short_notes};
use serde_json::{Value, json};

async fn last(app: &TestApp, object: &str, action: &str) -> Value {
    let entry = app.all(&format!("/v1/audit?object={object}")).await.remove(0);
    assert_eq!(text(&entry, "action"), action);
    entry["detail"].clone()
}

#[tokio::test]
async fn an_edited_job_keeps_what_was_there() {
    let app = TestApp::start().await;
    let job = json!({"title": "Drive", "customer": {"name": "Example Household", "email": "old@example.org"},
        "site": {"address": "14 Alder Bend", "access": "gate at the back"}, "notes": short_notes()});
    let id = text(&app.post("/v1/jobs", &job).await.ok(201).json(), "id");
    let written = last(&app, &id, "job.create").await["after"].clone();
    let expected = json!({"title": "Drive", "customer": job["customer"], "site": job["site"], "external_refs": [],
        "closed": false, "notes": true});
    assert_eq!(written, expected);
    let path = format!("/v1/jobs/{id}");
    let mut notes = short_notes();
    notes["runs"][0]["legs"][0]["length"] = json!("26 ft");
    let patch = json!({"title": "Drive and path", "customer": {"email": "new@example.org"},
        "site": {"address": "16 Alder Bend", "access": null}, "notes": notes, "closed": true,
        "external_refs": [{"system": "books", "id": "J-1"}]});
    app.patch(&path, "*", &patch).await.ok(200);
    let detail = last(&app, &id, "job.edit").await;
    assert_eq!(detail["from_row_version"], json!(1));
    let mut changes = detail["changes"].as_array().unwrap().clone();
    changes.sort_by_key(|c| text(c, "pointer"));
    let expected = [
        json!({"pointer": "#/closed", "before": false, "after": true}),
        json!({"pointer": "#/customer/email", "before": "old@example.org", "after": "new@example.org"}),
        json!({"pointer": "#/external_refs/0/id", "after": "J-1"}),
        json!({"pointer": "#/external_refs/0/system", "after": "books"}),
        json!({"pointer": "#/notes/runs/0/legs/0/length", "before": {"value": "24", "unit": "ft"}, "after": {"value": "26", "unit": "ft"}}),
        json!({"pointer": "#/site/access", "before": "gate at the back"}),
        json!({"pointer": "#/site/address", "before": "14 Alder Bend", "after": "16 Alder Bend"}),
        json!({"pointer": "#/title", "before": "Drive", "after": "Drive and path"}),
    ];
    assert_eq!(changes, expected);
    // An edit that changes nothing is none.
    app.patch(&path, "*", &json!({"title": "Drive and path"})).await.ok(200);
    assert_eq!(last(&app, &id, "job.edit").await, detail);
    // What is only checked leaves no entry.
    let count = app.all("/v1/audit").await.len();
    app.patch(&format!("{path}?validate_only=true"), "*", &json!({"title": "Other"})).await.ok(200);
    assert_eq!(app.all("/v1/audit").await.len(), count);
}

#[tokio::test]
async fn an_edited_price_book_and_quote_keep_what_was_there() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let mut items = records.document["items"].as_array().unwrap().clone();
    let price = items[3]["price"].clone();
    items[3]["price"] = json!("31.25");
    let document = format!("/v1/price-book-versions/{}/document", records.draft);
    app.patch(&document, "*", &json!({"items": items})).await.ok(200);
    let detail = last(&app, &records.draft, "price_book_version.edit").await;
    let expected = json!([{"pointer": "#/items/3/price", "before": price, "after": "31.25"}]);
    assert_eq!(detail["changes"], expected);

    let quote = records.papers["editQuote"].clone();
    let before = app.get(&format!("/v1/quotes/{quote}")).await.ok(200).json();
    app.patch(
        &format!("/v1/quotes/{quote}"),
        "*",
        &json!({"scope": "One run only.", "valid_until": "2026-04-15"}),
    )
    .await
    .ok(200);
    let detail = last(&app, &quote, "quote.edit").await;
    let of = |pointer: &str| {
        let mut all = detail["changes"].as_array().unwrap().iter();
        all.find(|c| c["pointer"] == pointer).unwrap_or_else(|| panic!("{pointer} in {detail}"))
    };
    assert_eq!(of("#/scope")["after"], "One run only.");
    assert_eq!(of("#/valid_until")["before"], before["terms"]["valid_until"]);
    assert_eq!(of("#/valid_until")["after"], "2026-04-15");
    assert_eq!(detail["before"]["state"], "draft", "the figures of the paper stand beside it");
}

#[tokio::test]
async fn a_published_and_retired_version_and_new_records_say_what_was_written() {
    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let path = format!("/v1/price-book-versions/{}", records.draft);
    let days = json!({"effective_from": "2027-03-01", "effective_to": "2027-06-01"});
    let ask = |action: &str, body: &Value| {
        Ask::post(&format!("{path}/{action}")).key(&app.key).header("if-match", "*").json(body)
    };
    app.send(ask("publish", &days)).await.ok(200);
    let detail = last(&app, &records.draft, "price_book_version.publish").await;
    assert_eq!(detail["before"], json!({"state": "draft", "version": 1}), "{detail}");
    assert_eq!(
        detail["after"],
        json!({"state": "published", "version": 2, "effective_from": "2027-03-01", "effective_to": "2027-06-01"})
    );
    assert!(detail["book"].is_string() && detail["number"].is_i64(), "{detail}");
    app.send(ask("retire", &json!({"allow_gap": true}))).await.ok(200);
    let detail = last(&app, &records.draft, "price_book_version.retire").await;
    assert_eq!(
        (&detail["before"]["state"], &detail["after"]["state"]),
        (&json!("published"), &json!("retired"))
    );

    let entries = json!({"entries": [{"kind": "quantity", "on": "2026-03-09", "measure": "run_excavation", "quantity": "1.9 yd3"}]});
    let added = app.post(&format!("/v1/jobs/{}/actuals", app.job), &entries).await.ok(201).json();
    let detail = last(&app, &app.job, "actuals.add").await;
    let id = text(&added["items"][0], "id");
    assert_eq!(detail["after"], json!([{"id": id, "kind": "quantity", "on": "2026-03-09"}]), "{detail}");
}
