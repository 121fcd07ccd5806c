//! The lines of a finished job that rates are learned from, and why others are left out.

use super::held::Held;
use crate::compute::job_record::actuals::DoneBy;
use crate::compute::job_record::many::Finished;
use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::wire::Code;
use crate::wire::book::work::LaborRate;
use rust_decimal::prelude::ToPrimitive as _;
use std::collections::BTreeMap;

/// One line of a job for learning.
pub(super) struct Line {
    pub(super) place: usize,
    pub(super) task: Task,
    /// Person-hours that the rate gives for the quantity done, before the crew's are rounded.
    pub(super) estimated: f64,
    pub(super) actual: f64,
    /// The version since which its hours are in the rate, where they are.
    pub(super) since: Option<i64>,
}

/// The lines of a job; those that are not learned from go to `left_out` with their reason, also those whose hours are in the rate
/// already. `held` is what each rate of the book holds.
pub(super) fn lines(
    finished: &Finished,
    book: &PriceBook,
    held: &[Held<'_>],
    left_out: &mut Vec<String>,
) -> Vec<Line> {
    let mut out = Vec::new();
    // Told once for all tasks of a job: each job stands in every version after the one that it moved.
    let mut since: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for task in Task::ALL.iter().copied() {
        match line(finished, task, book) {
            Ok(None) => {}
            Ok(Some(line)) => {
                let in_rate = held.get(line.place).and_then(|h| h.since(&finished.job, &finished.ends));
                if let Some(version) = in_rate {
                    since.entry(version).or_default().push(format!("`{task}`"));
                }
                out.push(Line { since: in_rate, ..line });
            }
            Err(reason) => left_out.push(format!("{} `{task}`: {reason}", finished.job)),
        }
    }
    for (version, tasks) in since {
        let tasks = tasks.join(", ");
        left_out
            .push(format!("{} {tasks}: its hours are in the rates since version {version}", finished.job));
    }
    out
}

/// The line of a task; none where it is neither in the estimate nor in the records.
fn line(finished: &Finished, task: Task, book: &PriceBook) -> Result<Option<Line>, String> {
    let (hours, actual) = (&finished.hours, finished.actuals.hours_of(task));
    let is_estimated = hours.estimated.tasks.iter().any(|t| t.task == task);
    let for_done = hours.for_done.tasks.iter().find(|t| t.task == task);
    if actual <= 0.0 {
        let is_expected = is_estimated || for_done.is_some();
        return if is_expected { Err("no hours recorded".to_owned()) } else { Ok(None) };
    }
    match finished.actuals.done_by(task) {
        // What each method did of the quantity nobody recorded.
        DoneBy::Several(methods) => {
            let names: Vec<String> = methods.iter().map(|(name, _)| format!("`{name}`")).collect();
            let names = names.join(" and ");
            return Err(format!("hours by {names}, and no rate of one method tells of the work of several"));
        }
        // They would be held against the rate of another method.
        DoneBy::One(method) if Code::new(method).and_then(|m| book.labor(task, Some(&m))).is_none() => {
            return Err(format!("done by `{method}`, for which this price book has no rate"));
        }
        DoneBy::One(_) | DoneBy::Untold => {}
    }
    let Some(reckoned) = for_done else {
        let reason = if is_estimated { "no quantity of it was done" } else { "no hours estimated" };
        return Err(reason.to_owned());
    };
    let of_rate = |r: &LaborRate| r.task == task && r.method.as_str() == reckoned.method;
    // The ratio is put onto the rate, so it is of the hours that the rate gives. Against hours rounded up to the crew's step a rate
    // that is right would be made smaller, each time anew.
    let estimated = reckoned.net.to_f64().filter(|net| *net > 0.0);
    let line = book.doc().labor.iter().position(of_rate).zip(estimated);
    line.map(|(place, estimated)| Some(Line { place, task, estimated, actual, since: None }))
        .ok_or_else(|| "no hours estimated".to_owned())
}
