//! Reported starts and finishes, and days before which tasks must not begin.

use crate::compute::plan::{Progress, Task};
use crate::wire::planning::{PlanInputs, TaskProgress};
use crate::wire::{At, Faults, nearest};
use std::collections::BTreeSet;

fn find<'t>(tasks: &'t mut [Task], name: &str, at: &At<'_>, faults: &mut Faults) -> Option<&'t mut Task> {
    let known: Vec<String> = tasks.iter().map(|t| t.id.to_string()).collect();
    let found = tasks.iter_mut().find(|t| t.id.as_str() == name);
    if found.is_none() {
        let words: Vec<&str> = known.iter().map(String::as_str).collect();
        let near = nearest(name, &words).map(|n| format!("; did you mean `{n}`?")).unwrap_or_default();
        faults
            .value(at, "unknown_task", name, format!("the plan has no task of this id{near}"))
            .allow(known.iter().take(60).cloned());
    }
    found
}

/// Puts what was reported onto the tasks.
///
/// # Errors
/// Reports of unknown tasks, the same task twice, a finish without a start, remaining hours of finished work.
pub fn apply(tasks: &mut [Task], inputs: &PlanInputs, at: &At<'_>) -> Result<(), Faults> {
    let mut faults = Faults::new();
    let list = at.member("not_before");
    for (i, wish) in inputs.not_before.iter().enumerate() {
        let here = list.element(i);
        if let Some(task) = find(tasks, wish.task.as_str(), &here.member("task"), &mut faults) {
            task.not_before = Some(wish.day.date());
        }
    }
    let list = at.member("progress");
    let mut seen = BTreeSet::new();
    for (i, report) in inputs.progress.iter().enumerate() {
        let here = list.element(i);
        if !seen.insert(report.task.as_str()) {
            faults.value(
                &here.member("task"),
                "duplicate",
                report.task.as_str(),
                "this task is reported already; report it once",
            );
        }
        let progress = read(report, &here, &mut faults);
        if let (Some(task), Some(progress)) =
            (find(tasks, report.task.as_str(), &here.member("task"), &mut faults), progress)
        {
            task.progress = progress;
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn read(report: &TaskProgress, at: &At<'_>, faults: &mut Faults) -> Option<Progress> {
    match (report.started_on, report.finished_on, report.remaining) {
        (None, _, _) => {
            faults.add(&at.member("started_on"), "required", "say the day it began");
            None
        }
        (Some(_), Some(_), Some(_)) => {
            faults.add(
                &at.member("remaining"),
                "contradiction",
                "finished work has no hours left; leave one of them out",
            );
            None
        }
        (Some(start), Some(finish), None) => {
            Some(Progress::Finished { start: start.date(), finish: finish.date() })
        }
        (Some(on), None, left) => Some(Progress::Started {
            on: on.date(),
            remaining_crew_hours: left.map(|s| s.seconds() as f64 / 3600.0),
        }),
    }
}

/// Faults of reports joined with earlier ones, where those that were sent now have them.
pub fn where_sent(mut faults: Faults, joined: usize, sent: usize) -> Faults {
    let earlier = joined.saturating_sub(sent);
    for i in (0..sent).filter(|_| earlier > 0) {
        faults = faults.moved(&format!("#/progress/{}", earlier + i), &format!("#/progress/{i}"));
    }
    faults
}

/// Earlier reports with later ones in their place, task by task.
pub fn joined(before: &[TaskProgress], later: &[TaskProgress]) -> Vec<TaskProgress> {
    let replaced: BTreeSet<&str> = later.iter().map(|r| r.task.as_str()).collect();
    before.iter().filter(|r| !replaced.contains(r.task.as_str())).chain(later).cloned().collect()
}
