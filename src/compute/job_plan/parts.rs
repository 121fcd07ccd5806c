//! The hours of each task shared among the runs and lines that cause them.

use crate::compute::labor::{Conditions, LaborHours, rate::quantity_hours};
use crate::compute::takeoff::Takeoff;
use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::units::decimal::rounded;
use crate::units::money::share_out_whole;
use crate::wire::Code;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// Minutes of crews by task and part; runs first, then lines, in the order of the notes.
#[derive(Debug, Clone, Default)]
pub struct Parts {
    /// Whole minutes of a task over the job, by its place among the tasks of the hours.
    pub whole: Vec<i64>,
    shares: BTreeMap<(Task, usize), i64>,
}

impl Parts {
    /// Minutes of a task on one part.
    pub fn of(&self, task: Task, part: usize) -> i64 {
        self.shares.get(&(task, part)).copied().unwrap_or(0)
    }
}

/// Whether a task is one of the whole job rather than of a run or a line.
pub fn is_of_the_job(task: Task) -> bool {
    matches!(task, Task::Mobilize | Task::MarkAndProtect | Task::Haul | Task::ClearUp)
}

/// Shares the rounded crew-hours of each task in whole minutes: by the hours that the quantities of each part make at the
/// task's rate, by largest remainder, so that the parts foot to the task. Setup and rounding are shared along.
pub fn share(
    labor: &LaborHours,
    taken: &Takeoff<'_>,
    conditions: &Conditions<'_>,
    book: &PriceBook,
) -> Parts {
    let mut out = Parts::default();
    let nets: Vec<i64> = taken
        .runs
        .iter()
        .map(|r| r.concrete_net)
        .chain(taken.lines.iter().map(|l| l.concrete_net))
        // A millionth of a cubic metre is fine enough to share by.
        .map(|v| i64::try_from(v.nm3() / 1_000_000_000_000_000_000_000).unwrap_or(i64::MAX / 1_000_000))
        .collect();
    for task in &labor.tasks {
        let minutes = task.seconds.saturating_add(59) / 60;
        out.whole.push(minutes);
        if is_of_the_job(task.task) {
            continue;
        }
        let rate = Code::new(&task.method).and_then(|m| book.labor(task.task, Some(&m)));
        let weights: Vec<i64> = match (task.task, rate) {
            (Task::Pour | Task::MixConcrete, _) | (_, None) => nets.clone(),
            (_, Some(rate)) => taken
                .parts
                .iter()
                .map(|part| {
                    let hours = quantity_hours(rate, part, conditions, book) * Decimal::from(1_000_000);
                    i64::try_from(rounded(hours, 0).mantissa()).unwrap_or(i64::MAX / 1_000_000)
                })
                .collect(),
        };
        let weights = if weights.iter().all(|w| *w <= 0) { vec![1; weights.len()] } else { weights };
        for (part, share) in share_out_whole(minutes, &weights).into_iter().enumerate() {
            if share > 0 {
                out.shares.insert((task.task, part), share);
            }
        }
    }
    out
}
