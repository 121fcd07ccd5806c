//! The plain list: every leg on its own, from as few stock lengths as it takes, the last piece cut.
//!
//! What is left of a stock piece is not used again. The least piece is honoured by shortening the piece
//! before.

use super::component::{Cut, Group};
use super::fault::CuttingFault;
use super::model::{Model, UNLIMITED, len_i64};
use crate::compute::exact::Nm;
use smallvec::{SmallVec, smallvec};
use std::ops::Range;

/// Legs of one length that are made alike.
#[derive(Debug, Clone)]
pub(super) struct Alike {
    /// Model legs.
    pub legs: Range<usize>,
    /// How the first of them is made.
    pub group: Group,
}

/// The plain list within the stock on hand; `None` when limited stock does not reach this way.
pub(super) fn list(m: &Model) -> Option<Vec<Alike>> {
    let mut left: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
    let mut list = Vec::new();
    let mut i = 0;
    while let Some(&len) = m.legs.get(i) {
        let mut group = leg(m, len, &mut left)?;
        group.legs = vec![i];
        // made from stock without limit, the next of that length is made the same way
        let again = group.stock.iter().all(|&k| left.get(k) == Some(&UNLIMITED));
        let same = m.legs.iter().skip(i).take_while(|l| again && **l == len).count();
        let end = i + same.max(1);
        list.push(Alike { legs: i..end, group });
        i = end;
    }
    Some(list)
}

/// What a plain list costs in search units.
pub(super) fn cost(list: &[Alike]) -> i64 {
    list.iter().map(|a| a.group.cost * len_i64(a.legs.len())).sum()
}

/// A plain list leg by leg.
pub(super) fn groups(list: &[Alike]) -> Vec<Group> {
    let each = |a: &Alike| {
        let group = a.group.clone();
        a.legs.clone().map(move |leg| Group { legs: vec![leg], ..group.clone() })
    };
    list.iter().flat_map(each).collect()
}

/// One leg on its own; takes what it uses from `left`.
pub(super) fn leg(m: &Model, len: i64, left: &mut [u32]) -> Option<Group> {
    // what can be bought without limit is what a plain list is written from
    let (stock, lens) = pick(m, len, left, |n| n == UNLIMITED).or_else(|| pick(m, len, left, |n| n > 0))?;
    for &k in &stock {
        if let Some(n) = left.get_mut(k)
            && *n != UNLIMITED
        {
            *n = n.checked_sub(1)?;
        }
    }
    let cuts: Short<Cut> = lens.iter().enumerate().map(|(stock, &len)| Cut { leg: 0, stock, len }).collect();
    Some(Group::new(m, vec![0], &stock, &cuts))
}

/// A list of mostly a few: pieces of a leg, stock on offer.
type Short<T> = SmallVec<[T; 8]>;

/// Longest stock lengths first, the last piece from the cheapest that holds it.
fn pick(
    m: &Model,
    len: i64,
    left: &[u32],
    usable: impl Fn(u32) -> bool,
) -> Option<(Short<usize>, Short<i64>)> {
    // kinds are sorted longest first
    let mut have: Short<u32> = left.iter().map(|&n| if usable(n) { n } else { 0 }).collect();
    let (mut stock, mut lens): (Short<usize>, Short<i64>) = (smallvec![], smallvec![]);
    let mut open = len;
    loop {
        let kinds = m.kinds.iter().enumerate().zip(&have).filter(|(_, n)| **n > 0).map(|(kind, _)| kind);
        let last = kinds
            .clone()
            .filter(|(_, kind)| kind.len >= open.max(m.least))
            .map(|(k, kind)| (kind.price, kind.len, k))
            .min();
        if let Some((_, _, k)) = last {
            stock.push(k);
            lens.push(open);
            break;
        }
        let mut kinds = kinds;
        let (k, longest) = kinds.next()?;
        let full = longest.len;
        if let Some(n) = have.get_mut(k)
            && *n != UNLIMITED
        {
            *n -= 1;
        }
        stock.push(k);
        lens.push(full);
        open -= full + m.gap;
        if len_i64(stock.len()) >= m.max_pieces {
            return None;
        }
    }
    // lengthen the last piece to the least piece, at the cost of those before it
    let mut lack = m.least - lens.last().copied()?;
    if lack > 0 {
        *lens.last_mut()? = m.least;
        for l in lens.iter_mut().rev().skip(1) {
            let take = lack.min(*l - m.least);
            *l -= take;
            lack -= take;
        }
    }
    (lack <= 0).then_some((stock, lens))
}

/// The fault when no plan was found within the limited stock.
pub(super) fn runs_out(m: &Model) -> CuttingFault {
    let needed = m.legs.iter().fold(0_i64, |s, l| s.saturating_add(*l));
    let available =
        m.kinds.iter().fold(0_i64, |s, k| s.saturating_add(k.len.saturating_mul(i64::from(k.avail))));
    CuttingFault::StockRunsOut { needed: Nm(needed), available: Nm(available) }
}
