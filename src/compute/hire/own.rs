//! Hire against buying.

use super::HireFault;
use super::periods::{Charges, Rates, WholeDays, check, in_millionths};
use crate::compute::exact::{plus, times};
use crate::units::decimal::kept;
use crate::units::show::{counted, worded};
use rust_decimal::Decimal;

/// What owning the machine costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Own {
    /// Price to buy it.
    pub price: Decimal,
    /// What it will still be worth.
    pub resale: Decimal,
    /// Upkeep per day of use, a day begun counting whole: fuel aside, which hire pays too.
    pub upkeep_per_day: Decimal,
}

/// A hire as it is planned: what owning is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hired<'a> {
    /// Its rates.
    pub rates: &'a Rates,
    /// Delivery and collection of one stay.
    pub transport: Decimal,
    /// Days of use, over all stays.
    pub days: u32,
    /// Hire and transport of all stays.
    pub total: Decimal,
    /// Working of the total.
    pub basis: &'a str,
}

/// Owning beside a hire.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnOrHire {
    /// Cost to own.
    pub own: Decimal,
    /// Whether owning costs less.
    pub own_is_cheaper: bool,
    /// Fewest days of use, in one stay with its transport, from which owning costs less for good within the horizon; `None`
    /// when it never does.
    pub break_even_days: Option<u32>,
    /// The sums in words.
    pub basis: String,
}

/// A hire against owning for its days of use.
///
/// # Formula
/// `own = price - resale + upkeep x days`, against the total of the hire. The break-even looks at one stay of so many days:
/// the cheapest hire of them and the transport of one stay; it is the first day count after which owning stays cheaper up to
/// the horizon (hire steps down where a longer period becomes cheaper).
/// # Units
/// days; currency
/// # Valid for
/// horizons up to ten years
/// # Source
/// definition
/// # Example
/// ```
/// # use rillcast::compute::hire::{Hired, Own, Rates, own_or_hire};
/// # use rust_decimal::Decimal;
/// let rates = Rates { day: Some(Decimal::from(100)), ..Rates::default() };
/// let own = Own { price: Decimal::from(1500), resale: Decimal::from(450), upkeep_per_day: Decimal::ZERO };
/// // two stays of 4 days: 2 x (400 + 90); one stay of 10 days: 1000 + 90, more than the 1050 of owning
/// let (transport, total) = (Decimal::from(90), Decimal::from(980));
/// let hired = Hired { rates: &rates, transport, days: 8, total, basis: "2 x (400 + 90) = 980" };
/// let o = own_or_hire(&hired, &own, 365)?;
/// assert_eq!((o.own, o.own_is_cheaper, o.break_even_days), (Decimal::from(1050), false, Some(10)));
/// # Ok::<(), Vec<rillcast::compute::hire::HireFault>>(())
/// ```
///
/// # Errors
/// Every fault of rates, prices and days at once.
pub fn own_or_hire(hired: &Hired<'_>, own: &Own, horizon: u32) -> Result<OwnOrHire, Vec<HireFault>> {
    let &Hired { rates, transport, days, total, basis } = hired;
    let mut faults = check(rates, days.max(horizon).saturating_mul(2)).err().unwrap_or_default();
    for (field, value) in [
        ("transport", transport),
        ("own.price", own.price),
        ("own.resale", own.resale),
        ("own.upkeep_per_day", own.upkeep_per_day),
    ] {
        if value.is_sign_negative() && !value.is_zero() || value > Decimal::from(1_000_000_000) {
            let rule = "0 or more, at most 1 000 000 000";
            faults.push(HireFault::Amount { field: field.to_owned(), value, rule });
        }
    }
    if own.resale > own.price {
        let rule = "at most the price: what is worth more than it cost needs no hire";
        faults.push(HireFault::Amount { field: "own.resale".to_owned(), value: own.resale, rule });
    }
    if horizon > 3_650 {
        let (field, value) = ("horizon".to_owned(), Decimal::from(horizon));
        faults.push(HireFault::Amount { field, value, rule: "at most 3650 days" });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let own_for = |days: u32| plus(own.price - own.resale, times(own.upkeep_per_day, Decimal::from(days)));
    let break_even_days = break_even(rates, transport, own, horizon);
    let owned = |days: u32| {
        let (price, resale, upkeep) = (own.price, own.resale, own.upkeep_per_day);
        let [price, resale, upkeep, sum] = [price, resale, upkeep, own_for(days)].map(kept);
        worded!("own {price} - {resale} + {upkeep} x {} = {sum}", counted(days, "day"))
    };
    let from = match break_even_days {
        Some(n) => {
            let table = Charges::up_to(rates, 2 * n);
            let hire = table.charge(2 * n).basis;
            let carried = if transport.is_zero() {
                String::new()
            } else {
                let [transport, sum] = [transport, plus(table.total(2 * n), transport)].map(kept);
                worded!(", with {transport} for transport {sum}")
            };
            worded!("from {} in one stay on: hire {hire}{carried}; {}", counted(n, "day"), owned(n))
        }
        None => worded!("one stay of up to {}: never cheaper to own for good", counted(horizon, "day")),
    };
    let basis = worded!("hire {basis}; {}; {from}", owned(days));
    let own = own_for(days);
    Ok(OwnOrHire { own, own_is_cheaper: own < total, break_even_days, basis })
}

/// From how many days on owning costs less for good, for figures that passed the checks.
fn break_even(rates: &Rates, transport: Decimal, own: &Own, horizon: u32) -> Option<u32> {
    let (price, resale) = (in_millionths(own.price), in_millionths(own.resale));
    let (upkeep, brought) = (in_millionths(own.upkeep_per_day), in_millionths(transport));
    let hires = WholeDays::of(rates);
    // However long the stay, no day of it is hired for less than at the best rate: from where owning costs less than that on,
    // no hire need be looked for.
    let certain = hires.best_rate().and_then(|(days, rate)| {
        let saved = rate.checked_sub(upkeep * days).filter(|saved| *saved > 0)?;
        let from = price.saturating_sub(brought + resale) * days / saved + 1;
        u32::try_from(from).ok().filter(|from| *from <= horizon)
    });
    let open = certain.map_or(horizon, |from| from - 1);
    let table = hires.up_to(open);
    let own_is_less = |n: u32| {
        let hire = table.get(n as usize).map_or(u64::MAX, |hire| hire.saturating_add(brought));
        price + upkeep * u64::from(n) < hire.saturating_add(resale)
    };
    // From the far end back, as long as owning costs less.
    (1..=open).rev().take_while(|&n| own_is_less(n)).last().or(certain)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn owning_pays_from_where_every_day_behind_it_costs_less(
            rates in proptest::array::uniform4(proptest::option::of(1_i64..60_000)),
            per in (1_u32..=7, 8_u32..=31),
            price in 0_i64..3_000_000,
            resold in 0_i64..=100,
            upkeep in 0_i64..20_000,
            transport in 0_i64..30_000,
            horizon in 1_u32..400,
        ) {
            let money = |minor: i64| Decimal::new(minor, 2);
            let [half_day, day, week, four_weeks] = rates.map(|r| r.map(money));
            let rates = Rates { half_day, day, week, four_weeks, days_per_week: per.0, days_per_four_weeks: per.1 };
            prop_assume!(check(&rates, 2 * horizon).is_ok());
            let own = Own { price: money(price), resale: money(price * resold / 100), upkeep_per_day: money(upkeep) };
            let table = Charges::up_to(&rates, 2 * horizon);
            let is_less = |n: u32| own.price - own.resale + own.upkeep_per_day * Decimal::from(n) < table.total(2 * n) + money(transport);
            let from_the_end = (1..=horizon).rev().take_while(|n| is_less(*n)).last();
            prop_assert_eq!(break_even(&rates, money(transport), &own, horizon), from_the_end);
        }
    }
}
