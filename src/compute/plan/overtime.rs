//! Hours beyond the day and the week.

use std::collections::BTreeMap;

use jiff::{
    ToSpan,
    civil::{Date, Weekday},
};
use thiserror::Error;

/// When hours count as overtime; each number a setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OvertimeRule {
    /// Hours a day at the plain rate, where the day has a limit.
    pub daily_limit: Option<f64>,
    /// Hours a week at the plain rate, where the week has a limit. Hours already over the day do not count
    /// again.
    pub weekly_limit: Option<f64>,
    /// Hours a day above which the double rate is due, where it is.
    pub daily_double_limit: Option<f64>,
    /// First day of the week.
    pub week_starts: Weekday,
    /// Pay of an overtime hour in plain hours.
    pub multiplier: f64,
    /// Pay of an hour at the double rate in plain hours.
    pub double_multiplier: f64,
}

/// What holds where a rule says nothing: 29 U.S.C. 207 (from memory); the double rate is common practice, no source.
pub mod usual {
    use crate::units::Factor;
    use crate::units::quantity::Span;

    /// Hours a week at the plain rate: 40.
    pub const WEEK: Span = Span::from_seconds(40 * 3600);
    /// Pay of an overtime hour in plain hours: one and a half.
    pub const MULTIPLIER: Factor = Factor::from_millionths(1_500_000);
    /// Pay of an hour at the double rate in plain hours: two.
    pub const DOUBLE: Factor = Factor::from_millionths(2_000_000);
}

impl Default for OvertimeRule {
    /// Over 40 hours a week at one and a half (29 U.S.C. 207, from memory); states may add a daily limit.
    fn default() -> Self {
        OvertimeRule {
            daily_limit: None,
            weekly_limit: Some(usual::WEEK.seconds() as f64 / 3600.0),
            daily_double_limit: None,
            week_starts: Weekday::Sunday,
            multiplier: usual::MULTIPLIER.millionths() as f64 / 1e6,
            double_multiplier: usual::DOUBLE.millionths() as f64 / 1e6,
        }
    }
}

/// One person's hours, split.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Split {
    /// At the plain rate.
    pub regular: f64,
    /// At the overtime rate.
    pub overtime: f64,
    /// At the double rate.
    pub double: f64,
    /// What is paid, in plain hours.
    pub paid: f64,
}

/// A fault in hours or in the rule.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum OvertimeError {
    /// Hours of a day that are no hours.
    #[error("hours on {date}: {} is not allowed; give a number from 0 to 24", shown(*.value))]
    Hours {
        /// The day.
        date: Date,
        /// As given.
        value: f64,
    },
    /// A limit or a multiplier that makes no sense.
    #[error("{field}: {} is not allowed; give {allowed}", shown(*.value))]
    Rule {
        /// Which.
        field: &'static str,
        /// As given.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
}

/// Hours to at most four places, so that 125 minutes are not 2.0833333333333335.
fn shown(hours: f64) -> f64 {
    (hours * 1e4).round() / 1e4
}

/// Splits one person's hours by day into plain, overtime and double.
///
/// # Formula
/// per day: above the double limit double, above the daily limit overtime, the rest plain; per week: plain
/// hours above the weekly limit become overtime, the last ones first; `paid = regular + multiplier x overtime
/// + double_multiplier x double`
/// # Units
/// hours
/// # Valid for
/// one person; weeks of seven days from `week_starts`
/// # Source
/// 29 U.S.C. 207 for the week (from memory); daily limits by state law; example computed by hand
/// # Example
/// ```
/// use jiff::civil::date;
/// use rillcast::compute::plan::overtime::{OvertimeRule, split};
/// // five days of 9 hours: 45, of which 5 are over the week
/// let days: Vec<_> = (9..=13).map(|d| (date(2026, 3, d), 9.0)).collect();
/// let week = split(&days, &OvertimeRule::default()).map_err(|all| all[0].clone())?;
/// assert_eq!((week.regular, week.overtime, week.paid), (40.0, 5.0, 47.5));
/// // the same with a limit of 8 a day: nothing is counted twice
/// let rule = OvertimeRule { daily_limit: Some(8.0), ..OvertimeRule::default() };
/// let week = split(&days, &rule).map_err(|all| all[0].clone())?;
/// assert_eq!((week.regular, week.overtime), (40.0, 5.0));
/// # Ok::<(), rillcast::compute::plan::overtime::OvertimeError>(())
/// ```
/// # Errors
/// Every [`OvertimeError`] at once.
pub fn split(days: &[(Date, f64)], rule: &OvertimeRule) -> Result<Split, Vec<OvertimeError>> {
    let mut by_day: BTreeMap<Date, f64> = BTreeMap::new();
    for (date, hours) in days {
        *by_day.entry(*date).or_default() += hours;
    }
    check(&by_day, rule)?;
    let mut split = Split::default();
    let mut weeks: BTreeMap<Date, f64> = BTreeMap::new();
    for (date, hours) in by_day {
        let double = rule.daily_double_limit.map_or(0.0, |limit| (hours - limit).max(0.0));
        let over = rule.daily_limit.map_or(0.0, |limit| (hours - double - limit).max(0.0));
        split.double += double;
        split.overtime += over;
        let into_week = i64::from(date.weekday().since(rule.week_starts));
        let week = date.checked_sub(into_week.days()).unwrap_or(date);
        *weeks.entry(week).or_default() += hours - double - over;
    }
    for plain in weeks.into_values() {
        let over = rule.weekly_limit.map_or(0.0, |limit| (plain - limit).max(0.0));
        split.overtime += over;
        split.regular += plain - over;
    }
    split.paid = split.regular + rule.multiplier * split.overtime + rule.double_multiplier * split.double;
    Ok(split)
}

fn check(by_day: &BTreeMap<Date, f64>, rule: &OvertimeRule) -> Result<(), Vec<OvertimeError>> {
    let mut faults: Vec<OvertimeError> = by_day
        .iter()
        .filter(|(_, hours)| !(0.0..=24.0).contains(*hours))
        .map(|(date, hours)| OvertimeError::Hours { date: *date, value: *hours })
        .collect();
    let limits = [
        ("daily_limit", rule.daily_limit, 24.0, "0 to 24 hours"),
        ("daily_double_limit", rule.daily_double_limit, 24.0, "0 to 24 hours"),
        ("weekly_limit", rule.weekly_limit, 168.0, "0 to 168 hours"),
    ];
    for (field, value, most, allowed) in limits {
        if let Some(value) = value.filter(|v| !(0.0..=most).contains(v)) {
            faults.push(OvertimeError::Rule { field, value, allowed });
        }
    }
    for (field, value) in [("multiplier", rule.multiplier), ("double_multiplier", rule.double_multiplier)] {
        if !(1.0..=10.0).contains(&value) {
            faults.push(OvertimeError::Rule { field, value, allowed: "1 to 10" });
        }
    }
    if let (Some(day), Some(double)) = (rule.daily_limit, rule.daily_double_limit)
        && double < day
    {
        faults.push(OvertimeError::Rule {
            field: "daily_double_limit",
            value: double,
            allowed: "at least the daily limit",
        });
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
