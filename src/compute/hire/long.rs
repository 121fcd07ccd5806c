//! Hire however long, as the cost lines of a job pay for it.

use super::periods::{Charges, Counts, MOST_HALF_DAYS, Offered, Period, Rates, options};
use crate::compute::exact::{plus, times};
use rust_decimal::Decimal;

/// The periods of the cheapest mix, however long the stay, and their total: as [`charge`] without its words and its limits, for rates
/// of a price book.
///
/// # Formula
/// that of [`charge`] up to twenty years; of a longer stay as many whole periods as lie beyond them, of that kind by which a half day
/// costs least, and the mix for the rest. Of `n` half days in that kind, any `n` other periods hold some that whole ones of it cover
/// for no more, so that a cheapest mix has fewer others than that, and they all lie within the rest.
/// # Units
/// half days on site, none where it is below nothing; rates in currency per period; result in currency
/// # Valid for
/// rates not below zero; periods that cover 1 to 31 days
/// # Source
/// that of [`charge`]; the longer stay derived
/// # Example
/// ```
/// # use rillcast::compute::hire::{Period, Rates, cheapest_mix};
/// # use rust_decimal::Decimal;
/// let rates = Rates { day: Some(Decimal::from(100)), week: Some(Decimal::from(300)), ..Rates::default() };
/// let years = cheapest_mix(&rates, 2 * (7 * 1_500 + 2));
/// assert_eq!((years.count(Period::Week), years.count(Period::Day)), (1_500, 2));
/// assert_eq!(years.total, Decimal::from(1_500 * 300 + 200));
/// ```
///
/// [`charge`]: super::charge
pub fn cheapest_mix(rates: &Rates, half_days: i64) -> Paid {
    let half_days = half_days.max(0);
    let beyond = half_days.saturating_sub(i64::from(MOST_HALF_DAYS));
    let cheaper = |a: &&Offered, b: &&Offered| {
        let each = |one: &Offered, of: &Offered| times(one.rate, Decimal::from(of.covers));
        // of equal rates the longer, so that there are fewest
        each(a, b).cmp(&each(b, a)).then(b.covers.cmp(&a.covers))
    };
    let offered = options(rates);
    let best = offered.iter().min_by(cheaper).filter(|_| beyond > 0);
    let whole = best.map(|o| (o, beyond / i64::from(o.covers) + i64::from(beyond % i64::from(o.covers) > 0)));
    let off = whole.map_or(0, |(o, count)| count.saturating_mul(i64::from(o.covers)));
    let rest = u32::try_from(half_days.saturating_sub(off)).unwrap_or(MOST_HALF_DAYS).min(MOST_HALF_DAYS);
    let (rest, total) = Charges::up_to(rates, rest).mix(rest);
    let total = whole.map_or(total, |(o, count)| plus(total, times(o.rate, Decimal::from(count))));
    Paid { rest, whole: whole.map(|(o, count)| (o.period, count)), total }
}

/// What is paid for a stay of any length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paid {
    /// The mix for what lies within twenty years.
    rest: Counts,
    /// Whole periods of one kind for all beyond.
    whole: Option<(Period, i64)>,
    /// The total.
    pub total: Decimal,
}

impl Paid {
    /// How many of a period.
    pub fn count(&self, period: Period) -> i64 {
        let whole = self.whole.filter(|(of, _)| *of == period).map_or(0, |(_, count)| count);
        whole.saturating_add(self.rest.of(period).into())
    }
}

impl Counts {
    const fn of(&self, period: Period) -> u32 {
        match period {
            Period::HalfDay => self.half_days,
            Period::Day => self.days,
            Period::Week => self.weeks,
            Period::FourWeeks => self.four_weeks,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every mix that could matter, tried: what its rates come to.
    fn by_search(need: u32, r: &Rates) -> Decimal {
        let most = |rate: Option<Decimal>, each: u32| rate.map_or(0, |_| need.div_ceil(each));
        let (week, four_weeks) = (2 * r.days_per_week, 2 * r.days_per_four_weeks);
        let sum = |n: u32, rate: Option<Decimal>| Decimal::from(n) * rate.unwrap_or_default();
        let mut best = Decimal::MAX;
        for months in 0..=most(r.four_weeks, four_weeks) {
            for weeks in 0..=most(r.week, week) {
                for halves in 0..=most(r.half_day, 1) {
                    let days = need.saturating_sub(four_weeks * months + week * weeks + halves).div_ceil(2);
                    let cost = sum(months, r.four_weeks)
                        + sum(weeks, r.week)
                        + sum(days, r.day)
                        + sum(halves, r.half_day);
                    best = best.min(cost);
                }
            }
        }
        best
    }

    /// What a mix covers, and what its periods cost.
    fn told(paid: &Paid, r: &Rates) -> (i64, Decimal) {
        let all = options(r);
        let covered = all.iter().map(|o| paid.count(o.period) * i64::from(o.covers)).sum();
        (covered, all.iter().map(|o| Decimal::from(paid.count(o.period)) * o.rate).sum())
    }

    /// Rates in cents: of a day, of a half day, a week and four weeks where the yard has them, and the days those count.
    fn rates(day: i64, others: (Option<i64>, Option<i64>, Option<i64>), per: (u32, u32)) -> Rates {
        let money = |minor: i64| Decimal::new(minor, 2);
        Rates {
            half_day: others.0.map(money),
            day: Some(money(day)),
            week: others.1.map(money),
            four_weeks: others.2.map(money),
            days_per_week: per.0,
            days_per_four_weeks: per.1,
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_mix_is_cheaper_and_the_mix_covers_the_need(
            need in 0_u32..180,
            day in 0_i64..300,
            others in (proptest::option::of(0_i64..200), proptest::option::of(0_i64..1_200), proptest::option::of(0_i64..4_000)),
            per in (4_u32..=7, 20_u32..=28),
        ) {
            let rates = rates(day, others, per);
            let paid = cheapest_mix(&rates, need.into());
            prop_assert_eq!(paid.total, by_search(need, &rates));
            let (covered, cost) = told(&paid, &rates);
            prop_assert!(covered >= need.into());
            prop_assert_eq!(cost, paid.total);
        }

        /// Beyond twenty years: against a table that reaches as far.
        #[test]
        fn no_mix_of_a_longer_stay_is_cheaper(
            beyond in 0_u32..2_000,
            day in 0_i64..300,
            others in (proptest::option::of(0_i64..200), proptest::option::of(0_i64..1_200), proptest::option::of(0_i64..4_000)),
            per in (1_u32..=31, 1_u32..=31),
        ) {
            let rates = rates(day, others, per);
            let need = MOST_HALF_DAYS + beyond;
            let paid = cheapest_mix(&rates, need.into());
            let (least, total) = Charges::up_to(&rates, need).mix(need);
            prop_assert_eq!(paid.total, total);
            let (covered, cost) = told(&paid, &rates);
            prop_assert!(covered >= need.into());
            prop_assert_eq!(cost, paid.total);
            let number: i64 = options(&rates).iter().map(|o| paid.count(o.period)).sum();
            prop_assert_eq!(number, i64::from(least.half_days + least.days + least.weeks + least.four_weeks));
        }
    }

    /// The dearest that a price book can say, for longer than anyone lives.
    #[test]
    fn the_longest_stay_at_the_dearest_rate_has_a_mix() {
        let dearest = crate::units::Amount::MOST.decimal();
        let rates = Rates { day: Some(dearest), ..Rates::default() };
        assert_eq!(cheapest_mix(&rates, 60_000).total, dearest * Decimal::from(30_000));
        let ever = cheapest_mix(&rates, i64::MAX);
        assert_eq!((ever.count(Period::Day), ever.total), (i64::MAX / 2 + 1, Decimal::MAX));
        assert_eq!(cheapest_mix(&rates, 0).total, Decimal::ZERO);
    }
}
