//! The flows of spans that are tied together, searched all at once.
//!
//! Newton's method on the excess of the depth at every divide. A span's excess depends on its own flow and on those of the
//! spans beside it, so that the matrix has three diagonals; the slopes are taken once, over small changes, and then kept
//! right by what every step shows of them (Broyden's update, row by row as L. K. Schubert has it, Mathematics of
//! Computation 24 (1970), 27-30, from memory). It comes near by coarse marches and ends with a few fine ones.
//!
//! Where it does not close in (a sudden change, an outlet that gives water, a dry ridge) nothing is lost: the searches of
//! [`super::divides`] enclose the flow span by span.

use super::divides::SAME_FLOW;
use super::solve::Solver;
use super::terms::Follow;
use crate::compute::water::section::Prismatic;
use std::ops::Range;

/// Share of all inflow over which slopes are taken.
const SLOPE_STEP: f64 = 2e-3;
/// Last step of the coarse search, as a share of all inflow: it leaves less than its marches are off.
const COARSE_STEP: f64 = 1e-4;
/// Last step of the fine one, which is not looked at again: what the slopes are off, times that, is left.
const FINE_STEP: f64 = 1e-7;
/// Greatest excess from which these steps are taken, as a share of the depth; and one that is none.
const COARSE_MISMATCH: f64 = 3e-3;
const FINE_MISMATCH: f64 = 1e-6;
const SAME_DEPTH: f64 = 1e-8;
/// A shorter step shows more of rounding than of the slope.
const TELLING_STEP: f64 = 1e-6;
/// Share of all inflow that keeps clear of where slopes change at once.
const CLEAR: f64 = 1e-3;
/// Steps of the coarse and of the fine search.
const COARSE_STEPS: usize = 12;
const FINE_STEPS: usize = 6;
/// Times a coarse step is cut to a quarter.
const CUTS: i32 = 3;
/// Part of the step before one may be without the slopes being taken anew.
const SLOW: f64 = 0.3;

/// How the excess at a divide grows with the flow of the span before, its own, and that of the span after.
type Row = [f64; 3];

/// Where the flow parted, for a run that differs little: flow to the left outlet of every span as a share of all inflow,
/// and how the excesses grow with these shares, m.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Parting {
    shares: Vec<f64>,
    rows: Vec<Row>,
}

impl Parting {
    pub(super) fn new(spans: usize) -> Self {
        Self { shares: vec![f64::NAN; spans], rows: vec![[f64::NAN; 3]; spans] }
    }

    fn of(&self, group: &Range<usize>) -> Option<(Vec<f64>, Vec<Row>)> {
        let (shares, rows) = (self.shares.get(group.clone())?, self.rows.get(group.clone())?);
        let known = shares.iter().chain(rows.iter().flatten()).all(|value| value.is_finite());
        known.then(|| (shares.to_vec(), rows.to_vec()))
    }

    fn keep(&mut self, group: &Range<usize>, shares: &[f64], rows: &[Row]) {
        for (place, share) in self.shares.iter_mut().skip(group.start).zip(shares) {
            *place = *share;
        }
        for (place, row) in self.rows.iter_mut().skip(group.start).zip(rows) {
            *place = *row;
        }
    }
}

/// Spans whose flows are searched together, with the nodes of their outlets.
pub(super) struct Tied<'s, 'a, S> {
    solver: &'s mut Solver<'a, S>,
    group: Range<usize>,
    spans: &'s [(usize, usize)],
    all: f64,
    /// Greatest excess found last, as a share of the depth there.
    mismatch: f64,
    /// Depths found last.
    depths: (f64, f64),
}

impl<'s, 'a, S: Prismatic> Tied<'s, 'a, S> {
    pub(super) fn new(
        solver: &'s mut Solver<'a, S>,
        group: Range<usize>,
        spans: &'s [(usize, usize)],
        all: f64,
    ) -> Self {
        Self { solver, group, spans, all, mismatch: 0.0, depths: (0.0, 0.0) }
    }

    /// Sets the flows that settle the spans; false where it does not close in on them.
    pub(super) fn settle(&mut self) -> bool {
        self.search().is_some()
    }

    fn search(&mut self) -> Option<()> {
        let nodes = self.spans.get(self.group.clone())?;
        if nodes.iter().any(|(from, to)| !self.solver.run.layout.gaps_between(*from, *to).is_empty()) {
            return None;
        }
        let known = self.solver.hint.as_ref().and_then(|hint| hint.of(&self.group));
        let found = match known {
            Some((shares, rows)) => self.coarse(shares, Some(rows)),
            None => None,
        };
        let half = |span| 0.5 * self.solver.inflow_of(span) / self.all;
        let (mut shares, mut rows) = match found {
            Some(found) => found,
            None => {
                let start = self.group.clone().map(half).collect();
                self.coarse(start, None)?
            }
        };
        self.is_clear(&shares).then_some(())?;
        if self.solver.channel.follow != Follow::COARSE {
            self.fine(&mut shares, &mut rows)?;
        }
        self.set(&shares)?;
        let group = self.group.clone();
        self.solver.parting.keep(&group, &shares, &rows);
        Some(())
    }

    fn coarse(&mut self, mut shares: Vec<f64>, rows: Option<Vec<Row>>) -> Option<(Vec<f64>, Vec<Row>)> {
        let mut excess = self.excess(&shares, Follow::COARSE)?;
        let mut fresh = rows.is_none() && self.group.len() > 1;
        let mut rows = match rows {
            Some(rows) => rows,
            None => match (self.group.len(), shares.first()) {
                (1, Some(share)) => vec![self.guess(*share)],
                _ => self.rows(&shares, &excess)?,
            },
        };
        for _ in 0..COARSE_STEPS {
            let step = newton(&rows, &excess)?;
            let off = size(&step);
            if off <= COARSE_STEP && self.mismatch <= COARSE_MISMATCH {
                moved(&mut shares, &step, 1.0);
                return Some((shares, rows));
            }
            match self.nearer(&rows, &shares, &step, if fresh { CUTS } else { 0 }) {
                Some((next, there)) => {
                    let slow = size(&newton(&rows, &there)?) > SLOW * off;
                    learn(&mut rows, &shares, &next, &excess, &there);
                    (shares, excess) = (next, there);
                    fresh = slow;
                }
                // A span by itself is soon enclosed, and mostly it is near one of its outlets that the flow parts then.
                None if fresh || self.group.len() == 1 => return None,
                // Slopes of another place mislead.
                None => fresh = true,
            }
            if fresh {
                rows = self.rows(&shares, &excess)?;
            }
        }
        None
    }

    /// Takes a step, cut where it leads away: the new flows and the excesses there.
    fn nearer(
        &mut self,
        rows: &[Row],
        shares: &[f64],
        step: &[f64],
        cuts: i32,
    ) -> Option<(Vec<f64>, Vec<f64>)> {
        (0..=cuts).find_map(|cut| {
            let mut next = shares.to_vec();
            moved(&mut next, step, 0.25_f64.powi(cut));
            let there = self.excess(&next, Follow::COARSE)?;
            (size(&newton(rows, &there)?) < size(step)).then_some((next, there))
        })
    }

    /// Slope of the excess of one span by itself, whose depths grow about as critical depth does.
    fn guess(&self, share: f64) -> Row {
        let inflow = self.solver.inflow_of(self.group.start) / self.all;
        let (left, right) = self.depths;
        [0.0, 2.0 / 3.0 * (left / share + right / (inflow - share)), 0.0]
    }

    fn fine(&mut self, shares: &mut [f64], rows: &mut [Row]) -> Option<()> {
        let follow = self.solver.channel.follow;
        let mut last: Option<(Vec<f64>, Vec<f64>)> = None;
        let mut before = f64::INFINITY;
        for _ in 0..FINE_STEPS {
            let excess = self.excess(shares, follow)?;
            if let Some((place, there)) = last.take()
                && before > TELLING_STEP
            {
                learn(rows, &place, shares, &there, &excess);
            }
            let step = newton(rows, &excess)?;
            let off = size(&step);
            if off > 0.5 * before {
                return None;
            }
            if off <= SAME_FLOW && self.mismatch <= SAME_DEPTH {
                return Some(());
            }
            last = Some((shares.to_owned(), excess));
            moved(shares, &step, 1.0);
            if off <= FINE_STEP && self.mismatch <= FINE_MISMATCH {
                return Some(());
            }
            before = off;
        }
        None
    }

    /// Whether the flow parts well inside every span, or passes an outlet for good, and every outlet takes water: near the
    /// places where one turns into the other slopes change at once.
    fn is_clear(&mut self, shares: &[f64]) -> bool {
        self.set(shares).is_some()
            && self.group.clone().zip(shares).all(|(span, share)| {
                let inflow = self.solver.inflow_of(span) / self.all;
                share.abs() > CLEAR && (share - inflow).abs() > CLEAR
            })
            && (self.group.start..=self.group.end)
                .all(|outlet| self.solver.outflow_without(outlet, true, true) > CLEAR * self.all)
    }

    /// Slopes of every excess, each over a small change of one flow.
    fn rows(&mut self, shares: &[f64], excess: &[f64]) -> Option<Vec<Row>> {
        let mismatch = self.mismatch;
        let mut rows = vec![[0.0; 3]; shares.len()];
        for k in 0..shares.len() {
            let mut changed = shares.to_vec();
            // Towards the middle of the span, which is on the run.
            let inflow = self.solver.inflow_of(self.group.start + k) / self.all;
            let step = if shares.get(k)? * 2.0 > inflow { -SLOPE_STEP } else { SLOPE_STEP };
            *changed.get_mut(k)? += step;
            self.set(&changed)?;
            for (i, row) in
                rows.iter_mut().enumerate().skip(k.saturating_sub(1)).take(if k == 0 { 2 } else { 3 })
            {
                let there = self.excess_of(i, Follow::COARSE)?;
                *row.get_mut(k + 1 - i)? = (there - excess.get(i)?) / step;
            }
        }
        self.mismatch = mismatch;
        Some(rows)
    }

    fn set(&mut self, shares: &[f64]) -> Option<()> {
        for (span, share) in self.group.clone().zip(shares) {
            let flow = share * self.all;
            // A span by itself has its own way of saying that an outlet is passed.
            let parts = flow >= 0.0 && flow <= self.solver.inflow_of(span);
            if !flow.is_finite() || (self.group.len() == 1 && !parts) {
                return None;
            }
            self.solver.set(span, flow);
        }
        Some(())
    }

    fn excess_of(&mut self, k: usize, follow: Follow) -> Option<f64> {
        let span = self.group.start + k;
        let nodes = *self.spans.get(span)?;
        let flow = *self.solver.to_left.get(span)?;
        let (left, right) = self.solver.depths_at_divide(span, nodes, flow, follow).ok()?;
        let excess = left - right;
        self.mismatch = self.mismatch.max(excess.abs() / left.max(right));
        self.depths = (left, right);
        Some(excess)
    }

    fn excess(&mut self, shares: &[f64], follow: Follow) -> Option<Vec<f64>> {
        self.set(shares)?;
        self.mismatch = 0.0;
        (0..shares.len()).map(|k| self.excess_of(k, follow)).collect()
    }
}

fn size(step: &[f64]) -> f64 {
    step.iter().fold(0.0, |most, part| part.abs().max(most))
}

fn moved(shares: &mut [f64], step: &[f64], part: f64) {
    for (share, by) in shares.iter_mut().zip(step) {
        *share -= part * by;
    }
}

/// What the excesses lie off in terms of the flows: the three diagonals solved from one end to the other, which is safe
/// because every excess grows most with the flow of its own span. `None` where it does not.
fn newton(rows: &[Row], excess: &[f64]) -> Option<Vec<f64>> {
    let mut ahead: Vec<(f64, f64)> = Vec::with_capacity(rows.len());
    for ([before, own, after], value) in rows.iter().zip(excess) {
        let (over, carried) = ahead.last().copied().unwrap_or((0.0, 0.0));
        let pivot = own - before * over;
        // Written so that a NaN fails it.
        let grows = pivot > 0.0;
        if !grows {
            return None;
        }
        ahead.push((after / pivot, (value - before * carried) / pivot));
    }
    let mut step = 0.0;
    let mut steps: Vec<f64> = ahead
        .iter()
        .rev()
        .map(|(over, carried)| {
            step = carried - over * step;
            step
        })
        .collect();
    steps.reverse();
    steps.iter().all(|step| step.is_finite()).then_some(steps)
}

/// Corrects the slopes by what a step showed of them.
fn learn(rows: &mut [Row], from: &[f64], to: &[f64], excess: &[f64], there: &[f64]) {
    let step = |k: usize| to.get(k).zip(from.get(k)).map_or(0.0, |(to, from)| to - from);
    for (i, row) in rows.iter_mut().enumerate() {
        let by = [i.checked_sub(1).map_or(0.0, step), step(i), step(i + 1)];
        let length: f64 = by.iter().map(|by| by * by).sum();
        let expected: f64 = row.iter().zip(by).map(|(slope, by)| slope * by).sum();
        let Some((there, excess)) = there.get(i).zip(excess.get(i)) else { continue };
        if length > 0.0 {
            let missed = (there - excess - expected) / length;
            row.iter_mut().zip(by).for_each(|(slope, by)| *slope += missed * by);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{learn, newton};

    #[test]
    fn three_diagonals_are_solved() {
        let rows = [[0.0, 2.0, -1.0], [-1.0, 3.0, -0.5], [-0.25, 1.0, 0.0]];
        let Some(steps) = newton(&rows, &[0.5, 1.0, 2.0]) else { unreachable!("it grows most with its own") };
        let [a, b, c] = steps[..] else { unreachable!("three") };
        assert!((2.0 * a - b - 0.5).abs() < 1e-14);
        assert!((-a + 3.0 * b - 0.5 * c - 1.0).abs() < 1e-14);
        assert!((-0.25 * b + c - 2.0).abs() < 1e-14);
        assert!(newton(&[[0.0, -1.0, 0.0]], &[1.0]).is_none());
    }

    #[test]
    fn a_step_teaches_the_slopes() {
        let mut rows = [[0.0, 1.0, 0.0], [0.0, 1.0, 0.0]];
        learn(&mut rows, &[0.0, 0.0], &[0.1, 0.0], &[0.0, 0.0], &[0.3, -0.05]);
        assert!((rows[0][1] - 3.0).abs() < 1e-14 && rows[0][2] == 0.0);
        assert!((rows[1][0] + 0.5).abs() < 1e-14 && rows[1][1] == 1.0);
    }
}
