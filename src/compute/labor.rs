//! Stage: hours by task and trade, their cost with burden.

use super::takeoff::check;
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, CostLine, Outcome};
use crate::domain::measures::Measures;
use crate::domain::words::{Category, Difficulty, Measure, Soil, Task};
use crate::units::quantity::Span;
use crate::units::show::Show;
use crate::units::{Amount, Factor, Length, Price, Quantity, Unit};
use crate::wire::Code;
use crate::wire::book::work::{LaborRate, LaborRules};
use rust_decimal::Decimal;
use serde::Serialize;
use std::fmt::Write as _;
use utoipa::ToSchema;

/// What decides the rates beside the quantities.
#[derive(Debug, Clone, Copy)]
pub struct Conditions<'a> {
    /// Soil.
    pub soil: Soil,
    /// Difficulty.
    pub difficulty: Difficulty,
    /// Deepest trench of the runs.
    pub deepest_run: Length,
    /// Deepest trench of the lines.
    pub deepest_line: Length,
    /// Methods chosen by the notes.
    pub methods: &'a [(Task, &'a Code)],
}

/// Hours of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = LaborHours)]
pub struct LaborAnswer {
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
    /// Cost with burden.
    pub cost: Amount,
    /// Machines it needs.
    pub equipment: Vec<String>,
    /// The numbers it came from.
    pub basis: String,
    /// Crew-hours; for the stages that follow.
    #[serde(skip)]
    pub hours: Decimal,
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

impl LaborAnswer {
    /// The tasks on this job and the methods they are done by.
    pub fn methods_in_use(&self) -> Vec<(Task, String)> {
        self.tasks.iter().map(|t| (t.task, t.method.clone())).collect()
    }
}

/// Tasks that every job has, whatever its quantities.
const ALWAYS: [Task; 3] = [Task::Mobilize, Task::MarkAndProtect, Task::ClearUp];

/// What calls a task for; a job without any of it does not have the task.
fn called_for(task: Task, measures: &Measures) -> bool {
    let any = |list: &[Measure]| list.iter().any(|m| measures.base(*m) > 0);
    match task {
        Task::Mobilize => any(&[Measure::Visits]),
        Task::MarkAndProtect | Task::ClearUp => any(&[Measure::RunLength, Measure::LineLength]),
        Task::SawCut => any(&[Measure::SawCutLength]),
        Task::BreakOut => any(&[
            Measure::SlabRemoved,
            Measure::AsphaltRemoved,
            Measure::PaversLifted,
            Measure::GravelStripped,
        ]),
        Task::DigRun => any(&[Measure::RunExcavation]),
        Task::DigLine => any(&[Measure::LineExcavation]),
        Task::Form => any(&[Measure::FormArea]),
        Task::AssembleChannel => any(&[Measure::ChannelLength, Measure::ChannelSections]),
        Task::FitGrates => any(&[Measure::Grates]),
        Task::HangAndBrace => any(&[Measure::Hangers]),
        Task::LayPipe => any(&[Measure::PipeLength]),
        Task::Connect => any(&[Measure::Connections]),
        Task::MixConcrete => any(&[Measure::BagsMixed]),
        Task::Pour | Task::Finish => any(&[Measure::ConcreteOrdered, Measure::FinishArea]),
        Task::StripAndClean => any(&[Measure::FormArea, Measure::Hangers]),
        Task::Backfill => any(&[Measure::Backfill, Measure::ZoneFill, Measure::Bedding]),
        Task::Restore => any(&[Measure::SurfaceRestored]),
        Task::Haul => any(&[Measure::HaulLoads, Measure::ExportLoose]),
    }
}

/// Person-hours of a task.
///
/// # Formula
/// `hours = (setup + sum of quantity x unit hours) x difficulty x depth`; depth for digging only
/// # Units
/// person-hours
/// # Valid for
/// quantities and rates of zero and more
/// # Source
/// common practice, no source; rates are the price book's
/// # Example
/// ```
/// use rillcast::{compute::labor::person_hours, units::Factor};
/// use rust_decimal::Decimal;
/// // 0.5 h + 3.2 yd³ x 1.6 h/yd³, hard access 1.25: 7.025 h.
/// let hours = person_hours(Decimal::new(5, 1), Decimal::new(512, 2), Factor::from_millionths(1_250_000), Factor::ONE);
/// assert_eq!(hours, Decimal::new(7025, 3));
/// ```
pub fn person_hours(setup: Decimal, quantity_hours: Decimal, difficulty: Factor, depth: Factor) -> Decimal {
    ((setup + quantity_hours) * difficulty.number() * depth.number()).round_dp(6).normalize()
}

/// The hours of every task that the measures call for.
pub fn hours(measures: &Measures, conditions: &Conditions<'_>, book: &PriceBook, show: Show) -> LaborAnswer {
    let rules = book.doc().labor_rules.as_ref();
    let step = rules.map_or(Span::from_seconds(900), |r| r.step);
    let mut tasks: Vec<TaskHours> = Vec::with_capacity(Task::ALL.len());
    let mut checks = Vec::new();
    let mut by_trade: Vec<(&Code, Decimal)> = Vec::new();
    for task in Task::ALL.iter().copied().filter(|t| called_for(*t, measures)) {
        let chosen = conditions.methods.iter().find(|(t, _)| *t == task).map(|(_, m)| *m);
        let Some(rate) = book.labor(task, chosen) else {
            checks.push(check(
                "labor_rate",
                task.word(),
                if ALWAYS.contains(&task) { Outcome::Warn } else { Outcome::Fail },
                format!("the layout calls for `{task}`, but the price book has no rate for it: its hours are missing"),
            ));
            continue;
        };
        let (net, mut basis) = reckon(task, rate, measures, conditions, rules, &mut checks, show);
        if net.is_zero() {
            continue;
        }
        let people: i64 = rate.crew.iter().map(|c| c.count.get()).sum();
        let crew_net = net / Decimal::from(people.max(1));
        let step_hours = step.hours();
        let crew_hours = if step_hours.is_zero() {
            crew_net
        } else {
            (crew_net / step_hours).round_dp(9).ceil() * step_hours
        };
        let crew_hours = crew_hours.normalize();
        let mut cost = Amount::ZERO;
        for member in &rate.crew {
            let worked = crew_hours * Decimal::from(member.count.get());
            match by_trade.iter_mut().find(|(t, _)| **t == member.trade) {
                Some((_, sum)) => *sum += worked,
                None => by_trade.push((&member.trade, worked)),
            }
            cost += cost_of(&member.trade, worked, book);
        }
        let _ = write!(
            basis,
            " = {} person-hours; crew of {people}: {} crew-hours after rounding up to {} h",
            net.round_dp(3).normalize(),
            crew_hours,
            step_hours.round_dp(4).normalize()
        );
        tasks.push(TaskHours {
            task,
            method: rate.method.as_str().to_owned(),
            crew: rate
                .crew
                .iter()
                .map(|c| CrewOut { trade: c.trade.as_str().to_owned(), count: c.count.get() })
                .collect(),
            person_hours_net: Quantity::decimal(net, Unit::Hr, 3),
            crew_hours: Quantity::decimal(crew_hours, Unit::Hr, 4),
            person_hours: Quantity::decimal(crew_hours * Decimal::from(people), Unit::Hr, 4),
            cost,
            equipment: rate.equipment.iter().map(|e| e.as_str().to_owned()).collect(),
            basis,
            hours: crew_hours,
        });
    }
    let trades: Vec<TradeHours> = by_trade
        .iter()
        .filter_map(|(code, worked)| {
            let trade = book.trade(code)?;
            Some(TradeHours {
                trade: code.as_str().to_owned(),
                name: trade.name.as_str().to_owned(),
                hours: Quantity::decimal(*worked, Unit::Hr, 4),
                wage: trade.wage,
                burden_pct: trade.burden_pct,
                cost: cost_of(code, *worked, book),
            })
        })
        .collect();
    let cost_lines: Vec<CostLine> = by_trade
        .iter()
        .filter_map(|(code, worked)| {
            let trade = book.trade(code)?;
            let loaded = trade.wage.decimal() * (Decimal::ONE + trade.burden_pct.share());
            Some(CostLine {
                code: code.as_str().to_owned(),
                description: trade.name.as_str().to_owned(),
                category: Category::Labor,
                quantity: Quantity::decimal(*worked, Unit::Hr, 4),
                unit_price: price_of(loaded),
                cost: cost_of(code, *worked, book),
                rule: "labor.hours",
                basis: format!(
                    "hours of all tasks; wage {} with {} burden is {} an hour",
                    trade.wage,
                    trade.burden_pct,
                    price_of(loaded)
                ),
            })
        })
        .collect();
    let crew_hours: Decimal = tasks.iter().map(|t| t.hours).sum();
    let person: Decimal = by_trade.iter().map(|(_, h)| *h).sum();
    LaborAnswer {
        crew_hours: Quantity::decimal(crew_hours, Unit::Hr, 4),
        person_hours: Quantity::decimal(person, Unit::Hr, 4),
        cost: cost_lines.iter().map(|l| l.cost).sum(),
        tasks,
        trades,
        checks,
        cost_lines,
    }
}

/// A price to six decimals.
fn price_of(exact: Decimal) -> Price {
    let millionths = (exact * Decimal::from(1_000_000))
        .round_dp_with_strategy(0, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    Price::from_millionths(i64::try_from(millionths.mantissa()).unwrap_or(i64::MAX))
}

/// Hours times the wage with burden, rounded once.
fn cost_of(trade: &Code, worked: Decimal, book: &PriceBook) -> Amount {
    book.trade(trade).map_or(Amount::ZERO, |t| {
        Amount::line(price_of(t.wage.decimal() * (Decimal::ONE + t.burden_pct.share())).decimal() * worked)
    })
}

fn reckon(
    task: Task,
    rate: &LaborRate,
    measures: &Measures,
    conditions: &Conditions<'_>,
    rules: Option<&LaborRules>,
    checks: &mut Vec<Check>,
    show: Show,
) -> (Decimal, String) {
    let visits = if task == Task::Mobilize { Decimal::ONE } else { Decimal::ZERO };
    let setup = rate.setup.map_or(Decimal::ZERO, Span::hours);
    let mut basis = String::new();
    if !setup.is_zero() {
        let _ = write!(basis, "setup {} h", setup.round_dp(4).normalize());
    }
    let mut sum = Decimal::ZERO;
    // A rate for the soil goes before one for all soils of the same measure.
    for unit_rate in &rate.rates {
        let special = unit_rate.soils.contains(&conditions.soil);
        if !unit_rate.soils.is_empty() && !special {
            continue;
        }
        if unit_rate.soils.is_empty()
            && rate.rates.iter().any(|r| r.measure == unit_rate.measure && r.soils.contains(&conditions.soil))
        {
            continue;
        }
        let Some(amount) = measures.number(unit_rate.measure, unit_rate.unit) else { continue };
        if amount.is_zero() {
            continue;
        }
        if !basis.is_empty() {
            basis.push_str(" + ");
        }
        let _ = write!(
            basis,
            "{} {} {} x {} h",
            amount.round_dp(3).normalize(),
            unit_rate.unit,
            unit_rate.measure,
            unit_rate.hours
        );
        sum += amount * unit_rate.hours.number();
    }
    if sum.is_zero() && visits.is_zero() && setup.is_zero() {
        return (Decimal::ZERO, basis);
    }
    let difficulty = rules
        .and_then(|r| r.difficulty.iter().find(|d| d.difficulty == conditions.difficulty))
        .map_or(Factor::ONE, |d| d.factor);
    let deepest = match task {
        Task::DigRun => Some(conditions.deepest_run),
        Task::DigLine => Some(conditions.deepest_line),
        _ => None,
    };
    let depth = deepest
        .and_then(|d| {
            rules.and_then(|r| r.depth.iter().filter(|f| d > f.deeper_than).max_by_key(|f| f.deeper_than))
        })
        .map_or(Factor::ONE, |f| f.factor);
    if difficulty != Factor::ONE {
        basis = format!("({basis}) x {difficulty} ({} place)", conditions.difficulty);
    }
    if depth != Factor::ONE
        && let Some(deepest) = deepest
    {
        let _ = write!(basis, " x {depth} ({} deep)", show.length(deepest));
    }
    method_checks(task, rate, conditions, deepest, checks, show);
    (person_hours(setup, sum, difficulty, depth), basis)
}

fn method_checks(
    task: Task,
    rate: &LaborRate,
    conditions: &Conditions<'_>,
    deepest: Option<Length>,
    checks: &mut Vec<Check>,
    show: Show,
) {
    if let (Some(reach), Some(deepest)) = (rate.greatest_depth, deepest.filter(|d| d.is_positive())) {
        let (outcome, word) =
            if deepest > reach { (Outcome::Fail, "does not reach") } else { (Outcome::Pass, "reaches") };
        checks.push(check(
            "method_reach",
            task.word(),
            outcome,
            format!("`{}` digs to {} and {word} {}", rate.method, show.length(reach), show.length(deepest)),
        ));
    }
    if rate.not_in.contains(&conditions.soil) && deepest.is_some() {
        checks.push(check(
            "method_in_soil",
            task.word(),
            Outcome::Fail,
            format!(
                "`{}` cannot work in {}: choose another method in `options.methods`",
                rate.method, conditions.soil
            ),
        ));
    }
}
