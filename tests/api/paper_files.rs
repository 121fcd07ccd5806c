//! What the files and rows of papers carry for those who read nothing else.

use crate::app::{TestApp, text};
use crate::records::{short_notes, terms};
use serde_json::json;

async fn estimate(app: &TestApp) -> String {
    text(&app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json(), "id")
}

/// The rows of several jobs in one table still tell whose they are, and a credit note what it gives back.
#[tokio::test]
async fn rows_say_what_a_credit_note_credits_and_of_which_job_they_are() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let bill = json!({"kind": "lines", "lines": [{"line": "labor", "amount": "100.00"}]});
    let billed = app.bill(&app.job, &bill).await.ok(201).json();
    let asked = json!({"credit": {"kind": "whole"}, "on": "2026-03-05", "reason": "Too early"});
    app.money(&format!("/v1/invoices/{}/credit-notes", text(&billed, "id")), &asked).await.ok(201);
    let file = app.get(&format!("/v1/jobs/{}/invoice-rows", app.job)).await.ok(200).text();
    let mut reader = csv::Reader::from_reader(file.as_bytes());
    let head: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    assert_eq!(head[9..], ["amount", "currency", "credits", "job_id", "job_title"]);
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let credits = |paper: &str| -> Vec<&str> {
        rows.iter().filter(|r| &r[0] == paper).map(|r| r.get(11).unwrap()).collect()
    };
    assert_eq!(credits("invoice"), ["", ""]);
    assert_eq!(credits("credit_note"), [text(&billed, "number"), text(&billed, "number")]);
    for row in &rows {
        assert_eq!((&row[12], &row[13]), (app.job.as_str(), "Drive and garden path drains"));
    }
}

#[tokio::test]
async fn a_deposit_is_due_at_once_unless_a_day_is_sent() {
    let app = TestApp::start().await;
    app.contract(&app.job, &terms(&estimate(&app).await)).await;
    let billed = app.bill(&app.job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201).json();
    let document = &billed["document"];
    assert_eq!(
        (text(document, "issued_on"), text(document, "due_on")),
        ("2026-03-02".into(), "2026-03-02".into())
    );
    let next = app.bill(&app.job, &json!({"kind": "stage", "stage": "poured"})).await.ok(201).json();
    assert_eq!(text(&next["document"], "due_on"), "2026-04-01");
}

#[tokio::test]
async fn an_exclusion_of_notes_and_quote_is_printed_once() {
    let app = TestApp::start().await;
    let mut notes = short_notes();
    notes["excluded"] = json!(["Planting"]);
    let made = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({"notes": notes})).await.ok(201);
    let mut terms = terms(&text(&made.json(), "id"));
    terms["exclusions"] = json!(["Planting", "Painting"]);
    let quote = app.issued(&app.job, &terms).await;
    let file = app.get(&format!("/v1/quotes/{quote}/ubl")).await.ok(200).text();
    let told: Vec<&str> = file.lines().filter(|l| l.contains("Not included")).collect();
    assert_eq!(told.len(), 2, "{told:?}");
    let document = app.get(&format!("/v1/quotes/{quote}")).await.ok(200).json();
    assert_eq!(document["document"]["exclusions"], json!(["Planting", "Painting"]));
}

/// Terms that name no scheme go by the country of the office, in every file that follows from them.
#[tokio::test]
async fn taxes_belong_to_the_scheme_of_the_sellers_country() {
    for (country, scheme) in
        [(json!("CH"), "VAT"), (json!("NZ"), "GST"), (json!("US"), "STT"), (json!(null), "STT")]
    {
        let app = TestApp::start().await;
        let mut terms = terms(&estimate(&app).await);
        terms["seller"]["country"] = country.clone();
        terms["seller"].as_object_mut().unwrap().retain(|_, value| !value.is_null());
        let quote = app.contract(&app.job, &terms).await;
        let billed = app.bill(&app.job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201).json();
        for path in [format!("/v1/quotes/{quote}/ubl"), format!("/v1/invoices/{}/ubl", text(&billed, "id"))] {
            let file = app.get(&path).await.ok(200).text();
            let schemes: Vec<&str> = file
                .split("<cac:TaxScheme>")
                .skip(1)
                .filter_map(|part| part.split_once("<cbc:ID>")?.1.split_once("</cbc:ID>").map(|(id, _)| id))
                .collect();
            assert!(
                !schemes.is_empty() && schemes.iter().all(|s| *s == scheme),
                "{country} {path}: {schemes:?}"
            );
        }
    }
}
