//! What was misspelled on a quote is set right on the job: papers that are made afterwards have it, those that went out stay.

use crate::app::{TestApp, text};
use crate::records::terms;
use serde_json::{Value, json};

async fn estimate(app: &TestApp) -> String {
    text(&app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.ok(201).json(), "id")
}

async fn renamed(app: &TestApp, change: &Value) {
    app.patch(&format!("/v1/jobs/{}", app.job), "*", change).await.ok(200);
}

fn names(paper: &Value) -> [&Value; 3] {
    let document = &paper["document"];
    [&document["customer"]["name"], &document["customer"]["address"], &document["site"]["address"]]
}

#[tokio::test]
async fn a_paper_after_the_quote_names_the_job_as_it_stands() {
    let app = TestApp::start().await;
    let estimate = estimate(&app).await;
    renamed(&app, &json!({"customer": {"name": "Exmaple Household", "address": null}})).await;
    let quote = app.contract(&app.job, &terms(&estimate)).await;
    let quoted = app.get(&format!("/v1/quotes/{quote}")).await.ok(200).json();
    assert_eq!(names(&quoted)[..2], [&json!("Exmaple Household"), &Value::Null]);
    let deposit = app.bill(&app.job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201).json();
    assert_eq!((names(&deposit), &deposit["document"]["warnings"]), (names(&quoted), &json!([])));

    let right = json!({"customer": {"name": "Example Household", "address": "16 Alder Bend, Millbrook"}});
    renamed(&app, &right).await;
    let told = "named as the job has it now, otherwise than on quote Q-0001: customer name `Example Household`, there `Exmaple \
                Household`; customer address `16 Alder Bend, Millbrook`, there none";
    let warnings = json!([{"code": "other_than_quoted", "text": told}]);
    let poured = app.bill(&app.job, &json!({"kind": "stage", "stage": "poured"})).await.ok(201).json();
    let corrected = [&json!("Example Household"), &json!("16 Alder Bend, Millbrook"), names(&quoted)[2]];
    assert_eq!((names(&poured), &poured["document"]["warnings"]), (corrected, &warnings));
    let change = app.change(&app.job, "40.00").await;
    let change = app.get(&format!("/v1/change-orders/{change}")).await.ok(200).json();
    assert_eq!((names(&change), &change["document"]["warnings"]), (corrected, &warnings));

    // What went out stays, and is given back as it went out.
    let path = |paper: &Value| format!("/v1/invoices/{}", text(paper, "id"));
    assert_eq!(app.get(&format!("/v1/quotes/{quote}")).await.ok(200).json(), quoted);
    assert_eq!(names(&app.get(&path(&deposit)).await.ok(200).json()), names(&quoted));
    let whole = json!({"credit": {"kind": "whole"}, "on": "2026-03-05", "reason": "To a wrong name"});
    let back = app.money(&format!("{}/credit-notes", path(&deposit)), &whole).await.ok(201).json();
    assert_eq!(names(&back), names(&quoted));
    let anew = app.bill(&app.job, &json!({"kind": "stage", "stage": "deposit"})).await.ok(201).json();
    assert_eq!(names(&anew), corrected);

    // Each is made again from its snapshot alone, whatever the job is called later.
    renamed(&app, &json!({"customer": {"name": "Example Heirs"}})).await;
    let changed = format!("/v1/change-orders/{}", text(&change, "id"));
    for path in [path(&deposit), path(&poured), path(&anew), changed.clone()] {
        let again = app.money(&format!("{path}/recompute"), &json!({})).await.ok(200).json();
        assert_eq!(again["same"], true, "{path}");
    }
    // The customer reads the name and no word of what it was.
    for path in [path(&poured), changed] {
        let file = app.get(&format!("{path}/ubl")).await.ok(200).text();
        assert!(file.contains("Example Household") && !file.contains("Exmaple"), "{file}");
    }
    let page = app.get(&format!("{}/print", path(&poured))).await.ok(200).text();
    assert!(page.contains("Example Household") && !page.contains("Exmaple"), "{page}");
}
