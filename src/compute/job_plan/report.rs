//! Reported starts and finishes, and days before which tasks must not begin.

use crate::compute::plan::{Progress, Task, TaskKind};
use crate::wire::planning::{NotBefore, PlanInputs, TaskProgress};
use crate::wire::{At, Faults, nearest};
use std::collections::BTreeSet;

/// What was asked and reported before and is carried along. Nothing of it is at fault: what it brings about is told at what was
/// sent.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Carried {
    /// How many days of the inputs, the first ones.
    pub not_before: usize,
    /// How many reports of the inputs, the first ones.
    pub progress: usize,
    /// Tasks that were reported before.
    pub reported: BTreeSet<String>,
}

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

fn known<'t>(tasks: &'t mut [Task], name: &str) -> Option<&'t mut Task> {
    tasks.iter_mut().find(|t| t.id.as_str() == name)
}

/// Puts what was reported onto the tasks. What was said before of tasks that are no longer in the plan holds nothing; it is
/// told.
///
/// # Errors
/// Reports of unknown tasks, the same task twice, a finish without a start, remaining hours of finished work or of a wait.
pub fn apply(
    tasks: &mut [Task],
    inputs: &PlanInputs,
    carried: &Carried,
    at: &At<'_>,
) -> Result<Vec<String>, Faults> {
    let (mut faults, mut gone) = (Faults::new(), Vec::new());
    not_before(tasks, inputs, carried, at, &mut gone, &mut faults);
    let list = at.member("progress");
    let (before, sent) = inputs.progress.split_at(carried.progress.min(inputs.progress.len()));
    for report in before {
        let name = report.task.as_str();
        // it was read when it was sent
        let progress = read(report, at, &mut Faults::new()).unwrap_or_default();
        match known(tasks, name) {
            Some(task) => task.progress = progress,
            None if progress == Progress::NotStarted => {}
            None => gone.push(format!(
                "`{name}` was reported but is no longer in the plan; the report is kept and counts again should the task come back"
            )),
        }
    }
    let mut seen = BTreeSet::new();
    for (i, report) in sent.iter().enumerate() {
        let (here, name) = (list.element(i), report.task.as_str());
        let named = here.member("task");
        if !seen.insert(name) {
            faults.value(&named, "duplicate", name, "this task is reported already; report it once");
        }
        let progress = read(report, &here, &mut faults);
        // what was reported of a task that is gone can be taken back too
        if report.not_begun.0 && carried.reported.contains(name) && known(tasks, name).is_none() {
            continue;
        }
        let Some(task) = find(tasks, name, &named, &mut faults) else { continue };
        if report.remaining.is_some() && !matches!(task.kind, TaskKind::Work(_)) {
            let rule = "a wait and a point have no crew-hours; report the end with `finished_on`";
            faults.add(&here.member("remaining"), "contradiction", rule);
        }
        task.progress = progress.unwrap_or_default();
    }
    if faults.is_empty() { Ok(gone) } else { Err(faults) }
}

fn not_before(
    tasks: &mut [Task],
    inputs: &PlanInputs,
    carried: &Carried,
    at: &At<'_>,
    gone: &mut Vec<String>,
    faults: &mut Faults,
) {
    let asked: &[NotBefore] = inputs.not_before.as_deref().unwrap_or_default();
    let (before, sent) = asked.split_at(carried.not_before.min(asked.len()));
    for wish in before {
        let (name, day) = (wish.task.as_str(), wish.day.date());
        match known(tasks, name) {
            Some(task) => task.not_before = Some(day),
            None => gone.push(format!(
                "`{name}` was not to begin before {day} but is no longer in the plan; the day is kept and counts again should the task come back"
            )),
        }
    }
    let (list, mut seen) = (at.member("not_before"), BTreeSet::new());
    for (i, wish) in sent.iter().enumerate() {
        let (here, name) = (list.element(i), wish.task.as_str());
        let named = here.member("task");
        if !seen.insert(name) {
            faults.value(
                &named,
                "duplicate",
                name,
                "this task has its day already; give the later one alone",
            );
        }
        if let Some(task) = find(tasks, name, &named, faults) {
            task.not_before = Some(wish.day.date());
        }
    }
}

fn read(report: &TaskProgress, at: &At<'_>, faults: &mut Faults) -> Option<Progress> {
    if report.not_begun.0 {
        let said = [
            ("started_on", report.started_on.is_some()),
            ("finished_on", report.finished_on.is_some()),
            ("remaining", report.remaining.is_some()),
        ];
        for (member, _) in said.iter().filter(|(_, given)| *given) {
            let rule = "a task that has not begun has none; leave it out, or leave out `not_begun`";
            faults.add(&at.member(member), "contradiction", rule);
        }
        return Some(Progress::NotStarted);
    }
    match (report.started_on, report.finished_on, report.remaining) {
        (None, _, _) => {
            faults.add(
                &at.member("started_on"),
                "required",
                "say the day it began; `not_begun` takes a mistaken report back",
            );
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
            remaining_crew_hours: left.map(|s| s.span().seconds() as f64 / 3600.0),
        }),
    }
}

/// Earlier reports with later ones in their place, task by task, the earlier ones first; and how many those are.
pub fn joined(before: &[TaskProgress], later: &[TaskProgress]) -> (Vec<TaskProgress>, Carried) {
    let replaced: BTreeSet<&str> = later.iter().map(|r| r.task.as_str()).collect();
    let stays = |r: &&TaskProgress| !r.not_begun.0 && !replaced.contains(r.task.as_str());
    let mut all: Vec<TaskProgress> = before.iter().filter(stays).cloned().collect();
    let reported = before.iter().map(|r| r.task.to_string()).collect();
    let carried = Carried { not_before: 0, progress: all.len(), reported };
    all.extend(later.iter().cloned());
    (all, carried)
}
