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
