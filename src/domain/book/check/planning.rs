//! Calendars, crews, machines at hand and waits of plans; overtime, weather and spreads.

use super::Check;
use crate::compute::job_plan::office::{CLOSED_DAYS_MOST, calendar};
use crate::compute::plan::overtime::OvertimeError;
use crate::domain::layout::choices::travel_of_day;
use crate::units::{Factor, Percent};
use crate::wire::At;
use crate::wire::book::planning::{HoursSpread, PlanRules, WorkCalendar};

/// Least median of actual over estimated hours: no rate that is a mean lies further above its median.
const LEAST_MEDIAN: Factor = Factor::from_millionths(1_000);

/// Largest spread of hours that is taken for one: a deviation of 2 of the logarithm.
const MOST_SPREAD: Percent = Percent::whole(200);

pub(super) fn check(check: &mut Check<'_>) {
    let root = At::ROOT;
    rates(check, &root);
    let Some(rules) = &check.doc.plan_rules else { return };
    let here = root.member("plan_rules");
    calendars(check, rules, &here);
    let crews = here.member("crews");
    check.unique(rules.crews.iter().map(|c| &c.code), &crews);
    for (i, crew) in rules.crews.iter().enumerate() {
        let place = crews.element(i);
        let people = place.member("people");
        for (p, member) in crew.people.iter().enumerate() {
            let at = people.element(p);
            check.trade(&member.trade, &at.member("trade"));
            if crew.people.iter().take(p).any(|m| m.trade == member.trade) {
                check.twice(&at.member("trade"), member.trade.as_str());
            }
        }
    }
    let machines = here.member("machines");
    for (i, machine) in rules.machines.iter().enumerate() {
        let at = machines.element(i);
        if !check.doc.equipment.iter().any(|e| e.code == machine.machine) {
            check.faults.value(
                &at.member("machine"),
                "unknown_code",
                machine.machine.as_str(),
                "no machine of this code; add it to `equipment`",
            );
        }
        if rules.machines.iter().take(i).any(|m| m.machine == machine.machine) {
            check.twice(&at.member("machine"), machine.machine.as_str());
        }
    }
    if let Some(strength) = rules.waits.as_ref().and_then(|w| w.strength.as_ref())
        && let Err(reason) = crate::compute::job_plan::office::strength_days(strength, 0)
    {
        let waits = here.member("waits");
        check.add(&waits.member("strength"), "out_of_range", reason.to_string());
    }
    if let Some(spread) = &rules.spread {
        spread_of(check, spread, &here.member("spread"));
    }
    if rules.job_spread_pct.is_some_and(|p| p > MOST_SPREAD) {
        check.add(&here.member("job_spread_pct"), "out_of_range", "a spread is at most 200 %");
    }
}

fn calendars(check: &mut Check<'_>, rules: &PlanRules, at: &At<'_>) {
    let list = at.member("calendars");
    check.unique(rules.calendars.iter().map(|c| &c.code), &list);
    for (i, given) in rules.calendars.iter().enumerate() {
        let here = list.element(i);
        let before = check.faults.len();
        closures(check, given, &here);
        super::times::of_calendar(check, given, &here);
        if check.faults.len() > before {
            continue;
        }
        for fault in calendar(given).err().into_iter().flatten() {
            let text = fault.to_string();
            check.add(&here.member("week"), "no_workday", text);
        }
    }
    if let Some(code) = &rules.notice_calendar
        && !rules.calendars.iter().any(|c| c.code == *code)
    {
        check
            .faults
            .value(
                &at.member("notice_calendar"),
                "unknown_code",
                code.as_str(),
                "no calendar of this code; add it to `calendars`",
            )
            .allow(rules.calendars.iter().map(|c| c.code.as_str()));
    }
}

fn closures(check: &mut Check<'_>, given: &WorkCalendar, at: &At<'_>) {
    let list = at.member("closed");
    for (i, closed) in given.closed.iter().enumerate() {
        let Some(to) = closed.to else { continue };
        let here = list.element(i);
        let days = crate::compute::calendar::count::calendar_days_between(closed.from.date(), to.date());
        if days < 0 {
            check.add(&here.member("to"), "contradiction", "the last day is not before the first");
        } else if days > CLOSED_DAYS_MOST {
            check.add(
                &here.member("to"),
                "out_of_range",
                format!(
                    "a closure has at most {CLOSED_DAYS_MOST} days; take the weekday out of the week instead"
                ),
            );
        }
    }
    let list = at.member("open");
    for (i, open) in given.open.iter().enumerate() {
        if given.open.iter().take(i).any(|o| o.on == open.on) {
            let here = list.element(i);
            check.twice(&here.member("on"), &open.on.to_string());
        }
    }
}

fn spread_of(check: &mut Check<'_>, spread: &HoursSpread, at: &At<'_>) {
    for (name, value) in [("task_pct", spread.task_pct), ("rate_pct", spread.rate_pct)] {
        if value > MOST_SPREAD {
            check.add(&at.member(name), "out_of_range", "a spread is at most 200 %");
        }
    }
    if spread.median_ratio.is_some_and(|m| m < LEAST_MEDIAN) {
        check.add(&at.member("median_ratio"), "out_of_range", "a median ratio is at least 0.001");
    }
}

fn rates(check: &mut Check<'_>, root: &At<'_>) {
    let labor = root.member("labor");
    for (i, rate) in check.doc.labor.iter().enumerate() {
        if let Some(spread) = &rate.spread {
            let here = labor.element(i);
            spread_of(check, spread, &here.member("spread"));
        }
    }
    let Some(rules) = &check.doc.labor_rules else { return };
    let here = root.member("labor_rules");
    let list = here.member("weather");
    for (i, entry) in rules.weather.iter().enumerate() {
        let place = list.element(i);
        super::work::factor(check, entry.factor, &place.member("factor"));
        if rules.weather.iter().take(i).any(|w| w.weather == entry.weather) {
            check.twice(&place.member("weather"), entry.weather.word());
        }
    }
    if let Some(rule) = rules.travel.and_then(travel_of_day) {
        check.add(&here.member("travel"), "out_of_range", rule);
    }
    if let Some(overtime) = &rules.overtime {
        let at = here.member("overtime");
        let rule = crate::compute::labor::days::rule_of(overtime);
        for fault in crate::compute::plan::overtime::split(&[], &rule).err().into_iter().flatten() {
            let OvertimeError::Rule { field, value, allowed } = fault else { continue };
            let rule = format!("this is not allowed; give {allowed}");
            check.faults.value(&at.member(field), "out_of_range", &value.to_string(), rule);
        }
        super::times::double(check, overtime, &at);
    }
}
