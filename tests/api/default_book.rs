//! A job keeps to its price book: a revision without a version takes the book of the one before.

use crate::app::{Ask, TestApp, text};
use crate::purchase_orders::published;
use crate::records::{Records, job, make_job, short_notes};
use serde_json::json;

/// The draft of the records with dearer channel, published.
pub(crate) async fn dearer(app: &TestApp, records: &Records) -> String {
    let draft = format!("/v1/price-book-versions/{}", records.draft);
    let mut items = records.document["items"].as_array().unwrap().clone();
    for item in items.iter_mut().filter(|i| text(i, "code").starts_with("channel-4-light")) {
        item["price"] = json!("99.00");
    }
    app.patch(&format!("{draft}/document"), "*", &json!({"items": items})).await.ok(200);
    app.act(&format!("{draft}/publish"), "*").await.ok(200);
    records.draft.clone()
}

#[tokio::test]
async fn a_job_stays_with_its_book_unless_another_is_named() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let first = app.post(&path, &json!({})).await.ok(201).json();
    assert_eq!(first["price_book_version_id"], json!(records.published));
    let euro = published(&app, |book| book["currency"] = json!("EUR")).await;
    let second = app.post(&path, &json!({})).await.ok(201).json();
    assert_eq!(second["price_book_version_id"], json!(records.published), "not the book published last");
    assert!(second.get("warnings").is_none(), "{second}");
    // A new job has no book yet.
    let other = text(&make_job(&app, &job(1)).await.json(), "id");
    let body = json!({"notes": short_notes()});
    let made = app.post(&format!("/v1/jobs/{other}/estimates"), &body).await.ok(201).json();
    assert_eq!(made["price_book_version_id"], json!(euro));
    // The version of its book that holds today, also when jobs are priced anew.
    let next = dearer(&app, &records).await;
    app.send(Ask::post(&format!("/v1/jobs/{}/reprice", app.job)).key(&app.key)).await.ok(201);
    let third = app.post(&path, &json!({})).await.ok(201).json();
    assert_eq!(third["price_book_version_id"], json!(next));
    // Another currency is taken when it is named, and told.
    let named = app.post(&path, &json!({"price_book_version": euro})).await.ok(201).json();
    let told = named["warnings"][0].as_str().unwrap();
    assert!(told.contains("in EUR") && told.contains("in USD"), "{told}");
    let kept = app.get(&format!("/v1/estimates/{}", text(&named, "id"))).await.ok(200).json();
    assert_eq!(kept["estimate"], named["estimate"], "the estimate itself is as ever");
    // From then on that is its book; where none of its versions holds, none is taken.
    app.post(&path, &json!({})).await.ok(201);
    let retire =
        Ask::post(&format!("/v1/price-book-versions/{euro}/retire")).key(&app.key).header("if-match", "*");
    app.send(retire.json(&json!({"allow_gap": true}))).await.ok(200);
    let problem = app.post(&path, &json!({})).await.problem(409, "no-price-book");
    assert!(text(&problem, "detail").contains("of which no version holds today"), "{problem}");
    app.post(&path, &json!({"price_book_version": next})).await.ok(201);
}

#[tokio::test]
async fn a_retired_version_prices_a_new_estimate_by_name_and_with_a_warning() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let next = dearer(&app, &records).await;
    let named = |version: &str| json!({"price_book_version": version});
    let made = app.post(&path, &named(&records.published)).await.ok(201).json();
    assert!(made.get("warnings").is_none(), "not in effect, but not retired: {made}");
    let tried = async |version: &str| {
        let body = json!({"notes": short_notes(), "price_book_version": version});
        app.post("/v1/calculators/estimate", &body).await.ok(200).json()
    };
    assert!(tried(&records.published).await.get("warnings").is_none());
    app.act(&format!("/v1/price-book-versions/{}/retire", records.published), "*").await.ok(200);
    let made = app.post(&path, &named(&records.published)).await.ok(201).json();
    let told = made["warnings"][0].as_str().unwrap();
    assert!(
        told.contains("version 1 of")
            && told.contains("was retired")
            && told.ends_with("version 2 holds today"),
        "{told}"
    );
    // An estimate that is not kept says the same.
    let calculated = tried(&records.published).await;
    assert_eq!(calculated["warnings"], made["warnings"]);
    assert_eq!(calculated["price_book"], made["estimate"]["price_book"]);
    let made = app.post(&path, &named(&next)).await.ok(201).json();
    assert!(made.get("warnings").is_none(), "{made}");
    assert!(tried(&next).await.get("warnings").is_none());
}
