//! What deep trenches add to the hours of digging, part by part.

use super::Conditions;
use crate::domain::measures::Measures;
use crate::domain::words::{Measure, Task};
use crate::units::decimal::rounded;
use crate::units::exact::div_round;
use crate::units::show::{Show, worded};
use crate::units::{Factor, Length, Volume};
use crate::wire::book::work::LaborRules;
use rust_decimal::Decimal;
use smallvec::{SmallVec, smallvec};

/// A part of a task by how deep the trench is there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Band {
    /// Hours are multiplied by it.
    pub(super) factor: Factor,
    /// The trench is deeper than this there …
    over: Length,
    /// … and no deeper than this; absent where depth is no matter.
    deepest: Option<Length>,
    /// What is dug there; nothing where the whole task is one part.
    volume: Volume,
}

/// The parts of a task, the shallowest first; never none.
pub(super) type Bands = SmallVec<[Band; 3]>;

/// What a task digs, and how deep at its deepest; nothing where it digs nothing.
pub(super) fn digs(task: Task, conditions: &Conditions<'_>) -> Option<(Measure, Length)> {
    match task {
        Task::DigRun => Some((Measure::RunExcavation, conditions.deepest_run)),
        Task::DigLine => Some((Measure::LineExcavation, conditions.deepest_line)),
        _ => None,
    }
}

/// The parts of a task by depth: one where it is no dig, or nobody says how deep which part is.
pub(super) fn bands(
    task: Task,
    measures: &Measures,
    conditions: &Conditions<'_>,
    rules: Option<&LaborRules>,
) -> Bands {
    let whole = |factor, deepest| Band { factor, over: Length::ZERO, deepest, volume: Volume::ZERO };
    let Some((measure, deepest)) = digs(task, conditions) else {
        return smallvec![whole(Factor::ONE, None)];
    };
    // What is dug in a band lies deeper than its depth: so does a depth that is none itself.
    let factor = |holds: &dyn Fn(Length) -> bool| {
        let factors = rules.map_or(&[][..], |r| &r.depth);
        let deep = factors.iter().filter(|f| holds(f.deeper_than)).max_by_key(|f| f.deeper_than);
        deep.map_or(Factor::ONE, |f| f.factor)
    };
    let parts: Bands = measures
        .dug(measure)
        .map(|dug| Band {
            factor: factor(&|deeper_than| deeper_than <= dug.over),
            over: dug.over,
            deepest: Some(dug.deepest),
            volume: dug.volume,
        })
        .collect();
    match *parts {
        [] => smallvec![whole(factor(&|deeper_than| deepest > deeper_than), Some(deepest))],
        [one] => smallvec![Band { volume: Volume::ZERO, over: Length::ZERO, ..one }],
        _ => parts,
    }
}

impl Band {
    /// How deep in words: `6 ft 3 in deep`, or of one part among several `3 ft to 5 ft deep`, `to 3 ft deep`.
    pub(super) fn words(&self, show: Show) -> String {
        let deepest = show.length(self.deepest.unwrap_or_default());
        match (self.volume.nm3() > 0, self.over.is_positive()) {
            (false, _) => worded!("{deepest} deep"),
            (true, false) => worded!("to {deepest} deep"),
            (true, true) => worded!("{} to {deepest} deep", show.length(self.over)),
        }
    }
}

/// A quantity shared among the parts as their excavation is, to a millionth; the deepest takes the rest, so that they foot.
pub(super) fn shared(amount: Decimal, bands: &[Band]) -> SmallVec<[Decimal; 3]> {
    // A thousandth of a cubic millimetre is fine enough to share by.
    let fine = |v: Volume| {
        Decimal::try_from_i128_with_scale(div_round(v.nm3(), 1_000_000_000_000_000), 0).unwrap_or_default()
    };
    let sum: Decimal = bands.iter().map(|b| fine(b.volume)).sum();
    let mut left = amount;
    let mut out: SmallVec<[Decimal; 3]> = SmallVec::new();
    for (i, band) in bands.iter().enumerate() {
        let part = if i + 1 == bands.len() || sum.is_zero() {
            left
        } else {
            rounded(amount * (fine(band.volume) / sum), 6).normalize()
        };
        left -= part;
        out.push(part);
    }
    out
}
