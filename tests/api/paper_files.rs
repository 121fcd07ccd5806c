//! What the files and rows of papers carry for those who read nothing else.

use crate::app::{TestApp, text};
use crate::records::terms;
use serde_json::json;

async fn estimate(app: &TestApp) -> String {
    text(&app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json(), "id")
}

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
