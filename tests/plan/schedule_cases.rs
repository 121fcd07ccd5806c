//! Critical path, calendar and strength cases.

use jiff::civil::Date;
use rillcast::compute::{
    calendar::*,
    plan::{result::PlannedTask, schedule},
};

use crate::{
    cases::case,
    common::{every_day, request, task, work},
};

fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn calendar_with(holidays: &[&str]) -> WorkingCalendar {
    let mut draft = CalendarDraft::us_office();
    draft.holidays = HolidaySet::none();
    draft.extra_closed = holidays.iter().map(|d| (day(d), "holiday".to_string())).collect();
    WorkingCalendar::new(draft).unwrap()
}

/// The arcs of the network become tasks of whole days; an arc follows every arc that ends where it begins.
#[test]
fn pittsburgh_network() {
    let c = case("cpm-pitt");
    let arcs: Vec<(String, String, f64)> = c
        .value("inputs", "arc_days")
        .as_object()
        .unwrap()
        .iter()
        .map(|(arc, days)| {
            let (from, to) = arc.split_once('-').unwrap();
            (from.to_string(), to.to_string(), days.as_f64().unwrap())
        })
        .collect();
    let id = |from: &str, to: &str| format!("{from}-{to}");
    let tasks = arcs
        .iter()
        .map(|(from, to, days)| {
            let name = id(from, to);
            let mut made = match *days {
                0.0 => rillcast::compute::plan::Task::milestone(task(&name), "dummy"),
                days => work(&name, days * 8.0),
            };
            for (before, _, _) in arcs.iter().filter(|(_, end, _)| end == from) {
                made = made.after(&task(&id(before, from)));
            }
            made
        })
        .collect();
    let start = day("2026-03-01");
    let plan = schedule(&request(every_day(), start, tasks)).unwrap();
    let planned = |from: &str, to: &str| plan.task(&task(&id(from, to))).unwrap();
    let days_in = |s: rillcast::compute::plan::result::Stamp| {
        f64::from((s.date - start).get_days()) + f64::from(s.into_day.minutes()) / 480.0
    };
    let node = |number: usize, early: bool| {
        let name = (number + 1).to_string();
        let leaving: Vec<&PlannedTask> =
            arcs.iter().filter(|(from, ..)| *from == name).map(|(f, t, _)| planned(f, t)).collect();
        let ending = arcs.iter().filter(|(_, to, _)| *to == name).map(|(f, t, _)| planned(f, t));
        match (early, leaving.is_empty()) {
            (true, false) => leaving.iter().map(|t| days_in(t.early.start)).fold(0.0, f64::max),
            (true, true) => ending.map(|t| days_in(t.early.finish)).fold(0.0, f64::max),
            (false, false) => leaving.iter().map(|t| days_in(t.late.start)).fold(f64::MAX, f64::min),
            (false, true) => ending.map(|t| days_in(t.late.finish)).fold(f64::MAX, f64::min),
        }
    };
    let expected = |name: &str| c.value("expected", name).as_array().unwrap().clone();
    for (number, (early, late)) in expected("early_node").iter().zip(expected("late_node")).enumerate() {
        c.near("early", early.as_f64().unwrap(), node(number, true));
        c.near("late", late.as_f64().unwrap(), node(number, false));
    }
    c.expect("duration", f64::from(plan.length.minutes()) / 480.0);
    let critical: Vec<String> = plan.critical_path.iter().map(ToString::to_string).collect();
    let critical_expected: Vec<String> =
        expected("critical").iter().map(|v| v.as_str().unwrap().to_string()).collect();
    assert_eq!(critical, critical_expected);
    for (arc, float) in c.value("expected", "total_float").as_object().unwrap() {
        let (from, to) = arc.split_once('-').unwrap();
        let found = f64::from(planned(from, to).total_float.minutes()) / 480.0;
        c.near(arc, float.as_f64().unwrap(), found);
    }
}

#[test]
fn working_days_over_a_holiday() {
    let c = case("cal-working-days");
    let calendar = calendar_with(&["2025-07-04"]);
    let mut line = Timeline::new(&calendar, day(c.text("start")));
    let over = line.after_working_days(Moment::start_of_day(0), c.input("working_days") as u32).unwrap();
    c.expect_text("finish", &line.date(over).unwrap().to_string());
}

#[test]
fn cure_over_a_holiday() {
    let c = case("cal-cure-calendar");
    let calendar = calendar_with(&["2025-07-04"]);
    let cure = Cure { calendar_days: c.input("cure_calendar_days") as u16, end: CureEnd::EndOfDay };
    let mut line = Timeline::new(&calendar, day(c.text("pour")));
    let cured = cure.done(Moment::start_of_day(0));
    c.expect_text("cure_complete", &line.date(cured).unwrap().to_string());
    let worked = line.worked(cured).unwrap();
    let on = line.start_at(worked).unwrap();
    c.expect_text("next_working_day", &line.date(on).unwrap().to_string());
}

/// The strengths at which conventional mixes are opened come, for the demo book's 4,000 psi, at the ages that are published with them.
#[test]
fn opening_to_traffic() {
    let c = case("open-traffic");
    let pair = |name: &str| {
        let values = c.value("expected", name).as_array().unwrap();
        (values[0].as_f64().unwrap(), values[1].as_f64().unwrap())
    };
    let (least_days, most_days) = pair("conventional_days");
    let book: serde_json::Value = serde_json::from_str(rillcast::domain::demo::BOOK).unwrap();
    let wheels = &book["concrete_rules"]["cure_days_wheels"];
    assert_eq!(wheels.as_f64().unwrap(), least_days, "the demo book");
    let days = |psi: f64| {
        let cure = StrengthGain::default().cure(4000.0, psi, least_days as u16).unwrap();
        f64::from(cure.value.calendar_days)
    };
    let (least_psi, most_psi) = pair("conventional_psi");
    assert_eq!((days(least_psi), days(most_psi)), (least_days, most_days));
    for name in ["ladotd_psi", "fhwa_28d_psi"] {
        let psi = c.value("expected", name).as_f64().unwrap();
        assert!((least_days..=most_days).contains(&days(psi)), "{name}");
    }
}

#[test]
fn strength_by_age() {
    for id in [
        "con-strength-aci209-3d",
        "con-strength-aci209-7d",
        "con-strength-aci209-14d",
        "con-strength-aci209-28d",
    ] {
        let c = case(id);
        let fraction = StrengthGain::default().fraction_at(c.input("age_days")).unwrap();
        c.expect("fraction_of_28d", fraction.value);
        assert!(fraction.cautions.is_empty());
    }
    let c = case("con-strength-time-to-open");
    let fraction = c.input("required_psi") / c.input("f28_psi");
    c.expect("age_days", StrengthGain::default().age_for(fraction).unwrap().value);
    let cure = StrengthGain::default().cure(c.input("f28_psi"), c.input("required_psi"), 7).unwrap();
    assert_eq!(cure.value.calendar_days, 9);
    let early = StrengthGain::default().fraction_at(0.5).unwrap();
    assert_eq!(early.cautions.len(), 1, "outside its range it must say so");
}
