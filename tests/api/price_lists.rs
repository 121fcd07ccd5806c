//! CSV price lists through the service: report first, all or nothing, unchanged by the round trip.

use crate::app::{Answer, Ask, TestApp, text};
use crate::records::Records;
use serde_json::{Value, json};

async fn import(app: &TestApp, book: &str, query: &str, list: impl Into<Vec<u8>>) -> Answer {
    app.send(
        Ask::post(&format!("/v1/price-books/{book}/imports{query}")).key(&app.key).typed("text/csv", list),
    )
    .await
}

async fn export(app: &TestApp, version: &str) -> Answer {
    app.get(&format!("/v1/price-book-versions/{version}/items.csv")).await.ok(200)
}

async fn price(app: &TestApp, version: &str, code: &str) -> Option<String> {
    let document = app.get(&format!("/v1/price-book-versions/{version}/document")).await.ok(200).json();
    document["items"].as_array().unwrap().iter().find(|i| text(i, "code") == code).map(|i| text(i, "price"))
}

fn rows(problem: &Value) -> Vec<(i64, String)> {
    problem["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| (e["row"].as_i64().unwrap(), text(e, "code")))
        .collect()
}

#[tokio::test]
async fn a_list_without_a_header_line_is_refused_as_such() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let path = format!("/v1/price-books/{}/imports?validate_only=true", records.book);
    let list = "code,price\r\nchannel-4-light-4ft,28.50\r\n";
    for media in ["text/csv;header=absent", "Text/CSV; charset=utf-8; Header=\"Absent\""] {
        let ask = Ask::post(&path).key(&app.key).typed(media, list);
        let problem = app.send(ask).await.problem(415, "wrong-media-type");
        assert!(text(&problem, "detail").contains("its columns are named by its first line"), "{problem}");
    }
    for media in ["text/csv", "text/csv;header=present", "text/csv; charset=utf-8; header=\"present\""] {
        let out = app.send(Ask::post(&path).key(&app.key).typed(media, list)).await.ok(200).json();
        assert_eq!(out["report"]["updated"], json!(1), "{media}");
    }
}

#[tokio::test]
async fn an_exported_list_imported_unchanged_changes_nothing() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let list = export(&app, &records.published).await;
    assert_eq!(list.header("content-type"), "text/csv; charset=utf-8; header=present");
    // books of one name are told apart too
    let name = format!("price-list-demo-price-book-{}-1.csv", records.book);
    assert_eq!(list.header("content-disposition"), format!("attachment; filename=\"{name}\""));
    let before = app.counts().await;
    for query in ["?validate_only=true", "", "?missing=remove"] {
        let out = import(&app, &records.book, query, list.bytes.clone()).await.ok(200).json();
        let report = &out["report"];
        assert_eq!(
            (report["created"].clone(), report["updated"].clone(), report["missing"].clone()),
            (json!(0), json!(0), json!([]))
        );
        assert_eq!(report["unchanged"], json!(records.document["items"].as_array().unwrap().len()));
        assert!(out.get("version").is_none());
    }
    assert_eq!(app.counts().await, before);
    let tag = list.etag();
    let ask = Ask::get(&format!("/v1/price-book-versions/{}/items.csv", records.published)).key(&app.key);
    assert!(app.send(ask.header("if-none-match", &tag)).await.ok(304).bytes.is_empty());
}

#[tokio::test]
async fn a_report_first_then_a_new_draft() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let list = "code,price,name,category,unit\r\n\
        channel-4-light-4ft,28.50,\"Channel, 4 in light, 4 ft\",material,each\r\n\
        sand,41.00,\"Sand, \"\"washed\"\" \u{1f3d6}\",material,yd3\r\n";
    let before = app.counts().await;
    let tried = import(&app, &records.book, "?validate_only=true", list).await.ok(200).json();
    assert_eq!(app.counts().await, before);
    assert_eq!(
        (tried["report"]["created"].clone(), tried["report"]["updated"].clone()),
        (json!(1), json!(1))
    );
    assert_eq!(text(&tried["report"]["price_moves"][0], "move_pct"), "4.01");
    let made = import(&app, &records.book, "", list).await.ok(201);
    let version = text(&made.json()["version"], "id");
    assert_eq!(made.header("location"), format!("/v1/price-book-versions/{version}"));
    assert_eq!(made.json()["report"], tried["report"]);
    assert_eq!(text(&made.json()["version"], "state"), "draft");
    assert_eq!(price(&app, &version, "channel-4-light-4ft").await.as_deref(), Some("28.50"));
    assert_eq!(price(&app, &version, "sand").await.as_deref(), Some("41.00"));
    // The version it was read against is as it was, and the rest of the new one is too.
    assert_eq!(price(&app, &records.published, "channel-4-light-4ft").await.as_deref(), Some("27.40"));
    let difference = app.get(&format!("/v1/price-book-versions/{version}/difference")).await.ok(200).json();
    assert_eq!(difference["difference"]["items"].as_array().unwrap().len(), 2);
    assert_eq!(difference["difference"]["others"], json!([]));
    assert_eq!(text(&made.json()["version"], "made_from"), records.published);
    // The same list again changes nothing against the draft; by itself it is read against what holds today.
    import(&app, &records.book, &format!("?base={version}"), list).await.ok(200);
    let again = import(&app, &records.book, "", list).await.ok(201).json();
    assert_eq!(text(&again, "base_version_id"), records.published);
    let trail = app.all(&format!("/v1/audit?object={version}")).await;
    assert_eq!(text(&trail[0], "action"), "price_book_version.import");
    assert_eq!(trail[0]["detail"]["updated"], json!(1));
}

/// Two lists one after the other are two drafts of the same version: the second does not have the prices of the first, and says so.
#[tokio::test]
async fn a_draft_that_a_list_is_not_read_against_is_told() {
    let app = TestApp::start().await;
    let book = text(&app.all("/v1/price-books").await[0], "id");
    let (channel, pipe) =
        ("code,price\nchannel-4-light-4ft,28.00\n", "code,price\npipe-6-sewer-10ft,48.00\n");
    let first = import(&app, &book, "", channel).await.ok(201).json();
    assert!(first.get("warnings").is_none(), "{first}");
    let tried = import(&app, &book, "?validate_only=true", pipe).await.ok(200).json();
    let second = import(&app, &book, "", pipe).await.ok(201).json();
    assert_eq!(second["warnings"], tried["warnings"], "told before it is written");
    let told = second["warnings"][0].as_str().unwrap();
    assert!(told.contains("against version 1; version 2 is a draft newer than that"), "{told}");
    let third = import(&app, &book, "", pipe).await.ok(201).json();
    let told = third["warnings"][0].as_str().unwrap();
    assert!(told.contains("version 3, version 2 are drafts"), "{told}");
    // Named, it is gone on from, and nothing is told.
    let named = import(&app, &book, &format!("?base={}", text(&first["version"], "id")), pipe).await;
    let named = named.ok(201).json();
    assert!(named.get("warnings").is_none(), "{named}");
    let version = text(&named["version"], "id");
    assert_eq!(price(&app, &version, "channel-4-light-4ft").await.as_deref(), Some("28.00"));
    assert_eq!(price(&app, &version, "pipe-6-sewer-10ft").await.as_deref(), Some("48.00"));
    // What was withdrawn is no draft any more.
    for made in [&first, &second, &third, &named] {
        app.act(&format!("/v1/price-book-versions/{}/retire", text(&made["version"], "id")), "*")
            .await
            .ok(200);
    }
    let alone = import(&app, &book, "", pipe).await.ok(201).json();
    assert!(alone.get("warnings").is_none(), "{alone}");
}

/// A list moves what an item costs by itself; what suppliers ask stays, and an estimate buys by that.
#[tokio::test]
async fn offers_that_a_list_leaves_at_their_prices_are_told() {
    let app = TestApp::start().await;
    let book = text(&app.all("/v1/price-books").await[0], "id");
    let list = "code,price\ntie-wire,8.00\nchannel-4-light-4ft,28.00\n";
    let tried = import(&app, &book, "?validate_only=true", list).await.ok(200).json();
    let made = import(&app, &book, "", list).await.ok(201).json();
    for out in [&tried, &made] {
        assert_eq!((&out["report"]["importable"], &out["report"]["errors"]), (&json!(true), &json!([])));
        let told = out["warnings"].as_array().unwrap();
        assert_eq!(told.len(), 1, "{out}");
        assert!(told[0].as_str().unwrap().starts_with("the price of `tie-wire` moves, but offers"), "{out}");
        let offers = &out["report"]["offers_with_prices"];
        assert_eq!((offers.as_array().unwrap().len(), &offers[0]["price"]), (1, &json!("7.72")), "{out}");
    }
    // The pointer leads to the offer in the draft.
    let draft = format!("/v1/price-book-versions/{}/document", text(&made["version"], "id"));
    let document = app.get(&draft).await.ok(200).json();
    let pointer = text(&made["report"]["offers_with_prices"][0], "pointer");
    let offer = document.pointer(pointer.trim_start_matches('#')).unwrap();
    assert_eq!((text(offer, "item"), text(offer, "price")), ("tie-wire".to_owned(), "7.72".to_owned()));
}

#[tokio::test]
async fn items_that_the_list_does_not_name_stay_unless_told_otherwise() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let list = "code,price\nchannel-4-light-4ft,28.50\n";
    let kept = import(&app, &records.book, "", list).await.ok(201).json();
    let count = records.document["items"].as_array().unwrap().len();
    assert_eq!(kept["report"]["missing"].as_array().unwrap().len(), count - 1);
    assert!(price(&app, &text(&kept["version"], "id"), "permit-drainage").await.is_some());
    let removed = import(&app, &records.book, "?missing=remove", list).await.ok(201).json();
    let version = text(&removed["version"], "id");
    assert!(price(&app, &version, "permit-drainage").await.is_none());
    // A draft may be incomplete; publishing names what is gone.
    let publish = format!("/v1/price-book-versions/{version}/publish");
    app.act(&publish, "*").await.problem(422, "validation-failed");
}

#[tokio::test]
async fn all_or_nothing_with_every_row_named() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let list = "code,price,name\n\
        channel-4-light-4ft,\"1,234.50\",Channel\n\
        channel-4-light-8ft,55.00,=HYPERLINK(1)\n\
        cap-4-light,5.00,Cap\n\
        cap-4-light,6.00,Cap\n\
        hanger,27\u{20ac},Hanger\n";
    let before = app.counts().await;
    let problem = import(&app, &records.book, "", list).await.problem(422, "validation-failed");
    let expected = [
        (2, "thousands_separator"),
        (3, "leading_formula_character"),
        (5, "duplicate_code"),
        (6, "currency_sign"),
    ];
    let found = rows(&problem);
    assert!(expected.iter().all(|(r, c)| found.contains(&(*r, (*c).to_owned()))), "{problem}");
    // The report of a dry run has the same faults in it.
    let tried = import(&app, &records.book, "?validate_only=true", list).await.ok(200).json();
    assert_eq!(tried["report"]["importable"], json!(false));
    assert_eq!(rows(&tried["report"]), found);
    let windows = b"code,price,name\nhanger,4.10,B\xfcgel\n".to_vec();
    let problem = import(&app, &records.book, "", windows).await.problem(422, "validation-failed");
    assert_eq!(rows(&problem), [(2, "not_utf8".to_owned())]);
    assert_eq!(app.counts().await, before);
}

/// Rows are counted as a spreadsheet does, empty ones too; an item with a fault in its row is named nevertheless.
#[tokio::test]
async fn rows_are_those_of_the_spreadsheet() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let list = "code,price\n\nchannel-4-light-4ft,28.50\r\n\r\nnope-item,abc\n\nhanger,\"6,40\"\n";
    let problem = import(&app, &records.book, "", list).await.problem(422, "validation-failed");
    let found: Vec<i64> = rows(&problem).into_iter().map(|(row, _)| row).collect();
    assert!(found.contains(&5) && found.contains(&7) && !found.contains(&3), "{problem}");
    let tried = import(&app, &records.book, "?validate_only=true", list).await.ok(200).json();
    let missing = tried["report"]["missing"].as_array().unwrap();
    assert!(!missing.contains(&json!("hanger")) && !missing.is_empty(), "{missing:?}");
}

#[tokio::test]
async fn large_moves_are_looked_at_first() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let list = "code,price\nchannel-4-light-4ft,274.00\n";
    let problem = import(&app, &records.book, "", list).await.problem(409, "large-price-moves");
    assert_eq!(rows(&problem), [(2, "large_move".to_owned())]);
    assert!(text(&problem["errors"][0], "detail").contains("900.00 %"), "{problem}");
    import(&app, &records.book, "?largest_move_pct=900", list).await.ok(201);
    import(&app, &records.book, "?confirm_large_changes=true&base=".to_owned().as_str(), list)
        .await
        .problem(400, "bad-query");
    let confirmed = format!("?confirm_large_changes=true&base={}", records.published);
    let made = import(&app, &records.book, &confirmed, list).await.ok(201).json();
    assert_eq!(made["report"]["large_moves"], json!(1));
    for query in ["?largest_move_pct=-1", "?largest_move_pct=x", "?missing=drop", "?confirm_large_changes=1"]
    {
        import(&app, &records.book, query, list).await.problem(400, "bad-query");
    }
}

#[tokio::test]
async fn an_import_sent_twice_under_a_key_is_done_once() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let ask = |list: &str| {
        Ask::post(&format!("/v1/price-books/{}/imports", records.book))
            .key(&app.key)
            .typed("text/csv", list)
            .header("idempotency-key", "import-of-march")
    };
    let first = app.send(ask("code,price\nhanger,7.00\n")).await.ok(201);
    let again = app.send(ask("code,price\nhanger,7.00\n")).await;
    // The repeat gets the first answer; no second draft is made.
    assert_eq!((again.status, &again.bytes), (first.status, &first.bytes));
    assert_eq!(again.header("idempotency-replayed"), "true");
    app.send(ask("code,price\nhanger,7.05\n")).await.problem(422, "idempotency-key-reused");
    assert_eq!(app.all(&format!("/v1/price-books/{}/versions", records.book)).await.len(), 3);
}
