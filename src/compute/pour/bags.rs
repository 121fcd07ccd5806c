//! Bags mixed on site, all-in.

use super::compare::{Figures, Sheet};
use super::fault::PourWarning;
use super::request::{Bags, Crew, Pallet};
use crate::compute::exact::{Nm3, ceil_div, to_minor};
use rust_decimal::Decimal;

/// Bags for a volume waste included: whole bags, pallets where they are cheaper or asked for, mixing hours of
/// the crew.
pub(super) fn cost(w: &Bags, need: Nm3, crew: &Crew, minor: u32) -> Option<Sheet> {
    let needed = u32::try_from(ceil_div(need.0.max(0), w.yield_each.0)?).ok().filter(|n| *n < 10_000_000)?;
    let (bags, pallets, price, how) = purchase(w, needed)?;
    let mut sheet = Sheet::new(minor);
    sheet.line("bags", price, how);
    let per_pallet = w.pallet.map_or(Decimal::ZERO, |p| p.delivery);
    let begun = w.pallet.map_or(0, |p| bags.div_ceil(p.bags.max(1)));
    let flat = if bags > 0 { w.delivery } else { Decimal::ZERO };
    let delivery = flat.checked_add(per_pallet.checked_mul(Decimal::from(begun))?)?;
    sheet.line("delivery", delivery, format!("{flat} + {begun} pallets x {per_pallet}"));
    // only the bags needed are mixed
    let minutes = w.minutes_per_bag.checked_mul(Decimal::from(needed))? / Decimal::from(w.mixers);
    let hours = to_minor(minutes / Decimal::from(60), 6);
    let crew_hours = hours.checked_mul(Decimal::from(crew.people))?;
    let mixing = crew_hours.checked_mul(crew.rate_per_hour)?;
    let basis = format!(
        "{needed} bags x {} min / {} mixers = {hours} h x {} people x {}",
        w.minutes_per_bag, w.mixers, crew.people, crew.rate_per_hour
    );
    sheet.line("mixing and placing", mixing, basis);
    let days = (hours / w.hours_per_day).ceil();
    let hire = w.mixer_per_day.checked_mul(days)?.checked_mul(Decimal::from(w.mixers))?;
    sheet.line("mixer hire", hire, format!("{days} days x {} mixers x {}", w.mixers, w.mixer_per_day));
    if hours > w.hours_per_day {
        sheet.warnings.push(PourWarning::MoreThanADay { hours, day: w.hours_per_day });
    }
    let ordered = Nm3(w.yield_each.0.checked_mul(i128::from(bags))?);
    sheet.figures = Figures { ordered, loads: 0, last_load: Nm3(0), bags, pallets, hours, crew_hours };
    Some(sheet)
}

/// Bags bought, whole pallets among them, their price, and the sum in words.
fn purchase(w: &Bags, needed: u32) -> Option<(u32, u32, Decimal, String)> {
    let singles = |n: u32| w.price.checked_mul(Decimal::from(n));
    let loose = (needed, 0, singles(needed)?, format!("{needed} bags x {}", w.price));
    let Some(Pallet { bags: each, price, whole_only, .. }) = w.pallet else {
        return Some(loose);
    };
    let pallet_price = match price {
        Some(p) => p,
        None => singles(each)?,
    };
    let of = |pallets: u32, rest: u32| -> Option<(u32, u32, Decimal, String)> {
        let price = pallet_price.checked_mul(Decimal::from(pallets))?.checked_add(singles(rest)?)?;
        let bags = pallets.checked_mul(each)?.checked_add(rest)?;
        let words = format!("{pallets} pallets of {each} x {pallet_price} + {rest} bags x {}", w.price);
        Some((bags, pallets, price, words))
    };
    let full = of(needed.div_ceil(each), 0)?;
    if whole_only {
        return Some(full);
    }
    let mixed = of(needed / each, needed % each)?;
    // fewest bags among equal prices
    [loose, mixed, full].into_iter().min_by_key(|o| (o.2, o.0))
}
