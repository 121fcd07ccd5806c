//! The linear programme over groups: every leg in one group, for the least cost, groups taken in parts.
//!
//! A revised simplex with a dense inverse; the start basis is every leg on its own. Its prices only steer:
//! whatever they are, a bound is taken from them by an exact check elsewhere, so nothing depends on their
//! last digits.

/// Smallest pivot that is trusted.
const PIVOT: f64 = 1e-7;

/// A group of legs with its cost.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    pub legs: Vec<usize>,
    pub cost: f64,
}

/// The programme at its current basis.
#[derive(Debug, Clone)]
pub(super) struct Master {
    /// Rows of the inverse of the basis.
    inverse: Vec<Vec<f64>>,
    /// How much of each basic column is taken.
    amount: Vec<f64>,
    /// Price of each leg.
    pub price: Vec<f64>,
    basis: Vec<Option<Column>>,
}

impl Master {
    /// Every leg on its own at these costs.
    pub(super) fn new(alone: &[f64]) -> Self {
        let n = alone.len();
        let unit = |i: usize| (0..n).map(|j| if i == j { 1.0 } else { 0.0 }).collect();
        Self {
            inverse: (0..n).map(unit).collect(),
            amount: vec![1.0; n],
            price: alone.to_vec(),
            basis: vec![None; n],
        }
    }

    /// Cost of a column less the prices of its legs.
    pub(super) fn reduced(&self, c: &Column) -> f64 {
        c.cost - c.legs.iter().filter_map(|&l| self.price.get(l)).sum::<f64>()
    }

    /// Brings a column into the basis; `false` when that is not possible.
    pub(super) fn enter(&mut self, column: &Column) -> bool {
        let reduced = self.reduced(column);
        let direction: Vec<f64> =
            self.inverse.iter().map(|row| column.legs.iter().filter_map(|&l| row.get(l)).sum()).collect();
        // smallest ratio, the largest pivot among near ties
        let mut leave: Option<(usize, f64, f64)> = None;
        for (i, (&d, &x)) in direction.iter().zip(&self.amount).enumerate() {
            if d <= PIVOT {
                continue;
            }
            let ratio = x.max(0.0) / d;
            let better = leave.is_none_or(|(_, r, p)| ratio < r - 1e-9 || (ratio < r + 1e-9 && d > p));
            if better {
                leave = Some((i, ratio, d));
            }
        }
        let Some((out, step, pivot)) = leave else {
            return false;
        };
        let Some(row) = self.inverse.get(out).cloned() else {
            return false;
        };
        for (p, r) in self.price.iter_mut().zip(&row) {
            *p += reduced / pivot * r;
        }
        for (i, (line, &d)) in self.inverse.iter_mut().zip(&direction).enumerate() {
            if i == out {
                line.iter_mut().for_each(|v| *v /= pivot);
            } else if d != 0.0 {
                let f = d / pivot;
                line.iter_mut().zip(&row).for_each(|(v, r)| *v -= f * r);
            }
        }
        for (i, (x, &d)) in self.amount.iter_mut().zip(&direction).enumerate() {
            *x = if i == out { step } else { *x - step * d };
        }
        if let Some(b) = self.basis.get_mut(out) {
            *b = Some(column.clone());
        }
        true
    }

    /// Groups of the basis with the part taken of each, largest part first.
    pub(super) fn taken(&self) -> Vec<(f64, &Column)> {
        let mut taken: Vec<(f64, &Column)> =
            self.amount.iter().zip(&self.basis).filter_map(|(&x, c)| c.as_ref().map(|c| (x, c))).collect();
        taken.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.legs.cmp(&b.1.legs)));
        taken
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_legs_that_pair_up_any_way_cost_one_and_a_half_pairs() {
        let mut m = Master::new(&[10.0, 10.0, 10.0]);
        let pairs = [[0, 1], [1, 2], [0, 2]].map(|p| Column { legs: p.to_vec(), cost: 12.0 });
        while let Some(c) = pairs.iter().find(|c| m.reduced(c) < -1e-9) {
            assert!(m.enter(c));
        }
        assert!((m.price.iter().sum::<f64>() - 18.0).abs() < 1e-9);
    }
}
