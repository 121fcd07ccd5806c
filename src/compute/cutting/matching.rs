//! A bound for many legs from pairs of legs.
//!
//! Every plan is a partition into groups. Charge each leg of a group its share: a leg alone pays its own
//! cost, two legs pay what they cost together, and a leg in a larger group pays at least the rate less a
//! third of what one more group saves. The least total of such charges is an assignment problem, and half its
//! value bounds every plan.

use super::component::Budget;
use super::menu::Menu;
use super::model::Model;

/// Most legs that are paired.
const MOST: usize = 400;

/// The least assignment of rows to columns of a square cost matrix: the column of each row, and the total.
///
/// Shortest augmenting paths with potentials (the Hungarian method), `O(n^3)`.
pub(super) fn assign(cost: &[Vec<i64>]) -> Option<Assignment> {
    let n = cost.len();
    let (mut row_dual, mut col_dual) = (vec![0_i64; n + 1], vec![0_i64; n + 1]);
    let mut row_of = vec![0_usize; n + 1];
    for row in 1..=n {
        *row_of.first_mut()? = row;
        let (mut least, mut from, mut done) =
            (vec![i64::MAX; n + 1], vec![0_usize; n + 1], vec![false; n + 1]);
        let mut col = 0;
        loop {
            *done.get_mut(col)? = true;
            let r = *row_of.get(col)?;
            let line = cost.get(r.checked_sub(1)?)?;
            let base = *row_dual.get(r)?;
            let (mut step, mut next) = (i64::MAX, 0);
            for j in 1..=n {
                if *done.get(j)? {
                    continue;
                }
                let reduced = line.get(j - 1)? - base - col_dual.get(j)?;
                if reduced < *least.get(j)? {
                    *least.get_mut(j)? = reduced;
                    *from.get_mut(j)? = col;
                }
                if *least.get(j)? < step {
                    step = *least.get(j)?;
                    next = j;
                }
            }
            for j in 0..=n {
                if *done.get(j)? {
                    *row_dual.get_mut(*row_of.get(j)?)? += step;
                    *col_dual.get_mut(j)? -= step;
                } else {
                    *least.get_mut(j)? -= step;
                }
            }
            col = next;
            if *row_of.get(col)? == 0 {
                break;
            }
        }
        while col != 0 {
            let before = *from.get(col)?;
            *row_of.get_mut(col)? = *row_of.get(before)?;
            col = before;
        }
    }
    let mut column = vec![0; n];
    for (j, &r) in row_of.iter().enumerate().skip(1) {
        *column.get_mut(r.checked_sub(1)?)? = j - 1;
    }
    let share = (1..=n).filter_map(|i| Some(row_dual.get(i)? + col_dual.get(i)?)).collect();
    let total = column.iter().zip(cost).filter_map(|(&j, line)| line.get(j)).sum();
    Some(Assignment { column, share, total })
}

/// The answer of [`assign`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Assignment {
    pub column: Vec<usize>,
    /// Row plus column potential of each index: twice the charge of that leg.
    pub share: Vec<i64>,
    pub total: i64,
}

/// The assignment behind the bound from pairs.
pub(super) fn pairs(m: &Model, menu: &Menu, budget: &mut Budget) -> Option<Assignment> {
    let n = m.legs.len();
    if n > MOST || !budget.take(n * n) {
        return None;
    }
    let (rate_cost, rate_len) = menu.rate();
    let (rate_cost, rate_len) = (i128::from(rate_cost), i128::from(rate_len));
    let saved =
        (rate_cost * i128::from(m.kerf - m.gap)).div_euclid(rate_len) + 1 + i128::from(m.joint + m.cut);
    let alone: Vec<i64> = m.legs.iter().map(|&l| menu.least_cost(1, l, 0)).collect();
    let cost: Vec<Vec<i64>> = m
        .legs
        .iter()
        .zip(&alone)
        .enumerate()
        .map(|(i, (&a, &own))| {
            let by_rate = (rate_cost * i128::from(a + m.kerf)).div_euclid(rate_len) + i128::from(m.cut);
            let grouped = (2 * by_rate - (2 * saved).div_euclid(3) - 1).max(0);
            let pair = |(j, (&b, &other)): (usize, (&i64, &i64))| {
                if i == j {
                    (2 * own).min(i64::try_from(grouped).unwrap_or(2 * own))
                } else {
                    menu.least_cost(2, a + b, 0).min(own + other)
                }
            };
            m.legs.iter().zip(&alone).enumerate().map(pair).collect()
        })
        .collect();
    assign(&cost)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn least_of_a_small_matrix_by_hand() {
        // 1 + 2 + 2 on the columns 1, 0, 2; every other choice is dearer
        let found = assign(&[vec![4, 1, 3], vec![2, 0, 5], vec![3, 2, 2]]);
        assert_eq!(found.map(|a| (a.column, a.total)), Some((vec![1, 0, 2], 5)));
    }
}
