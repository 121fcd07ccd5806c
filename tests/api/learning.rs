//! What finished jobs teach, from the first record to the draft of a price book.

use crate::app::{TestApp, fault, faults_in, text};
use crate::records::{Records, terms};
use rillcast::compute::job_record::JobActuals;
use rillcast::compute::pipeline;
use rillcast::domain::book::PriceBook;
use rillcast::domain::demo;
use rillcast::wire::notes::SiteNotes;
use rillcast::wire::read_document;
use serde_json::{Value, json};

/// Hours of people by task and trade of an estimate: crew-hours times people.
fn hours(estimate: &Value) -> Vec<(String, String, f64)> {
    let mut out = Vec::new();
    for task in estimate["estimate"]["labor"]["tasks"].as_array().unwrap() {
        let crew: f64 = task["crew_hours"]["value"].as_str().unwrap().parse().unwrap();
        for member in task["crew"].as_array().unwrap() {
            let people = member["count"].as_f64().unwrap();
            out.push((text(task, "task"), text(member, "trade"), crew * people));
        }
    }
    out
}

/// Hours of people by task and trade of the demo's notes by its book: as paid, or as the rates give them before rounding.
fn demo_hours(paid: bool) -> Vec<(String, String, f64)> {
    let book = read_document(demo::BOOK.as_bytes()).unwrap();
    let notes: SiteNotes = read_document(demo::NOTES.as_bytes()).unwrap();
    let (book, rains) = (PriceBook::published(book), demo::rains().unwrap());
    let hours = pipeline::hours_for(&notes, &book, &JobActuals::default(), false, &rains).unwrap();
    let mut out = Vec::new();
    for task in hours.estimated.tasks {
        let people: i64 = task.crew.iter().map(|c| c.count).sum();
        let net: f64 = task.net.to_string().parse().unwrap();
        let each = if paid { task.seconds as f64 / 3600.0 } else { net / people as f64 };
        out.extend(task.crew.iter().map(|c| (task.task.to_string(), c.trade.clone(), each * c.count as f64)));
    }
    out
}

/// A finished job with the demo's notes on which every task took `ratio(task)` of what its rate gives.
pub(crate) async fn job(app: &TestApp, number: usize, finished: &str, ratio: impl Fn(&str) -> f64) -> String {
    job_of(app, number, finished, demo_hours(false), ratio).await
}

async fn job_of(
    app: &TestApp,
    number: usize,
    finished: &str,
    hours: Vec<(String, String, f64)>,
    ratio: impl Fn(&str) -> f64,
) -> String {
    let notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let body = json!({"title": format!("Job {number}"), "notes": notes});
    let job = text(&app.post("/v1/jobs", &body).await.ok(201).json(), "id");
    app.act(&format!("/v1/jobs/{job}/estimates"), "*").await.ok(201);
    app.post(&format!("/v1/jobs/{job}/acceptance"), &json!({"accepted_on": "2026-01-05"})).await.ok(201);
    let mut entries: Vec<Value> = hours
        .into_iter()
        .map(|(task, trade, hours)| {
            let seconds = (hours * 3600.0 * ratio(&task)).round();
            json!({"kind": "hours", "on": finished, "task": task, "trade": trade, "crew": "crew-1",
                "hours": format!("{:.4} min", seconds / 60.0)})
        })
        .collect();
    entries.push(json!({"kind": "finished", "on": finished}));
    app.post(&format!("/v1/jobs/{job}/actuals"), &json!({"entries": entries})).await.ok(201);
    job
}

pub(crate) async fn book(app: &TestApp) -> String {
    format!("/v1/price-books/{}", text(&app.all("/v1/price-books").await[0], "id"))
}

fn rate<'v>(proposals: &'v Value, task: &str) -> &'v Value {
    let rates = proposals["proposals"]["rates"].as_array().unwrap();
    rates.iter().find(|r| r["task"] == task).unwrap_or_else(|| panic!("no rate of {task}"))
}

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

/// Work that an accepted change order added was promised by its revision: hours that are just what that one says are no overrun.
#[tokio::test]
async fn a_job_that_grew_is_measured_against_what_its_contract_says_now() {
    let app = TestApp::start().await;
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let first = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({"notes": notes})).await.ok(201);
    app.contract(&app.job, &terms(&text(&first.json(), "id"))).await;
    notes["runs"][0]["legs"][0]["length"] = json!("150 ft");
    let second = app.post(&format!("/v1/jobs/{}/estimates", app.job), &json!({"notes": notes})).await.ok(201);
    let second = second.json();
    let id = text(&second, "id");
    let body = json!({"title": "Longer", "basis": {"kind": "revision", "estimate_id": id}});
    let change = app.money(&format!("/v1/jobs/{}/change-orders", app.job), &body).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&change, "id"));
    app.money(&format!("{change}/issue"), &json!({"on": "2026-02-11"})).await.ok(200);
    let comparison = format!("/v1/jobs/{}/comparison", app.job);
    let before = app.get(&comparison).await.ok(200).json();
    assert_eq!(text(&before, "estimate_id"), text(&first.json(), "id"), "an offer alone changes nothing");
    app.money(&format!("{change}/accept"), &json!({"on": "2026-02-12", "by": "Household"})).await.ok(200);
    let mut entries: Vec<Value> = hours(&second)
        .into_iter()
        .map(|(task, trade, hours)| {
            json!({"kind": "hours", "on": "2026-03-09", "task": task, "trade": trade,
                "hours": format!("{:.4} min", hours * 60.0)})
        })
        .collect();
    entries.push(json!({"kind": "finished", "on": "2026-03-09"}));
    app.post(&format!("/v1/jobs/{}/actuals", app.job), &json!({"entries": entries})).await.ok(201);
    let told = app.get(&comparison).await.ok(200).json();
    assert_eq!(text(&told, "estimate_id"), id);
    for line in told["tasks"].as_array().unwrap() {
        assert_eq!(line["estimated"], line["actual"], "{line}");
    }
    let many = app.get("/v1/comparison?by=job").await.ok(200).json();
    let group = &many["groups"][0];
    assert_eq!(group["estimated"], group["actual"], "{group}");
}

/// Ten jobs on which digging took 1.10, .95, 1.25, 1.40, 1.10, .95, 1.25, 1.40, 1.20, 1.30 of what its rate gives and all else
/// what theirs give. Posterior of a normal mean with known variance (prior N(0, tau²), line N(mu, s²)), here worked out beside
/// the service: weight n tau² / (n tau² + s²), mean weight x mean of the logarithms (precision weighting: CRAN glmbayes,
/// vignette chapter 2, read).
#[tokio::test]
async fn ten_finished_jobs_move_the_rates_the_right_way_by_the_right_amount() {
    let app = TestApp::start().await;
    let ratios = [1.10, 0.95, 1.25, 1.40, 1.10, 0.95, 1.25, 1.40, 1.20, 1.30];
    let mut jobs = Vec::new();
    for (i, ratio) in ratios.iter().enumerate() {
        jobs.push(job(&app, i, "2026-06-01", |t| if t == "dig_run" { *ratio } else { 1.0 }).await);
    }
    let book = book(&app).await;
    let before = app.all(&format!("{book}/versions")).await.len();
    let ask = json!({"as_of": "2026-06-01", "effect_on_job": jobs[9], "settings":
        {"book_pct": "20", "line_pct": "25", "job_pct": "0", "class_share_pct": "0", "fixed_spread": true}});
    let trial = app.post(&format!("{book}/rate-proposals?validate_only=true"), &ask).await.ok(200).json();
    assert!(trial.get("id").is_none() && trial.get("draft_version_id").is_none());
    assert_eq!(app.all(&format!("{book}/versions")).await.len(), before, "a trial keeps nothing");
    let made = app.post(&format!("{book}/rate-proposals"), &ask).await.ok(201);
    let proposals = made.json();
    assert_eq!(trial["proposals"], proposals["proposals"]);
    assert_eq!(proposals["proposals"]["rule"], "learning.rates");

    let (n, tau, s) = (10.0, 0.20_f64, 0.25_f64);
    let mean: f64 = ratios.iter().map(|r: &f64| r.ln()).sum::<f64>() / n;
    let weight = n * tau * tau / (n * tau * tau + s * s);
    let expected = (weight * mean).exp();
    let dig = rate(&proposals, "dig_run");
    assert!((number(&dig["ratio"]) - expected).abs() < 2e-4, "{} and {expected}", dig["ratio"]);
    assert_eq!((&dig["enough"], &dig["taken"], &dig["lines"]), (&json!(true), &json!(true), &json!(10)));
    // Ten lines that took what their rate gives leave it where it is, as near as hours are recorded: to the second.
    for other in proposals["proposals"]["rates"].as_array().unwrap().iter().filter(|r| r["task"] != "dig_run")
    {
        assert!((number(&other["ratio"]) - 1.0).abs() < 1e-3, "{other}");
    }
    // Next job: rate, and line. P80 by the closed form of the log-normal.
    let sd = (tau * tau * (1.0 - weight) + s * s).sqrt();
    let p80 = (weight * mean + 0.841_621_233_572_914_3 * sd).exp();
    assert!((number(&dig["next_job"]["p80"]) - p80).abs() < 2e-4, "{} and {p80}", dig["next_job"]["p80"]);

    // The draft has the new rate, nothing else has changed, and the published book is as it was.
    let draft = format!("/v1/price-book-versions/{}/document", text(&proposals, "draft_version_id"));
    let draft = app.get(&draft).await.ok(200).json();
    let demo: Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    let clay = |doc: &Value| {
        let rate = doc["labor"].as_array().unwrap().iter().find(|r| r["task"] == "dig_run").unwrap().clone();
        number(&rate["rates"][2]["hours"])
    };
    assert!((clay(&draft) - 1.66 * expected).abs() < 4e-4);
    assert_eq!(clay(&demo), 1.66);
    assert_eq!(draft["items"], demo["items"]);
    assert_eq!(draft["plan_rules"]["crews"], demo["plan_rules"]["crews"]);

    // The effect on the last job, where digging took 1.30: more than by the old rates. What it took was not rounded up.
    let effect = &proposals["proposals"]["effect"];
    let [old, new, actual] = ["old", "new", "actual"].map(|m| number(&effect[m]["value"]));
    let took =
        |(task, _, hours): &(String, String, f64)| if task == "dig_run" { 1.30 * hours } else { *hours };
    let took: f64 = demo_hours(false).iter().map(took).sum();
    assert!(old < new && (actual - took).abs() < 0.01, "{took} {effect}");
    assert_eq!(app.get(&made.header("location")).await.ok(200).json(), proposals);
}

#[tokio::test]
async fn few_jobs_are_not_enough_and_a_class_teaches_its_rates() {
    let app = TestApp::start().await;
    for i in 0..3 {
        job(&app, i, "2026-06-01", |t| if t.starts_with("dig") { 1.3 } else { 1.0 }).await;
    }
    let book = book(&app).await;
    let path = format!("{book}/rate-proposals");
    let apart = json!({"as_of": "2026-06-01", "settings": {"class_share_pct": "0", "job_pct": "0", "fixed_spread": true}});
    let apart = app.post(&path, &apart).await.ok(201).json();
    assert_eq!(rate(&apart, "dig_run")["enough"], false);
    assert!(apart.get("draft_version_id").is_none(), "nothing is taken, nothing is drafted");
    let together = json!({"as_of": "2026-06-01", "settings": {"class_share_pct": "80", "job_pct": "0", "fixed_spread": true}});
    let together = app.post(&path, &together).await.ok(201).json();
    // Backfill took what its rate gives, to the second; its class was slow.
    assert!((number(&rate(&apart, "backfill")["ratio"]) - 1.0).abs() < 1e-3);
    assert!(number(&rate(&together, "backfill")["ratio"]) > 1.01);
    // Old jobs fade: years later the same three jobs weigh less.
    let later = json!({"as_of": "2032-06-01", "settings": {"class_share_pct": "0", "job_pct": "0", "fixed_spread": true}});
    let later = app.post(&path, &later).await.ok(201).json();
    assert!(number(&rate(&later, "dig_run")["ratio"]) < number(&rate(&apart, "dig_run")["ratio"]));
    // Before they were finished there is nothing to learn from them.
    let early = json!({"as_of": "2026-05-01"});
    let early = app.post(&path, &early).await.ok(201).json();
    assert_eq!(
        (early["proposals"]["jobs"].as_i64(), early["proposals"]["rates"].as_array().map(Vec::len)),
        (Some(0), Some(0))
    );
    assert!(early["proposals"]["left_out"].to_string().contains("finished on 2026-06-01"));
}

#[tokio::test]
async fn an_outlier_is_flagged_and_left_out_only_by_a_persons_word() {
    let app = TestApp::start().await;
    let mut jobs = Vec::new();
    for i in 0..7 {
        let slip = if i == 6 { 6.0 } else { 1.0 + 0.02 * i as f64 };
        jobs.push(job(&app, i, "2026-06-01", |t| if t == "dig_run" { slip } else { 1.0 }).await);
    }
    let path = format!("{}/rate-proposals", book(&app).await);
    let all = app.post(&path, &json!({"as_of": "2026-06-01", "take": "all"})).await.ok(201).json();
    let dig = rate(&all, "dig_run");
    assert_eq!(dig["flagged"].as_array().unwrap().len(), 1);
    assert_eq!(dig["flagged"][0]["job_id"], json!(jobs[6]));
    assert_eq!(dig["lines"], 7, "it counts all the same");
    let word = json!([{"job_id": jobs[6], "task": "dig_run", "by": "Site office", "reason": "an old foundation in the trench"}]);
    let ask = json!({"as_of": "2026-06-01", "take": "all", "leave_out": word});
    let without = app.post(&path, &ask).await.ok(201).json();
    let left = rate(&without, "dig_run");
    assert_eq!((&left["lines"], left["left_out"].as_array().map(Vec::len)), (&json!(6), Some(1)));
    assert_eq!(left["left_out"][0]["reason"], "an old foundation in the trench");
    assert!(number(&left["ratio"]) < number(&dig["ratio"]));
    let nothing = json!([{"job_id": jobs[0], "task": "mix_concrete", "by": "x", "reason": "y"}]);
    let answer = app.post(&path, &json!({"as_of": "2026-06-01", "leave_out": nothing})).await;
    assert_eq!(answer.pointers(), ["#/leave_out/0"]);
    let answer = app.post(&path, &json!({"as_of": "2026-06-01", "effect_on_job": "job_x"})).await;
    assert_eq!(answer.pointers(), ["#/effect_on_job"]);
}

#[tokio::test]
async fn records_are_corrected_by_later_ones_and_never_change() {
    let app = TestApp::start().await;
    let path = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    let dig = |hours: &str| json!({"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": hours});
    let send = async |entry: Value| app.post(&path("actuals"), &json!({"entries": [entry]})).await;
    send(dig("6 hr")).await.problem(409, "state-conflict");
    app.post(&path("acceptance"), &json!({"accepted_on": "2026-03-02"})).await.problem(409, "state-conflict");
    let estimate = app.act(&path("estimates"), "*").await.ok(201).json();
    let accepted = json!({"accepted_on": "2026-03-02", "estimate_id": estimate["id"]});
    app.post(&path("acceptance"), &accepted).await.ok(201);
    app.post(&path("acceptance"), &accepted).await.ok(200);
    let other = app.act(&path("estimates"), "*").await.ok(201).json();
    let again = json!({"accepted_on": "2026-03-02", "estimate_id": other["id"]});
    let told = app.post(&path("acceptance"), &again).await.problem(409, "state-conflict");
    assert_eq!(faults_in(&told), fault("#/estimate_id", "accepted_already"));
    // Another day is no repeat either: it would be lost without a word.
    let later = json!({"accepted_on": "2026-03-05", "estimate_id": estimate["id"]});
    let told = app.post(&path("acceptance"), &later).await.problem(409, "state-conflict");
    assert_eq!(faults_in(&told), fault("#/accepted_on", "accepted_already"));
    assert_eq!(told["errors"][0]["allowed"], json!(["2026-03-02"]), "{told}");
    let newest = app.post(&path("acceptance"), &json!({"accepted_on": "2026-03-05"})).await;
    let told = newest.problem(409, "state-conflict");
    assert_eq!(told["errors"].as_array().unwrap().len(), 2, "{told}");
    assert_eq!(told["errors"][0]["pointer"], "#", "left out, it is no member that could be pointed at");
    assert_eq!(app.get(&path("acceptance")).await.ok(200).json()["accepted_on"], "2026-03-02");
    let unknown = json!({"accepted_on": "2099-03-02", "estimate_id": "est_x"});
    let answer = app.post(&path("acceptance"), &unknown).await;
    assert_eq!(answer.pointers(), ["#/accepted_on", "#/estimate_id"]);

    let first = send(dig("16 hr")).await.ok(201).json();
    let actual = async || {
        let comparison = app.get(&path("comparison")).await.ok(200).json();
        let tasks = comparison["tasks"].as_array().unwrap().clone();
        let dig = tasks.into_iter().find(|t| t["task"] == "dig_run").unwrap();
        number(&dig["actual"]["value"])
    };
    assert_eq!(actual().await, 16.0);
    let mut right = dig("6 hr");
    right["corrects"] = first["items"][0]["id"].clone();
    let second = send(right.clone()).await.ok(201).json();
    assert_eq!(actual().await, 6.0);
    // What is corrected already, what is not there, what is of another kind.
    let fault = async |entry: Value| {
        let problem = send(entry).await.problem(422, "validation-failed");
        (text(&problem["errors"][0], "pointer"), text(&problem["errors"][0], "code"))
    };
    let at = |p: &str, c: &str| (format!("#/entries/0/{p}"), c.to_owned());
    assert_eq!(fault(right).await, at("corrects", "corrected_already"));
    let mut entry = dig("6 hr");
    entry["corrects"] = json!("act_x");
    assert_eq!(fault(entry).await, at("corrects", "unknown_record"));
    let entry = json!({"kind": "finished", "on": "2026-03-20", "corrects": second["items"][0]["id"]});
    assert_eq!(fault(entry).await, at("corrects", "other_kind"));
    assert_eq!(fault(dig("-2 hr")).await.0, "#/entries/0/hours");
    assert_eq!(fault(dig("0 hr")).await, at("hours", "out_of_range"));
    let mut entry = dig("6 hr");
    entry["on"] = json!("2026-02-30");
    assert_eq!(fault(entry.clone()).await, at("on", "date"));
    entry["on"] = json!("2099-01-01");
    entry["trade"] = json!("diver");
    let problem = send(entry).await.pointers();
    assert_eq!(problem, ["#/entries/0/on", "#/entries/0/trade"], "all at once");
    // A void takes it out; half of a list is never written.
    let void = json!({"kind": "void", "on": "2026-03-10", "corrects": second["items"][0]["id"], "reason": "another job's sheet"});
    let half = json!({"entries": [void, dig("0 hr")]});
    assert_eq!(app.post(&path("actuals"), &half).await.pointers(), ["#/entries/1/hours"]);
    assert_eq!(actual().await, 6.0);
    send(void).await.ok(201);
    assert_eq!(actual().await, 0.0);
    send(json!({"kind": "finished", "on": "2026-03-20"})).await.ok(201);
    assert_eq!(fault(json!({"kind": "finished", "on": "2026-03-21"})).await.1, "finished_already");
    let list = app.all(&path("actuals")).await;
    assert_eq!(list.len(), 4);
    assert_eq!(list[0]["entry"]["hours"], json!({"value": "16", "unit": "hr"}), "the first is as it was");
}

#[tokio::test]
async fn no_hours_come_after_the_end_and_no_end_before_hours() {
    let app = TestApp::start().await;
    let path = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    app.act(&path("estimates"), "*").await.ok(201);
    app.post(&path("acceptance"), &json!({"accepted_on": "2026-03-02"})).await.ok(201);
    let send = async |entries: Value| app.post(&path("actuals"), &json!({"entries": entries})).await;
    let dig =
        |on: &str| json!({"kind": "hours", "on": on, "task": "dig_run", "trade": "laborer", "hours": "6 hr"});
    let end = |on: &str| json!({"kind": "finished", "on": on});
    let faults = async |entries: Value| {
        let problem = send(entries).await.problem(422, "validation-failed");
        let told = |e: &Value| (text(e, "pointer"), text(e, "code"));
        problem["errors"].as_array().unwrap().iter().map(told).collect::<Vec<_>>()
    };
    let at = |i: usize, code: &str| vec![(format!("#/entries/{i}/on"), code.to_owned())];
    // work may begin on a word that is put down later
    let early = send(json!([dig("2026-02-27"), dig("2026-03-09")])).await.ok(201).json();
    assert_eq!(faults(json!([end("2026-03-05")])).await, at(0, "before_the_last_hours"));
    assert_eq!(faults(json!([dig("2026-03-10"), end("2026-03-09")])).await, at(0, "after_the_end"));
    let ended = send(json!([end("2026-03-09")])).await.ok(201).json();
    assert_eq!(faults(json!([dig("2026-03-10")])).await, at(0, "after_the_end"));
    send(json!([dig("2026-03-09")])).await.ok(201);
    // corrections stay possible: of the end together with later hours, of hours with an earlier end
    let again = |mut entry: Value, record: &Value| {
        entry["corrects"] = record["id"].clone();
        entry
    };
    let later = again(end("2026-03-12"), &ended["items"][0]);
    let moved = send(json!([dig("2026-03-12"), later])).await.ok(201).json();
    let sooner = again(end("2026-03-09"), &moved["items"][1]);
    assert_eq!(faults(json!([sooner.clone()])).await, at(0, "before_the_last_hours"));
    send(json!([sooner, again(dig("2026-03-09"), &moved["items"][0])])).await.ok(201);
    let void = json!({"kind": "void", "on": "2026-03-13", "reason": "another job's", "corrects": early["items"][0]["id"]});
    send(json!([void])).await.ok(201);
}

/// Two records of one ticket are the same truck; two suppliers may have tickets of one number.
#[tokio::test]
async fn a_ticket_of_concrete_is_recorded_once() {
    let app = TestApp::start().await;
    let path = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    app.act(&path("estimates"), "*").await.ok(201);
    app.post(&path("acceptance"), &json!({"accepted_on": "2026-03-02"})).await.ok(201);
    let send = async |entries: Value| app.post(&path("actuals"), &json!({"entries": entries})).await;
    let ticket = |number: &str, volume: &str| json!({"kind": "concrete", "on": "2026-03-11", "ticket": number, "volume": volume});
    let of = |supplier: &str, volume: &str| {
        let mut entry = ticket("T-1", volume);
        entry["supplier"] = json!(supplier);
        entry
    };
    let concrete = async || {
        let comparison = app.get(&path("comparison")).await.ok(200).json();
        number(&comparison["concrete"]["delivered"]["value"])
    };
    let kept = send(json!([ticket("T-1", "2 yd3"), ticket("T-2", "1 yd3")])).await.ok(201).json();
    assert_eq!(concrete().await, 3.0);
    let refused = async |entries: Value| {
        let told = send(entries).await.problem(422, "validation-failed");
        let fault = told["errors"][0].clone();
        assert_eq!(fault["code"], "recorded_already", "{told}");
        (text(&fault, "pointer"), text(&fault, "detail"))
    };
    let (pointer, detail) = refused(json!([ticket("T-1", "1.5 yd3")])).await;
    assert_eq!(pointer, "#/entries/0/ticket");
    let id = text(&kept["items"][0], "id");
    assert!([&id, "T-1", "2026-03-11", "`supplier`"].iter().all(|w| detail.contains(*w)), "{detail}");
    // Neither twice in one request, nor written another way, nor with a supplier while the first names none.
    assert_eq!(
        refused(json!([ticket("T-3", "1 yd3"), ticket("T-3", "1 yd3")])).await.0,
        "#/entries/1/ticket"
    );
    refused(json!([ticket(" t-1 ", "1 yd3")])).await;
    refused(json!([of("Harrow Ready-Mix", "1 yd3")])).await;
    assert_eq!(concrete().await, 3.0, "nothing was written");
    // The first is corrected as any record is: its volume, and whose it is. Then another supplier's stands beside it.
    let mut right = of("Harrow Ready-Mix", "2.5 yd3");
    right["corrects"] = json!(id);
    let kept = send(json!([right, of("Tern Lane", "1 yd3")])).await.ok(201).json();
    assert_eq!(concrete().await, 4.5);
    refused(json!([of("tern lane", "1 yd3")])).await;
    // What is taken out can be recorded anew.
    let void = json!({"kind": "void", "on": "2026-03-12", "corrects": kept["items"][1]["id"], "reason": "another job's"});
    send(json!([void, of("Tern Lane", "0.5 yd3")])).await.ok(201);
    assert_eq!(concrete().await, 4.0);
}

/// Hours are of a run or line that the job has, and of a crew that there is.
#[tokio::test]
async fn hours_name_parts_and_crews_that_there_are() {
    let app = TestApp::start().await;
    let path = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    let first = text(&app.act(&path("estimates"), "*").await.ok(201).json(), "id");
    app.contract(&app.job, &crate::records::terms(&first)).await;
    let notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    let (run, line) = (text(&notes["runs"][0], "id"), text(&notes["drain_lines"][0], "id"));
    let on = |part: &str, crew: &str| {
        json!({"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "1 hr",
            "part": part, "crew": crew})
    };
    let send = async |entries: Value| app.post(&path("actuals"), &json!({"entries": entries})).await;
    send(json!([on(&run, "crew-1"), on(&line, "crew-2")])).await.ok(201);
    let near = format!("{run}x");
    let told = send(json!([on(&near, "crew-11")])).await.problem(422, "validation-failed");
    let errors = told["errors"].as_array().unwrap();
    let at: Vec<(String, String)> = errors.iter().map(|e| (text(e, "pointer"), text(e, "code"))).collect();
    let code = |p: &str| (format!("#/entries/0/{p}"), "unknown_code".to_owned());
    assert_eq!(at, [code("part"), code("crew")], "{told}");
    assert!(text(&errors[0], "detail").contains(&format!("did you mean `{run}`?")), "{told}");
    assert!(errors[0]["allowed"].as_array().unwrap().contains(&json!(line)), "{told}");
    assert_eq!(errors[1]["allowed"], json!(["crew-1", "crew-2"]));
    // A run that a change order brought, and one that the notes of the job have by now.
    let renamed = |name: &str| {
        let mut more: Value = json!({"runs": [{"id": name, "legs": [{"length": "24 ft"}], "channel_system": "channel-4-light",
            "crossing": "feet", "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]});
        more["title"] = json!("More");
        more
    };
    send(json!([on("court", "crew-1")])).await.problem(422, "validation-failed");
    let second = app.post(&path("estimates"), &json!({"notes": renamed("court")})).await.ok(201).json();
    let change = json!({"title": "Other", "basis": {"kind": "revision", "estimate_id": second["id"]}});
    let change = app.money(&path("change-orders"), &change).await.ok(201).json();
    let change = format!("/v1/change-orders/{}", text(&change, "id"));
    app.money(&format!("{change}/issue"), &json!({"on": "2026-02-11"})).await.ok(200);
    app.money(&format!("{change}/accept"), &json!({"by": "H", "on": "2026-02-12"})).await.ok(200);
    send(json!([on("court", "crew-1"), on(&run, "crew-1")])).await.ok(201);
    send(json!([on("yard", "crew-1")])).await.problem(422, "validation-failed");
    app.patch(&format!("/v1/jobs/{}", app.job), "*", &json!({"notes": renamed("yard")})).await.ok(200);
    send(json!([on("yard", "crew-1")])).await.ok(201);
    // A crew hired since the job was accepted stands in the book of today.
    let made = app.post(&format!("{}/versions", book(&app).await), &json!({})).await.ok(201).json();
    let draft = format!("/v1/price-book-versions/{}", text(&made, "id"));
    let document = app.get(&format!("{draft}/document")).await.ok(200).json();
    let mut crews = document["plan_rules"]["crews"].as_array().unwrap().clone();
    let mut hired = crews[0].clone();
    hired["code"] = json!("crew-3");
    crews.push(hired);
    send(json!([on("yard", "crew-3")])).await.problem(422, "validation-failed");
    app.patch(&format!("{draft}/document"), "*", &json!({"plan_rules": {"crews": crews}})).await.ok(200);
    app.act(&format!("{draft}/publish"), "*").await.ok(200);
    send(json!([on("yard", "crew-3")])).await.ok(201);
    let told = send(json!([on("yard", "crew-4")])).await.problem(422, "validation-failed");
    assert_eq!(told["errors"][0]["allowed"], json!(["crew-1", "crew-2", "crew-3"]), "{told}");
}

#[tokio::test]
async fn the_difference_is_split_into_quantity_and_rate() {
    let app = TestApp::start().await;
    let path = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    let estimate = app.act(&path("estimates"), "*").await.ok(201).json();
    app.post(&path("acceptance"), &json!({"accepted_on": "2026-03-02"})).await.ok(201);
    // Twice the trench was dug: at 1.66 h for a yard the rate gives 2 x 1.5962 yd3 x 1.66 h = 5.299 person-hours, 2.75 h for two.
    let entries = json!({"entries": [
        {"kind": "quantity", "on": "2026-03-09", "measure": "run_excavation", "quantity": "3.1924 yd3"},
        {"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "7 hr"}]});
    app.post(&path("actuals"), &entries).await.ok(201);
    let comparison = app.get(&path("comparison")).await.ok(200).json();
    let dig = comparison["tasks"].as_array().unwrap().iter().find(|t| t["task"] == "dig_run").unwrap();
    let of = |m: &str| number(&dig[m]["value"]);
    let estimated = hours(&estimate).iter().find(|(t, ..)| t == "dig_run").unwrap().2;
    assert_eq!((of("estimated"), of("estimated_for_done"), of("actual")), (estimated, 5.5, 7.0));
    assert_eq!((of("by_quantity"), of("by_rate")), (5.5 - estimated, 1.5));
    assert_eq!(dig["actual_pct"], "127.3");
}

#[tokio::test]
async fn many_jobs_are_compared_by_what_is_asked_and_say_whether_there_is_enough() {
    let app = TestApp::start().await;
    for i in 0..5 {
        let day = if i < 3 { "2026-01-15" } else { "2026-06-15" };
        job_of(&app, i, day, demo_hours(true), |t| if t == "lay_pipe" { 1.2 } else { 0.9 }).await;
    }
    let by = async |query: &str| {
        let answer = app.get(&format!("/v1/comparison{query}")).await.ok(200).json();
        answer["groups"].as_array().unwrap().clone()
    };
    let tasks = by("").await;
    let pipe = tasks.iter().find(|g| g["values"] == json!(["lay_pipe"])).unwrap();
    assert_eq!(
        (&pipe["jobs"], &pipe["typical_pct"], &pipe["enough"]),
        (&json!(5), &json!("120"), &json!(true))
    );
    let seasons = by("?by=season,crew,soil").await;
    let values: Vec<&Value> = seasons.iter().map(|g| &g["values"]).collect();
    assert_eq!(values, [&json!(["summer", "crew-1", "clay"]), &json!(["winter", "crew-1", "clay"])]);
    assert_eq!((&seasons[0]["jobs"], &seasons[0]["enough"]), (&json!(2), &json!(false)));
    assert_eq!(by("?by=job").await.len(), 5);
    assert!(by("?by=method").await.iter().any(|g| g["values"] == json!(["mini-excavator"])));
    for wrong in ["?by=tasks", "?by=task,task", "?by="] {
        app.get(&format!("/v1/comparison{wrong}")).await.problem(400, "bad-query");
    }
}

#[tokio::test]
async fn without_a_day_rates_are_proposed_as_of_today_at_the_office() {
    // At every instant it is another day in one of the two than in UTC.
    for name in ["Pacific/Kiritimati", "Etc/GMT+12"] {
        let zone = jiff::tz::TimeZone::get(name).unwrap();
        let office = zone.clone();
        let app = TestApp::start_with(|c| c.time_zone = office).await;
        let records = Records::bare(&app).await;
        let path = format!("/v1/price-books/{}/rate-proposals", records.book);
        let today = || zone.to_datetime(jiff::Timestamp::now()).date().to_string();
        let (before, proposed, after) = (today(), app.post(&path, &json!({})).await.ok(201).json(), today());
        let as_of = text(&proposed["proposals"], "as_of");
        assert!(as_of == before || as_of == after, "{name}: {as_of}, not {before}");
    }
}

/// What a plan calls a part by is what a record takes for it.
#[tokio::test]
async fn records_take_the_parts_of_a_plan_as_they_are() {
    let app = TestApp::start().await;
    let path = |rest: &str| format!("/v1/jobs/{}/{rest}", app.job);
    let first = text(&app.act(&path("estimates"), "*").await.ok(201).json(), "id");
    let start = json!({"start": "2026-03-02"});
    let plan = app.post(&format!("/v1/estimates/{first}/plan"), &start).await.ok(201).json();
    app.post(&path("acceptance"), &json!({"accepted_on": "2026-03-02"})).await.ok(201);
    let (mut entries, mut longest) = (Vec::new(), 0);
    for task in plan["plan"]["tasks"].as_array().unwrap() {
        let codes = task["part_codes"].as_array().cloned().unwrap_or_default();
        assert_eq!(task.get("part").is_some(), !codes.is_empty(), "{task}");
        longest = longest.max(codes.len());
        for part in codes {
            entries.push(
                json!({"kind": "hours", "on": "2026-03-09", "task": task["work_of"][0], "trade": "laborer",
                "hours": "1 hr", "part": part}),
            );
        }
    }
    assert!(entries.len() > 10 && longest > 1, "{entries:?}");
    app.post(&path("actuals"), &json!({"entries": entries})).await.ok(201);
}

/// Settings out of their range are told as they are sent: in percent, each at its member, with everything else that is wrong.
#[tokio::test]
async fn settings_out_of_range_are_told_in_percent_where_they_stand() {
    let app = TestApp::start().await;
    job(&app, 0, "2026-06-01", |_| 1.0).await;
    let path = format!("{}/rate-proposals?validate_only=true", book(&app).await);
    let ask = |settings: Value| json!({"as_of": "2027-06-01", "settings": settings});
    let all = json!({"book_pct": "200.1", "line_pct": "0.05", "job_pct": "201", "class_share_pct": "95.1", "enough_pct": "300"});
    let mut wrong = ask(all);
    wrong["effect_on_job"] = json!("job_x");
    let told = app.post(&path, &wrong).await.problem(422, "validation-failed");
    let found: Vec<[String; 4]> = told["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| ["pointer", "code", "detail", "value"].map(|m| text(e, m)))
        .collect();
    let at = |member: &str, range: &str, value: &str| {
        let detail = format!("a percentage from {range}");
        [format!("#/settings/{member}"), "out_of_range".to_owned(), detail, value.to_owned()]
    };
    for wanted in [
        at("book_pct", "0.1 to 200", "200.1"),
        at("line_pct", "0.1 to 200", "0.05"),
        at("job_pct", "0 to 200", "201"),
        at("class_share_pct", "0 to 95", "95.1"),
        at("enough_pct", "0 to 200", "300"),
    ] {
        assert!(found.contains(&wanted), "{wanted:?} in {found:?}");
    }
    assert!(found.len() == 6 && found.iter().any(|f| f[0] == "#/effect_on_job"), "{found:?}");
    // The ends of the ranges are let in, and the document says them.
    for (book, class) in [("0.1", "0"), ("200", "95")] {
        let ends = json!({"book_pct": book, "line_pct": book, "job_pct": "200", "class_share_pct": class, "enough_pct": "0"});
        app.post(&path, &ask(ends)).await.ok(200);
    }
    let document = app.get("/openapi.json").await.ok(200).json();
    let members = &document["components"]["schemas"]["LearnSettingsIn"]["properties"];
    for (member, range) in
        [("book_pct", "from 0.1 to 200"), ("job_pct", "from 0 to 200"), ("class_share_pct", "from 0 to 95")]
    {
        let told = text(&members[member], "description");
        assert!(told.contains(range), "{member}: {told}");
    }
}
