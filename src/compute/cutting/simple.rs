//! The plain list: every leg on its own, from as few stock lengths as it takes, the last piece cut.
//!
//! What is left of a stock piece is not used again. The least piece is honoured by shortening the piece
//! before.

use super::component::{Cut, Group};
use super::fault::CuttingFault;
use super::model::{Model, UNLIMITED, div_up, len_i64};
use crate::compute::exact::Nm;
use smallvec::SmallVec;
use std::ops::Range;

/// Legs of one length that are made alike.
#[derive(Debug, Clone)]
pub(super) struct Alike {
    /// Model legs.
    pub legs: Range<usize>,
    /// How each of them is made.
    pub alone: Alone,
}

/// A leg on its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Alone {
    /// Its pieces from start to end.
    pub pieces: Several,
    /// Cost in search units.
    pub cost: i64,
}

/// Pieces of one length, each from a stock piece of its own of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Pieces {
    pub kind: usize,
    pub len: i64,
    pub count: usize,
}

/// Mostly whole stock lengths and one piece that is cut.
type Several = SmallVec<[Pieces; 3]>;

impl Alone {
    fn new(m: &Model, pieces: Several) -> Self {
        let (mut prices, mut number, mut exact) = (0, 0, 0);
        for p in &pieces {
            let Some(k) = m.kinds.get(p.kind) else { continue };
            prices += k.price * len_i64(p.count);
            number += p.count;
            exact += if p.len == k.len { p.count } else { 0 };
        }
        Self { cost: m.cost(prices, 1, number, exact), pieces }
    }

    /// Its pieces one by one.
    pub(super) fn group(&self, legs: Vec<usize>) -> Group {
        let number = self.pieces.iter().map(|p| p.count).sum();
        let (mut stock, mut cuts) = (Vec::with_capacity(number), Vec::with_capacity(number));
        for p in &self.pieces {
            for _ in 0..p.count {
                cuts.push(Cut { leg: 0, stock: stock.len(), len: p.len });
                stock.push(p.kind);
            }
        }
        Group { legs, stock, cuts, cost: self.cost }
    }
}

/// The plain list within the stock on hand; `None` when limited stock does not reach this way.
pub(super) fn list(m: &Model) -> Option<Vec<Alike>> {
    let mut left: SmallVec<[u32; 8]> = m.kinds.iter().map(|k| k.avail).collect();
    let mut list = Vec::new();
    let mut i = 0;
    while let Some(&len) = m.legs.get(i) {
        let alone = leg(m, len, &mut left)?;
        // made from stock without limit, the next of that length is made the same way
        let again = alone.pieces.iter().all(|p| left.get(p.kind) == Some(&UNLIMITED));
        let same = m.legs.iter().skip(i).take_while(|l| again && **l == len).count();
        let end = i + same.max(1);
        list.push(Alike { legs: i..end, alone });
        i = end;
    }
    Some(list)
}

/// What a plain list costs in search units.
pub(super) fn cost(list: &[Alike]) -> i64 {
    list.iter().map(|a| a.alone.cost * len_i64(a.legs.len())).sum()
}

/// A plain list leg by leg.
pub(super) fn groups(list: &[Alike]) -> Vec<Group> {
    list.iter().flat_map(|a| a.legs.clone().map(|leg| a.alone.group(vec![leg]))).collect()
}

/// One leg on its own from what can be bought without limit.
pub(super) fn from_open_stock(m: &Model, len: i64, left: &[u32]) -> Option<Alone> {
    pick(m, len, left, |n| n == UNLIMITED).map(|pieces| Alone::new(m, pieces))
}

/// One leg on its own; takes what it uses from `left`.
pub(super) fn leg(m: &Model, len: i64, left: &mut [u32]) -> Option<Alone> {
    // what can be bought without limit is what a plain list is written from
    let pieces = pick(m, len, left, |n| n == UNLIMITED).or_else(|| pick(m, len, left, |n| n > 0))?;
    for p in &pieces {
        if let Some(n) = left.get_mut(p.kind).filter(|n| **n != UNLIMITED) {
            *n = n.checked_sub(u32::try_from(p.count).ok()?)?;
        }
    }
    Some(Alone::new(m, pieces))
}

/// Longest stock lengths first, the last piece from the cheapest that holds it.
fn pick(m: &Model, len: i64, left: &[u32], usable: impl Fn(u32) -> bool) -> Option<Several> {
    // kinds are sorted longest first
    let kinds = m.kinds.iter().zip(left).enumerate().filter(|(_, (_, n))| usable(**n));
    let mut pieces = Several::new();
    let (mut open, mut number) = (len, 0);
    let mut at_hand = kinds.clone();
    let from = loop {
        let (kind, (k, &have)) = at_hand.next()?;
        // whole ones as long as what is open is longer
        let wanted = div_up((open - k.len).max(0), k.len + m.gap);
        let taken = if have == UNLIMITED { wanted } else { wanted.min(i64::from(have)) };
        if taken > 0 {
            pieces.push(Pieces { kind, len: k.len, count: usize::try_from(taken).ok()? });
            open -= (k.len + m.gap) * taken;
            number += taken;
            if number >= m.max_pieces {
                return None;
            }
        }
        if have == UNLIMITED || taken < i64::from(have) {
            break kind;
        }
    };
    let least = m.least_of(len);
    let holds = kinds.filter(|(kind, (k, _))| *kind >= from && k.len >= open.max(least));
    let (.., kind) = holds.map(|(kind, (k, _))| (k.price, k.len, kind)).min()?;
    let whole = m.kinds.get(kind).is_some_and(|k| k.len == open);
    match pieces.last_mut().filter(|p| whole && p.kind == kind) {
        Some(alike) => alike.count += 1,
        None => pieces.push(Pieces { kind, len: open, count: 1 }),
    }
    if open < least { lengthened(least, &pieces) } else { Some(pieces) }
}

/// The last piece lengthened to the least piece, at the cost of those before it.
fn lengthened(least: i64, pieces: &[Pieces]) -> Option<Several> {
    let (last, before) = pieces.split_last()?;
    let mut lack = least - last.len;
    let mut turned: Several = [Pieces { len: least, ..*last }].into_iter().collect();
    for p in before.iter().rev() {
        let spare = p.len - least;
        // so many give all they can, one more gives the rest
        let all = if spare > 0 { usize::try_from(lack / spare).ok()?.min(p.count) } else { 0 };
        lack -= spare * len_i64(all);
        let shorter = usize::from(lack > 0 && spare > 0 && all < p.count);
        let parts = [(least, all), (p.len - lack, shorter), (p.len, p.count - all - shorter)];
        turned.extend(parts.into_iter().filter(|x| x.1 > 0).map(|(len, count)| Pieces { len, count, ..*p }));
        lack -= if shorter > 0 { lack } else { 0 };
    }
    turned.reverse();
    (lack <= 0).then_some(turned)
}

/// The fault when no plan was found within the limited stock.
pub(super) fn runs_out(m: &Model) -> CuttingFault {
    let needed = m.legs.iter().fold(0_i64, |s, l| s.saturating_add(*l));
    let available =
        m.kinds.iter().fold(0_i64, |s, k| s.saturating_add(k.len.saturating_mul(i64::from(k.avail))));
    CuttingFault::StockRunsOut { needed: Nm(needed), available: Nm(available) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compute::cutting::draw::draw;
    use crate::compute::cutting::many::{Found, Way};
    use crate::compute::cutting::problem::{Leg, Problem, Stock, Work};
    use proptest::prelude::*;
    use rust_decimal::Decimal;

    /// The stock pieces and lengths of a leg one by one: the longest as long as none on hand holds what is open, then the
    /// cheapest that does; what the last lacks of the least piece is taken from those before it.
    fn one_by_one(m: &Model, len: i64, left: &[u32]) -> Option<(Vec<usize>, Vec<i64>)> {
        let mut have = left.to_vec();
        let (mut stock, mut lens, mut open) = (vec![], vec![], len);
        let least = m.least_of(len);
        loop {
            let on_hand = m.kinds.iter().enumerate().filter(|(k, _)| have[*k] > 0);
            let holds = on_hand.clone().filter(|(_, kind)| kind.len >= open.max(least));
            if let Some((_, _, k)) = holds.map(|(k, kind)| (kind.price, kind.len, k)).min() {
                stock.push(k);
                lens.push(open);
                break;
            }
            let (k, longest) = on_hand.clone().next()?;
            stock.push(k);
            lens.push(longest.len);
            open -= longest.len + m.gap;
            have[k] -= u32::from(have[k] != UNLIMITED);
            if len_i64(stock.len()) >= m.max_pieces {
                return None;
            }
        }
        let mut lack = (least - open).max(0);
        *lens.last_mut()? += lack;
        for l in lens.iter_mut().rev().skip(1) {
            let taken = lack.min(*l - least);
            *l -= taken;
            lack -= taken;
        }
        (lack == 0).then_some((stock, lens))
    }

    fn problem() -> impl Strategy<Value = Problem> {
        let legs = proptest::collection::vec(1_i64..2_000, 1..6);
        let stock = proptest::collection::vec((20_i64..400, 0_i64..90, proptest::option::of(0_u32..5)), 1..5);
        let joints = proptest::option::of(0_u32..9);
        (legs, stock, 0_i64..130, -15_i64..15, joints).prop_map(|(legs, stock, least, gap, joints)| {
            let cost = |parts: i64| Work { parts: Decimal::from(parts), minutes: Decimal::ZERO };
            let offered = |(i, &(len, price, available)): (usize, &(i64, i64, Option<u32>))| Stock {
                available,
                ..Stock::bought(i.to_string(), Nm(len), Decimal::from(price))
            };
            // every other length twice
            let twice = legs.iter().enumerate().flat_map(|(i, &l)| std::iter::repeat_n(l, 1 + i % 2));
            Problem {
                legs: twice.enumerate().map(|(i, l)| Leg::new(i.to_string(), Nm(l))).collect(),
                stock: stock.iter().enumerate().map(offered).collect(),
                kerf: Nm(2),
                least_piece: Nm(least),
                short_legs_whole: least % 2 == 0,
                gap: Nm(gap),
                max_joints_per_leg: joints,
                joint: cost(3),
                cut: cost(1),
                ..Problem::default()
            }
        })
    }

    proptest! {
        #[test]
        fn a_plain_list_is_drawn_as_its_groups_are(problem in problem()) {
            let Ok(m) = Model::build(&problem) else { return Ok(()) };
            let Some(list) = list(&m) else { return Ok(()) };
            let [by_length, one_by_one] = [Way::Plain(&list), Way::Groups(groups(&list))]
                .map(|way| draw(&problem, &m, Some(&list), &Found { way, bound: 7, nodes: 1 }));
            prop_assert_eq!(by_length, one_by_one);
        }

        #[test]
        fn pieces_by_length_are_the_pieces_one_by_one(problem in problem()) {
            let Ok(m) = Model::build(&problem) else { return Ok(()) };
            let mut left: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
            for &len in &m.legs {
                let open: Vec<u32> = left.iter().map(|&n| if n == UNLIMITED { n } else { 0 }).collect();
                let expected = one_by_one(&m, len, &open).or_else(|| one_by_one(&m, len, &left));
                let before = left.clone();
                let found = leg(&m, len, &mut left);
                prop_assert_eq!(found.is_some(), expected.is_some());
                let Some(((kinds, lens), found)) = expected.zip(found) else { break };
                let group = found.group(vec![0]);
                let each: Vec<Cut> =
                    lens.iter().enumerate().map(|(stock, &len)| Cut { leg: 0, stock, len }).collect();
                prop_assert_eq!(&group, &Group::new(&m, vec![0], &kinds, &each));
                for (k, (was, is)) in before.iter().zip(&left).enumerate() {
                    let used = kinds.iter().filter(|kind| **kind == k).count();
                    let used = if *was == UNLIMITED { 0 } else { u32::try_from(used).unwrap_or(u32::MAX) };
                    prop_assert_eq!(was - used, *is);
                }
            }
        }
    }
}
