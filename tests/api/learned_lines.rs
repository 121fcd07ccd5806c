//! Which recorded hours rates are learned from, and what is said of the others.

use crate::app::{TestApp, text};
use crate::learning::{book, job};
use serde_json::{Value, json};
use sqlx::SqlitePool;
use sqlx::sqlite::SqliteConnectOptions;

/// Hours on a task, by a method or without one.
fn hours(task: &str, hours: &str, method: Option<&str>) -> Value {
    let mut entry =
        json!({"kind": "hours", "on": "2026-03-09", "task": task, "trade": "laborer", "hours": hours});
    if let Some(method) = method {
        entry["method"] = json!(method);
    }
    entry
}

/// A finished job with the demo's notes and these records; its id.
async fn finished(app: &TestApp, mut records: Vec<Value>) -> String {
    let notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let job =
        text(&app.post("/v1/jobs", &json!({"title": "Job", "notes": notes})).await.ok(201).json(), "id");
    app.act(&format!("/v1/jobs/{job}/estimates"), "*").await.ok(201);
    app.post(&format!("/v1/jobs/{job}/acceptance"), &json!({"accepted_on": "2026-03-02"})).await.ok(201);
    records.push(json!({"kind": "finished", "on": "2026-03-20"}));
    app.post(&format!("/v1/jobs/{job}/actuals"), &json!({"entries": records})).await.ok(201);
    job
}

/// The line of a task in the comparison of a job.
async fn line(app: &TestApp, job: &str, task: &str) -> Value {
    let told = app.get(&format!("/v1/jobs/{job}/comparison")).await.ok(200).json();
    let tasks = told["tasks"].as_array().unwrap();
    tasks.iter().find(|t| t["task"] == task).unwrap_or_else(|| panic!("no {task} in {told}")).clone()
}

/// The group of these values in the comparison over all jobs.
async fn group(app: &TestApp, by: &str, values: Value) -> Value {
    let told = app.get(&format!("/v1/comparison?by={by}")).await.ok(200).json();
    let groups = told["groups"].as_array().unwrap();
    groups.iter().find(|g| g["values"] == values).unwrap_or_else(|| panic!("no {values} in {told}")).clone()
}

/// What finished jobs propose, all rates taken, nothing kept.
async fn proposed(app: &TestApp) -> Value {
    let path = format!("{}/rate-proposals?validate_only=true", book(app).await);
    let ask = json!({"as_of": "2026-04-01", "take": "all"});
    app.post(&path, &ask).await.ok(200).json()["proposals"].clone()
}

/// Task, method and lines of every rate with lines.
fn rates(proposals: &Value) -> Vec<(String, String, i64)> {
    let rates = proposals["rates"].as_array().unwrap().iter();
    rates.map(|r| (text(r, "task"), text(r, "method"), r["lines"].as_i64().unwrap())).collect()
}

/// What is said of a line that is left out.
fn left_out(proposals: &Value, job: &str, task: &str) -> String {
    let all = proposals["left_out"].as_array().unwrap();
    let of_line = |l: &&Value| l.as_str().unwrap().contains(job) && l.as_str().unwrap().contains(task);
    let found = all.iter().find(of_line).unwrap_or_else(|| panic!("no {job} {task} in {proposals}"));
    found.as_str().unwrap().to_owned()
}

/// One hour by hand beside thirty of which nobody said how does not make all of them hand's.
#[tokio::test]
async fn hours_without_a_method_are_of_the_estimated_one() {
    let app = TestApp::start().await;
    let mini = Some("mini-excavator");
    let plain = finished(&app, vec![hours("dig_line", "30 hr", None), hours("dig_line", "1 hr", mini)]).await;
    let mixed =
        finished(&app, vec![hours("dig_line", "30 hr", None), hours("dig_line", "1 hr", Some("hand"))]).await;
    let told = line(&app, &plain, "dig_line").await;
    assert_eq!((&told["method"], &told["done_by"]), (&json!("mini-excavator"), &json!("mini-excavator")));
    assert!(told.get("by_method").is_none(), "{told}");
    let told = line(&app, &mixed, "dig_line").await;
    assert_eq!(told["done_by"], "mini-excavator", "{told}");
    let by = json!([{"method": "mini-excavator", "actual": {"value": "30", "unit": "hr"}},
        {"method": "hand", "actual": {"value": "1", "unit": "hr"}}]);
    assert_eq!(told["by_method"], by);
    // The hours of the mixed line are no evidence about either rate, and it says so.
    let proposals = proposed(&app).await;
    assert_eq!(rates(&proposals), [("dig_line".to_owned(), "mini-excavator".to_owned(), 1)]);
    let reason = left_out(&proposals, &mixed, "dig_line");
    assert!(reason.contains("`mini-excavator` and `hand`"), "{reason}");
    let one = group(&app, "task,method", json!(["dig_line", "mini-excavator"])).await;
    let several = group(&app, "task,method", json!(["dig_line", "hand + mini-excavator"])).await;
    assert_eq!((&one["jobs"], &several["jobs"]), (&json!(1), &json!(1)));
    assert_eq!(one["estimated"], several["estimated"], "reckoned by the estimated method");
}

/// A new version of the book with these changes in its labor rates, published.
async fn publish(app: &TestApp, change: impl Fn(&mut Vec<Value>)) {
    let made = app.post(&format!("{}/versions", book(app).await), &json!({})).await.ok(201).json();
    let draft = format!("/v1/price-book-versions/{}", text(&made, "id"));
    let document = app.get(&format!("{draft}/document")).await.ok(200).json();
    let mut labor = document["labor"].as_array().unwrap().clone();
    change(&mut labor);
    app.patch(&format!("{draft}/document"), "*", &json!({"labor": labor})).await.ok(200);
    app.act(&format!("{draft}/publish"), "*").await.ok(200);
}

/// A book that has lost the method by which a job was done has no rate that its hours tell of.
#[tokio::test]
async fn hours_by_a_method_that_the_book_lacks_are_charged_to_no_other() {
    let app = TestApp::start().await;
    let trenched = finished(&app, vec![hours("dig_line", "9 hr", Some("trencher"))]).await;
    assert_eq!(rates(&proposed(&app).await), [("dig_line".to_owned(), "trencher".to_owned(), 1)]);
    publish(&app, |labor| labor.retain(|r| r["method"] != "trencher")).await;
    let proposals = proposed(&app).await;
    assert_eq!(rates(&proposals), [], "{proposals}");
    let reason = left_out(&proposals, &trenched, "dig_line");
    assert!(reason.contains("`trencher`, for which this price book has no rate"), "{reason}");
}

/// Where another method has become the usual one, hours without a method are still of the one that was estimated.
#[tokio::test]
async fn the_estimated_method_is_that_of_the_estimate_not_of_the_book_that_is_judged() {
    let app = TestApp::start().await;
    finished(&app, vec![hours("dig_line", "9 hr", None)]).await;
    publish(&app, |labor| {
        for rate in labor.iter_mut().filter(|r| r["task"] == "dig_line") {
            rate["usual"] = json!(rate["method"] == "hand");
        }
    })
    .await;
    assert_eq!(rates(&proposed(&app).await), [("dig_line".to_owned(), "mini-excavator".to_owned(), 1)]);
}

/// What was estimated and not done, and what was done and not estimated: both comparisons say the same of it, and no rate is
/// learned from it.
#[tokio::test]
async fn work_without_a_quantity_and_work_without_an_estimate_teach_nothing() {
    let app = TestApp::start().await;
    let none =
        json!({"kind": "quantity", "on": "2026-03-09", "measure": "run_excavation", "quantity": "0 yd3"});
    let job =
        finished(&app, vec![hours("dig_run", "4 hr", None), none, hours("mix_concrete", "2 hr", None)]).await;
    let told = line(&app, &job, "dig_run").await;
    let value = |told: &Value, member: &str| text(&told[member], "value").parse::<f64>().unwrap();
    assert_eq!((value(&told, "estimated_for_done"), value(&told, "by_rate")), (0.0, 4.0), "{told}");
    assert!(value(&told, "by_quantity") < 0.0 && told.get("actual_pct").is_none(), "{told}");
    let among = group(&app, "job,task", json!([job, "dig_run"])).await;
    for member in ["estimated", "actual", "by_quantity", "by_rate"] {
        assert_eq!(among[member], told[member], "{member}: {among} {told}");
    }
    assert!(among.get("typical_pct").is_none(), "{among}");
    let proposals = proposed(&app).await;
    assert_eq!(rates(&proposals), []);
    let reason = |task: &str| left_out(&proposals, &job, task);
    assert!(reason("dig_run").contains("no quantity of it was done"), "{}", reason("dig_run"));
    assert!(reason("mix_concrete").contains("no hours estimated"), "{}", reason("mix_concrete"));
}

/// A job that was learned from, whose rate was taken and published, moves that rate no more; a further job does.
#[tokio::test]
async fn hours_move_a_rate_once() {
    let app = TestApp::start().await;
    let path = format!("{}/rate-proposals", book(&app).await);
    let propose = async |more: Value| {
        let mut ask = json!({"as_of": "2026-04-01", "take": "all"});
        ask.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        app.post(&path, &ask).await.ok(201).json()
    };
    let publish = async |made: &Value| {
        let draft = format!("/v1/price-book-versions/{}", text(made, "draft_version_id"));
        app.act(&format!("{draft}/publish"), "*").await.ok(200).json()["number"].as_i64().unwrap()
    };
    let since = |made: &Value, job: &str| left_out(&made["proposals"], job, "`dig_run`");
    let line = |job: &str, version: i64| {
        format!("{job} `dig_run`: its hours are in the rates since version {version}")
    };
    let first = finished(&app, vec![hours("dig_run", "9 hr", None)]).await;
    let made = propose(json!({})).await;
    let before = text(&made["proposals"]["price_book"], "version_id");
    // A draft alone changes nothing of the published rates.
    assert_eq!(propose(json!({})).await["proposals"], made["proposals"]);
    let one = publish(&made).await;
    let again = propose(json!({})).await;
    assert_eq!(rates(&again["proposals"]), [], "{again}");
    assert!(again.get("draft_version_id").is_none(), "{again}");
    assert_eq!(since(&again, &first), line(&first, one));
    // A word on the line is no fault: it is left out.
    let word =
        json!({"leave_out": [{"job_id": first, "task": "dig_run", "by": "Office", "reason": "a rock"}]});
    assert_eq!(rates(&propose(word).await["proposals"]), []);
    // Another job moves the rate from where it is.
    let second = finished(&app, vec![hours("dig_run", "8 hr", None)]).await;
    let made = propose(json!({})).await;
    assert_eq!(rates(&made["proposals"]), [("dig_run".to_owned(), "hand".to_owned(), 1)]);
    let two = publish(&made).await;
    let again = propose(json!({})).await;
    assert_eq!(rates(&again["proposals"]), []);
    assert_eq!((since(&again, &first), since(&again, &second)), (line(&first, one), line(&second, two)));
    // By the rates before both, both tell.
    let old = propose(json!({"price_book_version": before})).await;
    assert_eq!(rates(&old["proposals"]), [("dig_run".to_owned(), "hand".to_owned(), 2)]);
}

/// Proposals of old do not say whose hours moved the rates. A job that was recorded after they were made did not, however early it
/// was finished.
#[tokio::test]
async fn a_job_recorded_after_proposals_of_old_is_learned() {
    let app = TestApp::start().await;
    let path = format!("{}/rate-proposals", book(&app).await);
    let propose =
        async || app.post(&path, &json!({"as_of": "2026-04-01", "take": "all"})).await.ok(201).json();
    let early = finished(&app, vec![hours("dig_run", "9 hr", None)]).await;
    let made = propose().await;
    let draft = format!("/v1/price-book-versions/{}", text(&made, "draft_version_id"));
    app.act(&format!("{draft}/publish"), "*").await.ok(200);
    let file = SqliteConnectOptions::new().filename(&app.state.inner.config.database);
    let raw = SqlitePool::connect_with(file).await.unwrap();
    sqlx::query("DROP TRIGGER rate_proposals_never_change").execute(&raw).await.unwrap();
    let of_old = "UPDATE rate_proposals SET document = json_remove(document, '$.learned_from')";
    assert_eq!(sqlx::query(of_old).execute(&raw).await.unwrap().rows_affected(), 1);
    raw.close().await;
    let late = finished(&app, vec![hours("dig_run", "8 hr", None)]).await;
    let again = propose().await;
    assert_eq!(rates(&again["proposals"]), [("dig_run".to_owned(), "hand".to_owned(), 1)], "{again}");
    assert!(left_out(&again["proposals"], &early, "`dig_run`").contains("in the rates since version"));
    let list = again["proposals"]["left_out"].as_array().unwrap();
    assert!(!list.iter().any(|l| l.as_str().unwrap().contains(&format!("{late} `dig_run`"))), "{again}");
}

/// The settings of a normal model with known spreads, in which jobs learned in two goes make what they make in one.
fn plain_model(more: Value) -> Value {
    let mut ask = json!({"as_of": "2026-04-01", "take": "all", "settings": {"book_pct": "20", "line_pct": "25", "job_pct": "0",
        "class_share_pct": "0", "fixed_spread": true, "half_life_days": 36500}});
    ask.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
    ask
}

/// The rate of digging lines in proposals: its hours as proposed, and how well it is known, in percent.
fn digging(made: &Value) -> (f64, f64) {
    let rates = made["proposals"]["rates"].as_array().unwrap();
    let rate = rates.iter().find(|r| r["task"] == "dig_line").unwrap_or_else(|| panic!("{made}"));
    let hours = rate["hours"].as_array().unwrap().iter().find(|h| h.get("measure").is_some()).unwrap();
    let number = |value: &Value| value.as_str().unwrap().parse::<f64>().unwrap();
    (number(&hours["new"]), number(&rate["spread"]["rate_pct"]))
}

/// Ten jobs that a rate was learned from are not forgotten when five more come: the rate lands where all fifteen put it.
#[tokio::test]
async fn what_a_rate_was_learned_from_weighs_on() {
    for quoted in ["median", "mean"] {
        let app = TestApp::start().await;
        let path = format!("{}/rate-proposals", book(&app).await);
        let propose = async |more: Value| app.post(&path, &plain_model(more)).await.ok(201).json();
        for _ in 0..10 {
            finished(&app, vec![hours("dig_line", "7.2 hr", None)]).await;
        }
        let number = json!({"number": quoted});
        let first = propose(number.clone()).await;
        let draft = format!("/v1/price-book-versions/{}", text(&first, "draft_version_id"));
        app.act(&format!("{draft}/publish"), "*").await.ok(200);
        for _ in 0..5 {
            finished(&app, vec![hours("dig_line", "4.6 hr", None)]).await;
        }
        let again = propose(number).await;
        let judged = text(&first["proposals"]["price_book"], "version_id");
        let together = propose(json!({"number": quoted, "price_book_version": judged})).await;
        let ((hours, rate_pct), (all_hours, all_pct)) = (digging(&again), digging(&together));
        assert!((hours / all_hours - 1.0).abs() < 2e-4, "{quoted}: {hours} and {all_hours}");
        assert!((rate_pct - all_pct).abs() < 0.011, "{quoted}: {rate_pct} and {all_pct}");
        assert!(rate_pct < digging(&first).1, "{rate_pct} is better known than {first}");
        if quoted == "median" {
            // From 0.28 h; one after the other without what was known, the second would be 0.26.
            assert!((digging(&first).0 - 0.3552).abs() < 5e-4 && (hours - 0.3138).abs() < 5e-4, "{hours}");
        }
        let rate = &again["proposals"]["rates"][0];
        let (evidence, why) = (text(rate, "evidence"), text(rate, "enough_basis"));
        assert!(
            evidence.contains("the rate as it was learned before (")
                && evidence.contains("known to 0.0735) the rest"),
            "{evidence}"
        );
        assert!(why.starts_with("5 lines counted beside 10 in the rate already"), "{why}");
        assert_eq!(rate["lines"], 5);
    }
}

/// The effect on a past job is what the draft would estimate, rounded task by task, beside all hours that it took: also those on a
/// task that nobody estimated.
#[tokio::test]
async fn the_effect_is_what_the_draft_estimates_and_all_that_the_job_took() {
    let app = TestApp::start().await;
    let slow = |task: &str| if task == "dig_run" || task == "pour" { 1.5 } else { 1.0 };
    let mut jobs = Vec::new();
    for number in 0..3 {
        jobs.push(job(&app, number, "2026-03-09", slow).await);
    }
    let more = json!({"entries": [hours("mix_concrete", "2 hr", None)]});
    app.post(&format!("/v1/jobs/{}/actuals", jobs[2]), &more).await.ok(201);
    let ask = json!({"as_of": "2026-04-01", "take": "all", "effect_on_job": jobs[2]});
    let made = app.post(&format!("{}/rate-proposals", book(&app).await), &ask).await.ok(201).json();
    let effect = &made["proposals"]["effect"];
    let draft = text(&made, "draft_version_id");
    app.act(&format!("/v1/price-book-versions/{draft}/publish"), "*").await.ok(200);
    let notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let by = async |version: &str| {
        let ask = json!({"notes": notes, "price_book_version": version});
        let told = app.post("/v1/calculators/labor-hours", &ask).await.ok(200).json();
        told["labor"]["person_hours"].clone()
    };
    let judged = text(&made["proposals"]["price_book"], "version_id");
    assert_eq!((&effect["old"], &effect["new"]), (&by(&judged).await, &by(&draft).await), "{effect}");
    assert_ne!(effect["old"], effect["new"]);
    let told = app.get(&format!("/v1/jobs/{}/comparison", jobs[2])).await.ok(200).json();
    let number = |told: &Value| text(&told["actual"], "value").parse::<f64>().unwrap();
    assert!((number(effect) - number(&told)).abs() < 1e-3, "{effect} {}", told["actual"]);
}
