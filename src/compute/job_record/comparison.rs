//! Estimate against actual of one job, line by line.

use super::actuals::{DoneBy, JobActuals};
use super::costs::{seconds_by_trade, trade_costs};
use crate::compute::labor::LaborHours;
use crate::compute::pipeline::HoursFor;
use crate::domain::book::PriceBook;
use crate::domain::words::{Measure, Task};
use crate::units::{Amount, Quantity, Unit};
use crate::wire::Code;
use serde::Serialize;
use std::collections::BTreeSet;
use utoipa::ToSchema;

/// Estimate against actual of one job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct JobComparison {
    /// Job, `job_…`.
    pub job_id: String,
    /// Estimate that was accepted, `est_…`.
    pub estimate_id: String,
    /// The day on which it was finished; absent while it goes on.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub finished_on: Option<String>,
    /// Records in force.
    pub records: usize,
    /// Hours by task.
    pub tasks: Vec<TaskComparison>,
    /// Hours by trade.
    pub trades: Vec<TradeComparison>,
    /// Quantities that were recorded.
    pub quantities: Vec<QuantityComparison>,
    /// Concrete by tickets, where there are any.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub concrete: Option<ConcreteComparison>,
    /// Items delivered.
    pub deliveries: Vec<DeliveredItem>,
    /// Hours of people, estimated.
    pub estimated: Quantity,
    /// Hours of people, as they were.
    pub actual: Quantity,
    /// Cost of the hours of tasks with burden, estimated.
    pub estimated_cost: Amount,
    /// Cost of the recorded hours at the same rates.
    pub actual_cost: Amount,
    /// Whether one job is enough to say anything about the rates.
    pub enough: bool,
    /// Why, or why not.
    pub enough_basis: &'static str,
}

/// One task: where its difference comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct TaskComparison {
    /// The task.
    pub task: Task,
    /// How it was estimated.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub method: Option<String>,
    /// How it was done, where the records say so: by the method with the most hours. Records that name none count for the
    /// estimated one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub done_by: Option<String>,
    /// Hours by method, the most first, where there were several: the rate of one alone says little of all of them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_method: Vec<MethodHours>,
    /// Hours of people estimated for the quantity estimated.
    pub estimated: Quantity,
    /// Hours that the same rate gives for the quantity done; the estimated ones where no quantity was recorded.
    pub estimated_for_done: Quantity,
    /// Hours of people, as they were.
    pub actual: Quantity,
    /// Hours that the quantity made.
    pub by_quantity: Quantity,
    /// Hours that the rate made; absent where nothing was recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub by_rate: Option<Quantity>,
    /// Actual hours in percent of those for the quantity done; absent where nothing was estimated or nothing recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub actual_pct: Option<String>,
}

/// Hours of a task by one method.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct MethodHours {
    /// The method.
    pub method: String,
    /// Hours of people, as they were.
    pub actual: Quantity,
}

/// One trade.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct TradeComparison {
    /// Trade code.
    pub trade: String,
    /// Hours estimated.
    pub estimated: Quantity,
    /// Hours recorded.
    pub actual: Quantity,
}

/// One measured quantity.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct QuantityComparison {
    /// What is measured.
    pub measure: Measure,
    /// As estimated.
    pub estimated: Quantity,
    /// As done.
    pub done: Quantity,
}

/// Concrete.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ConcreteComparison {
    /// As ordered by the estimate.
    pub estimated: Quantity,
    /// By the tickets.
    pub delivered: Quantity,
    /// How many tickets.
    pub tickets: usize,
}

/// An item delivered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct DeliveredItem {
    /// Item code.
    pub item: String,
    /// How many of its unit.
    pub quantity: Quantity,
}

fn q(hours: f64) -> Quantity {
    Quantity::computed(hours, Unit::Hr, 4)
}

/// Person-hours of a task, paid.
pub(super) fn person_hours(labor: &LaborHours, task: Task) -> f64 {
    labor
        .tasks
        .iter()
        .filter(|t| t.task == task)
        .map(|t| t.seconds as f64 / 3600.0 * t.crew.iter().map(|c| c.count as f64).sum::<f64>())
        .sum()
}

/// Compares one job.
pub fn compare(job: (&str, &str), actuals: &JobActuals, hours: &HoursFor, book: &PriceBook) -> JobComparison {
    let done: BTreeSet<Task> = actuals.hours.keys().map(|(t, _)| *t).collect();
    let system = hours.show.0;
    let mut tasks = Vec::new();
    for task in Task::ALL.iter().copied() {
        let estimated = hours.estimated.tasks.iter().find(|t| t.task == task);
        if estimated.is_none() && !done.contains(&task) {
            continue;
        }
        let (plan, for_done) = (person_hours(&hours.estimated, task), person_hours(&hours.for_done, task));
        let actual = actuals.hours_of(task);
        let (done_by, by_method) = match actuals.done_by(task) {
            DoneBy::Untold => (None, Vec::new()),
            DoneBy::One(method) => (Some(method.to_owned()), Vec::new()),
            DoneBy::Several(methods) => {
                let of = |(method, seconds): &(&str, i64)| MethodHours {
                    method: (*method).to_owned(),
                    actual: q(*seconds as f64 / 3600.0),
                };
                (methods.first().map(|(most, _)| (*most).to_owned()), methods.iter().map(of).collect())
            }
        };
        tasks.push(TaskComparison {
            task,
            method: estimated.map(|t| t.method.clone()),
            done_by: done_by.filter(|_| actuals.names_method(task)),
            by_method,
            estimated: q(plan),
            estimated_for_done: q(for_done),
            actual: q(actual),
            by_quantity: q(for_done - plan),
            by_rate: (actual > 0.0).then(|| q(actual - for_done)),
            actual_pct: (for_done > 0.0 && actual > 0.0)
                .then(|| Quantity::computed(100.0 * actual / for_done, Unit::Each, 1).to_string()),
        });
    }
    let codes: BTreeSet<&str> = hours
        .estimated
        .trades
        .iter()
        .map(|t| t.trade.as_str())
        .chain(actuals.hours.keys().map(|(_, t)| t.as_str()))
        .collect();
    let recorded = seconds_by_trade(actuals);
    let trades = codes
        .into_iter()
        .map(|code| {
            let estimated = hours.estimated.trades.iter().find(|t| t.trade == code);
            TradeComparison {
                trade: code.to_owned(),
                estimated: estimated.map_or(Quantity::new(0, 0, Unit::Hr), |t| t.hours),
                actual: q(recorded.get(code).copied().unwrap_or_default() as f64 / 3600.0),
            }
        })
        .collect();
    let quantities = actuals
        .quantities
        .keys()
        .map(|m| QuantityComparison {
            measure: *m,
            estimated: hours.measures.shown(*m, system),
            done: hours.done.shown(*m, system),
        })
        .collect();
    let concrete = (!actuals.tickets.is_empty()).then(|| {
        let mut delivered = crate::domain::measures::Measures::default();
        delivered.add_volume(Measure::ConcreteOrdered, actuals.concrete());
        ConcreteComparison {
            estimated: hours.measures.shown(Measure::ConcreteOrdered, system),
            delivered: delivered.shown(Measure::ConcreteOrdered, system),
            tickets: actuals.tickets.len(),
        }
    });
    let deliveries = actuals
        .deliveries
        .iter()
        .map(|(item, count)| DeliveredItem {
            item: item.clone(),
            quantity: Quantity::decimal(
                *count,
                Code::new(item).and_then(|c| book.item(&c)).map_or(Unit::Each, |i| i.unit),
                6,
            ),
        })
        .collect();
    JobComparison {
        job_id: job.0.to_owned(),
        estimate_id: job.1.to_owned(),
        finished_on: actuals.finished_on.map(|d| d.to_string()),
        records: actuals.records,
        tasks,
        trades,
        quantities,
        concrete,
        deliveries,
        estimated: hours.estimated.person_hours,
        actual: q(actuals.all_hours()),
        estimated_cost: hours.estimated.tasks.iter().map(|t| t.cost).sum(),
        actual_cost: trade_costs(actuals, book).iter().map(|t| t.cost).sum(),
        enough: false,
        enough_basis: "one job shows what happened on it, not how good the rates are: compare over many jobs",
    }
}
