//! Ready-mix, all-in.

use super::compare::{CostLine, Figures, Sheet};
use super::fault::PourWarning;
use super::quantity::{loads, order};
use super::request::{Crew, ReadyMix, ShortLoad};
use crate::compute::exact::{Fraction, Nm3};
use rust_decimal::Decimal;

/// Ready-mix for a volume waste included.
pub(super) fn cost(w: &ReadyMix, need: Nm3, crew: &Crew, minor: u32) -> Option<Sheet> {
    let ordered = order(need, w.increment, w.least_order)?;
    cost_of_order(w, need, ordered, crew, minor)
}

/// Ready-mix for a given order.
///
/// Unloading of a load takes its volume over the crew's placing rate; minutes beyond the free ones are
/// charged.
pub(super) fn cost_of_order(w: &ReadyMix, need: Nm3, ordered: Nm3, crew: &Crew, minor: u32) -> Option<Sheet> {
    let (count, last) = loads(ordered, w.truck)?;
    let mut sheet = Sheet::new(minor);
    let units = Fraction::new(ordered.0, w.unit.0)?;
    let shown = units.to_decimal(6);
    sheet.line("concrete", amount(units, w.price)?, format!("{shown} x {}", w.price));
    if count > 0 {
        short_load(w, last, &mut sheet)?;
    }
    let delivery = w.delivery_per_load.checked_mul(Decimal::from(count))?;
    sheet.line("delivery", delivery, format!("{count} loads x {}", w.delivery_per_load));
    let minutes_of = |v: Nm3| Fraction::new(v.0, w.place_per_hour.0)?.checked_mul(Fraction::new(60, 1)?);
    let full = minutes_of(w.truck)?.to_decimal(6);
    let rest = minutes_of(last)?.to_decimal(6);
    let over = |minutes: Decimal| (minutes - w.free_minutes).max(Decimal::ZERO);
    let waited = over(full).checked_mul(Decimal::from(count.saturating_sub(1)))?
        + if count > 0 { over(rest) } else { Decimal::ZERO };
    let waiting = waited.checked_mul(w.waiting_per_minute)?;
    sheet.line(
        "waiting",
        waiting,
        format!("{waited} min beyond {} x {}", w.free_minutes, w.waiting_per_minute),
    );
    let hours = Fraction::new(ordered.0, w.place_per_hour.0)?.to_decimal(6);
    let crew_hours = hours.checked_mul(Decimal::from(crew.people))?;
    let placing = crew_hours.checked_mul(crew.rate_per_hour)?;
    let basis = format!("{hours} h x {} people x {}", crew.people, crew.rate_per_hour);
    sheet.line("placing", placing, basis);
    sheet.figures =
        Figures { ordered, loads: count, last_load: last, bags: 0, pallets: 0, hours, crew_hours };
    if order(need, w.increment, Nm3(0))? < ordered {
        sheet.warnings.push(PourWarning::LeastOrder { order: ordered });
    }
    Some(sheet)
}

fn short_load(w: &ReadyMix, last: Nm3, sheet: &mut Sheet) -> Option<()> {
    let Some(below) = w.short_load.below().filter(|b| last < *b) else {
        return Some(());
    };
    sheet.warnings.push(PourWarning::ShortLastLoad { load: last, below });
    let (charge, basis) = match w.short_load {
        ShortLoad::None => return Some(()),
        ShortLoad::Flat { charge, .. } => (charge, "flat charge for a short load".to_owned()),
        ShortLoad::PerMissing { charge, .. } => {
            let missing = Fraction::new(below.0 - last.0, w.unit.0)?;
            (amount(missing, charge)?, format!("{} missing x {charge}", missing.to_decimal(6)))
        }
    };
    sheet.lines.push(CostLine::rounded("short load", charge, basis, sheet.minor));
    Some(())
}

/// An exact number of units times a price.
pub(super) fn amount(units: Fraction, price: Decimal) -> Option<Decimal> {
    Some(units.checked_mul(Fraction::from_decimal(price))?.to_decimal(9))
}
