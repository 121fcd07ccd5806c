//! Days of price-book versions that would change hands unseen: told, or refused.

use crate::app::{Ask, TestApp, text};
use crate::book_life::{in_effect, publish, retire};
use serde_json::{Value, json};

/// A book whose versions are published for these days, one after the other; its id and theirs.
async fn book(app: &TestApp, days: &[Value]) -> (String, Vec<String>) {
    let document: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    let made = app.post("/v1/price-books", &json!({"document": document})).await.ok(201).json();
    let id = text(&made, "id");
    let mut versions = vec![text(&made["versions"][0], "id")];
    for (i, days) in days.iter().enumerate() {
        if i > 0 {
            versions.push(draft(app, &id).await);
        }
        publish(app, &versions[i], days).await.ok(200);
    }
    (id, versions)
}

async fn draft(app: &TestApp, book: &str) -> String {
    text(&app.post(&format!("/v1/price-books/{book}/versions"), &json!({})).await.ok(201).json(), "id")
}

#[tokio::test]
async fn an_undated_version_that_holds_on_no_day_is_told() {
    let app = TestApp::start().await;
    let (id, _) = book(&app, &[json!({"effective_from": "2020-01-01"})]).await;
    let made = publish(&app, &draft(&app, &id).await, &json!({})).await.ok(200).json();
    let told = made["warnings"][0].as_str().unwrap();
    assert!(
        told.contains("version 2 has no days of its own") && told.contains("version 1 from 2020-01-01 on"),
        "{told}"
    );
    // Where one day is left for it, it holds there.
    let ends = json!({"effective_from": "2020-01-01", "effective_to": "2090-01-01", "allow_gap": true});
    let (id, _) = book(&app, &[ends]).await;
    let made = publish(&app, &draft(&app, &id).await, &json!({})).await.ok(200).json();
    assert!(made.get("warnings").is_none(), "{made}");
}

#[tokio::test]
async fn an_undated_version_that_takes_days_over_is_told() {
    let app = TestApp::start().await;
    let from = |day: &str| json!({"effective_from": day, "ends_previous": true});
    let (id, versions) =
        book(&app, &[json!({}), json!({"effective_from": "2090-01-01"}), from("2091-01-01")]).await;
    let gone = retire(&app, &versions[2], &json!({})).await.ok(200).json();
    assert_eq!(
        gone["warnings"],
        json!([
            "version 1, undated, holds on its days now: 2091-01-01 on; version 2 still ends on 2091-01-01, where this one began"
        ])
    );
    assert_eq!(in_effect(&app, &id, "2091-01-01").await.as_ref(), Some(&versions[0]));
    // The same where a version ends what held longer than it does itself.
    let spring = json!({"effective_from": "2090-03-01", "effective_to": "2090-06-01", "ends_previous": true});
    let next = draft(&app, &id).await;
    let made = publish(&app, &next, &spring).await.ok(200).json();
    assert_eq!(
        made["warnings"],
        json!(["version 2 held on these days as well; from now on version 1, undated, does: \
                2090-06-01 up to, not including, 2091-01-01"])
    );
    // Nothing is told where nothing changes hands.
    let (_, versions) =
        book(&app, &[json!({}), json!({"effective_from": "2020-01-01", "effective_to": "2020-02-01"})]).await;
    let gone = retire(&app, &versions[1], &json!({})).await.ok(200).json();
    assert!(gone.get("warnings").is_none(), "{gone}");
}

#[tokio::test]
async fn days_gone_by_that_the_ended_version_had_are_a_gap() {
    let app = TestApp::start().await;
    let (id, versions) = book(
        &app,
        &[
            json!({"effective_from": "2020-01-01", "effective_to": "2020-06-01"}),
            json!({"effective_from": "2020-06-01"}),
        ],
    )
    .await;
    let mut days =
        json!({"effective_from": "2020-03-01", "effective_to": "2020-04-01", "ends_previous": true});
    let next = draft(&app, &id).await;
    let problem = publish(&app, &next, &days).await.problem(409, "period-gap");
    assert_eq!(text(&problem["errors"][0], "value"), "2020-04-01 up to, not including, 2020-06-01");
    assert_eq!(in_effect(&app, &id, "2020-05-15").await.as_ref(), Some(&versions[0]));
    days["allow_gap"] = json!(true);
    publish(&app, &next, &days).await.ok(200);
    assert_eq!(in_effect(&app, &id, "2020-05-15").await, None);
}

/// What was withdrawn or left lying is no base of a draft, nor of a price list.
#[tokio::test]
async fn a_draft_is_made_from_what_holds() {
    let app = TestApp::start().await;
    let (id, versions) = book(&app, &[json!({})]).await;
    let path = format!("/v1/price-books/{id}/versions");
    let noted = async |note: &str| {
        let version = draft(&app, &id).await;
        app.patch(&format!("/v1/price-book-versions/{version}/document"), "*", &json!({"note": note}))
            .await
            .ok(200);
        version
    };
    let list = || Ask::post(&format!("/v1/price-books/{id}/imports?validate_only=true"));
    let bases = async || {
        let made = app.post(&path, &json!({})).await.ok(201).json();
        let read = app
            .send(list().key(&app.key).typed("text/csv", "code,price\nhanger,7.00\n"))
            .await
            .ok(200)
            .json();
        assert_eq!(made["made_from"], read["base_version_id"]);
        text(&made, "made_from")
    };
    let wrong = noted("wrong prices").await;
    publish(&app, &wrong, &json!({})).await.ok(200);
    assert_eq!(bases().await, wrong, "the one that holds");
    retire(&app, &wrong, &json!({})).await.ok(200);
    let left = noted("abandoned").await;
    assert_eq!(bases().await, versions[0]);
    // By name it is taken all the same.
    let named = app.post(&path, &json!({"copy_of": left})).await.ok(201).json();
    assert_eq!(named["made_from"], json!(left));
    // Where none holds today, the one published last.
    let next = draft(&app, &id).await;
    publish(&app, &next, &json!({"effective_from": "2090-01-01"})).await.ok(200);
    retire(&app, &versions[0], &json!({"allow_gap": true})).await.ok(200);
    assert_eq!(bases().await, next);
}

/// Where nothing holds: what was published and retired since, before a draft; a draft, before one that was withdrawn.
#[tokio::test]
async fn what_was_withdrawn_is_a_base_only_where_there_is_nothing_else() {
    let app = TestApp::start().await;
    let document: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    let made = app.post("/v1/price-books", &json!({"document": document})).await.ok(201).json();
    let (id, first) = (text(&made, "id"), text(&made["versions"][0], "id"));
    let path = format!("/v1/price-books/{id}/versions");
    // Each base is asked for without writing.
    let base = async || {
        let told = app.post(&format!("{path}?validate_only=true"), &json!({})).await.ok(200).json();
        text(&told, "made_from")
    };
    let withdrawn = draft(&app, &id).await;
    assert_eq!(base().await, withdrawn, "the newest draft");
    retire(&app, &withdrawn, &json!({})).await.ok(200);
    assert_eq!(base().await, first, "the draft that is left");
    let published = draft(&app, &id).await;
    publish(&app, &published, &json!({})).await.ok(200);
    let later = text(&app.post(&path, &json!({"copy_of": first})).await.ok(201).json(), "id");
    publish(&app, &later, &json!({"effective_from": "2090-01-01"})).await.ok(200);
    retire(&app, &later, &json!({})).await.ok(200);
    assert_eq!(base().await, published, "what was retired comes behind what was not");
    retire(&app, &published, &json!({"allow_gap": true})).await.ok(200);
    assert_eq!(base().await, later, "retired, yet published last; the draft beside it is somebody's work");
    // Of a book of withdrawn drafts alone the last one.
    let made = app.post("/v1/price-books", &json!({"document": document})).await.ok(201).json();
    retire(&app, &text(&made["versions"][0], "id"), &json!({})).await.ok(200);
    let other = format!("/v1/price-books/{}/versions", text(&made, "id"));
    let copy = app.post(&other, &json!({})).await.ok(201).json();
    assert_eq!(copy["made_from"], made["versions"][0]["id"]);
}
