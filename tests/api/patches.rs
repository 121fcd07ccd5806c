//! Merge patches: what they change, what they delete, and what they cannot.

use crate::app::{TestApp, fault, faults_in};
use crate::document::{document, operations};
use crate::openapi::{against, walk};
use crate::records::{Records, terms};
use serde_json::{Value, json};

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

/// Whoever follows changes is not told of one, and nobody's tag goes stale; what is read anew counts as a change.
#[tokio::test]
async fn a_patch_that_changes_nothing_is_no_change() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let quote = app.quote(&app.job, &terms(&records.estimate)).await;
    let job = format!("/v1/jobs/{}", app.job);
    let quote = format!("/v1/quotes/{quote}");
    let version = format!("/v1/price-book-versions/{}", records.draft);
    let document = format!("{version}/document");
    let title = app.get(&job).await.ok(200).json()["title"].clone();
    let currency = app.get(&document).await.ok(200).json()["currency"].clone();
    let trail = app.all("/v1/audit").await.len();
    for (read, edit, same) in [
        (&job, &job, json!({"title": title, "closed": false})),
        (&quote, &quote, json!({"valid_until": "2026-03-31", "scope": null})),
        (&version, &document, json!({"currency": currency})),
    ] {
        let before = app.get(read).await.ok(200);
        for patch in [json!({}), same] {
            let answer = app.patch(edit, &before.etag(), &patch).await.ok(200);
            assert_eq!((answer.etag(), &answer.bytes), (before.etag(), &before.bytes), "{edit} {patch}");
        }
        let after = app.get(read).await.ok(200);
        assert_eq!((after.etag(), &after.bytes), (before.etag(), &before.bytes), "{edit}");
        app.patch(edit, "\"stale.1\"", &json!({})).await.problem(412, "version-conflict");
    }
    assert_eq!(app.all("/v1/audit").await.len(), trail, "there is nothing to tell");
    // The customer of the job is another: the draft that says nothing new is.
    let before = app.get(&quote).await.ok(200).etag();
    app.patch(&job, "*", &json!({"customer": {"name": "Another Household"}})).await.ok(200);
    let answer = app.patch(&quote, &before, &json!({})).await.ok(200);
    assert_ne!(answer.etag(), before);
    assert_eq!(app.all("/v1/audit").await.len(), trail + 2);
}

/// What a patch may say, the document says as the service does, in objects of objects too.
#[tokio::test]
async fn every_object_of_a_patch_has_its_members() {
    let document = document();
    let mut free = Vec::new();
    let mut patches = 0;
    walk(&document["components"]["schemas"], "", &mut |at, value| {
        if at.matches('/').count() == 1 && at.ends_with("Patch") {
            patches += 1;
            walk(value, at, &mut |at, value| {
                free.extend((value.get("additionalProperties") == Some(&json!(true))).then(|| at.to_owned()));
            });
        }
    });
    assert!(patches > 20 && free.is_empty(), "{patches} {free:#?}");
    let app = TestApp::start().await;
    let job = format!("/v1/jobs/{}", app.job);
    let operation = operations().into_iter().find(|o| o.id == "editJob").unwrap();
    let shape = &operation.value["requestBody"]["content"]["application/merge-patch+json"]["schema"];
    let storm = |rain: &Value| json!({"notes": {"storm": {"rain": rain}}});
    for (patch, is_one) in [
        (json!({"customer": {"phone": null}, "notes": {"storm": null, "title": "Front drive"}}), true),
        (json!({"notes": {"concrete": {"plant_travel": "25 min"}, "runs": [], "drain_lines": null}}), false),
        (json!({"customer": {"name": null}}), false),
        (json!({"customer": {"phon": "1"}}), false),
        (json!({"notes": {"storm": {"rian": null}}}), false),
        (json!({"notes": {"concrete": {"plant_travel": {"value": "25", "unit": "ft"}}}}), false),
        (storm(&json!({"kind": "intensity", "intensity": "100 mm/h"})), true),
        // It is changed by one of its members alone, and becomes one of another kind.
        (storm(&json!({"intensity": "4.2 in/h"})), true),
        (storm(&json!({"kind": "table", "table": "demo-valley", "intensity": null})), true),
        (storm(&json!({"kind": "drizzle"})), false),
        (storm(&json!({"tabel": "demo-valley"})), false),
    ] {
        let wrong = against(&document, shape, &patch);
        assert_eq!(wrong.is_empty(), is_one, "{patch}: {wrong:#?}");
        let answer = app.patch(&job, "*", &patch).await;
        assert_eq!(answer.status.as_u16() == 200, is_one, "{patch}: {}", answer.text());
    }
}

/// What was decided about a paper has its members, too.
#[test]
fn a_decision_has_its_members() {
    let schemas: Value = document()["components"]["schemas"].clone();
    let at = schemas["PaperFacts"]["properties"]["decision"]["$ref"].as_str();
    assert_eq!(at, Some("#/components/schemas/PaperDecision"));
    let members = schemas["PaperDecision"]["properties"].as_object().unwrap();
    for member in ["on", "by", "reason", "additions", "contract", "contract_after", "earlier", "reference"] {
        assert!(members.contains_key(member), "{member}");
    }
}
