//! Every need against every usable offer, and the offers set aside with their reason.

use super::fault::{BuyingFault, SetAside, Why};
use super::packs::{Packs, cheapest};
use super::request::{Offer, Request};
use jiff::ToSpan;
use rust_decimal::Decimal;
use rustc_hash::FxHashSet;
use std::collections::{BTreeMap, BTreeSet};

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
    pub(super) fn build(r: &Request) -> Result<Self, Vec<BuyingFault>> {
        let mut faults = check(r);
        if !faults.is_empty() {
            return Err(faults);
        }
        let suppliers: BTreeMap<&str, usize> =
            r.suppliers.iter().enumerate().map(|(i, s)| (s.id.as_str(), i)).collect();
        let mut by_item: BTreeMap<&str, Vec<(usize, &Offer)>> = BTreeMap::new();
        for (i, o) in r.offers.iter().enumerate() {
            by_item.entry(o.item.as_str()).or_default().push((i, o));
        }
        let (mut choices, mut all_aside) = (Vec::with_capacity(r.needs.len()), Vec::new());
        for need in &r.needs {
            let mut row: Vec<Choice> = Vec::new();
            let mut aside = Vec::new();
            let offers = by_item.get(need.item.as_str()).map_or(&[][..], Vec::as_slice);
            for &(offer, o) in offers {
                if let Some(why) = unusable(o, &need.unit, r) {
                    let (id, supplier, item) = (o.id.clone(), o.supplier.clone(), o.item.clone());
                    aside.push(SetAside { offer: id, supplier, item, why });
                    continue;
                }
                let Some(&supplier) = suppliers.get(o.supplier.as_str()) else {
                    continue;
                };
                let priced = cheapest(o, need.quantity, r.minor_digits)
                    .and_then(|packs| Some((packs, minor(packs.cost, r.minor_digits)?)));
                match priced.filter(|p| p.1 <= LARGEST_LINE) {
                    Some((packs, cost)) => row.push(Choice { offer, supplier, packs, cost }),
                    None => faults.push(BuyingFault::TooLarge { what: "packs of one line, or their cost" }),
                }
            }
            row.sort_by_key(|c| (c.cost, c.supplier, c.offer));
            if row.is_empty() && !faults.iter().any(|f| matches!(f, BuyingFault::TooLarge { .. })) {
                faults.push(match aside.is_empty() {
                    true => BuyingFault::NobodySells { item: need.item.clone() },
                    false => BuyingFault::NoUsableOffer { item: need.item.clone(), offers: aside.clone() },
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

    /// The fault when the limit on suppliers cannot be kept.
    pub(super) fn too_few_suppliers(&self, r: &Request) -> BuyingFault {
        let sellers = |row: &Vec<Choice>| row.iter().map(|c| c.supplier).collect::<BTreeSet<_>>().len();
        let fewest = self.choices.iter().map(sellers).min().unwrap_or(0);
        let hard = self.choices.iter().zip(&r.needs).filter(|(row, _)| sellers(row) == fewest);
        BuyingFault::TooFewSuppliers {
            most: r.most_suppliers.unwrap_or(0),
            hard: hard.map(|(_, n)| n.item.clone()).take(10).collect(),
        }
    }
}

/// An amount in minor units, rounded half up.
pub(super) fn minor(amount: Decimal, digits: u32) -> Option<i64> {
    let rounded = crate::compute::exact::to_minor(amount, digits);
    let scaled = rounded.checked_mul(Decimal::from(10_i64.checked_pow(digits)?))?;
    i64::try_from(scaled.trunc().mantissa() / 10_i128.pow(scaled.trunc().scale())).ok()
}

fn unusable(o: &Offer, unit: &str, r: &Request) -> Option<Why> {
    if o.unit != unit {
        return Some(Why::Unit { offered: o.unit.clone(), needed: unit.to_owned() });
    }
    if let Some(valid_until) = o.valid_until.filter(|v| *v < r.as_of) {
        return Some(Why::Expired { valid_until, as_of: r.as_of });
    }
    let arrives =
        r.as_of.checked_add(i64::from(o.lead_days.min(3_650_000)).days()).unwrap_or(jiff::civil::Date::MAX);
    let (lead_days, needed_by) = (o.lead_days, r.needed_by);
    (arrives > needed_by).then_some(Why::TooLate { lead_days, arrives, needed_by })
}

fn check(r: &Request) -> Vec<BuyingFault> {
    let mut faults = Vec::new();
    if r.needs.is_empty() {
        faults.push(BuyingFault::NoNeeds);
    }
    if r.needs.len() > 10_000 || r.suppliers.len() > 500 || r.offers.len() > 200_000 {
        faults.push(BuyingFault::TooLarge { what: "needs, suppliers or offers" });
        return faults;
    }
    if r.needed_by < r.as_of {
        faults.push(BuyingFault::Dates { as_of: r.as_of, needed_by: r.needed_by });
    }
    if r.minor_digits > 4 {
        let (field, rule) = ("minor_digits".to_owned(), "0 to 4");
        faults.push(BuyingFault::Amount { field, value: Decimal::from(r.minor_digits), rule });
    }
    let mut twice = |kind: &'static str, ids: Vec<&String>| {
        let mut seen = FxHashSet::default();
        for id in ids {
            if !seen.insert(id) {
                faults.push(BuyingFault::Twice { kind, id: id.clone() });
            }
        }
    };
    twice("need", r.needs.iter().map(|n| &n.item).collect());
    twice("supplier", r.suppliers.iter().map(|s| &s.id).collect());
    twice("offer", r.offers.iter().map(|o| &o.id).collect());
    let known: BTreeSet<&str> = r.suppliers.iter().map(|s| s.id.as_str()).collect();
    let mut amount = |field: &dyn Fn() -> String, value: Decimal, zero: bool| {
        let low = value.is_sign_negative() && !value.is_zero() || !zero && value.is_zero();
        if low || value > Decimal::from(LARGEST) {
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
            amount(&|| format!("offers[{}].breaks.price", o.id), b.price, true);
        }
    }
    for o in &r.offers {
        if !known.contains(o.supplier.as_str()) {
            faults.push(BuyingFault::NoSuchSupplier { offer: o.id.clone(), supplier: o.supplier.clone() });
        }
        if !o.breaks.is_sorted_by(|a, b| a.packs < b.packs) || o.breaks.first().is_some_and(|b| b.packs < 2) {
            let rule = "packs of the breaks must rise, from 2 on";
            faults.push(BuyingFault::Breaks { offer: o.id.clone(), rule });
        }
    }
    faults
}
