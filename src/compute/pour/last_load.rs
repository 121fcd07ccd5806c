//! A short last load: take it as it is, order a little more, or mix bags for the rest.

use super::compare::Sheet;
use super::fault::PourFault;
use super::quantity::{loads, order, with_waste};
use super::request::{Bags, Crew, ReadyMix, Way};
use super::{bags, ready_mix};
use crate::compute::exact::{Nm3, ceil_div};
use rust_decimal::Decimal;

/// What is done about a short last load.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LastLoad {
    /// Taken as it is, with its charge.
    AsItIs,
    /// The order is raised until the last load is no longer short.
    OrderMore,
    /// The full loads only, and bags of this name for the rest.
    Bags(String),
}

/// One way to deal with it, all-in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastLoadChoice {
    /// What is done.
    pub what: LastLoad,
    /// Ready-mix ordered.
    pub ordered: Nm3,
    /// Truck loads.
    pub loads: u32,
    /// Bags bought.
    pub bags: u32,
    /// All-in cost.
    pub total: Decimal,
    /// The sum in words.
    pub basis: String,
}

/// The choices when the last load of an order is short, cheapest first; empty when it is not short.
///
/// # Errors
/// Every fault at once.
pub fn last_load(
    net: Nm3,
    waste: Decimal,
    mix: &ReadyMix,
    bag_offers: &[Bags],
    crew: &Crew,
    minor_digits: u32,
) -> Result<Vec<LastLoadChoice>, Vec<PourFault>> {
    let ways: Vec<Way> =
        bag_offers.iter().cloned().map(Way::Bags).chain([Way::ReadyMix(mix.clone())]).collect();
    super::fault::check(&[net], waste, &ways, crew, minor_digits)?;
    choices(net, waste, mix, bag_offers, crew, minor_digits)
        .ok_or_else(|| vec![PourFault::TooLarge { what: "volumes or costs" }])
}

fn choices(
    net: Nm3,
    waste: Decimal,
    mix: &ReadyMix,
    bag_offers: &[Bags],
    crew: &Crew,
    minor: u32,
) -> Option<Vec<LastLoadChoice>> {
    let need = with_waste(net, waste)?;
    let ordered = order(need, mix.increment, mix.least_order)?;
    let (count, last) = loads(ordered, mix.truck)?;
    let Some(below) = mix.short_load.below().filter(|b| count > 0 && last < *b) else {
        return Some(Vec::new());
    };
    let of = |volume: Nm3, what: LastLoad, extra: Option<Sheet>| -> Option<LastLoadChoice> {
        let main = ready_mix::cost_of_order(mix, need, volume, crew, minor)?;
        let sheets = [Some(main), extra];
        let mut total = Decimal::ZERO;
        let mut words = Vec::new();
        for sheet in sheets.iter().flatten() {
            total = total.checked_add(sheet.total()?)?;
            words.extend(sheet.lines.iter().map(|l| format!("{} {}", l.label, l.amount)));
        }
        let figures =
            |i: usize| sheets.get(i).and_then(Option::as_ref).map(|s| s.figures).unwrap_or_default();
        let basis = format!("{} = {total}", words.join(" + "));
        let (loads, bags) = (figures(0).loads, figures(1).bags);
        Some(LastLoadChoice { what, ordered: volume, loads, bags, total, basis })
    };
    let mut found = vec![of(ordered, LastLoad::AsItIs, None)?];
    // raised within the truck; the increment may carry it a little beyond
    let full = Nm3((i128::from(count) - 1).checked_mul(mix.truck.0)?);
    let raised = ceil_div(full.0.checked_add(below.min(mix.truck).0)?, mix.increment.0)?
        .checked_mul(mix.increment.0)?;
    if loads(Nm3(raised), mix.truck)?.0 == count && raised > ordered.0 {
        found.push(of(Nm3(raised), LastLoad::OrderMore, None)?);
    }
    let carried = Nm3(full.0 / mix.increment.0 * mix.increment.0);
    if carried.0 > 0 && carried >= mix.least_order {
        for offer in bag_offers {
            let rest = bags::cost(offer, Nm3(need.0 - carried.0), crew, minor)?;
            found.push(of(carried, LastLoad::Bags(offer.id.clone()), Some(rest))?);
        }
    }
    found.sort_by_key(|c| c.total);
    Some(found)
}
