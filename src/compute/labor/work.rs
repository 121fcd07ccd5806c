//! What the work of a task is measured by, and who counts it.

use super::Conditions;
use super::rate::counts;
use crate::domain::book::PriceBook;
use crate::domain::measures::Measures;
use crate::domain::words::{Measure, Task};
use crate::wire::book::work::LaborRate;
use smallvec::SmallVec;

/// The measures that belong to a task: a job without any of them does not have the task.
pub const fn measures_of(task: Task) -> &'static [Measure] {
    use Measure as M;
    match task {
        Task::Mobilize => &[M::Visits],
        Task::MarkAndProtect | Task::ClearUp => &[M::RunLength, M::LineLength],
        Task::SawCut => &[M::SawCutLength, M::SawCutFace],
        Task::BreakOut => &[M::SlabRemoved, M::AsphaltRemoved, M::PaversLifted, M::GravelStripped],
        Task::DigRun => &[M::RunExcavation],
        Task::DigLine => &[M::LineExcavation],
        Task::Form => &[M::FormArea, M::FormBoards],
        Task::AssembleChannel => &[
            M::ChannelLength,
            M::ChannelSections,
            M::ChannelCuts,
            M::ChannelJoints,
            M::ChannelFittings,
            M::RunEnds,
        ],
        Task::FitGrates => &[M::Grates, M::GrateCuts, M::GrateLength, M::GrateScrews, M::RecessStrip],
        Task::HangAndBrace => &[M::Hangers, M::BarLength],
        Task::LayPipe => &[M::PipeLength, M::PipeJoints, M::PipeFittings, M::Bedding],
        Task::Connect => &[M::Connections],
        Task::MixConcrete => &[M::BagsMixed],
        Task::Pour => &[M::ConcreteOrdered],
        Task::Finish => &[M::FinishArea],
        Task::StripAndClean => &[M::FormArea, M::Hangers],
        Task::Backfill => &[M::Backfill, M::ZoneFill],
        Task::Restore => &[M::SurfaceRestored],
        Task::Haul => &[M::HaulLoads, M::ExportLoose],
    }
}

/// The kinds of work of a task, each with the measures any one of which counts it whole: a saw cut by its length or its face, forms
/// by their area or their boards, a channel by its length or its pieces, a haul by its loads or its volume. What is lifted of one
/// kind of surface says nothing of another, hangers nothing of the bars beside them, native backfill nothing of the fill around the
/// pipe. Cuts, ends, fittings, bedding and strips only add to the work they come with: they are no kind of their own.
pub const fn kinds_of(task: Task) -> &'static [&'static [Measure]] {
    use Measure as M;
    match task {
        Task::BreakOut => {
            &[&[M::SlabRemoved], &[M::AsphaltRemoved], &[M::PaversLifted], &[M::GravelStripped]]
        }
        Task::AssembleChannel => &[&[M::ChannelLength, M::ChannelSections, M::ChannelJoints]],
        Task::FitGrates => &[&[M::Grates, M::GrateLength, M::GrateScrews]],
        Task::HangAndBrace => &[&[M::Hangers], &[M::BarLength]],
        Task::LayPipe => &[&[M::PipeLength, M::PipeJoints]],
        Task::Backfill => &[&[M::Backfill], &[M::ZoneFill]],
        Task::Mobilize => &[&[M::Visits]],
        Task::MarkAndProtect | Task::ClearUp => &[&[M::RunLength, M::LineLength]],
        Task::SawCut => &[&[M::SawCutLength, M::SawCutFace]],
        Task::DigRun => &[&[M::RunExcavation]],
        Task::DigLine => &[&[M::LineExcavation]],
        Task::Form => &[&[M::FormArea, M::FormBoards]],
        Task::Connect => &[&[M::Connections]],
        Task::MixConcrete => &[&[M::BagsMixed]],
        Task::Pour => &[&[M::ConcreteOrdered]],
        Task::Finish => &[&[M::FinishArea]],
        Task::StripAndClean => &[&[M::FormArea, M::Hangers]],
        Task::Restore => &[&[M::SurfaceRestored]],
        Task::Haul => &[&[M::HaulLoads, M::ExportLoose]],
    }
}

/// The kind of work of a task that a measure counts; none where it only adds to the task.
pub(super) fn kind_of(measure: Measure, task: Task) -> Option<&'static [Measure]> {
    kinds_of(task).iter().find(|kind| kind.contains(&measure)).copied()
}

/// Whether a rate by another measure, such as the length of the run, never stands for this work: some runs lie in a slab and some in
/// asphalt, some have bars and some none.
const fn needs_its_own(measure: Measure) -> bool {
    matches!(
        measure,
        Measure::SlabRemoved
            | Measure::AsphaltRemoved
            | Measure::PaversLifted
            | Measure::GravelStripped
            | Measure::BarLength
    )
}

/// Whether a measure is the work of one task alone. Of the others a rate of another task tells only how much that task has to do:
/// who marks out by the length of the run has not cleared it up, and who comes for a visit has done nothing else yet.
const fn is_work_of_one(measure: Measure) -> bool {
    !matches!(
        measure,
        Measure::Visits | Measure::RunLength | Measure::LineLength | Measure::FormArea | Measure::Hangers
    )
}

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

/// The same of a price book alone, whatever a job has: whether some rate of another task counts it.
pub(in crate::compute) fn counted_beside(measure: Measure, task: Task, labor: &[LaborRate]) -> bool {
    let others = labor.iter().filter(|rate| rate.task != task);
    is_work_of_one(measure) && others.flat_map(|rate| rate.rates.iter()).any(|r| r.measure == measure)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_of_work_is_of_the_measures_of_its_task() {
        for task in Task::ALL {
            let mut kinds = kinds_of(*task).iter().flat_map(|kind| kind.iter());
            assert!(kinds.all(|m| measures_of(*task).contains(m)), "{task}");
        }
    }

    #[test]
    fn what_calls_for_several_tasks_is_the_work_of_none_alone() {
        for measure in Measure::ALL {
            let tasks = Task::ALL.iter().filter(|t| measures_of(**t).contains(measure)).count();
            let alone = tasks == 1 && *measure != Measure::Visits;
            assert_eq!(is_work_of_one(*measure), alone, "{measure}");
        }
    }
}
