//! The cheapest mix of hire periods.

use super::HireFault;
use crate::compute::exact::{from_micros, micros, plus};
use crate::units::decimal::kept;
use crate::units::show::{joined, measured, worded};
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::fmt;

/// Most half days that are computed: twenty years.
pub(super) const MOST_HALF_DAYS: u32 = 14_600;

/// Rates of one machine, currency per period; leave out what the yard does not offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rates {
    /// Half a day.
    pub half_day: Option<Decimal>,
    /// One day.
    pub day: Option<Decimal>,
    /// One week.
    pub week: Option<Decimal>,
    /// Four weeks.
    pub four_weeks: Option<Decimal>,
    /// Days on site that a week covers (7 calendar days; 5 where the yard counts working days).
    pub days_per_week: u32,
    /// Days on site that four weeks cover (28 or 20).
    pub days_per_four_weeks: u32,
}

impl Default for Rates {
    /// No rates yet; a week of 7 and four weeks of 28 calendar days (common practice).
    fn default() -> Self {
        Self {
            half_day: None,
            day: None,
            week: None,
            four_weeks: None,
            days_per_week: 7,
            days_per_four_weeks: 28,
        }
    }
}

/// How many of each period.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Half days.
    pub half_days: u32,
    /// Days.
    pub days: u32,
    /// Weeks.
    pub weeks: u32,
    /// Four-week periods.
    pub four_weeks: u32,
}

/// The cheapest mix for one stay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HireCharge {
    /// Half days on site.
    pub half_days: u32,
    /// Periods charged.
    pub periods: Counts,
    /// Their total.
    pub total: Decimal,
    /// The sum in words.
    pub basis: String,
}

/// The cheapest mix of periods that covers so many half days on site.
///
/// # Formula
/// `least of h x half + d x day + w x week + f x four weeks, with h + 2 d + 2 n_w w + 2 n_f f >= half days`; among equal
/// totals the fewest periods
/// # Units
/// half days on site; rates in currency per period; result in currency
/// # Valid for
/// up to twenty years, rates not below zero
/// # Source
/// a hire yard's published rule (100 a day, 300 a week, 800 for 28 days): 9 days are charged 500 and 21 days
/// 800
/// # Example
/// ```
/// # use rillcast::compute::hire::{Rates, charge};
/// # use rust_decimal::Decimal;
/// let rates = Rates {
///     day: Some(Decimal::from(100)), week: Some(Decimal::from(300)), four_weeks: Some(Decimal::from(800)),
///     ..Rates::default()
/// };
/// assert_eq!(charge(&rates, 2 * 9)?.total, Decimal::from(500)); // a week and two days
/// assert_eq!(charge(&rates, 2 * 21)?.total, Decimal::from(800)); // four weeks are cheaper than three
/// # Ok::<(), Vec<rillcast::compute::hire::HireFault>>(())
/// ```
///
/// # Errors
/// Every fault of the rates or the days at once.
pub fn charge(rates: &Rates, half_days: u32) -> Result<HireCharge, Vec<HireFault>> {
    check(rates, half_days)?;
    Ok(Charges::up_to(rates, half_days).charge(half_days))
}

/// The cheapest mixes for every number of half days up to a limit.
pub(super) struct Charges {
    rates: Rates,
    options: SmallVec<[Offered; 4]>,
    /// The cheapest mix for each number of half days.
    best: Vec<Mix>,
}

/// A period on offer.
pub(super) struct Offered {
    /// Half days it covers.
    pub(super) covers: u32,
    pub(super) rate: Decimal,
    pub(super) period: Period,
    /// One of it.
    mix: Mix,
}

/// A mix of periods by what it costs and how many periods it takes: of two, the smaller is to be had.
///
/// Total in millionths above 32 bits of periods, so that one sum adds both and one comparison settles both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Mix(u128);

impl Mix {
    const NOTHING: Mix = Mix(0);
    const BEYOND: Mix = Mix(u128::MAX);

    const fn one(millionths: u64) -> Self {
        Mix(((millionths as u128) << 32) | 1)
    }

    const fn and(self, other: Self) -> Self {
        Mix(self.0 + other.0)
    }

    fn millionths(self) -> u64 {
        u64::try_from(self.0 >> 32).unwrap_or(u64::MAX)
    }
}

/// An amount in whole millionths, by which money is compared: far below the least coin, and twenty years at the dearest rate
/// fit 64 bits.
pub(super) fn in_millionths(amount: Decimal) -> u64 {
    micros(amount).and_then(|parts| u64::try_from(parts).ok()).unwrap_or(0)
}

impl Charges {
    /// The table up to `half_days`, for rates that passed [`check`].
    pub(super) fn up_to(rates: &Rates, half_days: u32) -> Self {
        let options = options(rates);
        let steps: SmallVec<[(usize, Mix); 4]> = options.iter().map(|o| (o.covers as usize, o.mix)).collect();
        let best = least_up_to(half_days, &steps, (Mix::NOTHING, Mix::BEYOND), Mix::and);
        Self { rates: *rates, options, best }
    }

    /// Least total for so many half days within the table.
    pub(super) fn total(&self, half_days: u32) -> Decimal {
        let least = self.best.get(half_days as usize).map_or(u64::MAX, |best| best.millionths());
        from_micros(i128::from(least))
    }

    /// The cheapest mix for so many half days within the table, with its working.
    pub(super) fn charge(&self, half_days: u32) -> HireCharge {
        let (periods, total) = self.mix(half_days);
        let basis = basis(&self.rates, half_days, &periods, total);
        HireCharge { half_days, periods, total, basis }
    }

    /// The periods of the cheapest mix for so many half days within the table, and their total.
    pub(super) fn mix(&self, half_days: u32) -> (Counts, Decimal) {
        let mut periods = Counts::default();
        let (mut n, mut total) = (half_days, Decimal::ZERO);
        while let Some(Offered { covers, rate, period, .. }) = self.last(n) {
            let count = match period {
                Period::HalfDay => &mut periods.half_days,
                Period::Day => &mut periods.days,
                Period::Week => &mut periods.weeks,
                Period::FourWeeks => &mut periods.four_weeks,
            };
            *count += 1;
            total = plus(total, *rate);
            n = n.saturating_sub(*covers);
        }
        (periods, total)
    }

    /// The period that the cheapest mix for so many half days is closed with; the first on offer of those that do it.
    fn last(&self, n: u32) -> Option<&Offered> {
        let least = self.best.get(n as usize).filter(|_| n > 0)?;
        let closes = |o: &&Offered| {
            let before = self.best.get(n.saturating_sub(o.covers) as usize);
            before.is_some_and(|before| before.and(o.mix) == *least)
        };
        self.options.iter().find(closes)
    }
}

/// Periods on offer for a stay of whole days, for rates that passed [`check`]: how many days each covers, and its rate in
/// millionths.
///
/// Every longer period covers whole days, so that over whole days half days are taken in pairs, each pair in place of a day.
pub(super) struct WholeDays(SmallVec<[(usize, u64); 3]>);

impl WholeDays {
    /// Those of some rates.
    pub(super) fn of(rates: &Rates) -> Self {
        let pair = rates.half_day.map(|rate| 2 * in_millionths(rate));
        let offered = [
            (1, rates.day.map(in_millionths).into_iter().chain(pair).min()),
            (rates.days_per_week as usize, rates.week.map(in_millionths)),
            (rates.days_per_four_weeks as usize, rates.four_weeks.map(in_millionths)),
        ];
        Self(offered.into_iter().filter_map(|(covers, rate)| Some((covers, rate?))).collect())
    }

    /// Least total of a stay for every number of days up to a limit: that of [`Charges`] at twice as many half days.
    pub(super) fn up_to(&self, days: u32) -> Vec<u64> {
        least_up_to(days, &self.0, (0, u64::MAX), |before, rate| before + rate)
    }

    /// The period by which a day costs least: its days and its rate.
    pub(super) fn best_rate(&self) -> Option<(u64, u64)> {
        // days are few and rates bounded: each product is far within 64 bits
        let periods = self.0.iter().map(|&(covers, rate)| (covers as u64, rate));
        periods.min_by(|(days, rate), (others, other)| (rate * others).cmp(&(other * days)))
    }
}

/// The least that covers each length up to `most`, put together from steps that each cover so much: nothing covers no length,
/// and where there is no step every other is beyond reach.
fn least_up_to<T: Copy + Ord>(
    most: u32,
    steps: &[(usize, T)],
    (nothing, beyond): (T, T),
    and: impl Fn(T, T) -> T,
) -> Vec<T> {
    let mut least = Vec::with_capacity(most as usize + 1);
    least.push(nothing);
    for n in 1..=most as usize {
        let mut cheapest = beyond;
        for &(covers, step) in steps {
            if let Some(&before) = least.get(n.saturating_sub(covers)) {
                cheapest = cheapest.min(and(before, step));
            }
        }
        least.push(cheapest);
    }
    least
}

/// A period that is paid for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Period {
    /// Half a day.
    HalfDay,
    /// A day.
    Day,
    /// A week.
    Week,
    /// Four weeks.
    FourWeeks,
}

/// Everything on offer.
pub(super) fn options(r: &Rates) -> SmallVec<[Offered; 4]> {
    let all = [
        (2 * r.days_per_four_weeks, r.four_weeks, Period::FourWeeks),
        (2 * r.days_per_week, r.week, Period::Week),
        (2, r.day, Period::Day),
        (1, r.half_day, Period::HalfDay),
    ];
    let offered = |(covers, rate, period): (u32, Option<Decimal>, Period)| {
        let rate = rate?;
        Some(Offered { covers, rate, period, mix: Mix::one(in_millionths(rate)) })
    };
    all.into_iter().filter_map(offered).collect()
}

/// Every fault of rates and days.
pub(super) fn check(r: &Rates, half_days: u32) -> Result<(), Vec<HireFault>> {
    let mut faults = Vec::new();
    let rates = [("half_day", r.half_day), ("day", r.day), ("week", r.week), ("four_weeks", r.four_weeks)];
    if rates.iter().all(|(_, rate)| rate.is_none()) {
        faults.push(HireFault::NoRates);
    }
    for (name, rate) in rates {
        let Some(value) = rate else { continue };
        if value.is_sign_negative() && !value.is_zero() || value > Decimal::from(1_000_000_000) {
            let rule = "0 or more, at most 1 000 000 000";
            faults.push(HireFault::Amount { field: format!("rates.{name}"), value, rule });
        }
    }
    for (name, days) in [("days_per_week", r.days_per_week), ("days_per_four_weeks", r.days_per_four_weeks)] {
        if days == 0 || days > 31 {
            let (field, value) = (format!("rates.{name}"), Decimal::from(days));
            faults.push(HireFault::Amount { field, value, rule: "1 to 31 days" });
        }
    }
    if half_days > MOST_HALF_DAYS {
        let (field, value) = ("half_days".to_owned(), Decimal::from(half_days));
        faults.push(HireFault::Amount { field, value, rule: "at most 14 600 half days (twenty years)" });
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn basis(r: &Rates, half_days: u32, p: &Counts, total: Decimal) -> String {
    let parts = [
        (p.four_weeks, "four weeks", r.four_weeks),
        (p.weeks, "week", r.week),
        (p.days, "day", r.day),
        (p.half_days, "half day", r.half_day),
    ]
    .into_iter()
    .filter(|(n, ..)| *n > 0)
    .map(|(n, name, rate)| {
        fmt::from_fn(move |f| write!(f, "{n} x {name} at {}", kept(rate.unwrap_or_default())))
    });
    let (days, total) = (measured(Decimal::new(i64::from(half_days) * 5, 1), 1, "day"), kept(total));
    if *p == Counts::default() {
        return worded!("{days} on site = {total}");
    }
    worded!("{days} on site: {} = {total}", joined(parts, " + "))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn whole_days_cost_what_twice_as_many_half_days_do(
            rates in proptest::array::uniform4(proptest::option::of(0_i64..100_000)),
            per in (1_u32..=31, 1_u32..=31),
        ) {
            let [half_day, day, week, four_weeks] = rates.map(|r| r.map(|minor| Decimal::new(minor, 2)));
            let (days_per_week, days_per_four_weeks) = per;
            let rates = Rates { half_day, day, week, four_weeks, days_per_week, days_per_four_weeks };
            prop_assume!(check(&rates, 240).is_ok());
            let (by_day, table) = (WholeDays::of(&rates).up_to(120), Charges::up_to(&rates, 240));
            for (days, total) in (0..=120).zip(by_day) {
                prop_assert_eq!(from_micros(i128::from(total)), table.total(2 * days), "{} days", days);
            }
        }
    }
}
