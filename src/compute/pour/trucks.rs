//! Truck sequence, interval and age of the concrete.

use super::fault::{PourFault, PourWarning};
use super::quantity::loads;
use crate::compute::exact::{Fraction, Nm3, ceil_div};
use rust_decimal::Decimal;

/// The plant and the road.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Haul {
    /// What a truck holds.
    pub truck: Nm3,
    /// Minutes to batch one load.
    pub batch_minutes: Decimal,
    /// Minutes from the plant to the site.
    pub travel_minutes: Decimal,
    /// Volume placed in an hour.
    pub place_per_hour: Nm3,
    /// Most minutes from batching to empty. 90 is the figure of ASTM C94 until its 2021 edition, which leaves
    /// it to the purchaser (read in a page reporting it).
    pub limit_minutes: Decimal,
}

impl Haul {
    /// The usual time limit in minutes.
    pub const LIMIT_MINUTES: Decimal = Decimal::from_parts(90, 0, 0, false, 0);
}

/// One truck. Minutes are counted from the arrival of the first, rounded half up to 2 decimals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Truck {
    /// Its number, from 1.
    pub number: usize,
    /// Its load.
    pub load: Nm3,
    /// When its batching starts.
    pub batch_at: Decimal,
    /// When it arrives and starts to unload.
    pub arrive_at: Decimal,
    /// When it is empty.
    pub empty_at: Decimal,
    /// Age of the concrete when empty, from the start of batching.
    pub age: Decimal,
}

/// All trucks of an order.
#[derive(Debug, Clone, PartialEq)]
pub struct Sequence {
    /// Trucks in order.
    pub trucks: Vec<Truck>,
    /// Minutes between full trucks.
    pub interval: Decimal,
    /// Trucks on the road at once, so that none is waited for.
    pub trucks_at_once: u32,
    /// Loads that are too old when empty.
    pub warnings: Vec<PourWarning>,
    /// The sum in words.
    pub basis: String,
}

/// Trucks one after the other without a pause in the pour.
///
/// # Formula
/// `interval = truck volume / placing rate`; `trucks at once = ceil((batch + 2 travel + unload) / interval)`;
/// `age when empty = batch + travel + unload`
/// # Units
/// minutes, cubic nanometres
/// # Valid for
/// up to 10 000 loads; a truck arrives when the one before it is empty
/// # Source
/// common practice, no source
/// # Example
/// ```
/// # use rillcast::compute::{exact::Nm3, pour::{Haul, sequence}};
/// # use rust_decimal::Decimal;
/// let m3 = |n: i128| Nm3(n * Nm3::CUBIC_METRE.0);
/// let haul = Haul {
///     truck: m3(6), batch_minutes: Decimal::from(10), travel_minutes: Decimal::from(20), place_per_hour: m3(12),
///     limit_minutes: Haul::LIMIT_MINUTES,
/// };
/// let s = sequence(m3(15), &haul)?;
/// // 6, 6 and 3 m3, every 30 minutes; a round takes 10 + 20 + 30 + 20 = 80 minutes, so 3 trucks
/// assert_eq!((s.interval, s.trucks_at_once, s.trucks.len()), (Decimal::from(30), 3, 3));
/// assert_eq!(s.trucks[2].empty_at, Decimal::from(75));
/// # Ok::<(), Vec<rillcast::compute::pour::PourFault>>(())
/// ```
///
/// # Errors
/// Every fault at once.
pub fn sequence(ordered: Nm3, haul: &Haul) -> Result<Sequence, Vec<PourFault>> {
    let mut faults = Vec::new();
    let positive = [("truck", haul.truck), ("place_per_hour", haul.place_per_hour)];
    for (name, value) in
        positive.into_iter().filter(|(_, v)| v.0 <= 0 || v.0 > Nm3::CUBIC_METRE.0 * 1_000_000)
    {
        let rule = "more than 0, at most 1 000 000 m3";
        faults.push(PourFault::Volume { field: name.to_owned(), value, rule });
    }
    for (name, value) in [
        ("batch_minutes", haul.batch_minutes),
        ("travel_minutes", haul.travel_minutes),
        ("limit_minutes", haul.limit_minutes),
    ] {
        if value.is_sign_negative() && !value.is_zero() || value > Decimal::from(10_000) {
            let rule = "0 or more, at most 10 000 minutes";
            faults.push(PourFault::Amount { field: name.to_owned(), value, rule });
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let many = loads(ordered, haul.truck).filter(|(n, _)| *n <= 10_000);
    let Some((count, last)) = many else {
        return Err(vec![PourFault::TooLarge { what: "loads" }]);
    };
    run(count, last, haul).ok_or_else(|| vec![PourFault::TooLarge { what: "volumes or times" }])
}

fn run(count: u32, last: Nm3, h: &Haul) -> Option<Sequence> {
    let minutes = |v: Nm3| Fraction::new(v.0, h.place_per_hour.0)?.checked_mul(Fraction::new(60, 1)?);
    let interval = minutes(h.truck)?;
    let before = Fraction::from_decimal(h.batch_minutes.checked_add(h.travel_minutes)?);
    let mut trucks = Vec::new();
    let mut warnings = Vec::new();
    for i in 0..count {
        let load = if i + 1 == count { last } else { h.truck };
        let arrive = interval.checked_mul(Fraction::new(i128::from(i), 1)?)?;
        let unload = minutes(load)?;
        let age = before.checked_add(unload)?.to_decimal(2);
        let number = i as usize + 1;
        if age > h.limit_minutes {
            warnings.push(PourWarning::TooOld { truck: number, minutes: age, limit: h.limit_minutes });
        }
        trucks.push(Truck {
            number,
            load,
            batch_at: arrive.to_decimal(2) - h.batch_minutes - h.travel_minutes,
            arrive_at: arrive.to_decimal(2),
            empty_at: arrive.checked_add(unload)?.to_decimal(2),
            age,
        });
    }
    let round = before.checked_add(Fraction::from_decimal(h.travel_minutes))?.checked_add(interval)?;
    let at_once = ceil_div(round.checked_div(interval)?.ceil(), 1)?;
    let at_once = u32::try_from(at_once).ok()?.min(count);
    let shown = interval.to_decimal(2);
    let basis = format!(
        "{} m3 / {} m3 per hour = {shown} min per truck; round {} min / {shown} = {at_once} trucks",
        h.truck.in_units(Nm3::CUBIC_METRE),
        h.place_per_hour.in_units(Nm3::CUBIC_METRE),
        round.to_decimal(2)
    );
    Some(Sequence { trucks, interval: shown, trucks_at_once: at_once, warnings, basis })
}
