//! The lines of a finished job that rates are learned from, and why others are left out.

use crate::compute::job_record::actuals::DoneBy;
use crate::compute::job_record::comparison::person_hours;
use crate::compute::job_record::many::Finished;
use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use rust_decimal::prelude::ToPrimitive as _;

/// One line of a job for learning.
pub(super) struct Line {
    pub(super) place: usize,
    pub(super) task: Task,
    /// Person-hours that the rate gives for the quantity done, before the crew's are rounded.
    pub(super) estimated: f64,
    pub(super) actual: f64,
}

/// Person-hours rounded as they are paid, that the book gives for the quantity done.
pub(super) fn paid(finished: &Finished, task: Task) -> f64 {
    person_hours(&finished.hours.for_done, task)
}

/// The lines of a job; those that cannot be learned from go to `left_out` with their reason.
pub(super) fn lines(finished: &Finished, book: &PriceBook, left_out: &mut Vec<String>) -> Vec<Line> {
    let mut out = Vec::new();
    for task in &finished.hours.for_done.tasks {
        // The ratio is put onto the rate, so it is of the hours that the rate gives. Against hours rounded up to the crew's step a
        // rate that is right would be made smaller, each time anew.
        let (estimated, actual) = (task.net.to_f64().unwrap_or(0.0), finished.actuals.hours_of(task.task));
        let place =
            book.doc().labor.iter().position(|r| r.task == task.task && r.method.as_str() == task.method);
        let Some(place) = place else { continue };
        if actual <= 0.0 || estimated <= 0.0 {
            left_out.push(format!("{} `{}`: no hours recorded", finished.job, task.task));
            continue;
        }
        // What each method did of the quantity nobody recorded.
        if let DoneBy::Several(methods) = finished.actuals.done_by(task.task) {
            let names: Vec<String> = methods.iter().map(|(name, _)| format!("`{name}`")).collect();
            left_out.push(format!(
                "{} `{}`: hours by {}, and no rate of one method tells of the work of several",
                finished.job,
                task.task,
                names.join(" and ")
            ));
            continue;
        }
        out.push(Line { place, task: task.task, estimated, actual });
    }
    out
}
