//! Spoil kept on site and hauled away, by volume and by weight.

use crate::compute::exact::{Fraction, Nm3, to_minor};
use rust_decimal::Decimal;

/// One kind of spoil.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spoil {
    /// Name.
    pub name: String,
    /// Volume in the ground (bank).
    pub bank: Nm3,
    /// Loose volume over bank volume. Defaults of the trade: sand or gravel 1.11, common earth 1.25, clay
    /// 1.43, blasted rock 1.50 (US Army FM 5-434, table 1-1, from a page quoting it); broken concrete 1.5 to
    /// 1.7 (from memory).
    pub loose_per_bank: Decimal,
    /// Weight of one cubic metre in the ground, kg.
    pub kg_per_bank_m3: Decimal,
    /// Bank volume that stays on site.
    pub kept: Nm3,
}

/// The truck and its trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Truck {
    /// Loose volume it holds.
    pub volume: Nm3,
    /// Weight it may carry, kg.
    pub payload_kg: Decimal,
    /// Minutes to load.
    pub load_minutes: Decimal,
    /// Minutes to drive there and back.
    pub drive_minutes: Decimal,
    /// Minutes to tip.
    pub tip_minutes: Decimal,
    /// Cost of truck and driver, currency per hour.
    pub rate_per_hour: Decimal,
    /// Trucks that run at once.
    pub trucks: u32,
}

/// What tipping costs; every part that applies is added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tip {
    /// Per load.
    pub per_load: Decimal,
    /// Per tonne (1000 kg).
    pub per_tonne: Decimal,
    /// Per loose cubic metre.
    pub per_loose_m3: Decimal,
}

/// What decides the number of loads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// The box is full before the payload is reached.
    Volume,
    /// The payload is reached before the box is full.
    Weight,
}

/// Loads, time and cost of the haul.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HaulPlan {
    /// Bank volume kept on site.
    pub kept: Nm3,
    /// Loose volume hauled, rounded up to a whole cubic nanometre per spoil.
    pub loose: Nm3,
    /// Weight hauled, kg, rounded half up to grams.
    pub weight_kg: Decimal,
    /// Loads by volume.
    pub loads_by_volume: u32,
    /// Loads by weight.
    pub loads_by_weight: u32,
    /// Loads needed: the greater.
    pub loads: u32,
    /// What decides.
    pub limit: Limit,
    /// Minutes of one round trip.
    pub trip_minutes: Decimal,
    /// Hours of all trips together, rounded half up to 4 decimals.
    pub truck_hours: Decimal,
    /// Hours until the last truck is back, trips shared among the trucks, rounded half up to 4 decimals.
    pub elapsed_hours: Decimal,
    /// Cost of trucks and drivers, rounded to the minor unit.
    pub truck_cost: Decimal,
    /// Tipping fees, rounded to the minor unit.
    pub tip_cost: Decimal,
    /// Both.
    pub total: Decimal,
    /// The sum in words.
    pub basis: String,
}

/// A fault of a haul request.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HaulFault {
    /// A figure outside what can be computed.
    #[error("{field}: {value} is outside what is allowed: {rule}")]
    Amount {
        /// The field.
        field: String,
        /// The value.
        value: Decimal,
        /// What is allowed.
        rule: &'static str,
    },
    /// More kept than dug.
    #[error("spoil[{name}].kept: {} m3 of {} m3 cannot stay: keep no more than is dug", kept.in_units(Nm3::CUBIC_METRE), bank.in_units(Nm3::CUBIC_METRE))]
    KeptMoreThanDug {
        /// The spoil.
        name: String,
        /// Volume to be kept.
        kept: Nm3,
        /// Volume dug.
        bank: Nm3,
    },
    /// Figures too large to be exact.
    #[error("the haul is too large to compute exactly: split it")]
    TooLarge,
}

/// Loads, trips and cost of hauling spoil away.
///
/// # Formula
/// `loose = (bank - kept) x loose per bank`, `weight = (bank - kept) x weight per bank volume`;
/// `loads = max(ceil(loose / truck volume), ceil(weight / payload))`;
/// `trip = load + drive + tip minutes`; `elapsed = ceil(loads / trucks) x trip`
/// # Units
/// volumes in cubic nanometres, weight in kg, time in minutes and hours, currency
/// # Valid for
/// mixed loads: the spoils of one haul share trucks; keep apart what the tip wants apart
/// # Source
/// US Army FM 5-434 (bank, loose, load counts), from memory
/// # Example
/// ```
/// # use rillcast::compute::{exact::Nm3, haul::{Spoil, Tip, Truck, plan}};
/// # use rust_decimal::Decimal;
/// let m3 = |n: i128| Nm3(n * Nm3::CUBIC_METRE.0);
/// let earth = Spoil {
///     name: "earth".into(), bank: m3(16), loose_per_bank: Decimal::new(125, 2),
///     kg_per_bank_m3: Decimal::from(1_800), kept: m3(0),
/// };
/// let truck = Truck {
///     volume: m3(10), payload_kg: Decimal::from(12_000), load_minutes: Decimal::from(10),
///     drive_minutes: Decimal::from(40), tip_minutes: Decimal::from(10), rate_per_hour: Decimal::from(90), trucks: 1,
/// };
/// // 20 m3 loose fill two trucks exactly, but 28.8 t need three loads of 12 t
/// let haul = plan(&[earth], &truck, &Tip::default(), 2)?;
/// assert_eq!((haul.loads_by_volume, haul.loads_by_weight, haul.loads), (2, 3, 3));
/// assert_eq!(haul.total, Decimal::from(270));
/// # Ok::<(), Vec<rillcast::compute::haul::HaulFault>>(())
/// ```
///
/// # Errors
/// Every fault at once.
pub fn plan(
    spoil: &[Spoil],
    truck: &Truck,
    tip: &Tip,
    minor_digits: u32,
) -> Result<HaulPlan, Vec<HaulFault>> {
    let faults = check(spoil, truck, tip);
    if !faults.is_empty() {
        return Err(faults);
    }
    work_out(spoil, truck, tip, minor_digits.min(4)).ok_or_else(|| vec![HaulFault::TooLarge])
}

fn work_out(spoil: &[Spoil], truck: &Truck, tip: &Tip, minor: u32) -> Option<HaulPlan> {
    let (mut kept, mut loose, mut weight) = (0_i128, 0_i128, Fraction::new(0, 1)?);
    for s in spoil {
        let export = Nm3(s.bank.0 - s.kept.0);
        kept = kept.checked_add(s.kept.0)?;
        loose = loose.checked_add(export.times_up(Fraction::from_decimal(s.loose_per_bank))?.0)?;
        let volume = Fraction::new(export.0, Nm3::CUBIC_METRE.0)?;
        weight = weight.checked_add(volume.checked_mul(Fraction::from_decimal(s.kg_per_bank_m3))?)?;
    }
    let by_volume = u32::try_from(Fraction::new(loose, truck.volume.0)?.ceil()).ok()?;
    let by_weight =
        u32::try_from(weight.checked_div(Fraction::from_decimal(truck.payload_kg))?.ceil()).ok()?;
    let loads = by_volume.max(by_weight);
    let trip = truck.load_minutes + truck.drive_minutes + truck.tip_minutes;
    let minutes = trip.checked_mul(Decimal::from(loads))?;
    let rounds = loads.div_ceil(truck.trucks);
    let truck_cost = to_minor(minutes.checked_mul(truck.rate_per_hour)? / Decimal::from(60), minor);
    let weight_kg = weight.to_decimal(3);
    let loose_m3 = Nm3(loose).in_units(Nm3::CUBIC_METRE);
    let fees = tip
        .per_load
        .checked_mul(Decimal::from(loads))?
        .checked_add(tip.per_tonne.checked_mul(weight_kg)? / Decimal::from(1_000))?
        .checked_add(tip.per_loose_m3.checked_mul(loose_m3)?)?;
    let tip_cost = to_minor(fees, minor);
    let limit = if by_weight > by_volume { Limit::Weight } else { Limit::Volume };
    let total = truck_cost.checked_add(tip_cost)?;
    let basis = format!(
        "{loose_m3} m3 loose / {} m3 = {by_volume} loads; {weight_kg} kg / {} kg = {by_weight} loads; {loads} trips x {trip} \
         min x {} per hour = {truck_cost}; tipping {tip_cost}; total {total}",
        truck.volume.in_units(Nm3::CUBIC_METRE),
        truck.payload_kg,
        truck.rate_per_hour
    );
    Some(HaulPlan {
        kept: Nm3(kept),
        loose: Nm3(loose),
        weight_kg,
        loads_by_volume: by_volume,
        loads_by_weight: by_weight,
        loads,
        limit,
        trip_minutes: trip,
        truck_hours: to_minor(minutes / Decimal::from(60), 4),
        elapsed_hours: to_minor(trip.checked_mul(Decimal::from(rounds))? / Decimal::from(60), 4),
        truck_cost,
        tip_cost,
        total,
        basis,
    })
}

fn check(spoil: &[Spoil], truck: &Truck, tip: &Tip) -> Vec<HaulFault> {
    let mut faults = Vec::new();
    let mut amount = |field: String, value: Decimal, zero: bool| {
        let low = value.is_sign_negative() && !value.is_zero() || !zero && value.is_zero();
        if low || value > Decimal::from(1_000_000) {
            let rule = if zero { "0 or more, at most 1 000 000" } else { "more than 0, at most 1 000 000" };
            faults.push(HaulFault::Amount { field, value, rule });
        }
    };
    let m3 = |v: Nm3| {
        if v.0 < 0 { Decimal::NEGATIVE_ONE } else { v.in_units(Nm3::CUBIC_METRE) }
    };
    for s in spoil {
        amount(format!("spoil[{}].bank (m3)", s.name), m3(s.bank), true);
        amount(format!("spoil[{}].kept (m3)", s.name), m3(s.kept), true);
        amount(format!("spoil[{}].loose_per_bank", s.name), s.loose_per_bank, false);
        amount(format!("spoil[{}].kg_per_bank_m3", s.name), s.kg_per_bank_m3, false);
    }
    let volume = if truck.volume.0 > 0 { m3(truck.volume).max(Decimal::new(1, 6)) } else { Decimal::ZERO };
    amount("truck.volume (m3)".to_owned(), volume, false);
    amount("truck.payload_kg".to_owned(), truck.payload_kg, false);
    amount("truck.trucks".to_owned(), Decimal::from(truck.trucks), false);
    for (field, value) in [
        ("truck.load_minutes", truck.load_minutes),
        ("truck.drive_minutes", truck.drive_minutes),
        ("truck.tip_minutes", truck.tip_minutes),
        ("truck.rate_per_hour", truck.rate_per_hour),
        ("tip.per_load", tip.per_load),
        ("tip.per_tonne", tip.per_tonne),
        ("tip.per_loose_m3", tip.per_loose_m3),
    ] {
        amount(field.to_owned(), value, true);
    }
    for s in spoil {
        if s.kept > s.bank {
            faults.push(HaulFault::KeptMoreThanDug { name: s.name.clone(), kept: s.kept, bank: s.bank });
        }
    }
    faults
}
