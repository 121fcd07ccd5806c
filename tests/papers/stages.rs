//! Stages as they were quoted and as they are billed, and bills that go beyond the contract.
//! `source_basis`: definition (the promise of the quote is what is billed), no source.

use super::job::{Course, quote_inputs, read};
use rillcast::units::Amount;
use serde_json::{Value, json};

#[test]
fn a_stage_is_billed_with_the_tax_that_was_quoted_for_it() {
    for shares in
        [["30", "40", "30"], ["33.3333", "33.3333", "33.3334"], ["10", "10", "80"], ["12.5", "75", "12.5"]]
    {
        let mut quote = quote_inputs();
        let stages: Vec<Value> = ["deposit", "progress", "completion"]
            .iter()
            .zip(shares)
            .map(|(due, pct)| json!({"code": due, "name": due, "due": due, "pct": pct}))
            .collect();
        quote.terms.schedule = read(&json!(stages));
        let mut course = Course::of(quote, &[]);
        let quoted = course.quote();
        for stage in &quoted.schedule {
            let invoice = course.bill(&json!({"kind": "stage", "stage": stage.code}));
            let (promised, billed) = ((stage.before_tax, stage.tax), (invoice.before_tax, invoice.tax));
            assert_eq!(promised, billed, "{} of {shares:?}", stage.code);
        }
        let tax: Amount = quoted.schedule.iter().map(|s| s.tax).sum();
        assert_eq!(tax, quoted.offer.tax, "the column foots");
        assert_eq!(course.account().open(), Amount::ZERO);
    }
}

#[test]
fn lines_that_hold_do_not_take_more_than_the_contract_holds() {
    let mut course = Course::accepted();
    let off = json!({"code": "less", "description": "Less", "category": "labor", "price": "-6000.00", "cost": "0.00"});
    course.change(&json!({"kind": "lines", "lines": [off]}), None);
    let account = course.account();
    let quoted: Vec<Value> = account
        .lines
        .iter()
        .filter(|p| p.line.price.0 > Amount::ZERO)
        .map(|p| json!({"line": p.line.code, "pct_to_date": "100"}))
        .collect();
    let mut request = json!({"bill": {"kind": "lines", "lines": quoted}, "on": "2026-03-20"});
    let faults = course.try_bill(&request).unwrap_err();
    assert_eq!((faults.list()[0].code, faults.list()[0].pointer.as_str()), ("over_contract", "#/bill"));
    assert!(faults.to_string().contains("6000.00 more than the contract holds"), "{faults}");
    request["over_contract"] = json!(true);
    let invoice = course.try_bill(&request).unwrap();
    assert_eq!(invoice.warnings[0].text, "bills 6000.00 more than the contract holds");
    // The last bill takes it back.
    let last = course.bill(&json!({"kind": "final"}));
    assert_eq!((last.before_tax.to_string(), course.account().open()), ("-6000.00".into(), Amount::ZERO));
}

#[test]
fn a_line_beyond_what_it_holds_is_named_where_it_was_asked_for() {
    let mut course = Course::accepted();
    let lines = json!([{"line": "labor", "amount": "10.00"}, {"line": "hire", "amount": "99999.00"}]);
    let request = json!({"bill": {"kind": "lines", "lines": lines}, "on": "2026-03-20"});
    let faults = course.try_bill(&request).unwrap_err();
    assert_eq!(faults.list()[0].pointer.as_str(), "#/bill/lines/1", "{faults}");
}

#[test]
fn a_line_of_the_quote_has_no_code_of_a_change_order() {
    let mut quote = quote_inputs();
    quote.terms.lines =
        read(&json!([{"code": "co-1.labor", "description": "Labor", "category": "labor", "pct": "50"}]));
    let faults = rillcast::compute::contract::quote::quote(&quote).unwrap_err();
    assert_eq!((faults.list()[0].code, faults.list()[0].pointer.as_str()), ("reserved", "#/lines/0/code"));
}
