//! The records of a job added up.

use super::entries::{Recorded, in_force};
use crate::domain::words::{Category, Measure, Task};
use crate::units::{Amount, Volume};
use crate::wire::Code;
use crate::wire::day::Day;
use crate::wire::records::ActualEntry;
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::Deserialize;
use std::collections::BTreeMap;

/// What happened on a job.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JobActuals {
    /// Seconds of people by task and trade.
    pub hours: BTreeMap<(Task, String), i64>,
    /// Seconds of people by task and method; under none those of records that name none.
    pub methods: BTreeMap<(Task, Option<String>), i64>,
    /// The method by which each task was estimated: that of records which name none. Nothing where only the records are known.
    pub estimated_by: BTreeMap<Task, String>,
    /// Seconds of people by task and crew, where the records name one.
    pub crews: BTreeMap<(Task, String), i64>,
    /// Quantities done, in base units.
    pub quantities: BTreeMap<Measure, i128>,
    /// Concrete by ticket: its supplier, where the record names one, and its number.
    pub tickets: BTreeMap<(Option<String>, String), Volume>,
    /// Units of items delivered.
    pub deliveries: BTreeMap<String, Decimal>,
    /// Purchase orders placed, by number.
    pub orders: BTreeMap<String, Placed>,
    /// The day on which the job was finished.
    pub finished_on: Option<Date>,
    /// Records in force.
    pub records: usize,
}

/// By what method a task was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DoneBy<'a> {
    /// Neither records nor estimate say it.
    Untold,
    /// All of it by one.
    One(&'a str),
    /// By several, each with its seconds, the one with the most first.
    Several(Vec<(&'a str, i64)>),
}

/// The method of each task in a stored estimate. An answer that is none has none.
pub fn estimated_methods(answer: &str) -> BTreeMap<Task, String> {
    #[derive(Deserialize)]
    struct Stored {
        labor: StoredLabor,
    }
    #[derive(Deserialize)]
    struct StoredLabor {
        tasks: Vec<StoredTask>,
    }
    #[derive(Deserialize)]
    struct StoredTask {
        task: String,
        method: String,
    }
    let tasks = serde_json::from_str::<Stored>(answer).map(|s| s.labor.tasks).unwrap_or_default();
    tasks.into_iter().filter_map(|t| Some((Task::from_word(&t.task)?, t.method))).collect()
}

/// A purchase order that was placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// The day.
    pub on: Day,
    /// What the supplier confirmed, where it is not the total of the order.
    pub total: Option<Amount>,
    /// What the order held by category when it was recorded, before tax; nothing in records of old.
    pub held: Vec<(Category, Amount)>,
}

impl JobActuals {
    /// Adds up the records in force. Of two tickets of one number and supplier, as records once could be, the later stands.
    pub fn of(records: &[Recorded]) -> Self {
        let mut out = Self::default();
        for record in in_force(records) {
            out.records += 1;
            match &record.entry {
                ActualEntry::Hours { task, method, trade, crew, hours, .. } => {
                    let add = |map: &mut BTreeMap<(Task, String), i64>, key: &Code| {
                        let sum = map.entry((*task, key.to_string())).or_default();
                        *sum = sum.saturating_add(hours.span().seconds());
                    };
                    add(&mut out.hours, trade);
                    let by =
                        out.methods.entry((*task, method.as_ref().map(ToString::to_string))).or_default();
                    *by = by.saturating_add(hours.span().seconds());
                    if let Some(crew) = crew {
                        add(&mut out.crews, crew);
                    }
                }
                ActualEntry::Quantity { measure, quantity, .. } => {
                    let sum = out.quantities.entry(*measure).or_default();
                    *sum = sum.saturating_add(quantity.base());
                }
                ActualEntry::Concrete { ticket, supplier, volume, .. } => {
                    let of = supplier.as_ref().map(ToString::to_string);
                    out.tickets.insert((of, ticket.to_string()), *volume);
                }
                ActualEntry::Delivery { item, quantity, .. } => {
                    *out.deliveries.entry(item.to_string()).or_default() += quantity.number();
                }
                ActualEntry::Ordered { on, order, total, .. } => {
                    let placed = Placed { on: *on, total: *total, held: record.held.clone() };
                    out.orders.insert(order.to_string(), placed);
                }
                ActualEntry::Finished { on, .. } => out.finished_on = Some(on.date()),
                ActualEntry::Void { .. } => {}
            }
        }
        out
    }

    /// Hours of people on a task.
    pub fn hours_of(&self, task: Task) -> f64 {
        self.hours.iter().filter(|((t, _), _)| *t == task).map(|(_, s)| *s as f64).sum::<f64>() / 3600.0
    }

    /// Hours of people on all tasks.
    pub fn all_hours(&self) -> f64 {
        self.hours.values().map(|s| *s as f64).sum::<f64>() / 3600.0
    }

    /// By what method a task was done. Records that name none tell of the one that was estimated.
    pub fn done_by(&self, task: Task) -> DoneBy<'_> {
        let mut told: BTreeMap<&str, i64> = BTreeMap::new();
        for ((_, method), seconds) in self.methods.iter().filter(|((t, _), _)| *t == task) {
            let by = method.as_deref().or_else(|| self.estimated_by.get(&task).map(String::as_str));
            if let Some(by) = by {
                let sum = told.entry(by).or_default();
                *sum = sum.saturating_add(*seconds);
            }
        }
        let mut told: Vec<(&str, i64)> = told.into_iter().collect();
        told.sort_by_key(|(name, seconds)| (std::cmp::Reverse(*seconds), *name));
        match told.as_slice() {
            [] => DoneBy::Untold,
            [(one, _)] => DoneBy::One(one),
            _ => DoneBy::Several(told),
        }
    }

    /// Whether a record of a task names its method.
    pub fn names_method(&self, task: Task) -> bool {
        self.methods.keys().any(|(t, method)| *t == task && method.is_some())
    }

    /// Whose crew did most of a task, when the records say it.
    pub fn crew_of(&self, task: Task) -> Option<&str> {
        most(&self.crews, task)
    }

    /// Concrete of all tickets.
    pub fn concrete(&self) -> Volume {
        self.tickets.values().fold(Volume::ZERO, |sum, v| sum + *v)
    }
}

fn most(map: &BTreeMap<(Task, String), i64>, task: Task) -> Option<&str> {
    map.iter()
        .filter(|((t, _), _)| *t == task)
        .max_by_key(|((_, name), seconds)| (**seconds, std::cmp::Reverse(name)))
        .map(|((_, name), _)| name.as_str())
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test that cannot read its records must stop")]
mod tests {
    use super::*;

    fn dug(records: &[(&str, Option<&str>)]) -> JobActuals {
        let record = |(i, (hours, method)): (usize, &(&str, Option<&str>))| {
            let mut entry = serde_json::json!({"kind": "hours", "on": "2026-03-09", "task": "dig_line",
                "trade": "laborer", "hours": hours});
            if let Some(method) = method {
                entry["method"] = serde_json::json!(method);
            }
            let entry = crate::wire::read_value(&entry).unwrap();
            Recorded { id: format!("act_{i}"), entry, held: Vec::new() }
        };
        JobActuals::of(&records.iter().enumerate().map(record).collect::<Vec<_>>())
    }

    #[test]
    fn records_without_a_method_tell_of_the_estimated_one() {
        let estimate = r#"{"labor": {"tasks": [{"task": "dig_line", "method": "mini-excavator"}]}}"#;
        let by = |records: &[(&str, Option<&str>)]| JobActuals {
            estimated_by: estimated_methods(estimate),
            ..dug(records)
        };
        let (none, hand, mini) = (None, Some("hand"), Some("mini-excavator"));
        assert_eq!(by(&[("30 hr", none)]).done_by(Task::DigLine), DoneBy::One("mini-excavator"));
        assert_eq!(
            by(&[("30 hr", none), ("1 hr", mini)]).done_by(Task::DigLine),
            DoneBy::One("mini-excavator")
        );
        assert_eq!(by(&[("30 hr", hand)]).done_by(Task::DigLine), DoneBy::One("hand"));
        let several = DoneBy::Several(vec![("mini-excavator", 30 * 3600), ("hand", 3600)]);
        assert_eq!(by(&[("1 hr", hand), ("30 hr", none)]).done_by(Task::DigLine), several);
        assert!(by(&[("1 hr", hand), ("30 hr", none)]).names_method(Task::DigLine));
        assert!(!by(&[("30 hr", none)]).names_method(Task::DigLine));
        // Nothing was estimated: nobody says how.
        assert_eq!(dug(&[("30 hr", none)]).done_by(Task::DigLine), DoneBy::Untold);
        assert!(estimated_methods("{}").is_empty());
    }
}
