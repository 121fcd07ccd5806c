//! Whole estimates of legal but unusual notes.

use rillcast::compute::pipeline;
use rillcast::domain::answers::Estimate;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo;
use rillcast::domain::lines::Outcome;
use rillcast::wire::read_document;
use serde_json::{Value, json};

fn estimate(change: impl FnOnce(&mut Value)) -> Estimate {
    let book = PriceBook::check(read_document(demo::BOOK.as_bytes()).unwrap()).unwrap();
    let mut notes: Value = serde_json::from_str(demo::NOTES).unwrap();
    change(&mut notes);
    let notes = read_document(notes.to_string().as_bytes()).unwrap();
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    pipeline::estimate(&notes, &book, &used, &demo::rains().unwrap()).unwrap()
}

/// Subject, outcome and reason of the checks of one name.
fn checks(estimate: &Estimate, name: &str) -> Vec<(String, Outcome, String)> {
    let of = estimate.checks.iter().filter(|c| c.name == name);
    of.map(|c| (c.subject.clone(), c.outcome, c.reason.clone())).collect()
}

/// A forgotten drain line is missing from the price: each outlet that no line takes is named.
#[test]
fn outlets_without_a_line_are_named() {
    assert!(checks(&estimate(|_| {}), "outlet_connected").is_empty(), "both outlets of the demo have a line");
    let without = estimate(|notes| notes["drain_lines"] = json!([]));
    let found = checks(&without, "outlet_connected");
    let subjects: Vec<(&str, Outcome)> = found.iter().map(|(s, o, _)| (s.as_str(), *o)).collect();
    assert_eq!(subjects, [("run drive", Outcome::Warn), ("run path", Outcome::Warn)]);
    assert!(found.first().unwrap().2.contains("outlet `drive-out`"), "{found:?}");
}

/// A metric answer says metric weights and lengths; the sums of money do not move.
#[test]
fn a_metric_answer_weighs_in_kilograms() {
    let (us, metric) = (estimate(|_| {}), estimate(|notes| notes["unit_system"] = json!("metric")));
    assert_eq!(us.summary.total, metric.summary.total);
    let reasons =
        |e: &Estimate| checks(e, "uplift").into_iter().map(|(.., reason)| reason).collect::<Vec<_>>();
    // 2513 lb x 0.45359237 kg (international pound, exact; from memory) = 1139.9 kg; 250 lb = 113.4 kg.
    assert!(reasons(&us).first().unwrap().contains("2513 lb; 11 hangers of 250 lb"), "{:?}", reasons(&us));
    assert!(
        reasons(&metric).first().unwrap().contains("1140 kg; 11 hangers of 113 kg"),
        "{:?}",
        reasons(&metric)
    );
    let lifting = metric.cautions.iter().find(|c| c.name == "lifting").unwrap();
    assert_eq!(lifting.raised_by, "a run longer than 3.658 m");
}

/// A plan that ends after the wished finish warns in the estimate, with the days it is late.
#[test]
fn a_finish_out_of_reach_warns() {
    let late = estimate(|notes| notes["schedule"] = json!({"start": "2026-12-07", "finish": "2026-12-08"}));
    let found = checks(&late, "finish_wished");
    let (subject, outcome, reason) = found.first().unwrap();
    assert_eq!((subject.as_str(), *outcome), ("plan", Outcome::Warn));
    let wish = late.plan.as_ref().unwrap().wish.as_ref().unwrap();
    let days = wish.working_days_to_spare.unsigned_abs();
    assert!(
        reason.contains(&format!("planned until {}, {days} working days after", wish.planned)),
        "{reason}"
    );
    let in_time =
        estimate(|notes| notes["schedule"] = json!({"start": "2026-12-07", "finish": "2027-06-30"}));
    assert_eq!(checks(&in_time, "finish_wished").first().unwrap().1, Outcome::Pass);
}

/// The truck carries whole things that the crew can lift: no deliveries, and a blade charged by its wear is one blade.
#[test]
fn the_truck_is_loaded_with_whole_things() {
    let demo = estimate(|_| {});
    let loaded = |name: &str| demo.load_out.iter().filter(|l| l.name.starts_with(name)).collect::<Vec<_>>();
    assert!(demo.cost_lines.iter().any(|l| l.rule == "buying.delivery"), "the demo job pays for a delivery");
    assert!(loaded("Delivery").is_empty());
    let blade = demo.cost_lines.iter().find(|l| l.description.starts_with("Diamond blade")).unwrap();
    assert_eq!(blade.quantity.to_string(), "0.09");
    assert_eq!(loaded("Diamond blade").first().unwrap().count, "1");
}

/// A failed check is said once with what it is about, in the summary too.
#[test]
fn a_failed_check_names_its_subject_once() {
    let short = estimate(|notes| {
        notes["runs"] = json!([{"id": "stub", "legs": [{"length": "1 in"}], "channel_system": "channel-4-light",
            "crossing": "feet", "outlets": [{"kind": "end", "id": "out", "at": "finish"}]}]);
        for member in ["drain_lines", "catchments"] {
            notes[member] = json!([]);
        }
        notes.as_object_mut().unwrap().remove("storm");
    });
    let failed = &short.summary.failed;
    assert!(
        failed.iter().any(|f| f.starts_with("run stub, leg 1: channel of 1 in is shorter")),
        "{failed:?}"
    );
    assert!(!failed.iter().any(|f| f.starts_with("run stub: run stub")), "{failed:?}");
}

/// A channel with built-in fall that meets its outlet deeper from one side than from the other is refused in the words of the
/// job, with what would mend it.
#[test]
fn a_step_in_the_bottom_is_told_in_the_units_of_the_job() {
    let stepped = estimate(|notes| notes["runs"][0]["channel_system"] = json!("channel-8-fall"));
    let found = checks(&stepped, "run_water");
    let (subject, outcome, reason) = found.first().unwrap();
    assert_eq!((subject.as_str(), *outcome), ("run drive", Outcome::Fail));
    // 33 ft at 0.5 % from one side, 6 in from the other; the channel begins 5.118 in deep.
    for part in ["the outlet at 33 ft", "7.1 in", "5.15 in", "Move the outlet"] {
        assert!(reason.contains(part), "{reason}");
    }
}
