//! The hours of one task, on one pour day or several.

use super::{Conditions, CrewOut, TaskHours, crew_seconds, rate, shown, work};
use crate::domain::book::PriceBook;
use crate::domain::lines::Check;
use crate::domain::measures::Measures;
use crate::domain::usual;
use crate::domain::words::{Measure, Task};
use crate::units::decimal::Plain;
use crate::units::show::Show;
use crate::units::{Amount, Quantity, Unit};
use crate::wire::book::work::LaborRate;
use rust_decimal::Decimal;

/// The hours of one task by its rate, in figures.
pub(in crate::compute) struct Reckoned<'b> {
    pub(in crate::compute) rate: &'b LaborRate,
    /// Person-hours before the crew's are rounded.
    net: Decimal,
    /// Crew-hours in whole seconds.
    pub(in crate::compute) seconds: i64,
    /// The same by pour day, where the task is done on several.
    pub(in crate::compute) by_pour_day: Vec<(i64, i64)>,
}

impl<'b> Reckoned<'b> {
    fn people(&self) -> i64 {
        people(self.rate)
    }

    /// Person-hours paid.
    pub(in crate::compute) fn person_hours(&self) -> Quantity {
        shown(self.seconds.saturating_mul(self.people()))
    }

    /// As the answer carries it, with its working. Its cost is left to the one who has all hours of a trade.
    pub(super) fn told(self, basis: String) -> TaskHours {
        let person_hours = self.person_hours();
        let Reckoned { rate, net, seconds, by_pour_day } = self;
        TaskHours {
            task: rate.task,
            method: rate.method.as_str().to_owned(),
            crew: rate
                .crew
                .iter()
                .map(|c| CrewOut { trade: c.trade.as_str().to_owned(), count: c.count.get() })
                .collect(),
            person_hours_net: Quantity::decimal(net, Unit::Hr, 3),
            crew_hours: shown(seconds),
            person_hours,
            cost: Amount::ZERO,
            equipment: rate.equipment.iter().map(|e| e.as_str().to_owned()).collect(),
            basis,
            net,
            seconds,
            by_pour_day,
        }
    }
}

fn people(rate: &LaborRate) -> i64 {
    rate.crew.iter().map(|c| c.count.get()).sum()
}

/// The hours of one task by its rate; `None` where there are none. `checks` is what its rate lacks, where anyone asks; `working`
/// is the text behind which the lines of working are written.
///
/// What is placed on several pour days is set up on each, and the crew's hours are rounded up on each.
pub(super) fn of_task<'b>(
    rate: &'b LaborRate,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
    mut checks: Option<&mut Vec<Check>>,
    mut working: Option<&mut String>,
    show: Show,
) -> Option<Reckoned<'b>> {
    let rules = book.doc().labor_rules.as_ref();
    let step = rules.map_or(usual::HOURS_STEP, |r| r.step);
    let people = people(rate);
    let mut sum = Reckoned { rate, net: Decimal::ZERO, seconds: 0, by_pour_day: Vec::new() };
    let mut one = |measures: &Measures, day: Option<i64>, checks: Option<&mut Vec<Check>>| {
        let before = working.as_deref().map_or(0, String::len);
        if let Some((text, day)) = working.as_deref_mut().zip(day) {
            text.push_str(if sum.net.is_zero() { "pour day " } else { "; pour day " });
            Plain::Small(day, 0).put(text);
            text.push_str(": ");
        }
        let hours = rate::reckon(rate, measures, conditions, book, checks, working.as_deref_mut(), show);
        if hours.is_zero() {
            if let Some(text) = working.as_deref_mut() {
                text.truncate(before);
            }
            return;
        }
        let of_crew = crew_seconds(hours, people, step);
        sum.net += hours;
        sum.seconds = sum.seconds.saturating_add(of_crew);
        sum.by_pour_day.extend(day.map(|day| (day, of_crew)));
        if let Some(text) = working.as_deref_mut() {
            rate::put_crew_hours(hours, people, of_crew, step, text);
        }
    };
    let days = match rate.task {
        Task::MixConcrete => measures.by_pour_day(Measure::BagsMixed),
        Task::Pour => measures.by_pour_day(Measure::ConcreteOrdered),
        _ => Vec::new(),
    };
    if days.is_empty() {
        one(measures, None, checks.take());
    }
    for (day, measures) in &days {
        // What a rate lacks it lacks on every day: said once.
        one(measures, Some(*day), checks.take());
    }
    (!sum.net.is_zero()).then_some(sum)
}

/// The hours of one task by the method the conditions choose, as [`of_task`], without a word about what its rate lacks.
pub(in crate::compute) fn hours_of<'b>(
    task: Task,
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &'b PriceBook,
    working: Option<&mut String>,
    show: Show,
) -> Option<Reckoned<'b>> {
    let rate = book.labor(task, conditions.method_of(task)).filter(|_| work::called_for(task, measures))?;
    if work::done_elsewhere(task, Some(rate), measures, conditions, book).is_some() {
        return None;
    }
    of_task(rate, measures, conditions, book, None, working, show)
}
