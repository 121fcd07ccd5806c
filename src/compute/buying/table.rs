//! Every need against every usable offer, and the offers set aside with their reason.

use super::fault::{BuyingFault, SetAside, Why};
use super::packs::{Packs, cheapest};
use super::request::{Offer, Request};
use crate::compute::calendar::count::calendar_days_between;
use crate::units::decimal::in_parts;
use jiff::ToSpan;
use rust_decimal::Decimal;
use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};
use std::collections::BTreeSet;

/// Largest figure taken: keeps every product and sum inside `i64` minor units.
const LARGEST: i64 = 1_000_000_000;
/// Largest line in minor units.
const LARGEST_LINE: i64 = 10_000_000_000_000;

/// One usable offer for one need.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice {
    /// Index of the offer.
    pub offer: usize,
    pub supplier: usize,
    pub packs: Packs,
    /// Line cost in minor units.
    pub cost: i64,
}

/// The request as numbers.
#[derive(Debug, Clone)]
pub(super) struct Table {
    /// Usable offers of each need, cheapest first.
    pub choices: Vec<Vec<Choice>>,
    /// Delivery charge per supplier, minor units.
    pub delivery: Vec<i64>,
    /// Free-delivery threshold per supplier, minor units.
    pub free_from: Vec<Option<i64>>,
    /// Most suppliers.
    pub most: usize,
    pub set_aside: Vec<SetAside>,
}

impl Table {
    /// Checks the request and sets up the table; every fault at once.
    pub(super) fn build(r: &Request<'_>) -> Result<Self, Vec<BuyingFault>> {
        let Places { needs, suppliers } = check(r)?;
        let mut faults = Vec::new();
        let mut by_need: Vec<Vec<usize>> = vec![Vec::new(); r.needs.len()];
        for (i, o) in r.offers.iter().enumerate() {
            if let Some(offers) = needs.get(o.item.as_ref()).and_then(|&n| by_need.get_mut(n)) {
                offers.push(i);
            }
        }
        let (mut choices, mut all_aside) = (Vec::with_capacity(r.needs.len()), Vec::new());
        let days = calendar_days_between(r.as_of, r.needed_by);
        for (need, offers) in r.needs.iter().zip(&by_need) {
            let mut row: Vec<Choice> = Vec::with_capacity(offers.len());
            let mut aside = Vec::new();
            for (offer, o) in offers.iter().filter_map(|&i| Some((i, r.offers.get(i)?))) {
                if let Some(why) = unusable(o, &need.unit, days, r) {
                    let own = |s: &str| s.to_owned();
                    let (offer, supplier, item) = (own(&o.id), own(&o.supplier), own(&o.item));
                    aside.push(SetAside { offer, supplier, item, why });
                    continue;
                }
                let Some(&supplier) = suppliers.get(o.supplier.as_ref()) else {
                    continue;
                };
                let priced = cheapest(o, need.quantity, r.minor_digits).filter(|p| p.cost <= LARGEST_LINE);
                match priced {
                    Some(packs) => row.push(Choice { offer, supplier, packs, cost: packs.cost }),
                    None => faults.push(BuyingFault::TooLarge { what: "packs of one line, or their cost" }),
                }
            }
            row.sort_by_key(|c| (c.cost, c.supplier, c.offer));
            if row.is_empty() && !faults.iter().any(|f| matches!(f, BuyingFault::TooLarge { .. })) {
                faults.push(match aside.is_empty() {
                    true => BuyingFault::NobodySells { item: need.item.to_string() },
                    false => {
                        BuyingFault::NoUsableOffer { item: need.item.to_string(), offers: aside.clone() }
                    }
                });
            }
            all_aside.extend(aside);
            choices.push(row);
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let minor_of = |d: Decimal| minor(d, r.minor_digits).unwrap_or(0);
        Ok(Self {
            choices,
            delivery: r.suppliers.iter().map(|s| minor_of(s.delivery)).collect(),
            free_from: r.suppliers.iter().map(|s| s.free_from.map(minor_of)).collect(),
            most: r.most_suppliers.map_or(usize::MAX, |m| m as usize),
            set_aside: all_aside,
        })
    }

    /// Delivery charge of a supplier that sells goods for so much.
    pub(super) fn delivery(&self, supplier: usize, goods: i64) -> i64 {
        let free = self.free_from.get(supplier).copied().flatten().is_some_and(|f| goods >= f);
        if free { 0 } else { self.delivery.get(supplier).copied().unwrap_or(0) }
    }

    /// Most goods a supplier can be asked for, minor units.
    fn reach(&self, supplier: usize) -> i64 {
        let of = |row: &Vec<Choice>| row.iter().filter(|c| c.supplier == supplier).map(|c| c.cost).max();
        self.choices.iter().filter_map(of).sum()
    }

    /// Whether a supplier can be asked for as much as it delivers free from.
    pub(super) fn can_be_free(&self, supplier: usize) -> bool {
        self.free_from.get(supplier).copied().flatten().is_some_and(|from| self.reach(supplier) >= from)
    }

    /// What one supplier sells of it all.
    pub(super) fn alone(&self, supplier: usize) -> Self {
        let of = |row: &Vec<Choice>| row.iter().filter(|c| c.supplier == supplier).copied().collect();
        let rows = self.choices.iter().map(of).filter(|row: &Vec<Choice>| !row.is_empty());
        Self {
            choices: rows.collect(),
            delivery: self.delivery.clone(),
            free_from: self.free_from.clone(),
            most: self.most,
            set_aside: Vec::new(),
        }
    }

    /// The fault when the limit on suppliers cannot be kept.
    pub(super) fn too_few_suppliers(&self, r: &Request<'_>) -> BuyingFault {
        let sellers = |row: &Vec<Choice>| row.iter().map(|c| c.supplier).collect::<BTreeSet<_>>().len();
        let fewest = self.choices.iter().map(sellers).min().unwrap_or(0);
        let hard = self.choices.iter().zip(&r.needs).filter(|(row, _)| sellers(row) == fewest);
        BuyingFault::TooFewSuppliers {
            most: r.most_suppliers.unwrap_or(0),
            hard: hard.map(|(_, n)| n.item.to_string()).take(10).collect(),
        }
    }
}

/// An amount in minor units, rounded half up.
pub(super) fn minor(amount: Decimal, digits: u32) -> Option<i64> {
    i64::try_from(in_parts(amount, digits)?).ok()
}

fn unusable(o: &Offer<'_>, unit: &str, days: i64, r: &Request<'_>) -> Option<Why> {
    if o.unit != unit {
        return Some(Why::Unit { offered: o.unit.to_string(), needed: unit.to_owned() });
    }
    if let Some(valid_until) = o.valid_until.filter(|v| *v < r.as_of) {
        return Some(Why::Expired { valid_until, as_of: r.as_of });
    }
    if i64::from(o.lead_days) <= days {
        return None;
    }
    let arrives =
        r.as_of.checked_add(i64::from(o.lead_days.min(3_650_000)).days()).unwrap_or(jiff::civil::Date::MAX);
    Some(Why::TooLate { lead_days: o.lead_days, arrives, needed_by: r.needed_by })
}

/// Where each need and each supplier stands in the request.
struct Places<'r> {
    needs: FxHashMap<&'r str, usize>,
    suppliers: FxHashMap<&'r str, usize>,
}

/// The places of names, with a fault for each that is given twice.
fn places<'r>(
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

/// Every fault of the request, or where its names stand.
fn check<'r>(r: &'r Request<'_>) -> Result<Places<'r>, Vec<BuyingFault>> {
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
    let needs = places("need", r.needs.iter().map(|n| n.item.as_ref()), &mut faults);
    let suppliers = places("supplier", r.suppliers.iter().map(|s| s.id.as_ref()), &mut faults);
    let mut seen = FxHashSet::with_capacity_and_hasher(r.offers.len(), FxBuildHasher);
    for o in &r.offers {
        if !seen.insert((o.supplier.as_ref(), o.id.as_ref())) {
            faults.push(BuyingFault::Twice { kind: "offer", id: o.id.to_string() });
        }
    }
    let most = Decimal::from(LARGEST);
    let mut amount = |field: &dyn Fn() -> String, value: Decimal, zero: bool| {
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
    for o in &r.offers {
        if !suppliers.contains_key(o.supplier.as_ref()) {
            let (offer, supplier) = (o.id.to_string(), o.supplier.to_string());
            faults.push(BuyingFault::NoSuchSupplier { offer, supplier });
        }
        if !o.breaks.is_sorted_by(|a, b| a.packs < b.packs) || o.breaks.first().is_some_and(|b| b.packs < 2) {
            let rule = "packs of the breaks must rise, from 2 on";
            faults.push(BuyingFault::Breaks { offer: o.id.to_string(), rule });
        }
    }
    if faults.is_empty() { Ok(Places { needs, suppliers }) } else { Err(faults) }
}
