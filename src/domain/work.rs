//! What the work of a task is measured by, and whose rate may count it: for the book that is published and the hours of a job alike.

use super::words::{Measure, Task};
use crate::wire::book::work::LaborRate;

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
pub fn kind_of(measure: Measure, task: Task) -> Option<&'static [Measure]> {
    kinds_of(task).iter().find(|kind| kind.contains(&measure)).copied()
}

/// Whether a rate by another measure, such as the length of the run, never stands for this work: some runs lie in a slab and some in
/// asphalt, some have bars and some none.
pub const fn needs_its_own(measure: Measure) -> bool {
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
pub const fn is_work_of_one(measure: Measure) -> bool {
    !matches!(
        measure,
        Measure::Visits | Measure::RunLength | Measure::LineLength | Measure::FormArea | Measure::Hangers
    )
}

/// Whether a task breaks ground: notices hold it, and how deep it goes is held against its method.
pub const fn breaks_ground(task: Task) -> bool {
    matches!(task, Task::SawCut | Task::BreakOut | Task::DigRun | Task::DigLine)
}

/// Whether a task places concrete: its pace, its days and what sets and cures after it go by this task.
pub const fn places_concrete(task: Task) -> bool {
    matches!(task, Task::Pour)
}

/// Whether some rate of another task counts a piece of work of this one, whatever a job has.
pub fn counted_beside(measure: Measure, task: Task, labor: &[LaborRate]) -> bool {
    is_work_of_one(measure) && others_counting(measure, task, labor).next().is_some()
}

/// The other tasks with a rate by a measure, once for each such rate.
fn others_counting(measure: Measure, task: Task, labor: &[LaborRate]) -> impl Iterator<Item = Task> {
    let others = labor.iter().filter(move |rate| rate.task != task);
    others.filter(move |rate| rate.rates.iter().any(|r| r.measure == measure)).map(|rate| rate.task)
}

/// Whether a rate of another task may hold all the work of a task. How deep a dig goes, what reaches there and the notices before it go
/// by the task that breaks ground, the pace and the curing of a pour by the pour, the driver's time by the haul, and what a way of
/// concrete comes to by who mixes or pours: these are never done under another name.
pub const fn may_hold(by: Task, task: Task) -> bool {
    match task {
        Task::Haul => false,
        Task::MixConcrete => places_concrete(by),
        task => !breaks_ground(task) && !places_concrete(task),
    }
}

/// What a book without a rate for a task lacks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lacking {
    /// Nothing: the rates of other tasks count everything that calls for it, whatever their method.
    Nothing,
    /// Its hours: these of its measures no rate of another task counts.
    Hours(Vec<Measure>),
    /// A rate of its own: this task counts its hours, and may not hold them.
    Part(Task),
}

/// What a book lacks that has no rate for the task. A job asks the same of the methods it is done by and of what it has.
pub fn lacking(task: Task, labor: &[LaborRate]) -> Lacking {
    let own = measures_of(task).iter().copied();
    let uncounted: Vec<Measure> = own.clone().filter(|m| !counted_beside(*m, task, labor)).collect();
    if !uncounted.is_empty() {
        return Lacking::Hours(uncounted);
    }
    let by_every_method = |by: Task, measure: Measure| {
        let mut methods = labor.iter().filter(|rate| rate.task == by);
        methods.all(|rate| rate.rates.iter().any(|r| r.measure == measure))
    };
    let is_held = |m: &Measure| {
        others_counting(*m, task, labor).any(|by| may_hold(by, task) && by_every_method(by, *m))
    };
    let mut open = own.filter(|m| !is_held(m)).flat_map(|m| others_counting(m, task, labor));
    open.next().map_or(Lacking::Nothing, Lacking::Part)
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
