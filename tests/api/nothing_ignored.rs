//! What a request says takes effect, or the answer says that it does not.

use crate::app::{Ask, TestApp, fault, faults_in, text};
use serde_json::{Value, json};

fn run(changes: &Value) -> Value {
    let mut run = json!({"id": "a", "crossing": "feet", "channel_system": "channel-6-u", "legs": [{"length": "20 ft"}],
        "outlets": [{"kind": "end", "id": "o", "at": "finish"}]});
    merge(&mut run, changes);
    run
}

fn line(changes: &Value) -> Value {
    let mut line = json!({"id": "l", "pipe": "pipe-6", "from": [{"outlet": "o"}], "legs": [{"length": "40 ft"}],
        "depth": "3 ft", "ends": {"kind": "discharges", "to": "swale"}});
    merge(&mut line, changes);
    line
}

fn merge(value: &mut Value, changes: &Value) {
    for (name, change) in changes.as_object().unwrap() {
        value[name] = change.clone();
    }
}

fn notes(run_changes: &Value, more: &Value) -> Value {
    let mut notes = json!({"runs": [run(run_changes)]});
    merge(&mut notes, more);
    notes
}

async fn calculate(app: &TestApp, calculator: &str, body: &Value) -> Value {
    app.post(&format!("/v1/calculators/{calculator}"), body).await.ok(200).json()
}

async fn faults(app: &TestApp, calculator: &str, body: &Value) -> Vec<(String, String)> {
    let ask = Ask::post(&format!("/v1/calculators/{calculator}")).json(body).key(&app.key);
    faults_in(&app.send(ask).await.problem(422, "validation-failed"))
}

fn pair(pointer: &str, code: &str) -> (String, String) {
    (pointer.to_owned(), code.to_owned())
}

/// The reasons of the checks of a name.
fn said(answer: &Value, name: &str) -> Vec<String> {
    let checks = answer["checks"].as_array().unwrap().iter();
    checks.filter(|c| c["name"] == name && c["outcome"] != "pass").map(|c| text(c, "reason")).collect()
}

fn figure(answer: &Value, list: &str, name: &str) -> Value {
    let lines = answer.pointer(list).unwrap().as_array().unwrap();
    lines.iter().find(|l| l["name"] == name).unwrap_or_else(|| panic!("no {name}")).clone()
}

#[tokio::test]
async fn a_fitting_that_reaches_past_the_end_of_its_leg_is_a_fault() {
    let app = TestApp::start().await;
    for (legs, outlet, fault) in [
        // a tee takes 6 in to either side of its place
        (
            json!([{"length": "20 ft"}, {"length": "8 ft", "meets": {"kind": "tee", "leg": 1, "at": "3 in"}}]),
            "finish",
            0,
        ),
        // a leg shorter than the corner it begins with
        (json!([{"length": "20 ft"}, {"length": "5 in", "meets": {"kind": "corner"}}]), "start", 1),
        // one shorter than its end outlet of 4 in
        (json!([{"length": "3 in"}]), "finish", 0),
    ] {
        let changes = json!({"legs": legs, "outlets": [{"kind": "end", "id": "o", "at": outlet}]});
        let found = faults(&app, "layout-quantities", &json!({"notes": notes(&changes, &json!({}))})).await;
        let expected = pair(&format!("#/notes/runs/0/legs/{fault}/length"), "fittings_overlap");
        assert!(found.contains(&expected), "{legs}: {found:?}");
    }
    let enough = json!({"legs": [{"length": "20 ft"}, {"length": "8 ft", "meets": {"kind": "tee", "leg": 1, "at": "6 in"}}]});
    calculate(&app, "layout-quantities", &json!({"notes": notes(&enough, &json!({}))})).await;
}

#[tokio::test]
async fn one_place_has_one_outlet_of_whatever_kind() {
    let app = TestApp::start().await;
    let both =
        json!([{"kind": "end", "id": "p", "at": "finish"}, {"kind": "bottom", "id": "o", "at": "20 ft"}]);
    let body = json!({"notes": notes(&json!({"outlets": both}), &json!({}))});
    assert_eq!(
        faults(&app, "layout-quantities", &body).await,
        [pair("#/notes/runs/0/outlets/1", "duplicate_outlet")]
    );
}

#[tokio::test]
async fn what_goes_with_quantities_does_not_go_with_notes() {
    let app = TestApp::start().await;
    let body = json!({"notes": notes(&json!({}), &json!({})), "soil": "rock", "difficulty": "hard", "weather": "wet",
        "depth": "6 ft", "methods": [{"task": "dig_run", "method": "mini-excavator"}]});
    let members = ["soil", "difficulty", "weather", "depth", "methods"];
    assert_eq!(
        faults(&app, "labor-hours", &body).await,
        members.map(|m| pair(&format!("#/{m}"), "not_here"))
    );
}

#[tokio::test]
async fn a_task_has_one_method() {
    let app = TestApp::start().await;
    let twice =
        json!([{"task": "dig_run", "method": "hand"}, {"task": "dig_run", "method": "mini-excavator"}]);
    let body = json!({"notes": notes(&json!({}), &json!({"options": {"methods": twice}}))});
    let expected = [pair("#/notes/options/methods/1/task", "duplicate")];
    for calculator in ["labor-hours", "estimate"] {
        assert_eq!(faults(&app, calculator, &body).await, expected, "{calculator}");
    }
    let dig = json!([{"measure": "run_excavation", "quantity": "3 yd3"}]);
    assert_eq!(
        faults(&app, "labor-hours", &json!({"quantities": dig, "methods": twice})).await,
        [pair("#/methods/1/task", "duplicate")]
    );
}

#[tokio::test]
async fn paid_travel_is_in_the_hours_as_in_the_estimate() {
    let app = TestApp::start().await;
    for schedule in [json!({}), json!({"schedule": {"start": "2027-03-02"}})] {
        let mut more = json!({"options": {"travel": "1 hr"}});
        merge(&mut more, &schedule);
        let body = json!({"notes": notes(&json!({}), &more)});
        let estimate = calculate(&app, "estimate", &body).await;
        let hours = calculate(&app, "labor-hours", &body).await;
        assert!(!estimate["labor"]["travel"].as_array().unwrap().is_empty());
        assert_eq!(hours["labor"], estimate["labor"]);
    }
}

#[tokio::test]
async fn a_quantity_given_by_hand_is_counted_or_said_to_be_missing() {
    let app = TestApp::start().await;
    let hours =
        async |quantities: Value| calculate(&app, "labor-hours", &json!({"quantities": quantities})).await;
    // counted when the task is on hand that counts it
    let grates = json!({"measure": "grate_length", "quantity": "400 ft"});
    let counted = hours(json!([grates, {"measure": "hangers", "quantity": "1 each"}])).await;
    let tasks = counted["labor"]["tasks"].as_array().unwrap();
    let strip = tasks.iter().find(|t| t["task"] == "strip_and_clean").unwrap();
    assert!(text(strip, "basis").contains("400 ft grate_length"), "{strip}");
    for beside in [json!([grates]), json!([grates, {"measure": "grates", "quantity": "10 each"}])] {
        let answer = hours(beside).await;
        let lost = said(&answer, "labor_rate");
        assert!(
            lost.iter().any(|l| l.starts_with("grate_length is counted by `strip_and_clean`")),
            "{lost:?}"
        );
    }
    // what the book knows no rate for at all, and nothing where everything is counted
    let answer = hours(json!([{"measure": "run_excavation", "quantity": "3 yd3"}])).await;
    assert_eq!(said(&answer, "labor_rate"), Vec::<String>::new());
}

#[tokio::test]
async fn pieces_are_counted_whole() {
    let app = TestApp::start().await;
    for quantity in [json!("2.5 each"), json!("1/2 each"), json!({"value": "0.4", "unit": "each"})] {
        let body = json!({"quantities": [{"measure": "hangers", "quantity": quantity}]});
        let found = faults(&app, "labor-hours", &body).await;
        assert!(found[0].0.starts_with("#/quantities/0/quantity"), "{found:?}");
        assert_eq!((found.len(), found[0].1.as_str()), (1, "whole_pieces"), "{quantity}");
    }
    let whole = json!({"quantities": [{"measure": "hangers", "quantity": {"value": "2.0", "unit": "each"}}]});
    calculate(&app, "labor-hours", &whole).await;
}

#[tokio::test]
async fn a_slab_deeper_than_the_trench_of_a_line_is_a_warning() {
    let app = TestApp::start().await;
    let slab = |thickness: &str| {
        let leg = json!({"length": "40 ft", "surface": {"kind": "concrete_slab", "thickness": thickness}});
        let drain = line(&json!({"depth": "18 in", "legs": [leg]}));
        json!({"notes": notes(&json!({}), &json!({"drain_lines": [drain]}))})
    };
    let deep = said(&calculate(&app, "estimate", &slab("20 in")).await, "slab_against_trench");
    assert_eq!(deep.len(), 1);
    assert!(
        deep[0].contains("1 ft 8 in of concrete_slab lie on top, deeper than the trench of 1 ft 6 in"),
        "{deep:?}"
    );
    // The outlet lies 8 in below the surface, a pipe of 6.275 in less its wall of 0.18 in above that: 1.905 in are left for a slab.
    let over = said(&calculate(&app, "estimate", &slab("6 in")).await, "slab_against_trench");
    assert!(over.len() == 1 && over[0].contains("at 0 in only 1.905 in over the pipe"), "{over:?}");
    assert!(said(&calculate(&app, "estimate", &slab("1 in")).await, "slab_against_trench").is_empty());
}

#[tokio::test]
async fn what_cannot_take_effect_is_said() {
    let app = TestApp::start().await;
    let gravel = json!({"surface": {"kind": "gravel", "thickness": "4 in"}});
    let mut over = gravel.clone();
    over["over_cut"] = json!("6 in");
    for (changes, expected) in [(over, 1), (gravel, 0)] {
        let answer =
            calculate(&app, "layout-quantities", &json!({"notes": notes(&changes, &json!({}))})).await;
        assert_eq!(said(&answer, "over_cut").len(), expected, "{changes}");
    }
    // the demo book knows no speed of the truck
    let far = json!({"notes": notes(&json!({}), &json!({"haul": {"distance": "6 mi"}}))});
    let told = said(&calculate(&app, "layout-quantities", &far).await, "haul_trip");
    assert_eq!(
        told,
        ["neither the notes nor the price book say how fast the truck drives: the trips are not timed"]
    );
    let timed =
        json!({"notes": notes(&json!({}), &json!({"haul": {"distance": "6 mi", "speed": "30 mi_per_hr"}}))});
    let timed = calculate(&app, "layout-quantities", &timed).await;
    assert!(said(&timed, "haul_trip").is_empty());
    figure(&timed, "/layout/earth/quantities", "haul_round_trip");
    // an outlet without a line, in both answers
    let body = json!({"notes": notes(&json!({}), &json!({}))});
    let both = [calculate(&app, "layout-quantities", &body).await, calculate(&app, "estimate", &body).await];
    assert_eq!(said(&both[0], "outlet_connected"), said(&both[1], "outlet_connected"));
    assert_eq!(said(&both[0], "outlet_connected").len(), 1);
}

#[tokio::test]
async fn backfill_beyond_what_is_dug_leaves_nothing_and_says_so() {
    let app = TestApp::start().await;
    let drain = line(&json!({"depth": "8 ft", "side_slope": "1"}));
    let body = json!({"notes": notes(&json!({}), &json!({"drain_lines": [drain]}))});
    let answer = calculate(&app, "layout-quantities", &body).await;
    let loose = figure(&answer, "/layout/earth/quantities", "spoil_loose");
    assert_eq!(loose["quantity"]["value"], "0");
    assert!(text(&loose, "basis").starts_with("nothing: "), "{loose}");
    let dug = figure(&answer, "/layout/earth/quantities", "spoil_bank");
    let reason = said(&answer, "backfill_from_spoil").remove(0);
    let number = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
    let taken = number(reason.split("takes ").nth(1).unwrap());
    let brought = number(reason.split(": ").nth(1).unwrap());
    let dug: f64 = dug["quantity"]["value"].as_str().unwrap().parse().unwrap();
    assert!((taken - dug - brought).abs() < 0.000_2, "{reason}");
}

#[tokio::test]
async fn a_fall_is_rounded_half_up_as_everything_else() {
    let app = TestApp::start().await;
    // 12 in over 60 ft is one sixtieth: 1.66667 %
    let mut drain = line(&json!({"legs": [{"length": "60 ft"}]}));
    drain["ends"]["invert_level"] = json!("-20 in");
    let body = json!({"notes": notes(&json!({}), &json!({"drain_lines": [drain]}))});
    let answer = calculate(&app, "layout-quantities", &body).await;
    let fall = figure(&answer, "/layout/drain_lines/0/quantities", "fall");
    assert_eq!(fall["quantity"], json!({"value": "1.6667", "unit": "percent"}), "{fall}");
}

#[tokio::test]
async fn what_grates_leave_open_at_the_end_of_a_leg_is_noted() {
    let app = TestApp::start().await;
    let list = async |length: &str| {
        let hot = notes(&json!({"legs": [{"length": length}]}), &json!({"climate": "hot"}));
        let answer = calculate(&app, "layout-quantities", &json!({"notes": hot})).await;
        let lists = answer["layout"]["cut_lists"].as_array().unwrap();
        lists.iter().find(|l| l["part"] == "grate").unwrap()["notes"].clone()
    };
    let open = list("14 ft 13/16 in").await;
    assert!(open[0].as_str().unwrap().contains("1/16 in short of it"), "{open}");
    assert_eq!(list("14 ft").await, json!([]));
}

#[tokio::test]
async fn a_number_out_of_its_range_is_told_the_range() {
    let app = TestApp::start().await;
    let rate = |rate: &str| ("hire-plan", json!({"half_days": 18, "rates": {"day": rate}}), "#/rates/day");
    let waste = json!({"volume": "2 yd3", "waste_pct": "2000"});
    for ((calculator, body, pointer), told) in [
        (rate("-100.00"), "; not below 0"),
        (rate("1.234"), "for example \"1184.37\""),
        (("concrete-order", waste, "#/waste_pct"), "; at most 1000"),
    ] {
        let ask = Ask::post(&format!("/v1/calculators/{calculator}")).json(&body).key(&app.key);
        let problem = app.send(ask).await.problem(422, "validation-failed");
        let error = &problem["errors"][0];
        assert_eq!(error["pointer"], pointer, "{error}");
        assert!(text(error, "detail").ends_with(told), "{error}");
    }
}

#[tokio::test]
async fn a_report_without_its_status_date_is_told_where_it_belongs() {
    let app = TestApp::start().await;
    let estimate = app.act(&format!("/v1/jobs/{}/estimates", app.job), "*").await.ok(201).json();
    let path = format!("/v1/estimates/{}/plan", text(&estimate, "id"));
    let body = json!({"start": "2027-03-02", "progress": [{"task": "permit", "started_on": "2027-03-02"}]});
    let problem = app.post(&path, &body).await.problem(422, "validation-failed");
    assert_eq!(faults_in(&problem), fault("#/status_date", "status_date_missing"));
}

/// Nobody is paid for more than a day of travel each day: the notes know the limit that the price book has.
#[tokio::test]
async fn travel_of_more_than_a_day_is_refused() {
    let app = TestApp::start().await;
    let body = |travel: &str| {
        let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
        notes["options"]["travel"] = json!(travel);
        json!({"notes": notes})
    };
    for travel in ["24.1 hr", "8760 hr"] {
        let problem =
            app.post("/v1/calculators/estimate", &body(travel)).await.problem(422, "validation-failed");
        assert_eq!(faults_in(&problem), fault("#/notes/options/travel", "out_of_range"));
        assert_eq!(problem["errors"][0]["detail"], "travel of a day is at most 24 hours");
    }
    app.post("/v1/calculators/estimate", &body("24 hr")).await.ok(200);
}
