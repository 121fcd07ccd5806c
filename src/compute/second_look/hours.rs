//! Work that a job may have and no labor rate of the book counts: its hours would be missing, which each estimate says only once
//! there is such work.

use super::{Looks, PRACTICE};
use crate::compute::labor::work::left_out;
use crate::domain::book::check::can_be_called_for;
use crate::domain::words::{Measure, Task};
use crate::domain::work::counted_beside;
use crate::units::show::worded;
use crate::wire::At;
use crate::wire::book::BookDoc;
use crate::wire::book::work::LaborRate;

pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let root = At::ROOT;
    let labor = root.member("labor");
    for (i, rate) in book.labor.iter().enumerate() {
        if !can_be_called_for(rate.task, book) {
            continue;
        }
        let nowhere = |m: &Measure| may_be_there(*m, book) && !counted_beside(*m, rate.task, &book.labor);
        let here = labor.element(i);
        let at = here.member("rates");
        for kind in left_out(rate, |_| true) {
            let missing: Vec<&str> = kind.iter().filter(|m| nowhere(m)).map(|m| m.word()).collect();
            if missing.len() == kind.len() {
                told(looks, rate, &missing.join(" or "), "", &at);
            }
        }
        if let Some((alone, when)) = alone(rate) {
            told(looks, rate, alone.word(), when, &at);
        }
    }
}

fn told(looks: &mut Looks<'_>, rate: &LaborRate, missing: &str, when: &str, at: &At<'_>) {
    let mut counted: Vec<&str> = Vec::new();
    for unit_rate in &rate.rates {
        if !counted.contains(&unit_rate.measure.word()) {
            counted.push(unit_rate.measure.word());
        }
    }
    let counted = counted.join(", ");
    let detail = worded!(
        "`{}` by `{}` counts {counted} and not {missing}{when}, and no rate of another task does: those hours would be \
         missing, and the estimate would fail its check `labor_rate` ({PRACTICE})",
        rate.task,
        rate.method
    );
    looks.note(
        at,
        detail,
        counted,
        worded!("a rate for {missing}, here or with the task that does it"),
        PRACTICE,
    );
}

/// What can be all that a job has of a task, where its rate counts something else alone.
fn alone(rate: &LaborRate) -> Option<(Measure, &'static str)> {
    let (alone, besides, when) = match rate.task {
        Task::StripAndClean => {
            (Measure::Hangers, Measure::FormArea, ", which are all there is where a run lies in a slab")
        }
        Task::MarkAndProtect | Task::ClearUp => {
            (Measure::RunLength, Measure::LineLength, ", which is all there is of a job without drain lines")
        }
        _ => return None,
    };
    rate.rates.iter().all(|r| r.measure == besides).then_some((alone, when))
}

/// Whether a job by this book may have some of it: bars only where a setting detail has them.
fn may_be_there(measure: Measure, book: &BookDoc) -> bool {
    measure != Measure::BarLength || book.setting_details.iter().any(|d| d.reinforcement.is_some())
}
