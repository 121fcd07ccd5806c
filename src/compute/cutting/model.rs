//! The request in whole search units: lengths in nanometres, costs in millionths times a tie-break factor.

use super::fault::CuttingFault;
use super::problem::{Problem, Source, Work};
use crate::compute::exact::{Nm, micros};
use rust_decimal::Decimal;
use rustc_hash::{FxBuildHasher, FxHashSet};

/// Longest single length: 1000 km keeps every sum inside `i64`.
const LONGEST: i64 = 1_000_000_000_000_000;
/// Most legs, and most pieces the plain list may need.
const MOST: i64 = 200_000;
/// Largest price or cost of one thing, currency units.
const DEAREST: i64 = 1_000_000_000;
/// Largest total in search units.
const LARGEST_TOTAL: i128 = 1_000_000_000_000_000_000;
/// No limit on a count.
pub(super) const UNLIMITED: u32 = u32::MAX;

/// One usable stock length.
#[derive(Debug, Clone)]
pub(super) struct Kind {
    /// Index into the request's stock.
    pub stock: usize,
    pub len: i64,
    /// Price of one in search units.
    pub price: i64,
    /// Price of one in millionths of the currency unit.
    pub micros: i64,
    /// How many, or [`UNLIMITED`].
    pub avail: u32,
}

/// The request, checked and scaled.
#[derive(Debug, Clone)]
pub(super) struct Model {
    /// Leg lengths, longest first.
    pub legs: Vec<i64>,
    /// Index into the request's legs, in the same order.
    pub order: Vec<usize>,
    /// Usable stock lengths, longest first.
    pub kinds: Vec<Kind>,
    pub kerf: i64,
    pub gap: i64,
    /// Shortest piece of a leg that has several; see [`Model::least_of`].
    pub least: i64,
    /// Most pieces in one leg.
    pub max_pieces: i64,
    pub joint: i64,
    pub cut: i64,
    /// Search units per millionth of the currency unit; dearer than all yard bonuses together.
    pub scale: i64,
}

impl Model {
    /// Checks the request and scales it; every fault at once.
    pub(super) fn build(p: &Problem) -> Result<Self, Vec<CuttingFault>> {
        let mut faults = Vec::new();
        check_names(p, &mut faults);
        check_lengths(p, &mut faults);
        check_amounts(p, &mut faults);
        if !faults.is_empty() {
            return Err(faults);
        }
        // a lapped piece must be longer than its lap, or it would cover nothing
        let least = p.least_piece.0.max(1 - p.gap.0.min(0));
        let longest_setting = p.longest_setting.map_or(i64::MAX, |l| l.0);
        let yard: u64 = p
            .stock
            .iter()
            .filter(|s| s.source == Source::Yard)
            .map(|s| u64::from(s.available.unwrap_or(1)).min(1_000))
            .sum();
        let scale = i64::try_from(yard.min(1_000)).unwrap_or(0) + 1;
        let unit = |micros: i64| micros.saturating_mul(scale);
        let each = |w: Work| unit(micros(w.cost(p.rate_per_hour)).unwrap_or(0));
        let mut kinds: Vec<Kind> = p
            .stock
            .iter()
            .enumerate()
            .filter(|(_, s)| s.length.0 >= least && s.length.0 <= longest_setting && s.available != Some(0))
            .map(|(stock, s)| {
                let micros = micros(s.price).unwrap_or(0);
                let full = unit(micros);
                // one search unit less makes the yard win a tie
                let bonus = i64::from(s.source == Source::Yard && full > 0);
                let avail = s.available.unwrap_or(UNLIMITED);
                Kind { stock, len: s.length.0, price: full - bonus, micros, avail }
            })
            .collect();
        kinds.sort_by(|a, b| b.len.cmp(&a.len).then(a.price.cmp(&b.price)).then(a.stock.cmp(&b.stock)));
        // behind an unlimited stock length, a dearer one of the same length is never needed
        kinds.dedup_by(|later, first| later.len == first.len && first.avail == UNLIMITED);
        let Some(longest) = kinds.iter().map(|k| k.len).max() else {
            return Err(vec![CuttingFault::NoStock]);
        };
        let mut order: Vec<usize> = (0..p.legs.len()).collect();
        order.sort_by_key(|&i| (std::cmp::Reverse(p.legs.get(i).map_or(0, |l| l.length.0)), i));
        let legs: Vec<i64> = order.iter().filter_map(|&i| p.legs.get(i)).map(|l| l.length.0).collect();
        let model = Self {
            legs,
            order,
            kinds,
            kerf: p.kerf.0,
            gap: p.gap.0,
            least,
            max_pieces: p.max_joints_per_leg.map_or(i64::MAX, |j| i64::from(j) + 1),
            joint: each(p.joint),
            cut: each(p.cut),
            scale,
        };
        model.check_possible(p, longest, &mut faults);
        if faults.is_empty() { Ok(model) } else { Err(faults) }
    }

    /// Cost of a plan by its counts: stock prices, pieces over legs, cuts.
    pub(super) fn cost(&self, prices: i64, legs: usize, pieces: usize, exact_stock: usize) -> i64 {
        prices
            + self.joint * len_i64(pieces.saturating_sub(legs))
            + self.cut * len_i64(pieces.saturating_sub(exact_stock))
    }

    /// Shortest piece of a leg: one that is shorter itself, where that may be, is one piece.
    pub(super) fn least_of(&self, leg: i64) -> i64 {
        self.least.min(leg)
    }

    /// The same request for some of the legs, with this stock left.
    pub(super) fn portion(&self, legs: &[usize], left: &[u32]) -> Self {
        let lengths = legs.iter().filter_map(|&l| self.legs.get(l).copied()).collect();
        let order = legs.iter().filter_map(|&l| self.order.get(l).copied()).collect();
        let kinds = self.kinds.iter().zip(left).map(|(k, &avail)| Kind { avail, ..k.clone() }).collect();
        Self { legs: lengths, order, kinds, ..self.clone() }
    }

    fn check_possible(&self, p: &Problem, longest: i64, faults: &mut Vec<CuttingFault>) {
        let name = |i: usize| p.legs.get(i).map(|l| l.id.to_string()).unwrap_or_default();
        let (mut pieces, mut fewest, mut most) = (0_i64, 0, 0);
        let mut before = None;
        for (&i, &len) in self.order.iter().zip(&self.legs) {
            if len < self.least && len >= p.least_piece.0 {
                let (leg, lap) = (name(i), Nm(self.gap.saturating_neg()));
                faults.push(CuttingFault::ShorterThanLap { leg, length: Nm(len), lap });
                continue;
            }
            let is_whole = p.short_legs_whole && self.gap.saturating_add(len) > 0;
            if len < self.least && !is_whole {
                let (leg, least) = (name(i), Nm(self.least));
                faults.push(CuttingFault::LeastPieceLongerThanLeg { leg, length: Nm(len), least });
                continue;
            }
            // legs of one length come one after the other
            if before != Some(len) {
                before = Some(len);
                fewest = div_up(len + self.gap, longest + self.gap);
                most = ((len + self.gap) / (self.least_of(len) + self.gap)).min(self.max_pieces);
            }
            pieces = pieces.saturating_add(fewest);
            if fewest > most {
                let fix = if self.max_pieces < fewest {
                    "allow more joints in a leg or offer a longer stock length"
                } else {
                    "allow a shorter least piece or offer a longer stock length"
                };
                let (leg, length, longest) = (name(i), Nm(len), Nm(longest));
                faults.push(CuttingFault::LegImpossible { leg, length, longest, fewest, most, fix });
            }
        }
        // the shortest stock decides how many pieces a plan can have
        let open = self.kinds.iter().filter(|k| k.avail == UNLIMITED).map(|k| k.len).min();
        let shortest = open.unwrap_or(longest) + self.gap;
        let worst = self.legs.chunk_by(|a, b| a == b).fold(1_000_i64, |n, alike| {
            let each = alike.first().map_or(0, |l| div_up(l + self.gap, shortest));
            n.saturating_add(each.saturating_mul(len_i64(alike.len())))
        });
        let dearest = self.kinds.iter().map(|k| k.price).max().unwrap_or(0);
        let each = i128::from(dearest) + i128::from(self.joint) + 2 * i128::from(self.cut);
        if pieces > MOST || each * i128::from(worst) > LARGEST_TOTAL {
            faults.push(CuttingFault::TooLarge { what: "pieces, or their cost" });
        }
        let need: i128 = self.legs.iter().map(|&l| i128::from(l)).sum();
        let have: i128 = self
            .kinds
            .iter()
            .map(|k| {
                if k.avail == UNLIMITED {
                    i128::from(i64::MAX)
                } else {
                    i128::from(k.len) * i128::from(k.avail)
                }
            })
            .sum();
        let pieces_gap = i128::from(self.gap.max(0)) * i128::from(pieces) * 4;
        if have < need - pieces_gap && faults.is_empty() {
            faults.push(CuttingFault::StockRunsOut { needed: nm(need), available: nm(have) });
        }
    }
}

/// `a / b` rounded up, for `b > 0`.
pub(super) fn div_up(a: i64, b: i64) -> i64 {
    a.div_euclid(b) + i64::from(a.rem_euclid(b) != 0)
}

/// A count as `i64`.
pub(super) fn len_i64(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

fn nm(v: i128) -> Nm {
    Nm(i64::try_from(v).unwrap_or(i64::MAX))
}

fn check_names(p: &Problem, faults: &mut Vec<CuttingFault>) {
    if p.legs.is_empty() {
        faults.push(CuttingFault::NoLegs);
    }
    if p.stock.is_empty() {
        faults.push(CuttingFault::NoStock);
    }
    if len_i64(p.legs.len()) > MOST || p.stock.len() > 1_000 {
        faults.push(CuttingFault::TooLarge { what: "legs or stock lengths" });
    }
    let legs = p.legs.iter().map(|l| l.id.as_str());
    each_repeated(legs, |id| faults.push(CuttingFault::Twice { kind: "leg", id: id.to_owned() }));
    let stock = p.stock.iter().map(|s| s.id.as_str());
    each_repeated(stock, |id| faults.push(CuttingFault::Twice { kind: "stock", id: id.to_owned() }));
}

/// Visits every name that has stood before.
fn each_repeated<'a>(names: impl ExactSizeIterator<Item = &'a str> + Clone, mut visit: impl FnMut(&str)) {
    // a few are compared with each other faster than they are looked up
    if names.len() <= 8 {
        let before = |place: usize, name: &str| names.clone().take(place).any(|other| other == name);
        for (_, name) in names.clone().enumerate().filter(|(place, name)| before(*place, name)) {
            visit(name);
        }
        return;
    }
    let mut seen = FxHashSet::with_capacity_and_hasher(names.len(), FxBuildHasher);
    names.filter(|name| !seen.insert(*name)).for_each(visit);
}

fn check_lengths(p: &Problem, faults: &mut Vec<CuttingFault>) {
    let mut check = |field: &dyn Fn() -> String, value: Nm, low: i64, rule: &'static str| {
        if value.0 < low || value.0 > LONGEST {
            faults.push(CuttingFault::Length { field: field(), value, rule });
        }
    };
    let positive = "more than 0 and at most 1000 km";
    let not_negative = "0 or more, at most 1000 km";
    for l in &p.legs {
        check(&|| format!("legs[{}].length", l.id), l.length, 1, positive);
    }
    let lap = p.gap.0.min(0).saturating_neg();
    for s in &p.stock {
        check(
            &|| format!("stock[{}].length", s.id),
            s.length,
            lap.saturating_add(1).max(1),
            "longer than the lap, at most 1000 km",
        );
    }
    check(&|| "kerf".into(), p.kerf, 0, not_negative);
    check(&|| "least_piece".into(), p.least_piece, 0, not_negative);
    check(&|| "gap".into(), p.gap, -LONGEST, "between -1000 km (a lap) and 1000 km");
    check(&|| "keep".into(), p.keep, 0, not_negative);
    if let Some(l) = p.longest_setting {
        check(&|| "longest_setting".into(), l, 1, positive);
    }
}

fn check_amounts(p: &Problem, faults: &mut Vec<CuttingFault>) {
    let mut check = |field: &dyn Fn() -> String, value: Decimal| {
        if !value.is_zero() && (value.is_sign_negative() || value > Decimal::from(DEAREST)) {
            let rule = "0 or more, at most 1 000 000 000";
            faults.push(CuttingFault::Amount { field: field(), value, rule });
        }
    };
    for s in &p.stock {
        check(&|| format!("stock[{}].price", s.id), s.price);
    }
    check(&|| "joint.parts".into(), p.joint.parts);
    check(&|| "joint.minutes".into(), p.joint.minutes);
    check(&|| "cut.parts".into(), p.cut.parts);
    check(&|| "cut.minutes".into(), p.cut.minutes);
    check(&|| "rate_per_hour".into(), p.rate_per_hour);
    check(&|| "offcut_value_per_metre".into(), p.offcut_value_per_metre);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_have_stood_before_are_found_among_few_and_many() {
        for all in [["a", "b", "a", "c", "b", "a"].to_vec(), ["d", "a", "b", "a", "c"].repeat(2)] {
            let mut found = Vec::new();
            each_repeated(all.iter().copied(), |name| found.push(name.to_owned()));
            let expected: Vec<&str> =
                (0..all.len()).filter(|&i| all[..i].contains(&all[i])).map(|i| all[i]).collect();
            assert_eq!(found, expected);
        }
    }
}
