//! Price books: drafts are edited, published ones never change, the last published is the current one.

use crate::app::{Ask, TestApp, text};
use crate::records::{Records, short_notes};
use serde_json::{Value, json};

fn version_path(id: &str) -> String {
    format!("/v1/price-book-versions/{id}")
}

fn document_path(id: &str) -> String {
    format!("{}/document", version_path(id))
}

/// A new draft of the demo's book; its id.
async fn draft(app: &TestApp, records: &Records) -> String {
    let path = format!("/v1/price-books/{}/versions", records.book);
    text(&app.post(&path, &json!({})).await.ok(201).json(), "id")
}

async fn publish(app: &TestApp, id: &str) {
    app.act(&format!("{}/publish", version_path(id)), "*").await.ok(200);
}

/// The price-book version a calculator uses by itself.
async fn current(app: &TestApp) -> String {
    let answer = app.post("/v1/calculators/concrete-order", &json!({"volume": "2 yd3"})).await.ok(200);
    text(&answer.json()["price_book"], "version_id")
}

#[tokio::test]
async fn a_document_reads_back_equal() {
    let app = TestApp::start().await;
    let sent: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    let made = app.post("/v1/price-books", &json!({"name": "Ours", "document": sent})).await.ok(201).json();
    assert_eq!(text(&made, "name"), "Ours");
    let versions = made["versions"].as_array().unwrap();
    assert_eq!(versions.len(), 1);
    assert_eq!((text(&versions[0], "state"), versions[0]["number"].as_i64()), ("draft".to_owned(), Some(1)));
    let id = text(&versions[0], "id");
    let got = app.get(&document_path(&id)).await.ok(200).json();
    // Quantities come back in the object form; read as a price book the two are equal.
    let read = |v: &Value| rillcast::wire::read_value::<rillcast::wire::book::BookDoc>(v).unwrap();
    assert_eq!(read(&got), read(&sent));
    assert_eq!(got["items"], sent["items"]);
    // What was read can be sent as it is and reads back the same again.
    let again = app.post("/v1/price-books", &json!({"document": &got})).await.ok(201).json();
    assert_eq!(text(&again, "name"), text(&sent, "name"));
    let id = text(&again["versions"][0], "id");
    assert_eq!(app.get(&document_path(&id)).await.ok(200).json(), got);
}

/// A book of as many items and offers as it may have is longer than other bodies may be.
#[tokio::test]
async fn a_large_book_that_was_read_can_be_sent() {
    let app = TestApp::start().await;
    let name = "Channel, trafficked, with its grate and what it is bolted down with, delivered to the yard";
    let item = |n: usize| {
        json!({"code": format!("part-{n:05}"), "name": format!("{name}, {n:05}"), "category": "material", "unit": "each",
            "price": "27.40"})
    };
    let offer = |n: usize| json!({"supplier": "yard", "item": format!("part-{n:05}"), "order_code": format!("Y-{n:05}"), "pack": "1"});
    let mut sent: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    sent["items"] = (0..5000).map(item).collect();
    let small = sent.to_string().len();
    sent["offers"] = (0..5000).map(offer).collect();
    assert!(small > 800_000 && sent.to_string().len() > 1 << 20, "{small} {}", sent.to_string().len());
    let made = app.post("/v1/price-books", &json!({"document": sent})).await.ok(201).json();
    let read = app.get(&document_path(&text(&made["versions"][0], "id"))).await.ok(200);
    assert!(read.bytes.len() > 1 << 20, "{}", read.bytes.len());
    let versions = format!("/v1/price-books/{}/versions", text(&made, "id"));
    let again = app.post(&versions, &json!({"document": read.json()})).await.ok(201).json();
    let again = text(&again, "id");
    assert_eq!(app.get(&document_path(&again)).await.ok(200).bytes, read.bytes);
    app.patch(&document_path(&again), "*", &read.json()).await.ok(200);
}

#[tokio::test]
async fn a_density_reads_back_as_it_was_sent() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let path = document_path(&records.draft);
    let mut soils = records.document["soils"].clone();
    soils[0]["weight_per_ft3"] = json!("1760 kg/m3");
    soils[1]["weight_per_ft3"] = json!({"value": "100", "unit": "lb_per_ft3"});
    soils[2]["weight_per_ft3"] = json!("110 lb");
    app.patch(&path, "*", &json!({"soils": soils})).await.ok(200);
    let got = app.get(&path).await.ok(200).json();
    let read = |i: usize| got["soils"][i]["weight_per_ft3"].clone();
    assert_eq!(read(0), json!({"value": "1760", "unit": "kg_per_m3"}));
    assert_eq!(read(1), json!({"value": "100", "unit": "lb_per_ft3"}));
    assert_eq!(read(2), json!({"value": "110", "unit": "lb"}));
    // 2400 kg a cubic foot
    let rules = json!({"concrete_rules": {"weight_per_ft3": "2400 kg"}});
    app.patch(&path, "*", &rules).await.ok(200);
    let check = format!("{}/check", version_path(&records.draft));
    let report = app.post(&check, &json!({})).await.ok(200).json();
    assert_eq!(report["publishable"], false);
    assert_eq!(report["errors"][0]["pointer"], "#/concrete_rules/weight_per_ft3");
}

#[tokio::test]
async fn what_was_published_before_a_rule_is_still_computed_with() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let mut document = records.document.clone();
    document["equipment"][3]["week"] = json!("0.00");
    let actor = rillcast::store::Actor { key_id: "cli".to_owned(), request_id: "old".to_owned(), now: 0 };
    let mut write = app.state.inner.store.begin(actor).await.unwrap();
    let row = write.version(&records.draft).await.unwrap().unwrap().row_version;
    write.edit_version(&records.draft, row, &document.to_string(), json!({})).await.unwrap();
    let row = write.version(&records.draft).await.unwrap().unwrap().row_version;
    write.publish_version(&records.draft, row).await.unwrap();
    write.commit().await.unwrap();
    let ask = json!({"notes": short_notes(), "price_book_version": records.draft});
    let answer = app.post("/v1/calculators/estimate", &ask).await.ok(200).json();
    assert_eq!(text(&answer["price_book"], "version_id"), records.draft);
    app.get(&document_path(&records.draft)).await.ok(200);
    let check = format!("{}/check", version_path(&records.draft));
    let report = app.post(&check, &json!({})).await.ok(200).json();
    assert_eq!(report["errors"][0]["pointer"], "#/equipment/3/week", "today it would not be published");
}

#[tokio::test]
async fn a_draft_takes_merge_patches() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let path = document_path(&records.draft);
    let before = app.get(&path).await.ok(200).json();
    let tag = app.get(&path).await.etag();
    let changed = app.patch(&path, &tag, &json!({"note": "Prices of March"})).await.ok(200);
    assert_eq!(changed.json()["version"], json!(2));
    let mut expected = before.clone();
    expected["note"] = json!("Prices of March");
    assert_eq!(app.get(&path).await.ok(200).json(), expected);
    // Null deletes, a list is replaced whole (RFC 7396, read).
    let mut items = before["items"].as_array().unwrap().clone();
    items[0]["price"] = json!("31.25");
    app.patch(&path, "*", &json!({"note": null, "items": items})).await.ok(200);
    expected["items"] = Value::Array(items);
    expected.as_object_mut().unwrap().remove("note");
    assert_eq!(app.get(&path).await.ok(200).json(), expected);
    // A patch that spoils the document is refused with every fault and leaves it as it was.
    let tag = app.get(&path).await.etag();
    let answer = app.patch(&path, &tag, &json!({"currency": "dollars", "items": "none", "notes": 1})).await;
    assert_eq!(answer.pointers(), ["#/currency", "#/items", "#/notes"]);
    assert_eq!(app.get(&path).await.etag(), tag);
    assert_eq!(app.get(&path).await.ok(200).json(), expected);
    // Required members cannot be deleted.
    assert_eq!(app.patch(&path, &tag, &json!({"name": null})).await.pointers(), ["#/name"]);
}

#[tokio::test]
async fn a_check_lists_every_fault_and_publishing_refuses_them() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let version = version_path(&records.draft);
    let check = format!("{version}/check");
    let report = app.act(&check, "*").await.ok(200).json();
    assert_eq!(
        (&report["publishable"], report["errors"].as_array().unwrap().len()),
        (&json!(true), 0),
        "{report}"
    );

    let mut items = records.document["items"].as_array().unwrap().clone();
    let twice = items.len();
    items.push(items[0].clone());
    let mut systems = records.document["channel_systems"].as_array().unwrap().clone();
    let caps: Vec<String> =
        systems[0].as_object().unwrap().keys().filter(|k| k.contains("cap")).cloned().collect();
    assert!(!caps.is_empty(), "{:?}", systems[0]);
    for cap in &caps {
        systems[0].as_object_mut().unwrap().remove(cap);
    }
    let mut forms = records.document["forms"].clone();
    forms["board_width"] = json!("0.000001 in");
    let patch = json!({"items": items, "channel_systems": systems, "forms": forms});
    app.patch(&document_path(&records.draft), "*", &patch).await.ok(200);
    let report = app.act(&check, "*").await.ok(200).json();
    assert_eq!(report["publishable"], json!(false));
    let pointers: Vec<String> =
        report["errors"].as_array().unwrap().iter().map(|e| text(e, "pointer")).collect();
    assert!(pointers.iter().any(|p| p.starts_with(&format!("#/items/{twice}"))), "{report}");
    assert!(pointers.iter().any(|p| p.starts_with("#/channel_systems/0")), "{report}");
    assert!(pointers.iter().any(|p| p == "#/forms/board_width"), "{report}");
    // Checking changes nothing; publishing gives the same list.
    let refused = app.act(&format!("{version}/publish"), "*").await.problem(422, "validation-failed");
    assert_eq!(refused["errors"], report["errors"]);
    assert_eq!(text(&app.get(&version).await.ok(200).json(), "state"), "draft");
    assert_eq!(current(&app).await, records.published);
    // Put right, it can be published.
    let patch = json!({"items": records.document["items"], "forms": records.document["forms"],
        "channel_systems": records.document["channel_systems"]});
    app.patch(&document_path(&records.draft), "*", &patch).await.ok(200);
    publish(&app, &records.draft).await;
}

#[tokio::test]
async fn publishing_freezes() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let version = version_path(&records.draft);
    let facts = app.act(&format!("{version}/publish"), "*").await.ok(200).json();
    assert_eq!(text(&facts, "state"), "published");
    assert!(facts["published_at"].is_string() && facts.get("retired_at").is_none());
    let document = app.get(&document_path(&records.draft)).await.ok(200).bytes;
    let problem = app
        .patch(&document_path(&records.draft), "*", &json!({"note": "too late"}))
        .await
        .problem(409, "state-conflict");
    let detail = text(&problem, "detail");
    assert!(
        detail.contains("published") && detail.contains("retired") && detail.contains("new draft"),
        "{detail}"
    );
    app.act(&format!("{version}/publish"), "*").await.problem(409, "state-conflict");
    assert_eq!(app.get(&document_path(&records.draft)).await.ok(200).bytes, document);

    let facts = app.act(&format!("{version}/retire"), "*").await.ok(200).json();
    assert_eq!(text(&facts, "state"), "retired");
    assert!(facts["published_at"].is_string() && facts["retired_at"].is_string());
    for action in ["publish", "retire"] {
        let problem = app.act(&format!("{version}/{action}"), "*").await.problem(409, "state-conflict");
        assert!(text(&problem, "detail").contains("new draft"), "{problem}");
    }
    app.patch(&document_path(&records.draft), "*", &json!({"note": "x"}))
        .await
        .problem(409, "state-conflict");
    assert_eq!(app.get(&document_path(&records.draft)).await.ok(200).bytes, document);
    let trail = app.all(&format!("/v1/audit?object={}", records.draft)).await;
    let actions: Vec<String> = trail.iter().map(|e| text(e, "action")).collect();
    let expected = ["retire", "publish", "create"].map(|a| format!("price_book_version.{a}"));
    assert_eq!(actions, expected, "what was refused leaves no entry");
}

#[tokio::test]
async fn a_draft_that_is_not_wanted_is_retired_and_computed_from_never() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let path = version_path(&records.draft);
    let retire = format!("{path}/retire");
    let facts = app.act(&retire, "*").await.ok(200).json();
    assert_eq!(text(&facts, "state"), "retired");
    assert!(facts.get("published_at").is_none() && facts["retired_at"].is_string(), "{facts}");
    let trail = app.all(&format!("/v1/audit?object={}", records.draft)).await;
    assert_eq!(text(&trail[0], "action"), "price_book_version.retire");
    let detail = &trail[0]["detail"];
    assert_eq!(
        (&detail["before"]["state"], &detail["after"]["state"]),
        (&json!("draft"), &json!("retired")),
        "{detail}"
    );
    // For good.
    for action in ["publish", "retire"] {
        let problem = app.act(&format!("{path}/{action}"), "*").await.problem(409, "state-conflict");
        assert!(text(&problem, "detail").contains("is retired"), "{problem}");
    }
    app.patch(&document_path(&records.draft), "*", &json!({"note": "x"}))
        .await
        .problem(409, "state-conflict");
    let named = json!({"volume": "2 yd3", "price_book_version": records.draft});
    let problem = app.post("/v1/calculators/concrete-order", &named).await.problem(422, "validation-failed");
    assert!(text(&problem["errors"][0], "detail").contains("retired as a draft"), "{problem}");
    // The others are as they were.
    assert_eq!(current(&app).await, records.published);
}

#[tokio::test]
async fn the_last_published_version_is_current_until_it_is_retired() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    assert_eq!(current(&app).await, records.published);
    let second = draft(&app, &records).await;
    assert_eq!(current(&app).await, records.published, "a draft is not used");
    // At once, with no wait.
    publish(&app, &second).await;
    assert_eq!(current(&app).await, second);
    publish(&app, &records.draft).await;
    assert_eq!(current(&app).await, records.draft, "published last, though made before");
    app.act(&format!("{}/retire", version_path(&records.draft)), "*").await.ok(200);
    assert_eq!(current(&app).await, second);
    app.act(&format!("{}/retire", version_path(&second)), "*").await.ok(200);
    // The last one leaves every day from today on without a price book.
    let last = format!("{}/retire", version_path(&records.published));
    app.act(&last, "*").await.problem(409, "period-gap");
    let ask = Ask::post(&last).key(&app.key).header("if-match", "*").json(&json!({"allow_gap": true}));
    app.send(ask).await.ok(200);
    let concrete = json!({"volume": "2 yd3"});
    app.post("/v1/calculators/concrete-order", &concrete).await.problem(409, "no-price-book");
    app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({})).await.problem(409, "no-price-book");
    // A retired version that is named is still there.
    let named = json!({"volume": "2 yd3", "price_book_version": second});
    let answer = app.post("/v1/calculators/concrete-order", &named).await.ok(200).json();
    assert_eq!(text(&answer["price_book"], "version_id"), second);
}

#[tokio::test]
async fn a_change_of_price_reaches_the_answers_on_publishing_and_not_before() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let ask = json!({"notes": short_notes()});
    let total = async || {
        let answer = app.post("/v1/calculators/estimate", &ask).await.ok(200).json();
        text(&answer["summary"], "total")
    };
    let before = total().await;
    let mut items = records.document["items"].as_array().unwrap().clone();
    for item in items.iter_mut().filter(|i| text(i, "code").starts_with("channel-4-light")) {
        item["price"] = json!("199.99");
    }
    app.patch(&document_path(&records.draft), "*", &json!({"items": items})).await.ok(200);
    assert_eq!(total().await, before);
    publish(&app, &records.draft).await;
    let after = total().await;
    let figure = |t: &str| t.parse::<rust_decimal::Decimal>().unwrap();
    assert!(figure(&after) > figure(&before), "{before} then {after}");
}

#[tokio::test]
async fn an_unknown_or_draft_version_is_a_fault_of_the_body() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let estimates = format!("/v1/jobs/{}/estimates", app.job);
    for (version, word) in [("pbv_nothing", "no price-book version"), (records.draft.as_str(), "draft")] {
        for (path, mut body) in [
            ("/v1/calculators/layout-quantities", json!({"length": "10 ft"})),
            ("/v1/calculators/concrete-order", json!({"volume": "2 yd3"})),
            (
                "/v1/calculators/labor-hours",
                json!({"quantities": [{"measure": "run_excavation", "quantity": "3 yd3"}]}),
            ),
            ("/v1/calculators/estimate", json!({"notes": short_notes()})),
            (estimates.as_str(), json!({})),
        ] {
            body["price_book_version"] = json!(version);
            let problem = app.post(path, &body).await.problem(422, "validation-failed");
            assert_eq!(problem["errors"].as_array().unwrap().len(), 1, "{path}");
            assert_eq!(text(&problem["errors"][0], "pointer"), "#/price_book_version", "{path}");
            assert!(text(&problem["errors"][0], "detail").contains(word), "{problem}");
        }
    }
}

#[tokio::test]
async fn versions_count_up_and_drafts_copy_the_one_in_effect() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    // The draft beside it is somebody's work, not the prices of today.
    app.patch(&document_path(&records.draft), "*", &json!({"note": "from the second"})).await.ok(200);
    let third = draft(&app, &records).await;
    let document = app.get(&document_path(&third)).await.ok(200).json();
    assert_eq!(document, records.document);
    let facts = app.get(&version_path(&third)).await.ok(200).json();
    assert_eq!(facts["number"], json!(3));
    // A whole document replaces the copy; a body is not needed at all.
    let mut own = records.document.clone();
    own["note"] = json!("whole");
    let path = format!("/v1/price-books/{}/versions", records.book);
    let fourth = app.post(&path, &json!({"document": own})).await.ok(201).json();
    assert_eq!(app.get(&document_path(&text(&fourth, "id"))).await.ok(200).json(), own);
    assert!(fourth.get("made_from").is_none(), "{fourth}");
    let fifth = app.send(Ask::post(&path).key(&app.key)).await.ok(201).json();
    assert_eq!((&fifth["number"], &fifth["made_from"]), (&json!(5), &json!(records.published)));
    let book = app.get(&format!("/v1/price-books/{}", records.book)).await.ok(200).json();
    let numbers: Vec<i64> =
        book["versions"].as_array().unwrap().iter().map(|v| v["number"].as_i64().unwrap()).collect();
    assert_eq!(numbers, [5, 4, 3, 2, 1]);
}

#[tokio::test]
async fn faults_of_a_document_point_into_it() {
    let app = TestApp::start().await;
    let mut document: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    document["items"][2]["price"] = json!("a lot");
    document["items"][3]["colour"] = json!("red");
    document["currency"] = json!(5);
    let answer = app.post("/v1/price-books", &json!({"document": document})).await;
    assert_eq!(
        answer.pointers(),
        ["#/document/currency", "#/document/items/2/price", "#/document/items/3/colour"]
    );
}
