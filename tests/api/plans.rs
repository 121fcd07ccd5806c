//! Plans as a scheduling system meets them: made from the demo job, kept, moved by what happens, read as a calendar.

use crate::app::{Answer, Ask, TestApp, text};
use jiff::civil::{Date, Weekday};
use serde_json::{Value, json};
use std::collections::BTreeMap;

fn notes() -> Value {
    serde_json::from_str(rillcast::domain::demo::NOTES).unwrap()
}

fn task<'v>(plan: &'v Value, id: &str) -> &'v Value {
    let tasks = plan["tasks"].as_array().unwrap();
    tasks.iter().find(|t| t["id"] == id).unwrap_or_else(|| panic!("no task {id}"))
}

fn day(value: &Value) -> Date {
    value.as_str().unwrap().parse().unwrap()
}

async fn plan(app: &TestApp, body: Value) -> Value {
    app.post("/v1/calculators/plan", &body).await.ok(200).json()
}

/// By hand. Call on Tuesday 2 March 2027: Wednesday, Thursday, Friday pass, digging from Monday the 8th; the permit of five
/// working days is there on Tuesday the 9th, so the crew comes that day. Work until the inspection's request on Thursday the
/// 11th; a working day later, on Friday the 12th, the pour; cured at the end of Friday the 19th; nobody works on the weekend;
/// the crew is back on Monday the 22nd to clear up and open.
#[tokio::test]
async fn the_demo_job_goes_from_the_call_for_marks_to_open_traffic_on_a_monday() {
    let app = TestApp::start().await;
    let plan = plan(&app, json!({"notes": notes(), "start": "2027-03-02"})).await;
    assert_eq!(plan["start"], "2027-03-02");
    assert_eq!(task(&plan, "mobilize")["start"], "2027-03-09");
    let pour = task(&plan, "pour.1");
    assert_eq!((pour["start"].as_str(), pour["finish"].as_str()), (Some("2027-03-12"), Some("2027-03-12")));
    assert_eq!(day(&pour["start"]).weekday(), Weekday::Friday);
    assert_eq!(task(&plan, "cure.1")["finish"], "2027-03-19");
    let clear = task(&plan, "clear_up");
    assert_eq!(
        (clear["start"].as_str(), day(&clear["start"]).weekday()),
        (Some("2027-03-22"), Weekday::Monday)
    );
    assert_eq!(plan["finish"], "2027-03-22");
    let holds: Vec<(&str, &str, &str)> = plan["hold_points"]
        .as_array()
        .unwrap()
        .iter()
        .map(|h| (h["kind"].as_str().unwrap(), h["on"].as_str().unwrap(), h["then_from"].as_str().unwrap()))
        .collect();
    assert_eq!(
        holds,
        [
            ("call_before_digging", "2027-03-02", "2027-03-08"),
            ("inspection_before_pour", "2027-03-12", "2027-03-12"),
            ("people_may_cross", "2027-03-14", "2027-03-15"),
            ("wheels_may_cross", "2027-03-19", "2027-03-20"),
        ]
    );
}

/// What a task takes its time by is in the list of rules; a moment takes none.
#[tokio::test]
async fn tasks_and_waits_say_which_rule_their_time_follows() {
    let app = TestApp::start().await;
    let plan = plan(&app, json!({"notes": notes(), "start": "2027-03-02"})).await;
    let rules = app.get("/v1/rules").await.ok(200).json();
    let source = |name: &Value| {
        let found = rules["items"].as_array().unwrap().iter().find(|r| r["name"] == *name);
        text(found.unwrap_or_else(|| panic!("no rule {name}")), "source")
    };
    for task in plan["tasks"].as_array().unwrap() {
        assert_eq!(task["kind"] == "milestone", task.get("rule").is_none(), "{task}");
        assert!(task.get("rule").is_none_or(|rule| !source(rule).is_empty()), "{task}");
    }
    for (id, told) in [("call_for_marks", "1926.651(b)"), ("cure.1", "UFGS 03301A"), ("pour.1", "cpm3")] {
        let rule = &task(&plan, id)["rule"];
        assert!(source(rule).contains(told), "{id}: {rule}");
    }
}

#[tokio::test]
async fn a_plan_holds_every_hour_of_the_estimate_and_every_link_leads_to_an_earlier_task() {
    let app = TestApp::start().await;
    let estimate = app.post("/v1/calculators/estimate", &json!({"notes": notes()})).await.ok(200).json();
    let plan = plan(&app, json!({"notes": notes(), "start": "2027-03-02"})).await;
    let number = |v: &Value| v["value"].as_str().unwrap().parse::<f64>().unwrap();
    let planned: f64 = plan["tasks"].as_array().unwrap().iter().map(|t| number(&t["crew_hours"])).sum();
    // Shown to four decimals of an hour, each task.
    assert!((planned - number(&estimate["labor"]["crew_hours"])).abs() < 0.005, "{planned}");
    let mut seen: Vec<&str> = Vec::new();
    for t in plan["tasks"].as_array().unwrap() {
        for before in t["predecessors"].as_array().unwrap() {
            let before = before["task"].as_str().unwrap();
            assert!(seen.contains(&before), "{}: {before} comes later", t["id"]);
            let earlier = task(&plan, before);
            assert!(day(&earlier["start"]) <= day(&t["start"]), "{} before {before}", t["id"]);
        }
        seen.push(t["id"].as_str().unwrap());
    }
    // No person works more hours of a day than it has.
    for load in plan["crew_loading"].as_array().unwrap() {
        assert!(number(&load["used"]) <= number(&load["available"]), "{load}");
    }
}

#[tokio::test]
async fn hire_overtime_and_travel_follow_the_days_of_the_plan() {
    let app = TestApp::start().await;
    let with = |schedule: Value| {
        let mut notes = notes();
        notes["schedule"] = schedule;
        notes["options"] = json!({"travel": "30 min"});
        json!({"notes": notes})
    };
    let dated = with(json!({"start": "2027-03-02"}));
    let estimate = app.post("/v1/calculators/estimate", &dated).await.ok(200).json();
    let plan = plan(&app, json!({"notes": dated["notes"], "start": "2027-03-02"})).await;
    assert_eq!(estimate["plan"]["finish"], plan["finish"]);
    assert_eq!(estimate["plan"]["machines"], plan["machines"]);
    let hired: Vec<&Value> = estimate["cost_lines"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|l| l["category"] == "hire" && l["rule"] == "hire.periods")
        .collect();
    assert!(hired.len() >= 3);
    for line in &hired {
        let window =
            plan["machines"].as_array().unwrap().iter().find(|m| m["machine"] == line["code"]).unwrap();
        let basis = text(line, "basis");
        assert!(basis.contains(window["from"].as_str().unwrap()), "{basis}");
        assert!(basis.contains(window["to"].as_str().unwrap()), "{basis}");
    }
    // Half an hour for each person on each day worked; the operator comes on the days with digging and sawing.
    let loads = plan["crew_loading"].as_array().unwrap();
    let travel = estimate["labor"]["travel"].as_array().unwrap();
    for trade in ["operator", "finisher", "installer"] {
        let days = loads.iter().filter(|l| l["trade"] == trade).count() as i64;
        let line = travel.iter().find(|t| t["trade"] == trade).unwrap();
        // The installer stands by while the others finish the pour: the plan keeps the crew together.
        assert_eq!(line["person_days"].as_i64(), Some(days), "{trade}");
    }
    // Eight hours of five days are no overtime; the labor foots with its lines.
    assert!(estimate["labor"].get("overtime").is_none());
    let cents = |v: &Value| v.as_str().unwrap().replace('.', "").parse::<i64>().unwrap();
    let lines: i64 = estimate["cost_lines"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|l| l["rule"] == "labor.hours" || l["rule"] == "labor.travel")
        .map(|l| cents(&l["cost"]))
        .sum();
    assert_eq!(cents(&estimate["labor"]["cost"]), lines);
}

#[tokio::test]
async fn a_wished_finish_gives_the_latest_start_and_says_when_it_cannot_be_kept() {
    let app = TestApp::start().await;
    let late = plan(&app, json!({"notes": notes(), "finish": "2027-04-02"})).await;
    assert!(day(&late["finish"]) <= "2027-04-02".parse().unwrap());
    let next = day(&late["start"]).tomorrow().unwrap();
    let next =
        if next.weekday() == Weekday::Saturday { next.saturating_add(jiff::ToSpan::days(2)) } else { next };
    let later = plan(&app, json!({"notes": notes(), "start": next.to_string()})).await;
    assert!(day(&later["finish"]) > "2027-04-02".parse().unwrap(), "a day later is too late");
    let both = plan(&app, json!({"notes": notes(), "start": "2027-03-02", "finish": "2027-03-12"})).await;
    // Six working days from the 15th to the 22nd.
    assert_eq!(
        both["wish"],
        json!({"wished": "2027-03-12", "planned": "2027-03-22", "working_days_to_spare": -6})
    );
}

#[tokio::test]
async fn runs_poured_apart_and_a_second_crew() {
    let app = TestApp::start().await;
    let mut apart = notes();
    apart["schedule"] = json!({"pours": "each_run"});
    let plan_apart = plan(&app, json!({"notes": apart, "start": "2027-03-02"})).await;
    assert_eq!(task(&plan_apart, "pour.1")["part"], "run drive");
    assert_eq!(task(&plan_apart, "pour.2")["part"], "run path");
    // Feet may cross the path after two days, wheels the drive after seven.
    let days = |id: &str| {
        let cure = task(&plan_apart, id);
        (day(&cure["finish"]) - day(&cure["start"])).get_days()
    };
    assert_eq!((days("cure.1"), days("cure.2")), (7, 2));
    assert!(plan_apart["cautions"].to_string().contains("2 pours"));
    let mut two = notes();
    two["schedule"] = json!({"crews": ["crew-1", "crew-2"]});
    let plan_two = plan(&app, json!({"notes": two, "start": "2027-03-02"})).await;
    let crews: std::collections::BTreeSet<&str> =
        plan_two["tasks"].as_array().unwrap().iter().filter_map(|t| t["crew"].as_str()).collect();
    assert_eq!(crews.into_iter().collect::<Vec<_>>(), ["crew-1", "crew-2"]);
    let one = plan(&app, json!({"notes": notes(), "start": "2027-03-02"})).await;
    assert!(day(&task(&plan_two, "pour.1")["start"]) <= day(&task(&one, "pour.1")["start"]));
}

#[tokio::test]
async fn what_cannot_be_planned_says_why() {
    let app = TestApp::start().await;
    let refused = async |body: Value| {
        let problem = app.post("/v1/calculators/plan", &body).await.problem(422, "validation-failed");
        let errors = problem["errors"].as_array().unwrap().clone();
        errors.iter().map(|e| (text(e, "pointer"), text(e, "code"))).collect::<Vec<_>>()
    };
    let pair = |p: &str, c: &str| vec![(p.to_owned(), c.to_owned())];
    assert_eq!(refused(json!({"notes": notes()})).await, pair("#", "required"));
    assert_eq!(refused(json!({"notes": notes(), "start": "2027-02-30"})).await, pair("#/start", "date"));
    assert_eq!(
        refused(json!({"notes": notes(), "start": "2027-03-09", "finish": "2027-03-08"})).await,
        pair("#/finish", "contradiction")
    );
    // The days of the notes and of the request are held against each other; the fault is the request's, told beside those of the notes.
    let mut ending = notes();
    ending["schedule"] = json!({"finish": "2027-03-08"});
    let late = json!({"notes": ending, "start": "2027-03-09"});
    assert_eq!(refused(late.clone()).await, pair("#/start", "contradiction"));
    assert_eq!(app.post("/v1/calculators/risk", &late).await.pointers(), ["#/start"]);
    ending["runs"][1]["channel_system"] = json!("none");
    ending["storm"]["rain"] = json!({"kind": "table", "table": "nowhere"});
    let late = json!({"notes": ending, "start": "2027-03-09"});
    let all = ["#/notes/runs/1/channel_system", "#/notes/storm/rain/table", "#/start"];
    for path in ["plan", "risk"] {
        assert_eq!(app.post(&format!("/v1/calculators/{path}"), &late).await.pointers(), all, "{path}");
    }
    let mut second = notes();
    second["schedule"] = json!({"crews": ["crew-2"]});
    // The second crew has no finisher.
    let lacking = json!({"notes": second, "start": "2027-03-02"});
    assert_eq!(refused(lacking.clone()).await, pair("#/notes/schedule/crews", "crew_lacks_trade"));
    let risky = app.post("/v1/calculators/risk", &lacking).await;
    assert_eq!(risky.pointers(), ["#/notes/schedule/crews"]);
    let other = revised(&app, &second).await;
    assert_eq!(app.post(&other, &json!({"start": "2027-03-02"})).await.pointers(), ["#"]);
    second["schedule"] = json!({"crews": ["crew-9"], "calendar": "moon"});
    assert_eq!(
        refused(json!({"notes": second, "start": "2027-03-02"})).await,
        [pair("#/notes/schedule/calendar", "unknown_code"), pair("#/notes/schedule/crews/0", "unknown_code")]
            .concat()
    );
    let wait = json!([{"task": "poor.1", "day": "2027-03-18"}]);
    assert_eq!(
        refused(json!({"notes": notes(), "start": "2027-03-02", "not_before": wait})).await,
        pair("#/not_before/0/task", "unknown_task")
    );
    let wait = json!([{"task": "pour.1", "day": "2028-03-18"}]);
    assert_eq!(
        refused(json!({"notes": notes(), "finish": "2027-03-02", "not_before": wait})).await,
        pair("#", "wish_out_of_reach")
    );
}

pub(crate) async fn kept(app: &TestApp) -> (String, Answer) {
    let estimate = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    let path = format!("/v1/estimates/{}/plan", text(&estimate, "id"));
    let made = app.post(&path, &json!({"start": "2027-03-02"})).await.ok(201);
    (path, made)
}

fn sequences(record: &Value) -> BTreeMap<String, u64> {
    let tasks = record["plan"]["tasks"].as_array().unwrap();
    tasks.iter().map(|t| (text(t, "id"), t["sequence"].as_u64().unwrap())).collect()
}

#[tokio::test]
async fn a_kept_plan_moves_with_what_happens_and_keeps_its_ids() {
    let app = TestApp::start().await;
    let (path, made) = kept(&app).await;
    let first = made.json();
    let plan_path = made.header("location");
    assert_eq!((first["version"].as_i64(), first["changes"].as_array().map(Vec::len)), (Some(1), Some(0)));
    assert!(sequences(&first).values().all(|s| *s == 0));
    // The permit came a week late.
    let report = json!({"status_date": "2027-03-16", "progress": [
        {"task": "call_for_marks", "started_on": "2027-03-02", "finished_on": "2027-03-05"},
        {"task": "permit", "started_on": "2027-03-02", "finished_on": "2027-03-15"}]});
    let progress = format!("{plan_path}/progress");
    let ask = || Ask::post(&progress).json(&report).key(&app.key);
    app.send(ask()).await.problem(428, "version-needed");
    app.send(ask().header("if-match", "\"plan_x.1\"")).await.problem(412, "version-conflict");
    let moved = app.send(ask().header("if-match", &made.etag())).await.ok(200);
    let second = moved.json();
    assert_eq!(second["version"].as_i64(), Some(2));
    assert_eq!(second["id"], first["id"]);
    let ids = |r: &Value| sequences(r).into_keys().collect::<Vec<_>>();
    assert_eq!(ids(&first), ids(&second));
    let plan = &second["plan"];
    assert_eq!(task(plan, "permit")["status"], "finished");
    assert_eq!(task(plan, "mobilize")["start"], "2027-03-16");
    // A week later than planned: Friday the 19th, cured on Friday the 26th, opened on Monday the 29th.
    assert_eq!(
        (&task(plan, "pour.1")["start"], &task(plan, "clear_up")["start"]),
        (&json!("2027-03-19"), &json!("2027-03-29"))
    );
    assert_eq!(sequences(&second)["pour.1"], 1);
    let change = second["changes"].as_array().unwrap().iter().find(|c| c["task"] == "pour.1").unwrap();
    assert_eq!(change["from"], json!({"start": "2027-03-12", "finish": "2027-03-12"}));
    assert_eq!(change["to"], json!({"start": "2027-03-19", "finish": "2027-03-19"}));
    // The next report adds to the first; a new estimate of the job keeps plan, ids and reports.
    let estimate = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    let again =
        app.post(&format!("/v1/estimates/{}/plan", text(&estimate, "id")), &json!({})).await.ok(201).json();
    assert_eq!((&again["id"], again["version"].as_i64()), (&first["id"], Some(2)), "nothing moved");
    assert_eq!(task(&again["plan"], "permit")["status"], "finished");
    let read = app.get(&format!("/v1/jobs/{}/plan", app.job)).await.ok(200).json();
    assert_eq!(read, app.get(&plan_path).await.ok(200).json());
    assert_eq!(app.all(&format!("{plan_path}/versions")).await.len(), 3);
    // Another start moves everything that has not begun.
    let fourth = app.post(&path, &json!({"start": "2027-03-03"})).await.ok(201).json();
    assert_eq!(task(&fourth["plan"], "permit")["status"], "finished");
}

#[tokio::test]
async fn reports_that_cannot_be_are_refused_and_nothing_is_written() {
    let app = TestApp::start().await;
    let (_, made) = kept(&app).await;
    let plan_path = made.header("location");
    let refused = async |body: Value| {
        let ask = Ask::post(&format!("{plan_path}/progress")).json(&body).key(&app.key);
        let problem = app.send(ask.header("if-match", "*")).await.problem(422, "validation-failed");
        let first = problem["errors"][0].clone();
        (text(&first, "pointer"), text(&first, "code"))
    };
    let pair = |p: &str, c: &str| (p.to_owned(), c.to_owned());
    let one = |task: Value| json!({"status_date": "2027-03-10", "progress": [task]});
    assert_eq!(
        refused(one(json!({"task": "permitt", "started_on": "2027-03-02"}))).await,
        pair("#/progress/0/task", "unknown_task")
    );
    assert_eq!(
        refused(one(json!({"task": "permit", "finished_on": "2027-03-02"}))).await,
        pair("#/progress/0/started_on", "required")
    );
    assert_eq!(
        refused(one(json!({"task": "permit", "started_on": "2027-03-05", "finished_on": "2027-03-04"})))
            .await,
        pair("#/progress/0/finished_on", "finish_before_start")
    );
    assert_eq!(
        refused(one(json!({"task": "permit", "started_on": "2027-03-12"}))).await,
        pair("#/progress/0/started_on", "in_the_future")
    );
    assert_eq!(
        refused(one(json!({"task": "pour.1", "started_on": "2027-02-31"}))).await,
        pair("#/progress/0/started_on", "date")
    );
    assert_eq!(app.all(&format!("{plan_path}/versions")).await.len(), 1);

    // What was reported before does not move the places of what is sent now.
    let report = json!({"status_date": "2027-03-10", "progress": [
        {"task": "call_for_marks", "started_on": "2027-03-02", "finished_on": "2027-03-05"},
        {"task": "mobilize", "started_on": "2027-03-09"}]});
    let ask = Ask::post(&format!("{plan_path}/progress")).json(&report).key(&app.key);
    app.send(ask.header("if-match", "*")).await.ok(200);
    let permit = json!({"task": "permit", "started_on": "2027-03-02"});
    for (tasks, expected) in [
        (json!([{"task": "permitt", "started_on": "2027-03-02"}]), pair("#/progress/0/task", "unknown_task")),
        (json!([permit, permit]), pair("#/progress/1/task", "duplicate")),
        (json!([permit, {"task": "clear_up"}]), pair("#/progress/1/started_on", "required")),
        (
            json!([permit, {"task": "mobilize", "started_on": "2027-03-09", "finished_on": "2027-03-08"}]),
            pair("#/progress/1/finished_on", "finish_before_start"),
        ),
    ] {
        assert_eq!(refused(json!({"status_date": "2027-03-10", "progress": tasks})).await, expected);
    }
}

/// The estimate of the job with other notes, and the path at which it is planned.
async fn revised(app: &TestApp, notes: &Value) -> String {
    let body = json!({"notes": notes});
    let path = format!("/v1/jobs/{}/estimates", app.job);
    let ask = Ask::post(&path).json(&body).key(&app.key).header("if-match", "*");
    format!("/v1/estimates/{}/plan", text(&app.send(ask).await.ok(201).json(), "id"))
}

async fn report(app: &TestApp, plan_path: &str, body: Value) -> Answer {
    let path = format!("{plan_path}/progress");
    app.send(Ask::post(&path).json(&body).key(&app.key).header("if-match", "*")).await
}

#[tokio::test]
async fn a_report_of_a_task_that_is_gone_is_kept_and_stops_no_plan() {
    let app = TestApp::start().await;
    let (first, made) = kept(&app).await;
    let plan_path = made.header("location");
    let permit = json!({"task": "permit", "started_on": "2027-03-02"});
    report(&app, &plan_path, json!({"status_date": "2027-03-03", "progress": [permit]})).await.ok(200);
    let mut free = notes();
    free.as_object_mut().unwrap().remove("extras");
    let path = revised(&app, &free).await;
    let record = app.post(&path, &json!({"start": "2027-03-02"})).await.ok(201).json();
    assert!(record["plan"]["tasks"].as_array().unwrap().iter().all(|t| t["id"] != "permit"));
    assert_eq!(record["inputs"]["progress"], json!([permit]), "kept with the record");
    assert!(record["withdrawn"].to_string().contains("permit"));
    let told = "`permit` was reported but is no longer in the plan";
    assert!(record["plan"]["cautions"].to_string().contains(told), "{}", record["plan"]["cautions"]);
    // What is sent now is at fault where it is sent, and only that.
    let again = json!({"status_date": "2027-03-03", "progress": [permit]});
    let refused = app.post(&path, &again).await;
    assert_eq!(refused.pointers(), ["#/progress/0/task"]);
    // The rest of the job is reported as before.
    let called = json!({"task": "call_for_marks", "started_on": "2027-03-02"});
    let next = json!({"status_date": "2027-03-04", "progress": [called]});
    report(&app, &plan_path, next).await.ok(200);
    // The report counts again when the permit comes back; taken back, it is forgotten.
    let back = app.post(&first, &json!({})).await.ok(201).json();
    assert_eq!(task(&back["plan"], "permit")["status"], "under_way");
    app.post(&path, &json!({})).await.ok(201);
    let nothing = json!({"status_date": "2027-03-04", "progress": [{"task": "permit", "not_begun": true}]});
    let rid = report(&app, &plan_path, nothing).await.ok(200).json();
    assert!(!rid["plan"]["cautions"].to_string().contains(told));
    let back = app.post(&first, &json!({})).await.ok(201).json();
    assert_eq!(task(&back["plan"], "permit")["status"], "planned");
    assert_eq!(back["inputs"]["progress"], json!([called]));
}

#[tokio::test]
async fn a_mistaken_report_is_taken_back() {
    let app = TestApp::start().await;
    let (_, made) = kept(&app).await;
    let plan_path = made.header("location");
    let mobilized = json!({"task": "mobilize", "started_on": "2027-03-09", "finished_on": "2027-03-09"});
    let done = json!({"status_date": "2027-03-09", "progress": [mobilized]});
    let record = report(&app, &plan_path, done).await.ok(200).json();
    assert_eq!(task(&record["plan"], "mobilize")["status"], "finished");
    let back = |more: Value| {
        let mut one = json!({"task": "mobilize", "not_begun": true});
        one.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        json!({"status_date": "2027-03-09", "progress": [one]})
    };
    let mixed = back(json!({"started_on": "2027-03-09", "remaining": "1 hr"}));
    let refused = report(&app, &plan_path, mixed).await;
    assert_eq!(refused.pointers(), ["#/progress/0/remaining", "#/progress/0/started_on"]);
    let record = report(&app, &plan_path, back(json!({}))).await.ok(200).json();
    assert_eq!(task(&record["plan"], "mobilize")["status"], "planned");
    let change = record["changes"].as_array().unwrap().iter().find(|c| c["task"] == "mobilize").unwrap();
    assert_ne!(change["change"], "reworded", "{change}");
    // A task of no plan was never reported.
    let stranger = json!({"status_date": "2027-03-09", "progress": [{"task": "permitt", "not_begun": true}]});
    assert_eq!(report(&app, &plan_path, stranger).await.pointers(), ["#/progress/0/task"]);
}

#[tokio::test]
async fn an_earlier_status_date_is_the_fault_and_not_what_was_reported_before() {
    let app = TestApp::start().await;
    let (path, made) = kept(&app).await;
    let plan_path = made.header("location");
    let reports = json!({"status_date": "2027-03-10", "progress": [
        {"task": "call_for_marks", "started_on": "2027-03-02", "finished_on": "2027-03-05"},
        {"task": "permit", "started_on": "2027-03-02", "finished_on": "2027-03-08"},
        {"task": "mobilize", "started_on": "2027-03-09", "finished_on": "2027-03-10"}]});
    report(&app, &plan_path, reports).await.ok(200);
    let early = json!({"status_date": "2027-03-05", "progress": [
        {"task": "mark_and_protect", "started_on": "2027-03-04"}]});
    let refused = report(&app, &plan_path, early.clone()).await.problem(422, "validation-failed");
    assert_eq!(refused["errors"].as_array().map(Vec::len), Some(1), "{refused}");
    let fault = &refused["errors"][0];
    assert_eq!(
        (text(fault, "pointer"), text(fault, "code")),
        ("#/status_date".to_owned(), "contradiction".to_owned())
    );
    assert!(text(fault, "detail").contains("`mobilize` is reported for 2027-03-10"), "{fault}");
    assert_eq!(app.post(&path, &early).await.pointers(), ["#/status_date"]);
    // What is sent is at fault as well where it is after that day.
    let both = json!({"status_date": "2027-03-05", "progress": [
        {"task": "mark_and_protect", "started_on": "2027-03-06"}]});
    let refused = report(&app, &plan_path, both).await;
    assert_eq!(refused.pointers(), ["#/progress/0/started_on", "#/status_date"]);
}

#[tokio::test]
async fn days_before_which_a_task_must_not_begin_stay_until_they_are_lifted() {
    let app = TestApp::start().await;
    let (path, _) = kept(&app).await;
    let pours = |record: &Value| text(task(&record["plan"], "pour.1"), "start");
    let wish = |task: &str, day: &str| json!({"task": task, "day": day});
    let wait = json!([wish("pour.1", "2027-03-25"), wish("permit", "2027-03-03")]);
    let asked = json!({"start": "2027-03-02", "not_before": wait});
    let record = app.post(&path, &asked).await.ok(201).json();
    assert_eq!(pours(&record), "2027-03-25");
    let again = app.post(&path, &json!({})).await.ok(201).json();
    assert_eq!((pours(&again), &again["inputs"]["not_before"]), ("2027-03-25".to_owned(), &wait));
    // Another estimate without the permit: its day is kept and told, and stops nothing.
    let mut free = notes();
    free.as_object_mut().unwrap().remove("extras");
    let other = revised(&app, &free).await;
    let record = app.post(&other, &json!({"start": "2027-03-02"})).await.ok(201).json();
    assert_eq!((pours(&record), &record["inputs"]["not_before"]), ("2027-03-25".to_owned(), &wait));
    let told = "`permit` was not to begin before 2027-03-03 but is no longer in the plan";
    assert!(record["plan"]["cautions"].to_string().contains(told), "{}", record["plan"]["cautions"]);
    // A list takes the place of theirs.
    let one = json!({"not_before": [wish("pour.1", "2027-03-26")]});
    assert_eq!(pours(&app.post(&path, &one).await.ok(201).json()), "2027-03-26");
    let lifted = app.post(&path, &json!({"not_before": []})).await.ok(201).json();
    assert_eq!(pours(&lifted), "2027-03-12");
    // Each task once.
    let twice = json!({"start": "2027-03-02",
        "not_before": [wish("pour.1", "2027-05-01"), wish("pour.1", "2027-01-01")]});
    let refused = app.post(&path, &twice).await.problem(422, "validation-failed");
    assert_eq!(refused["errors"].as_array().map(Vec::len), Some(1), "{refused}");
    let fault = &refused["errors"][0];
    assert_eq!(
        (text(fault, "pointer"), text(fault, "code")),
        ("#/not_before/1/task".to_owned(), "duplicate".to_owned())
    );
}

#[tokio::test]
async fn hours_left_are_hours_of_work_and_faults_point_to_them() {
    let app = TestApp::start().await;
    let (_, made) = kept(&app).await;
    let plan_path = made.header("location");
    let refused = async |one: Value| {
        let body = json!({"status_date": "2027-03-10", "progress": [one]});
        let problem = report(&app, &plan_path, body).await.problem(422, "validation-failed");
        let errors = problem["errors"].as_array().unwrap().clone();
        assert_eq!(errors.len(), 1, "{errors:?}");
        assert!(!text(&errors[0], "detail").contains("tasks["), "{}", errors[0]);
        (text(&errors[0], "pointer"), text(&errors[0], "code"))
    };
    let pair = |p: &str, c: &str| (p.to_owned(), c.to_owned());
    for wait in ["permit", "cure.1"] {
        let left = json!({"task": wait, "started_on": "2027-03-02", "remaining": "2 hr"});
        assert_eq!(refused(left).await, pair("#/progress/0/remaining", "contradiction"));
    }
    let none = json!({"task": "mobilize", "started_on": "2027-03-02", "remaining": "0 hr"});
    assert_eq!(refused(none).await, pair("#/progress/0/remaining", "out_of_range"));
    let point = json!({"task": "open.1", "started_on": "2027-03-02"});
    assert_eq!(refused(point).await, pair("#/progress/0/finished_on", "required"));
}

#[tokio::test]
async fn a_simulation_repeats_with_its_seed_and_its_quantiles_are_ordered() {
    let app = TestApp::start().await;
    let ask = |seed: u64| json!({"notes": notes(), "start": "2027-03-02", "draws": 2000, "seed": seed, "confidence_pct": "90"});
    let one = app.post("/v1/calculators/risk", &ask(7)).await.ok(200);
    let again = app.post("/v1/calculators/risk", &ask(7)).await.ok(200);
    assert_eq!(one.bytes, again.bytes);
    let other = app.post("/v1/calculators/risk", &ask(8)).await.ok(200);
    assert_ne!(one.bytes, other.bytes);
    let risk = one.json();
    let of = |v: &Value| v["value"].as_str().unwrap_or_else(|| v.as_str().unwrap()).parse::<f64>().unwrap();
    // What stands beside each other foots, whatever was drawn.
    for seed in 0..24 {
        let asked = json!({"notes": notes(), "draws": 100, "seed": seed});
        let risk = app.post("/v1/calculators/risk", &asked).await.ok(200).json();
        let exact = |v: &Value| {
            v["value"]
                .as_str()
                .unwrap_or_else(|| v.as_str().unwrap())
                .parse::<rust_decimal::Decimal>()
                .unwrap()
        };
        let more = &risk["contingency"];
        assert_eq!(
            exact(&more["extra_cost"]),
            exact(&more["cost"]) - exact(&risk["estimated_cost"]),
            "{seed}"
        );
        let hours = exact(&more["crew_hours"]) - exact(&risk["estimated_crew_hours"]);
        assert_eq!(exact(&more["extra_crew_hours"]), hours, "{seed}");
    }
    for part in ["crew_hours", "cost"] {
        let p: Vec<f64> = ["p10", "p50", "p80", "p90"].iter().map(|q| of(&risk[part][*q])).collect();
        assert!(p.windows(2).all(|w| w[0] < w[1]), "{part}: {p:?}");
    }
    // The wished confidence of 90 % costs what P90 is above the estimate.
    let extra = of(&risk["cost"]["p90"]) - of(&risk["estimated_cost"]);
    assert!((of(&risk["contingency"]["extra_cost"]) - extra).abs() < 0.02);
    let shares: f64 = risk["drivers"].as_array().unwrap().iter().map(|d| of(&d["of_hours_pct"])).sum();
    assert!((shares - 100.0).abs() < 0.5, "{shares}");
    assert!(day(&risk["finish"]["p10"]) <= day(&risk["finish"]["p90"]));
    // Without a day no finish is drawn; a confidence beyond its bounds is refused.
    let undated = json!({"notes": notes(), "draws": 500});
    assert!(app.post("/v1/calculators/risk", &undated).await.ok(200).json().get("finish").is_none());
    let beyond = json!({"notes": notes(), "confidence_pct": "99.5"});
    assert_eq!(app.post("/v1/calculators/risk", &beyond).await.pointers(), ["#/confidence_pct"]);
    let many = json!({"notes": notes(), "draws": 100001});
    assert_eq!(app.post("/v1/calculators/risk", &many).await.pointers(), ["#/draws"]);
}

#[tokio::test]
async fn a_job_without_a_plan_says_where_its_first_is_made() {
    let app = TestApp::start().await;
    let told = app.get(&format!("/v1/jobs/{}/plan", app.job)).await.problem(404, "not-found");
    assert!(text(&told, "detail").contains("`POST /v1/estimates/{id}/plan`"), "{told}");
    let told = app.get("/v1/jobs/job_00000000000000000000000000/plan").await.problem(404, "not-found");
    assert_eq!(text(&told, "detail"), "there is no job of this id");
}
