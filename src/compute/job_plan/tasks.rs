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

use super::about::About;
use super::growing::{Growing, Part};
use super::office::Office;
use super::parts::Parts;
use super::placing;
use crate::compute::labor::{LaborHours, TaskHours};
use crate::compute::plan::{
    MachineId, MachineNeed, Task as PlanTask, TaskId, TradeId, TradeNeed, Wait, Work,
};
use crate::domain::layout::{Layout, Line, Run};
use crate::domain::words::{Category, Task};
use crate::domain::work::{breaks_ground, places_concrete};
use crate::wire::book::planning::ClearUpWhen;
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
pub(super) fn id(text: &str) -> Option<TaskId> {
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

/// Whether the crew comes back once the concrete is cured: the notes count a visit for it, and the site is cleared up then.
pub(super) fn crew_returns(layout: &Layout<'_>, office: &Office) -> bool {
    layout.visits > 1
        && office.waits.clear_up == ClearUpWhen::AfterCure
        && layout.runs.iter().any(|r| r.crossing.is_wheeled())
}

/// The tasks of a job in the order in which they are usually done.
pub fn tasks(source: &Source<'_, '_>) -> Vec<Item> {
    let mut all = Growing::of(source);
    let returns = crew_returns(source.layout, source.office);
    let again = if returns { all.whole(Task::Mobilize) / source.layout.visits } else { 0 };
    let mut done = Done { site: on_site(source, again, &mut all), ..Done::default() };
    runs(source, &mut done, &mut all);
    lines(source, &mut done, &mut all);
    placing::pour_all(source, &mut done, &mut all);
    let ends = rest(source, &done, &mut all);
    end(source, done, ends, again, &mut all);
    all.items
}

/// The last tasks of what is done, for those that wait for it.
#[derive(Default)]
pub(super) struct Done {
    /// The crew is there and the work marked.
    site: Vec<TaskId>,
    /// Everything is dug.
    dug: Vec<TaskId>,
    /// Channel hangs in the trench, by run.
    pub(super) hung: Vec<Vec<TaskId>>,
    /// What is done of each line.
    pub(super) lines: BTreeMap<usize, Laid>,
    /// What is poured of each part.
    pub(super) poured: BTreeMap<usize, Poured>,
    /// The last pours of all.
    pub(super) placed: Vec<TaskId>,
    /// Concrete is open to what crosses it.
    pub(super) open: Vec<TaskId>,
    /// Concrete is open to wheels.
    pub(super) open_to_wheels: Vec<TaskId>,
}

/// What is done of a line.
pub(super) struct Laid {
    pipe: Vec<TaskId>,
    pub(super) connected: Vec<TaskId>,
    pub(super) filled: Vec<TaskId>,
}

/// What is done of a part that was poured.
pub(super) struct Poured {
    pub(super) placed: Vec<TaskId>,
    /// It has set, and forms may be stripped.
    pub(super) set: Vec<TaskId>,
}

/// Notices and permit, then the crew.
fn on_site(source: &Source<'_, '_>, again: i64, all: &mut Growing<'_>) -> Vec<TaskId> {
    let waits = &source.office.waits;
    let mut ready =
        all.wait("call_for_marks", "Call for utility marks", Wait::Marks(waits.marks.clone()), &[]);
    if source.permit && waits.permit > 0 {
        ready.extend(all.wait("permit", "Permit", Wait::WorkingDays(waits.permit), &[]));
    }
    let site = all.for_the_job(Task::Mobilize, all.whole(Task::Mobilize) - again, &ready);
    all.for_the_job(Task::MarkAndProtect, all.whole(Task::MarkAndProtect), &site)
}

fn of_run<'r>(place: usize, run: &Run<'r>) -> Part<'r> {
    Part { kind: "run", code: run.id.as_str(), place }
}

fn of_line<'r>(source: &Source<'_, '_>, index: usize, line: &Line<'r>) -> Part<'r> {
    Part { kind: "line", code: line.id.as_str(), place: source.layout.runs.len() + index }
}

/// Runs up to the pour.
fn runs(source: &Source<'_, '_>, done: &mut Done, all: &mut Growing<'_>) {
    for (r, run) in source.layout.runs.iter().enumerate() {
        let part = of_run(r, run);
        let sawn = all.on(Task::SawCut, part, &done.site);
        let broken = all.on(Task::BreakOut, part, &sawn);
        let open = all.on(Task::DigRun, part, &broken);
        done.dug.extend(open.iter().cloned());
        let mut both = all.on(Task::Form, part, &open);
        let assembled = all.on(Task::AssembleChannel, part, &done.site);
        both.extend(all.on(Task::FitGrates, part, &assembled));
        done.hung.push(all.on(Task::HangAndBrace, part, &both));
    }
}

/// Lines up to the fill, the lower before those that join it.
fn lines(source: &Source<'_, '_>, done: &mut Done, all: &mut Growing<'_>) {
    for &l in source.layout.flow_order.iter().rev() {
        let Some(line) = source.layout.lines.get(l) else { continue };
        let part = of_line(source, l, line);
        let sawn = all.on(Task::SawCut, part, &done.site);
        let broken = all.on(Task::BreakOut, part, &sawn);
        let mut open = all.on(Task::DigLine, part, &broken);
        done.dug.extend(open.iter().cloned());
        // Pipe is laid from the lower end up.
        let lower = line.joins.and_then(|to| done.lines.get(&to.line));
        open.extend(lower.into_iter().flat_map(|lower| &lower.pipe).cloned());
        let pipe = all.on(Task::LayPipe, part, &open);
        let mut ends = pipe.clone();
        ends.extend(line.from.iter().filter_map(|feed| done.hung.get(feed.run)).flatten().cloned());
        let connected = all.on(Task::Connect, part, &ends);
        let filled = all.on(Task::Backfill, part, &connected);
        done.lines.insert(l, Laid { pipe, connected, filled });
    }
}

/// What is left of runs and lines.
fn rest(source: &Source<'_, '_>, done: &Done, all: &mut Growing<'_>) -> Vec<TaskId> {
    let layout = source.layout;
    let mut ends = Vec::new();
    for (r, run) in layout.runs.iter().enumerate() {
        let part = of_run(r, run);
        let poured = done.poured.get(&r).map(|poured| &poured.set);
        let after = poured.or_else(|| done.hung.get(r)).unwrap_or(&done.site);
        let stripped = all.on(Task::StripAndClean, part, after);
        let filled = all.on(Task::Backfill, part, &stripped);
        ends.extend(all.on(Task::Restore, part, &filled));
    }
    for (l, line) in layout.lines.iter().enumerate() {
        let part = of_line(source, l, line);
        let mut after = done.lines.get(&l).map_or(&done.site, |laid| &laid.filled).clone();
        after.extend(done.poured.get(&part.place).into_iter().flat_map(|poured| &poured.placed).cloned());
        let cleaned = all.on(Task::StripAndClean, part, &after);
        ends.extend(all.on(Task::Restore, part, &cleaned));
    }
    ends
}

/// What the whole job ends with.
fn end(source: &Source<'_, '_>, done: Done, mut ends: Vec<TaskId>, again: i64, all: &mut Growing<'_>) {
    let hauled_after = if done.dug.is_empty() { done.site } else { done.dug };
    ends.extend(all.for_the_job(Task::Haul, all.whole(Task::Haul), &hauled_after));
    if source.office.waits.clear_up == ClearUpWhen::AfterCure {
        ends.extend(done.open_to_wheels);
    }
    if again > 0 {
        ends = all.mobilize_again(again, &ends);
    }
    let mut after = all.for_the_job(Task::ClearUp, all.whole(Task::ClearUp), &ends);
    if let Some(key) = id("complete") {
        after.extend(done.open);
        all.push("Complete", PlanTask::milestone(key, ""), &after, (Vec::new(), None));
    }
}
