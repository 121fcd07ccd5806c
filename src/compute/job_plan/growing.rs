//! The tasks of a job as they grow, each behind what it waits for.

use super::about::About;
use super::parts::Parts;
use super::tasks::{Item, Source, id, work_of};
use crate::compute::labor::LaborHours;
use crate::compute::plan::{HoldKind, Task as PlanTask, TaskId, Wait};
use crate::domain::words::Task;
use std::collections::BTreeSet;

/// A run or line that work is done on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part<'p> {
    /// `run` or `line`.
    pub(super) kind: &'static str,
    pub(super) code: &'p str,
    /// Its place: runs first, then lines.
    pub(super) place: usize,
}

/// The tasks so far.
pub(super) struct Growing<'a> {
    labor: &'a LaborHours,
    parts: &'a Parts,
    pub(super) items: Vec<Item>,
}

impl<'a> Growing<'a> {
    /// None yet.
    pub(super) fn of(source: &Source<'a, '_>) -> Self {
        Self { labor: source.labor, parts: source.parts, items: Vec::new() }
    }
}

impl Growing<'_> {
    fn place(&self, task: Task) -> Option<usize> {
        self.labor.tasks.iter().position(|t| t.task == task)
    }

    /// Minutes of a task over the whole job.
    pub(super) fn whole(&self, task: Task) -> i64 {
        self.place(task).and_then(|place| self.parts.whole.get(place).copied()).unwrap_or(0)
    }

    /// Work of one task on one part; what comes before it where there is no such work.
    pub(super) fn on(&mut self, task: Task, part: Part<'_>, after: &[TaskId]) -> Vec<TaskId> {
        let Part { kind, code, place } = part;
        let minutes = self.parts.of(task, place);
        if minutes <= 0 {
            return after.to_vec();
        }
        let about = About { text: format!("{kind} {code}"), codes: vec![code.to_owned()] };
        let key = format!("{}.{kind}.{code}", task.word());
        let name = format!("{}: {kind} {code}", in_words(task));
        self.work(&key, &name, (task, minutes), Some(about), after)
    }

    /// So much work of one task for the whole job; what comes before it where there is no such work.
    pub(super) fn for_the_job(&mut self, task: Task, minutes: i64, after: &[TaskId]) -> Vec<TaskId> {
        self.work(task.word(), &in_words(task), (task, minutes), None, after)
    }

    /// The way back to the site, when the crew was away.
    pub(super) fn mobilize_again(&mut self, minutes: i64, after: &[TaskId]) -> Vec<TaskId> {
        self.work("mobilize.2", "mobilize: return", (Task::Mobilize, minutes), None, after)
    }

    fn work(
        &mut self,
        key: &str,
        name: &str,
        (task, minutes): (Task, i64),
        part: Option<About>,
        after: &[TaskId],
    ) -> Vec<TaskId> {
        let (Some(id), Some(place), true) = (id(key), self.place(task), minutes > 0) else {
            return after.to_vec();
        };
        let made_of = vec![(place, minutes)];
        match work_of(self.labor, &made_of) {
            Some(work) => self.push(&capital(name), PlanTask::work(id, "", work), after, (made_of, part)),
            None => after.to_vec(),
        }
    }

    /// A time that passes by itself.
    pub(super) fn wait(&mut self, key: &str, name: &str, wait: Wait, after: &[TaskId]) -> Vec<TaskId> {
        match id(key) {
            Some(id) => self.push(name, PlanTask::wait(id, "", wait), after, (Vec::new(), None)),
            None => after.to_vec(),
        }
    }

    /// A task with what it is made of and is about; itself, for those that wait for it.
    pub(super) fn push(
        &mut self,
        name: &str,
        mut task: PlanTask,
        after: &[TaskId],
        item: (Vec<(usize, i64)>, Option<About>),
    ) -> Vec<TaskId> {
        let mut seen = BTreeSet::new();
        for before in after.iter().filter(|b| seen.insert(*b)) {
            task = task.after(before);
        }
        name.clone_into(&mut task.name);
        let ids = vec![task.id.clone()];
        self.items.push(Item { task, made_of: item.0, part: item.1, why: None, pour_day: None });
        ids
    }

    /// What the last task holds.
    pub(super) fn hold(&mut self, hold: HoldKind) {
        if let Some(item) = self.items.last_mut() {
            item.task.hold = Some(hold);
        }
    }

    /// Why the last task lasts as long as it does.
    pub(super) fn why(&mut self, why: String) {
        if let Some(item) = self.items.last_mut() {
            item.why = Some(why);
        }
    }

    /// The pour day of the last task.
    pub(super) fn pour_day(&mut self, day: i64) {
        if let Some(item) = self.items.last_mut() {
            item.pour_day = Some(day);
        }
    }
}

fn in_words(task: Task) -> String {
    task.word().replace('_', " ")
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}
