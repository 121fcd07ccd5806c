//! What a failed check says is seen before a paper goes out with it.

use crate::app::{TestApp, fault, faults_in, text};
use crate::records::{job, make_job, short_notes, terms};
use serde_json::{Value, json};

/// Notes of a run that is too small for its storm.
fn overtopped() -> Value {
    let mut notes = short_notes();
    notes["runs"][0]["legs"][0]["length"] = json!("30 ft");
    notes["storm"] = json!({"return_period_years": 10, "rain": {"kind": "table", "table": "demo-valley"}});
    notes["catchments"] = json!([{"id": "paving", "surfaces": [{"cover": "concrete", "area": "2400 ft2"}],
        "reaches": [{"run": "a"}]}]);
    notes
}

/// A job, its estimate from notes that are sound, and one from notes with a failed check; that check in a sentence.
async fn estimated(app: &TestApp) -> (String, String, String, String) {
    let job = text(&make_job(app, &job(1)).await.json(), "id");
    let estimate = async |notes: Value| {
        let body = json!({"notes": notes});
        app.post(&format!("/v1/jobs/{job}/estimates"), &body).await.ok(201).json()
    };
    let sound = estimate(short_notes()).await;
    assert_eq!(sound["estimate"]["summary"]["failed"], json!([]), "{sound}");
    let failing = estimate(overtopped()).await;
    let failed = failing["estimate"]["summary"]["failed"].as_array().unwrap();
    assert!(!failed.is_empty(), "{}", failing["estimate"]["summary"]);
    let check = failed[0].as_str().unwrap().to_owned();
    (job.clone(), text(&sound, "id"), text(&failing, "id"), check)
}

/// Refused with the check named, then issued with the word for it, which the trail keeps.
async fn confirmed(app: &TestApp, paper: &str, action: &str, check: &str, on: &str) {
    let issue = format!("{paper}/issue");
    let told = app.money(&issue, &json!({"on": on})).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/failed_checks", "failed_checks"), "{told}");
    let detail = text(&told["errors"][0], "detail");
    assert!(detail.contains(check) && detail.contains("send `failed_checks: true`"), "{detail}");
    assert_eq!(app.get(paper).await.ok(200).json()["state"], "draft");
    let issued = app.money(&issue, &json!({"on": on, "failed_checks": true})).await.ok(200).json();
    assert_eq!(issued["state"], "issued");
    let trail = app.all(&format!("/v1/audit?object={}", text(&issued, "id"))).await;
    assert_eq!((&trail[0]["action"], &trail[0]["detail"]["failed_checks"]), (&json!(action), &json!(true)));
}

#[tokio::test]
async fn a_quote_with_a_failed_check_goes_out_once_that_is_said() {
    let app = TestApp::start().await;
    let (job, sound, failing, check) = estimated(&app).await;
    let quote = app.quote(&job, &terms(&failing)).await;
    confirmed(&app, &format!("/v1/quotes/{quote}"), "quote.issue", &check, "2026-02-02").await;
    // An alternate may be taken as well as what is quoted.
    let mut with_alternate = terms(&sound);
    with_alternate["alternates"] = json!([{"code": "small", "name": "Small", "estimate_id": failing}]);
    let quote = app.quote(&job, &with_alternate).await;
    confirmed(&app, &format!("/v1/quotes/{quote}"), "quote.issue", &check, "2026-02-02").await;
    // Nothing to confirm, nothing asked, and nothing kept of a word that stood for nothing.
    app.issued(&job, &terms(&sound)).await;
    let quote = app.quote(&job, &terms(&sound)).await;
    let always = json!({"on": "2026-02-02", "failed_checks": true});
    app.money(&format!("/v1/quotes/{quote}/issue"), &always).await.ok(200);
    let trail = app.all(&format!("/v1/audit?object={quote}")).await;
    assert_eq!(
        (&trail[0]["action"], &trail[0]["detail"]["failed_checks"]),
        (&json!("quote.issue"), &Value::Null)
    );
}

#[tokio::test]
async fn a_changed_layout_with_a_failed_check_goes_out_once_that_is_said() {
    let app = TestApp::start().await;
    let (job, sound, failing, check) = estimated(&app).await;
    app.contract(&job, &terms(&sound)).await;
    let body = json!({"title": "More paving", "basis": {"kind": "revision", "estimate_id": failing}});
    let made = app.money(&format!("/v1/jobs/{job}/change-orders"), &body).await.ok(201).json();
    let paper = format!("/v1/change-orders/{}", text(&made, "id"));
    confirmed(&app, &paper, "change_order.issue", &check, "2026-02-20").await;
    // By line there is no layout that could fail.
    app.change(&job, "40.00").await;
}
