//! Overtime and travel against sums done by hand with the demo book.

#![expect(clippy::unwrap_used, reason = "a test stops where the book cannot be read")]

use super::{DayWork, add, in_sequence};
use crate::compute::labor::{Conditions, LaborHours, Trenches, hours};
use crate::domain::book::PriceBook;
use crate::domain::demo::BOOK;
use crate::domain::measures::Measures;
use crate::domain::words::{Difficulty, Measure, Soil, Weather};
use crate::units::quantity::Span;
use crate::units::show::Show;
use crate::units::{Length, Unit, UnitSystem};
use serde_json::{Value, json};

fn book_with(change: impl Fn(&mut Value)) -> PriceBook {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    PriceBook::check(crate::wire::read_value(&book).unwrap()).unwrap()
}

/// Hand digging in clay: 1.66 person-hours a cubic yard, two laborers, no setup.
fn digging(yards: i128, weather: Option<Weather>, book: &PriceBook) -> LaborHours {
    let mut measures = Measures::default();
    measures.set_base(Measure::RunExcavation, Unit::Yd3.factor().unwrap() * yards);
    let conditions = Conditions {
        soil: Soil::Clay,
        difficulty: Difficulty::Normal,
        weather,
        deepest_run: Length::FOOT,
        deepest_line: Length::FOOT,
        thickest_sawn: Length::ZERO,
        methods: &[],
        trenches: Trenches::UNNAMED,
    };
    hours(&measures, &conditions, book, Show(UnitSystem::Us))
}

#[test]
fn weather_multiplies_the_quantity_and_says_so() {
    let book = book_with(|_| ());
    // 10 yd3 x 1.66 h x 1.2 = 19.92 person-hours; 9.96 h for two, so 10 h.
    let wet = digging(10, Some(Weather::Wet), &book);
    assert_eq!(wet.tasks[0].person_hours_net.to_string(), "19.92 hr");
    assert_eq!(wet.tasks[0].crew_hours.to_string(), "10 hr");
    assert!(wet.tasks[0].basis.contains("x 1.2 (wet weather)"), "{}", wet.tasks[0].basis);
    let hot = digging(10, Some(Weather::Heat), &book);
    assert!(hot.tasks[0].basis.contains("x 1.15 (hot weather)"), "{}", hot.tasks[0].basis);
    assert_eq!(digging(10, None, &book), digging(10, Some(Weather::Fair), &book));
}

/// Ten hours a day, Monday to Friday; 60 yd3 take 99.6 person-hours: 49.8 h for two, so 50 h, five full days.
#[test]
fn long_days_beyond_the_week_are_overtime() {
    let book =
        book_with(|b| b["labor_rules"]["overtime"] = json!({"weekly_limit": "40 hr", "multiplier": "1.5"}));
    let mut labor = digging(60, None, &book);
    let plain = labor.cost;
    let days = in_sequence(&labor, [600, 600, 600, 600, 600, 0, 0]);
    assert_eq!(days.len(), 5);
    add(&mut labor, &days, None, &book, None);
    let over = &labor.overtime[0];
    // Each of the two: 50 h, 10 beyond the week. 20 h x half of 34.155 an hour: 341.55.
    assert_eq!((over.regular.to_string(), over.overtime.to_string()), ("80 hr".into(), "20 hr".into()));
    assert_eq!(over.cost.to_string(), "341.55");
    assert_eq!(labor.cost, plain + over.cost);
    let line = labor.cost_lines.last().unwrap();
    // Half of 34.155 is 17.0775; the premium is rounded to six decimals, the line once: 20 x 17.0775 = 341.55.
    assert_eq!((line.rule, line.quantity.to_string()), ("labor.overtime", "20 hr".to_owned()));
    assert_eq!(line.cost, line.unit_price.times(line.quantity.value()));
}

/// A minute that is begun is a minute of the day.
#[test]
fn seconds_take_whole_minutes() {
    let book = book_with(|_| ());
    let minutes = |seconds: i64| {
        let mut labor = digging(1, None, &book);
        labor.tasks.truncate(1);
        labor.tasks[0].seconds = seconds;
        in_sequence(&labor, [480, 480, 480, 480, 480, 0, 0]).iter().map(|d| d.minutes).sum::<i64>()
    };
    assert_eq!([minutes(60), minutes(61), minutes(28_801)], [1, 2, 481]);
}

#[test]
fn a_limit_of_the_day_comes_first_and_the_double_rate_beyond_it() {
    let rates = json!({"daily_limit": "8 hr", "daily_double_limit": "9 hr", "weekly_limit": "40 hr"});
    let book = book_with(|b| b["labor_rules"]["overtime"] = rates.clone());
    let mut labor = digging(60, None, &book);
    let days = in_sequence(&labor, [600, 600, 600, 600, 600, 0, 0]);
    add(&mut labor, &days, None, &book, None);
    let over = &labor.overtime[0];
    // Each day of each of the two: 8 plain, 1 at one and a half, 1 at double.
    assert_eq!(
        [over.regular, over.overtime, over.double].map(|q| q.to_string()),
        ["80 hr".to_owned(), "10 hr".to_owned(), "10 hr".to_owned()]
    );
}

/// 125 minutes are 2.0833... hours: no foreman wants all of a binary fraction.
#[test]
fn limits_are_told_to_four_places() {
    let rates = json!({"daily_limit": "125 min", "daily_double_limit": "440 min", "weekly_limit": "37.5 hr"});
    let book = book_with(|b| b["labor_rules"]["overtime"] = rates.clone());
    let mut labor = digging(60, None, &book);
    let days = in_sequence(&labor, [600, 600, 600, 600, 600, 0, 0]);
    add(&mut labor, &days, None, &book, None);
    let told = "2.0833 h a day, 37.5 h a week, double beyond 7.3333 h a day";
    assert!(labor.overtime[0].basis.ends_with(&format!("limits {told}")), "{}", labor.overtime[0].basis);
    assert!(labor.cost_lines.last().unwrap().basis.contains(told));
    let book = book_with(|b| b["labor_rules"]["overtime"] = json!({}));
    let mut labor = digging(60, None, &book);
    add(&mut labor, &days, None, &book, None);
    assert!(labor.overtime[0].basis.ends_with("limits 40 h a week"), "{}", labor.overtime[0].basis);
}

#[test]
fn without_limits_or_beyond_none_nothing_is_added() {
    let book = book_with(|_| ());
    let mut labor = digging(60, None, &book);
    let before = labor.clone();
    let days = in_sequence(&labor, [480, 480, 480, 480, 480, 0, 0]);
    add(&mut labor, &days, None, &book, None);
    assert_eq!(labor, before, "eight hours of five days, then the next week");
    assert!(in_sequence(&labor, [0; 7]).is_empty());
}

#[test]
fn travel_is_paid_to_each_person_on_each_day() {
    let book = book_with(|_| ());
    let mut labor = digging(60, None, &book);
    let days = in_sequence(&labor, [480, 480, 480, 480, 480, 0, 0]);
    // 50 h are six days and two hours: seven days, two people.
    add(&mut labor, &days, Some(Span::from_seconds(2700)), &book, None);
    let travel = &labor.travel[0];
    assert_eq!((travel.person_days, travel.hours.to_string()), (14, "10.5 hr".to_owned()));
    // 10.5 h x 34.155 = 358.6275
    assert_eq!(travel.cost.to_string(), "358.63");
}

#[test]
fn people_of_two_crews_are_not_one_person() {
    let book = book_with(|b| b["labor_rules"]["overtime"] = json!({"daily_limit": "8 hr"}));
    let mut labor = digging(60, None, &book);
    let on = jiff::civil::date(2027, 3, 8);
    let crew = |crew| DayWork { on, task: 0, crew, from: 0, minutes: 480 };
    let two = |_: usize, _: &str| 2;
    add(&mut labor, &[crew(0), crew(1)], None, &book, Some(&two));
    assert!(labor.overtime.is_empty());
    add(&mut labor, &[crew(0), crew(0)], None, &book, Some(&two));
    assert_eq!(labor.overtime[0].overtime.to_string(), "16 hr");
}

/// Four laborers; tasks of two each. What goes on at once is done by all four, and so is what follows where two would pass a limit.
#[test]
fn people_share_what_goes_on_at_once_and_what_would_be_overtime() {
    let book =
        book_with(|b| b["labor_rules"]["overtime"] = json!({"daily_limit": "8 hr", "weekly_limit": "40 hr"}));
    let day = |n: i64| jiff::civil::date(2027, 3, 8).checked_add(jiff::ToSpan::days(n)).unwrap();
    let work = |n, from, minutes| DayWork { on: day(n), task: 0, crew: 0, from, minutes };
    let four = |_: usize, _: &str| 4;
    let laid = |days: &[DayWork]| {
        let mut labor = digging(60, None, &book);
        add(&mut labor, days, Some(Span::from_seconds(3600)), &book, Some(&four));
        let over = labor.overtime.first().map(|o| o.overtime.to_string());
        (over, labor.travel[0].person_days)
    };
    // two tasks of eight hours at once
    assert_eq!(laid(&[work(0, 0, 480), work(0, 0, 480)]), (None, 4));
    // six hours after six: the others take over
    assert_eq!(laid(&[work(0, 0, 360), work(0, 360, 360)]), (None, 4));
    // two hours after two: the same stay
    assert_eq!(laid(&[work(0, 0, 120), work(0, 120, 120)]), (None, 2));
    // seven days of eight hours, Monday to Sunday: five days for two of them, two for the others
    let week: Vec<DayWork> = (0..7).map(|n| work(n, 0, 480)).collect();
    assert_eq!(laid(&week), (None, 14));
    // two hours of five days are left to each pair when a day is ten hours long: 2 x 10 h beyond the day
    let long: Vec<DayWork> = (0..5).flat_map(|n| [work(n, 0, 600), work(n, 0, 600)]).collect();
    assert_eq!(laid(&long), (Some("40 hr".to_owned()), 20));
}
