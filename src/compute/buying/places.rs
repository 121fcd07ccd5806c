//! Where the offers of a request stand: at which need and at which supplier. Looking that up finds every fault of the
//! request as well.

use super::fault::BuyingFault;
use super::grid::Grid;
use super::request::{Offer, Request};
use rust_decimal::Decimal;
use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};

/// Largest figure taken: keeps every product and sum inside `i64` minor units.
const LARGEST: i64 = 1_000_000_000;

/// The need and the supplier of every offer, by their places in the request.
#[derive(Debug, Clone, Default)]
pub(crate) struct Places(Vec<Place>);

#[derive(Debug, Clone, Copy)]
struct Place {
    /// `None` where the offer is of something that is not needed.
    need: Option<usize>,
    supplier: usize,
}

impl Places {
    /// No place yet, with room for so many.
    pub(crate) fn with_room(offers: usize) -> Self {
        Self(Vec::with_capacity(offers))
    }

    /// The place of a further offer, in the order of the request: that of its need and that of its supplier.
    pub(crate) fn push(&mut self, need: usize, supplier: usize) {
        self.0.push(Place { need: Some(need), supplier });
    }

    /// Looks the names of a request up.
    ///
    /// # Errors
    /// Every fault of the request.
    pub(super) fn find(r: &Request<'_>) -> Result<Self, Vec<BuyingFault>> {
        let mut faults = sizes(r)?;
        let needs = by_name("need", r.needs.iter().map(|n| n.item.as_ref()), &mut faults);
        let suppliers = by_name("supplier", r.suppliers.iter().map(|s| s.id.as_ref()), &mut faults);
        let mut seen = FxHashSet::with_capacity_and_hasher(r.offers.len(), FxBuildHasher);
        for o in &r.offers {
            if !seen.insert((o.supplier.as_ref(), o.id.as_ref())) {
                faults.push(BuyingFault::Twice { kind: "offer", id: o.id.to_string() });
            }
        }
        amounts(r, &mut faults);
        let mut places = Vec::with_capacity(r.offers.len());
        for o in &r.offers {
            match suppliers.get(o.supplier.as_ref()) {
                Some(&supplier) => places.push(Place { need: needs.get(o.item.as_ref()).copied(), supplier }),
                None => {
                    let (offer, supplier) = (o.id.to_string(), o.supplier.to_string());
                    faults.push(BuyingFault::NoSuchSupplier { offer, supplier });
                }
            }
            breaks(o, &mut faults);
        }
        if faults.is_empty() { Ok(Self(places)) } else { Err(faults) }
    }

    /// Checks the figures of a request of which it names every offer.
    ///
    /// # Errors
    /// Every fault of them.
    pub(super) fn figures(&self, r: &Request<'_>) -> Result<(), Vec<BuyingFault>> {
        let mut faults = sizes(r)?;
        amounts(r, &mut faults);
        r.offers.iter().for_each(|o| breaks(o, &mut faults));
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }

    /// The offers of each need.
    pub(super) fn by_need(&self, needs: usize) -> Grid<usize> {
        let needed = self.0.iter().enumerate().filter_map(|(offer, place)| Some((place.need?, offer)));
        Grid::grouped(needs, needed)
    }

    /// The place of the supplier of an offer.
    pub(super) fn supplier(&self, offer: usize) -> usize {
        self.0.get(offer).map_or(usize::MAX, |place| place.supplier)
    }
}

/// The places of names, with a fault for each that is given twice.
fn by_name<'r>(
    kind: &'static str,
    names: impl ExactSizeIterator<Item = &'r str>,
    faults: &mut Vec<BuyingFault>,
) -> FxHashMap<&'r str, usize> {
    let mut places = FxHashMap::with_capacity_and_hasher(names.len(), FxBuildHasher);
    for (place, id) in names.enumerate() {
        if places.insert(id, place).is_some() {
            faults.push(BuyingFault::Twice { kind, id: id.to_owned() });
        }
    }
    places
}

/// What is wrong with the request as a whole; an error by itself where it is too large to look further.
fn sizes(r: &Request<'_>) -> Result<Vec<BuyingFault>, Vec<BuyingFault>> {
    let mut faults = Vec::new();
    if r.needs.is_empty() {
        faults.push(BuyingFault::NoNeeds);
    }
    if r.needs.len() > 10_000 || r.suppliers.len() > 500 || r.offers.len() > 200_000 {
        faults.push(BuyingFault::TooLarge { what: "needs, suppliers or offers" });
        return Err(faults);
    }
    if r.needed_by < r.as_of {
        faults.push(BuyingFault::Dates { as_of: r.as_of, needed_by: r.needed_by });
    }
    if r.minor_digits > 4 {
        let (field, rule) = ("minor_digits".to_owned(), "0 to 4");
        faults.push(BuyingFault::Amount { field, value: Decimal::from(r.minor_digits), rule });
    }
    Ok(faults)
}

/// Every figure that is out of range.
fn amounts(r: &Request<'_>, faults: &mut Vec<BuyingFault>) {
    let most = Decimal::from(LARGEST);
    let mut amount = |field: &dyn Fn() -> String, value: Decimal, zero: bool| {
        // Most figures are within the range without their point, which only makes them less.
        if (i128::from(!zero)..=i128::from(LARGEST)).contains(&value.mantissa()) {
            return;
        }
        let low = value.is_sign_negative() && !value.is_zero() || !zero && value.is_zero();
        if low || value > most {
            let rule =
                if zero { "0 or more, at most 1 000 000 000" } else { "more than 0, at most 1 000 000 000" };
            faults.push(BuyingFault::Amount { field: field(), value, rule });
        }
    };
    for n in &r.needs {
        amount(&|| format!("needs[{}].quantity", n.item), n.quantity, false);
    }
    for s in &r.suppliers {
        amount(&|| format!("suppliers[{}].delivery", s.id), s.delivery, true);
        amount(&|| format!("suppliers[{}].free_from", s.id), s.free_from.unwrap_or_default(), true);
    }
    for o in &r.offers {
        amount(&|| format!("offers[{}].pack", o.id), o.pack, false);
        amount(&|| format!("offers[{}].price", o.id), o.price, true);
        for b in &o.breaks {
            amount(&|| format!("offers[{}].breaks", o.id), b.price, true);
        }
    }
}

/// Price breaks out of order.
fn breaks(o: &Offer<'_>, faults: &mut Vec<BuyingFault>) {
    if !o.breaks.is_sorted_by(|a, b| a.packs < b.packs) || o.breaks.first().is_some_and(|b| b.packs < 2) {
        let rule = "packs of the breaks must rise, from 2 on";
        faults.push(BuyingFault::Breaks { offer: o.id.to_string(), rule });
    }
}
