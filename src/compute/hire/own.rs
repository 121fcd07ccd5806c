//! Hire against buying.

use super::HireFault;
use super::periods::{Charges, Rates, check, in_millionths};
use crate::compute::exact::{plus, times};
use crate::units::show::{counted, worded};
use rust_decimal::Decimal;

/// What owning the machine costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Own {
    /// Price to buy it.
    pub price: Decimal,
    /// What it will still be worth.
    pub resale: Decimal,
    /// Upkeep per day of use: fuel aside, which hire pays too.
    pub upkeep_per_day: Decimal,
}

/// Hire beside owning for so many days of use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnOrHire {
    /// Cost to hire.
    pub hire: Decimal,
    /// Cost to own.
    pub own: Decimal,
    /// Whether owning costs less.
    pub own_is_cheaper: bool,
    /// Fewest days of use, in one stay, from which owning costs less for good within the horizon; `None` when
    /// it never does.
    pub break_even_days: Option<u32>,
    /// The sum in words.
    pub basis: String,
}

/// Hire against owning for a number of days of use in one stay.
///
/// # Formula
/// `own = price - resale + upkeep x days`, against the cheapest hire of the same days. The break-even is the first day
/// count after which owning stays cheaper up to the horizon (hire steps down where a longer period becomes
/// cheaper).
/// # Units
/// days; currency
/// # Valid for
/// horizons up to ten years
/// # Source
/// definition
/// # Example
/// ```
/// # use rillcast::compute::hire::{Own, Rates, own_or_hire};
/// # use rust_decimal::Decimal;
/// let rates = Rates { day: Some(Decimal::from(100)), ..Rates::default() };
/// let own = Own { price: Decimal::from(1500), resale: Decimal::from(450), upkeep_per_day: Decimal::ZERO };
/// let o = own_or_hire(&rates, &own, 8, 365)?;
/// assert_eq!((o.hire, o.own, o.break_even_days), (Decimal::from(800), Decimal::from(1050), Some(11)));
/// # Ok::<(), Vec<rillcast::compute::hire::HireFault>>(())
/// ```
///
/// # Errors
/// Every fault of rates, prices and days at once.
pub fn own_or_hire(rates: &Rates, own: &Own, days: u32, horizon: u32) -> Result<OwnOrHire, Vec<HireFault>> {
    let mut faults = check(rates, days.max(horizon).saturating_mul(2)).err().unwrap_or_default();
    for (field, value) in
        [("price", own.price), ("resale", own.resale), ("upkeep_per_day", own.upkeep_per_day)]
    {
        if value.is_sign_negative() && !value.is_zero() || value > Decimal::from(1_000_000_000) {
            let rule = "0 or more, at most 1 000 000 000";
            faults.push(HireFault::Amount { field: format!("own.{field}"), value, rule });
        }
    }
    if horizon > 3_650 {
        let (field, value) = ("horizon".to_owned(), Decimal::from(horizon));
        faults.push(HireFault::Amount { field, value, rule: "at most 3650 days" });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let own_for = |days: u32| plus(own.price - own.resale, times(own.upkeep_per_day, Decimal::from(days)));
    let table = Charges::up_to(rates, 2 * days.max(horizon));
    // From the far end back, as long as owning costs less.
    let (price, resale) = (in_millionths(own.price), in_millionths(own.resale));
    let upkeep = in_millionths(own.upkeep_per_day);
    let own_is_less = |n: u32| price + upkeep * u64::from(n) < table.millionths(2 * n).saturating_add(resale);
    let break_even_days = (1..=horizon).rev().take_while(|&n| own_is_less(n)).last();
    let hire = table.charge(2 * days);
    let owned = own_for(days);
    let basis = worded!(
        "hire {}; own {} - {} + {} x {} = {owned}",
        hire.basis,
        own.price,
        own.resale,
        own.upkeep_per_day,
        counted(days, "day")
    );
    let own_is_cheaper = owned < hire.total;
    Ok(OwnOrHire { hire: hire.total, own: owned, own_is_cheaper, break_even_days, basis })
}
