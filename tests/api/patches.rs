//! Merge patches: what they change, what they delete, and what they cannot.

use crate::app::{TestApp, fault, faults_in};
use crate::records::{Records, terms};
use serde_json::json;

/// A name that no document has is refused, whether it is set or deleted; one that the document has and this one lacks is not.
#[tokio::test]
async fn a_misspelt_deletion_is_no_deletion() {
    let app = TestApp::start().await;
    let job = format!("/v1/jobs/{}", app.job);
    let before = app.get(&job).await.ok(200).json();
    for (patch, pointer) in [
        (json!({"zz": null}), "#/zz"),
        (json!({"customer": {"phon": null}}), "#/customer/phon"),
        (json!({"notes": {"storm": {"rian": null}}}), "#/notes/storm/rian"),
    ] {
        let told = app.patch(&job, "*", &patch).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&told), fault(pointer, "unknown_member"), "{patch}");
    }
    assert_eq!(app.get(&job).await.ok(200).json(), before, "nothing was written");
    // Every fault at once, each told once.
    let both = json!({"zz": null, "yy": 1, "title": 5});
    let told = app.patch(&job, "*", &both).await.problem(422, "validation-failed");
    let mut pointers: Vec<String> = faults_in(&told).into_iter().map(|(pointer, _)| pointer).collect();
    pointers.sort();
    assert_eq!(pointers, ["#/title", "#/yy", "#/zz"]);
    // What the document knows may be deleted twice.
    for _ in 0..2 {
        app.patch(&job, "*", &json!({"notes": {"notes_to_customer": null, "weather": null}})).await.ok(200);
    }
}

#[tokio::test]
async fn quotes_and_books_refuse_it_too() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let quote = app.quote(&app.job, &terms(&records.estimate)).await;
    let told = app.patch(&format!("/v1/quotes/{quote}"), "*", &json!({"scop": null})).await;
    assert_eq!(faults_in(&told.problem(422, "validation-failed")), fault("#/scop", "unknown_member"));
    let path = format!("/v1/price-book-versions/{}/document", records.draft);
    let told = app.patch(&path, "*", &json!({"not": null})).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&told), fault("#/not", "unknown_member"));
    app.patch(&path, "*", &json!({"note": null})).await.ok(200);
}
