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
        Lacking::Part(by) => return Some(format!("{none}: `{by}` counts its hours, but {}", why_not(task))),
    };
    let may_be_elsewhere = work::measures_of(task).iter().all(|m| work::is_work_of_one(*m));
    let holders: Vec<Task> = Task::ALL.iter().copied().filter(|by| work::may_hold(*by, task)).collect();
    let counted: Vec<String> = uncounted.iter().map(|m| format!("`{m}`")).collect();
    let unless = match (holders.as_slice(), counted.as_slice()) {
        (_, _) if !may_be_elsewhere => String::new(),
        ([], _) => String::new(),
        ([by], counted) => format!(", unless the rate of `{by}` counts {}", counted.join(", ")),
        (_, [one]) => format!(", unless the rate of another task counts {one}"),
        (_, all) => format!(", unless rates of other tasks count {}", all.join(", ")),
    };
    Some(format!("{none}; without it its hours would be missing{unless}"))
}

/// Why the hours of a task may not be held by the one that counts them.
fn why_not(task: Task) -> &'static str {
    match task {
        task if work::places_concrete(task) => {
            "the pace of the pour, its days and what sets after it go by a rate of its own"
        }
        task if work::breaks_ground(task) => {
            "its method, how deep that reaches and the notices before it go by a rate of its own"
        }
        Task::Haul => "the time that a driver is paid goes by a rate of its own",
        Task::MixConcrete => "ways of concrete are compared by rates of its own and of `pour`",
        _ => "not by every method of it",
    }
}
