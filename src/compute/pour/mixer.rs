//! A small mixer or trailer, all-in.

use super::compare::{Figures, Sheet};
use super::fault::PourWarning;
use super::quantity::{loads, order};
use super::ready_mix::amount;
use super::request::{Crew, Mixer};
use crate::compute::exact::{Fraction, Nm3, to_minor};
use rust_decimal::Decimal;

/// A trailer for a volume waste included: trips, fetching, waiting and placing.
pub(super) fn cost(w: &Mixer, need: Nm3, crew: &Crew, minor: u32) -> Option<Sheet> {
    let ordered = order(need, w.increment, w.least_order)?;
    let (trips, last) = loads(ordered, w.capacity)?;
    let mut sheet = Sheet::new(minor);
    let units = Fraction::new(ordered.0, w.unit.0)?;
    sheet.line("concrete", amount(units, w.price)?, format!("{} x {}", units.to_decimal(6), w.price));
    let count = Decimal::from(trips);
    sheet.line("hire", w.hire_per_trip.checked_mul(count)?, format!("{trips} trips x {}", w.hire_per_trip));
    let trip_hours = to_minor(w.trip_minutes.checked_mul(count)? / Decimal::from(60), 6);
    let fetch_hours = trip_hours.checked_mul(Decimal::from(w.fetchers))?;
    let fetching = fetch_hours.checked_mul(crew.rate_per_hour)?;
    let basis =
        format!("{trips} trips x {} min x {} people x {}", w.trip_minutes, w.fetchers, crew.rate_per_hour);
    sheet.line("fetching", fetching, basis);
    let again = Decimal::from(if w.crew_waits { trips.saturating_sub(1) } else { 0 });
    let wait_hours = to_minor(w.trip_minutes.checked_mul(again)? / Decimal::from(60), 6);
    let placing_hours = Fraction::new(ordered.0, w.place_per_hour.0)?.to_decimal(6);
    let placed = (wait_hours + placing_hours).checked_mul(Decimal::from(crew.people))?;
    let placing = placed.checked_mul(crew.rate_per_hour)?;
    let basis = format!(
        "({placing_hours} h placing + {wait_hours} h waiting) x {} people x {}",
        crew.people, crew.rate_per_hour
    );
    sheet.line("placing", placing, basis);
    if order(need, w.increment, Nm3(0))? < ordered {
        sheet.warnings.push(PourWarning::LeastOrder { order: ordered });
    }
    let hours = trip_hours + placing_hours;
    let crew_hours = fetch_hours + placed;
    sheet.figures =
        Figures { ordered, loads: trips, last_load: last, bags: 0, pallets: 0, hours, crew_hours };
    Some(sheet)
}
