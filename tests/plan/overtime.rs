//! Overtime; sums by hand, common practice, no source.

use jiff::civil::{Weekday, date};
use rillcast::compute::plan::overtime::{OvertimeRule, split};

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
    // A double limit may lie at the daily one, where nothing is left at one and a half, but not below it.
    let at = |double: f64| OvertimeRule { daily_double_limit: Some(double), ..rule };
    let found = split(&[(date(2026, 3, 2), 10.0)], &at(8.0)).unwrap();
    assert_eq!((found.regular, found.overtime, found.double), (8.0, 0.0, 2.0));
    assert_eq!(split(&[(date(2026, 3, 2), 10.0)], &at(7.5)).unwrap_err().len(), 1);
}
