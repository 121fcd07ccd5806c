//! The whole plan, for a start or a wished finish.

use jiff::civil::Date;
use std::collections::BTreeSet;

use super::{
    closures,
    critical::{Unlimited, unlimited},
    error::{PlanError, PlanErrors},
    holds,
    level::{Leveller, PRIORITY_RULE, priority_order},
    loading,
    network::{Lines, Network, Span},
    request::{Anchor, PlanRequest, Progress, Task, TaskKind, Wait},
    result::{Dates, Nature, Plan, PlannedTask, Stamp, Status, WishCheck},
    together::placing_order,
};
use crate::compute::calendar::{
    CalendarError, Moment, WorkMinutes, WorkingCalendar,
    count::{LONGEST_SPAN_DAYS, add_calendar_days, calendar_days_between},
};
use crate::units::show::{counted, measured};
use rust_decimal::Decimal;

/// Makes the plan.
///
/// The unlimited plan gives early and late dates, floats and the critical path. The levelled plan places the
/// tasks one by one within the crews and machines there are ([`Plan::placing_rule`]); it is a good plan found
/// by a fixed rule, not proven to be the shortest. With [`Anchor::Finish`] the start is the latest found by
/// halving the span between a start that keeps the wish and one that does not.
///
/// # Formula
/// early start = max over predecessors (early finish + lag); late finish = min over successors (late start -
/// lag); total float = late start - early start; free float = latest start that leaves every successor's early
/// start as it is - early start; in working minutes
/// # Units
/// hours in, whole minutes and civil dates out
/// # Valid for
/// finish-to-start links with lags of 0 or more; plans within a hundred years
/// # Source
/// critical path method, University of Pittsburgh operations research notes cpm3 (read; the network of the
/// example is checked in the tests); serial schedule generation, Kelley 1963 (from memory)
/// # Example
/// ```
/// use jiff::civil::date;
/// use rillcast::compute::{calendar::*, plan::*};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let (laborer, crew) = (TradeId::new("laborer")?, CrewId::new("crew-1")?);
/// let (pour, cure, open) = (TaskId::new("pour")?, TaskId::new("cure")?, TaskId::new("open")?);
/// let mut work = Work::new(6.0, laborer.clone(), 2);
/// work.within_one_day = true;
/// let request = PlanRequest {
///     calendar: WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?,
///     notice_calendar: None,
///     tasks: vec![
///         Task::work(pour.clone(), "Pour", work),
///         Task::wait(cure.clone(), "Cure", Wait::Cure(Cure::default())).after(&pour),
///         Task::work(open.clone(), "Open to traffic", Work::new(2.0, laborer.clone(), 2)).after(&cure),
///     ],
///     crews: vec![Crew { id: crew, people: [(laborer, 2)].into() }],
///     machines: vec![],
///     anchor: Anchor::Start(date(2025, 6, 27)),
///     status_date: None,
///     settings: PlanSettings::default(),
/// };
/// let plan = schedule(&request)?;
/// // poured on Friday, cured the next Friday (a holiday), opened on Monday
/// assert_eq!(plan.task(&cure).map(|t| t.planned.finish.date), Some(date(2025, 7, 4)));
/// assert_eq!(plan.finish, date(2025, 7, 7));
/// # Ok(())
/// # }
/// ```
/// # Errors
/// [`PlanErrors`] with every fault of the request.
pub fn schedule(request: &PlanRequest) -> Result<Plan, PlanErrors> {
    let (start, wished) = match request.anchor {
        Anchor::Start(start) => (start, None),
        Anchor::StartAndWish { start, finish } => (start, Some(finish)),
        Anchor::Finish(wished) => (latest_start(request, wished)?, Some(wished)),
    };
    let mut draft = Draft::make(request, start, Order::MachinesTogether)?;
    let mut plan = draft.explain(request)?;
    if let Some(wished) = wished {
        plan.wish = Some(wish_check(&request.calendar, wished, plan.finish)?);
    }
    Ok(plan)
}

fn wish_check(calendar: &WorkingCalendar, wished: Date, planned: Date) -> Result<WishCheck, CalendarError> {
    let after = |d: Date| add_calendar_days(d, 1);
    let working_days_to_spare = if planned <= wished {
        i64::from(calendar.count_working_days(after(planned)?, after(wished)?)?)
    } else {
        -i64::from(calendar.count_working_days(after(wished)?, after(planned)?)?)
    };
    Ok(WishCheck { wished, planned, working_days_to_spare })
}

/// A start that keeps the wish, as late as halving finds it.
fn latest_start(request: &PlanRequest, wished: Date) -> Result<Date, PlanErrors> {
    if request.tasks.iter().any(|t| t.progress != Progress::NotStarted) {
        return Err(PlanError::FinishAnchorWithProgress.into());
    }
    let finish_from = |start: Date| -> Result<Date, PlanErrors> {
        let draft = Draft::make(request, start, Order::ByPriority)?;
        let end = draft.finish;
        Ok(draft.lines.crew.date(end)?)
    };
    let mut late = wished;
    let mut finish = finish_from(late)?;
    if finish <= wished {
        return Ok(late);
    }
    let earliest = add_calendar_days(wished, -LONGEST_SPAN_DAYS / 4)?;
    let mut good = late;
    let mut step = 0;
    let mut moves = true;
    while finish > wished {
        if good <= earliest {
            return Err(PlanError::WishOutOfReach { wished, start: good, finish }.into());
        }
        late = good;
        // A day that something must wait for holds the finish however early the start is: the steps grow, so that this is
        // found out soon.
        step = if moves { calendar_days_between(wished, finish) } else { 2 * step };
        good = add_calendar_days(good, -step.min(calendar_days_between(earliest, good)))?;
        let before = finish;
        finish = finish_from(good)?;
        moves = finish < before;
    }
    while calendar_days_between(good, late) > 1 {
        let middle = add_calendar_days(good, calendar_days_between(good, late) / 2)?;
        if finish_from(middle)? <= wished {
            good = middle;
        } else {
            late = middle;
        }
    }
    Ok(good)
}

/// How the tasks are put in order before they are placed.
#[derive(Debug, Clone, Copy)]
enum Order {
    /// By the priority rule alone: no later finish is found with machines together, so this tells whether a day can be kept.
    ByPriority,
    /// With the tasks of a hired machine together where nothing is later for it.
    MachinesTogether,
}

/// A plan in numbers.
pub(super) struct Draft<'a> {
    pub(super) network: Network,
    pub(super) lines: Lines<'a>,
    pub(super) unlimited: Unlimited,
    pub(super) leveller: Leveller,
    pub(super) spans: Vec<Span>,
    pub(super) finish: Moment,
}

impl<'a> Draft<'a> {
    fn make(request: &'a PlanRequest, start: Date, order: Order) -> Result<Self, PlanErrors> {
        let (network, mut lines) = super::check::compile(request, start)?;
        let unlimited = unlimited(&network, &mut lines)?;
        let order = match order {
            Order::ByPriority => priority_order(&network, &unlimited, &BTreeSet::new()),
            Order::MachinesTogether => placing_order(&network, &mut lines, &unlimited)?,
        };
        let minutes: Vec<i64> = network.nodes.iter().map(|n| n.minutes).collect();
        let mut leveller = Leveller::default();
        let mut spans = network.blank();
        let finish = leveller.place_all(&network, &mut lines, &minutes, &order, &mut spans, true)?;
        Ok(Draft { network, lines, unlimited, leveller, spans, finish })
    }

    fn explain(&mut self, request: &PlanRequest) -> Result<Plan, PlanErrors> {
        let mut tasks = Vec::with_capacity(request.tasks.len());
        for (index, task) in request.tasks.iter().enumerate() {
            tasks.extend(self.planned_task(request, index, task)?);
        }
        let first = tasks.iter().map(|t| t.planned.start.date).min();
        let begin = self.spans.iter().map(|s| s.start).min().unwrap_or(Moment(0));
        let length = self.lines.crew.worked(self.finish)? - self.lines.crew.worked(begin)?;
        let finish = self.lines.crew.date(self.finish)?;
        let holding = self.holding_chain()?;
        let plan = Plan {
            start: first.unwrap_or(finish),
            finish,
            unlimited_finish: self.lines.crew.date(self.unlimited.finish)?,
            length: minutes(length),
            critical_path: in_order(request, &self.unlimited.early, &self.unlimited.critical),
            holding_chain: in_order(request, &self.spans, &holding),
            crew_loading: loading::crew_loading(request, self)?,
            machine_windows: loading::machine_windows(request, self)?,
            hold_points: Vec::new(),
            wish: None,
            cautions: Vec::new(),
            placing_rule: PRIORITY_RULE,
            tasks,
        };
        let hold_points = holds::hold_points(request, self, &plan)?;
        let mut cautions = holds::cautions(request, self, &plan)?;
        cautions.extend(closures::moved(request, self)?);
        Ok(Plan { hold_points, cautions, ..plan })
    }

    fn planned_task(
        &mut self,
        request: &PlanRequest,
        index: usize,
        task: &Task,
    ) -> Result<Option<PlannedTask>, CalendarError> {
        let (Some(node), Some(&span), Some(&early), Some(&late)) = (
            self.network.nodes.get(index).cloned(),
            self.spans.get(index),
            self.unlimited.early.get(index),
            self.unlimited.late.get(index),
        ) else {
            return Ok(None);
        };
        let waited = (self.lines.crew.worked(span.start)? - self.lines.crew.worked(span.arrival)?).max(0);
        let one_day = matches!(node.kind, super::network::Kind::Work { one_day: true });
        let blockers = self.leveller.waited_for.get(index).cloned().unwrap_or_default();
        let waited = if one_day && blockers.is_empty() { 0 } else { waited };
        let crew = self.leveller.crews.get(index).copied().flatten();
        let nature = match task.kind {
            TaskKind::Work(_) => Nature::Work,
            TaskKind::Wait(_) => Nature::Wait,
            TaskKind::Milestone => Nature::Milestone,
        };
        let planned = self.dates(task, span, node.began)?;
        let id_of = |i: &usize| request.tasks.get(*i).map(|t| t.id.clone());
        let flag = |values: &[i64]| minutes(values.get(index).copied().unwrap_or(0));
        Ok(Some(PlannedTask {
            id: task.id.clone(),
            name: task.name.clone(),
            nature,
            status: match task.progress {
                Progress::NotStarted => Status::Planned,
                Progress::Started { .. } => Status::UnderWay,
                Progress::Finished { .. } => Status::Finished,
            },
            early: self.dates(task, early, node.began)?,
            late: self.dates(task, late, node.began)?,
            total_float: flag(&self.unlimited.total_float),
            free_float: flag(&self.unlimited.free_float),
            critical: self.unlimited.critical.get(index).copied().unwrap_or(false),
            work: if node.is_fixed() { WorkMinutes::ZERO } else { minutes(node.minutes) },
            crew: crew.and_then(|c| request.crews.get(c)).map(|c| c.id.clone()),
            waits_for_resources: minutes(waited),
            after_resources_of: blockers.iter().filter_map(id_of).collect(),
            basis: if let Some(due) = self.due_day(index, task)? {
                not_ended(task, due, planned)
            } else if node.overtaken {
                format!(
                    "not reported; over by {}, when what had to wait for it was begun",
                    planned.start.date
                )
            } else {
                basis(task, node.minutes, planned)
            },
            planned,
        }))
    }

    /// The last day of a wait under way as it was to be, where its end is not reported and that day is past.
    pub(super) fn due_day(&mut self, index: usize, task: &Task) -> Result<Option<Date>, CalendarError> {
        let (Some(due), Some(&span)) =
            (self.network.nodes.get(index).and_then(|n| n.due), self.spans.get(index))
        else {
            return Ok(None);
        };
        Ok(Some(self.dates(task, Span { finish: due, ..span }, None)?.finish.date))
    }

    fn dates(&mut self, task: &Task, span: Span, began: Option<Moment>) -> Result<Dates, CalendarError> {
        let first = began.unwrap_or(span.start);
        let start = self.stamp(first)?;
        let mut finish = self.stamp(span.finish)?;
        let reported = matches!(task.progress, Progress::Finished { .. });
        if !reported && span.finish.minute() == 0 && span.finish.day() > first.day() {
            // free from that morning on: the day before is the last one taken; a notice ends on a day that is counted
            let mut last = span.finish.day() - 1;
            if let TaskKind::Wait(Wait::Marks(_)) = task.kind {
                while last > first.day() && self.lines.notice.capacity(last)? == 0 {
                    last -= 1;
                }
            }
            finish = self.stamp(Moment::end_of_day(last))?;
        }
        Ok(Dates { start, finish })
    }

    fn stamp(&mut self, at: Moment) -> Result<Stamp, CalendarError> {
        let into_day = at.minute().min(self.lines.crew.capacity(at.day())?);
        Ok(Stamp { date: self.lines.crew.date(at)?, into_day: minutes(into_day) })
    }

    /// Nodes that hold the finish of the levelled plan, by links or by the people and machines they keep.
    fn holding_chain(&mut self) -> Result<Vec<bool>, CalendarError> {
        let mut flags = vec![false; self.spans.len()];
        let mut todo: Vec<usize> = (0..flags.len())
            .filter(|i| self.spans.get(*i).is_some_and(|s| s.finish == self.finish))
            .collect();
        while let Some(index) = todo.pop() {
            match flags.get_mut(index) {
                Some(flag) if !*flag => *flag = true,
                _ => continue,
            }
            let blockers = self.leveller.waited_for.get(index).cloned().unwrap_or_default();
            let (Some(node), Some(span)) = (self.network.nodes.get(index), self.spans.get(index)) else {
                continue;
            };
            if blockers.is_empty() {
                for link in &node.predecessors {
                    let Some(before) = self.spans.get(link.node) else {
                        continue;
                    };
                    if link.gap.after(&mut self.lines, before.finish)? == span.arrival {
                        todo.push(link.node);
                    }
                }
            }
            todo.extend(blockers);
        }
        Ok(flags)
    }
}

fn in_order(request: &PlanRequest, spans: &[Span], flags: &[bool]) -> Vec<super::ids::TaskId> {
    let mut chosen: Vec<(Moment, Moment, usize)> = spans
        .iter()
        .zip(flags)
        .enumerate()
        .filter(|(_, (_, flag))| **flag)
        .map(|(index, (span, _))| (span.start, span.finish, index))
        .collect();
    chosen.sort_unstable();
    chosen.iter().filter_map(|(.., index)| request.tasks.get(*index)).map(|t| t.id.clone()).collect()
}

fn basis(task: &Task, length: i64, dates: Dates) -> String {
    let Dates { start, finish } = dates;
    if let Progress::Finished { .. } = task.progress {
        return format!("reported: begun {}, finished {}", start.date, finish.date);
    }
    match &task.kind {
        TaskKind::Work(_) => {
            let hours = measured(Decimal::from(length) / Decimal::from(60), 2, "crew-hour");
            let (first, from) = (start.date, start.into_day.hours());
            let begun = match task.progress {
                Progress::Started { .. } => format!("begun {first}; {hours} left,"),
                _ => format!("{hours} to do, from {first} ({from:.2} h into the day)"),
            };
            format!("{begun} to {} ({:.2} h into the day)", finish.date, finish.into_day.hours())
        }
        TaskKind::Wait(wait) => format!("{} from {}: through {}", wait_words(wait), start.date, finish.date),
        TaskKind::Milestone => format!("reached {} when the last predecessor is done", finish.date),
    }
}

fn not_ended(task: &Task, due: Date, dates: Dates) -> String {
    let words = if let TaskKind::Wait(wait) = &task.kind { wait_words(wait) } else { String::new() };
    let (from, to) = (dates.start.date, dates.finish.date);
    format!("{words} from {from} were over by {due}; no end is reported: through {to}")
}

fn wait_words(wait: &Wait) -> String {
    match wait {
        Wait::Marks(notice) => format!("notice of {}", counted(notice.working_days, "clear working day")),
        Wait::WorkingDays(n) => counted(*n, "working day").to_string(),
        Wait::CalendarDays(n) => counted(*n, "calendar day").to_string(),
        Wait::Cure(cure) => format!("cure of {}", counted(cure.calendar_days, "calendar day")),
        Wait::RestOfDay => "rest of the day".to_owned(),
        Wait::Until(date) => format!("until {date}"),
    }
}

pub(super) fn minutes(value: i64) -> WorkMinutes {
    WorkMinutes::new(u32::try_from(value.max(0)).unwrap_or(u32::MAX))
}
