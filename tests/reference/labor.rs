//! Hand rates of the demo book within the published bands; duration.

use crate::support::{Cases, base, book, in_unit, near, number};
use rillcast::compute::plan::man_days::duration;
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

#[test]
fn duration_of_a_task_from_man_days() {
    let cases = cases();
    let case = cases.get("lab-duration");
    let input = |name: &str| number(case, &format!("/inputs/{name}"));
    let crew = input("crew") as u32;
    let got = duration(input("man_days"), crew, input("availability_factor"), input("man_day_equivalent"))
        .expect("a crew");
    near(got.exact_days, number(case, "/expected/duration_days"), case);
    assert_eq!(f64::from(got.workdays), number(case, "/expected/workdays"));
}
