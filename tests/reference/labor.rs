//! Hand rates of the demo book within the published bands.

use crate::support::{Cases, base, book, in_unit, near, number};
use rillcast::domain::words::{Measure, Soil, Task};
use rillcast::units::Unit;
use rust_decimal::prelude::ToPrimitive;
use serde_json::Value;

fn cases() -> Cases {
    Cases::of(include_str!("cases/labor.json"))
}

/// Person-hours per yd³ from a rate per m³, converted by the units of the crate and held against the case.
fn hours_per_yard(case: &Value) -> f64 {
    let yard_in_metres = in_unit(base(1.0, Unit::Yd3), Unit::M3);
    let inputs = &case["inputs"];
    let per_metre = match (inputs["rate_m3_per_mh"].as_f64(), inputs["hr_per_m3"].as_f64()) {
        (Some(rate), _) => 1.0 / rate,
        (_, Some(hours)) => hours,
        _ => {
            number(case, "/inputs/labour_days") * number(case, "/inputs/hours_per_day")
                / number(case, "/inputs/m3")
        }
    };
    let hours = per_metre * yard_in_metres;
    near(hours, number(case, "/expected/mh_per_cy"), case);
    hours
}

fn rate(task: Task, method: &str, measure: Measure, soil: Option<Soil>) -> f64 {
    let book = book();
    let rates =
        book.doc().labor.iter().find(|r| r.task == task && r.method.as_str() == method).expect("the method");
    let rate = rates
        .rates
        .iter()
        .find(|r| r.measure == measure && soil.is_none_or(|s| r.soils.contains(&s)))
        .expect("the rate");
    assert_eq!(rate.unit, Unit::Yd3);
    rate.hours.number().to_f64().expect("a number")
}

#[test]
fn hand_digging_lies_within_the_published_band() {
    let cases = cases();
    let hours = |id: &str| hours_per_yard(cases.get(&format!("lab-handdig-pp-{id}")));
    let (loosest, firm) = (hours("loose_sand_or_soil"), hours("firm_sand_or_soil"));
    let (clay, hardest) = (hours("clay_heavy_soil"), hours("boulder_clay"));
    let (deep, deepest) = (hours("depth-1.5-3.0m_firm"), hours("depth-3.0-4.5m_firm"));
    assert!(firm < deep && deep < deepest);
    for (task, measure) in [(Task::DigRun, Measure::RunExcavation), (Task::DigLine, Measure::LineExcavation)]
    {
        for (soil, published) in [(Soil::SandGravel, loosest), (Soil::CommonEarth, firm), (Soil::Clay, clay)]
        {
            let ours = rate(task, "hand", measure, Some(soil));
            assert!((loosest - 0.005..=hardest).contains(&ours), "{task} {soil}: {ours}");
            // Written to two places in the book.
            assert!((ours - published).abs() <= 0.005, "{task} {soil}: {ours} against {published}");
        }
    }
}

#[test]
fn breaking_out_lies_within_the_published_bands() {
    let cases = cases();
    let hours = |id: &str| hours_per_yard(cases.get(&format!("lab-break-{id}")));
    let (thin, thick) = (hours("pp-slab_plain_50_100mm"), hours("pp-slab_plain_100_200mm"));
    let (steel_thin, steel_thick) = (hours("pp-slab_rc_50_100mm"), hours("pp-slab_rc_100_200mm"));
    assert!(thin < thick && thick < steel_thin && steel_thin < steel_thick);
    let powered = rate(Task::BreakOut, "breaker", Measure::SlabRemoved, None);
    assert!((thin..=thick + 0.005).contains(&powered), "{powered}");
    let by_hand = rate(Task::BreakOut, "hand", Measure::SlabRemoved, None);
    assert!((hours("hand-plain") - 0.005..=hours("hand-rc")).contains(&by_hand), "{by_hand}");
    let asphalt = rate(Task::BreakOut, "breaker", Measure::AsphaltRemoved, None);
    assert!((asphalt - hours("pp-asphalt_50_100mm")).abs() <= 0.005, "{asphalt}");
}

/// Rates far from the published ones are told when a price book is checked; the bands are those of `tests/plan/labor_cases.rs`,
/// with their sources.
#[test]
fn rates_far_from_the_published_are_told() {
    use rillcast::compute::second_look::{SecondLook, rates};
    let looks = |change: &dyn Fn(&mut serde_json::Value)| -> Vec<SecondLook> {
        let mut book: serde_json::Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
        change(&mut book);
        rates(&rillcast::wire::read_document(book.to_string().as_bytes()).unwrap())
    };
    assert_eq!(looks(&|_| {}), [], "the demo book's are among them");
    let by_hand = |task: &str, hours: &str, unit: &str| {
        looks(&|book| {
            let labor = book["labor"].as_array_mut().unwrap();
            let rate = labor.iter_mut().find(|r| r["task"] == task && r["method"] == "hand").unwrap();
            rate["rates"][0]["hours"] = hours.into();
            rate["rates"][0]["unit"] = unit.into();
        })
    };
    let dug = by_hand("dig_run", "0.05", "yd3");
    assert_eq!(dug.len(), 1, "{dug:?}");
    assert!(dug[0].pointer.ends_with("/rates/0/hours"), "{dug:?}");
    assert!(dug[0].detail.contains("1.16 to 4.16 h/yd3"), "{dug:?}");
    // 1.52 h for a cubic metre is 1.16 h for a cubic yard
    assert_eq!(by_hand("dig_run", "1.52", "m3"), []);
    assert_eq!(by_hand("break_out", "0.1", "yd3").len(), 1);
    assert_eq!(dug[0].usual, "1.16 to 4.16 h/yd3");
    assert!(dug[0].source.contains("IS 7272"), "{dug:?}");
}
