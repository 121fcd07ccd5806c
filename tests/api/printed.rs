//! Pages as they are served: what they say of where their paper stands among others.

use crate::app::{TestApp, text};
use crate::records::terms;
use serde_json::{Value, json};

/// What is stamped on a page.
async fn stamp(app: &TestApp, path: &str) -> Option<String> {
    let page = app.get(path).await.ok(200).text();
    let (_, stamped) = page.split_once("<p class=\"stamp\">")?;
    stamped.split_once("</p>").map(|(text, _)| text.to_owned())
}

/// A crew and a supplier that hold pages of a revision that is no more read so on them.
#[tokio::test]
async fn sheets_and_orders_of_another_revision_say_so() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let first = text(&app.post(&path, &json!({})).await.ok(201).json(), "id");
    let pages = |id: &str| {
        ["site-sheet", "purchase-orders/1/print", "print"].map(|page| format!("/v1/estimates/{id}/{page}"))
    };
    app.quote(&app.job, &terms(&first)).await;
    for page in pages(&first) {
        assert_eq!(stamp(&app, &page).await, None, "{page}");
    }
    let mut longer: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    longer["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let second = text(&app.post(&path, &json!({"notes": longer})).await.ok(201).json(), "id");
    let told = async |id: &str, expected: Option<&str>| {
        for page in pages(id) {
            assert_eq!(stamp(&app, &page).await.as_deref(), expected, "{page}");
        }
    };
    told(&first, Some("Out of date: this is revision 1, and revision 2 is the newest")).await;
    told(&second, None).await;
    app.contract(&app.job, &terms(&first)).await;
    told(&first, None).await;
    told(&second, Some("Not agreed: this is revision 2, and revision 1 is")).await;
    let body = json!({"title": "Longer", "basis": {"kind": "revision", "estimate_id": second}});
    let change = app.money(&format!("/v1/jobs/{}/change-orders", app.job), &body).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&change, "id"));
    app.money(&format!("{change}/issue"), &json!({"on": "2026-02-20"})).await.ok(200);
    told(&first, None).await;
    app.money(&format!("{change}/accept"), &json!({"by": "H", "on": "2026-02-21"})).await.ok(200);
    told(&first, Some("Out of date: this is revision 1, and revision 2 is agreed")).await;
    told(&second, None).await;
}

/// A mark by hand says as well which revision is worked by.
#[tokio::test]
async fn a_mark_of_acceptance_names_the_revision() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let first = text(&app.post(&path, &json!({})).await.ok(201).json(), "id");
    let mark = json!({"estimate_id": first, "accepted_on": "2026-02-10"});
    app.post(&format!("/v1/jobs/{}/acceptance", app.job), &mark).await.ok(201);
    let second = text(&app.post(&path, &json!({})).await.ok(201).json(), "id");
    assert_eq!(stamp(&app, &format!("/v1/estimates/{first}/site-sheet")).await, None);
    assert_eq!(
        stamp(&app, &format!("/v1/estimates/{second}/site-sheet")).await.as_deref(),
        Some("Not agreed: this is revision 2, and revision 1 is")
    );
}

/// The stages on the page of an accepted quote are those of all that was taken.
#[tokio::test]
async fn an_accepted_quote_shows_the_stages_that_are_billed() {
    let app = TestApp::start().await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let estimate = text(&app.post(&path, &json!({})).await.ok(201).json(), "id");
    let draft = app.money(&format!("/v1/jobs/{}/quotes", app.job), &terms(&estimate)).await.ok(201).json();
    let quote = format!("/v1/quotes/{}", text(&draft, "id"));
    app.money(&format!("{quote}/issue"), &json!({"on": "2026-02-02"})).await.ok(200);
    let before = app.get(&format!("{quote}/print")).await.ok(200).text();
    let yes = json!({"by": "Example Household", "on": "2026-02-10", "additions": ["spare"]});
    app.money(&format!("{quote}/accept"), &yes).await.ok(200);
    let agreed = app.get(&format!("{quote}/print")).await.ok(200).text();
    let stage = json!({"kind": "stage", "stage": "deposit"});
    let billed = app.bill(&app.job, &stage).await.ok(201).json();
    let total = text(&billed["document"], "total");
    let (cents, whole) = (&total[total.len() - 3..], &total[..total.len() - 3]);
    let told = format!("{},{}{cents}</td>", &whole[..whole.len() - 3], &whole[whole.len() - 3..]);
    assert!(agreed.contains(&told), "{told}: {agreed}");
    assert!(!before.contains(&told), "{told}: before it was accepted the price alone was shared");
}
