//! The plain list: every leg on its own, from as few stock lengths as it takes, the last piece cut.
//!
//! What is left of a stock piece is not used again. The least piece is honoured by shortening the piece
//! before.

use super::component::{Cut, Group};
use super::fault::CuttingFault;
use super::model::{Model, UNLIMITED, len_i64};
use crate::compute::exact::Nm;

/// The plain list within the stock on hand; `None` when limited stock does not reach this way.
pub(super) fn list(m: &Model) -> Option<Vec<Group>> {
    let mut left: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
    let mut groups = Vec::with_capacity(m.legs.len());
    for (i, &len) in m.legs.iter().enumerate() {
        let mut group = leg(m, len, &mut left)?;
        group.legs = vec![i];
        groups.push(group);
    }
    Some(groups)
}

/// One leg on its own; takes what it uses from `left`.
pub(super) fn leg(m: &Model, len: i64, left: &mut [u32]) -> Option<Group> {
    // what can be bought without limit is what a plain list is written from
    let open: Vec<usize> = (0..m.kinds.len()).filter(|&k| left.get(k) == Some(&UNLIMITED)).collect();
    let some: Vec<usize> = (0..m.kinds.len()).filter(|&k| left.get(k).is_some_and(|n| *n > 0)).collect();
    let (stock, lens) = pick(m, len, &open, left).or_else(|| pick(m, len, &some, left))?;
    for &k in &stock {
        if let Some(n) = left.get_mut(k)
            && *n != UNLIMITED
        {
            *n = n.checked_sub(1)?;
        }
    }
    let cuts: Vec<Cut> = lens.iter().enumerate().map(|(stock, &len)| Cut { leg: 0, stock, len }).collect();
    Some(Group::new(m, vec![0], &stock, &cuts))
}

/// Longest stock lengths first, the last piece from the cheapest that holds it.
fn pick(m: &Model, len: i64, kinds: &[usize], left: &[u32]) -> Option<(Vec<usize>, Vec<i64>)> {
    let mut have: Vec<u32> = left.to_vec();
    let (mut stock, mut lens) = (Vec::new(), Vec::new());
    let mut open = len;
    loop {
        let usable = |k: &&usize| have.get(**k).is_some_and(|n| *n > 0);
        let last = kinds
            .iter()
            .filter(usable)
            .filter_map(|&k| m.kinds.get(k).map(|kind| (kind.price, kind.len, k)))
            .filter(|(_, l, _)| *l >= open.max(m.least))
            .min();
        if let Some((_, _, k)) = last {
            stock.push(k);
            lens.push(open);
            break;
        }
        let longest = kinds
            .iter()
            .filter(usable)
            .max_by_key(|k| (m.kinds.get(**k).map(|k| k.len), std::cmp::Reverse(**k)));
        let k = *longest?;
        let full = m.kinds.get(k)?.len;
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
