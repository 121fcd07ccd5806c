//! The records of a job added up.

use super::entries::{Recorded, in_force};
use crate::domain::words::{Category, Measure, Task};
use crate::units::{Amount, Volume};
use crate::wire::Code;
use crate::wire::day::Day;
use crate::wire::records::ActualEntry;
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// What happened on a job.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JobActuals {
    /// Seconds of people by task and trade.
    pub hours: BTreeMap<(Task, String), i64>,
    /// Seconds of people by task and method, where the records name one.
    pub methods: BTreeMap<(Task, String), i64>,
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
                    if let Some(method) = method {
                        add(&mut out.methods, method);
                    }
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

    /// The method a task was done by, when the records name one: the one with the most hours.
    pub fn method_of(&self, task: Task) -> Option<&str> {
        most(&self.methods, task)
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
