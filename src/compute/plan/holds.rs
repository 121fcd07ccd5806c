//! Hold points, and what a plan's reader must be told.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::{
    ids::TaskId,
    request::{HoldKind, PlanRequest, Progress, Task, TaskKind, Wait},
    result::{HoldPoint, Plan, PlanCaution},
    schedule::Draft,
    times::status_date_over,
};
use crate::compute::calendar::{CalendarError, Moment, count::add_calendar_days};

/// The hold points of a plan, in order of their day.
pub(super) fn hold_points(
    request: &PlanRequest,
    draft: &mut Draft<'_>,
    plan: &Plan,
) -> Result<Vec<HoldPoint>, CalendarError> {
    let mut points = Vec::new();
    let before = Before::of(draft);
    for (index, task) in request.tasks.iter().enumerate() {
        let marks = match &task.kind {
            TaskKind::Wait(Wait::Marks(notice)) => Some(notice),
            _ => None,
        };
        let Some(kind) = task.hold.clone().or_else(|| marks.map(|_| HoldKind::CallBeforeDigging)) else {
            continue;
        };
        let (Some(planned), Some(&span)) = (plan.tasks.get(index), draft.spans.get(index)) else {
            continue;
        };
        // What came after it is done: there is nothing left to stop.
        if draft.network.nodes.get(index).is_some_and(|n| n.overtaken) {
            continue;
        }
        let mut then_from = free_from(draft, span.finish)?;
        let follows = next_start(request, plan, &task.id).filter(|next| *next >= then_from);
        let name = &task.name;
        let (on, no_later_than, text) = match (&kind, marks) {
            (HoldKind::CallBeforeDigging, Some(notice)) => {
                let call_for = call_for_marks(name);
                let call = planned.planned.start.date;
                let calendar = request.notice_calendar.as_ref().unwrap_or(&request.calendar);
                let latest = notice.latest_call(calendar, follows.unwrap_or(then_from))?.max(call);
                let text = format!(
                    "{call_for} on {call}, at the latest on {latest}; no digging before {then_from} \
                     and not before the marks are there"
                );
                (call, Some(latest), text)
            }
            (HoldKind::CallBeforeDigging, None) => {
                let day = planned.planned.start.date;
                let call_for = call_for_marks(name);
                (day, None, format!("{call_for} on {day}; no digging before {then_from}"))
            }
            (HoldKind::InspectionBeforePour, _) => {
                let day = planned.planned.finish.date;
                (day, None, format!("{name}: inspection passed by {day}; no concrete before it is"))
            }
            (HoldKind::WheelsMayCross | HoldKind::PeopleMayCross, _) => {
                let mut day = planned.planned.finish.date;
                // a point that is reported was reached on its day
                if matches!((&task.kind, task.progress), (TaskKind::Milestone, Progress::Finished { .. })) {
                    then_from = day;
                }
                if let Some(cured) = cured_before(request, draft, &before, index)? {
                    day = draft.lines.crew.date(cured)?;
                    then_from = then_from.max(free_from(draft, cured)?);
                }
                let text = match kind {
                    HoldKind::PeopleMayCross => {
                        format!("{name}: cure complete {day}; people may walk on it from {then_from}")
                    }
                    _ => format!("{name}: cure complete {day}; no wheels before {then_from}"),
                };
                (day, None, text)
            }
        };
        points.push(HoldPoint { kind, task: task.id.clone(), on, no_later_than, then_from, text });
    }
    points.sort_by(|a, b| a.on.cmp(&b.on).then_with(|| a.task.cmp(&b.task)));
    Ok(points)
}

/// When everything that cures before a task is cured by its rule.
fn cured_before(
    request: &PlanRequest,
    draft: &mut Draft<'_>,
    before: &Before,
    at: usize,
) -> Result<Option<Moment>, CalendarError> {
    let mut cured = None;
    for index in before.places(at) {
        if let Some(task) = request.tasks.get(index).filter(|t| is_cure(t)) {
            cured = cured.max(over_by_rule(draft, index, task)?);
        }
    }
    Ok(cured)
}

fn is_cure(task: &Task) -> bool {
    matches!(task.kind, TaskKind::Wait(Wait::Cure(_)))
}

/// When the days of a wait that passes by itself are over by its rule: counted from what comes before it, whatever is reported
/// of the wait itself. `None` for all else.
fn over_by_rule(draft: &mut Draft<'_>, index: usize, task: &Task) -> Result<Option<Moment>, CalendarError> {
    let (TaskKind::Wait(wait), Some(node), Some(span)) =
        (&task.kind, draft.network.nodes.get(index), draft.spans.get(index))
    else {
        return Ok(None);
    };
    let from = draft.network.released(&mut draft.lines, node, &draft.spans)?.unwrap_or(span.start);
    Ok(match wait {
        Wait::Cure(cure) => Some(cure.done(from)),
        Wait::CalendarDays(days) => Some(from.plus_days(i64::from(*days))),
        Wait::RestOfDay => Some(Moment::end_of_day(from.day())),
        Wait::Marks(_) | Wait::WorkingDays(_) | Wait::Until(_) => None,
    })
}

/// The first date on which something may follow: the same date, or the next when its work is over.
fn free_from(draft: &mut Draft<'_>, finish: Moment) -> Result<Date, CalendarError> {
    let date = draft.lines.crew.date(finish)?;
    let over = finish.minute() > 0 && finish.minute() >= draft.lines.crew.capacity(finish.day())?;
    if over { add_calendar_days(date, 1) } else { Ok(date) }
}

fn next_start(request: &PlanRequest, plan: &Plan, id: &TaskId) -> Option<Date> {
    let follows = |task: &Task| task.predecessors.iter().any(|p| p.task == *id);
    let pairs = request.tasks.iter().zip(&plan.tasks);
    pairs.filter(|(task, _)| follows(task)).map(|(_, planned)| planned.planned.start.date).min()
}

/// What the reader must know about a plan.
pub(super) fn cautions(
    request: &PlanRequest,
    draft: &mut Draft<'_>,
    plan: &Plan,
) -> Result<Vec<PlanCaution>, CalendarError> {
    let before = Before::of(draft);
    let index: BTreeMap<&TaskId, usize> = request.tasks.iter().enumerate().map(|(i, t)| (&t.id, i)).collect();
    let mut cautions = Vec::new();
    let open =
        |t: &Task| matches!(t.kind, TaskKind::Work(_)) && !matches!(t.progress, Progress::Finished { .. });
    if let Some(status) = status_date_over(request).filter(|_| request.tasks.iter().any(open)) {
        cautions.push(PlanCaution::StatusDateOver { status });
    }
    for (at, task) in request.tasks.iter().enumerate() {
        sequence(request, &index, task, &mut cautions);
        too_soon(request, draft, &before, at, &mut cautions)?;
        if let (Some(due), Some(status)) = (draft.due_day(at, task)?, request.status_date) {
            cautions.push(PlanCaution::WaitNotEnded { task: task.id.clone(), due, status });
        }
        let TaskKind::Work(work) = &task.kind else {
            if task.hold == Some(HoldKind::WheelsMayCross)
                && !before.tasks(request, at).iter().any(|t| is_cure(t))
                && !is_cure(task)
            {
                cautions.push(PlanCaution::WheelsWithoutCure { task: task.id.clone() });
            }
            continue;
        };
        let inspection_due = work.places_concrete && request.settings.inspection_before_pour;
        let wheels = task.hold == Some(HoldKind::WheelsMayCross);
        if !(work.breaks_ground || inspection_due || wheels) {
            continue;
        }
        let earlier = before.tasks(request, at);
        if work.breaks_ground {
            let marks: Vec<&&Task> =
                earlier.iter().filter(|t| matches!(t.kind, TaskKind::Wait(Wait::Marks(_)))).collect();
            if marks.is_empty() {
                cautions.push(PlanCaution::GroundWithoutMarks { task: task.id.clone() });
            }
            for marks in marks {
                cautions.extend(lapse(plan, marks, task)?);
            }
        }
        if inspection_due && !earlier.iter().any(|t| t.hold == Some(HoldKind::InspectionBeforePour)) {
            cautions.push(PlanCaution::PourWithoutInspection { task: task.id.clone() });
        }
        if wheels && !earlier.iter().any(|t| is_cure(t)) {
            cautions.push(PlanCaution::WheelsWithoutCure { task: task.id.clone() });
        }
    }
    Ok(cautions)
}

fn lapse(plan: &Plan, marks: &Task, task: &Task) -> Result<Option<PlanCaution>, CalendarError> {
    let TaskKind::Wait(Wait::Marks(notice)) = &marks.kind else {
        return Ok(None);
    };
    let (Some(call), Some(work)) = (plan.task(&marks.id), plan.task(&task.id)) else {
        return Ok(None);
    };
    let finish = work.planned.finish.date;
    Ok(notice.marks_lapse(call.planned.start.date)?.filter(|lapse| *lapse < finish).map(|lapse| {
        PlanCaution::MarksLapse { marks: marks.id.clone(), lapse, task: task.id.clone(), finish }
    }))
}

fn sequence(
    request: &PlanRequest,
    index: &BTreeMap<&TaskId, usize>,
    task: &Task,
    cautions: &mut Vec<PlanCaution>,
) {
    if task.progress == Progress::NotStarted {
        return;
    }
    if let (Progress::Started { remaining_crew_hours: None, .. }, TaskKind::Work(_)) =
        (task.progress, &task.kind)
    {
        cautions.push(PlanCaution::RemainingAssumed { task: task.id.clone() });
    }
    for link in &task.predecessors {
        let before = index.get(&link.task).and_then(|i| request.tasks.get(*i));
        // a cure or a point is seldom reported; only work and waits that someone must end count
        let open =
            before.filter(|t| !matches!(t.progress, Progress::Finished { .. })).filter(|t| match &t.kind {
                TaskKind::Work(_) => true,
                TaskKind::Wait(wait) => !wait.passes_by_itself(),
                TaskKind::Milestone => false,
            });
        if let Some(open) = open {
            let (task_id, predecessor) = (task.id.clone(), open.id.clone());
            cautions.push(match (task.progress, &task.kind) {
                (Progress::Finished { .. }, _) => {
                    PlanCaution::FinishedOutOfSequence { task: task_id, predecessor }
                }
                (_, TaskKind::Work(_)) => PlanCaution::OutOfSequence { task: task_id, predecessor },
                _ => PlanCaution::WaitOutOfSequence { task: task_id, predecessor },
            });
        }
    }
}

/// What is reported of a task before the days of a wait that passes by itself are over: its own, those right before it, and all
/// cures before wheels cross.
fn too_soon(
    request: &PlanRequest,
    draft: &mut Draft<'_>,
    before: &Before,
    at: usize,
    cautions: &mut Vec<PlanCaution>,
) -> Result<(), CalendarError> {
    let Some(task) = request.tasks.get(at) else { return Ok(()) };
    let (on, finish) = match (task.progress, &task.kind) {
        (Progress::NotStarted, _) => return Ok(()),
        (Progress::Started { on, .. }, _) => (on, None),
        // a point is reached on one day
        (Progress::Finished { finish, .. }, TaskKind::Milestone) => (finish, Some(finish)),
        (Progress::Finished { start, finish }, _) => (start, Some(finish)),
    };
    if let (Some(finish), Some(over)) = (finish, over_by_rule(draft, at, task)?) {
        let over = draft.lines.crew.date(over)?;
        if finish < over {
            cautions.push(PlanCaution::EndedTooSoon { wait: task.id.clone(), finish, over });
        }
    }
    let right_before = draft.network.nodes.get(at).into_iter().flat_map(|n| &n.predecessors).map(|p| p.node);
    let mut waits: BTreeSet<usize> = right_before.collect();
    if task.hold == Some(HoldKind::WheelsMayCross) {
        waits.extend(before.places(at).filter(|i| request.tasks.get(*i).is_some_and(is_cure)));
    }
    for index in waits {
        let Some(wait) = request.tasks.get(index) else { continue };
        let Some(end) = over_by_rule(draft, index, wait)? else { continue };
        let over = draft.lines.crew.date(end)?;
        // a point is reached at the end of the last day, work begins after it
        let first = match task.kind {
            TaskKind::Work(_) if is_cure(wait) => free_from(draft, end)?,
            _ => over,
        };
        if on < first {
            let (task, wait) = (task.id.clone(), wait.id.clone());
            cautions.push(PlanCaution::BegunTooSoon { task, on, wait, over });
        }
    }
    Ok(())
}

/// What is done on the day of a call: what the task is called says it already where it is the usual name.
fn call_for_marks(name: &str) -> String {
    const CALL: &str = "call for utility marks";
    if name.eq_ignore_ascii_case(CALL) { name.to_owned() } else { format!("{name}: {CALL}") }
}

/// For each task, every task that comes before it.
struct Before {
    words: usize,
    bits: Vec<u64>,
}

impl Before {
    fn of(draft: &Draft<'_>) -> Self {
        let nodes = &draft.network.nodes;
        let words = nodes.len().div_ceil(64);
        let mut bits = vec![0_u64; words * nodes.len()];
        for &index in &draft.network.order {
            let mut row = vec![0_u64; words];
            for link in nodes.get(index).iter().flat_map(|n| &n.predecessors) {
                let earlier = bits.get(link.node * words..(link.node + 1) * words).unwrap_or_default();
                for (word, other) in row.iter_mut().zip(earlier) {
                    *word |= other;
                }
                if let Some(word) = row.get_mut(link.node / 64) {
                    *word |= 1 << (link.node % 64);
                }
            }
            if let Some(slot) = bits.get_mut(index * words..(index + 1) * words) {
                slot.copy_from_slice(&row);
            }
        }
        Before { words, bits }
    }

    fn places(&self, at: usize) -> impl Iterator<Item = usize> + use<'_> {
        let row = self.bits.get(at * self.words..(at + 1) * self.words).unwrap_or_default();
        (0..64 * self.words).filter(|i| row.get(i / 64).is_some_and(|word| word >> (i % 64) & 1 == 1))
    }

    fn tasks<'r>(&self, request: &'r PlanRequest, at: usize) -> Vec<&'r Task> {
        self.places(at).filter_map(|i| request.tasks.get(i)).collect()
    }
}
