//! What the customer's files say in words: retainage in either direction, the job, its site, when a stage falls due.

use crate::job::{Course, read};
use crate::read_back::{all, foots, one};
use rillcast::compute::contract::invoice::InvoiceDocument;
use rillcast::compute::contract::{invoice as invoices, quote};
use rillcast::documents::ubl::{Taxes, invoice, quotation};
use rillcast::units::Amount;
use rillcast::wire::contract::terms::TaxScheme;
use serde_json::{Value, json};

fn taxes(course: &Course) -> Taxes<'_> {
    Taxes { rules: course.rules(), scheme: TaxScheme::Stt }
}

fn less(price: &str) -> Value {
    json!({"kind": "lines", "lines": [
        {"code": "less", "description": "Less", "category": "labor", "price": price}]})
}

fn invoice_file(course: &Course, paper: &InvoiceDocument) -> Vec<u8> {
    let bytes = invoice::invoice(paper, "job_x", taxes(course)).unwrap();
    foots(&bytes, "Invoice", "InvoiceLine");
    bytes
}

/// Indicator, reason and amount of the one allowance or charge.
fn charged(bytes: &[u8], kind: &str) -> [String; 3] {
    ["ChargeIndicator", "AllowanceChargeReason", "Amount"].map(|name| {
        let found = all(bytes, &format!("{kind}/AllowanceCharge/{name}"));
        assert_eq!(found.len(), 1, "{found:?}");
        found[0].clone()
    })
}

fn of_retainage(bytes: &[u8], kind: &str) -> Vec<String> {
    all(bytes, &format!("{kind}/Note")).into_iter().filter(|n| n.starts_with("Retainage")).collect()
}

#[test]
fn retainage_that_is_no_longer_held_is_not_said_to_be_held() {
    let mut course = Course::accepted();
    let half = course.bill(&json!({"kind": "percent", "pct_to_date": "50"}));
    let held = half.retained;
    assert!(held > Amount::from_minor(10_000));
    assert_eq!(
        charged(&invoice_file(&course, &half), "Invoice")[..2],
        ["false".to_owned(), "Retainage held".to_owned()]
    );
    course.change(&less("-1000.00"), None);
    let paper = course.bill(&json!({"kind": "change_order", "change_order": "co-1"}));
    assert_eq!((paper.retained.to_string(), paper.payable.to_string()), ("-100.00".into(), "-900.00".into()));
    let bytes = invoice_file(&course, &paper);
    assert_eq!(one(&bytes, "Invoice/LegalMonetaryTotal/PayableAmount"), paper.payable);
    let told = format!(
        "Retainage no longer held: 100.00 of {held} held, counted in this invoice, without tax (-1000.00 before tax x 10 % = -100.00)"
    );
    assert_eq!(of_retainage(&bytes, "Invoice"), [told]);
    assert_eq!(charged(&bytes, "Invoice"), ["true", "Retainage no longer held", "100.00"]);
    // Given back, it is held again.
    let credit = course.credit(&json!({"kind": "whole"}));
    assert_eq!(credit.retained.to_string(), "-100.00");
    let bytes = invoice::credit_note(&credit, taxes(&course)).unwrap();
    foots(&bytes, "CreditNote", "CreditNoteLine");
    assert_eq!(
        of_retainage(&bytes, "CreditNote"),
        ["Retainage held again: 100.00, without tax, due when released"]
    );
    assert_eq!(charged(&bytes, "CreditNote"), ["true", "Retainage held again", "100.00"]);
}

#[test]
fn an_invoice_after_what_was_taken_out_says_why_less_is_held() {
    let mut course = Course::accepted();
    course.change(&less("-1000.00"), None);
    course.bill(&json!({"kind": "change_order", "change_order": "co-1"}));
    let paper = course.bill(&json!({"kind": "percent", "pct_to_date": "100"}));
    let (share, held) = (paper.retained + Amount::from_minor(10_000), paper.retained);
    let told = format!(
        "Retainage held: {} before tax x 10 % = {share}, less 100.00 on what was taken out before = {held}, without tax, due when \
         released",
        paper.before_tax
    );
    assert_eq!(of_retainage(&invoice_file(&course, &paper), "Invoice"), [told]);
}

#[test]
fn a_credit_note_says_that_what_was_held_is_held_no_longer() {
    let mut course = Course::accepted();
    course.bill(&json!({"kind": "lines", "lines": [{"line": "labor", "amount": "1000.00"}]}));
    let credit = course.credit(&json!({"kind": "lines", "lines": [{"line": "labor", "amount": "500.00"}]}));
    let bytes = invoice::credit_note(&credit, taxes(&course)).unwrap();
    assert_eq!(
        of_retainage(&bytes, "CreditNote"),
        ["Retainage no longer held: 50.00, taken off what is given back, without tax"]
    );
    assert_eq!(charged(&bytes, "CreditNote"), ["false", "Retainage no longer held", "50.00"]);
}

#[test]
fn every_file_names_the_job_and_where_it_is() {
    let mut course = Course::accepted();
    let title = "Job: Drive <and> path & gate 🌧 \"A\"";
    let quoted = quotation::quote(&course.quote(), taxes(&course)).unwrap();
    let change = course.change(&less("-10.00"), None);
    let changed = quotation::change_order(&change, taxes(&course)).unwrap();
    let paper = course.bill(&json!({"kind": "percent", "pct_to_date": "50"}));
    let billed = invoice_file(&course, &paper);
    let credit = course.credit(&json!({"kind": "whole"}));
    let credited = invoice::credit_note(&credit, taxes(&course)).unwrap();
    for (bytes, kind) in
        [(&quoted, "Quotation"), (&changed, "Quotation"), (&billed, "Invoice"), (&credited, "CreditNote")]
    {
        let notes = all(bytes, &format!("{kind}/Note"));
        assert_eq!(notes.iter().filter(|n| *n == title).count(), 1, "{kind}: {notes:?}");
        let site = all(bytes, &format!("{kind}/Delivery/DeliveryLocation/Address/AddressLine/Line"));
        assert_eq!(site, ["14 Alder Bend, Millbrook"], "{kind}");
    }
}

#[test]
fn a_quotation_says_when_a_stage_falls_due_and_what_it_takes_the_place_of() {
    let mut course = Course::accepted();
    course.quote.supersedes = Some(read(&json!("Q-0000")));
    let paper = course.quote();
    let bytes = quotation::quote(&paper, taxes(&course)).unwrap();
    let notes = all(&bytes, "Quotation/Note");
    let stage = |i: usize, due: &str| {
        let stage = &paper.schedule[i];
        format!("{}: {} of the price, {} with tax, {due}", stage.name, stage.pct, stage.total)
    };
    for note in [
        stage(0, "before the work begins"),
        stage(1, "as the work goes on"),
        stage(2, "when the work is done"),
        "Takes the place of quote Q-0000".to_owned(),
        "Retainage of 10 % of the sum before tax on every invoice but that of a deposit and the final one"
            .to_owned(),
        "Invoices are due 30 days after their date, that of a deposit on its date".to_owned(),
    ] {
        assert!(notes.contains(&note), "{note}: {notes:?}");
    }
    assert_eq!(all(&bytes, "Quotation/AdditionalDocumentReference/ID"), ["Q-0000"]);
    course.quote.terms.schedule =
        read(&json!([{"code": "all", "name": "All", "due": "completion", "pct": "100"}]));
    course.quote.supersedes = None;
    let bytes = quotation::quote(&course.quote(), taxes(&course)).unwrap();
    let notes = all(&bytes, "Quotation/Note");
    assert!(notes.contains(&"Invoices are due 30 days after their date".to_owned()), "{notes:?}");
    assert!(all(&bytes, "Quotation/AdditionalDocumentReference/ID").is_empty());
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
        all(&bytes, "Quotation/Note").into_iter().filter(|n| n.starts_with("The work")).collect::<Vec<_>>()
    };
    assert_eq!(told(json!({"crew_hours": "12"})), ["The work is done 1.5 working days later"]);
    // Hours are the office's own: without days there is nothing to tell.
    assert!(told(json!({"person_hours": "-3"})).is_empty());
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
