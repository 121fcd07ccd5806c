//! A chain of cuts: the legs one after the other from the stock pieces one after the other.
//!
//! Where a cut would leave a piece below the least, a piece before it is made shorter and the rest of its stock piece
//! is lost, either by as little as is needed or by all the length there is to spare.

use super::component::{Cut, Group};
use super::model::{Model, len_i64};

/// Most pieces made shorter in one chain.
const MOST_MENDS: i64 = 4;

/// Cuts the legs one after the other from the stock pieces one after the other; legs are named by `legs`' first part.
///
/// `None` when the stock does not reach, or a piece breaks the least piece or the joint limit.
pub(super) fn chain(m: &Model, legs: &[(usize, i64)], stock: &[usize]) -> Option<Group> {
    let mut links = Links::new(m, legs, stock, (0, i64::MAX), 0);
    links.go(links.start()?);
    links.best
}

/// The cheapest chain below `bar`, with pieces made shorter where that is needed. The second part counts the nodes.
pub(super) fn mended(
    m: &Model,
    legs: &[(usize, i64)],
    stock: &[usize],
    base: i64,
    bar: i64,
) -> (Option<Group>, usize) {
    // a piece made shorter leaves a stock piece that is not used up: one cut more, but for the last one
    let mends = if m.cut > 0 { (bar - base - 1) / m.cut + 1 } else { MOST_MENDS };
    let mut links = Links::new(m, legs, stock, (base, bar), mends.min(MOST_MENDS));
    if let Some(start) = links.start() {
        links.go(start);
    }
    (links.best, links.nodes)
}

/// Where a chain has come to.
#[derive(Debug, Clone, Copy)]
struct At {
    leg: usize,
    /// Of the leg, still to be covered; pieces it has.
    open: i64,
    pieces: i64,
    /// Of the stock piece at hand, still uncut; the next one.
    left: i64,
    next: usize,
    mends: i64,
}

struct Links<'a> {
    m: &'a Model,
    legs: &'a [(usize, i64)],
    stock: &'a [usize],
    mends: i64,
    base: i64,
    bar: i64,
    cuts: Vec<Cut>,
    best: Option<Group>,
    nodes: usize,
}

impl<'a> Links<'a> {
    fn new(
        m: &'a Model,
        legs: &'a [(usize, i64)],
        stock: &'a [usize],
        (base, bar): (i64, i64),
        mends: i64,
    ) -> Self {
        let cuts = Vec::with_capacity(legs.len() + stock.len());
        Self { m, legs, stock, mends, base, bar, cuts, best: None, nodes: 0 }
    }

    fn start(&self) -> Option<At> {
        let &(_, open) = self.legs.first()?;
        Some(At { leg: 0, open, pieces: 0, left: 0, next: 0, mends: 0 })
    }

    fn len(&self, at: usize) -> Option<i64> {
        self.stock.get(at).and_then(|&kind| self.m.kinds.get(kind)).map(|k| k.len)
    }

    fn go(&mut self, mut at: At) {
        let m = self.m;
        let kept = self.cuts.len();
        while self.bar > self.base {
            self.nodes += 1;
            let Some(&(leg, whole)) = self.legs.get(at.leg) else {
                self.keep();
                break;
            };
            let least = m.least_of(whole);
            if at.left < 1 {
                let Some(len) = self.len(at.next) else { break };
                (at.left, at.next) = (len, at.next + 1);
            }
            if at.pieces >= m.max_pieces {
                break;
            }
            let stock = at.next - 1;
            let x = at.left.min(at.open);
            let rest = at.open - x;
            if rest > 0 {
                if x < least {
                    break;
                }
                if rest - m.gap < least {
                    // what is left of the leg would be too short
                    let shorter = at.open - m.gap - least;
                    self.shorten(at, stock, shorter);
                    break;
                }
                self.cuts.push(Cut { leg, stock, len: x });
                at = At { open: rest - m.gap, pieces: at.pieces + 1, left: 0, ..at };
                continue;
            }
            if x < least {
                break;
            }
            let left = at.left - x - m.kerf;
            let next = self.legs.get(at.leg + 1).map(|l| l.1);
            if next.is_some_and(|next| (1..m.least_of(next)).contains(&left)) {
                // what is left of the stock piece would be too short for the next leg
                self.shorten(at, stock, at.open - m.gap - least);
                break;
            }
            self.cuts.push(Cut { leg, stock, len: x });
            let open = next.unwrap_or(0);
            at = At { leg: at.leg + 1, open, pieces: 0, left: left.max(0), ..at };
        }
        self.cuts.truncate(kept);
    }

    /// Goes on with a piece of at most `most` from the stock piece at hand, whose rest is lost.
    fn shorten(&mut self, at: At, stock: usize, most: i64) {
        let m = self.m;
        let Some(&(leg, whole)) = self.legs.get(at.leg) else { return };
        if at.mends >= self.mends {
            return;
        }
        let least_left = at.left - self.spare(at);
        let lens = if least_left < most { [Some(least_left), Some(most)] } else { [None, Some(most)] };
        for len in
            lens.into_iter().flatten().filter(|len| (m.least_of(whole).max(least_left)..=most).contains(len))
        {
            self.cuts.push(Cut { leg, stock, len });
            let open = at.open - len - m.gap;
            self.go(At { open, pieces: at.pieces + 1, left: 0, mends: at.mends + 1, ..at });
            self.cuts.pop();
        }
    }

    /// Length that the stock from here on has beyond what the legs from here on need.
    fn spare(&self, at: At) -> i64 {
        let m = self.m;
        let stock: i64 = (at.next..self.stock.len()).filter_map(|i| self.len(i)).sum();
        let after = self.legs.iter().skip(at.leg + 1);
        let legs = len_i64(after.len());
        let pieces = len_i64(self.stock.len() - at.next) + 1 + legs;
        let need: i64 = after.map(|l| l.1 + m.gap).sum::<i64>() + at.open + m.gap;
        (at.left + stock - m.kerf * legs + m.gap * pieces - need).max(0)
    }

    fn keep(&mut self) {
        let group = Group::new(self.m, (0..self.legs.len()).collect(), self.stock, &self.cuts);
        if group.cost < self.bar {
            self.bar = group.cost;
            self.best = Some(group);
        }
    }
}
