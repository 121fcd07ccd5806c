//! Federal holidays 2000 to 2100 against an independent library.

use jiff::civil::{Date, Weekday, date};
use rillcast::compute::calendar::{HolidayRule, HolidaySet, Observance};
use serde_json::Value;

fn days(set: &HolidaySet, year: i16) -> Vec<String> {
    date(year, 1, 1)
        .series(jiff::ToSpan::days(1))
        .take_while(|d| d.year() == year)
        .filter(|d| set.on(*d).is_some())
        .map(|d| d.to_string())
        .collect()
}

#[test]
fn every_year_of_the_century() {
    let file: Value = serde_json::from_str(include_str!("cases/federal_holidays.json")).unwrap();
    assert!(file["source"].as_str().unwrap().starts_with("PyPI holidays"));
    let years = file["years"].as_object().unwrap();
    assert_eq!(years.len(), 101);
    let (actual, observed) =
        (HolidaySet::us_federal(Observance::Actual), HolidaySet::us_federal(Observance::Observed));
    for (year, lists) in years {
        let list = |name: &str| -> Vec<String> {
            lists[name].as_array().unwrap().iter().map(|v| v.as_str().unwrap().to_string()).collect()
        };
        let number = year.parse().unwrap();
        assert_eq!(days(&actual, number), list("actual"), "actual {year}");
        assert_eq!(days(&observed, number), list("observed"), "observed {year}");
    }
}

/// 2026 to 2028 by hand from 5 U.S.C. 6103 (from memory).
#[test]
fn known_years() {
    let set = HolidaySet::us_federal(Observance::Observed);
    let of_2026 =
        ["01-01", "01-19", "02-16", "05-25", "06-19", "07-03", "09-07", "10-12", "11-11", "11-26", "12-25"];
    let expected: Vec<String> = of_2026.iter().map(|d| format!("2026-{d}")).collect();
    assert_eq!(days(&set, 2026), expected);
    let of_2027 = days(&set, 2027);
    assert!(of_2027.contains(&"2027-01-01".into()) && of_2027.contains(&"2027-12-31".into()));
    let of_2028 = days(&set, 2028);
    assert!(!of_2028.contains(&"2028-01-01".into()) && of_2028.contains(&"2028-11-10".into()));
}

#[test]
fn both_closes_day_and_substitute() {
    let both = HolidaySet::us_federal(Observance::ActualAndObserved);
    for day in [date(2026, 7, 3), date(2026, 7, 4)] {
        assert!(both.on(day).is_some());
    }
    let only: Vec<Date> =
        (1..=31).filter_map(|d| Date::new(2026, 7, d).ok()).filter(|d| both.on(*d).is_some()).collect();
    assert_eq!(only.len(), 2);
    assert_eq!(only[0].weekday(), Weekday::Friday);
}

/// A rule is kept in the year it begins with and in the one it ends with.
#[test]
fn the_first_and_the_last_year_of_a_rule_are_kept() {
    let rule = HolidayRule::fixed("Founders", 5, 4).unwrap().from_year(2026).until_year(2027);
    let set = HolidaySet::new(vec![rule], Observance::Actual);
    let kept: Vec<i16> = (2025..=2028).filter(|y| set.on(date(*y, 5, 4)).is_some()).collect();
    assert_eq!(kept, [2026, 2027]);
}
