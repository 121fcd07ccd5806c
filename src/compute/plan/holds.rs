//! Hold points, and what a plan's reader must be told.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{
    ids::TaskId,
    request::{HoldKind, PlanRequest, Progress, Task, TaskKind, Wait},
    result::{HoldPoint, Plan, PlanCaution},
    schedule::Draft,
};
use crate::compute::calendar::{CalendarError, Moment, count::add_calendar_days};

/// The hold points of a plan, in order of their day.
pub(super) fn hold_points(
    request: &PlanRequest,
    draft: &mut Draft<'_>,
    plan: &Plan,
) -> Result<Vec<HoldPoint>, CalendarError> {
    let mut points = Vec::new();
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
        let free_from = free_from(draft, span.finish)?;
        let follows = next_start(request, plan, &task.id).filter(|next| *next >= free_from);
        let name = &task.name;
        let (on, no_later_than, text) = match (&kind, marks) {
            (HoldKind::CallBeforeDigging, Some(notice)) => {
                let call = planned.planned.start.date;
                let calendar = request.notice_calendar.as_ref().unwrap_or(&request.calendar);
                let latest = notice.latest_call(calendar, follows.unwrap_or(free_from))?.max(call);
                let text = format!(
                    "{name}: call for utility marks on {call}, at the latest on {latest}; no digging before {free_from} \
                     and not before the marks are there"
                );
                (call, Some(latest), text)
            }
            (HoldKind::CallBeforeDigging, None) => {
                let day = planned.planned.start.date;
                (day, None, format!("{name}: call for utility marks on {day}; no digging before {free_from}"))
            }
            (HoldKind::InspectionBeforePour, _) => {
                let day = planned.planned.finish.date;
                (day, None, format!("{name}: inspection passed by {day}; no concrete before it is"))
            }
            (HoldKind::WheelsMayCross, _) => {
                let day = planned.planned.finish.date;
                let text = format!("{name}: cure complete {day}; no wheels before {free_from}");
                (day, None, text)
            }
            (HoldKind::Other(words), _) => {
                let day = planned.planned.finish.date;
                (day, None, format!("{name}: {words} by {day}"))
            }
        };
        points.push(HoldPoint { kind, task: task.id.clone(), on, no_later_than, then_from: free_from, text });
    }
    points.sort_by(|a, b| a.on.cmp(&b.on).then_with(|| a.task.cmp(&b.task)));
    Ok(points)
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
    draft: &Draft<'_>,
    plan: &Plan,
) -> Result<Vec<PlanCaution>, CalendarError> {
    let before = Before::of(draft);
    let index: BTreeMap<&TaskId, usize> = request.tasks.iter().enumerate().map(|(i, t)| (&t.id, i)).collect();
    let mut cautions = Vec::new();
    for (at, task) in request.tasks.iter().enumerate() {
        sequence(request, &index, task, &mut cautions);
        let TaskKind::Work(work) = &task.kind else {
            if task.hold == Some(HoldKind::WheelsMayCross) {
                let cured = |t: &&Task| matches!(t.kind, TaskKind::Wait(Wait::Cure(_)));
                if !before.tasks(request, at).iter().any(cured) && !cured(&task) {
                    cautions.push(PlanCaution::WheelsWithoutCure { task: task.id.clone() });
                }
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
        if wheels && !earlier.iter().any(|t| matches!(t.kind, TaskKind::Wait(Wait::Cure(_)))) {
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
        let open = before
            .filter(|t| !matches!(t.progress, Progress::Finished { .. }))
            .filter(|t| !matches!(t.kind, TaskKind::Milestone | TaskKind::Wait(Wait::Cure(_))));
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

    fn tasks<'r>(&self, request: &'r PlanRequest, at: usize) -> Vec<&'r Task> {
        let row = self.bits.get(at * self.words..(at + 1) * self.words).unwrap_or_default();
        let is_before = |i: &usize| row.get(i / 64).is_some_and(|word| word >> (i % 64) & 1 == 1);
        request.tasks.iter().enumerate().filter(|(i, _)| is_before(i)).map(|(_, t)| t).collect()
    }
}
