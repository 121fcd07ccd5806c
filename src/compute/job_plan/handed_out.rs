//! The dates of a plan and the tasks of a job, made into the plan that is handed out.

use super::answer::{
    HoldOut, LoadOut, MachineNeedOut, MachineOut, PlanAnswer, PredecessorOut, TaskOut, WishOut,
};
use super::tasks::Item;
use super::words::PlanLinkKind;
use crate::compute::answers::BookUsed;
use crate::compute::calendar::WorkMinutes;
use crate::compute::labor::{CrewOut, LaborHours};
use crate::compute::plan::result::PlannedTask;
use crate::compute::plan::{Plan, TaskKind, Wait};
use crate::units::{Quantity, Unit};

fn hours(minutes: WorkMinutes) -> Quantity {
    Quantity::decimal(
        rust_decimal::Decimal::from(minutes.minutes()) / rust_decimal::Decimal::from(60),
        Unit::Hr,
        4,
    )
}

/// What stands around a plan.
#[derive(Debug)]
pub(super) struct Around<'a> {
    pub(super) price_book: BookUsed,
    pub(super) calendar: &'a str,
    pub(super) notice: &'a str,
    pub(super) labor: &'a LaborHours,
    pub(super) cautions: Vec<String>,
}

pub(super) fn answer(plan: &Plan, items: &[Item], around: Around<'_>) -> PlanAnswer {
    let Around { price_book, calendar, notice, labor, cautions } = around;
    let mut all: Vec<String> = plan.cautions.iter().map(ToString::to_string).collect();
    all.extend(cautions);
    let mut checks = labor.checks.clone();
    checks.sort_by_key(|c| std::cmp::Reverse(c.outcome));
    let mut days: Vec<_> = plan.crew_loading.iter().map(|l| l.date).collect();
    days.dedup();
    PlanAnswer {
        engine: crate::compute::ENGINE,
        price_book,
        calendar: calendar.to_owned(),
        notice_calendar: notice.to_owned(),
        start: plan.start.to_string(),
        finish: plan.finish.to_string(),
        finish_without_limits: plan.unlimited_finish.to_string(),
        crew_days: days.len(),
        wish: plan.wish.map(|w| WishOut {
            wished: w.wished.to_string(),
            planned: w.planned.to_string(),
            working_days_to_spare: w.working_days_to_spare,
        }),
        tasks: items.iter().filter_map(|i| Some(task_out(i, plan.task(&i.task.id)?, labor))).collect(),
        critical_path: plan.critical_path.iter().map(ToString::to_string).collect(),
        holding_chain: plan.holding_chain.iter().map(ToString::to_string).collect(),
        crew_loading: plan
            .crew_loading
            .iter()
            .map(|l| LoadOut {
                on: l.date.to_string(),
                crew: l.crew.to_string(),
                trade: l.trade.to_string(),
                used: hours(l.used),
                available: hours(l.available),
                peak_people: l.peak_people,
            })
            .collect(),
        machines: plan
            .machine_windows
            .iter()
            .map(|w| MachineOut {
                machine: w.machine.to_string(),
                from: w.from.to_string(),
                to: w.to.to_string(),
                calendar_days: w.calendar_days,
                used_days: w.used_days,
                units: w.units,
            })
            .collect(),
        hold_points: plan
            .hold_points
            .iter()
            .map(|h| HoldOut {
                kind: (&h.kind).into(),
                task: h.task.to_string(),
                sequence: 0,
                on: h.on.to_string(),
                no_later_than: h.no_later_than.map(|d| d.to_string()),
                then_from: h.then_from.to_string(),
                text: h.text.clone(),
            })
            .collect(),
        cautions: all,
        checks,
        placing_rule: plan.placing_rule,
    }
}

fn task_out(item: &Item, planned: &PlannedTask, labor: &LaborHours) -> TaskOut {
    let (people, machines, crew_hours) = match &item.task.kind {
        TaskKind::Work(work) => (
            work.trades
                .iter()
                .map(|t| CrewOut { trade: t.trade.to_string(), count: i64::from(t.people) })
                .collect(),
            work.machines
                .iter()
                .map(|m| MachineNeedOut { machine: m.machine.to_string(), count: m.count })
                .collect(),
            Quantity::computed(work.crew_hours, Unit::Hr, 4),
        ),
        _ => (Vec::new(), Vec::new(), Quantity::new(0, 0, Unit::Hr)),
    };
    let mut basis = String::new();
    for (place, minutes) in &item.made_of {
        use std::fmt::Write as _;
        if let Some(task) = labor.tasks.get(*place) {
            let of = task.seconds.saturating_add(59) / 60;
            let _ = write!(basis, "{}: {minutes} of the {of} crew-minutes estimated; ", task.task);
        }
    }
    if let Some(why) = &item.why {
        basis.push_str(why);
        basis.push_str("; ");
    }
    basis.push_str(&planned.basis);
    TaskOut {
        id: item.task.id.to_string(),
        name: item.task.name.clone(),
        kind: planned.nature.into(),
        status: planned.status.into(),
        sequence: 0,
        work_of: item.made_of.iter().filter_map(|(p, _)| Some(labor.tasks.get(*p)?.task)).collect(),
        part: item.part.as_ref().map(|about| about.text.clone()),
        part_codes: item.part.as_ref().map(|about| about.codes.clone()).unwrap_or_default(),
        predecessors: item
            .task
            .predecessors
            .iter()
            .map(|l| PredecessorOut { task: l.task.to_string(), kind: PlanLinkKind::FinishToStart })
            .collect(),
        crew: planned.crew.as_ref().map(ToString::to_string),
        people,
        machines,
        crew_hours,
        start: planned.planned.start.date.to_string(),
        start_into_day: hours(planned.planned.start.into_day),
        finish: planned.planned.finish.date.to_string(),
        finish_into_day: hours(planned.planned.finish.into_day),
        early_start: planned.early.start.date.to_string(),
        early_finish: planned.early.finish.date.to_string(),
        late_start: planned.late.start.date.to_string(),
        late_finish: planned.late.finish.date.to_string(),
        total_float: hours(planned.total_float),
        free_float: hours(planned.free_float),
        critical: planned.critical,
        waits_for_resources: hours(planned.waits_for_resources),
        after_resources_of: planned.after_resources_of.iter().map(ToString::to_string).collect(),
        rule: rule_of(&item.task.kind),
        basis,
    }
}

/// The rule that the time of a task follows.
fn rule_of(kind: &TaskKind) -> Option<&'static str> {
    match kind {
        TaskKind::Work(_) => Some("plan.work"),
        TaskKind::Wait(Wait::Marks(_)) => Some("plan.marks"),
        TaskKind::Wait(Wait::WorkingDays(_)) => Some("plan.office_days"),
        TaskKind::Wait(Wait::CalendarDays(_)) => Some("plan.set"),
        TaskKind::Wait(Wait::Cure(_)) => Some("plan.cure"),
        TaskKind::Wait(Wait::RestOfDay) => Some("plan.another_day"),
        TaskKind::Wait(Wait::Until(_)) | TaskKind::Milestone => None,
    }
}
