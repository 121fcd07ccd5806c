//! Hours against sums done by hand with the demo book.

#![expect(clippy::unwrap_used, reason = "a test stops where the book cannot be read")]

mod counted;

use super::rate::quantity_hours;
use super::{Conditions, LaborHours, Trenches, hours};
use crate::domain::book::PriceBook;
use crate::domain::demo::BOOK;
use crate::domain::lines::Outcome;
use crate::domain::measures::{Dug, Measures, Poured};
use crate::domain::words::{Difficulty, Measure, Soil, Task, Weather};
use crate::units::show::Show;
use crate::units::{Amount, Length, Unit, UnitSystem, Volume};
use crate::wire::Code;
use proptest::prelude::*;
use serde_json::{Value, json};

fn book_with(change: impl Fn(&mut Value)) -> PriceBook {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    PriceBook::check(crate::wire::read_value(&book).unwrap()).unwrap()
}

fn normal(soil: Soil) -> Conditions<'static> {
    Conditions {
        soil,
        difficulty: Difficulty::Normal,
        weather: None,
        deepest_run: Length::FOOT,
        deepest_line: Length::FOOT,
        thickest_sawn: Length::ZERO,
        methods: &[],
        trenches: Trenches::UNNAMED,
    }
}

fn measured(parts: &[(Measure, i128)]) -> Measures {
    let mut out = Measures::default();
    for (measure, base) in parts {
        out.set_base(*measure, *base);
    }
    out
}

fn hundredths_of_yard(n: i128) -> i128 {
    Unit::Yd3.factor().unwrap() / 100 * n
}

fn worked(measures: &Measures, conditions: &Conditions<'_>, book: &PriceBook) -> LaborHours {
    hours(measures, conditions, book, Show(UnitSystem::Us))
}

fn failed(answer: &LaborHours) -> Vec<(&'static str, String)> {
    answer.checks.iter().filter(|c| c.outcome == Outcome::Fail).map(|c| (c.name, c.subject.clone())).collect()
}

#[test]
fn setup_is_not_multiplied_and_the_crew_is_rounded_up() {
    let book = book_with(|b| {
        b["labor"][6]["setup"] = json!("30 min");
        b["labor"][6]["rates"] = json!([{"measure": "run_excavation", "unit": "yd3", "hours": "1.6"}]);
        b["labor_rules"]["step"] = json!("30 min");
    });
    let conditions = Conditions { difficulty: Difficulty::Hard, ..normal(Soil::Clay) };
    let answer = worked(&measured(&[(Measure::RunExcavation, hundredths_of_yard(321))]), &conditions, &book);
    assert_eq!(
        answer.tasks[0].basis,
        "setup 0.5 h + 3.21 yd3 run_excavation x 1.6 h x 1.25 (hard place) = 6.92 person-hours; crew of 2: 3.5 \
         crew-hours after rounding up to 0.5 h"
    );
    assert_eq!(answer.tasks[0].person_hours.to_string(), "7 hr");
    // 7 h x 24.75 x 1.38 = 239.085
    assert_eq!(answer.cost.to_string(), "239.09");
    assert!(failed(&answer).is_empty());
}

#[test]
fn the_rate_for_the_soil_is_taken() {
    let book = book_with(|_| ());
    let dug = measured(&[(Measure::RunExcavation, hundredths_of_yard(1000))]);
    for (soil, net) in
        [(Soil::SandGravel, "11.6 hr"), (Soil::CommonEarth, "13.4 hr"), (Soil::Clay, "16.6 hr")]
    {
        assert_eq!(worked(&dug, &normal(soil), &book).tasks[0].person_hours_net.to_string(), net);
    }
}

#[test]
fn depth_makes_digging_slower_and_only_digging() {
    let book = book_with(|_| ());
    let measures =
        measured(&[(Measure::LineExcavation, hundredths_of_yard(1000)), (Measure::Connections, 2)]);
    let deep = Conditions { deepest_line: Length::feet(4), ..normal(Soil::Clay) };
    let answer = worked(&measures, &deep, &book);
    // 1 h setup + 10 yd³ x 0.4 h x 1.15; two connections at 0.6 h whatever the depth.
    assert_eq!(answer.tasks[0].person_hours_net.to_string(), "5.6 hr");
    assert!(answer.tasks[0].basis.contains("x 1.15 (4 ft deep)"), "{}", answer.tasks[0].basis);
    assert_eq!(answer.tasks[1].person_hours_net.to_string(), "1.2 hr");
}

/// 3 ft are not deeper than 3 ft: 1 h of setup and 10 x 0.4.
#[test]
fn a_trench_of_just_the_depth_is_not_deeper() {
    let book = book_with(|_| ());
    let measures = measured(&[(Measure::LineExcavation, hundredths_of_yard(1000))]);
    let net = |deepest_line: Length| {
        let conditions = Conditions { deepest_line, ..normal(Soil::Clay) };
        worked(&measures, &conditions, &book).tasks[0].person_hours_net.to_string()
    };
    assert_eq!(net(Length::feet(3)), "5 hr");
    assert_eq!(net(Length::feet(3) + Length::from_nm(1)), "5.6 hr");
}

/// What is dug where it is deep takes longer, and only that; the parts stand side by side in the working.
#[test]
fn each_part_of_a_trench_is_dug_by_its_own_depth() {
    let book = book_with(|_| ());
    let part = |over, deepest, hundredths| Dug {
        measure: Measure::LineExcavation,
        over,
        deepest,
        volume: Volume::from_nm3(hundredths_of_yard(hundredths)),
    };
    let mut dug = measured(&[(Measure::LineExcavation, hundredths_of_yard(2410))]);
    dug.add_dug(part(Length::feet(5), Length::inches(75, 1), 1430));
    dug.add_dug(part(Length::ZERO, Length::feet(3), 980));
    let deep = Conditions { deepest_line: Length::inches(75, 1), ..normal(Soil::Clay) };
    let task = |measures: &Measures, conditions: Conditions<'_>| {
        worked(measures, &conditions, &book).tasks.remove(0)
    };
    // 1 h of setup, 9.8 x 0.4 and 14.3 x 0.4 x 1.4.
    assert_eq!(
        task(&dug, deep).basis,
        "setup 1 h + 9.8 yd3 line_excavation x 0.4 h x 1 (to 3 ft deep) + 14.3 yd3 line_excavation x 0.4 h x 1.4 \
         (5 ft to 6 ft 3 in deep) = 12.928 person-hours; crew of 2: 6.5 crew-hours after rounding up to 0.25 h"
    );
    let hard = task(&dug, Conditions { difficulty: Difficulty::Hard, ..deep });
    assert_eq!(hard.person_hours_net.to_string(), "15.91 hr");
    assert!(hard.basis.starts_with("setup 1 h + (9.8 yd3 "), "{}", hard.basis);
    assert!(hard.basis.contains(" deep)) x 1.25 (hard place) = "), "{}", hard.basis);
    // The parts of a job share the hours of a task by the same hours.
    let rate = book.labor(Task::DigLine, None).unwrap();
    assert_eq!(quantity_hours(rate, &dug, &deep, &book).normalize().to_string(), "11.928");
    // What was done is as deep as what was estimated: half of it takes half the hours.
    dug.set_base(Measure::LineExcavation, hundredths_of_yard(1205));
    assert_eq!(task(&dug, deep).person_hours_net.to_string(), "6.964 hr");
}

#[test]
fn a_place_or_weather_without_a_factor_is_said() {
    let book = book_with(|b| {
        b["labor_rules"]["difficulty"] = json!([{"difficulty": "easy", "factor": "0.9"}]);
        b["labor_rules"]["weather"] = json!([]);
    });
    let dug = measured(&[(Measure::RunExcavation, hundredths_of_yard(100))]);
    let said = |conditions: &Conditions<'_>| {
        let answer = worked(&dug, conditions, &book);
        let warned = answer.checks.iter().filter(|c| c.name == "labor_factor");
        warned.map(|c| (c.subject.clone(), c.outcome, c.reason.clone())).collect::<Vec<_>>()
    };
    let hard = Conditions { difficulty: Difficulty::Hard, weather: Some(Weather::Wet), ..normal(Soil::Clay) };
    assert_eq!(
        said(&hard),
        [
            (
                "difficulty".to_owned(),
                Outcome::Warn,
                "the price book has no difficulty factor for `hard`, only for easy: `hard` changes no hours"
                    .to_owned()
            ),
            (
                "weather".to_owned(),
                Outcome::Warn,
                "the price book has no factors for weather: `wet` changes no hours".to_owned()
            )
        ]
    );
    assert!(said(&normal(Soil::Clay)).is_empty());
    assert!(said(&Conditions { weather: Some(Weather::Fair), ..normal(Soil::Clay) }).is_empty());
    let easy = Conditions { difficulty: Difficulty::Easy, ..normal(Soil::Clay) };
    assert!(said(&easy).is_empty());
}

#[test]
fn no_method_works_in_a_soil_it_cannot_work_in() {
    let book = book_with(|b| {
        let labor = b["labor"].as_array_mut().unwrap();
        labor.iter_mut().find(|l| l["task"] == "backfill").unwrap()["not_in"] = json!(["clay"]);
    });
    let filled = measured(&[(Measure::Backfill, hundredths_of_yard(500))]);
    let answer = worked(&filled, &normal(Soil::Clay), &book);
    assert_eq!(failed(&answer), [("method_in_soil", "backfill".to_owned())]);
    assert!(failed(&worked(&filled, &normal(Soil::SandGravel), &book)).is_empty());
}

#[test]
fn a_soil_without_a_rate_fails_aloud() {
    let book = book_with(|_| ());
    let dug = measured(&[(Measure::RunExcavation, hundredths_of_yard(500))]);
    let answer = worked(&dug, &normal(Soil::Rock), &book);
    assert_eq!(
        failed(&answer),
        [("labor_rate", "dig_run".to_owned()), ("method_in_soil", "dig_run".to_owned())]
    );
}

#[test]
fn a_method_that_does_not_reach_fails() {
    let book = book_with(|_| ());
    let trencher = Code::new("trencher").unwrap();
    let methods = [(Task::DigLine, &trencher)];
    let dug = measured(&[(Measure::LineExcavation, hundredths_of_yard(500))]);
    let deep = Conditions { deepest_line: Length::feet(4), methods: &methods, ..normal(Soil::Clay) };
    let answer = worked(&dug, &deep, &book);
    assert_eq!(failed(&answer), [("method_reach", "dig_line".to_owned())]);
    let in_use: Vec<_> = answer.tasks.iter().map(|t| (t.task, t.method.as_str())).collect();
    assert_eq!(in_use, [(Task::DigLine, "trencher")]);
    let shallow = Conditions { deepest_line: Length::feet(3), ..deep };
    assert!(failed(&worked(&dug, &shallow, &book)).is_empty());
}

#[test]
fn the_crew_comes_once_a_visit() {
    let book = book_with(|_| ());
    let answer = worked(&measured(&[(Measure::Visits, 3)]), &normal(Soil::Clay), &book);
    assert_eq!(answer.tasks[0].person_hours_net.to_string(), "6.75 hr");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn tasks_trades_and_lines_foot(
        dug in 1_i128..5_000, holes in 1_i128..90, poured in 1_i128..3_000, joints in 1_i128..90,
        step in prop::sample::select(vec!["15 min", "20 min", "7 min", "0 min"]),
    ) {
        let book = book_with(|b| b["labor_rules"]["step"] = json!(step));
        let measures = measured(&[
            (Measure::Visits, 2),
            (Measure::RunExcavation, hundredths_of_yard(dug)),
            (Measure::Hangers, holes),
            (Measure::ConcreteOrdered, hundredths_of_yard(poured)),
            (Measure::ChannelJoints, joints),
        ]);
        let answer = worked(&measures, &normal(Soil::Clay), &book);
        let of_tasks: Amount = answer.tasks.iter().map(|t| t.cost).sum();
        let of_trades: Amount = answer.trades.iter().map(|t| t.cost).sum();
        prop_assert_eq!(of_tasks, answer.cost);
        prop_assert_eq!(of_trades, answer.cost);
        for line in &answer.cost_lines {
            prop_assert_eq!(line.cost, line.unit_price.times(line.quantity.value()));
        }
        for task in &answer.tasks {
            let people: i64 = task.crew.iter().map(|c| c.count).sum();
            let paid = i128::from(task.seconds) * i128::from(people);
            let mut net = task.person_hours_net.value();
            net.rescale(3);
            // Never less than the work (to the three decimals shown), never a whole step of the crew above it.
            prop_assert!(paid * 1000 + 1800 >= net.mantissa() * 3600);
            let a_step = match step { "15 min" => 900, "20 min" => 1200, "7 min" => 420, _ => 1 };
            prop_assert!((paid - a_step * i128::from(people)) * 1000 < net.mantissa() * 3600 + 1800);
        }
    }
}

#[test]
fn a_blade_that_does_not_go_through_the_slab_fails() {
    let book = book_with(|b| {
        let saw =
            b["labor"].as_array_mut().unwrap().iter_mut().find(|l| l["method"] == "hand-held-saw").unwrap();
        saw["greatest_depth"] = json!("5 in");
    });
    let sawn =
        measured(&[(Measure::SawCutLength, 30_000_000_000), (Measure::SawCutFace, 30_000_000_000_000_000)]);
    let hand = Code::new("hand-held-saw").unwrap();
    let methods = [(Task::SawCut, &hand)];
    for (thickness, fails) in
        [(Length::inches(5, 1), false), (Length::inches(6, 1), true), (Length::ZERO, false)]
    {
        let conditions = Conditions { thickest_sawn: thickness, methods: &methods, ..normal(Soil::Clay) };
        let answer = worked(&sawn, &conditions, &book);
        let expected: &[_] = if fails { &[("method_reach", "saw_cut".to_owned())] } else { &[] };
        assert_eq!(failed(&answer), expected, "{}", thickness.nm());
    }
}

#[test]
fn what_is_mixed_on_several_days_is_set_up_and_rounded_on_each() {
    let book = book_with(|_| ());
    let mut bags = measured(&[(Measure::BagsMixed, 13)]);
    let day = |day, bags| Poured { day, volume: Volume::ZERO, bags };
    bags.set_pours(vec![day(1, 8), day(2, 0), day(4, 5)]);
    let answer = worked(&bags, &normal(Soil::Clay), &book);
    // 0.98 and 0.8 person-hours by two are half an hour each; the second day takes trucks.
    assert_eq!(
        answer.tasks[0].basis,
        "pour day 1: setup 0.5 h + 8 bags_mixed x 0.06 h = 0.98 person-hours; crew of 2: 0.5 crew-hours after \
         rounding up to 0.25 h; pour day 4: setup 0.5 h + 5 bags_mixed x 0.06 h = 0.8 person-hours; crew of 2: 0.5 \
         crew-hours after rounding up to 0.25 h"
    );
    assert_eq!(answer.tasks[0].person_hours.to_string(), "2 hr");
    assert_eq!(answer.tasks[0].by_pour_day, [(1, 1800), (4, 1800)]);
    // Another sum, as recorded when it was done, is shared as the old one was.
    for mixed in [0, 1, 26, 1_300_000] {
        bags.set_base(Measure::BagsMixed, mixed);
        let shares: Vec<i128> =
            bags.by_pour_day(Measure::BagsMixed).iter().map(|(_, m)| m.base(Measure::BagsMixed)).collect();
        assert_eq!(shares.iter().sum::<i128>(), mixed, "{shares:?}");
        assert!(shares.iter().all(|s| *s >= 0), "{shares:?}");
    }
}
