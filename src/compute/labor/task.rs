//! The hours of one task, on one pour day or several.

use super::{Conditions, CrewOut, TaskHours, crew_seconds, rate, shown};
use crate::domain::book::PriceBook;
use crate::domain::lines::Check;
use crate::domain::measures::Measures;
use crate::domain::words::Task;
use crate::units::quantity::Span;
use crate::units::show::{Show, worded};
use crate::units::{Amount, Quantity, Unit};
use crate::wire::book::work::LaborRate;
use rust_decimal::Decimal;

/// The hours of one task by its rate; `None` where there are none. Its cost is left to the one who has all hours of a trade.
///
/// What is placed on several pour days is set up on each, and the crew's hours are rounded up on each.
pub(super) fn of_task(
    rate: &LaborRate,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
    checks: &mut Vec<Check>,
    show: Show,
) -> Option<TaskHours> {
    let rules = book.doc().labor_rules.as_ref();
    let step = rules.map_or(Span::from_seconds(900), |r| r.step);
    let people: i64 = rate.crew.iter().map(|c| c.count.get()).sum();
    let mut net = Decimal::ZERO;
    let mut seconds = 0_i64;
    let mut basis = String::new();
    let mut by_pour_day = Vec::new();
    let mut one = |measures: &Measures, day: Option<i64>, checks: &mut Vec<Check>| {
        let worked = rate::reckon(rate, measures, conditions, rules, checks, show);
        if worked.person_hours.is_zero() {
            return;
        }
        let of_crew = crew_seconds(worked.person_hours, people, step);
        net += worked.person_hours;
        seconds = seconds.saturating_add(of_crew);
        let text = worked.basis_with(people, of_crew, step);
        match day {
            None => basis = text,
            Some(day) => {
                by_pour_day.push((day, of_crew));
                let joined = if basis.is_empty() { "" } else { "; " };
                basis.push_str(&worded!("{joined}pour day {day}: {text}"));
            }
        }
    };
    let days =
        if matches!(rate.task, Task::MixConcrete | Task::Pour) { measures.by_pour_day() } else { Vec::new() };
    if days.is_empty() {
        one(measures, None, checks);
    }
    let mut told = false;
    for (day, measures) in days.iter().filter(|(_, m)| rate::called_for(rate.task, m)) {
        // What a rate lacks it lacks on every day: said once.
        let mut again = Vec::new();
        one(measures, Some(*day), if told { &mut again } else { &mut *checks });
        told = true;
    }
    if net.is_zero() {
        return None;
    }
    Some(TaskHours {
        task: rate.task,
        method: rate.method.as_str().to_owned(),
        crew: rate
            .crew
            .iter()
            .map(|c| CrewOut { trade: c.trade.as_str().to_owned(), count: c.count.get() })
            .collect(),
        person_hours_net: Quantity::decimal(net, Unit::Hr, 3),
        crew_hours: shown(seconds),
        person_hours: shown(seconds.saturating_mul(people)),
        cost: Amount::ZERO,
        equipment: rate.equipment.iter().map(|e| e.as_str().to_owned()).collect(),
        basis,
        seconds,
        by_pour_day,
    })
}

/// The hours of one task by the method the conditions choose, without a word about what its rate lacks.
pub(in crate::compute) fn hours_of(
    task: Task,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
    show: Show,
) -> Option<TaskHours> {
    let rate = book.labor(task, conditions.method_of(task)).filter(|_| rate::called_for(task, measures))?;
    of_task(rate, measures, conditions, book, &mut Vec::new(), show)
}
