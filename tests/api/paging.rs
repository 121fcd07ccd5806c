//! Lists: pages, cursors, filters, orders.

use crate::app::{TestApp, text};
use crate::records::{Records, job, make_job};
use rillcast::http::page::Cursor;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// The service with 22 jobs beside the demo's.
async fn with_jobs() -> TestApp {
    let app = TestApp::start().await;
    for number in 1..=22 {
        make_job(&app, &job(number)).await;
    }
    app
}

fn ids(page: &Value) -> Vec<String> {
    page["items"].as_array().unwrap().iter().map(|j| text(j, "id")).collect()
}

fn titles(list: &[Value]) -> Vec<String> {
    list.iter().map(|j| text(j, "title")).collect()
}

#[tokio::test]
async fn twenty_three_jobs_by_ten_are_three_pages() {
    let app = with_jobs().await;
    for sort in ["updated_at", "-updated_at", "created_at", "-created_at"] {
        let mut seen = Vec::new();
        let mut sizes = Vec::new();
        let mut path = format!("/v1/jobs?sort={sort}&limit=10");
        loop {
            let answer = app.get(&path).await.ok(200);
            let page = answer.json();
            sizes.push(ids(&page).len());
            seen.extend(ids(&page));
            let Some(cursor) = page["next_cursor"].as_str() else {
                assert!(page.get("next_cursor").is_none() && !answer.headers.contains_key("link"));
                break;
            };
            // RFC 8288 section 3 (from memory): `<target>; rel="next"`.
            let next = format!("/v1/jobs?sort={sort}&limit=10&cursor={cursor}");
            assert_eq!(answer.header("link"), format!("<{next}>; rel=\"next\""));
            path = next;
        }
        assert_eq!(sizes, [10, 10, 3], "{sort}");
        assert_eq!(seen.iter().collect::<BTreeSet<_>>().len(), 23, "{sort}: a job is listed twice");
    }
}

#[tokio::test]
async fn a_limit_that_divides_the_list_ends_without_an_empty_page() {
    let app = with_jobs().await;
    let page = app.get("/v1/jobs?limit=23").await.ok(200).json();
    assert_eq!(ids(&page).len(), 23);
    assert!(page.get("next_cursor").is_none());
    let page = app.get("/v1/jobs?limit=200").await.ok(200).json();
    assert_eq!(ids(&page).len(), 23);
    let page = app.get("/v1/jobs?limit=1").await.ok(200).json();
    assert_eq!(ids(&page).len(), 1);
    // The limit may change between pages.
    let next = text(&page, "next_cursor");
    let rest = app.get(&format!("/v1/jobs?limit=200&cursor={next}")).await.ok(200).json();
    assert_eq!(ids(&rest).len(), 22);
}

#[tokio::test]
async fn without_a_limit_a_page_has_fifty() {
    let app = TestApp::start().await;
    for number in 1..=50 {
        make_job(&app, &job(number)).await;
    }
    let page = app.get("/v1/jobs").await.ok(200).json();
    assert_eq!(ids(&page).len(), 50);
    assert!(page["next_cursor"].is_string());
}

#[tokio::test]
async fn writes_between_pages_neither_skip_nor_repeat() {
    let app = with_jobs().await;
    for sort in ["created_at", "-created_at"] {
        let there: BTreeSet<String> = app.all("/v1/jobs").await.iter().map(|j| text(j, "id")).collect();
        let mut seen = Vec::new();
        let mut path = format!("/v1/jobs?sort={sort}&limit=10");
        loop {
            let page = app.get(&path).await.ok(200).json();
            seen.extend(ids(&page));
            make_job(&app, &job(50)).await;
            // A change of a job does not move it in this order.
            app.patch(&format!("/v1/jobs/{}", seen[0]), "*", &json!({"title": "changed"})).await.ok(200);
            let Some(cursor) = page["next_cursor"].as_str() else { break };
            path = format!("/v1/jobs?sort={sort}&limit=10&cursor={cursor}");
        }
        let unique: BTreeSet<String> = seen.iter().cloned().collect();
        assert_eq!(unique.len(), seen.len(), "{sort}: repeated");
        assert!(there.is_subset(&unique), "{sort}: skipped");
    }
}

#[tokio::test]
async fn orders_are_kept() {
    let app = with_jobs().await;
    let oldest = app.all("/v1/jobs?sort=created_at").await;
    let expected: Vec<String> = (1..=22).map(|n| format!("Job {n:02}")).collect();
    assert_eq!(titles(&oldest)[1..], expected);
    tokio::time::sleep(std::time::Duration::from_millis(5)).await;
    app.patch(&format!("/v1/jobs/{}", text(&oldest[3], "id")), "*", &json!({"title": "Moved"})).await.ok(200);
    for (sort, member) in [("updated_at", "updated_at"), ("created_at", "created_at")] {
        let up = app.all(&format!("/v1/jobs?sort={sort}")).await;
        let mut down = app.all(&format!("/v1/jobs?sort=-{sort}")).await;
        down.reverse();
        assert_eq!(up, down);
        assert!(up.windows(2).all(|w| text(&w[0], member) <= text(&w[1], member)), "{sort}");
    }
    assert_eq!(titles(&app.all("/v1/jobs").await)[0], "Moved", "newest change first when no order is named");
    assert_eq!(titles(&app.all("/v1/jobs?sort=created_at").await)[3], "Moved");
    let problem = app.get("/v1/jobs?sort=title").await.problem(400, "bad-query");
    assert!(problem["errors"][0]["allowed"].as_array().unwrap().contains(&json!("-updated_at")));
    // A plus sign is a space in a query.
    app.get("/v1/jobs?sort=+created_at").await.problem(400, "bad-query");
}

#[tokio::test]
async fn a_tampered_or_foreign_cursor_is_refused() {
    let app = with_jobs().await;
    let cursor = text(&app.get("/v1/jobs?limit=10").await.ok(200).json(), "next_cursor");
    for place in 0..cursor.len() {
        let mut bytes = cursor.clone().into_bytes();
        bytes[place] = if bytes[place] == b'A' { b'B' } else { b'A' };
        let flipped = String::from_utf8(bytes).unwrap();
        let problem = app.get(&format!("/v1/jobs?cursor={flipped}")).await.problem(400, "bad-query");
        assert_eq!(text(&problem["errors"][0], "code"), "cursor_mismatch", "{place}");
    }
    for wrong in ["", "x", "%00", "AAAA", &cursor[..10], &format!("{cursor}AA")] {
        app.get(&format!("/v1/jobs?cursor={wrong}")).await.problem(400, "bad-query");
    }
    for other in [
        format!("/v1/jobs?sort=created_at&cursor={cursor}"),
        format!("/v1/jobs?q=job&cursor={cursor}"),
        format!("/v1/price-books?cursor={cursor}"),
        format!("/v1/audit?cursor={cursor}"),
        format!("/v1/jobs/{}/estimates?cursor={cursor}", app.job),
    ] {
        app.get(&other).await.problem(400, "bad-query");
    }
}

#[tokio::test]
async fn a_limit_out_of_range_is_refused_on_every_list() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    for list in [
        "/v1/jobs".to_owned(),
        "/v1/price-books".to_owned(),
        "/v1/audit".to_owned(),
        format!("/v1/jobs/{}/estimates", records.job),
        format!("/v1/price-books/{}/versions", records.book),
    ] {
        for limit in ["0", "-1", "201", "abc", "", "1.5", "9999999999999999999999", "%2B5x"] {
            let problem = app.get(&format!("{list}?limit={limit}")).await.problem(400, "bad-query");
            assert_eq!(text(&problem["errors"][0], "parameter"), "limit");
        }
        app.get(&format!("{list}?limit=200")).await.ok(200);
    }
}

#[tokio::test]
async fn search_finds_by_customer_site_and_text() {
    let app = with_jobs().await;
    let odd = json!({"title": "100% of the _yard_", "customer": {"name": "Österreicher & Söhne"},
        "site": {"address": "Ähornweg 5 \\ rear"}});
    make_job(&app, &odd).await;
    let found = async |query: &str| titles(&app.all(&format!("/v1/jobs?{query}&sort=created_at")).await);
    assert_eq!(found("customer=customer%2007").await, ["Job 07"]);
    assert_eq!(found("customer=CUSTOMER%2007").await, ["Job 07"]);
    assert_eq!(found("site=7%20alder").await, ["Job 07", "Job 17"]);
    assert_eq!(found("q=job%2012").await, ["Job 12"]);
    assert_eq!(found("q=12%20ALDER").await, ["Job 12"]);
    assert_eq!(found("customer=customer%200&site=7%20alder").await, ["Job 07"]);
    // A customer's name is no part of a site, nor the other way round.
    assert!(found("customer=alder").await.is_empty());
    assert!(found("site=customer").await.is_empty());
    // What is a wildcard to the database is a letter to the office.
    assert_eq!(found("q=100%25").await, ["100% of the _yard_"]);
    assert_eq!(found("q=_yard").await, ["100% of the _yard_"]);
    assert_eq!(found("q=%25%25").await, Vec::<String>::new());
    assert_eq!(found("site=%5C").await, ["100% of the _yard_"]);
    for query in [
        "q=%C3%B6sterr",
        "customer=%C3%96sterr",
        "customer=%C3%B6sterr",
        "site=%C3%A4horn",
        "site=%C3%84HORN",
    ] {
        assert_eq!(found(query).await, ["100% of the _yard_"], "{query}");
    }
    // What looks the same is the same: an accent of its own or in its letter, a sigma at the end of a word or not.
    let other = json!({"title": "\u{3a3}\u{399}\u{3a3}\u{3a5}\u{3a6}\u{39f}\u{3a3}", "customer": {"name": "Jose\u{301} Garci\u{301}a"},
        "site": {"address": "Hill Row 4"}});
    make_job(&app, &other).await;
    for query in [
        "customer=Jos%C3%A9%20GARC%C3%8DA",
        "customer=Jose%CC%81",
        "q=%CE%A3%CE%99%CE%A3",
        "q=%CF%83%CE%B9%CF%82",
    ] {
        assert_eq!(found(query).await, [text(&other, "title")], "{query}");
    }
    for query in ["q=", "q=%0A", "customer=", "site=", &format!("q={}", "x".repeat(201))] {
        app.get(&format!("/v1/jobs?{query}")).await.problem(400, "bad-query");
    }
    // Pages of a filtered list hold to the filter.
    let page = app.get("/v1/jobs?q=job&limit=10").await.ok(200);
    let cursor = text(&page.json(), "next_cursor");
    assert!(page.header("link").starts_with("</v1/jobs?q=job&limit=10&cursor="));
    let rest = app.get(&format!("/v1/jobs?q=job&limit=200&cursor={cursor}")).await.ok(200).json();
    assert_eq!(ids(&rest).len(), 12);
}

#[tokio::test]
async fn updated_since_gives_what_changed() {
    let app = with_jobs().await;
    tokio::time::sleep(std::time::Duration::from_millis(5)).await;
    let target = text(&app.all("/v1/jobs?sort=created_at").await[5], "id");
    let changed =
        app.patch(&format!("/v1/jobs/{target}"), "*", &json!({"title": "Late"})).await.ok(200).json();
    let since = text(&changed, "updated_at");
    // Inclusive.
    let list = app.all(&format!("/v1/jobs?updated_since={since}")).await;
    assert_eq!(titles(&list), ["Late"]);
    for late in ["2999-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "9999-12-31T23:59:59-23:59"] {
        assert!(app.all(&format!("/v1/jobs?updated_since={late}")).await.is_empty(), "{late}");
    }
    assert_eq!(app.all("/v1/jobs?updated_since=2000-01-01T00:00:00-05:00").await.len(), 23);
    for wrong in ["yesterday", "2026-03-01", "2026-03-01T00:00:00", "", "1772323200"] {
        app.get(&format!("/v1/jobs?updated_since={wrong}")).await.problem(400, "bad-query");
    }
    let problem = app.get("/v1/jobs?updated_since=2026-11-26T00:00:00%2B25:00").await;
    let problem = problem.problem(400, "bad-query");
    assert_eq!(problem["errors"][0]["value"], "2026-11-26T00:00:00+25:00");
    assert!(text(&problem["errors"][0], "detail").contains("offset at most 23:59"), "{problem}");
}

#[tokio::test]
async fn versions_estimates_books_and_the_audit_trail_page_too() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    for _ in 0..4 {
        app.post(&format!("/v1/price-books/{}/versions", records.book), &json!({})).await.ok(201);
        app.post(&format!("/v1/jobs/{}/estimates", records.job), &json!({})).await.ok(201);
        app.post("/v1/price-books", &json!({"document": records.document})).await.ok(201);
    }
    for (list, member, count) in [
        (format!("/v1/price-books/{}/versions", records.book), "number", 6),
        (format!("/v1/jobs/{}/estimates", records.job), "revision", 5),
        ("/v1/price-books".to_owned(), "id", 5),
        ("/v1/audit".to_owned(), "", 0),
    ] {
        let whole = app.all(&list).await;
        assert!(whole.len() >= count.max(5), "{list}");
        if count > 0 {
            assert_eq!(whole.len(), count, "{list}");
        }
        let mut seen = Vec::new();
        let mut path = format!("{list}?limit=2");
        loop {
            let page = app.get(&path).await.ok(200).json();
            seen.extend(page["items"].as_array().unwrap().iter().cloned());
            let Some(cursor) = page["next_cursor"].as_str() else { break };
            path = format!("{list}?limit=2&cursor={cursor}");
        }
        assert_eq!(seen, whole, "{list}");
        if member == "number" || member == "revision" {
            let numbers: Vec<i64> = seen.iter().map(|v| v[member].as_i64().unwrap()).collect();
            assert_eq!(numbers, (1..=numbers.len() as i64).rev().collect::<Vec<_>>(), "newest first");
        }
    }
    let entries = app.all(&format!("/v1/audit?object={}", records.draft)).await;
    assert_eq!(entries.len(), 1);
    assert!(app.all("/v1/audit?object=nothing").await.is_empty());
}

/// A client may go on with a page that another version of the service gave it.
#[tokio::test]
async fn cursors_of_papers_stay_good() {
    let app = TestApp::start().await;
    let secret = &app.state.inner.cursor_secret;
    let filter = |rest: &str| format!("PaperFilter {{ {rest} }}");
    for (path, kinds, filter) in [
        (
            "/v1/quotes?",
            ["quote", "change_order"],
            filter("state: None, updated_since: None, newest_first: true"),
        ),
        (
            "/v1/invoices?state=issued&sort=updated_at&",
            ["invoice", "credit_note"],
            filter("state: Some(\"issued\"), updated_since: None, newest_first: false"),
        ),
        (
            "/v1/quotes?updated_since=1970-01-01T00:00:01Z&",
            ["quote", "change_order"],
            filter("state: None, updated_since: Some(1000), newest_first: true"),
        ),
        (
            "/v1/invoices?state=issued,paid&",
            ["invoice", "credit_note"],
            filter("states: [\"issued\", \"paid\"], updated_since: None, newest_first: true"),
        ),
    ] {
        let cursor =
            Cursor { key: 1, id: "x".to_owned() }.write(secret, &format!("papers {kinds:?} {filter}"));
        app.get(&format!("{path}cursor={cursor}")).await.ok(200);
        // Of another list it is none.
        app.get(&format!("/v1/quotes?state=draft&cursor={cursor}")).await.problem(400, "bad-query");
    }
}
