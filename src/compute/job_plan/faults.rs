//! Why a job cannot be planned, at the place that asked for it.

use super::report::Carried;
use super::{Places, Prepared};
use crate::compute::plan::{PlanError as E, PlanErrors, TaskId};
use crate::wire::Faults;
use crate::wire::planning::PlanInputs;
use jiff::civil::Date;
use std::collections::BTreeSet;

/// Every fault of a plan as a fault of the place that asked for it.
pub(super) fn plan_faults(
    errors: &PlanErrors,
    prepared: &Prepared,
    inputs: &PlanInputs,
    carried: &Carried,
    places: Places<'_>,
) -> Faults {
    let at = places.inputs;
    let mut faults = Faults::new();
    let list = at.member("progress");
    let mut told_before: Option<(&TaskId, Date)> = None;
    let mut told = BTreeSet::new();
    for error in &errors.0 {
        // what was reported of a task is at fault where it was reported
        let reported = match error {
            E::InTheFuture { at, task, date, .. } => Some((at, task, "in_the_future", Some(*date))),
            E::FinishBeforeStart { at, task, finish, .. } => {
                Some((at, task, "finish_before_start", Some(*finish)))
            }
            E::Remaining { at, task, .. } => Some((at, task, "out_of_range", None)),
            E::MilestoneStarted { at, task } => Some((at, task, "required", None)),
            _ => None,
        };
        if let Some((core, task, code, date)) = reported
            && let Some((i, report)) =
                inputs.progress.iter().enumerate().find(|(_, p)| p.task.as_str() == task.as_str())
        {
            let Some(i) = i.checked_sub(carried.progress) else {
                // that was right when it was reported: the new status date is not
                if let Some(date) = date.filter(|d| told_before.is_none_or(|(_, latest)| *d > latest)) {
                    told_before = Some((task, date));
                }
                continue;
            };
            let here = list.element(i);
            let text = error.to_string();
            let text = text.strip_prefix(&format!("{core}: ")).unwrap_or(&text);
            let Some(date) = date else {
                let member = if code == "required" { "finished_on" } else { "remaining" };
                faults.add(&here.member(member), code, text);
                continue;
            };
            let finish = report.finished_on.is_some_and(|d| d.date() == date);
            let member = here.member(if finish { "finished_on" } else { "started_on" });
            faults.value(&member, code, &date.to_string(), text);
            continue;
        }
        let code = match error {
            E::CrewLacksTrade { .. } | E::NoCrewHasTrades { .. } => "crew_lacks_trade",
            E::TooFewMachines { .. } | E::UnknownMachine { .. } => "too_few_machines",
            E::LongerThanADay { .. } => "longer_than_a_day",
            E::TooManyTasks { .. } | E::TooManyLinks { .. } => "too_many_tasks",
            E::StatusDateMissing { .. } => "status_date_missing",
            E::InTheFuture { .. } => "in_the_future",
            E::FinishBeforeStart { .. } => "finish_before_start",
            E::WishOutOfReach { .. } | E::FinishAnchorWithProgress => "wish_out_of_reach",
            E::Cycle { .. } => "cycle",
            _ => "cannot_be_planned",
        };
        match code {
            "crew_lacks_trade" => {
                let text = lacking(error, prepared);
                if told.insert(text.clone()) {
                    add_at_the_crews(places, code, text, &mut faults);
                }
            }
            "too_many_tasks" => {
                faults.add(at, code, too_many(error));
            }
            "status_date_missing" => {
                faults.add(&at.member("status_date"), code, error.to_string());
            }
            _ => {
                faults.add(at, code, error.to_string());
            }
        }
    }
    if let (Some((task, latest)), Some(status)) = (told_before, inputs.status_date) {
        let rule =
            format!("`{task}` is reported for {latest} already; the status date is that day or a later one");
        faults.value(&at.member("status_date"), "contradiction", &status.date().to_string(), rule);
    }
    faults
}

/// Notes a fault of the crews at the most that the notes say of them.
fn add_at_the_crews(places: Places<'_>, code: &'static str, text: String, faults: &mut Faults) {
    let schedule = places.notes.member("schedule");
    let crews = schedule.member("crews");
    let place = match places.schedule {
        Some(given) if !given.crews.is_empty() => &crews,
        Some(_) => &schedule,
        None => places.inputs,
    };
    faults.add(place, code, text);
}

/// Which rates of the book need people that no crew of the job has together.
fn lacking(error: &E, prepared: &Prepared) -> String {
    let E::NoCrewHasTrades { task, needed, known, .. } = error else { return error.to_string() };
    let item = prepared.items.iter().find(|i| i.task.id == *task);
    let rates: Vec<String> = item
        .into_iter()
        .flat_map(|i| &i.made_of)
        .filter_map(|(place, _)| prepared.rates.get(*place))
        .map(|(task, method)| format!("`{task}` by `{method}`"))
        .collect();
    format!(
        "the labor of the price book needs {needed} at once for {}, and no crew on the job has them: {known}; name a crew that \
         has them in `schedule.crews` of the notes, or change `crew` of that labor or `plan_rules.crews` in the price book",
        rates.join(" and ")
    )
}

/// A job of too many tasks, without the settings of the core.
fn too_many(error: &E) -> String {
    let (what, given, most) = match error {
        E::TooManyTasks { given, most } => ("tasks", given, most),
        E::TooManyLinks { given, most } => ("links between tasks", given, most),
        _ => return error.to_string(),
    };
    format!("the plan would have {given} {what}; at most {most} are planned at once: split the job")
}
