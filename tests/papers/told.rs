//! What the customer's files say in words: retainage in either direction, the job, its site, when a stage falls due.

use crate::job::{Course, read};
use crate::read_back::all;
use rillcast::compute::contract::{invoice as invoices, quote};
use rillcast::documents::ubl::{Taxes, quotation};
use rillcast::wire::contract::terms::TaxScheme;
use serde_json::{Value, json};

fn taxes(course: &Course) -> Taxes<'_> {
    Taxes { rules: course.rules(), scheme: TaxScheme::Stt }
}

#[test]
fn a_deposit_is_due_on_the_day_of_its_invoice() {
    let deposit = json!({"kind": "stage", "stage": "deposit"});
    let mut course = Course::accepted();
    assert_eq!(course.bill(&deposit).due_on.to_string(), "2026-03-20");
    let next = course.bill(&json!({"kind": "stage", "stage": "poured"}));
    assert_eq!(next.due_on.to_string(), "2026-04-19");
    // A paper from before is made again as it was.
    let mut snapshot = serde_json::to_value(&course.billed[0].0).unwrap();
    snapshot.as_object_mut().unwrap().remove("deposits_due_at_once");
    let (old, _) = invoices::invoice(&read(&snapshot)).unwrap();
    assert_eq!(old.due_on.to_string(), "2026-04-19");
    let mut course = Course::accepted();
    let asked = json!({"bill": deposit, "on": "2026-03-20", "due_on": "2026-03-27"});
    assert_eq!(course.try_bill(&asked).unwrap().due_on.to_string(), "2026-03-27");
}

#[test]
fn work_that_does_not_change_is_not_counted() {
    let mut course = Course::accepted();
    let by_hand = |hours: Value| {
        let mut line = json!({"code": "more", "description": "More", "category": "labor", "price": "600.00"});
        line.as_object_mut().unwrap().extend(hours.as_object().unwrap().clone());
        json!({"kind": "lines", "lines": [line]})
    };
    let mut told = |hours: Value| {
        let paper = course.change(&by_hand(hours), None);
        let bytes = quotation::change_order(&paper, taxes(&course)).unwrap();
        all(&bytes, "Quotation/Note").into_iter().filter(|n| n.starts_with("Work")).collect::<Vec<_>>()
    };
    assert_eq!(
        told(json!({"crew_hours": "12"})),
        [
            "Work: +12 hours of the crew, +1.5 working days (12 crew-hours / 8 a day; lines written by hand have no plan)"
        ]
    );
    assert_eq!(told(json!({"person_hours": "-3"})), ["Work: -3 hours of people"]);
    assert!(told(json!({})).is_empty());
}

#[test]
fn what_is_excluded_twice_is_said_once() {
    let mut inputs = serde_json::to_value(crate::job::quote_inputs()).unwrap();
    inputs["estimate"]["excluded"] = json!(["Planting", "Fences"]);
    inputs["terms"]["exclusions"] = json!(["Painting", "planting", "Fences", "Painting"]);
    let exclusions = |inputs: &Value| quote::quote(&read(inputs)).unwrap().exclusions;
    // A paper from before is made again as it was.
    assert_eq!(exclusions(&inputs).len(), 6);
    inputs["names_once"] = json!(true);
    assert_eq!(exclusions(&inputs), ["Planting", "Fences", "Painting"]);
}
