//! The acceptance of a quote: what is taken, and the parts of the contract it makes.

use super::account::is_change;
use super::moves::{PaperKind, PaperState, beyond, over};
use super::quote::{component, lines};
use super::{additions, fold};
use crate::units::Amount;
use crate::wire::contract::Number;
use crate::wire::contract::account::{Account, Component, ContractLine, Effect};
use crate::wire::contract::inputs::{ChangeInputs, InvoiceInputs, QuoteInputs};
use crate::wire::contract::requests::{AcceptIn, Bill, PaymentIn};
use crate::wire::contract::terms::StageKind;
use crate::wire::day::{Day, OfficeDay};
use crate::wire::{At, Code, Faults, Label};
use std::collections::BTreeSet;

/// The estimate that is taken: the quoted one, or that of the alternate.
pub fn taken_estimate<'a>(inputs: &'a QuoteInputs, alternate: Option<&Code>) -> &'a Label {
    let other = alternate.and_then(|code| inputs.alternates.iter().find(|a| a.code == *code));
    &other.map_or(&inputs.estimate, |a| &a.estimate).estimate_id
}

/// What is wrong with the date of a decision: to come, or before the paper was issued. `done` says what was decided. A paper that
/// was dated ahead is decided up to its own date, so that it can be ended.
fn dated(
    on: Day,
    issued_on: Option<Day>,
    today: OfficeDay<'_>,
    (paper, done): (&str, &str),
    faults: &mut Faults,
) {
    let root = At::ROOT;
    let here = root.member("on");
    if let Some(told) = today.to_come(on).filter(|_| issued_on.is_none_or(|issued| on > issued)) {
        faults.value(&here, "in_the_future", &on.to_string(), told);
    }
    if issued_on.is_some_and(|issued| on < issued) {
        let article = if paper == "invoice" { "an" } else { "a" };
        let detail = format!("{article} {paper} cannot be {done} before it was issued");
        faults.value(&here, "before_issue_date", &on.to_string(), detail);
    }
}

/// What is wrong with the date on which a paper was closed some other way than by a yes.
pub fn check_closing(
    on: Day,
    issued_on: Option<Day>,
    today: OfficeDay<'_>,
    kind: PaperKind,
    state: PaperState,
) -> Faults {
    let mut faults = Faults::new();
    let paper = kind.word().replace('_', " ");
    dated(on, issued_on, today, (&paper, state.word()), &mut faults);
    faults
}

/// What is wrong with the date of what is reported about an invoice or a job; `done` says what happened.
pub fn check_report(on: Day, issued_on: Option<Day>, today: OfficeDay<'_>, done: &str) -> Faults {
    let mut faults = Faults::new();
    dated(on, issued_on, today, ("invoice", done), &mut faults);
    faults
}

/// What is wrong with a payment of an invoice: its date, a payment of nothing, more money back than can go back, more paid than
/// is owed where that is not confirmed, more than can be written. It is not paid before the day `from`; `due` is what is payable less
/// what was credited, `before` the sum paid without it, `others` what was paid on the other invoices of the job.
pub fn check_payment(
    payment: &PaymentIn,
    from: Day,
    (due, before, others): (Amount, Amount, Amount),
    today: OfficeDay<'_>,
) -> Faults {
    let mut faults = check_report(payment.on, Some(from), today, "paid");
    let (at, amount) = (At::ROOT.member("amount"), payment.amount.0);
    if amount == Amount::ZERO {
        faults.value(&at, "out_of_range", &amount.to_string(), "a payment of nothing is none");
    }
    if let Some(detail) = beyond(due, before, before + amount) {
        faults.value(&at, "over_refunded", &amount.to_string(), detail);
    }
    if before + amount > Amount::MOST {
        let detail =
            format!("{before} were paid; all payments of an invoice come to at most {}", Amount::MOST);
        faults.value(&at, "out_of_range", &amount.to_string(), detail);
    } else if amount > Amount::ZERO && others + before + amount > Amount::MOST {
        let detail = format!(
            "{} were paid on the invoices of the job; all payments of a job come to at most {}",
            others + before,
            Amount::MOST
        );
        faults.value(&at, "out_of_range", &amount.to_string(), detail);
    } else if let Some(detail) = over(due, before, before + amount).filter(|_| !payment.over_paid.0) {
        faults.value(&at, "over_paid", &amount.to_string(), detail);
    }
    faults
}

/// What is wrong with the date a paper is issued on, or a credit note is dated: to come.
pub fn check_date(on: Day, today: OfficeDay<'_>) -> Faults {
    let mut faults = Faults::new();
    if let Some(told) = today.to_come(on) {
        let detail = format!("{told}: a paper goes out on the day it is dated, not ahead of it");
        faults.value(&At::ROOT.member("on"), "in_the_future", &on.to_string(), detail);
    }
    faults
}

/// What is wrong with the date a quote is issued on: to come, or after the last day on which it could be accepted.
pub fn check_quote_issue(on: Day, quote: &QuoteInputs, today: OfficeDay<'_>) -> Faults {
    let mut faults = check_date(on, today);
    let until = quote.terms.valid_until;
    if on > until {
        let detail = format!("the quote is valid until {until}: give it more time first");
        faults.value(&At::ROOT.member("on"), "after_valid_until", &on.to_string(), detail);
    }
    faults
}

/// What is wrong with the date on which a quote expires: it can still be accepted then.
pub fn check_expiry(on: Day, valid_until: Day) -> Faults {
    let mut faults = Faults::new();
    if on <= valid_until {
        let detail = format!("the quote can be accepted until {valid_until}: withdraw it, or wait");
        faults.value(&At::ROOT.member("on"), "before_valid_until", &on.to_string(), detail);
    }
    faults
}

/// What is wrong with the date of a credit note: to come. An invoice that was once dated ahead is given back on its own date.
pub fn check_credit(on: Day, invoice_on: Day, today: OfficeDay<'_>) -> Faults {
    if on > invoice_on { check_date(on, today) } else { Faults::new() }
}

/// What is wrong with the sum of an invoice: more than can be written, together with all that was billed before it, asked for or
/// retained.
pub fn check_sum(account: &Account, total: Amount) -> Faults {
    let mut faults = Faults::new();
    let billed = account.billed();
    if total > Amount::ZERO && billed + total > Amount::MOST {
        let detail = format!(
            "{billed} are billed, what is retained among them; all invoices of a contract come to at most {}",
            Amount::MOST
        );
        faults.value(&At::ROOT.member("bill"), "out_of_range", &total.to_string(), detail);
    }
    faults
}

/// What is wrong with the date of an invoice: before the acceptance of the contract, or of a change order whose lines it bills.
pub fn check_billed(on: Day, contract: &fold::Contract, effect: &Effect) -> Faults {
    let mut faults = Faults::new();
    let billed = |component: &&Component| {
        let bills = |line: &ContractLine| effect.lines.iter().any(|l| l.line == line.code);
        !is_change(component) || component.lines.iter().any(bills)
    };
    let mut seen = BTreeSet::new();
    for component in contract.components.iter().filter(billed) {
        let Some(accepted) = contract.accepted_on(component).filter(|accepted| on < *accepted) else {
            continue;
        };
        if seen.insert(&component.paper) {
            let what = if is_change(component) { "the change order" } else { "the quote" };
            let detail = format!(
                "this bills what {what} {} promises, which was accepted on {accepted}",
                component.paper
            );
            faults.value(&At::ROOT.member("on"), "before_acceptance", &on.to_string(), detail);
        }
    }
    faults
}

/// What is wrong with the date of an invoice that releases retainage: so much was not held yet on it. `moved` is what each paper
/// before it holds less what it released, with its date.
pub fn check_released(on: Day, effect: &Effect, moved: &[(Day, Amount)]) -> Faults {
    let mut faults = Faults::new();
    let held_on = |day: Day| moved.iter().filter(|(of, _)| *of <= day).map(|(_, held)| *held).sum::<Amount>();
    let (released, held) = (effect.released.0, held_on(on).max(Amount::ZERO));
    if released > held {
        let first = moved.iter().map(|(of, _)| *of).filter(|of| *of > on && held_on(*of) >= released).min();
        let day = first.map_or_else(String::new, |day| format!(": date it on {day} or later"));
        let detail = format!("this releases {released} of retainage, and {held} was held on {on}{day}");
        faults.value(&At::ROOT.member("on"), "before_held", &on.to_string(), detail);
    }
    faults
}

/// The first day on which an invoice can have been paid, for a payment of this day: its own. A deposit may come with the yes, before
/// it is billed.
pub fn paid_from(on: Day, inputs: &InvoiceInputs, contract: &fold::Contract) -> Day {
    let issued = inputs.request.on;
    let early = on < issued && is_deposit(inputs);
    contract.begun_on().filter(|_| early).map_or(issued, |accepted| accepted.min(issued))
}

/// Whether an invoice bills a deposit.
pub(super) fn is_deposit(inputs: &InvoiceInputs) -> bool {
    let stage = match &inputs.request.bill {
        Bill::Stage { stage } => inputs.account.stages.iter().find(|s| s.code == *stage),
        _ => None,
    };
    stage.is_some_and(|s| s.due == StageKind::Deposit)
}

/// What is wrong with the date of a paper that rests on a quote.
pub fn check_issue(on: Day, quote: &QuoteInputs, today: OfficeDay<'_>, paper: &str) -> Faults {
    let mut faults = check_date(on, today);
    if let Some(issued) = quote.issued_on.filter(|issued| on < *issued) {
        let detail = format!("{paper} is not older than the quote it rests on, which was issued on {issued}");
        faults.value(&At::ROOT.member("on"), "before_issue_date", &on.to_string(), detail);
    }
    faults
}

/// What is wrong with the date on which a change order is issued or accepted: before there was a contract to change.
pub fn check_begun(on: Day, contract: &fold::Contract) -> Faults {
    let mut faults = Faults::new();
    if let Some(begun) = contract.begun_on().filter(|begun| on < *begun) {
        let quote = contract.quote.number.as_ref().map_or("the quote", Label::as_str);
        let detail = format!("a change order changes a contract, and {quote} was accepted on {begun}");
        faults.value(&At::ROOT.member("on"), "before_acceptance", &on.to_string(), detail);
    }
    faults
}

/// What is wrong with the acceptance of a change order.
pub fn check_change(inputs: &ChangeInputs, decision: &AcceptIn, today: OfficeDay<'_>) -> Faults {
    let mut faults = Faults::new();
    for (name, sent) in
        [("alternate", decision.alternate.is_some()), ("additions", !decision.additions.is_empty())]
    {
        if sent {
            faults.add(&At::ROOT.member(name), "not_here", "a change order has no options to choose from");
        }
    }
    dated(decision.on, inputs.issued_on, today, ("change order", "accepted"), &mut faults);
    faults
}

/// The parts of the contract that an acceptance makes.
///
/// # Errors
/// Every fault of the acceptance.
pub fn accept(
    inputs: &QuoteInputs,
    decision: &AcceptIn,
    today: OfficeDay<'_>,
) -> Result<Vec<Component>, Faults> {
    let QuoteInputs { number, issued_on, job, terms, estimate, alternates, .. } = inputs;
    let mut faults = Faults::new();
    let root = At::ROOT;
    dated(decision.on, *issued_on, today, ("quote", "accepted"), &mut faults);
    if decision.on > terms.valid_until {
        faults.value(
            &root.member("on"),
            "after_valid_until",
            &decision.on.to_string(),
            format!("the quote can be accepted until {}: supersede it by a new one", terms.valid_until),
        );
    }
    let chosen = match &decision.alternate {
        None => Some((estimate, job.title.clone())),
        Some(code) => {
            let found = alternates
                .iter()
                .find(|a| a.code == *code)
                .zip(terms.alternates.iter().find(|a| a.code == *code))
                .map(|(fact, term)| (&fact.estimate, term.name.clone()));
            if found.is_none() {
                faults
                    .value(&root.member("alternate"), "unknown_code", code.as_str(), "no such alternate")
                    .allow(terms.alternates.iter().map(|a| a.code.as_str()));
            }
            found
        }
    };
    let list_at = root.member("additions");
    let mut seen = BTreeSet::new();
    let mut taken = Vec::new();
    for (i, code) in decision.additions.iter().enumerate() {
        if !seen.insert(code) {
            faults.value(&list_at.element(i), "duplicate", code.as_str(), "taken twice");
        }
        let has_it = chosen.as_ref().is_some_and(|(estimate, _)| estimate.chosen.contains(code));
        if let Some(alternate) = decision.alternate.as_ref().filter(|_| has_it) {
            let detail = format!(
                "the alternate `{alternate}` has it in its price already, it would be charged twice: accept the alternate \
                 without the addition"
            );
            faults.value(&list_at.element(i), "included_already", code.as_str(), detail);
        }
        match terms.additions.iter().find(|a| a.code == *code) {
            Some(addition) => taken.push(addition),
            None => {
                faults
                    .value(&list_at.element(i), "unknown_code", code.as_str(), "no such addition")
                    .allow(terms.additions.iter().map(|a| a.code.as_str()));
            }
        }
    }
    let (Some(paper), Some((estimate, name)), true) = (number, chosen, faults.is_empty()) else {
        return Err(faults);
    };
    let mut out = Vec::new();
    let own: Vec<ContractLine> = lines(estimate, &terms.lines).into_iter().map(|(l, _)| l).collect();
    out.extend(component("quote", paper, &name, own, &estimate.taxes, estimate.crew_hours, Some(estimate)));
    for addition in taken.into_iter().filter_map(|a| additions::offered(a, &inputs.estimate)) {
        let lines = additions::lines(&addition).into_iter().map(|(l, _)| l).collect();
        let taxes = additions::taxes(&estimate.tax_rules, &addition);
        let code = format!("{}{}", additions::PREFIX, addition.code);
        out.extend(component(&code, paper, &addition.name, lines, &taxes, Number::ZERO, None));
    }
    if fold::total(&out) > Amount::MOST {
        let detail = format!("with its additions the contract comes to more than {}", Amount::MOST);
        faults.add(&list_at, "out_of_range", detail);
        return Err(faults);
    }
    Ok(out)
}
