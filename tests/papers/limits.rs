//! Sums and days that are met to the cent and to the day. Common practice, no source; figures by hand.

use crate::job::{Course, job, last_day, quote_inputs, read, terms};
use rillcast::compute::contract::accept::{
    check_billed, check_credit, check_expiry, check_issue, check_payment, check_quote_issue, paid_from,
};
use rillcast::compute::contract::change::beyond_contract;
use rillcast::compute::contract::costs::{ReportedSum, check_cost};
use rillcast::compute::contract::fold::Contract;
use rillcast::compute::contract::{accept, quote};
use rillcast::domain::words::Category;
use rillcast::units::Amount;
use rillcast::wire::Faults;
use rillcast::wire::day::Day;
use serde_json::{Value, json};

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

fn codes(faults: &Faults) -> Vec<String> {
    faults.list().iter().map(|f| format!("{} {}", f.pointer, f.code)).collect()
}

/// Bills so much of a line, also beyond what it holds.
fn billed(
    course: &mut Course,
    line: &str,
    amount: &str,
) -> rillcast::compute::contract::invoice::InvoiceDocument {
    let lines = json!([{"line": line, "amount": amount}]);
    let request =
        json!({"bill": {"kind": "lines", "lines": lines}, "on": "2026-03-20", "over_contract": true});
    course.try_bill(&request).unwrap_or_else(|e| panic!("{e}"))
}

/// A line that was billed beyond its price takes no part of a stage, and takes nothing from what the other lines hold.
#[test]
fn a_stage_is_spread_over_what_is_open_alone() {
    let mut course = Course::accepted();
    let labor = course.account().lines.iter().find(|p| p.line.code.as_str() == "labor").unwrap().line.price.0;
    billed(&mut course, "labor", &(labor + Amount::from_minor(9_999_900)).to_string());
    let deposit = course.account().stages[0].amount.0;
    let request =
        json!({"bill": {"kind": "stage", "stage": "deposit"}, "on": "2026-03-20", "over_contract": true});
    let paper = course.try_bill(&request).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(paper.before_tax, deposit);
    assert!(paper.lines.iter().all(|l| l.code != "labor" && l.amount > Amount::ZERO), "{:#?}", paper.lines);
}

/// What earlier invoices went beyond is not said of this one.
#[test]
fn an_invoice_says_what_it_goes_beyond_itself() {
    let mut course = Course::accepted();
    course.bill(&json!({"kind": "final"}));
    assert_eq!(
        billed(&mut course, "labor", "100.00").warnings[0].text,
        "bills 100.00 more than the contract holds for its lines"
    );
    assert_eq!(
        billed(&mut course, "hire", "10.00").warnings[0].text,
        "bills 10.00 more than the contract holds for its lines"
    );
}

/// 500.00 that a change order takes off the contract are gone from it too where one line goes beyond its own price by 10.00.
#[test]
fn a_line_that_goes_a_little_beyond_may_take_the_contract_far_beyond() {
    let mut course = Course::accepted();
    let off = json!({"code": "less", "description": "Less", "category": "labor", "price": "-500.00", "cost": "0.00"});
    course.change(&json!({"kind": "lines", "lines": [off]}), None);
    let account = course.account();
    let quoted = account.lines.iter().filter(|p| p.line.price.0 > Amount::ZERO);
    let lines: Vec<Value> = quoted
        .map(|p| {
            let more = if p.line.code.as_str() == "labor" { 1_000 } else { 0 };
            json!({"line": p.line.code, "amount": (p.line.price.0 + Amount::from_minor(more)).to_string()})
        })
        .collect();
    let request = json!({"bill": {"kind": "lines", "lines": lines}, "on": "2026-03-20"});
    let faults = course.try_bill(&request).unwrap_err();
    assert!(faults.to_string().contains("this bills 510.00 more than its lines hold"), "{faults}");
}

/// All that a contract holds can be taken out of it, and it can come to the most that is written.
#[test]
fn a_change_may_leave_nothing_of_a_contract() {
    let held = Amount::from_minor(120_000);
    assert_eq!(beyond_contract(held, -held), None);
    assert!(
        beyond_contract(held, -Amount::from_minor(120_001))
            .unwrap()
            .contains("takes at most what the contract holds")
    );
    assert_eq!(beyond_contract(held, Amount::MOST - held), None);
    assert!(beyond_contract(held, Amount::MOST).is_some());
}

/// All invoices of a contract come to at most what is written, also where the contract is left behind.
#[test]
fn invoices_come_to_at_most_what_is_written() {
    let mut course = Course::accepted();
    // taxes are on top: labor has none
    billed(&mut course, "labor", "500000000000.00");
    let lines = json!([{"line": "labor", "amount": "600000000000.00"}]);
    let request =
        json!({"bill": {"kind": "lines", "lines": lines}, "on": "2026-03-20", "over_contract": true});
    assert_eq!(codes(&course.try_bill(&request).unwrap_err()), ["#/bill out_of_range"]);
}

#[test]
fn payments_of_a_job_come_to_at_most_what_is_written() {
    let pay = |amount: Amount, before: Amount, others: Amount| {
        let payment = read(
            &json!({"system": "books", "reference": "p1", "on": "2026-03-21", "amount": amount.to_string(),
            "over_paid": true}),
        );
        codes(&check_payment(&payment, day("2026-03-20"), (Amount::ZERO, before, others), last_day()))
    };
    let one = Amount::from_minor(1);
    let (before, others) = (Amount::from_minor(1_000), Amount::MOST - Amount::from_minor(1_001));
    assert_eq!(pay(one, before, others), [""; 0]);
    assert_eq!(pay(one + one, before, others), ["#/amount out_of_range"]);
}

#[test]
fn costs_reported_come_to_at_most_what_is_written_either_way() {
    let cost = |amount: Amount, before: Amount| {
        let cost =
            read(&json!({"system": "books", "reference": "c1", "on": "2026-03-21", "category": "material",
            "amount": amount.to_string()}));
        let before = [ReportedSum { category: Category::Material, committed: false, amount: before }];
        codes(&check_cost(&cost, &before, last_day()))
    };
    let one = Amount::from_minor(1);
    assert_eq!(cost(one, Amount::MOST - one), [""; 0]);
    assert_eq!(cost(one, Amount::MOST), ["#/amount out_of_range"]);
    assert_eq!(cost(-one, -Amount::MOST + one), [""; 0]);
    assert_eq!(cost(-one, -Amount::MOST), ["#/amount out_of_range"]);
}

/// A quote may be valid on the day of its issue alone, and its lines may take all of a category.
#[test]
fn terms_may_be_as_tight_as_they_go() {
    let made = |valid_until: &str, pct: &str| {
        let mut terms = terms();
        terms["valid_until"] = json!(valid_until);
        terms["lines"][0]["pct"] = json!(pct);
        let inputs =
            read(&json!({"number": "Q-0001", "issued_on": "2026-03-02", "job": job(), "terms": terms,
            "estimate": quote_inputs().estimate}));
        quote::quote(&inputs).map(|_| ()).map_err(|f| codes(&f))
    };
    assert_eq!(made("2026-03-02", "100"), Ok(()));
    assert_eq!(made("2026-03-01", "100"), Err(vec!["#/valid_until before_issue_date".to_owned()]));
    assert_eq!(made("2026-03-02", "100.0001"), Err(vec!["#/lines does_not_foot".to_owned()]));
}

/// Everything can happen on one day: a paper on the day of the quote it rests on, a bill and a change on that of the acceptance.
#[test]
fn papers_may_follow_each_other_on_one_day() {
    let inputs = quote_inputs();
    let issued = |on: &str| codes(&check_issue(day(on), &inputs, last_day(), "an invoice"));
    assert_eq!(issued("2026-03-02"), [""; 0]);
    assert_eq!(issued("2026-03-01"), ["#/on before_issue_date"]);
    let mut course = Course::accepted();
    let contract = Contract::open(inputs.clone(), course.components.clone(), Some(day("2026-03-05")));
    course.bill(&json!({"kind": "percent", "pct_to_date": "10"}));
    let effect = &course.effects[0];
    let bills = |on: &str| codes(&check_billed(day(on), &contract, effect));
    assert_eq!(bills("2026-03-05"), [""; 0]);
    assert_eq!(bills("2026-03-04"), ["#/on before_acceptance"]);
    let begins = |on: &str| codes(&accept::check_begun(day(on), &contract));
    assert_eq!(begins("2026-03-05"), [""; 0]);
    assert_eq!(begins("2026-03-04"), ["#/on before_acceptance"]);
}

/// A quote goes out up to its last day and expires after it, and a credit note is dated up to today, or on the day of an invoice that
/// was once dated ahead.
#[test]
fn quotes_and_credit_notes_are_dated_on_the_last_day_that_allows_it() {
    let mut inputs = quote_inputs();
    inputs.terms.valid_until = day("2026-03-02");
    let issued = |on: &str| codes(&check_quote_issue(day(on), &inputs, last_day()));
    assert_eq!(issued("2026-03-02"), [""; 0]);
    assert_eq!(issued("2026-03-03"), ["#/on after_valid_until"]);
    let after = last_day().day.date().tomorrow().unwrap().to_string();
    assert_eq!(issued(&after), ["#/on in_the_future", "#/on after_valid_until"]);
    let expired = |on: &str| codes(&check_expiry(day(on), day("2026-03-02")));
    assert_eq!(expired("2026-03-03"), [""; 0]);
    assert_eq!(expired("2026-03-02"), ["#/on before_valid_until"]);
    let credited = |on: &str, invoice: &str| codes(&check_credit(day(on), day(invoice), last_day()));
    assert_eq!(credited("2026-03-02", "2026-03-02"), [""; 0]);
    assert_eq!(credited(&after, "2026-03-02"), ["#/on in_the_future"]);
    assert_eq!(credited(&after, &after), [""; 0]);
}

/// A deposit may be paid from the yes on, everything else from the day it is billed on. One that was dated ahead is paid on its day.
#[test]
fn a_deposit_may_come_with_the_yes() {
    let mut course = Course::accepted();
    let contract = Contract::open(quote_inputs(), course.components.clone(), Some(day("2026-03-05")));
    course.bill(&json!({"kind": "stage", "stage": "deposit"}));
    course.bill(&json!({"kind": "percent", "pct_to_date": "50"}));
    let from =
        |paid: &str, invoice: usize| paid_from(day(paid), &course.billed[invoice].0, &contract).to_string();
    assert_eq!(from("2026-03-05", 0), "2026-03-05");
    assert_eq!(from("2026-03-04", 0), "2026-03-05");
    assert_eq!(from("2026-03-20", 0), "2026-03-20");
    assert_eq!(from("2026-03-05", 1), "2026-03-20");
}
