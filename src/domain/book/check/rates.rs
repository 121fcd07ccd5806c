//! Which tasks need a rate in a book.

use crate::domain::words::Task;
use crate::domain::work::{self, Lacking};
use crate::wire::book::BookDoc;
use crate::wire::book::concrete::ConcreteWay;

/// Whether some layout of this book calls for a task: mixing only where bags are a way, pipe work only where there are pipes.
///
/// All others can be called for by any layout: a run may lie in soil or in any surface, and spoil is always hauled.
pub(crate) fn can_be_called_for(task: Task, doc: &BookDoc) -> bool {
    match task {
        Task::MixConcrete => doc.concrete_ways.iter().any(|w| matches!(w, ConcreteWay::Bags { .. })),
        Task::DigLine | Task::LayPipe | Task::Connect | Task::Backfill => !doc.pipes.is_empty(),
        _ => true,
    }
}

/// Why a book needs a rate for a task of which it has none; `None` where it has one, where no layout calls for the task, and where
/// others hold its work.
pub(super) fn no_rate(task: Task, doc: &BookDoc) -> Option<String> {
    if !can_be_called_for(task, doc) || doc.labor.iter().any(|rate| rate.task == task) {
        return None;
    }
    let none = format!("no rate for `{task}`");
    let uncounted = match work::lacking(task, &doc.labor) {
        Lacking::Nothing => return None,
        Lacking::Hours(uncounted) => uncounted,
        Lacking::Part(by) if work::places_concrete(task) => {
            return Some(format!(
                "{none}: `{by}` counts its hours, but the pace of the pour, its days and what sets after it go by a rate of its own"
            ));
        }
        Lacking::Part(by) => {
            let held: Vec<String> =
                Task::ALL.iter().filter(|t| work::breaks_ground(**t)).map(|t| format!("`{t}`")).collect();
            return Some(format!(
                "{none}: `{by}` counts its hours, but only {} are held back until utilities are marked",
                held.join(", ")
            ));
        }
    };
    let may_be_elsewhere = work::measures_of(task).iter().all(|m| work::is_work_of_one(*m));
    let counted: Vec<String> = uncounted.iter().map(|m| format!("`{m}`")).collect();
    let unless = match counted.as_slice() {
        _ if !may_be_elsewhere => String::new(),
        [one] => format!(", unless the rate of another task counts {one}"),
        all => format!(", unless rates of other tasks count {}", all.join(", ")),
    };
    Some(format!("{none}; without it its hours would be missing{unless}"))
}
