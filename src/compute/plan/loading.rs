//! Who is at work each day, and how long each machine is on site.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    request::{PlanRequest, TaskKind, Work},
    result::{CrewLoad, MachineWindow},
    schedule::{Draft, minutes},
};
use crate::compute::calendar::{CalendarError, Moment, timeline::DAY};

/// One task's work on one day, in minutes of that day.
struct Stretch {
    day: i64,
    from: i64,
    to: i64,
}

fn stretches(draft: &mut Draft<'_>, start: Moment, finish: Moment) -> Result<Vec<Stretch>, CalendarError> {
    let mut parts = Vec::new();
    for day in start.day()..=finish.day() {
        let capacity = draft.lines.crew.capacity(day)?;
        let from = (start.0 - day * DAY).max(0);
        let to = (finish.0 - day * DAY).min(capacity);
        if to > from {
            parts.push(Stretch { day, from, to });
        }
    }
    Ok(parts)
}

/// Work still to do, with its index.
fn open_work<'r>(request: &'r PlanRequest, draft: &Draft<'_>) -> Vec<(usize, &'r Work)> {
    let open = |index: &usize| draft.network.nodes.get(*index).is_some_and(|n| !n.is_fixed());
    let work = |(index, task): (usize, &'r super::request::Task)| match &task.kind {
        TaskKind::Work(work) => Some((index, work)),
        _ => None,
    };
    request.tasks.iter().enumerate().filter(|(i, _)| open(i)).filter_map(work).collect()
}

/// Day, crew and trade.
type LoadKey<'a> = (i64, usize, &'a super::ids::TradeId);

/// People at work by day, crew and trade; work already finished is not in it.
pub(super) fn crew_loading(
    request: &PlanRequest,
    draft: &mut Draft<'_>,
) -> Result<Vec<CrewLoad>, CalendarError> {
    let mut uses: BTreeMap<LoadKey<'_>, Vec<(i64, i64, u32)>> = BTreeMap::new();
    for (index, work) in open_work(request, draft) {
        let (Some(crew), Some(span)) =
            (draft.leveller.crews.get(index).copied().flatten(), draft.spans.get(index).copied())
        else {
            continue;
        };
        for part in stretches(draft, span.start, span.finish)? {
            for need in &work.trades {
                let key = (part.day, crew, &need.trade);
                uses.entry(key).or_default().push((part.from, part.to, need.people));
            }
        }
    }
    let mut loads = Vec::with_capacity(uses.len());
    for ((day, crew, trade), parts) in uses {
        let Some(crew) = request.crews.get(crew) else {
            continue;
        };
        let used: i64 = parts.iter().map(|(from, to, n)| (to - from) * i64::from(*n)).sum();
        let people = crew.people.get(trade).copied().unwrap_or(0);
        let available = draft.lines.crew.capacity(day)? * i64::from(people);
        loads.push(CrewLoad {
            date: draft.lines.crew.date(Moment::start_of_day(day))?,
            crew: crew.id.clone(),
            trade: trade.clone(),
            used: minutes(used),
            available: minutes(available),
            peak_people: peak(&parts),
        });
    }
    Ok(loads)
}

fn peak(parts: &[(i64, i64, u32)]) -> u32 {
    let at = |point: i64| -> u32 {
        let covering = parts.iter().filter(|(from, to, _)| *from <= point && point < *to);
        covering.fold(0, |sum, (.., n)| sum.saturating_add(*n))
    };
    parts.iter().map(|(from, ..)| at(*from)).max().unwrap_or(0)
}

/// Minutes from the first use of a day to the end of its last.
fn from_first_to_last(parts: &[(i64, i64, u32)]) -> i64 {
    let first = parts.iter().map(|(from, ..)| *from).min();
    let last = parts.iter().map(|(_, to, _)| *to).max();
    first.zip(last).map_or(0, |(from, to)| to - from)
}

/// Stretches for which each machine is on site: days of use, joined over the idle working days that the settings bridge, with
/// the closed days among them. Over closed days alone nothing is bridged: whether it stays is for the hire to weigh.
pub(super) fn machine_windows(
    request: &PlanRequest,
    draft: &mut Draft<'_>,
) -> Result<Vec<MachineWindow>, CalendarError> {
    let mut windows = Vec::new();
    let work = open_work(request, draft);
    for machine in &request.machines {
        let mut uses: BTreeMap<i64, Vec<(i64, i64, u32)>> = BTreeMap::new();
        for (index, work) in &work {
            let count = work
                .machines
                .iter()
                .filter(|m| m.machine == machine.id)
                .fold(0u32, |n, m| n.saturating_add(m.count));
            let (true, Some(span), Some(node)) =
                (count > 0, draft.spans.get(*index).copied(), draft.network.nodes.get(*index))
            else {
                continue;
            };
            let start = node.began.unwrap_or(span.start);
            for part in stretches(draft, start, span.finish)? {
                uses.entry(part.day).or_default().push((part.from, part.to, count));
            }
        }
        let days: BTreeSet<i64> = uses.keys().copied().collect();
        for (from, to) in join(draft, &days, request.settings.keep_machine_idle_days)? {
            let within = uses.range(from..=to);
            windows.push(MachineWindow {
                machine: machine.id.clone(),
                from: draft.lines.crew.date(Moment::start_of_day(from))?,
                to: draft.lines.crew.date(Moment::start_of_day(to))?,
                calendar_days: u32::try_from(to - from + 1).unwrap_or(u32::MAX),
                used_days: u32::try_from(within.clone().count()).unwrap_or(u32::MAX),
                longest_day: minutes(
                    within.clone().map(|(_, parts)| from_first_to_last(parts)).max().unwrap_or(0),
                ),
                units: within.map(|(_, parts)| peak(parts)).max().unwrap_or(0),
            });
        }
    }
    Ok(windows)
}

fn join(draft: &mut Draft<'_>, days: &BTreeSet<i64>, bridge: u32) -> Result<Vec<(i64, i64)>, CalendarError> {
    let mut windows: Vec<(i64, i64)> = Vec::new();
    for &day in days {
        if let Some(last) = windows.last_mut() {
            let mut idle = 0;
            for between in last.1 + 1..day {
                idle += u32::from(draft.lines.crew.capacity(between)? > 0);
            }
            if day == last.1 + 1 || (1..=bridge).contains(&idle) {
                last.1 = day;
                continue;
            }
        }
        windows.push((day, day));
    }
    Ok(windows)
}
