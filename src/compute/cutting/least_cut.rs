//! How many pieces of each leg cannot be whole stock pieces, and what that makes a group cost at least.
//!
//! A group of `a` legs from `b` stock pieces has `b + a - 1 + x` pieces. Of the stock pieces that are cut, those used up
//! give two pieces or more, the `e` others one or more; so the pieces that are cut number at most `2 (a - 1 + x) + e`.
//! Where the legs need more, `x` or `e` must rise: joints and cuts more than the plain chain has. Where the stock is
//! longer than the legs with their cuts, `e` is at least one.

use super::model::{Model, len_i64};

/// Most ways looked at for one leg.
const MOST_WAYS: u32 = 4_000;

/// The least cost of a connected group of these legs from exactly these stock counts.
pub(super) fn bound(m: &Model, legs: &[i64], counts: &[u32]) -> i64 {
    let mut need = 0_usize;
    let mut known: Option<(i64, usize)> = None;
    let units = units(m, counts);
    for &leg in legs {
        let least = match known {
            Some((same, least)) if same == leg => least,
            _ => Leg::new(m, leg, &units).least_cut(),
        };
        known = Some((leg, least));
        need += least;
    }
    let stock: usize = counts.iter().map(|n| *n as usize).sum();
    let prices: i64 = m.kinds.iter().zip(counts).map(|(k, &n)| k.price.saturating_mul(i64::from(n))).sum();
    let joins = legs.len().max(1) - 1;
    let chain = stock + joins;
    let lack = need.saturating_sub(2 * joins);
    // what is over when every stock piece is used up; where anything is, one is not
    let lengths: i64 =
        m.kinds.iter().zip(counts).map(|(k, &n)| (k.len + m.gap).saturating_mul(i64::from(n))).sum();
    let over = lengths - legs.iter().map(|leg| leg + m.gap).sum::<i64>();
    (0..=lack.div_ceil(2))
        .map(|more| {
            let over = over + (m.gap - m.kerf) * len_i64(joins + more);
            let unused = lack.saturating_sub(2 * more).max(usize::from(over > 0));
            m.cost(prices, legs.len(), chain + more, stock.saturating_sub(unused))
        })
        .min()
        .unwrap_or(0)
}

/// Length with one gap of each kind in use, longest first; how many there are.
fn units(m: &Model, counts: &[u32]) -> Vec<(i64, i64)> {
    let used = m.kinds.iter().zip(counts).filter(|(_, n)| **n > 0);
    used.map(|(k, &n)| (k.len + m.gap, i64::from(n))).collect()
}

/// One leg against the stock pieces that may go whole into it.
struct Leg<'a> {
    m: &'a Model,
    units: &'a [(i64, i64)],
    goal: i64,
    /// Shortest piece.
    shortest: i64,
    /// Longest piece that is not a whole stock piece.
    longest: i64,
    ways: u32,
    least: usize,
}

impl<'a> Leg<'a> {
    fn new(m: &'a Model, leg: i64, units: &'a [(i64, i64)]) -> Self {
        let longest = units.first().map_or(0, |u| u.0 - m.gap - 1);
        Self { m, units, goal: leg + m.gap, shortest: m.least_of(leg), longest, ways: 0, least: 2 }
    }

    /// Pieces that must be cut: 0, 1, or 2 for two or more.
    fn least_cut(mut self) -> usize {
        self.walk(0, self.goal);
        // not all ways looked at: nothing is known
        if self.ways > MOST_WAYS { 0 } else { self.least }
    }

    fn walk(&mut self, at: usize, open: i64) {
        self.ways += 1;
        if self.ways > MOST_WAYS || self.least == 0 {
            return;
        }
        let Some(&(unit, count)) = self.units.get(at) else {
            if open == 0 {
                self.least = 0;
            } else if (self.shortest..=self.longest).contains(&(open - self.m.gap)) {
                self.least = self.least.min(1);
            }
            return;
        };
        let most = open.div_euclid(unit).min(count);
        let last = at + 1 == self.units.len();
        // fewer whole pieces of the last kind than nearly all leave too much for one cut piece
        let fewest = if last { most - 2 } else { 0 };
        for n in fewest.max(0)..=most {
            self.walk(at + 1, open - n * unit);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compute::cutting::problem::{Leg as Wanted, Problem, Stock, Work};
    use crate::compute::exact::Nm;
    use rust_decimal::Decimal;

    fn model(leg_mm: i64, least_mm: i64) -> Option<Model> {
        let cost = |parts: i64| Work { parts: Decimal::from(parts), minutes: Decimal::ZERO };
        Model::build(&Problem {
            legs: vec![Wanted::new("a", Nm::mm(leg_mm)), Wanted::new("b", Nm::mm(leg_mm))],
            stock: vec![Stock::bought("metre", Nm::mm(1_000), Decimal::from(60))],
            least_piece: Nm::mm(least_mm),
            joint: cost(3),
            cut: cost(1),
            ..Problem::default()
        })
        .ok()
    }

    #[test]
    fn a_rest_below_the_least_piece_needs_two_cut_pieces() {
        let cut = |leg| model(leg, 100).map(|m| Leg::new(&m, leg * 1_000_000, &units(&m, &[9])).least_cut());
        assert_eq!(cut(3_000), Some(0));
        assert_eq!(cut(3_100), Some(1));
        assert_eq!(cut(3_050), Some(2));
        assert_eq!(cut(950), Some(1));
    }

    #[test]
    fn two_such_legs_leave_two_stock_pieces_not_used_up() {
        let [a, b] = [3_050_000_000; 2];
        // 7 lengths at 60, 6 joints at 3, and of the 8 pieces 5 are used up or whole: 3 cuts at 1
        let micro = 1_000_000;
        let least = model(3_050, 100).map(|m| bound(&m, &[a, b], &[7]));
        assert_eq!(least, Some((7 * 60 + 6 * 3 + 3) * micro));
    }
}
