//! Whole jobs, as the calculators take them.

use rillcast::compute::answers::{Estimate, FlowAnswer};
use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, rains};
use rillcast::domain::lines::{Check, Outcome};
use rillcast::wire::{Fault, read_value};
use serde_json::{Value, json};
use std::sync::LazyLock;

/// The demo's price book.
pub(crate) static DEMO: LazyLock<PriceBook> = LazyLock::new(|| book(|_| {}));

pub(crate) fn book(change: impl FnOnce(&mut Value)) -> PriceBook {
    let mut doc = serde_json::from_str(BOOK).unwrap();
    change(&mut doc);
    PriceBook::check(read_value(&doc).unwrap()).unwrap()
}

pub(crate) fn used() -> BookRef {
    BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 }
}

pub(crate) fn estimated(notes: &Value, book: &PriceBook) -> Estimate {
    let notes = read_value(notes).unwrap();
    pipeline::estimate(&notes, book, &used(), &rains().unwrap()).unwrap_or_else(|faults| panic!("{faults}"))
}

pub(crate) fn checked(notes: &Value) -> Result<FlowAnswer, Vec<Fault>> {
    let request = read_value(&json!({"notes": notes})).unwrap();
    pipeline::flow(&request, &DEMO, &used(), &rains().unwrap()).map_err(|faults| faults.list().to_vec())
}

/// Reasons of the failed checks of a name.
pub(crate) fn failed<'c>(checks: &'c [Check], name: &str) -> Vec<&'c str> {
    let failed = checks.iter().filter(|c| c.outcome == Outcome::Fail && c.name == name);
    failed.map(|c| c.reason.as_str()).collect()
}
