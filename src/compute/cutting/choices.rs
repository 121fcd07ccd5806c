//! Every choice of stock for one group of legs that could still be worth it, cheapest first.

use super::component::{Budget, NEVER, Terms};
use super::model::{Model, UNLIMITED, div_up, len_i64};

/// Most stock choices looked at for one group.
const MOST_CHOICES: usize = 3_000;

/// Every choice of stock whose group cost could be below `bar`, cheapest first, and whether the list is
/// complete.
pub(super) fn choices(
    t: &Terms,
    legs: usize,
    sum: i64,
    fixed: &[u32],
    bar: i64,
    budget: &mut Budget,
) -> (Vec<(i64, Vec<u32>)>, bool) {
    let open: Vec<usize> = (0..t.m.kinds.len()).filter(|&k| t.limits.get(k) == Some(&UNLIMITED)).collect();
    let mut list = Lister {
        m: t.m,
        legs: len_i64(legs),
        need: t.menu.need(legs, sum),
        bar,
        rates: suffix_rates(t.m, &open),
        open,
        counts: fixed.to_vec(),
        found: Vec::new(),
        complete: true,
    };
    let (covered, paid, pieces) = t.fixed(fixed);
    list.walk(0, covered, paid, pieces, budget);
    let mut found = list.found;
    found.sort();
    (found, list.complete)
}

/// Best cost per length among the open kinds from each on.
fn suffix_rates(m: &Model, open: &[usize]) -> Vec<(i64, i64)> {
    let none = if m.gap > m.kerf { (m.joint + m.cut, m.gap - m.kerf) } else { (NEVER, 1) };
    let mut rates = vec![none; open.len() + 1];
    for (i, k) in open.iter().enumerate().rev().filter_map(|(i, &k)| m.kinds.get(k).map(|k| (i, k))) {
        let (cost, len) = (k.price + m.joint, k.len + m.gap);
        let (c, l) = rates.get(i + 1).copied().unwrap_or(none);
        if let Some(r) = rates.get_mut(i) {
            *r = if i128::from(cost) * i128::from(l) < i128::from(c) * i128::from(len) {
                (cost, len)
            } else {
                (c, l)
            };
        }
    }
    rates
}

struct Lister<'a> {
    m: &'a Model,
    legs: i64,
    need: i64,
    bar: i64,
    rates: Vec<(i64, i64)>,
    /// Kinds that may be chosen.
    open: Vec<usize>,
    counts: Vec<u32>,
    found: Vec<(i64, Vec<u32>)>,
    complete: bool,
}

impl Lister<'_> {
    fn walk(&mut self, at: usize, covers: i64, cost: i64, pieces: i64, budget: &mut Budget) {
        let m = self.m;
        if !budget.take(1) || self.found.len() >= MOST_CHOICES {
            self.complete = false;
            return;
        }
        let fixed = m.cut * (self.legs - 1) - m.joint;
        let open = (self.need - covers).max(0);
        let (rate_cost, rate_len) = self.rates.get(at).copied().unwrap_or((NEVER, 1));
        let rest = i128::from(open) * i128::from(rate_cost) / i128::from(rate_len.max(1));
        if i128::from(cost) + i128::from(fixed) + rest >= i128::from(self.bar) {
            return;
        }
        let next = self.open.get(at).and_then(|&kind| m.kinds.get(kind).map(|k| (kind, k)));
        let Some((kind, k)) = next else {
            self.note(covers, cost, pieces, fixed);
            return;
        };
        let (len, each) = (k.len + m.gap, k.price + m.joint);
        let mut n = 0_u32;
        loop {
            let times = i64::from(n);
            let total = cost + each * times;
            // every stock piece gives at least one piece
            let room = self.legs.saturating_mul(m.max_pieces.min(NEVER));
            if total + fixed >= self.bar || pieces + times > room || !self.complete && n > 0 {
                break;
            }
            if each == 0 && covers + len * times > self.need + len * 2 {
                self.complete = false;
                break;
            }
            if let Some(c) = self.counts.get_mut(kind) {
                *c = n;
            }
            self.walk(at + 1, covers + len * times, total, pieces + times, budget);
            n += 1;
        }
        if let Some(c) = self.counts.get_mut(kind) {
            *c = 0;
        }
    }

    fn note(&mut self, covers: i64, cost: i64, pieces: i64, fixed: i64) {
        let m = self.m;
        let short = self.need - covers;
        let mut base = cost + fixed;
        let mut exact = short == 0;
        if short > 0 {
            let gain = m.gap - m.kerf;
            let most = (self.legs - 1) * (pieces - 1);
            let extra = if gain > 0 { div_up(short, gain) } else { i64::MAX };
            if extra > most {
                return;
            }
            base += extra * (m.joint + m.cut);
            exact = extra * gain == short;
        }
        // not used up to the last length: one cut more
        base += if exact { 0 } else { m.cut };
        if pieces > 0 && base < self.bar {
            self.found.push((base, self.counts.clone()));
        }
    }
}
