//! Checks a request, naming every fault at once, and turns it into a network.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{
    error::{PlanError, PlanErrors},
    network::{Gap, Kind, Lines, Network, Node, Predecessor},
    order::sort,
    overtaken::settle,
    request::{Lag, PlanRequest, Progress, Task, TaskKind, Wait, Work},
    resources::Resources,
    times::set_times,
};
use crate::compute::calendar::{
    Moment, Timeline, WorkMinutes,
    count::{LONGEST_SPAN_DAYS, calendar_days_between},
    minutes::MOST_HOURS,
};

/// Checks `request` and builds its network for tasks that begin on `start` or the first day of their calendar after it.
pub(crate) fn compile(request: &PlanRequest, start: Date) -> Result<(Network, Lines<'_>), PlanErrors> {
    let mut faults = Vec::new();
    check_sizes(request, &mut faults);
    if !faults.is_empty() {
        return Err(PlanErrors(faults));
    }
    check_dates(request, start, &mut faults);
    let index = index_tasks(request, &mut faults);
    let resources = Resources::of(request, &mut faults);
    let longest = request.calendar.standard_day();
    let mut nodes = Vec::with_capacity(request.tasks.len());
    for (at, task) in request.tasks.iter().enumerate() {
        let at = format!("tasks[{at}] `{}`", task.id);
        let predecessors = links(task, &at, &index, &mut faults);
        let (minutes, mannings) = match &task.kind {
            TaskKind::Work(work) => {
                let minutes = work_minutes(work, &at, longest, &mut faults);
                (minutes, resources.mannings(work, &task.id, &at, &mut faults))
            }
            TaskKind::Wait(wait) => {
                check_wait(wait, &at, &mut faults);
                (0, Vec::new())
            }
            TaskKind::Milestone => (0, Vec::new()),
        };
        nodes.push(Node {
            kind: Kind::Milestone,
            minutes,
            predecessors,
            successors: Vec::new(),
            floor: Moment(0),
            began: None,
            overtaken: false,
            due: None,
            mannings,
        });
    }
    let order = match sort(&mut nodes) {
        Ok(order) => order,
        Err(circle) => {
            let path = circle.iter().filter_map(|i| request.tasks.get(*i)).map(|t| t.id.clone()).collect();
            faults.push(PlanError::Cycle { path });
            Vec::new()
        }
    };
    if !faults.is_empty() {
        return Err(PlanErrors(faults));
    }
    let first = first_day(request, start);
    let notice = request.notice_calendar.as_ref().unwrap_or(&request.calendar);
    let mut lines =
        Lines { crew: Timeline::new(&request.calendar, first), notice: Timeline::new(notice, first) };
    let longest_day = i64::from(longest.minutes());
    let hired = resources.of_machines(&request.settings.hired);
    let mut network = Network { nodes, order, limits: resources.limits, hired, longest_day };
    set_times(request, start, &mut network, &mut lines)?;
    settle(request, &mut network, &mut lines);
    Ok((network, lines))
}

fn check_sizes(request: &PlanRequest, faults: &mut Vec<PlanError>) {
    let (given, most) = (request.tasks.len(), request.settings.most_tasks);
    if given == 0 {
        faults.push(PlanError::NoTasks);
    }
    if given > most {
        faults.push(PlanError::TooManyTasks { given, most });
    }
    let (given, most) =
        (request.tasks.iter().map(|t| t.predecessors.len()).sum(), request.settings.most_links);
    if given > most {
        faults.push(PlanError::TooManyLinks { given, most });
    }
}

fn index_tasks<'a>(request: &'a PlanRequest, faults: &mut Vec<PlanError>) -> BTreeMap<&'a str, usize> {
    let mut index = BTreeMap::new();
    for (at, task) in request.tasks.iter().enumerate() {
        if index.insert(task.id.as_str(), at).is_some() {
            faults.push(PlanError::DuplicateId { at: format!("tasks[{at}].id"), id: task.id.to_string() });
        }
    }
    index
}

fn links(
    task: &Task,
    at: &str,
    index: &BTreeMap<&str, usize>,
    faults: &mut Vec<PlanError>,
) -> Vec<Predecessor> {
    let mut links = Vec::with_capacity(task.predecessors.len());
    for (number, link) in task.predecessors.iter().enumerate() {
        let at = format!("{at}.predecessors[{number}]");
        if let Lag::WorkingDays(value) | Lag::CalendarDays(value) = link.lag {
            check_days(value, &at, faults);
        }
        match (index.get(link.task.as_str()), Gap::of(link.lag)) {
            (Some(&node), Some(gap)) => links.push(Predecessor { node, gap }),
            (None, _) => faults.push(PlanError::UnknownPredecessor { at, task: link.task.clone() }),
            (_, None) => {
                if let Lag::WorkingHours(value) = link.lag {
                    faults.push(PlanError::LagHours { at, value });
                }
            }
        }
    }
    links
}

fn work_minutes(work: &Work, at: &str, longest: WorkMinutes, faults: &mut Vec<PlanError>) -> i64 {
    let minutes = match WorkMinutes::from_hours(work.crew_hours) {
        Ok(minutes) if minutes > WorkMinutes::ZERO => minutes,
        _ => {
            faults.push(PlanError::Hours { at: format!("{at}.crew_hours"), value: work.crew_hours });
            return 0;
        }
    };
    if work.within_one_day && minutes > longest {
        faults.push(PlanError::LongerThanADay {
            at: at.into(),
            hours: minutes.hours(),
            longest: longest.hours(),
        });
    }
    i64::from(minutes.minutes())
}

fn check_wait(wait: &Wait, at: &str, faults: &mut Vec<PlanError>) {
    match wait {
        Wait::WorkingDays(days) | Wait::CalendarDays(days) => check_days(*days, at, faults),
        Wait::Marks(notice) => check_days(u32::from(notice.working_days), at, faults),
        Wait::Cure(cure) => check_days(u32::from(cure.calendar_days), at, faults),
        Wait::RestOfDay | Wait::Until(_) => {}
    }
}

fn check_days(value: u32, at: &str, faults: &mut Vec<PlanError>) {
    let most = u32::try_from(LONGEST_SPAN_DAYS).unwrap_or(u32::MAX);
    if value > most {
        faults.push(PlanError::Days { at: at.into(), value, most });
    }
}

fn check_dates(request: &PlanRequest, start: Date, faults: &mut Vec<PlanError>) {
    let mut near = |at: String, date: Date| {
        if calendar_days_between(start, date).abs() >= LONGEST_SPAN_DAYS {
            faults.push(PlanError::TooFarAway { at, date, most: LONGEST_SPAN_DAYS });
        }
    };
    if let Some(date) = request.status_date {
        near("status_date".into(), date);
    }
    for (index, task) in request.tasks.iter().enumerate() {
        let at = format!("tasks[{index}] `{}`", task.id);
        if let Some(date) = task.not_before {
            near(format!("{at}.not_before"), date);
        }
        if let TaskKind::Wait(Wait::Until(date)) = task.kind {
            near(format!("{at}.until"), date);
        }
        for date in reported(task.progress) {
            near(format!("{at}.progress"), date);
        }
    }
    for (index, task) in request.tasks.iter().enumerate() {
        check_progress(request, task, &format!("tasks[{index}] `{}`.progress", task.id), faults);
    }
}

fn check_progress(request: &PlanRequest, task: &Task, at: &str, faults: &mut Vec<PlanError>) {
    let Some(status) = request.status_date else {
        if task.progress != Progress::NotStarted {
            faults.push(PlanError::StatusDateMissing { task: task.id.clone() });
        }
        return;
    };
    for date in reported(task.progress).filter(|d| *d > status) {
        faults.push(PlanError::InTheFuture { at: at.into(), task: task.id.clone(), date, status });
    }
    match task.progress {
        Progress::Finished { start, finish } if finish < start => {
            faults.push(PlanError::FinishBeforeStart { at: at.into(), task: task.id.clone(), start, finish });
        }
        Progress::Started { .. } if matches!(task.kind, TaskKind::Milestone) => {
            faults.push(PlanError::MilestoneStarted { at: at.into(), task: task.id.clone() });
        }
        Progress::Started { remaining_crew_hours: Some(value), .. }
            if !(value > 0.0 && value <= MOST_HOURS) =>
        {
            faults.push(PlanError::Remaining { at: at.into(), task: task.id.clone(), value });
        }
        _ => {}
    }
}

fn reported(progress: Progress) -> impl Iterator<Item = Date> {
    let (first, second) = match progress {
        Progress::NotStarted => (None, None),
        Progress::Started { on, .. } => (Some(on), None),
        Progress::Finished { start, finish } => (Some(start), Some(finish)),
    };
    first.into_iter().chain(second)
}

fn first_day(request: &PlanRequest, start: Date) -> Date {
    let reports = request.tasks.iter().flat_map(|t| reported(t.progress));
    reports.chain(request.status_date).fold(start, Date::min)
}
