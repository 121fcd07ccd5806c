//! Stage: machines on site and the cheapest mix of periods for them.

use super::labor::LaborAnswer;
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::words::Category;
use crate::units::show::Show;
use crate::units::{Amount, Price, Quantity, Unit};
use crate::wire::book::work::Equipment;
use rust_decimal::Decimal;

/// Periods of a hire and what they cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Periods {
    /// Half days.
    pub half_days: i64,
    /// Days.
    pub days: i64,
    /// Weeks of seven days.
    pub weeks: i64,
    /// Periods of twenty-eight days.
    pub four_weeks: i64,
    /// Cost of all.
    pub cost: Amount,
}

/// Cheapest mix of periods that covers a number of half days.
///
/// # Formula
/// least `h H + d D + w W + m M` with `h + 2 d + 14 w + 56 m >= half days`; every number of the larger periods is tried
/// # Units
/// half days in, money out
/// # Valid for
/// any day rate; a missing rate is not used
/// # Source
/// rates 100 a day, 300 a week, 800 for 28 days: 9 days cost 500, 21 days 800 (a rental yard's published answers, read)
/// # Example
/// ```
/// use rillcast::compute::hire::cheapest;
/// use rillcast::units::Amount;
/// let m = |d: i64| Some(Amount::from_minor(d * 100));
/// let cost = |days: i64| cheapest(days * 2, None, Amount::from_minor(10_000), m(300), m(800)).cost.to_string();
/// assert_eq!(cost(3), "300.00");
/// assert_eq!(cost(4), "300.00");
/// assert_eq!(cost(9), "500.00");
/// assert_eq!(cost(21), "800.00");
/// assert_eq!(cost(29), "900.00");
/// ```
pub fn cheapest(
    half_days: i64,
    half_day: Option<Amount>,
    day: Amount,
    week: Option<Amount>,
    four_weeks: Option<Amount>,
) -> Periods {
    let half_days = half_days.clamp(0, 20_000);
    let up = |n: i64, d: i64| (n + d - 1) / d;
    let mut best: Option<Periods> = None;
    let most_months = if four_weeks.is_some() { up(half_days, 56) } else { 0 };
    // More than one period short of the most is never needed beside the next larger one, but trying all is exact.
    for m in 0..=most_months {
        let left = (half_days - m * 56).max(0);
        let most_weeks = if week.is_some() { up(left, 14) } else { 0 };
        for w in 0..=most_weeks {
            let rest = (left - w * 14).max(0);
            let by_days = [(0, up(rest, 2)), (rest % 2, rest / 2)];
            for (h, d) in by_days {
                if h > 0 && half_day.is_none() {
                    continue;
                }
                let price = |rate: Option<Amount>, n: i64| rate.map_or(0, |r| r.minor().saturating_mul(n));
                let cost = price(four_weeks, m)
                    + price(week, w)
                    + day.minor().saturating_mul(d)
                    + price(half_day, h);
                let cost = Amount::from_minor(cost);
                if best.is_none_or(|b| cost < b.cost) {
                    best = Some(Periods { half_days: h, days: d, weeks: w, four_weeks: m, cost });
                }
            }
        }
    }
    best.unwrap_or(Periods { half_days: 0, days: 0, weeks: 0, four_weeks: 0, cost: Amount::ZERO })
}

/// Machines that the tasks call for, as cost lines. Owned ones are on site but cost nothing here.
pub fn machines(labor: &LaborAnswer, book: &PriceBook, _show: Show) -> Vec<CostLine> {
    let day = book.doc().labor_rules.as_ref().map_or(Decimal::from(8), |r| r.day.hours());
    let mut out = Vec::new();
    for machine in &book.doc().equipment {
        let users: Vec<&super::labor::TaskHours> =
            labor.tasks.iter().filter(|t| t.equipment.iter().any(|e| e == machine.code.as_str())).collect();
        if users.is_empty() || machine.owned.0 {
            continue;
        }
        let hours: Decimal = users.iter().map(|t| t.hours).sum();
        let half = day / Decimal::from(2);
        let half_days = if half.is_zero() {
            0
        } else {
            i64::try_from((hours / half).ceil().normalize().mantissa()).unwrap_or(1)
        };
        out.push(line(
            machine,
            &users.iter().map(|t| t.task.word()).collect::<Vec<_>>().join(", "),
            hours,
            half_days,
            day,
        ));
    }
    out
}

fn line(machine: &Equipment, tasks: &str, hours: Decimal, half_days: i64, day: Decimal) -> CostLine {
    let mix = cheapest(half_days, machine.half_day, machine.day, machine.week, machine.four_weeks);
    let mut parts = Vec::new();
    for (count, rate, what) in [
        (mix.four_weeks, machine.four_weeks, "four weeks"),
        (mix.weeks, machine.week, "week(s)"),
        (mix.days, Some(machine.day), "day(s)"),
        (mix.half_days, machine.half_day, "half day(s)"),
    ] {
        if count > 0 {
            parts.push(format!("{count} {what} at {}", rate.unwrap_or(Amount::ZERO)));
        }
    }
    CostLine {
        code: machine.code.as_str().to_owned(),
        description: machine.name.as_str().to_owned(),
        category: Category::Hire,
        quantity: Quantity::decimal(Decimal::new(half_days * 5, 1), Unit::Day, 1),
        unit_price: Price::from_millionths(machine.day.minor() * 10_000),
        cost: mix.cost,
        rule: "hire.periods",
        basis: format!(
            "{} crew-hours of {tasks}, {} h a day, rounded up to half days; cheapest mix: {}",
            hours.normalize(),
            day.round_dp(3).normalize(),
            parts.join(" + ")
        ),
    }
}
