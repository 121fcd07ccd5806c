//! The life of price-book versions: days without overlap or unseen gap, copies, differences, jobs priced anew.

use crate::app::{Ask, TestApp, text};
use crate::records::{Records, job, make_job, short_notes};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn version_path(id: &str) -> String {
    format!("/v1/price-book-versions/{id}")
}

/// A new draft of the demo's book with prices of channel moved; its id.
async fn draft(app: &TestApp, records: &Records, price: &str) -> String {
    let path = format!("/v1/price-books/{}/versions", records.book);
    let id = text(&app.post(&path, &json!({"copy_of": records.published})).await.ok(201).json(), "id");
    let mut items = records.document["items"].as_array().unwrap().clone();
    for item in items.iter_mut().filter(|i| text(i, "code").starts_with("channel-4-light")) {
        item["price"] = json!(price);
    }
    app.patch(&format!("{}/document", version_path(&id)), "*", &json!({"items": items})).await.ok(200);
    id
}

pub(crate) async fn publish(app: &TestApp, id: &str, body: &Value) -> crate::app::Answer {
    let ask =
        Ask::post(&format!("{}/publish", version_path(id))).key(&app.key).header("if-match", "*").json(body);
    app.send(ask).await
}

pub(crate) async fn retire(app: &TestApp, id: &str, body: &Value) -> crate::app::Answer {
    let ask =
        Ask::post(&format!("{}/retire", version_path(id))).key(&app.key).header("if-match", "*").json(body);
    app.send(ask).await
}

pub(crate) async fn in_effect(app: &TestApp, book: &str, day: &str) -> Option<String> {
    let answer = app.get(&format!("/v1/price-books/{book}/in-effect?on={day}")).await;
    if answer.status == 404 {
        answer.problem(404, "no-price-in-effect");
        return None;
    }
    Some(text(&answer.ok(200).json(), "id"))
}

fn figure(value: &Value, member: &str) -> Decimal {
    text(value, member).parse().unwrap()
}

#[tokio::test]
async fn dated_versions_hold_from_the_first_day_to_the_day_before_the_last() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let spring = draft(&app, &records, "30.00").await;
    let facts =
        publish(&app, &spring, &json!({"effective_from": "2090-03-01", "effective_to": "2090-06-01"}))
            .await
            .ok(200)
            .json();
    assert_eq!(
        (text(&facts, "effective_from"), text(&facts, "effective_to")),
        ("2090-03-01".into(), "2090-06-01".into())
    );
    for (day, version) in [
        ("2090-02-28", &records.published),
        ("2090-03-01", &spring),
        ("2090-05-31", &spring),
        ("2090-06-01", &records.published),
    ] {
        assert_eq!(in_effect(&app, &records.book, day).await.as_ref(), Some(version), "{day}");
    }
    // The undated version fills what lies between; without it the days are a gap that is shown.
    let path = format!("/v1/price-books/{}/timeline", records.book);
    let timeline = app.get(&path).await.ok(200).json();
    assert_eq!(timeline["gaps"], json!([]));
    assert_eq!(text(&timeline, "in_effect"), records.published);
    let problem = retire(&app, &records.published, &json!({})).await.problem(409, "period-gap");
    assert_eq!(problem["errors"].as_array().unwrap().len(), 2, "{problem}");
    retire(&app, &records.published, &json!({"allow_gap": true})).await.ok(200);
    let timeline = app.get(&path).await.ok(200).json();
    assert!(timeline.get("in_effect").is_none());
    let today = text(&timeline, "today");
    assert_eq!(timeline["gaps"], json!([{"from": today, "to": "2090-03-01"}, {"from": "2090-06-01"}]));
    assert_eq!(in_effect(&app, &records.book, "2090-02-28").await, None);
    assert_eq!(in_effect(&app, &records.book, "2090-06-01").await, None);
    app.post("/v1/calculators/concrete-order", &json!({"volume": "2 yd3"}))
        .await
        .problem(409, "no-price-book");
}

#[tokio::test]
async fn a_version_that_holds_today_is_the_current_one() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let dated = draft(&app, &records, "30.00").await;
    publish(&app, &dated, &json!({"effective_from": "2020-01-01"})).await.ok(200);
    let undated = draft(&app, &records, "31.00").await;
    publish(&app, &undated, &json!({})).await.ok(200);
    let answer = app.post("/v1/calculators/concrete-order", &json!({"volume": "2 yd3"})).await.ok(200).json();
    assert_eq!(text(&answer["price_book"], "version_id"), dated, "dated before undated");
    let future = draft(&app, &records, "32.00").await;
    publish(&app, &future, &json!({"effective_from": "2090-01-01", "ends_previous": true})).await.ok(200);
    let answer = app.post("/v1/calculators/concrete-order", &json!({"volume": "2 yd3"})).await.ok(200).json();
    assert_eq!(text(&answer["price_book"], "version_id"), dated, "not before its day");
    let ended = app.get(&version_path(&dated)).await.ok(200).json();
    assert_eq!(text(&ended, "effective_to"), "2090-01-01");
    let trail = app.all(&format!("/v1/audit?object={dated}")).await;
    assert_eq!(text(&trail[0], "action"), "price_book_version.end");
}

#[tokio::test]
async fn an_overlap_is_refused_with_the_days_that_are_free() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let spring = draft(&app, &records, "30.00").await;
    publish(&app, &spring, &json!({"effective_from": "2090-03-01", "effective_to": "2090-06-01"}))
        .await
        .ok(200);
    let other = draft(&app, &records, "31.00").await;
    for body in [
        json!({"effective_from": "2090-03-01"}),
        json!({"effective_from": "2090-05-31"}),
        json!({"effective_from": "2090-02-01", "effective_to": "2090-03-02"}),
        json!({"effective_from": "2090-02-01", "effective_to": "2090-03-02", "ends_previous": true}),
    ] {
        let problem = publish(&app, &other, &body).await.problem(409, "period-overlap");
        let error = &problem["errors"][0];
        assert_eq!(
            (text(error, "pointer"), text(error, "code")),
            ("#/effective_from".into(), "overlap".into())
        );
        let allowed = error["allowed"].as_array().unwrap();
        assert!(allowed.iter().any(|a| a == "2090-06-01 on"), "{problem}");
        assert_eq!(text(&app.get(&version_path(&other)).await.json(), "state"), "draft");
    }
    // Side by side is no overlap.
    publish(&app, &other, &json!({"effective_from": "2090-06-01"})).await.ok(200);
    let third = draft(&app, &records, "32.00").await;
    publish(&app, &third, &json!({"effective_from": "2090-02-01", "effective_to": "2090-03-01"}))
        .await
        .ok(200);
    assert_eq!(in_effect(&app, &records.book, "2090-02-01").await, Some(third));
}

#[tokio::test]
async fn a_gap_is_refused_unless_accepted() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    // The only version, undated: every day from today on would be without a book.
    let path = format!("/v1/price-books/{}/timeline", records.book);
    let today = text(&app.get(&path).await.ok(200).json(), "today");
    let problem = retire(&app, &records.published, &json!({})).await.problem(409, "period-gap");
    assert_eq!(text(&problem["errors"][0], "value"), format!("{today} on"));
    assert_eq!(text(&problem["errors"][0], "pointer"), "#/allow_gap");
    retire(&app, &records.published, &json!({"allow_gap": true})).await.ok(200);
    let first = draft(&app, &records, "30.00").await;
    publish(&app, &first, &json!({"effective_from": "2020-01-01"})).await.ok(200);
    let later = draft(&app, &records, "31.00").await;
    // Days after the last of the new version, which the version before would have had.
    let body = json!({"effective_from": "2090-01-01", "effective_to": "2090-07-01", "ends_previous": true});
    let problem = publish(&app, &later, &body).await.problem(409, "period-gap");
    assert_eq!(text(&problem["errors"][0], "value"), "2090-07-01 on");
    assert!(app.get(&version_path(&first)).await.json().get("effective_to").is_none(), "nothing half done");
    let mut accepted = body.clone();
    accepted["allow_gap"] = json!(true);
    publish(&app, &later, &accepted).await.ok(200);
    // Next to a gap: it is named again.
    let last = draft(&app, &records, "32.00").await;
    let problem =
        publish(&app, &last, &json!({"effective_from": "2090-08-01"})).await.problem(409, "period-gap");
    assert_eq!(text(&problem["errors"][0], "value"), "2090-07-01 up to, not including, 2090-08-01");
    publish(&app, &last, &json!({"effective_from": "2090-07-01"})).await.ok(200);
    let problem = retire(&app, &later, &json!({})).await.problem(409, "period-gap");
    assert_eq!(text(&problem["errors"][0], "value"), "2090-01-01 up to, not including, 2090-07-01");
    let timeline = app.get(&format!("/v1/price-books/{}/timeline", records.book)).await.ok(200).json();
    assert_eq!(timeline["gaps"], json!([]));
    assert_eq!(timeline["dated"].as_array().unwrap().len(), 3);
}

#[tokio::test]
async fn days_that_make_no_sense_are_faults_of_the_body() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    for (body, pointers) in [
        (json!({"effective_from": "2090-06-01", "effective_to": "2090-06-01"}), vec!["#/effective_to"]),
        (json!({"effective_from": "2090-06-01", "effective_to": "2090-05-01"}), vec!["#/effective_to"]),
        (
            json!({"effective_to": "2090-05-01", "ends_previous": true}),
            vec!["#/effective_to", "#/ends_previous"],
        ),
        (json!({"effective_from": "2090-02-29"}), vec!["#/effective_from"]),
        (json!({"effective_from": "1 March"}), vec!["#/effective_from"]),
        (json!({"effective_from": 20900301}), vec!["#/effective_from"]),
        (
            json!({"effective_from": "2090-06-01T00:00:00Z", "efective_to": "x"}),
            vec!["#/effective_from", "#/efective_to"],
        ),
    ] {
        let mut got = publish(&app, &records.draft, &body).await.pointers();
        got.sort();
        let mut expected = pointers;
        expected.sort_unstable();
        assert_eq!(got, expected, "{body}");
    }
    for day in ["2090-02-30", "today", "", "2090-2-3"] {
        app.get(&format!("/v1/price-books/{}/in-effect?on={day}", records.book))
            .await
            .problem(400, "bad-query");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_two_writers_for_the_same_days_one_wins() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let mut sends = Vec::new();
    for price in ["30.00", "31.00", "32.00", "33.00"] {
        let id = draft(&app, &records, price).await;
        let ask = Ask::post(&format!("{}/publish", version_path(&id)))
            .key(&app.key)
            .header("if-match", "*")
            .json(&json!({"effective_from": "2090-01-01", "effective_to": "2091-01-01"}));
        sends.push(tokio::spawn(crate::app::send(app.router.clone(), ask)));
    }
    let mut statuses = Vec::new();
    for sent in sends {
        statuses.push(sent.await.unwrap().status.as_u16());
    }
    statuses.sort_unstable();
    assert_eq!(statuses, [200, 409, 409, 409]);
}

#[tokio::test]
async fn a_draft_copies_the_version_named() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    app.patch(&format!("{}/document", version_path(&records.draft)), "*", &json!({"note": "newer"}))
        .await
        .ok(200);
    let path = format!("/v1/price-books/{}/versions", records.book);
    let copy = text(&app.post(&path, &json!({"copy_of": records.published})).await.ok(201).json(), "id");
    let document = app.get(&format!("{}/document", version_path(&copy))).await.ok(200).json();
    assert_eq!(document, records.document);
    assert_eq!(app.post(&path, &json!({"copy_of": "pbv_none"})).await.pointers(), ["#/copy_of"]);
    let both = json!({"copy_of": records.published, "document": records.document});
    assert_eq!(app.post(&path, &both).await.pointers(), ["#/copy_of"]);
    // A version of another book is none of this one's.
    let other = app.post("/v1/price-books", &json!({"document": records.document})).await.ok(201).json();
    let foreign = text(&other["versions"][0], "id");
    assert_eq!(app.post(&path, &json!({"copy_of": foreign})).await.pointers(), ["#/copy_of"]);
}

#[tokio::test]
async fn a_difference_shows_each_item_and_the_effect_on_an_estimate() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let moved = draft(&app, &records, "99.00").await;
    let path = format!("{}/difference", version_path(&moved));
    // Against the version that it was made from, not the draft of the records between the two.
    let plain = app.get(&path).await.ok(200).json();
    assert_eq!(text(&plain["from"], "id"), records.published);
    assert!(plain.get("effect").is_none());
    let items = plain["difference"]["items"].as_array().unwrap();
    assert_eq!(items.len(), 2, "{plain}");
    for item in items {
        assert!(text(item, "code").starts_with("channel-4-light"));
        assert_eq!((text(item, "change"), text(item, "price_after")), ("changed".into(), "99.00".into()));
    }
    let four_foot = items.iter().find(|i| text(i, "code") == "channel-4-light-4ft").unwrap();
    // (99.00 - 27.40) / 27.40 = 2.61313…
    assert_eq!(text(four_foot, "move_pct"), "261.31");
    assert_eq!(plain["difference"]["others"], json!([]));

    let asked = format!("{path}?from={}&estimate={}", records.published, records.estimate);
    let effect = app.get(&asked).await.ok(200).json()["effect"].clone();
    let difference = &effect["difference"];
    let stored = app.get(&format!("/v1/estimates/{}", records.estimate)).await.ok(200).json();
    assert_eq!(difference["before"]["total"], stored["total"]);
    let sum: Decimal = difference["lines"].as_array().unwrap().iter().map(|l| figure(l, "difference")).sum();
    assert_eq!(sum, figure(&difference["difference"], "direct_cost"));
    assert!(sum > Decimal::ZERO);
    // The way back is the mirror image.
    let back =
        format!("{}/difference?from={moved}&estimate={}", version_path(&records.published), records.estimate);
    let back = app.get(&back).await.ok(200).json();
    assert_eq!(
        figure(&back["effect"]["difference"]["difference"], "total"),
        -figure(&difference["difference"], "total")
    );
    // Nothing was written.
    assert_eq!(app.all(&format!("/v1/jobs/{}/estimates", app.job)).await.len(), 1);
    // A version that the notes cannot be computed from says why.
    let mut systems = records.document["channel_systems"].as_array().unwrap().clone();
    systems.retain(|s| text(s, "code") != "channel-4-light");
    app.patch(&format!("{}/document", version_path(&moved)), "*", &json!({"channel_systems": systems}))
        .await
        .ok(200);
    let effect = app.get(&asked).await.ok(200).json()["effect"].clone();
    assert!(effect.get("difference").is_none());
    assert_eq!(text(&effect["errors_after"][0], "pointer"), "#/runs/1/channel_system");
    for (query, parameter) in [("from=pbv_none", "from"), ("estimate=est_none", "estimate")] {
        let problem = app.get(&format!("{path}?{query}")).await.problem(400, "bad-query");
        assert_eq!(text(&problem["errors"][0], "parameter"), parameter);
    }
    let first = format!("{}/difference", version_path(&records.published));
    app.get(&first).await.problem(400, "bad-query");
}

/// Jobs 1 to `count`, each with one estimate from the current version.
async fn priced_jobs(app: &TestApp, count: usize) -> Vec<String> {
    let mut ids = Vec::new();
    for number in 1..=count {
        let mut body = job(number);
        body["notes"] = short_notes();
        let id = text(&make_job(app, &body).await.json(), "id");
        app.post(&format!("/v1/jobs/{id}/estimates"), &json!({})).await.ok(201);
        ids.push(id);
    }
    ids
}

#[tokio::test]
async fn the_jobs_of_a_version_are_listed_in_pages() {
    let app = TestApp::start().await;
    let records = Records::bare(&app).await;
    let mut jobs = priced_jobs(&app, 4).await;
    app.post(&format!("/v1/jobs/{}/estimates", jobs[0]), &json!({})).await.ok(201);
    let next = draft(&app, &records, "30.00").await;
    publish(&app, &next, &json!({})).await.ok(200);
    app.post(&format!("/v1/jobs/{}/estimates", jobs[1]), &json!({})).await.ok(201);
    let path = format!("{}/jobs", version_path(&records.published));
    let all = app.all(&path).await;
    jobs.push(app.job.clone());
    jobs.sort();
    assert_eq!(all.iter().map(|j| text(j, "job_id")).collect::<Vec<_>>(), jobs);
    let of = |title: &str| all.iter().find(|j| text(j, "title") == title).unwrap();
    assert_eq!(
        (of("Job 01")["revisions"].clone(), of("Job 01")["is_newest"].clone()),
        (json!(2), json!(true))
    );
    assert_eq!(
        (of("Job 02")["last_revision"].clone(), of("Job 02")["is_newest"].clone()),
        (json!(1), json!(false))
    );
    let mut seen = Vec::new();
    let mut page = app.get(&format!("{path}?limit=2")).await.ok(200).json();
    loop {
        seen.extend(page["items"].as_array().unwrap().iter().map(|j| text(j, "job_id")));
        let Some(cursor) = page["next_cursor"].as_str() else { break };
        page = app.get(&format!("{path}?limit=2&cursor={cursor}")).await.ok(200).json();
    }
    assert_eq!(seen, jobs);
    assert_eq!(app.all(&format!("{}/jobs", version_path(&next))).await.len(), 1);
    let cursor = app.get(&format!("{path}?limit=2")).await.json()["next_cursor"].as_str().unwrap().to_owned();
    app.get(&format!("{}/jobs?cursor={cursor}", version_path(&next))).await.problem(400, "bad-query");
}

#[tokio::test]
async fn a_job_is_priced_anew_once() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let path = format!("/v1/jobs/{}/reprice", app.job);
    let same = app.post(&path, &json!({})).await.ok(200).json();
    assert_eq!(text(&same, "outcome"), "already_priced");
    let next = draft(&app, &records, "99.00").await;
    app.post(&path, &json!({"price_book_version": next})).await.problem(422, "validation-failed");
    publish(&app, &next, &json!({})).await.ok(200);
    let tried = app.post(&format!("{path}?validate_only=true"), &json!({})).await.ok(200).json();
    assert!(tried.get("estimate").is_none() && tried["difference"].is_object());
    let done = app.post(&path, &json!({})).await.ok(201);
    assert_eq!(done.header("location"), format!("/v1/estimates/{}", text(&done.json()["estimate"], "id")));
    let done = done.json();
    assert_eq!((text(&done, "outcome"), done["from_revision"].clone()), ("repriced".into(), json!(1)));
    assert_eq!(done["estimate"]["revision"], json!(2));
    assert_eq!(done["difference"], tried["difference"]);
    assert_eq!(done["difference"]["after"]["total"], done["estimate"]["total"]);
    // Again: nothing to do. The revision before is untouched, the new one recomputes to its bytes.
    assert_eq!(text(&app.post(&path, &json!({})).await.ok(200).json(), "outcome"), "already_priced");
    let revisions = app.all(&format!("/v1/jobs/{}/estimates", app.job)).await;
    assert_eq!(revisions.len(), 2);
    for revision in &revisions {
        let path = format!("/v1/estimates/{}/recompute", text(revision, "id"));
        assert_eq!(app.act(&path, "*").await.ok(200).json()["same"], json!(true));
    }
    // Notes that the version does not know are refused with their places.
    let bare = draft(&app, &records, "99.00").await;
    let mut items = records.document["items"].as_array().unwrap().clone();
    items.retain(|i| text(i, "code") != "permit-drainage");
    app.patch(&format!("{}/document", version_path(&bare)), "*", &json!({"items": items})).await.ok(200);
    publish(&app, &bare, &json!({})).await.ok(200);
    let problem = app.post(&path, &json!({})).await.problem(422, "validation-failed");
    assert!(text(&problem["errors"][0], "detail").contains("#/extras/0/item"), "{problem}");
    // A job without an estimate, and a closed one, are left alone.
    let empty = text(&make_job(&app, &job(9)).await.json(), "id");
    app.post(&format!("/v1/jobs/{empty}/reprice"), &json!({})).await.problem(409, "state-conflict");
    let closed =
        app.patch(&format!("/v1/jobs/{}", app.job), "*", &json!({"closed": true})).await.ok(200).json();
    assert!(closed["closed_at"].is_string());
    let problem = app.post(&path, &json!({"price_book_version": next})).await.problem(409, "state-conflict");
    assert!(text(&problem, "detail").contains("closed: false"));
    let open =
        app.patch(&format!("/v1/jobs/{}", app.job), "*", &json!({"closed": false})).await.ok(200).json();
    assert!(open.get("closed_at").is_none());
}

#[tokio::test]
async fn open_jobs_are_priced_anew_in_batches_that_may_be_repeated() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let jobs = priced_jobs(&app, 7).await;
    app.patch(&format!("/v1/jobs/{}", jobs[2]), "*", &json!({"closed": true})).await.ok(200);
    let next = draft(&app, &records, "99.00").await;
    let mut items = records.document["items"].as_array().unwrap().clone();
    // The demo job's permit is gone, so that job is refused; the others go on.
    items.retain(|i| text(i, "code") != "permit-drainage");
    for item in items.iter_mut().filter(|i| text(i, "code").starts_with("channel-4-light")) {
        item["price"] = json!("99.00");
    }
    app.patch(&format!("{}/document", version_path(&next)), "*", &json!({"items": items})).await.ok(200);
    let path = format!("{}/reprice", version_path(&next));
    let draft_refused = app.act(&path, "*").await.problem(409, "state-conflict");
    assert!(text(&draft_refused, "detail").contains("published"), "{draft_refused}");
    publish(&app, &next, &json!({})).await.ok(200);
    let before = app.counts().await;
    let tried = app.act(&format!("{path}?validate_only=true&limit=50"), "*").await.ok(200).json();
    assert_eq!((tried["repriced"].clone(), tried["refused"].clone()), (json!(6), json!(1)), "{tried}");
    assert_eq!(app.counts().await, before);

    let mut seen = Vec::new();
    let mut sum = Decimal::ZERO;
    let mut url = format!("{path}?limit=3");
    loop {
        let page = app.act(&url, "*").await.ok(200).json();
        let items = page["items"].as_array().unwrap();
        assert!(items.len() <= 3);
        sum += figure(&page, "difference");
        for item in items {
            seen.push((text(item, "job_id"), text(item, "outcome")));
            if item["difference"].is_object() {
                let figures = &item["difference"]["difference"];
                assert!(figure(figures, "total") > Decimal::ZERO);
            }
        }
        let Some(cursor) = page["next_cursor"].as_str() else { break };
        url = format!("{path}?limit=3&cursor={cursor}");
    }
    assert_eq!(sum, figure(&tried, "difference"));
    assert_eq!(seen.len(), 7, "each open job once, the closed one not: {seen:?}");
    assert!(seen.iter().all(|(id, outcome)| *id != jobs[2] && (outcome == "repriced") == (*id != app.job)));
    let refused = tried["items"].as_array().unwrap().iter().find(|i| text(i, "job_id") == app.job).unwrap();
    assert_eq!(text(&refused["errors"][0], "pointer"), "#/extras/0/item");
    // All over again: nothing is made twice.
    let again = app.act(&format!("{path}?limit=50"), "*").await.ok(200).json();
    assert_eq!(again["repriced"], json!(0));
    for id in &jobs {
        let expected = if *id == jobs[2] { 1 } else { 2 };
        assert_eq!(app.all(&format!("/v1/jobs/{id}/estimates")).await.len(), expected);
    }
    assert_eq!(app.counts().await[3], before[3] + 6);
    for limit in ["0", "51", "x"] {
        app.act(&format!("{path}?limit={limit}"), "*").await.problem(400, "bad-query");
    }
    app.act(&format!("{path}?cursor=abc"), "*").await.problem(400, "bad-query");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn a_batch_sent_many_times_at_once_makes_one_revision_per_job() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let jobs = priced_jobs(&app, 3).await;
    let next = draft(&app, &records, "99.00").await;
    publish(&app, &next, &json!({})).await.ok(200);
    let path = format!("{}/reprice", version_path(&next));
    let mut sends = Vec::new();
    for n in 0..8 {
        let mut ask = Ask::post(&path).key(&app.key);
        if n % 2 == 0 {
            ask = ask.header("idempotency-key", "reprice-all-at-once");
        }
        sends.push(tokio::spawn(crate::app::send(app.router.clone(), ask)));
    }
    for sent in sends {
        sent.await.unwrap().ok(200);
    }
    for id in jobs.iter().chain([&app.job]) {
        assert_eq!(app.all(&format!("/v1/jobs/{id}/estimates")).await.len(), 2);
    }
    // A replay is the first answer, byte for byte.
    let ask = || Ask::post(&path).key(&app.key).header("idempotency-key", "reprice-all-at-once");
    let (first, second) = (app.send(ask()).await.ok(200), app.send(ask()).await.ok(200));
    assert_eq!(first.bytes, second.bytes);
    assert_eq!(first.header("idempotency-replayed"), "true");
}

#[tokio::test]
async fn a_repeat_gets_its_answer_though_the_work_is_refused_by_now() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let next = draft(&app, &records, "99.00").await;
    publish(&app, &next, &json!({})).await.ok(200);
    let one = format!("/v1/jobs/{}/reprice", app.job);
    let all = format!("{}/reprice", version_path(&next));
    let ask = |path: &str, key: &str| Ask::post(path).key(&app.key).header("idempotency-key", key);
    let first = app.send(ask(&one, "reprice-one-job")).await.ok(201);
    let batch = app.send(ask(&all, "reprice-all-jobs")).await.ok(200);
    app.patch(&format!("/v1/jobs/{}", app.job), "*", &json!({"closed": true})).await.ok(200);
    retire(&app, &next, &json!({})).await.ok(200);
    let again = app.send(ask(&one, "reprice-one-job")).await.ok(201);
    assert_eq!(again.header("idempotency-replayed"), "true");
    assert_eq!(again.bytes, first.bytes);
    assert_eq!(app.send(ask(&all, "reprice-all-jobs")).await.ok(200).bytes, batch.bytes);
    app.send(ask(&one, "another-key-for-it")).await.problem(409, "state-conflict");
    app.send(ask(&all, "another-key-for-all")).await.problem(409, "state-conflict");
}

#[tokio::test]
async fn jobs_of_other_books_are_priced_anew_only_when_asked_for() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let jobs = priced_jobs(&app, 2).await;
    let other = json!({"document": records.document, "name": "Another book"});
    let other = app.post("/v1/price-books", &other).await.ok(201).json();
    let version = text(&other["versions"][0], "id");
    publish(&app, &version, &json!({})).await.ok(200);
    let path = format!("{}/reprice", version_path(&version));
    let batch = |query: &str| {
        let (app, path) = (&app, format!("{path}?{query}"));
        async move { app.act(&path, "*").await.ok(200).json() }
    };
    let none = batch("").await;
    assert_eq!(none["items"], json!([]), "the jobs are priced from the first book");
    assert_eq!((&none["repriced"], &none["of_other_books"]), (&json!(0), &json!(3)), "and are counted");
    // A closed one is not passed over for its book.
    app.patch(&format!("/v1/jobs/{}", jobs[0]), "*", &json!({"closed": true})).await.ok(200);
    assert_eq!(batch("").await["of_other_books"], json!(2));
    app.patch(&format!("/v1/jobs/{}", jobs[0]), "*", &json!({"closed": false})).await.ok(200);
    let first = batch("all_books=true&limit=2").await;
    assert_eq!(first["items"].as_array().unwrap().len(), 2, "{first}");
    assert_eq!(first["of_other_books"], json!(0));
    assert_eq!(batch("").await["of_other_books"], json!(1), "the one that the next batch takes");
    let cursor = text(&first, "next_cursor");
    app.act(&format!("{path}?cursor={cursor}"), "*").await.problem(400, "bad-query");
    let last = batch(&format!("all_books=true&cursor={cursor}")).await;
    assert_eq!(text(&last["items"][0], "job_id"), jobs[1], "{last}");
    // Now they are of this book.
    assert_eq!(batch("").await["items"].as_array().unwrap().len(), 3);
}

#[tokio::test]
async fn another_currency_is_no_basis_for_a_difference() {
    let app = TestApp::start().await;
    let records = Records::open(&app).await;
    let euro = draft(&app, &records, "30.00").await;
    app.patch(&format!("{}/document", version_path(&euro)), "*", &json!({"currency": "EUR"})).await.ok(200);
    publish(&app, &euro, &json!({})).await.ok(200);
    let batch = app.act(&format!("{}/reprice", version_path(&euro)), "*").await.ok(200).json();
    assert_eq!(text(&batch["items"][0], "outcome"), "refused");
    assert_eq!(text(&batch["items"][0]["errors"][0], "code"), "currency");
    app.post(&format!("/v1/jobs/{}/reprice", app.job), &json!({})).await.problem(422, "validation-failed");
    let path = format!(
        "{}/difference?from={}&estimate={}",
        version_path(&euro),
        records.published,
        records.estimate
    );
    app.get(&path).await.problem(400, "bad-query");
}
