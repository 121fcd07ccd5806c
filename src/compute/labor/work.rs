//! Who counts the work of a task on a job: [`crate::domain::work`] says what it is measured by.

use super::Conditions;
use super::rate::counts;
use crate::domain::book::PriceBook;
use crate::domain::measures::Measures;
use crate::domain::words::{Measure, Task};
use crate::domain::work::{is_work_of_one, kind_of, kinds_of, measures_of, needs_its_own};
use crate::wire::book::work::LaborRate;
use smallvec::SmallVec;

/// Whether a measure goes with work that is counted: as another measure of the same kind, or as what only adds to its task.
pub(super) fn goes_with(measure: Measure, counted: impl Fn(Measure) -> bool) -> bool {
    let mut tasks = Task::ALL.iter().copied().filter(|task| measures_of(*task).contains(&measure));
    tasks.any(|task| {
        let with = kind_of(measure, task).unwrap_or_else(|| measures_of(task));
        with.iter().any(|of| *of != measure && counted(*of))
    })
}

/// Whether the layout has the task.
pub(super) fn called_for(task: Task, measures: &Measures) -> bool {
    measures_of(task).iter().any(|m| measures.base(*m) > 0)
}

/// The other task on hand whose rate counts a piece of work of this one.
pub(super) fn counted_by(
    measure: Measure,
    task: Task,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
) -> Option<Task> {
    if !is_work_of_one(measure) {
        return None;
    }
    let mut others = Task::ALL.iter().copied().filter(|t| *t != task && called_for(*t, measures));
    others.find(|t| {
        book.labor(*t, conditions.method_of(*t)).is_some_and(|rate| counts(rate, measure, conditions))
    })
}

/// Where the rates of other tasks count everything that calls for this one, and its own rate nothing that is here: what is counted,
/// each with its task. Pipe layers who fill around the pipe leave no task where nothing is filled above. It has neither hours nor
/// setup then.
pub(super) fn done_elsewhere(
    task: Task,
    own: Option<&LaborRate>,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
) -> Option<SmallVec<[(Measure, Task); 2]>> {
    let here = |measure: Measure| measures.base(measure) > 0;
    if own.is_some_and(|rate| rate.rates.iter().any(|r| here(r.measure))) {
        return None;
    }
    let calling = measures_of(task).iter().copied().filter(|m| here(*m));
    let counted: Option<SmallVec<_>> =
        calling.map(|m| Some((m, counted_by(m, task, measures, conditions, book)?))).collect();
    counted.filter(|counted| !counted.is_empty())
}

/// The kinds of work for which a rate has neither a measure of their own nor one that stands for them, `here` being what there is. A
/// rate by measures of other work alone is meant to hold all of its task; beside rates by its own, one by anything but visits may
/// hold the rest.
pub(in crate::compute) fn left_out(
    rate: &LaborRate,
    here: impl Fn(Measure) -> bool,
) -> impl Iterator<Item = &'static [Measure]> {
    let own = measures_of(rate.task);
    let has = |measure: Measure| rate.rates.iter().any(|r| r.measure == measure);
    let by_others_alone = !own.iter().any(|m| has(*m));
    let holds_the_rest = |m: Measure| m != Measure::Visits && !own.contains(&m) && here(m);
    let stands = by_others_alone || rate.rates.iter().any(|r| holds_the_rest(r.measure));
    kinds_of(rate.task).iter().copied().filter(move |kind| {
        !kind.iter().any(|m| has(*m)) && (!stands || kind.iter().any(|m| needs_its_own(*m)))
    })
}
