//! Without joints: every leg is one piece, and a start comes from putting each where it leaves least.

use super::chain::chain;
use super::component::Group;
use super::model::{Model, UNLIMITED};

/// Longest legs first, each into the open stock piece it fits best, else into a new one of the best rate that
/// holds it.
pub(super) fn best_fit(m: &Model) -> Option<Vec<Group>> {
    let mut left: Vec<u32> = m.kinds.iter().map(|k| k.avail).collect();
    // kind, length left with one kerf, legs
    let mut bars: Vec<(usize, i64, Vec<usize>)> = Vec::new();
    for (leg, &len) in m.legs.iter().enumerate() {
        let best = bars.iter_mut().filter(|b| b.1 >= len + m.kerf).min_by_key(|b| b.1);
        if let Some(bar) = best {
            bar.1 -= len + m.kerf;
            bar.2.push(leg);
            continue;
        }
        let kinds = m
            .kinds
            .iter()
            .enumerate()
            .filter(|(k, kind)| kind.len >= len && left.get(*k).is_some_and(|n| *n > 0));
        let (k, kind) = kinds.min_by(|a, b| {
            let (x, y) =
                (i128::from(a.1.price) * i128::from(b.1.len), i128::from(b.1.price) * i128::from(a.1.len));
            x.cmp(&y).then(b.1.len.cmp(&a.1.len))
        })?;
        if let Some(n) = left.get_mut(k).filter(|n| **n != UNLIMITED) {
            *n -= 1;
        }
        bars.push((k, kind.len - len, vec![leg]));
    }
    bars.into_iter()
        .map(|(kind, _, legs)| {
            let line: Vec<(usize, i64)> =
                legs.iter().enumerate().filter_map(|(i, &l)| m.legs.get(l).map(|&len| (i, len))).collect();
            Some(Group { legs, ..chain(m, &line, &[kind])? })
        })
        .collect()
}
