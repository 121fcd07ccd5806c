//! What of a price book should be looked at again: told by its check and when it is published.

use crate::app::{Ask, TestApp, text};
use crate::records::Records;
use serde_json::{Value, json};

/// A day on which every offer of the demo book holds.
const DAY: &str = "2027-01-04";

/// The answer to publishing a version from a day on.
async fn publish(app: &TestApp, version: &str, query: &str, day: &str) -> Value {
    let ask = Ask::post(&format!("{version}/publish{query}")).key(&app.key).header("if-match", "*");
    app.send(ask.json(&json!({"effective_from": day}))).await.ok(200).json()
}

/// A draft with one change: its path, and what its check says.
async fn checked(app: &TestApp, change: Value) -> (String, Value) {
    let records = Records::bare(app).await;
    let version = format!("/v1/price-book-versions/{}", records.draft);
    app.patch(&format!("{version}/document"), "*", &change).await.ok(200);
    let report = app.act(&format!("{version}/check?on={DAY}"), "*").await.ok(200).json();
    assert_eq!((&report["publishable"], &report["errors"]), (&json!(true), &json!([])), "{report}");
    (version, report)
}

#[tokio::test]
async fn publishing_tells_what_to_look_at_again() {
    let app = TestApp::start().await;
    let (version, report) = checked(&app, json!({"concrete_rules": {"waste_pct": "0.1"}})).await;
    let looks = report["second_looks"].as_array().unwrap();
    assert_eq!(looks.len(), 1, "{report}");
    assert_eq!(looks[0]["pointer"], "#/concrete_rules/waste_pct");
    assert_eq!((&looks[0]["value"], &looks[0]["usual"]), (&json!("0.1 %"), &json!("3 % to 30 %")));
    assert!(text(&looks[0], "source").contains("NAVEDTRA 14070"), "{report}");
    assert!(text(&looks[0], "detail").contains("10 % is written \"10\""), "{report}");
    let tried = publish(&app, &version, "?validate_only=true", DAY).await;
    assert_eq!(tried["second_looks"], report["second_looks"]);
    let published = publish(&app, &version, "", DAY).await;
    assert_eq!(published["second_looks"], report["second_looks"]);
    assert_eq!(text(&published, "state"), "published");
}

#[tokio::test]
async fn another_currency_than_before_at_the_same_prices_is_told() {
    let app = TestApp::start().await;
    let (version, report) = checked(&app, json!({"currency": "EUR"})).await;
    let looks = report["second_looks"].as_array().unwrap();
    assert_eq!(looks.len(), 1, "{report}");
    assert_eq!((&looks[0]["pointer"], &looks[0]["value"]), (&json!("#/currency"), &json!("EUR")));
    assert!(text(&looks[0], "usual").contains("USD"), "{report}");
    let published = publish(&app, &version, "", DAY).await;
    assert_eq!(published["second_looks"], report["second_looks"]);
}

#[tokio::test]
async fn offers_that_end_before_the_book_begins_are_told() {
    let app = TestApp::start().await;
    let (version, report) = checked(&app, json!({"note": "of 2090"})).await;
    assert_eq!(report["second_looks"], json!([]), "on that day they hold");
    let later = app.act(&format!("{version}/check?on=2090-01-01"), "*").await.ok(200).json();
    let answer = publish(&app, &version, "", "2090-01-01").await;
    assert_eq!(answer["second_looks"], later["second_looks"]);
    let looks = answer["second_looks"].as_array().unwrap();
    assert_eq!(looks.len(), 1, "one for a supplier: {answer}");
    assert!(text(&looks[0], "pointer").ends_with("/valid_until"), "{answer}");
    assert_eq!(
        (&looks[0]["value"], &looks[0]["usual"]),
        (&json!("2027-12-31"), &json!("2090-01-01 or later"))
    );
    assert!(text(&looks[0], "detail").contains("`harrow-stone`"), "{answer}");
}

/// Neither a draft that was left lying or withdrawn, nor one that is published later, is the version before.
#[tokio::test]
async fn a_version_is_looked_at_beside_what_was_published_before_it() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let path = |id: &str| format!("/v1/price-book-versions/{id}");
    let versions = format!("/v1/price-books/{}/versions", records.book);
    let make = async |body: &Value| text(&app.post(&versions, body).await.ok(201).json(), "id");
    let in_euro = json!({"currency": "EUR"});
    // A whole document that names no version it is made from, beside a draft in the same currency.
    app.patch(&format!("{}/document", path(&records.draft)), "*", &in_euro).await.ok(200);
    let mut document = records.document.clone();
    document["currency"] = json!("EUR");
    let sent = make(&json!({"document": document})).await;
    let looks = async |id: &str| {
        let report = app.act(&format!("{}/check?on={DAY}", path(id)), "*").await.ok(200).json();
        let looks = report["second_looks"].as_array().unwrap().clone();
        looks.iter().map(|l| text(l, "pointer")).collect::<Vec<_>>()
    };
    let from = async |id: &str| {
        let told = app.get(&format!("{}/difference", path(id))).await.ok(200).json();
        text(&told["from"], "id")
    };
    assert_eq!(looks(&sent).await, ["#/currency"], "against what holds, in USD");
    assert_eq!(from(&sent).await, records.published);
    app.act(&format!("{}/retire", path(&records.draft)), "*").await.ok(200);
    assert_eq!(looks(&sent).await, ["#/currency"], "nor beside what was withdrawn");
    let published = publish(&app, &path(&sent), "?validate_only=true", DAY).await;
    assert_eq!(published["second_looks"][0]["pointer"], "#/currency", "{published}");
    publish(&app, &path(&sent), "", DAY).await;
    assert_eq!(looks(&sent).await, ["#/currency"], "published, it is still held against the one before");
    assert_eq!(from(&sent).await, records.published);
    // The first of the book was made from none and follows none, whatever was published since.
    assert_eq!(looks(&records.published).await, [""; 0]);
    app.get(&format!("{}/difference", path(&records.published))).await.problem(400, "bad-query");
    // A copy by name is compared with what it was made from, and looked at beside what holds on its day.
    let copy = make(&json!({"copy_of": records.draft})).await;
    assert_eq!(from(&copy).await, records.draft);
    assert_eq!(looks(&copy).await, [""; 0], "what holds on that day is in EUR by now");
    let earlier = app.act(&format!("{}/check?on=2026-12-01", path(&copy)), "*").await.ok(200).json();
    let looks = earlier["second_looks"].as_array().unwrap();
    assert!(looks.iter().any(|look| look["pointer"] == "#/currency"), "{earlier}");
}

/// The version before was published by another version of the service: if it cannot be read, there is nothing to look at beside it.
#[tokio::test]
async fn a_version_before_that_cannot_be_read_stops_nothing() {
    let app = TestApp::start().await;
    let document: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    let made = app.post("/v1/price-books", &json!({"document": document})).await.ok(201).json();
    let (book, first) = (text(&made, "id"), text(&made["versions"][0], "id"));
    let actor = rillcast::store::Actor {
        key_id: "before".to_owned(),
        request_id: "before".to_owned(),
        now: jiff::Timestamp::now().as_millisecond(),
    };
    let mut write = app.state.inner.store.begin(actor).await.unwrap();
    write.edit_version(&first, 1, "{\"name\": 1}", json!({})).await.unwrap();
    write.publish_version(&first, 2).await.unwrap();
    write.commit().await.unwrap();
    let sent = json!({"document": document});
    let next = app.post(&format!("/v1/price-books/{book}/versions"), &sent).await.ok(201).json();
    let path = format!("/v1/price-book-versions/{}", text(&next, "id"));
    let report = app.act(&format!("{path}/check?on={DAY}"), "*").await.ok(200).json();
    assert_eq!((&report["publishable"], &report["second_looks"]), (&json!(true), &json!([])));
    publish(&app, &path, "", DAY).await;
}
