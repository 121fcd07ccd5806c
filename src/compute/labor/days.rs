//! Hours laid on days: overtime beyond the day and the week, and paid travel, as lines of their own.
//!
//! Without dates the tasks follow each other on the weekdays of the crews' calendar, holidays left out; with a plan they
//! lie on the days the plan gives. `people` says which of a crew's people does what.

mod people;
#[cfg(test)]
mod tests;

use super::{LaborHours, hour_with_burden};
use crate::compute::plan::overtime::{OvertimeRule, Split, split, usual};
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::words::{Category, Task, Weekday};
use crate::units::decimal::plain;
use crate::units::quantity::Span;
use crate::units::show::{counted, worded};
use crate::units::{Amount, Factor, Price, Quantity, Unit};
use crate::wire::book::work::{OvertimeRates, Trade};
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::Serialize;
use smallvec::SmallVec;
use utoipa::ToSchema;

/// Minutes of a task on a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayWork {
    /// The day.
    pub on: Date,
    /// The task, by its place among [`LaborHours::tasks`].
    pub task: usize,
    /// Which crew; people of different crews are different people.
    pub crew: usize,
    /// Working minutes of the day before it begins.
    pub from: i64,
    /// Working minutes of the crew.
    pub minutes: i64,
}

/// Hours of one trade that cost more than plain ones.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OvertimeHours {
    /// Trade code.
    pub trade: String,
    /// Hours at the plain rate.
    pub regular: Quantity,
    /// Hours at the overtime rate.
    pub overtime: Quantity,
    /// Hours at the double rate.
    pub double: Quantity,
    /// What is paid on top of the plain hours, with burden.
    pub cost: Amount,
    /// The numbers it came from.
    pub basis: String,
}

/// Paid travel of one trade.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct TravelHours {
    /// Trade code.
    pub trade: String,
    /// Days of all its people.
    pub person_days: i64,
    /// Hours of travel.
    pub hours: Quantity,
    /// Cost with burden.
    pub cost: Amount,
    /// The numbers it came from.
    pub basis: String,
}

/// The rule of the core for the rates of a book; what they leave out is federal practice.
pub fn rule_of(rates: &OvertimeRates) -> OvertimeRule {
    let hours = |s: Option<Span>| s.map(|s| s.seconds() as f64 / 3600.0);
    let number = |f: Option<Factor>, or: f64| f.map_or(or, |f| f.millionths() as f64 / 1e6);
    let usual = OvertimeRule::default();
    OvertimeRule {
        daily_limit: hours(rates.daily_limit),
        weekly_limit: hours(rates.weekly_limit).or(usual.weekly_limit),
        daily_double_limit: hours(rates.daily_double_limit),
        week_starts: rates.week_starts.map_or(usual.week_starts, weekday),
        multiplier: number(rates.multiplier, usual.multiplier),
        double_multiplier: number(rates.double_multiplier, usual.double_multiplier),
    }
}

fn weekday(day: Weekday) -> jiff::civil::Weekday {
    use jiff::civil::Weekday as W;
    match day {
        Weekday::Monday => W::Monday,
        Weekday::Tuesday => W::Tuesday,
        Weekday::Wednesday => W::Wednesday,
        Weekday::Thursday => W::Thursday,
        Weekday::Friday => W::Friday,
        Weekday::Saturday => W::Saturday,
        Weekday::Sunday => W::Sunday,
    }
}

/// The tasks one after the other on days of `week` minutes, Monday first, from a Monday on.
pub fn in_sequence(labor: &LaborHours, week: [i64; 7]) -> Vec<DayWork> {
    // Most tasks end on the day on which they begin.
    let mut out = Vec::with_capacity(2 * labor.tasks.len());
    // Any Monday will do: only weekdays matter.
    let mut day = jiff::civil::date(2001, 1, 1);
    let room = |day: Date| {
        let at = usize::try_from(day.weekday().to_monday_zero_offset()).unwrap_or(0);
        week.get(at).copied().unwrap_or(0)
    };
    if week.iter().all(|m| *m <= 0) {
        return out;
    }
    let mut left = room(day);
    for (index, task) in labor.tasks.iter().enumerate() {
        // Beyond some centuries of work the calendar ends; such hours are no job's.
        let mut minutes = ((task.seconds + 59) / 60).min(50_000_000);
        while minutes > 0 {
            while left <= 0 {
                let Ok(next) = day.tomorrow() else { return out };
                day = next;
                left = room(day);
            }
            let taken = minutes.min(left);
            out.push(DayWork { on: day, task: index, crew: 0, from: room(day) - left, minutes: taken });
            minutes -= taken;
            left -= taken;
        }
    }
    out
}

/// How many people of a trade a crew has.
pub type Strength<'s> = &'s dyn Fn(usize, &str) -> i64;

/// Adds overtime and travel to the hours, their cost and their lines. With a plan `crews` says how many people each crew has;
/// without one it has those that its largest task needs.
pub fn add(
    labor: &mut LaborHours,
    days: &[DayWork],
    travel: Option<Span>,
    book: &PriceBook,
    crews: Option<Strength<'_>>,
) {
    let dated = crews.is_some();
    let rules = book.doc().labor_rules.as_ref();
    let how = if dated { "on the days of the plan" } else { "tasks one after the other on weekdays" };
    let mut trades: SmallVec<[Worked<'_>; 6]> = SmallVec::new();
    let rates = rules.and_then(|r| r.overtime.as_ref());
    let rule = rates.map_or_else(OvertimeRule::default, rule_of);
    for (code, by_day) in people::at_work(labor, days, crews.unwrap_or(&|_, _| 0), &rule) {
        // The people of a trade stand beside each other.
        if trades.last().is_none_or(|last| last.trade.code != *code) {
            let Some(trade) = book.doc().trades.iter().find(|t| t.code == *code) else { continue };
            trades.push(Worked { trade, split: Split::default(), person_days: 0 });
        }
        let Some(sum) = trades.last_mut() else { continue };
        let worked = by_day.iter().filter(|(_, minutes)| *minutes > 0).count();
        sum.person_days += i64::try_from(worked).unwrap_or(i64::MAX);
        if rates.is_none() {
            continue;
        }
        // minutes are rounded task by task and may add up to a few more than the day has
        let hours: SmallVec<[(Date, f64); 16]> =
            by_day.iter().map(|(d, m)| (*d, (*m).clamp(0, 1440) as f64 / 60.0)).collect();
        if let Ok(found) = split(&hours, &rule) {
            sum.split.regular += found.regular;
            sum.split.overtime += found.overtime;
            sum.split.double += found.double;
        }
    }
    if let Some(rates) = rates {
        for worked in &trades {
            add_overtime(labor, worked, rates, how);
        }
    }
    if let Some(travel) = travel.or_else(|| rules.and_then(|r| r.travel)).filter(|t| t.seconds() > 0) {
        for worked in &trades {
            add_travel(labor, worked, travel, how);
        }
    }
}

/// What the people of one trade work.
struct Worked<'b> {
    trade: &'b Trade,
    split: Split,
    /// Days of all of them.
    person_days: i64,
}

fn add_overtime(labor: &mut LaborHours, worked: &Worked<'_>, rates: &OvertimeRates, how: &str) {
    let Worked { trade, split, .. } = worked;
    let hours = |h: f64| Quantity::computed(h, Unit::Hr, 6);
    let mut cost = Amount::ZERO;
    let kinds = [
        ("overtime", split.overtime, rates.multiplier.unwrap_or(usual::MULTIPLIER).number()),
        ("double time", split.double, rates.double_multiplier.unwrap_or(usual::DOUBLE).number()),
    ];
    for (word, count, multiplier) in kinds {
        let quantity = hours(count);
        if quantity.value().is_zero() {
            continue;
        }
        let price = hour_with_burden(trade);
        let premium = Price::rounded(price.decimal() * (multiplier - Decimal::ONE));
        let line = premium.times(quantity.value());
        cost += line;
        labor.cost_lines.push(CostLine {
            code: trade.code.as_str().to_owned(),
            description: worded!("{}, {word} premium", trade.name),
            category: Category::Labor,
            quantity,
            unit_price: premium,
            cost: line,
            rule: "labor.overtime",
            basis: worded!(
                "{how}: {quantity} {word} beyond {}; the plain hour {price} is counted with the tasks, x ({} - 1) on top",
                limits(rates),
                multiplier.normalize()
            ),
        });
    }
    if cost == Amount::ZERO {
        return;
    }
    labor.cost += cost;
    labor.overtime.push(OvertimeHours {
        trade: trade.code.as_str().to_owned(),
        regular: hours(split.regular),
        overtime: hours(split.overtime),
        double: hours(split.double),
        cost,
        basis: worded!("{how}, person by person; limits {}", limits(rates)),
    });
}

fn limits(rates: &OvertimeRates) -> String {
    let hours = |limit: Span| plain(limit.hours(), 4);
    let mut parts = Vec::new();
    parts.extend(rates.daily_limit.map(|h| worded!("{} h a day", hours(h))));
    parts.push(worded!("{} h a week", hours(rates.weekly_limit.unwrap_or(usual::WEEK))));
    parts.extend(rates.daily_double_limit.map(|h| worded!("double beyond {} h a day", hours(h))));
    parts.join(", ")
}

fn add_travel(labor: &mut LaborHours, worked: &Worked<'_>, travel: Span, how: &str) {
    let Worked { trade, person_days, .. } = *worked;
    let price = hour_with_burden(trade);
    let hours = Quantity::decimal(travel.hours() * Decimal::from(person_days), Unit::Hr, 6);
    let cost = price.times(hours.value());
    let basis = worded!(
        "{how}: {} x {} h there and back",
        counted(person_days, "person-day"),
        plain(travel.hours(), 6)
    );
    labor.cost += cost;
    labor.cost_lines.push(CostLine {
        code: trade.code.as_str().to_owned(),
        description: worded!("{}, travel", trade.name),
        category: Category::Labor,
        quantity: hours,
        unit_price: price,
        cost,
        rule: "labor.travel",
        basis: basis.clone(),
    });
    labor.travel.push(TravelHours { trade: trade.code.as_str().to_owned(), person_days, hours, cost, basis });
}

/// Whether the book or the notes ask for lines that need days.
pub fn wanted(book: &PriceBook, travel: Option<Span>) -> bool {
    let rules = book.doc().labor_rules.as_ref();
    travel.is_some() || rules.is_some_and(|r| r.overtime.is_some() || r.travel.is_some())
}

/// The task an index of [`DayWork`] stands for.
pub fn place_of(labor: &LaborHours, task: Task) -> Option<usize> {
    labor.tasks.iter().position(|t| t.task == task)
}
