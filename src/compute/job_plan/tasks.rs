//! The tasks of a job and what each must wait for, made from the layout itself.
//!
//! ```text
//! call for marks, permit ─▶ mobilize ─▶ mark and protect
//!   run:  saw ─▶ break ─▶ dig ─▶ form ─┬▶ hang and brace ─┐
//!         assemble ─▶ fit grates ──────┘                  ├▶ inspection ─▶ pour ─▶ set ─▶ strip ─▶ restore
//!   line: saw ─▶ break ─▶ dig ─▶ lay pipe ─▶ connect ─────┘        └▶ cure ─▶ open
//!                                              └▶ backfill ─▶ restore
//! haul, (return after the cure,) clear up ─▶ complete
//! ```

use super::about::{About, codes, names};
use super::office::Office;
use super::parts::Parts;
use super::pours::{Pour, pours};
use crate::compute::labor::{LaborHours, TaskHours};
use crate::compute::plan::{
    HoldKind, MachineId, MachineNeed, Task as PlanTask, TaskId, TradeId, TradeNeed, Wait, Work,
};
use crate::domain::layout::Layout;
use crate::domain::words::{Category, Task};
use crate::domain::work::{breaks_ground, places_concrete};
use crate::wire::book::planning::ClearUpWhen;
use crate::wire::notes::PourPlan;
use std::collections::{BTreeMap, BTreeSet};

/// A task of the plan with the work of the estimate it stands for.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The task as the core plans it.
    pub task: PlanTask,
    /// Tasks of the hours, by their place there, with the minutes of each; empty for waits and milestones.
    pub made_of: Vec<(usize, i64)>,
    /// Runs and lines it is about.
    pub part: Option<About>,
    /// Why it lasts as long as it does, for waits.
    pub why: Option<String>,
    /// Pour day of the notes, for pours.
    pub pour_day: Option<i64>,
}

/// What the tasks are made from.
#[derive(Debug)]
pub struct Source<'a, 'l> {
    /// The layout.
    pub layout: &'a Layout<'l>,
    /// Its hours.
    pub labor: &'a LaborHours,
    /// The hours by part.
    pub parts: &'a Parts,
    /// The office.
    pub office: &'a Office,
    /// Whether a permit is among the extras.
    pub permit: bool,
}

/// A name for life: at most 64 characters, also for long names of runs; a name cut short carries a hash of the whole.
fn id(text: &str) -> Option<TaskId> {
    if text.len() <= 64 {
        return TaskId::new(text).ok();
    }
    // FNV-1a, 64 bits: short, fixed for ever, and no secret.
    let hash = text
        .bytes()
        .fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
    let head: String = text.chars().take(47).collect();
    TaskId::new(format!("{head}-{hash:016x}")).ok()
}

/// Whether the extras of a layout hold a permit.
pub fn has_permit(layout: &Layout<'_>, book: &crate::domain::book::PriceBook) -> bool {
    layout.extras.iter().any(|e| book.item(&e.item).is_some_and(|i| i.category == Category::Permit))
}

/// Machines, people and minutes of tasks done together: hours one after the other, of each trade the most.
pub(super) fn work_of(labor: &LaborHours, made_of: &[(usize, i64)]) -> Option<Work> {
    let tasks: Vec<&TaskHours> = made_of.iter().filter_map(|(i, _)| labor.tasks.get(*i)).collect();
    let mut trades: Vec<TradeNeed> = Vec::new();
    let mut machines: BTreeSet<MachineId> = BTreeSet::new();
    for task in &tasks {
        for member in &task.crew {
            let (trade, people) = (TradeId::new(&member.trade).ok()?, u32::try_from(member.count).ok()?);
            match trades.iter_mut().find(|t| t.trade == trade) {
                Some(have) => have.people = have.people.max(people),
                None => trades.push(TradeNeed { trade, people }),
            }
        }
        machines.extend(task.equipment.iter().filter_map(|e| MachineId::new(e.as_str()).ok()));
    }
    let minutes: i64 = made_of.iter().map(|(_, m)| *m).sum();
    let is = |of: fn(Task) -> bool| tasks.iter().any(|t| of(t.task));
    Some(Work {
        crew_hours: minutes as f64 / 60.0,
        trades,
        crew: None,
        machines: machines.into_iter().map(|machine| MachineNeed { machine, count: 1 }).collect(),
        within_one_day: is(places_concrete),
        breaks_ground: is(breaks_ground),
        places_concrete: is(places_concrete),
    })
}

/// The tasks as they grow.
struct Growing<'a> {
    labor: &'a LaborHours,
    items: Vec<Item>,
}

impl Growing<'_> {
    fn place(&self, task: Task) -> Option<usize> {
        self.labor.tasks.iter().position(|t| t.task == task)
    }

    fn push(
        &mut self,
        name: &str,
        mut task: PlanTask,
        after: &[TaskId],
        item: (Vec<(usize, i64)>, Option<About>),
    ) -> Vec<TaskId> {
        let mut seen = BTreeSet::new();
        for before in after.iter().filter(|b| seen.insert((*b).clone())) {
            task = task.after(before);
        }
        name.clone_into(&mut task.name);
        let ids = vec![task.id.clone()];
        self.items.push(Item { task, made_of: item.0, part: item.1, why: None, pour_day: None });
        ids
    }

    /// Work of one task on one part, or on the whole job; what follows when there is no such work.
    fn work(
        &mut self,
        task: Task,
        part: Option<(&str, &str)>,
        minutes: i64,
        after: &[TaskId],
    ) -> Vec<TaskId> {
        let name = task.word().replace('_', " ");
        let (key, label, of) = match part {
            Some((kind, code)) => (
                format!("{}.{kind}.{code}", task.word()),
                format!("{name}: {kind} {code}"),
                Some(About { text: format!("{kind} {code}"), codes: vec![code.to_owned()] }),
            ),
            None => (task.word().to_owned(), name, None),
        };
        let (Some(id), Some(place), true) = (id(&key), self.place(task), minutes > 0) else {
            return after.to_vec();
        };
        let made_of = vec![(place, minutes)];
        match work_of(self.labor, &made_of) {
            Some(work) => self.push(&capital(&label), PlanTask::work(id, "", work), after, (made_of, of)),
            None => after.to_vec(),
        }
    }

    /// The way back to the site, when the crew was away.
    fn mobilize_again(&mut self, minutes: i64, after: &[TaskId]) -> Vec<TaskId> {
        let made_of: Vec<(usize, i64)> =
            self.place(Task::Mobilize).map(|p| (p, minutes)).into_iter().collect();
        match id("mobilize.2").zip(work_of(self.labor, &made_of)) {
            Some((id, work)) => {
                self.push("Mobilize: return", PlanTask::work(id, "", work), after, (made_of, None))
            }
            None => after.to_vec(),
        }
    }

    fn wait(&mut self, key: &str, name: &str, wait: Wait, after: &[TaskId]) -> Vec<TaskId> {
        match id(key) {
            Some(id) => self.push(name, PlanTask::wait(id, "", wait), after, (Vec::new(), None)),
            None => after.to_vec(),
        }
    }

    fn hold(&mut self, hold: HoldKind) {
        if let Some(item) = self.items.last_mut() {
            item.task.hold = Some(hold);
        }
    }

    fn why(&mut self, why: String) {
        if let Some(item) = self.items.last_mut() {
            item.why = Some(why);
        }
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Whether the crew comes back once the concrete is cured: the notes count a visit for it, and the site is cleared up then.
pub(super) fn crew_returns(layout: &Layout<'_>, office: &Office) -> bool {
    layout.visits > 1
        && office.waits.clear_up == ClearUpWhen::AfterCure
        && layout.runs.iter().any(|r| r.crossing.is_wheeled())
}

/// The tasks of a job in the order in which they are usually done.
pub fn tasks(source: &Source<'_, '_>) -> Vec<Item> {
    let Source { layout, labor, parts, office, permit } = source;
    let mut all = Growing { labor, items: Vec::new() };
    let whole = |task: Task| {
        labor.tasks.iter().position(|t| t.task == task).and_then(|i| parts.whole.get(i).copied()).unwrap_or(0)
    };
    let waits = &office.waits;
    let mut ready =
        all.wait("call_for_marks", "Call for utility marks", Wait::Marks(waits.marks.clone()), &[]);
    if *permit && waits.permit > 0 {
        ready.extend(all.wait("permit", "Permit", Wait::WorkingDays(waits.permit), &[]));
    }
    let again = if crew_returns(layout, office) { whole(Task::Mobilize) / layout.visits } else { 0 };
    let site = all.work(Task::Mobilize, None, whole(Task::Mobilize) - again, &ready);
    let site = all.work(Task::MarkAndProtect, None, whole(Task::MarkAndProtect), &site);

    // Runs up to the pour.
    let mut dug: Vec<TaskId> = Vec::new();
    let mut hung: Vec<Vec<TaskId>> = Vec::new();
    for (r, run) in layout.runs.iter().enumerate() {
        let part = Some(("run", run.id.as_str()));
        let step = |all: &mut Growing<'_>, task: Task, after: &[TaskId]| {
            all.work(task, part, parts.of(task, r), after)
        };
        let sawn = step(&mut all, Task::SawCut, &site);
        let broken = step(&mut all, Task::BreakOut, &sawn);
        let open = step(&mut all, Task::DigRun, &broken);
        dug.extend(open.iter().cloned());
        let formed = step(&mut all, Task::Form, &open);
        let assembled = step(&mut all, Task::AssembleChannel, &site);
        let fitted = step(&mut all, Task::FitGrates, &assembled);
        let both: Vec<TaskId> = formed.into_iter().chain(fitted).collect();
        hung.push(step(&mut all, Task::HangAndBrace, &both));
    }

    // Lines, the lower before those that join it.
    let count = layout.runs.len();
    let mut laid: BTreeMap<usize, Vec<TaskId>> = BTreeMap::new();
    let mut connected: BTreeMap<usize, Vec<TaskId>> = BTreeMap::new();
    let mut filled: BTreeMap<usize, Vec<TaskId>> = BTreeMap::new();
    for &l in layout.flow_order.iter().rev() {
        let Some(line) = layout.lines.get(l) else { continue };
        let part = Some(("line", line.id.as_str()));
        let step = |all: &mut Growing<'_>, task: Task, after: &[TaskId]| {
            all.work(task, part, parts.of(task, count + l), after)
        };
        let sawn = step(&mut all, Task::SawCut, &site);
        let broken = step(&mut all, Task::BreakOut, &sawn);
        let mut open = step(&mut all, Task::DigLine, &broken);
        dug.extend(open.iter().cloned());
        // Pipe is laid from the lower end up.
        open.extend(line.joins.iter().flat_map(|to| laid.get(&to.line)).flatten().cloned());
        let pipe = step(&mut all, Task::LayPipe, &open);
        let mut ends = pipe.clone();
        laid.insert(l, pipe);
        ends.extend(line.from.iter().filter_map(|feed| hung.get(feed.run)).flatten().cloned());
        let joined = step(&mut all, Task::Connect, &ends);
        filled.insert(l, step(&mut all, Task::Backfill, &joined));
        connected.insert(l, joined);
    }

    // Pours.
    let mode = layout.schedule.and_then(|s| s.pours).unwrap_or(PourPlan::Together);
    let groups = pours(source, mode);
    let mut poured: BTreeMap<usize, Vec<TaskId>> = BTreeMap::new();
    let mut stripped_after: BTreeMap<usize, Vec<TaskId>> = BTreeMap::new();
    let mut opens: Vec<TaskId> = Vec::new();
    let mut wheel_opens: Vec<TaskId> = Vec::new();
    // Another pour day of the notes is another day of the calendar.
    let mut pour_day: Option<i64> = None;
    let (mut placed, mut day_after): (Vec<TaskId>, Vec<TaskId>) = (Vec::new(), Vec::new());
    for (n, pour) in groups.iter().enumerate() {
        let n = n + 1;
        if pour_day.is_some_and(|d| d != pour.day) {
            let name = format!("Day before pour day {}", pour.day);
            day_after = all.wait(&format!("pour_day.{}", pour.day), &name, Wait::RestOfDay, &placed);
        }
        pour_day = Some(pour.day);
        let mut before: Vec<TaskId> = day_after.clone();
        for part in &pour.parts {
            match part.checked_sub(count) {
                None => {
                    before.extend(hung.get(*part).into_iter().flatten().cloned());
                    let drains = layout
                        .lines
                        .iter()
                        .enumerate()
                        .filter(|(_, l)| l.from.iter().any(|f| f.run == *part));
                    before.extend(drains.filter_map(|(l, _)| connected.get(&l)).flatten().cloned());
                }
                Some(l) => before.extend(filled.get(&l).into_iter().flatten().cloned()),
            }
            // A part poured on several days: one after the other.
            before.extend(poured.get(part).into_iter().flatten().cloned());
        }
        let what = names(layout, &pour.parts, pour.piece);
        if office.waits.inspection > 0 {
            before = all.wait(
                &format!("inspection.{n}"),
                &format!("Inspection before the pour: {what}"),
                Wait::WorkingDays(office.waits.inspection),
                &before,
            );
            all.hold(HoldKind::InspectionBeforePour);
        }
        let Some((key, work)) = id(&format!("pour.{n}")).zip(work_of(labor, &pour.made_of)) else { continue };
        let done = all.push(
            &format!("Place and finish concrete: {what}"),
            PlanTask::work(key, "", work),
            &before,
            (pour.made_of.clone(), Some(About { text: what.clone(), codes: codes(layout, &pour.parts) })),
        );
        if let Some(item) = all.items.last_mut() {
            item.pour_day = Some(pour.day);
        }
        placed.extend(done.iter().cloned());
        let set = match office.waits.strip {
            0 => done.clone(),
            days => all.wait(
                &format!("set.{n}"),
                &format!("Set before stripping: {what}"),
                Wait::CalendarDays(days),
                &done,
            ),
        };
        for part in &pour.parts {
            poured.insert(*part, done.clone());
            stripped_after.insert(*part, set.clone());
        }
        for (key, crossed, parts) in crossed_by(layout, pour) {
            let what = names(layout, &parts, pour.piece);
            let wheels = crossed == CrossedBy::Wheels;
            let (cure, why) = if wheels { &waits.wheels } else { &waits.feet };
            let cured = all.wait(
                &format!("cure.{n}{key}"),
                &format!("Cure: {what}"),
                Wait::Cure(cure.clone()),
                &done,
            );
            all.why(why.clone());
            let Some(id) = id(&format!("open.{n}{key}")) else { continue };
            let (name, hold) = if wheels {
                ("Open to wheels after this day", HoldKind::WheelsMayCross)
            } else {
                ("Open to people after this day", HoldKind::PeopleMayCross)
            };
            let task = PlanTask::milestone(id, "").holding(hold);
            let open = all.push(&format!("{name}: {what}"), task, &cured, (Vec::new(), None));
            opens.extend(open.iter().cloned());
            if wheels {
                wheel_opens.extend(open);
            }
        }
    }

    // What is left of runs and lines.
    let mut ends: Vec<TaskId> = Vec::new();
    for (r, run) in layout.runs.iter().enumerate() {
        let part = Some(("run", run.id.as_str()));
        let after = stripped_after.get(&r).or_else(|| hung.get(r)).cloned().unwrap_or_else(|| site.clone());
        let stripped = all.work(Task::StripAndClean, part, parts.of(Task::StripAndClean, r), &after);
        let filled = all.work(Task::Backfill, part, parts.of(Task::Backfill, r), &stripped);
        ends.extend(all.work(Task::Restore, part, parts.of(Task::Restore, r), &filled));
    }
    for (l, line) in layout.lines.iter().enumerate() {
        let part = Some(("line", line.id.as_str()));
        let mut after = filled.get(&l).cloned().unwrap_or_else(|| site.clone());
        after.extend(poured.get(&(count + l)).into_iter().flatten().cloned());
        let cleaned = all.work(Task::StripAndClean, part, parts.of(Task::StripAndClean, count + l), &after);
        ends.extend(all.work(Task::Restore, part, parts.of(Task::Restore, count + l), &cleaned));
    }
    let hauled_after = if dug.is_empty() { site } else { dug };
    ends.extend(all.work(Task::Haul, None, whole(Task::Haul), &hauled_after));
    if office.waits.clear_up == ClearUpWhen::AfterCure {
        ends.extend(wheel_opens);
    }
    if again > 0 {
        ends = all.mobilize_again(again, &ends);
    }
    let cleared = all.work(Task::ClearUp, None, whole(Task::ClearUp), &ends);
    if let Some(key) = id("complete") {
        let after: Vec<TaskId> = cleared.into_iter().chain(opens).collect();
        all.push("Complete", PlanTask::milestone(key, ""), &after, (Vec::new(), None));
    }
    all.items
}

/// What crosses the concrete of a pour once it has cured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum CrossedBy {
    Wheels,
    People,
}

/// The parts of a pour by what crosses them, with what makes the ids of their cure: where wheels cross one run, the runs that
/// only people cross are open to them before.
fn crossed_by(layout: &Layout<'_>, pour: &Pour) -> Vec<(&'static str, CrossedBy, Vec<usize>)> {
    let of = |wheeled: bool| {
        move |p: &usize| layout.runs.get(*p).is_some_and(|r| r.crossing.is_wheeled() == wheeled)
    };
    if !pour.parts.iter().any(of(true)) {
        return vec![("", CrossedBy::People, pour.parts.clone())];
    }
    let (people, wheels): (Vec<usize>, Vec<usize>) = pour.parts.iter().copied().partition(of(false));
    let mut out = vec![("", CrossedBy::Wheels, wheels)];
    if !people.is_empty() {
        out.push((".people", CrossedBy::People, people));
    }
    out
}
