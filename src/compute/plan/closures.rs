//! Closures of the offices that moved something in a plan, with their reasons.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{
    network::{Kind, Node},
    request::{PlanRequest, Task},
    result::PlanCaution,
    schedule::Draft,
};
use crate::compute::calendar::{CalendarError, Moment, WorkingCalendar, count::add_calendar_days};

/// Closures on days that would be worked, between the moment from which something could have been done and its end: of the
/// crews' calendar for work, of the notices' for notices and for waits of working days.
pub(super) fn moved(request: &PlanRequest, draft: &mut Draft<'_>) -> Result<Vec<PlanCaution>, CalendarError> {
    let crews = &request.calendar;
    let notices = request.notice_calendar.as_ref().unwrap_or(crews);
    let (mut of_crews, mut of_notices) = (BTreeMap::new(), BTreeMap::new());
    for (index, task) in request.tasks.iter().enumerate() {
        let (Some(node), Some(&span)) = (draft.network.nodes.get(index), draft.spans.get(index)) else {
            continue;
        };
        let (calendar, found) = match node.kind {
            Kind::Work { .. } => (crews, &mut of_crews),
            Kind::Marks(_) | Kind::WorkingDays(_) if request.notice_calendar.is_none() => {
                (crews, &mut of_crews)
            }
            Kind::Marks(_) | Kind::WorkingDays(_) => (notices, &mut of_notices),
            _ => continue,
        };
        let from = first_day(request, draft, task, node, span.arrival);
        for day in from..=span.finish.day() {
            let date = draft.lines.crew.date(Moment::start_of_day(day))?;
            if let Some(reason) = calendar.closed_workday(date) {
                found.insert(date, reason);
            }
        }
    }
    let mut out = grouped(crews, of_crews)?;
    out.extend(grouped(notices, of_notices)?);
    Ok(out)
}

/// The first day on which something could have been done if the calendar were open.
fn first_day(request: &PlanRequest, draft: &Draft<'_>, task: &Task, node: &Node, arrival: Moment) -> i64 {
    if node.predecessors.is_empty() && node.began.is_none() && request.status_date.is_none() {
        return task.not_before.map_or(0, |date| draft.lines.crew.day_of(date));
    }
    // what ends with a day lets nothing begin on it
    if arrival == Moment::end_of_day(arrival.day()) { arrival.day() + 1 } else { arrival.day() }
}

/// Closed days in order, those of one reason with no working day between them together.
fn grouped(
    calendar: &WorkingCalendar,
    days: BTreeMap<Date, &str>,
) -> Result<Vec<PlanCaution>, CalendarError> {
    let mut groups: Vec<(Date, Date, &str)> = Vec::new();
    for (date, reason) in days {
        if let Some((_, last, same)) = groups.last_mut()
            && *same == reason
            && calendar.count_working_days(add_calendar_days(*last, 1)?, date)? == 0
        {
            *last = date;
            continue;
        }
        groups.push((date, date, reason));
    }
    let told = |(from, to, reason): (Date, Date, &str)| PlanCaution::Closed {
        calendar: calendar.name().to_owned(),
        days: if from == to { from.to_string() } else { format!("{from} to {to}") },
        reason: reason.to_owned(),
    };
    Ok(groups.into_iter().map(told).collect())
}
