//! Every need against every usable offer, and the offers set aside with their reason.

use super::fault::{BuyingFault, SetAside, Why};
use super::grid::Grid;
use super::mix::{Mix, cheapest_mix};
use super::packs::{Packs, cheapest, dearer};
use super::places::Places;
use super::request::{Offer, Request};
use crate::compute::calendar::count::calendar_days_between;
use crate::units::decimal::in_parts;
use jiff::ToSpan;
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::collections::BTreeSet;

/// Largest line in minor units.
const LARGEST_LINE: i64 = 10_000_000_000_000;
/// Steps of looking for mixes of offers, all needs together.
const MIX_STEPS: u64 = 200_000;

/// One usable offer for one need.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice {
    /// Row of the table.
    pub need: usize,
    /// Index of the offer.
    pub offer: usize,
    pub supplier: usize,
    pub packs: Packs,
    /// Line cost in minor units.
    pub cost: i64,
    /// Whether it is a dearer way to buy from an offer that stands with its cheapest one already.
    pub beside: bool,
    /// Place of the mix, where packs of several offers meet the need together; `offer` and `packs` are those of its first.
    pub mix: Option<usize>,
}

/// The request as numbers.
#[derive(Debug, Clone)]
pub(super) struct Table {
    /// Usable offers of each need, cheapest first; one of which fewer packs cost more stands for each such number of packs where
    /// goods can make its delivery free.
    pub choices: Grid<Choice>,
    /// Delivery charge per supplier, minor units.
    pub delivery: Vec<i64>,
    /// Free-delivery threshold per supplier, minor units.
    pub free_from: Vec<Option<i64>>,
    /// Most goods each supplier can be asked for, minor units.
    reach: Vec<i64>,
    /// Most suppliers.
    pub most: usize,
    pub set_aside: Vec<SetAside>,
    /// Mixes of offers among the choices.
    pub mixes: Vec<Mix>,
    /// What mixes that were not looked through could save at most, minor units.
    pub slack: i64,
}

impl Table {
    /// The table of a request whose offers stand at these places; every fault at once.
    pub(super) fn of(r: &Request<'_>, places: &Places) -> Result<Self, Vec<BuyingFault>> {
        let mut faults = Vec::new();
        let by_need = places.by_need(r.needs.len());
        let mut choices = Grid::with_room(r.needs.len(), by_need.cells().len());
        let mut row: Vec<Choice> = Vec::new();
        let mut all_aside = Vec::new();
        let (mut mixes, mut slack, mut steps) = (Vec::new(), 0_i64, MIX_STEPS);
        let days = calendar_days_between(r.as_of, r.needed_by);
        for (place, (need, offers)) in r.needs.iter().zip(by_need.rows()).enumerate() {
            let aside_before = all_aside.len();
            for (offer, o) in offers.iter().filter_map(|&i| Some((i, r.offers.get(i)?))) {
                if let Some(why) = unusable(o, &need.unit, days, r) {
                    let own = |s: &str| s.to_owned();
                    let (offer, supplier, item) = (own(&o.id), own(&o.supplier), own(&o.item));
                    all_aside.push(SetAside { offer, supplier, item, why });
                    continue;
                }
                let priced = cheapest(o, need.quantity, r.minor_digits).filter(|p| p.cost <= LARGEST_LINE);
                let supplier = places.supplier(offer);
                let choice = |packs: Packs, beside| Choice {
                    need: place,
                    offer,
                    supplier,
                    packs,
                    cost: packs.cost,
                    beside,
                    mix: None,
                };
                match priced {
                    Some(packs) => {
                        row.push(choice(packs, false));
                        if threshold(r, supplier) {
                            let ways = dearer(o, need.quantity, r.minor_digits, packs).into_iter();
                            row.extend(
                                ways.filter(|p| p.cost <= LARGEST_LINE).map(|packs| choice(packs, true)),
                            );
                        }
                    }
                    None => faults.push(BuyingFault::TooLarge { what: "packs of one line, or their cost" }),
                }
            }
            row.sort_unstable_by_key(|c| (c.cost, c.supplier, c.offer));
            if may_mix(&row) {
                slack = slack.saturating_add(mix_in(&mut row, need.quantity, r, &mut mixes, &mut steps));
                row.sort_unstable_by_key(|c| (c.cost, c.supplier, c.offer));
            }
            if row.is_empty() && !faults.iter().any(|f| matches!(f, BuyingFault::TooLarge { .. })) {
                let item = need.item.to_string();
                faults.push(match all_aside.get(aside_before..) {
                    None | Some([]) => BuyingFault::NobodySells { item },
                    Some(aside) => BuyingFault::NoUsableOffer { item, offers: aside.to_vec() },
                });
            }
            choices.push(row.drain(..));
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let minor_of = |d: Decimal| minor(d, r.minor_digits).unwrap_or(0);
        let mut table = Self {
            reach: reach(&choices, r.suppliers.len()),
            choices,
            delivery: r.suppliers.iter().map(|s| minor_of(s.delivery)).collect(),
            free_from: r.suppliers.iter().map(|s| s.free_from.map(minor_of)).collect(),
            most: r.most_suppliers.map_or(usize::MAX, |m| m as usize),
            set_aside: all_aside,
            mixes,
            slack,
        };
        table.drop_idle();
        Ok(table)
    }

    /// Throws out the dearer ways of an offer where all of them together make no delivery free.
    fn drop_idle(&mut self) {
        let free: Vec<bool> = (0..self.delivery.len()).map(|s| self.can_be_free(s)).collect();
        self.choices.retain(|c| !c.beside || free.get(c.supplier).is_some_and(|free| *free));
    }

    /// Delivery charge of a supplier that sells goods for so much.
    pub(super) fn delivery(&self, supplier: usize, goods: i64) -> i64 {
        let free = self.free_from.get(supplier).copied().flatten().is_some_and(|f| goods >= f);
        if free { 0 } else { self.delivery.get(supplier).copied().unwrap_or(0) }
    }

    /// The cheapest choice of every need, no delivery counted.
    pub(super) fn least_goods(&self) -> i64 {
        self.choices.rows().filter_map(|row| row.first()).map(|c| c.cost).sum()
    }

    /// Whether a supplier can be asked for as much as it delivers free from.
    pub(super) fn can_be_free(&self, supplier: usize) -> bool {
        let reach = self.reach.get(supplier).copied().unwrap_or(0);
        self.free_from.get(supplier).copied().flatten().is_some_and(|from| reach >= from)
    }

    /// What one supplier sells of it all.
    pub(super) fn alone(&self, supplier: usize) -> Self {
        let mut choices = Grid::with_room(self.choices.len(), self.choices.len());
        for row in self.choices.rows().filter(|row| row.iter().any(|c| c.supplier == supplier)) {
            let need = choices.len();
            choices.push(row.iter().filter(|c| c.supplier == supplier).map(|c| Choice { need, ..*c }));
        }
        Self {
            reach: reach(&choices, self.delivery.len()),
            choices,
            delivery: self.delivery.clone(),
            free_from: self.free_from.clone(),
            most: self.most,
            set_aside: Vec::new(),
            mixes: Vec::new(),
            slack: 0,
        }
    }

    /// The fault when the limit on suppliers cannot be kept.
    pub(super) fn too_few_suppliers(&self, r: &Request<'_>) -> BuyingFault {
        let sellers = |row: &[Choice]| row.iter().map(|c| c.supplier).collect::<BTreeSet<_>>().len();
        let fewest = self.choices.rows().map(sellers).min().unwrap_or(0);
        let hard = self.choices.rows().zip(&r.needs).filter(|(row, _)| sellers(row) == fewest);
        BuyingFault::TooFewSuppliers {
            most: r.most_suppliers.unwrap_or(0),
            hard: hard.map(|(_, n)| n.item.to_string()).take(10).collect(),
        }
    }
}

/// Whether a supplier stands in a row with several offers.
fn may_mix(row: &[Choice]) -> bool {
    let of_another = |(i, c): (usize, &Choice)| {
        row.iter().skip(i + 1).any(|o| o.supplier == c.supplier && o.offer != c.offer)
    };
    row.iter().enumerate().any(of_another)
}

/// Adds the cheapest mix of each supplier's offers to the row of a need, where it costs less than each by itself. What mixes
/// that were not looked through could save at most.
fn mix_in(
    row: &mut Vec<Choice>,
    quantity: Decimal,
    r: &Request<'_>,
    mixes: &mut Vec<Mix>,
    steps: &mut u64,
) -> i64 {
    let mut slack = 0;
    let suppliers: BTreeSet<usize> = row.iter().map(|c| c.supplier).collect();
    for supplier in suppliers {
        let own = || row.iter().filter(|c| c.supplier == supplier && !c.beside);
        let offers: SmallVec<[(usize, &Offer<'_>); 4]> =
            own().filter_map(|c| Some((c.offer, r.offers.get(c.offer)?))).collect();
        // the row stands by cost
        let Some(first) = own().next().copied().filter(|_| offers.len() > 1) else { continue };
        let found = cheapest_mix(&offers, quantity, r.minor_digits, first.cost, steps);
        let cost = found.mix.as_ref().map_or(first.cost, |m| m.cost);
        slack = slack.max(cost - found.bound);
        if let Some(mix) = found.mix
            && let Some(&(offer, packs)) = mix.parts.first()
        {
            row.push(Choice { offer, packs, cost, mix: Some(mixes.len()), ..first });
            mixes.push(mix);
        }
    }
    slack
}

/// Most goods each supplier can be asked for: the dearest of its offers of every need.
fn reach(choices: &Grid<Choice>, suppliers: usize) -> Vec<i64> {
    let mut reach = vec![0; suppliers];
    let mut of_need = vec![0; suppliers];
    for row in choices.rows() {
        of_need.fill(0);
        // the offers stand by cost: each outdoes those of its supplier before it
        for c in row {
            if let (Some(reach), Some(before)) = (reach.get_mut(c.supplier), of_need.get_mut(c.supplier)) {
                *reach += c.cost - *before;
                *before = c.cost;
            }
        }
    }
    reach
}

/// Whether goods bought at a supplier can spare its delivery charge.
fn threshold(r: &Request<'_>, supplier: usize) -> bool {
    r.suppliers.get(supplier).is_some_and(|s| s.free_from.is_some() && s.delivery > Decimal::ZERO)
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
