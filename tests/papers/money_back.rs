//! Credit notes: what a part of an invoice gives back of its taxes and of the retainage held on it.
//! `source_basis`: common practice, no source; the figures are the rates of the taxes and of the retainage on the lines.

use super::job::{Course, quote_inputs, read};
use rillcast::compute::contract::fold;
use rillcast::compute::contract::invoice::invoice;
use rillcast::compute::contract::sums::share;
use rillcast::units::Amount;
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn lines(lines: &[(&str, &str)]) -> Value {
    let lines: Vec<Value> =
        lines.iter().map(|(line, amount)| json!({"line": line, "amount": amount})).collect();
    json!({"kind": "lines", "lines": lines})
}

/// The job with a change order that swaps one thing for another, and its invoice.
fn swapped(new: &str, old: &str) -> Course {
    let mut course = Course::accepted();
    let line = |code: &str, price: &str| json!({"code": code, "description": code, "category": "material", "price": price, "cost": "0.00"});
    course.change(&json!({"kind": "lines", "lines": [line("new", new), line("old", old)]}), None);
    course.bill(&json!({"kind": "change_order", "change_order": "co-1"}));
    course
}

#[test]
fn a_line_gives_back_its_own_tax_and_retainage_where_another_offsets_it() {
    for (new, old, taxes, retained) in [
        ("1010.00", "-1000.00", ["63.13", "17.68"], "101.00"),
        ("100.06", "-100.00", ["6.25", "1.75"], "10.01"),
        ("100.00", "-100.00", ["6.25", "1.75"], "10.00"),
    ] {
        let mut course = swapped(new, old);
        // Enough is held for all of it to go back.
        course.bill(&json!({"kind": "percent", "pct_to_date": "50"}));
        let (document, first) = course.try_credit(0, &[], &lines(&[("co-1.new", new)])).unwrap();
        let given: Vec<String> = document.taxes.iter().map(|t| t.amount.to_string()).collect();
        assert_eq!(given, taxes, "{new}");
        assert_eq!(document.retained.to_string(), retained, "{new}");
        let (_, rest) =
            course.try_credit(0, std::slice::from_ref(&first), &lines(&[("co-1.old", old)])).unwrap();
        let billed = course.billed[0].1.clone();
        for (i, tax) in billed.taxes.iter().enumerate() {
            let left = tax.amount.0 + first.taxes[i].amount.0 + rest.taxes[i].amount.0;
            assert_eq!(left, Amount::ZERO, "both leave nothing of the invoice");
        }
        assert_eq!(billed.retained.0 + first.retained.0 + rest.retained.0, Amount::ZERO);
    }
}

#[test]
fn retainage_held_with_tax_goes_back_with_the_tax_of_its_line() {
    let mut quote = quote_inputs();
    quote.terms.retainage = Some(read(&json!({"pct": "10", "held_on": "with_tax"})));
    let mut course = Course::of(quote, &[]);
    course.bill(&lines(&[("material", "1000.00"), ("labor", "1000.00")]));
    let (material, first) = course.try_credit(0, &[], &lines(&[("material", "1000.00")])).unwrap();
    // 62.50 and 17.50 of tax.
    assert_eq!(
        (material.total.to_string(), material.retained.to_string()),
        ("1080.00".into(), "108.00".into())
    );
    let (labor, _) = course.try_credit(0, &[first], &lines(&[("labor", "1000.00")])).unwrap();
    assert_eq!((labor.total.to_string(), labor.retained.to_string()), ("1000.00".into(), "100.00".into()));
}

#[test]
fn half_a_cent_goes_away_from_zero() {
    let mut quote = quote_inputs();
    quote.estimate.tax_rules =
        read(&json!([{"code": "t", "name": "T", "rate_pct": "10", "categories": ["material"],
        "rounding": "per_document"}]));
    let mut course = Course::of(quote, &[]);
    course.bill(&lines(&[("material", "60.30")]));
    let credit = course.credit(&lines(&[("material", "50.25")]));
    // 5.025
    assert_eq!(credit.taxes[0].amount.to_string(), "5.03");
    assert_eq!(
        credit.taxes[0].basis,
        "50.25 given back to date x 10 % = 5.03, less 0.00 given back before = 5.03"
    );
}

#[test]
fn released_retainage_goes_back_once() {
    let mut course = Course::accepted();
    course.bill(&lines(&[("labor", "1000.00")]));
    course.bill(&json!({"kind": "retainage"}));
    let whole = json!({"kind": "whole"});
    let (first, _) = course.try_credit(0, &[], &whole).unwrap();
    assert_eq!(first.payable.to_string(), "1000.00", "the 100.00 released since are in it");
    let release = course.billed[1].1.clone();
    assert!(
        course.account().bars_void(&release, &[], course.held_on_invoices()).is_some(),
        "the void would hold it again"
    );
    let (closed, back) = course.try_credit(1, &[], &whole).unwrap();
    assert_eq!(
        (closed.payable.to_string(), closed.retained.to_string(), closed.released.to_string()),
        ("0.00".into(), "100.00".into(), "100.00".into()),
        "it went back with the invoice"
    );
    assert_eq!(
        closed.basis,
        "0.00 with tax less 100.00 retainage, of which 100.00 has gone back with the invoices it was held on, plus 100.00 \
         released = 0.00"
    );
    assert!(fold::nothing_left(&[release, back]), "the release is credited");
    let faults = course.try_credit(1, &[course.effects[3].clone()], &whole).unwrap_err();
    assert_eq!(faults.list()[0].code, "nothing_to_credit", "{faults}");
    // The other way round the release goes back first, and is held again on what it was held on.
    let mut course = Course::accepted();
    course.bill(&lines(&[("labor", "1000.00")]));
    course.bill(&json!({"kind": "retainage"}));
    let (release, _) = course.try_credit(1, &[], &whole).unwrap();
    let (first, _) = course.try_credit(0, &[], &whole).unwrap();
    assert_eq!((release.payable.to_string(), first.payable.to_string()), ("100.00".into(), "900.00".into()));
}

#[test]
fn what_was_released_is_held_again_only_on_invoices_that_stay() {
    let whole = json!({"kind": "whole"});
    let billed = || {
        let mut course = Course::accepted();
        for bill in [
            json!({"kind": "percent", "pct_to_date": "40"}),
            json!({"kind": "percent", "pct_to_date": "100"}),
            json!({"kind": "retainage"}),
        ] {
            course.bill(&bill);
        }
        course
    };
    let held: Vec<Amount> = billed().billed.iter().map(|(_, e)| e.retained.0).collect();
    let total = |course: &Course, i: usize| {
        let effect = &course.billed[i].1;
        effect.payable.0 + effect.retained.0
    };
    // Whatever the order: the customer gets back what was asked for, and between what the invoices that stay hold is held.
    for order in [[0, 2, 1], [2, 0, 1], [0, 1, 2], [1, 2, 0], [2, 1, 0], [1, 0, 2]] {
        let mut course = billed();
        let mut back = Amount::ZERO;
        for invoice in order {
            back += course.try_credit(invoice, &[], &whole).unwrap().0.payable;
            let account = course.account();
            assert!(
                account.retained.0 >= Amount::ZERO && account.retained.0 <= course.held_on_invoices(),
                "{order:?}"
            );
        }
        assert_eq!(back, total(&course, 0) + total(&course, 1), "{order:?}");
        let end = course.account();
        assert_eq!(
            (end.retained.0, end.invoiced.0, end.billed()),
            (Amount::ZERO, Amount::ZERO, Amount::ZERO)
        );
    }
    let mut course = billed();
    let (first, _) = course.try_credit(0, &[], &whole).unwrap();
    assert_eq!((first.payable, first.retained), (total(&course, 0), Amount::ZERO));
    let released = course.billed[2].1.clone();
    assert!(
        course.account().bars_void(&released, &[], course.held_on_invoices()).is_some(),
        "the second alone stays"
    );
    let (release, _) = course.try_credit(2, &[], &whole).unwrap();
    assert_eq!((release.payable, release.retained, release.released), (held[1], held[0], held[0] + held[1]));
    assert_eq!(course.account().retained.0, held[1]);
    let (second, _) = course.try_credit(1, &[], &whole).unwrap();
    assert_eq!(second.payable, total(&course, 1) - held[1]);
    // A void of the release without a credit note is as good.
    let course = billed();
    assert!(course.account().bars_void(&released, &[], course.held_on_invoices()).is_none());
    assert!(
        course.account().bars_void(&course.billed[0].1, &[], course.held_on_invoices()).is_some(),
        "released meanwhile"
    );
}

fn less(price: &str) -> Value {
    json!({"kind": "lines", "lines": [
        {"code": "less", "description": "Less", "category": "labor", "price": price, "cost": "0.00"}]})
}

#[test]
fn what_was_taken_out_counts_against_what_is_held_on_later_invoices() {
    let whole = json!({"kind": "whole"});
    let all = json!({"kind": "percent", "pct_to_date": "100"});
    let mut course = Course::accepted();
    let first = course.bill(&all);
    course.change(&less("-1000.00"), None);
    let taken_out = course.bill(&json!({"kind": "change_order", "change_order": "co-1"}));
    assert_eq!(
        (taken_out.retained.to_string(), taken_out.payable.to_string()),
        ("-100.00".into(), "-900.00".into())
    );
    course.try_credit(0, &[], &whole).unwrap();
    // Held is nothing, and the 100.00 have gone with what they were held on: the void would hold them on nothing.
    let barred = course.account().bars_void(&course.billed[1].1, &[], course.held_on_invoices());
    assert!(barred.is_some_and(|bar| bar.why.contains("took off the retainage has gone")), "{barred:?}");
    // Billed anew, 10 % of what is billed in all is held.
    let anew = course.bill(&all);
    let hundred = Amount::from_minor(10_000);
    assert_eq!((anew.before_tax, anew.retained), (first.before_tax, first.retained - hundred));
    let basis = format!(
        "{} before tax x 10 % = {}, less 100.00 on what was taken out before",
        anew.before_tax, first.retained
    );
    assert_eq!(anew.retained_basis, Some(basis));
    // A part that is given back has its own retainage.
    let (part, given) = course.try_credit(2, &[], &lines(&[("labor", "100.00")])).unwrap();
    assert_eq!(
        (part.retained.to_string(), part.payable),
        ("10.00".into(), part.total - Amount::from_minor(1_000))
    );
    // What was taken out may go now, by a void or by a credit note alike. With a part given back only what is left can be.
    let part_given =
        course.account().bars_void(&course.billed[2].1, std::slice::from_ref(&given), Amount::ZERO);
    assert_eq!(
        part_given.map(|bar| bar.to_string()).as_deref(),
        Some(
            "`void` is not possible: a credit note stands on it; give back what is left of it by a credit note, with the \
             retainage that belongs to it: the invoice allows `credit`, `pay`"
        )
    );
    assert_eq!(course.account().bars_void(&course.billed[1].1, &[], course.held_on_invoices()), None);
    let (back, _) = course.try_credit(1, &[], &whole).unwrap();
    assert_eq!((back.retained, back.payable), (-hundred, taken_out.payable));
    assert_eq!(course.account().retained.0, first.retained - Amount::from_minor(1_000));
    course.try_credit(2, &[given], &whole).unwrap();
    let end = course.account();
    assert_eq!((end.retained.0, end.invoiced.0, end.billed()), (Amount::ZERO, Amount::ZERO, Amount::ZERO));
}

#[test]
fn more_taken_out_than_was_billed_counts_against_it_too() {
    let mut course = Course::accepted();
    course.bill(&lines(&[("labor", "1000.00")]));
    course.change(&less("-1500.00"), None);
    let taken_out = course.bill(&json!({"kind": "change_order", "change_order": "co-1"}));
    assert_eq!(taken_out.retained.to_string(), "-100.00");
    let all = course.bill(&json!({"kind": "percent", "pct_to_date": "100"}));
    assert!(all.retained_basis.is_some_and(|b| b.ends_with("less 50.00 on what was taken out before")));
    let account = course.account();
    assert_eq!(account.retained.0, share(account.billed_before_tax(), Decimal::new(10, 2)));
    // Without it 50.00 more would be held: a credit note holds them, a void would not.
    let barred = account.bars_void(&course.billed[1].1, &[], course.held_on_invoices());
    assert!(barred.is_some_and(|bar| bar.why.contains("held less for that")), "{barred:?}");
    course.try_credit(1, &[], &json!({"kind": "whole"})).unwrap();
    let account = course.account();
    assert_eq!(account.retained.0, share(account.billed_before_tax(), Decimal::new(10, 2)));
    // The invoice that held less for it holds what came back too: a void would leave that.
    let barred = account.bars_void(&course.billed[2].1, &[], course.held_on_invoices());
    assert!(barred.is_some_and(|bar| bar.why.starts_with("it held less")), "{barred:?}");
}

#[test]
fn an_invoice_from_before_holds_what_it_held() {
    let mut course = Course::accepted();
    course.change(&less("-1000.00"), None);
    course.bill(&json!({"kind": "change_order", "change_order": "co-1"}));
    course.bill(&json!({"kind": "percent", "pct_to_date": "100"}));
    let (inputs, effect) = course.billed[1].clone();
    let mut snapshot = json!(inputs);
    snapshot.as_object_mut().unwrap().remove("held_on_invoices");
    let (old, did) = invoice(&read(&snapshot)).unwrap();
    assert_eq!(old.retained, share(old.before_tax, Decimal::new(10, 2)));
    assert_eq!(old.retained_basis, Some(format!("{} before tax x 10 %", old.before_tax)));
    assert_eq!((did.by_terms, effect.retained.0), (None, old.retained - Amount::from_minor(10_000)));
}

#[test]
fn half_of_an_invoice_given_back_holds_half_again() {
    let mut course = Course::accepted();
    course.bill(&lines(&[("labor", "1000.00")]));
    course.bill(&lines(&[("labor", "500.00")]));
    course.bill(&json!({"kind": "retainage"}));
    let (half, first) = course.try_credit(0, &[], &lines(&[("labor", "500.00")])).unwrap();
    assert_eq!((half.payable.to_string(), half.retained.to_string()), ("500.00".into(), "0.00".into()));
    let (release, _) = course.try_credit(2, &[], &json!({"kind": "whole"})).unwrap();
    assert_eq!(
        (release.payable.to_string(), release.retained.to_string()),
        ("100.00".into(), "50.00".into())
    );
    // The other half gives back its own retainage, not that of the half before.
    let (rest, _) = course.try_credit(0, &[first], &json!({"kind": "whole"})).unwrap();
    assert_eq!((rest.payable.to_string(), rest.retained.to_string()), ("450.00".into(), "50.00".into()));
    assert_eq!(course.account().retained.to_string(), "50.00");
}

#[test]
fn a_snapshot_from_before_makes_the_paper_it_made() {
    let mut course = Course::accepted();
    course.bill(&lines(&[("labor", "1000.00")]));
    course.bill(&lines(&[("labor", "500.00")]));
    course.bill(&json!({"kind": "retainage"}));
    course.try_credit(0, &[], &json!({"kind": "whole"})).unwrap();
    let mut snapshot = course.credit_snapshot(2, &[], &json!({"kind": "whole"}));
    snapshot.as_object_mut().unwrap().remove("held_on_invoices");
    snapshot["billed_to_date"] = json!("500.00");
    let (old, _) = rillcast::compute::contract::credit::credit(&read(&snapshot)).unwrap();
    assert_eq!((old.released.to_string(), old.retained.to_string()), ("150.00".into(), "0.00".into()));
}
