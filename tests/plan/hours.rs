//! Hours with factors, method limits, overtime; sums by hand, common practice, no source.

use std::collections::BTreeMap;

use jiff::civil::{Weekday, date};
use rillcast::compute::plan::{
    TradeId,
    hours::*,
    methods::{Conditions, Method, check},
    overtime::{OvertimeRule, split},
};

fn dig() -> HoursRequest {
    let trade = |t: &str| TradeId::new(t).unwrap();
    let factor = |kind, label: &str, value| Factor { kind, label: label.into(), value };
    HoursRequest {
        rate: TaskRate {
            name: "Dig run by hand".into(),
            unit: "yd3".into(),
            unit_hours: 1.5,
            basis: RateBasis::PersonHours,
            setup_crew_hours: 0.5,
        },
        quantity: 4.0,
        crew: BTreeMap::from([(trade("laborer"), 2), (trade("foreman"), 1)]),
        factors: vec![
            factor(FactorKind::Soil, "clay", 1.2),
            factor(FactorKind::DepthBand, "3 to 5 ft", 1.25),
            factor(FactorKind::Weather, "rain", 1.1),
        ],
        rounding: Rounding::UpTo(0.25),
    }
}

/// 0.5 + 4 x 1.5 x 1.2 x 1.25 x 1.1 / 3 = 3.8, up to 4.0; two laborers 8.0, a foreman 4.0.
#[test]
fn setup_quantity_factors_and_rounding() {
    let found = hours(&dig()).unwrap();
    assert!((found.crew_hours_exact - 3.8).abs() < 1e-12);
    assert_eq!(found.crew_hours, 4.0);
    assert!((found.factor - 1.65).abs() < 1e-12);
    let people: Vec<(&str, f64)> = found.person_hours.iter().map(|(t, h)| (t.as_str(), *h)).collect();
    assert_eq!(people, [("foreman", 4.0), ("laborer", 8.0)]);
    assert_eq!(
        found.basis,
        "Dig run by hand: 0.5 h setup + 4 yd3 x 1.5 person-hours per yd3 x 1.2 (soil: clay) x 1.25 (depth: 3 to 5 ft) \
         x 1.1 (weather: rain) / 3 people = 3.8000 crew-hours, rounded up to the next 0.25 h: 4"
    );
}

#[test]
fn roundings_are_as_named() {
    let rounded = |rounding| hours(&HoursRequest { rounding, ..dig() }).unwrap().crew_hours;
    assert!((rounded(Rounding::Exact) - 3.8).abs() < 1e-12);
    assert_eq!(rounded(Rounding::NearestTo(0.5)), 4.0);
    assert_eq!(Rounding::NearestTo(0.5).apply(3.75), 4.0);
    assert_eq!(Rounding::NearestTo(0.5).apply(3.74), 3.5);
    // a multiple of the step stays, whatever binary fractions make of it
    assert_eq!(Rounding::UpTo(0.1).apply(0.1 + 0.2), 0.1 * 3.0);
    assert_eq!(Rounding::UpTo(0.25).apply(0.0), 0.0);
}

#[test]
fn nothing_to_do_takes_no_time() {
    let found = hours(&HoursRequest { quantity: 0.0, ..dig() }).unwrap();
    assert_eq!(found.crew_hours, 0.0);
}

#[test]
fn every_fault_of_the_hours_at_once() {
    let mut bad = dig();
    bad.quantity = -1.0;
    bad.rate.unit_hours = f64::NAN;
    bad.factors[0].value = 0.0;
    bad.crew.clear();
    bad.rounding = Rounding::UpTo(0.0);
    let faults = hours(&bad).unwrap_err();
    assert_eq!(faults.len(), 5, "{faults:?}");
    assert!(faults.iter().any(|f| f.to_string().contains("factors[0] `clay`: 0")));
}

#[test]
fn depth_bands_are_taken_to_their_end() {
    let band = |to_nm, label: &str, factor| DepthBand { to_nm, label: label.into(), factor };
    let feet = 304_800_000;
    let bands = [band(5 * feet, "3 to 5 ft", 1.25), band(3 * feet, "to 3 ft", 1.0)];
    assert_eq!(depth_factor(&bands, 3 * feet).unwrap().value, 1.0);
    assert_eq!(depth_factor(&bands, 3 * feet + 1).unwrap().value, 1.25);
    let fault = depth_factor(&bands, 6 * feet).unwrap_err();
    assert!(fault.to_string().contains("add a deeper band"));
    assert!(depth_factor(&[], 1).is_err());
}

#[test]
fn a_method_that_cannot_do_it_fails_its_check() {
    let inch = 25_400_000;
    let by_hand = Method {
        name: "hand digging".into(),
        reach_nm: Some(60 * inch),
        thickest_nm: None,
        width_nm: Some((12 * inch, 36 * inch)),
        cannot_work: ["rock".to_string()].into(),
    };
    let asked = Conditions {
        depth_nm: Some(60 * inch),
        thickness_nm: Some(4 * inch),
        width_nm: Some(11 * inch),
        material: Some("rock".into()),
    };
    let checks = check(&by_hand, &asked);
    let passed: Vec<(&str, bool)> = checks.iter().map(|c| (c.rule, c.passed)).collect();
    assert_eq!(passed, [("reach", true), ("trench width", false), ("material", false)]);
    assert!(checks[2].text.contains("rock cannot be worked by hand digging; take a method made for it"));
    assert_eq!(check(&by_hand, &Conditions::default()), []);
}

/// Over 8 a day at 1.5, over 12 double, over 40 plain hours a week at 1.5: 8+8+8+8+8 and 4 on Saturday, one
/// day of 13.
#[test]
fn day_week_and_double_are_counted_once() {
    let rule = OvertimeRule {
        daily_limit: Some(8.0),
        weekly_limit: Some(40.0),
        daily_double_limit: Some(12.0),
        week_starts: Weekday::Monday,
        ..OvertimeRule::default()
    };
    let mut days: Vec<_> = (2..=6).map(|d| (date(2026, 3, d), 8.0)).collect();
    days[2].1 = 13.0;
    days.push((date(2026, 3, 7), 4.0));
    let found = split(&days, &rule).unwrap();
    // Wednesday: 8 plain, 4 over, 1 double; plain 44 in the week, so 4 more over
    assert_eq!((found.regular, found.overtime, found.double), (40.0, 8.0, 1.0));
    assert_eq!(found.paid, 40.0 + 12.0 + 2.0);
    // Saturday in a week of its own when weeks start on Saturday
    let found = split(&days, &OvertimeRule { week_starts: Weekday::Saturday, ..rule }).unwrap();
    assert_eq!((found.regular, found.overtime), (44.0, 4.0));
    assert_eq!(split(&[(date(2026, 3, 2), 25.0)], &rule).unwrap_err().len(), 1);
}
