//! Stage: hours by task and trade, their cost with burden.
//!
//! | file | subject |
//! |---|---|
//! | this one | the answer, its cost by trade |
//! | [`days`] | overtime and travel: hours laid on days |
//! | `task` | the hours of one task, on one pour day or several |
//! | [`rate`] | person-hours and crew-hours by a rate |
//! | `depth` | what deep trenches add, part by part |
//! | `place` | what a hard place and bad weather add |
//! | `work` | who counts the work of a task |
//! | `method` | what no rate counts, and whether a method can do the work |

pub mod days;
mod depth;
mod method;
pub(super) mod place;
pub mod rate;
mod task;
#[cfg(test)]
mod tests;
pub(super) mod work;

use super::takeoff::line::LineTakeoff;
use super::takeoff::run::RunTakeoff;
use super::takeoff::{Takeoff, check};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, CostLine, Outcome};
use crate::domain::measures::Measures;
use crate::domain::words::{Category, Difficulty, Measure, Soil, Task, Weather};
use crate::domain::work::measures_of;
use crate::units::decimal::trim;
use crate::units::money::share_out;
use crate::units::show::{LINE, Show, worded};
use crate::units::{Amount, Length, Price, Quantity, Unit};
use crate::wire::Code;
use crate::wire::book::work::Trade;
use rust_decimal::Decimal;
use serde::Serialize;
use utoipa::ToSchema;

pub use rate::{crew_seconds, person_hours};
use task::of_task;
pub(super) use task::{Reckoned, hours_of};

/// What decides the rates beside the quantities.
#[derive(Debug, Clone, Copy)]
pub struct Conditions<'a> {
    /// Soil.
    pub soil: Soil,
    /// Difficulty.
    pub difficulty: Difficulty,
    /// The weather that is expected, when the notes say it.
    pub weather: Option<Weather>,
    /// Deepest trench of the runs.
    pub deepest_run: Length,
    /// Deepest trench of the lines.
    pub deepest_line: Length,
    /// Thickest slab or pavement that is sawn.
    pub thickest_sawn: Length,
    /// Methods chosen by the notes.
    pub methods: &'a [(Task, &'a Code)],
    /// The trenches, where a layout says which they are.
    pub trenches: Trenches<'a>,
}

/// The trenches of a layout.
#[derive(Debug, Clone, Copy)]
pub struct Trenches<'a> {
    /// Those of the runs.
    pub runs: &'a [RunTakeoff],
    /// Those of the lines.
    pub lines: &'a [LineTakeoff],
}

impl Trenches<'_> {
    /// None that have a name.
    pub const UNNAMED: Trenches<'static> = Trenches { runs: &[], lines: &[] };
}

impl<'a> Conditions<'a> {
    /// Where nothing is known of a job: a normal place, no weather, common earth, the usual methods.
    pub const PLAIN: Conditions<'static> = Conditions {
        soil: Soil::CommonEarth,
        difficulty: Difficulty::Normal,
        weather: None,
        deepest_run: Length::ZERO,
        deepest_line: Length::ZERO,
        thickest_sawn: Length::ZERO,
        methods: &[],
        trenches: Trenches::UNNAMED,
    };

    /// The conditions of a layout.
    pub fn of(layout: &'a Layout<'_>, taken: &'a Takeoff<'_>) -> Conditions<'a> {
        Conditions {
            soil: layout.soil,
            difficulty: layout.difficulty,
            weather: layout.weather,
            deepest_run: taken.deepest_run,
            deepest_line: taken.deepest_line,
            thickest_sawn: layout.thickest_sawn(),
            methods: &layout.methods,
            trenches: Trenches { runs: &taken.runs, lines: &taken.lines },
        }
    }

    fn method_of(&self, task: Task) -> Option<&'a Code> {
        self.methods.iter().find(|(t, _)| *t == task).map(|(_, m)| *m)
    }
}

/// Hours of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LaborHours {
    /// The tasks in their usual order.
    pub tasks: Vec<TaskHours>,
    /// Sums by trade.
    pub trades: Vec<TradeHours>,
    /// Crew-hours of all tasks.
    pub crew_hours: Quantity,
    /// Person-hours of all tasks.
    pub person_hours: Quantity,
    /// Cost with burden.
    pub cost: Amount,
    /// Hours beyond the day and the week, by trade; only where there are any.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub overtime: Vec<days::OvertimeHours>,
    /// Paid travel, by trade; only where the office pays it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub travel: Vec<days::TravelHours>,
    /// Checks of methods against depth and soil; gathered with the others at the top of the answer.
    #[serde(skip)]
    pub checks: Vec<Check>,
    /// Cost lines; in an estimate they stand among the cost lines.
    #[serde(skip)]
    pub cost_lines: Vec<CostLine>,
}

/// Hours of one task.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct TaskHours {
    /// The task.
    pub task: Task,
    /// How it is done.
    pub method: String,
    /// People by trade.
    pub crew: Vec<CrewOut>,
    /// Person-hours as reckoned, before the crew's hours are rounded.
    pub person_hours_net: Quantity,
    /// Hours of the crew, rounded up to the office's step.
    pub crew_hours: Quantity,
    /// Person-hours paid: crew-hours times people.
    pub person_hours: Quantity,
    /// Its part of the cost of each trade in the crew, by largest remainder, so that the tasks foot to the whole.
    pub cost: Amount,
    /// Machines it needs.
    pub equipment: Vec<String>,
    /// The numbers it came from.
    pub basis: String,
    /// Person-hours before rounding as they were reckoned, to a millionth; for learning rates.
    #[serde(skip)]
    pub net: Decimal,
    /// Crew-hours in whole seconds; for the stages that follow.
    #[serde(skip)]
    pub seconds: i64,
    /// The same by pour day, where the task is done on several.
    #[serde(skip)]
    pub by_pour_day: Vec<(i64, i64)>,
}

/// People of one trade.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CrewOut {
    /// Trade code.
    pub trade: String,
    /// How many.
    pub count: i64,
}

/// Hours of one trade over all tasks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct TradeHours {
    /// Trade code.
    pub trade: String,
    /// Its name.
    pub name: String,
    /// Person-hours.
    pub hours: Quantity,
    /// Wage per hour.
    pub wage: Price,
    /// Burden on the wage.
    pub burden_pct: crate::units::Percent,
    /// Cost with burden.
    pub cost: Amount,
}

/// The hours of every task that the measures call for.
///
/// A quantity that no rate counts is a failed check, never silence.
pub fn hours(measures: &Measures, conditions: &Conditions<'_>, book: &PriceBook, show: Show) -> LaborHours {
    let mut tasks: Vec<TaskHours> = Vec::with_capacity(Task::ALL.len());
    let mut checks = Vec::new();
    // Room for the working of one task after the other.
    let mut basis = String::with_capacity(4 * LINE);
    // Seconds worked by trade, each with the task it was worked in.
    let mut by_trade: Vec<(&Code, Vec<(usize, i64)>)> = Vec::new();
    for task in Task::ALL.iter().copied().filter(|t| work::called_for(*t, measures)) {
        let chosen = conditions.method_of(task);
        let rate = book.labor(task, chosen);
        if let Some(counted) = work::done_elsewhere(task, rate, measures, conditions, book) {
            let by = counted.iter().map(|(measure, by)| worded!("{measure} is counted by `{by}`"));
            let by = by.collect::<Vec<_>>().join(", ");
            let reason = worded!("{by}, and nothing else of `{task}` is here: it has no hours of its own");
            checks.push(check("labor_rate", task.word(), Outcome::Pass, reason));
            continue;
        }
        let Some(rate) = rate else {
            let by = chosen.map_or_else(String::new, |m| worded!(" by `{m}`"));
            checks.push(check(
                "labor_rate",
                task.word(),
                Outcome::Fail,
                worded!("the price book has no rate for `{task}`{by}: its hours are missing"),
            ));
            continue;
        };
        basis.clear();
        let reckoned = of_task(rate, measures, conditions, book, Some(&mut checks), Some(&mut basis), show);
        let Some(hours) = reckoned.map(|hours| hours.told(basis.as_str().to_owned())) else { continue };
        for member in &rate.crew {
            let part = (tasks.len(), hours.seconds.saturating_mul(member.count.get()));
            match by_trade.iter_mut().find(|(t, _)| **t == member.trade) {
                Some((_, parts)) => parts.push(part),
                None => {
                    let mut parts = Vec::with_capacity(Task::ALL.len());
                    parts.push(part);
                    by_trade.push((&member.trade, parts));
                }
            }
        }
        tasks.push(hours);
    }
    if !tasks.is_empty() {
        checks.extend(method::without_factor(conditions, book.doc().labor_rules.as_ref()));
    }
    let mut trades = Vec::with_capacity(by_trade.len());
    let mut cost_lines = Vec::with_capacity(by_trade.len());
    let mut person_seconds = 0_i64;
    for (code, parts) in &by_trade {
        let Some(trade) = book.trade(code) else { continue };
        let seconds = parts.iter().fold(0_i64, |sum, (_, s)| sum.saturating_add(*s));
        person_seconds = person_seconds.saturating_add(seconds);
        let hours = shown(seconds);
        let price = hour_with_burden(trade);
        let cost = price.times(hours.value());
        let weights: Vec<i64> = parts.iter().map(|(_, s)| *s).collect();
        for ((index, _), part) in parts.iter().zip(share_out(cost, &weights)) {
            if let Some(task) = tasks.get_mut(*index) {
                task.cost += part;
            }
        }
        trades.push(TradeHours {
            trade: code.as_str().to_owned(),
            name: trade.name.as_str().to_owned(),
            hours,
            wage: trade.wage,
            burden_pct: trade.burden_pct,
            cost,
        });
        cost_lines.push(CostLine {
            code: code.as_str().to_owned(),
            description: trade.name.as_str().to_owned(),
            category: Category::Labor,
            quantity: hours,
            unit_price: price,
            cost,
            rule: "labor.hours",
            basis: worded!(
                "hours of all tasks; wage {} with {} burden is {price} an hour",
                trade.wage,
                trade.burden_pct
            ),
        });
    }
    let crew: i64 = tasks.iter().fold(0, |sum, t| sum.saturating_add(t.seconds));
    LaborHours {
        crew_hours: shown(crew),
        person_hours: shown(person_seconds),
        cost: cost_lines.iter().map(|l| l.cost).sum(),
        overtime: Vec::new(),
        travel: Vec::new(),
        tasks,
        trades,
        checks,
        cost_lines,
    }
}

/// What was given by hand and no task on hand counts, each a failed check; what the tasks have said themselves stands in `said`.
pub(super) fn uncounted(
    measures: &Measures,
    conditions: &Conditions<'_>,
    book: &PriceBook,
    said: &[Check],
) -> Vec<Check> {
    let counting = |task: &Task, measure| {
        let rate = book.labor(*task, conditions.method_of(*task));
        rate.is_some_and(|rate| rate::counts(rate, measure, conditions))
    };
    let on_hand = |task: &Task| work::called_for(*task, measures);
    let counted = |measure: Measure| Task::ALL.iter().any(|t| on_hand(t) && counting(t, measure));
    let lost = measures.present().filter(|m| !counted(*m));
    let told = |measure: Measure| {
        let others: Vec<&Task> = Task::ALL.iter().filter(|t| counting(t, measure)).collect();
        let reason = match *others {
            // No rate counts it by itself, and something beside it counts its work.
            [] if work::goes_with(measure, |of| measures.base(of) > 0 && counted(of)) => return None,
            [] => {
                let own = |task: &&Task| measures_of(**task).contains(&measure);
                let by_task =
                    |task: &Task| said.iter().any(|c| c.outcome == Outcome::Fail && c.subject == task.word());
                if Task::ALL.iter().filter(own).any(by_task) {
                    return None;
                }
                worded!("no rate of the methods chosen counts {measure}: its hours are missing")
            }
            [task, ..] => worded!(
                "{measure} is counted by `{task}`, a task that comes with {}: its hours are missing; give one of them too",
                measures_of(*task).iter().map(|m| m.word()).collect::<Vec<_>>().join(", ")
            ),
        };
        Some(check("labor_rate", measure.word(), Outcome::Fail, reason))
    };
    lost.filter_map(told).collect()
}

/// Hours as an answer carries them, to 6 decimals; cost is taken on this figure, so that a line can be checked by hand.
pub(super) fn shown(seconds: i64) -> Quantity {
    // The steps of an office are whole hundredths of an hour, which are 36 seconds.
    if seconds % 36 == 0 && seconds.unsigned_abs() < 1 << 50 {
        let (hundredths, places) = trim(seconds / 36, 2);
        return Quantity::new(hundredths, places as u8, Unit::Hr);
    }
    Quantity::of_base(i128::from(seconds), Unit::Hr, 6)
}

/// What an hour of a trade costs.
///
/// # Formula
/// `wage x (1 + burden)`, rounded half away from zero to the six decimals of a price
/// # Units
/// currency per hour
/// # Valid for
/// any wage and burden
/// # Source
/// common practice, no source
/// # Example
/// ```
/// use rillcast::compute::labor::hour_with_burden;
/// use rillcast::units::{Percent, Price};
/// use rillcast::wire::{Code, Label, book::work::Trade};
/// let trade = Trade {
///     code: Code::new("laborer").unwrap(),
///     name: Label::new("Laborer").unwrap(),
///     wage: Price::from_millionths(24_750_000),
///     burden_pct: Percent::whole(38),
/// };
/// assert_eq!(hour_with_burden(&trade).to_string(), "34.155");
/// ```
pub fn hour_with_burden(trade: &Trade) -> Price {
    Price::rounded(trade.wage.decimal() * (Decimal::ONE + trade.burden_pct.share()))
}
