//! Stage: machines on site and the cheapest mix of periods for them.

mod held;
pub mod plan;
#[cfg(test)]
mod tests;

use super::hire::{Period, cheapest_mix};
use super::job_plan::office::week_minutes;
use super::labor::{LaborHours, Reckoned, TaskHours};
use super::plan::result::{MachineWindow, Plan};
use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::domain::usual;
use crate::domain::words::{Category, Task};
use crate::units::decimal::plain;
use crate::units::quantity::Span;
use crate::units::show::{counted, joined, measured, worded};
use crate::units::{Amount, Price, Quantity, Unit};
use crate::wire::book::work::Equipment;
use plan::{HireOut, StayOut, Terms};
use smallvec::{SmallVec, smallvec};
use std::fmt;

/// Periods of a hire and what they cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Periods {
    /// Half days.
    pub half_days: i64,
    /// Days.
    pub days: i64,
    /// Weeks of seven days.
    pub weeks: i64,
    /// Periods of twenty-eight days.
    pub four_weeks: i64,
    /// Cost of all.
    pub cost: Amount,
}

impl Periods {
    /// Those of a stay that is handed out.
    fn of(stay: &StayOut) -> Self {
        let paid = stay.periods;
        Self {
            half_days: paid.half_days.into(),
            days: paid.days.into(),
            weeks: paid.weeks.into(),
            four_weeks: paid.four_weeks.into(),
            cost: stay.hire,
        }
    }
}

/// Half days that a time takes: hours of the crew over half the hours of a day, rounded up, in whole seconds.
///
/// ```
/// use rillcast::{compute::machines::half_days, units::quantity::Span};
/// let day = Span::from_seconds(26_400); // 7 h 20 min: a third of an hour has no end as a decimal
/// assert_eq!(half_days(79_200, day), 6);
/// assert_eq!(half_days(79_201, day), 7);
/// ```
pub fn half_days(seconds: i64, day: Span) -> i64 {
    let (need, each) = (i128::from(seconds.max(0)) * 2, i128::from(day.seconds().max(1)));
    i64::try_from((need + each - 1) / each).unwrap_or(i64::MAX)
}

/// Days of a week that the crew works.
fn worked_days(book: &PriceBook) -> i64 {
    let days = week_minutes(book, None).into_iter().filter(|minutes| *minutes > 0).count();
    i64::try_from(days).unwrap_or(7).max(1)
}

/// Half days on site for so many of work where no day is named: a yard that counts every day of the week counts the days off
/// between two weeks of work as well.
///
/// # Formula
/// `half days + 2 x (days that the yard counts a week - days worked a week) x floor((days - 1) / days worked a week)`
/// # Units
/// half days
/// # Valid for
/// work that begins on the first working day of a week and is not broken off; dates of a plan count the days themselves
/// # Source
/// counting days; common practice, no source
/// # Example
/// ```
/// use rillcast::compute::machines::on_site;
/// // five days are done by Friday; a sixth is the Monday behind a weekend
/// assert_eq!(on_site(10, 5, 7), 10);
/// assert_eq!(on_site(12, 5, 7), 16);
/// assert_eq!(on_site(11, 5, 7), 15);
/// // eleven days have two weekends between them; a yard that counts working days counts none
/// assert_eq!(on_site(22, 5, 7), 30);
/// assert_eq!(on_site(22, 5, 5), 22);
/// ```
pub fn on_site(half_days: i64, worked_days: i64, counted_days: i64) -> i64 {
    let off = (counted_days - worked_days).max(0);
    let days = half_days.max(0) / 2 + half_days.max(0) % 2;
    let weekends = (days - 1).max(0) / worked_days.max(1);
    half_days.saturating_add(weekends.saturating_mul(2 * off))
}

/// Days of a week that the yard counts for a machine.
fn counted_days(machine: &Equipment) -> i64 {
    machine.days_per_week.map_or(7, |n| n.get())
}

/// So many of one machine that come and go together, and what is handed out of their hire.
pub struct Hire<'b> {
    machine: &'b Equipment,
    units: u32,
    stays: SmallVec<[Stay; 1]>,
    /// None beyond twenty years, which are left to the cost lines.
    shown: Option<HireOut>,
}

/// A stay on site: the periods paid for it, and why.
struct Stay {
    periods: Periods,
    basis: String,
}

impl<'b> Hire<'b> {
    /// One stay of so many half days.
    fn of_half_days(machine: &'b Equipment, units: u32, half_days: i64, basis: String) -> Self {
        let small = u32::try_from(half_days).ok();
        let shown = small.and_then(|n| Terms::of(machine).for_half_days(n).ok()).map(|h| h.times(units));
        let paid = shown.as_ref().and_then(|h| h.stays.first()).map(Periods::of);
        let periods = paid.unwrap_or_else(|| mix(machine, half_days));
        Self { machine, units, stays: smallvec![Stay { periods, basis }], shown }
    }
}

fn length_of_day(book: &PriceBook) -> Span {
    book.doc().labor_rules.as_ref().map_or(usual::WORKING_DAY, |r| r.day)
}

/// Use of a machine by one task.
struct Use<'t> {
    machine: &'t str,
    task: Task,
    seconds: i64,
    by_pour_day: &'t [(i64, i64)],
}

/// What the tasks of an answer use.
fn uses_of(tasks: &[TaskHours]) -> impl Iterator<Item = Use<'_>> {
    tasks.iter().flat_map(|t| {
        t.equipment.iter().map(move |machine| Use {
            machine,
            task: t.task,
            seconds: t.seconds,
            by_pour_day: &t.by_pour_day,
        })
    })
}

/// What one stay is for: a pour day, or what has none; seconds and tasks.
struct UsedOn {
    pour_day: Option<i64>,
    seconds: i64,
    tasks: SmallVec<[Task; 4]>,
}

/// The stays of a machine by pour day; the hours that have no pour day come first. What several pour days use comes for each of
/// them: without dates nobody knows how far apart they lie.
fn stays_of(machine: &Equipment, uses: &[Use<'_>]) -> SmallVec<[UsedOn; 1]> {
    let mut stays: SmallVec<[UsedOn; 1]> = SmallVec::new();
    for Use { task, seconds, by_pour_day, .. } in uses.iter().filter(|u| u.machine == machine.code.as_str()) {
        let mut add = |day: Option<i64>, seconds: i64| {
            let place = stays.partition_point(|stay| stay.pour_day < day);
            match stays.get_mut(place).filter(|stay| stay.pour_day == day) {
                Some(stay) => {
                    stay.seconds = stay.seconds.saturating_add(seconds);
                    stay.tasks.push(*task);
                }
                None => stays.insert(place, UsedOn { pour_day: day, seconds, tasks: smallvec![*task] }),
            }
        };
        if by_pour_day.is_empty() {
            add(None, *seconds);
        }
        for (day, seconds) in *by_pour_day {
            add(Some(*day), *seconds);
        }
    }
    stays
}

/// Machines that the tasks call for and that are not the office's own, for the hours of those tasks.
fn by_hours<'b>(tasks: &[TaskHours], book: &'b PriceBook) -> Vec<Hire<'b>> {
    let day = length_of_day(book);
    let uses: Vec<Use<'_>> = uses_of(tasks).collect();
    let worked = worked_days(book);
    let mut out = Vec::new();
    for machine in book.doc().equipment.iter().filter(|m| !m.owned.0) {
        for UsedOn { pour_day, seconds, tasks } in stays_of(machine, &uses) {
            let of_work = half_days(seconds, day);
            let half_days = on_site(of_work, worked, counted_days(machine));
            let on = pour_day.map_or(String::new(), |d| worded!("pour day {d}: "));
            let mut basis = worded!(
                "{on}{} of {} at {} h a day, rounded up to {}",
                measured(Span::from_seconds(seconds).hours(), 6, "crew-hour"),
                joined(tasks.iter(), ", "),
                plain(day.hours(), 3),
                counted(of_work, "half day"),
            );
            if half_days > of_work {
                basis.push_str(&worded!(
                    "; {} on site with the days off between weeks of {}",
                    counted(half_days, "half day"),
                    counted(worked, "working day")
                ));
            }
            out.push(Hire::of_half_days(machine, 1, half_days, basis));
        }
    }
    out
}

/// What the hire for a few tasks costs by their hours, as [`machines`] makes lines of it: machine by machine, for how many half
/// days, with transport.
pub(super) fn hire_of<'b>(tasks: &[Reckoned<'_>], book: &'b PriceBook) -> Vec<(&'b Equipment, i64, Amount)> {
    let uses: SmallVec<[Use<'_>; 4]> = tasks
        .iter()
        .flat_map(|t| t.rate.equipment.iter().map(move |machine| (machine, t)))
        .map(|(machine, t)| Use {
            machine: machine.as_str(),
            task: t.rate.task,
            seconds: t.seconds,
            by_pour_day: &t.by_pour_day,
        })
        .collect();
    if uses.is_empty() {
        return Vec::new();
    }
    let (day, worked) = (length_of_day(book), worked_days(book));
    let mut out = Vec::new();
    for machine in book.doc().equipment.iter().filter(|m| !m.owned.0) {
        for UsedOn { seconds, .. } in stays_of(machine, &uses) {
            let half_days = on_site(half_days(seconds, day), worked, counted_days(machine));
            let transport = machine.transport.unwrap_or(Amount::ZERO);
            out.push((machine, half_days, mix(machine, half_days).cost + transport));
        }
    }
    out
}

/// Machines by the days the plan has them on site.
fn by_plan<'b>(plan: &Plan, book: &'b PriceBook) -> Vec<Hire<'b>> {
    let day = length_of_day(book);
    let mut out = Vec::new();
    for machine in book.doc().equipment.iter().filter(|m| !m.owned.0) {
        let windows: Vec<&MachineWindow> =
            plan.machine_windows.iter().filter(|w| w.machine.as_str() == machine.code.as_str()).collect();
        held::add(machine, &windows, day, plan.start, &mut out);
    }
    out
}

/// Hire of the machines that the tasks call for and that are not the office's own: by the days the plan has them on site
/// where there is a plan, else by the hours of the tasks.
pub fn hires<'b>(plan: Option<&Plan>, labor: &LaborHours, book: &'b PriceBook) -> Vec<Hire<'b>> {
    plan.map_or_else(|| by_hours(&labor.tasks, book), |plan| by_plan(plan, book))
}

/// Hire as cost lines, for each stay one for each kind of period so that each line is quantity times rate.
pub fn cost_lines(hires: &[Hire<'_>]) -> Vec<CostLine> {
    let mut out = Vec::with_capacity(2 * hires.len());
    for hire in hires {
        hire.stays.iter().for_each(|stay| lines(hire, stay, &mut out));
    }
    out
}

/// Every hire with its periods and what owning would cost.
pub fn shown(hires: Vec<Hire<'_>>) -> Vec<HireOut> {
    hires.into_iter().filter_map(|hire| hire.shown).collect()
}

/// The cheapest mix of a machine's periods, by its own days a week and four weeks.
pub fn mix(machine: &Equipment, half_days: i64) -> Periods {
    let paid = cheapest_mix(&Terms::of(machine).rates, half_days);
    Periods {
        half_days: paid.count(Period::HalfDay),
        days: paid.count(Period::Day),
        weeks: paid.count(Period::Week),
        four_weeks: paid.count(Period::FourWeeks),
        cost: Amount::line(paid.total),
    }
}

fn lines(hire: &Hire<'_>, stay: &Stay, out: &mut Vec<CostLine>) {
    let (machine, units) = (hire.machine, i64::from(hire.units));
    let Stay { periods: mix, basis } = stay;
    let periods = [
        (mix.four_weeks, machine.four_weeks, "four weeks", Unit::Each),
        (mix.weeks, machine.week, "week", Unit::Each),
        (mix.days, Some(machine.day), "day", Unit::Day),
        (mix.half_days, machine.half_day, "half day", Unit::Each),
    ];
    let used = || periods.iter().filter(|(count, ..)| *count > 0);
    let each = used().map(|(count, _, what, _)| fmt::from_fn(move |f| write!(f, "{count} x {what}")));
    let mix_text = joined(each, " + ");
    let mut line = |what: &str, unit: Unit, count: i64, rate: Amount, rule: &'static str, basis: String| {
        out.push(CostLine {
            code: machine.code.as_str().to_owned(),
            description: worded!("{}, {what}", machine.name),
            category: Category::Hire,
            quantity: Quantity::new(count, 0, unit),
            unit_price: Price::from_millionths(rate.minor().saturating_mul(10_000)),
            cost: Amount::from_minor(rate.minor().saturating_mul(count)),
            rule,
            basis,
        });
    };
    for (count, rate, what, unit) in used() {
        let basis = worded!("{basis}; cheapest mix: {mix_text}");
        line(what, *unit, count.saturating_mul(units), rate.unwrap_or(Amount::ZERO), "hire.periods", basis);
    }
    if let Some(transport) = machine.transport.filter(|t| *t > Amount::ZERO) {
        let basis = "delivery and collection of each machine, one stay".to_owned();
        line("transport", Unit::Each, units, transport, "hire.transport", basis);
    }
}
