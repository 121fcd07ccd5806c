//! Faults do not hide each other: what is wrong by itself is told beside everything else, and nothing is told that is not wrong.

use crate::app::{TestApp, text};
use serde_json::{Value, json};
use std::collections::BTreeSet;

type Found = BTreeSet<(String, String)>;

/// The demo's notes with every part that notes can have.
fn full_notes() -> Value {
    let mut notes: Value = serde_json::from_str(rillcast::domain::demo::NOTES).unwrap();
    notes["concrete"] = json!({"weather": [{"day": 1, "air": "70 deg_f", "humidity_pct": "50",
        "concrete": "70 deg_f", "wind": "5 mi_per_hr"}]});
    notes["haul"] = json!({"speed": "30 mi_per_hr"});
    notes["yard_offcuts"] = json!([{"item": "channel-4-light-4ft", "length": "2 ft"}]);
    notes["extras"] = json!([{"item": "channel-4-light-4ft", "quantity": "1"}]);
    notes["schedule"] = json!({"start": "2027-03-02"});
    notes["options"] = json!({"waste_pct": "10"});
    notes["inflows"] = json!([{"id": "hose", "run": "path", "at": "1 ft", "flow": "5 gal_us_per_min"}]);
    notes["pricing"] = json!({"chosen": ["o"], "discounts": [{"kind": "percent", "name": "Friends", "pct": "5"}],
        "optional": [{"code": "o", "name": "Spares", "extras": [{"item": "channel-4-light-4ft", "quantity": "1"}]}],
        "alternates": [{"code": "x", "name": "Wider", "systems": [{"run": "path", "channel_system": "channel-6-u"}]}]});
    notes
}

/// Places in the notes and what is wrong to send there. None of them lies in another, and none is what another speaks of.
fn wrong() -> Vec<(&'static str, Value)> {
    vec![
        // of form
        ("/climat", json!("hot")),
        ("/soil", json!("cheese")),
        ("/runs/0/crossing", json!("trains")),
        ("/runs/0/over_cut", json!(2)),
        ("/drain_lines/0/side_slope", json!("-4")),
        ("/pricing/discounts/0/note", json!("2")),
        ("/storm/path", json!("long")),
        ("/options/waste_pct", json!("-5")),
        ("/extras/0/quantity", json!(1)),
        ("/pricing/alternates/0/name", json!("")),
        ("/schedule/start", json!("soon")),
        // against the book
        ("/runs/0/setting_detail", json!("none")),
        ("/runs/1/channel_system", json!("none")),
        ("/drain_lines/0/pipe", json!("none")),
        ("/extras/0/item", json!("none")),
        ("/schedule/calendar", json!("none")),
        ("/options/concrete_way", json!("none")),
        ("/pricing/place", json!("none")),
        ("/pricing/alternates/0/systems/0/channel_system", json!("none")),
        // against the notes
        ("/drain_lines/0/from/0/outlet", json!("none")),
        ("/drain_lines/1/ends/line", json!("none")),
        ("/catchments/0/reaches/0/run", json!("none")),
        ("/inflows/0/leg", json!(7)),
        ("/pricing/chosen/0", json!("none")),
        ("/concrete/weather/0/day", json!(3)),
        // by themselves
        ("/runs/0/outlets/0/at", json!("900 ft")),
        ("/drain_lines/1/from/0/at", json!("900 ft")),
        ("/drain_lines/0/depth", json!("1 ft")),
        ("/catchments/0/surfaces/0/coefficient", json!("1.2")),
        ("/concrete/weather/0/humidity_pct", json!("400")),
        ("/haul/speed", json!("0 mi_per_hr")),
        ("/yard_offcuts/0/length", json!("90 ft")),
        ("/pricing/discounts/0/pct", json!("300")),
        ("/storm/rain", json!({"kind": "table", "table": "none"})),
    ]
}

fn plant(notes: &mut Value, (place, value): &(&str, Value)) {
    let (parent, member) = place.rsplit_once('/').unwrap();
    let parent = notes.pointer_mut(parent).unwrap();
    match parent {
        Value::Array(list) => list[member.parse::<usize>().unwrap()] = value.clone(),
        object => object[member] = value.clone(),
    }
}

async fn faults_of(app: &TestApp, planted: &[&(&str, Value)]) -> Found {
    let mut notes = full_notes();
    for one in planted {
        plant(&mut notes, one);
    }
    let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await;
    if planted.is_empty() {
        answer.ok(200);
        return Found::new();
    }
    let problem = answer.problem(422, "validation-failed");
    let errors = problem["errors"].as_array().unwrap().iter();
    errors.map(|e| (text(e, "pointer"), text(e, "code"))).collect()
}

#[tokio::test]
async fn every_two_faults_are_told_as_each_is_alone() {
    let app = TestApp::start().await;
    assert_eq!(faults_of(&app, &[]).await, Found::new(), "without a fault it is computed");
    let wrong = wrong();
    let mut alone = Vec::new();
    for one in &wrong {
        alone.push(faults_of(&app, &[one]).await);
        assert!(!alone.last().unwrap().is_empty(), "{one:?}");
    }
    for (i, one) in wrong.iter().enumerate() {
        for (j, other) in wrong.iter().enumerate().skip(i + 1) {
            let both: Found = alone[i].union(&alone[j]).cloned().collect();
            assert_eq!(faults_of(&app, &[one, other]).await, both, "{one:?} and {other:?}");
        }
    }
    let all: Vec<&(&str, Value)> = wrong.iter().collect();
    let sum: Found = alone.into_iter().flatten().collect();
    assert_eq!(faults_of(&app, &all).await, sum);
}

/// Where it cannot be read what a fault would speak of, nothing is said about it.
#[tokio::test]
async fn what_may_hang_on_something_unread_is_not_called_wrong() {
    let app = TestApp::start().await;
    let renamed = |notes: &mut Value, parent: &str, from: &str, to: &str| {
        let object = notes.pointer_mut(parent).unwrap().as_object_mut().unwrap();
        let value = object.remove(from).unwrap();
        object.insert(to.to_owned(), value);
    };
    type Change<'c> = Box<dyn Fn(&mut Value) + 'c>;
    let set = |place: &'static str, value: Value| -> Change<'_> {
        Box::new(move |n| plant(n, &(place, value.clone())))
    };
    let rename = |parent: &'static str, from: &'static str, to: &'static str| -> Change<'_> {
        Box::new(move |n| renamed(n, parent, from, to))
    };
    for (change, pointers) in [
        // names that something refers to
        (set("/runs/0/id", json!(7)), vec!["#/notes/runs/0/id"]),
        (set("/runs/0/outlets/0/id", json!("")), vec!["#/notes/runs/0/outlets/0/id"]),
        (set("/runs/0/outlets", json!(7)), vec!["#/notes/runs/0/outlets"]),
        (
            Box::new(|n| {
                plant(n, &("/runs/0/outlets/0/kind", json!("side")));
                plant(n, &("/runs/1/outlets/0/kind", json!("side")));
            }),
            vec!["#/notes/runs/0/outlets/0/kind", "#/notes/runs/1/outlets/0/kind"],
        ),
        (rename("/runs/0", "outlets", "outlet"), vec!["#/notes/runs/0/outlet"]),
        (set("/runs/1", json!("path")), vec!["#/notes/runs/1"]),
        (rename("", "runs", "run"), vec!["#/notes/run", "#/notes/runs"]),
        (set("/drain_lines/0/id", json!("A")), vec!["#/notes/drain_lines/0/id"]),
        (rename("", "drain_lines", "lines"), vec!["#/notes/lines"]),
        (rename("/pricing", "optional", "options"), vec!["#/notes/pricing/options"]),
        // lengths that something lies within
        (set("/runs/0/legs/1/length", json!(24)), vec!["#/notes/runs/0/legs/1/length"]),
        (set("/runs/0/legs", json!(24)), vec!["#/notes/runs/0/legs"]),
        (set("/drain_lines/0/legs/0/length", json!("3")), vec!["#/notes/drain_lines/0/legs/0/length"]),
        // what must be there once: a depth or the ground
        (set("/drain_lines/0/ground", json!("flat")), vec!["#/notes/drain_lines/0/ground"]),
        (rename("/drain_lines/0", "ground", "grund"), vec!["#/notes/drain_lines/0/grund"]),
        // what enters a line
        (set("/drain_lines/1/ends", json!("main")), vec!["#/notes/drain_lines/1/ends"]),
        // a storm that lets a system be open
        (set("/storm", json!([])), vec!["#/notes/storm"]),
        (rename("", "storm", "storms"), vec!["#/notes/storms"]),
        // shares of a whole
        (
            set(
                "/catchments/0/reaches",
                json!([{"run": "drive", "share_pct": "60"}, {"run": "path", "share_pct": 40}]),
            ),
            vec!["#/notes/catchments/0/reaches/1/share_pct"],
        ),
        // a day of the weather on which only this is poured
        (
            Box::new(|n| {
                plant(n, &("/concrete/weather/0/day", json!(2)));
                plant(n, &("/runs/0/pour_days", json!("2")));
            }),
            vec!["#/notes/runs/0/pour_days"],
        ),
    ] {
        let mut notes = full_notes();
        change(&mut notes);
        let body = json!({"notes": notes});
        assert_eq!(app.post("/v1/calculators/estimate", &body).await.pointers(), pointers, "{body}");
    }
}
