//! A change order whose layout is priced from another version than the contract says so.

use crate::app::{TestApp, text};
use crate::default_book::dearer;
use crate::purchase_orders::published;
use crate::records::{Records, terms};
use rillcast::store::Actor;
use rillcast::store::estimates::NewEstimate;
use rillcast::units::Amount;
use rillcast::wire::contract::Signed;
use serde_json::{Value, json};

#[track_caller]
fn money(value: &Value) -> Amount {
    rillcast::wire::read_value::<Signed>(value).unwrap_or_else(|e| panic!("{e}: {value}")).0
}

#[tokio::test]
async fn a_change_order_names_its_price_books_and_says_what_the_prices_make() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let make = async |body: Value| text(&app.post(&path, &body).await.ok(201).json(), "id");
    let first = make(json!({})).await;
    let mut longer: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    longer["runs"][0]["legs"][0]["length"] = json!("30 ft");
    app.contract(&app.job, &terms(&first)).await;
    let changes = format!("/v1/jobs/{}/change-orders", app.job);
    let change = |id: &str| json!({"title": "Change", "basis": {"kind": "revision", "estimate_id": id}});
    let same_book = make(json!({"notes": longer})).await;
    let by_layout = app.money(&changes, &change(&same_book)).await.ok(201).json()["document"].clone();
    let books = &by_layout["price_books"];
    assert_eq!(books["before"], books["after"]);
    assert_eq!(books["before"]["version_id"], json!(records.published));
    assert!(by_layout.get("warnings").is_none() && by_layout.get("split").is_none(), "{by_layout}");

    // The same notes, dearer prices: nothing of it is the layout's.
    let version = dearer(&app, &records).await;
    let dear = make(json!({"price_book_version": version})).await;
    let made = app.money(&changes, &change(&dear)).await.ok(201).json();
    let document = &made["document"];
    assert_eq!(document["quantities"], json!([]));
    assert_eq!(document["split"], json!({"by_layout": "0.00", "by_prices": document["before_tax"]}));
    assert!(money(&document["before_tax"]) > Amount::ZERO);
    assert_eq!(document["price_books"]["after"]["version_id"], json!(version));
    let warning = &document["warnings"][0];
    assert_eq!(warning["code"], "other_prices");
    let told = text(warning, "text");
    assert!(told.contains("0.00 come from the layout and") && told.contains("version 2"), "{told}");
    // Both: the layout makes what it made at the old prices.
    let both = make(json!({"notes": longer, "price_book_version": version})).await;
    let made = app.money(&changes, &change(&both)).await.ok(201).json();
    let document = &made["document"];
    assert_eq!(document["split"]["by_layout"], by_layout["before_tax"]);
    assert_eq!(
        money(&document["split"]["by_layout"]) + money(&document["split"]["by_prices"]),
        money(&document["before_tax"])
    );
    let basis = text(&document["lines"][0], "basis");
    assert!(basis.contains(" by the layout, ") && basis.ends_with(" by the prices"), "{basis}");
    // The file says it too, and the paper is made again to the byte.
    let paper = format!("/v1/change-orders/{}", text(&made, "id"));
    app.money(&format!("{paper}/issue"), &json!({"on": "2026-02-20"})).await.ok(200);
    let file = app.get(&format!("{paper}/ubl")).await.ok(200).text();
    assert!(
        file.contains("Priced from Demo price book version 1 before, from ")
            && file.contains("come from the layout and"),
        "{file}"
    );
    assert_eq!(app.money(&format!("{paper}/recompute"), &json!({})).await.ok(200).json()["same"], true);
    // By line nothing is priced from a book.
    let by_line = app.change(&app.job, "10.00").await;
    let document = app.get(&format!("/v1/change-orders/{by_line}")).await.ok(200).json()["document"].clone();
    assert!(document.get("price_books").is_none(), "{document}");
}

/// A revision of an estimate as an engine of before made it: its first category dearer by this.
async fn by_an_engine_of_before(app: &TestApp, of: &str, more: i64) -> String {
    let row = app.state.inner.store.estimate(of).await.unwrap().unwrap();
    let mut answer: Value = serde_json::from_str(&row.answer).unwrap();
    answer["engine"] = json!("1.0.0");
    for pointer in ["/price/by_category/0/price", "/price/price_before_tax"] {
        let figure = answer.pointer_mut(pointer).unwrap();
        *figure = json!((money(figure) + Amount::from_minor(more)).to_string());
    }
    let new = NewEstimate {
        id: format!("est_{}0{}", &of[4..29], more % 7),
        job_id: row.job_id,
        price_book_version_id: row.price_book_version_id,
        engine: "1.0.0".to_owned(),
        notes: row.notes,
        answer: answer.to_string(),
        total_minor: row.total_minor,
        outcome: row.outcome,
    };
    let actor = Actor { key_id: "key".to_owned(), request_id: "request".to_owned(), now: 1 };
    let mut write = app.state.inner.store.begin(actor).await.unwrap();
    write.put_estimate(&new).await.unwrap();
    write.commit().await.unwrap();
    new.id
}

/// The same figures in another currency are no statement about the work.
#[tokio::test]
async fn another_currency_is_told_without_comparing_amounts() {
    let app = TestApp::start().await;
    Records::bare(&app).await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let first = text(&app.post(&path, &json!({})).await.ok(201).json(), "id");
    app.contract(&app.job, &terms(&first)).await;
    let version = published(&app, |book| book["currency"] = json!("EUR")).await;
    let euro = text(&app.post(&path, &json!({"price_book_version": version})).await.ok(201).json(), "id");
    let change = json!({"title": "Change", "basis": {"kind": "revision", "estimate_id": euro}});
    let changes = format!("/v1/jobs/{}/change-orders", app.job);
    let told = app.money(&changes, &change).await.problem(422, "validation-failed");
    let codes: Vec<&Value> = told["errors"].as_array().unwrap().iter().map(|e| &e["code"]).collect();
    assert_eq!(codes, ["currency"], "{told}");
}

#[tokio::test]
async fn what_another_engine_reckons_otherwise_is_not_sold_as_changed_work() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let make = async |body: Value| text(&app.post(&path, &body).await.ok(201).json(), "id");
    let today = make(json!({})).await;
    let before = by_an_engine_of_before(&app, &today, 10_000).await;
    app.contract(&app.job, &terms(&before)).await;
    let changes = format!("/v1/jobs/{}/change-orders", app.job);
    let change = |id: &str| json!({"title": "Change", "basis": {"kind": "revision", "estimate_id": id}});
    // The same notes and prices: nothing has changed, though the contract stands 100.00 higher.
    let refused = app.money(&changes, &change(&today)).await.problem(422, "validation-failed");
    assert_eq!(text(&refused["errors"][0], "code"), "no_change");
    assert!(text(&refused["errors"][0], "detail").contains("only the engines differ"), "{refused}");

    let mut longer: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    longer["runs"][0]["legs"][0]["length"] = json!("30 ft");
    let longer = make(json!({"notes": longer})).await;
    let made = app.money(&changes, &change(&longer)).await.ok(201).json();
    let document = &made["document"];
    let price = async |id: &str| {
        let row = app.state.inner.store.estimate(id).await.unwrap().unwrap();
        money(&serde_json::from_str::<Value>(&row.answer).unwrap()["price"]["price_before_tax"])
    };
    assert_eq!(money(&document["before_tax"]), price(&longer).await - price(&today).await);
    let warning = &document["warnings"][0];
    assert_eq!(warning["code"], "other_engine");
    assert!(text(warning, "text").contains("by engine 1.0.0"), "{warning}");
    let basis = text(&document["lines"][0], "basis");
    assert!(basis.ends_with(" as the engine of the changed one reckons it"), "{basis}");
    let paper = format!("/v1/change-orders/{}", text(&made, "id"));
    app.money(&format!("{paper}/issue"), &json!({"on": "2026-02-20"})).await.ok(200);
    assert_eq!(app.money(&format!("{paper}/recompute"), &json!({})).await.ok(200).json()["same"], true);
    assert_eq!(records.published, text(&document["price_books"]["before"], "version_id"));
    // What the office says to itself stays with it.
    let file = app.get(&format!("{paper}/ubl")).await.ok(200).text();
    assert!(!file.contains("engine"), "{file}");

    // What is taken out comes back at what it was sold for, with the tax of that.
    let mut shorter: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    shorter["runs"][0]["legs"][0]["length"] = json!("12 ft");
    let shorter = make(json!({"notes": shorter})).await;
    let document = app.money(&changes, &change(&shorter)).await.ok(201).json()["document"].clone();
    let first = async |id: &str| {
        let row = app.state.inner.store.estimate(id).await.unwrap().unwrap();
        let category = serde_json::from_str::<Value>(&row.answer).unwrap()["price"]["by_category"][0].clone();
        (text(&category, "category"), money(&category["price"]).decimal())
    };
    let ((name, reckoned), (_, sold), (_, after)) =
        (first(&today).await, first(&before).await, first(&shorter).await);
    let of = |line: &&Value| text(line, "category") == name;
    let line = document["lines"].as_array().unwrap().iter().find(of).unwrap();
    assert!(after < reckoned && reckoned < sold);
    assert_eq!(money(&line["price"]), Amount::line((after - reckoned) * sold / reckoned), "{line}");
    assert!(text(line, "basis").contains("what is taken out was sold at"), "{line}");
    let tax = |t: &Value| text(t, "basis").contains(" x ");
    assert!(document["taxes"].as_array().unwrap().iter().all(tax), "{document}");
}
