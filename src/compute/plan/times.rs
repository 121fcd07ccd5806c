//! Rules, floors and reported progress of each node.

use jiff::civil::Date;

use super::{
    error::PlanErrors,
    network::{Kind, Lines, Network},
    request::{PlanRequest, Progress, Task, TaskKind, Wait},
};
use crate::compute::calendar::{CalendarError, Moment, WorkMinutes, WorkingCalendar};

/// As of when reports stand, and what is left goes on.
#[derive(Debug, Clone, Copy)]
struct AsOf {
    /// The day.
    day: Date,
    /// Whether it follows a status date that is over.
    after: bool,
}

impl AsOf {
    /// The status date, or the day after where work is reported finished on it; the start where nothing is reported.
    fn of(request: &PlanRequest, start: Date) -> Self {
        let given = request.status_date.unwrap_or(start);
        match status_date_over(request).and_then(|d| d.tomorrow().ok()) {
            Some(next) => Self { day: next, after: true },
            None => Self { day: given, after: false },
        }
    }

    /// The day on which what goes by a calendar goes on: after a status date that is over, the next open one.
    fn open_for(self, calendar: &WorkingCalendar) -> Result<Date, CalendarError> {
        if self.after { calendar.on_or_after(self.day) } else { Ok(self.day) }
    }
}

/// The status date, where work is reported finished on it: its reports are those of its end.
pub(super) fn status_date_over(request: &PlanRequest) -> Option<Date> {
    let status = request.status_date?;
    let ended = |task: &Task| {
        matches!(task.kind, TaskKind::Work(_))
            && matches!(task.progress, Progress::Finished { finish, .. } if finish == status)
    };
    request.tasks.iter().any(ended).then_some(status)
}

/// Sets what each node does with time, and when at the earliest, for a plan that begins on `start`.
pub(super) fn set_times(
    request: &PlanRequest,
    start: Date,
    network: &mut Network,
    lines: &mut Lines<'_>,
) -> Result<(), PlanErrors> {
    let day = |date: Date, lines: &Lines<'_>| Moment::start_of_day(lines.crew.day_of(date));
    let status = AsOf::of(request, start);
    let reached = day(status.open_for(&request.calendar)?, lines);
    let crew_begin = day(request.calendar.on_or_after(start)?, lines);
    let notice = request.notice_calendar.as_ref().unwrap_or(&request.calendar);
    for (index, task) in request.tasks.iter().enumerate() {
        let not_before = task.not_before.map_or(Moment(0), |d| day(d, lines));
        let rule = match &task.kind {
            TaskKind::Work(work) => Kind::Work { one_day: work.within_one_day },
            TaskKind::Wait(Wait::Marks(notice)) => Kind::Marks(notice.clone()),
            TaskKind::Wait(Wait::WorkingDays(n)) => Kind::WorkingDays(*n),
            TaskKind::Wait(Wait::CalendarDays(n)) => Kind::CalendarDays(*n),
            TaskKind::Wait(Wait::Cure(cure)) => Kind::Cure(cure.clone()),
            TaskKind::Wait(Wait::RestOfDay) => Kind::RestOfDay,
            TaskKind::Wait(Wait::Until(date)) => Kind::Until(day(*date, lines)),
            TaskKind::Milestone => Kind::Milestone,
        };
        // an office answers on days on which the crews are at home, and the other way round
        let begin = match rule {
            Kind::Marks(_) | Kind::WorkingDays(_) => day(notice.on_or_after(start)?, lines),
            Kind::CalendarDays(_) | Kind::RestOfDay | Kind::Until(_) => day(start, lines),
            _ => crew_begin,
        };
        // concrete sets and cures and points are reached whether or not anybody reports it; all else waits for the
        // status date
        let passive = match &task.kind {
            TaskKind::Work(_) => false,
            TaskKind::Wait(wait) => wait.passes_by_itself(),
            TaskKind::Milestone => true,
        } && !task.predecessors.is_empty();
        let from = match rule {
            Kind::Marks(_) | Kind::WorkingDays(_) => day(status.open_for(notice)?, lines),
            _ => reached,
        };
        let floor = if passive { not_before } else { begin.max(from).max(not_before) };
        let Some(node) = network.nodes.get_mut(index) else {
            continue;
        };
        (node.kind, node.floor) = (rule, floor);
        match task.progress {
            Progress::NotStarted => {}
            Progress::Finished { start, finish } => {
                // on a day without hours it took the day all the same
                let worked = i64::from(request.calendar.minutes_on(finish).minutes());
                let finish = match day(finish, lines) {
                    free if worked == 0 => Moment::end_of_day(free.day()),
                    open => Moment(open.0 + worked),
                };
                node.kind = Kind::Fixed { start: day(start, lines), finish };
            }
            Progress::Started { on, remaining_crew_hours } => {
                let on = day(on, lines);
                if node.is_work() {
                    node.began = Some(on);
                    node.floor = reached;
                    node.minutes = match remaining_crew_hours {
                        Some(hours) => i64::from(WorkMinutes::from_hours(hours)?.minutes().max(1)),
                        None => {
                            let done = lines.crew.worked(reached)? - lines.crew.worked(on)?;
                            (node.minutes - done).max(1)
                        }
                    };
                } else {
                    let node = node.clone();
                    let span = network.run(lines, &node, 0, on)?;
                    if let Some(slot) = network.nodes.get_mut(index) {
                        slot.kind = Kind::Fixed { start: on, finish: span.finish };
                    }
                }
            }
        }
    }
    Ok(())
}
