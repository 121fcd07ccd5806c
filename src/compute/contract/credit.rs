//! What a credit note gives back of an invoice: lines, their taxes and the retainage held on them.

use super::invoice::{by_category, retained_on};
use super::quote::{PaperLine, PaperTax};
use super::sums::{ByCategory, share, tax};
use crate::units::{Amount, Currency};
use crate::wire::contract::Signed;
use crate::wire::contract::account::{BilledLine, ContractLine, Effect};
use crate::wire::contract::facts::{TaxRule, TaxSum};
use crate::wire::contract::inputs::CreditInputs;
use crate::wire::contract::requests::{Credit, CreditedLineIn};
use crate::wire::contract::terms::Seller;
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site};
use crate::wire::{At, Faults, List};
use serde::Serialize;
use utoipa::ToSchema;

/// A credit note. Its amounts are what is given back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CreditDocument {
    /// Number.
    pub number: String,
    /// Number of the invoice.
    pub invoice: String,
    /// Date of the invoice.
    pub invoice_issued_on: Day,
    /// Date.
    pub issued_on: Day,
    /// Why.
    pub reason: String,
    /// What the job is called.
    pub title: String,
    /// The office.
    pub seller: Seller,
    /// Who it is for.
    pub customer: Customer,
    /// Where the work is.
    pub site: Site,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// The lines given back.
    pub lines: Vec<PaperLine>,
    /// Sum of the lines.
    pub before_tax: Amount,
    /// Taxes given back.
    pub taxes: Vec<PaperTax>,
    /// Sum of the taxes.
    pub tax: Amount,
    /// Given back with tax.
    pub total: Amount,
    /// Retainage that is no longer held, because what it was held on is given back.
    pub retained: Amount,
    /// Released retainage that is held again.
    pub released: Amount,
    /// What the customer owes less: total less retained plus released.
    pub payable: Amount,
    /// How the parts came about.
    pub basis: String,
}

fn amount_of(effect: &Effect, line: &ContractLine) -> Amount {
    effect.lines.iter().filter(|l| l.line == line.code).map(|l| l.amount.0).sum()
}

fn tax_of(effect: &Effect, code: &str) -> Amount {
    effect.taxes.iter().filter(|t| t.code.as_str() == code).map(|t| t.amount.0).sum()
}

/// What is given back of an invoice to date, line by line, this credit note included.
struct GivenBack<'i> {
    inputs: &'i CreditInputs,
    to_date: Vec<Amount>,
    /// Whether nothing is left of any line.
    complete: bool,
}

impl GivenBack<'_> {
    fn sums(&self) -> ByCategory {
        ByCategory::collect(self.inputs.lines.iter().zip(&self.to_date).map(|(l, a)| (l.category, *a)))
    }

    /// The tax or retainage on what is given back, to date: that of the invoice once nothing is left of it, else reckoned on
    /// the lines given back. Where all lines of the invoice have one direction, never beyond what the invoice has.
    fn part(&self, reckoned: Amount, on_invoice: Amount) -> Amount {
        let billed = || self.inputs.billed.lines.iter().map(|l| l.amount.0);
        if self.complete {
            on_invoice
        } else if billed().all(|a| a >= Amount::ZERO) {
            reckoned.min(on_invoice)
        } else if billed().all(|a| a <= Amount::ZERO) {
            reckoned.max(on_invoice)
        } else {
            reckoned
        }
    }

    /// A tax given back now: what [`tax_due`](super::invoice::tax_due) is for a bill, for what is given back. The lines have
    /// their own tax whatever lines of the other sign leave of them on the invoice.
    fn tax(&self, rule: &TaxRule) -> (TaxSum, PaperTax) {
        let CreditInputs { lines, billed, before, .. } = self.inputs;
        let now: Amount = lines
            .iter()
            .zip(&self.to_date)
            .filter(|(l, _)| rule.categories.contains(&l.category))
            .map(|(l, a)| *a + amount_of(before, l))
            .sum();
        let (on_invoice, given_before) =
            (tax_of(billed, rule.code.as_str()), -tax_of(before, rule.code.as_str()));
        let sums = self.sums();
        let reckoned = tax(rule, &sums);
        let to_date = self.part(reckoned, on_invoice);
        let amount = to_date - given_before;
        let basis = if self.complete {
            format!("{on_invoice} on the invoice less {given_before} given back before = {amount}")
        } else {
            let rounded = by_category(rule, &sums);
            let most = if to_date == reckoned {
                String::new()
            } else {
                format!(", of which the invoice has {to_date}")
            };
            format!(
                "{} given back to date x {}{rounded} = {reckoned}{most}, less {given_before} given back before = {amount}",
                sums.taxable(rule),
                rule.rate_pct
            )
        };
        let sum = TaxSum { code: rule.code.clone(), taxable: Signed(-now), amount: Signed(-amount) };
        let shown = PaperTax {
            code: rule.code.to_string(),
            name: rule.name.to_string(),
            rate_pct: rule.rate_pct,
            taxable: now,
            amount,
            basis,
        };
        (sum, shown)
    }

    /// The retainage held on what is given back now, before what has been released of it.
    fn retained(&self, tax_now: Amount) -> Amount {
        let CreditInputs { billed, before, retainage, .. } = self.inputs;
        let Some(retainage) = retainage else { return Amount::ZERO };
        let before_tax: Amount = self.to_date.iter().copied().sum();
        let tax_before: Amount = before.taxes.iter().map(|t| -t.amount.0).sum();
        let base = retained_on(retainage, before_tax, before_tax + tax_before + tax_now);
        self.part(share(base, retainage.pct.share()), billed.retained.0) + before.retained.0
    }
}

/// Makes the credit note, and what it does to the account.
///
/// # Errors
/// Every fault of the request, with pointers into it.
pub fn credit(inputs: &CreditInputs) -> Result<(CreditDocument, Effect), Faults> {
    let CreditInputs {
        number,
        invoice,
        invoice_on,
        job,
        seller,
        currency,
        tax_scheme: _,
        request,
        lines,
        tax_rules,
        billed,
        before,
        held,
        billed_to_date,
        retainage: _,
    } = inputs;
    let mut faults = Faults::new();
    if request.on < *invoice_on {
        let at = At::ROOT.member("on");
        let detail = "a credit note is not older than its invoice";
        faults.value(&at, "before_issue_date", &request.on.to_string(), detail);
    }
    // What is left of the invoice, line by line; earlier credit notes carry the other sign.
    let left: Vec<Amount> = lines.iter().map(|l| amount_of(billed, l) + amount_of(before, l)).collect();
    let back: Vec<Amount> = match &request.credit {
        Credit::Whole {} => left.clone(),
        Credit::Lines { lines: asked } => asked_back(asked, lines, &left, &mut faults),
    };
    let to_date = lines.iter().zip(&back).map(|(l, now)| *now - amount_of(before, l)).collect();
    let complete = back == left;
    let given_back = GivenBack { inputs, to_date, complete };
    let before_tax: Amount = back.iter().copied().sum();
    let taxes: Vec<(TaxSum, PaperTax)> = tax_rules.iter().map(|rule| given_back.tax(rule)).collect();
    let tax: Amount = taxes.iter().map(|(_, t)| t.amount).sum();
    let held_on_it = given_back.retained(tax);
    // Held again is at most what stays billed: retainage whose invoice was given back went back with it.
    let can_be_held =
        billed_to_date.map(|billed| billed.0 - before_tax - tax - (held.0 - held_on_it.min(held.0)));
    let released_left = billed.released.0 + before.released.0;
    let released = match (&request.credit, can_be_held) {
        (Credit::Lines { .. }, _) => Amount::ZERO,
        (Credit::Whole {}, Some(most)) => released_left.min(most.max(Amount::ZERO)),
        (Credit::Whole {}, None) => released_left,
    };
    let empty = left.iter().all(|a| *a == Amount::ZERO) && released == Amount::ZERO;
    if empty && faults.is_empty() {
        let why = if released_left != Amount::ZERO {
            "what this invoice released has gone back with the invoices it was held on"
        } else if billed.lines.is_empty() && billed.released.0 == Amount::ZERO {
            "this invoice asks for tax alone that the contract still holds, and for no line that could be given back; sent by \
             mistake, it is voided"
        } else {
            "all of this invoice has been given back"
        };
        faults.add(&At::ROOT.member("credit"), "nothing_to_credit", why);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    // What has been released meanwhile is not held any more and cannot be taken off what is.
    let retained = held_on_it.min(held.0 + released);
    let total = before_tax + tax;
    let payable = total - retained + released;
    let given: Vec<(&ContractLine, Amount)> =
        lines.iter().zip(back).filter(|(_, a)| *a != Amount::ZERO).collect();
    let effect = List::new(
        given.iter().map(|(l, a)| BilledLine { line: l.code.clone(), amount: Signed(-*a) }).collect(),
    )
    .zip(List::new(taxes.iter().map(|(t, _)| t.clone()).collect()))
    .map(|(lines, taxes)| Effect {
        lines,
        taxes,
        retained: Signed(-retained),
        released: Signed(-released),
        payable: Signed(-payable),
        stage: billed.stage.clone().filter(|_| complete),
    });
    let Some(effect) = effect else {
        faults.add(&At::ROOT.member("credit"), "list_length", "a credit note has at most 1000 lines");
        return Err(faults);
    };
    let document = CreditDocument {
        number: number.to_string(),
        invoice: invoice.to_string(),
        invoice_issued_on: *invoice_on,
        issued_on: request.on,
        reason: request.reason.to_string(),
        title: job.title.to_string(),
        seller: seller.clone(),
        customer: job.customer.clone(),
        site: job.site.clone(),
        currency: *currency,
        lines: given
            .into_iter()
            .map(|(line, price)| PaperLine {
                code: line.code.to_string(),
                description: line.description.to_string(),
                category: line.category,
                price,
                basis: format!("{price} of {} on the invoice", amount_of(billed, line)),
            })
            .collect(),
        before_tax,
        taxes: taxes.into_iter().map(|(_, t)| t).collect(),
        tax,
        total,
        retained,
        released,
        payable,
        basis: format!(
            "{total} with tax less {retained} retainage held on it plus {released} released = {payable}"
        ),
    };
    Ok((document, effect))
}

fn asked_back(
    asked: &[CreditedLineIn],
    lines: &[ContractLine],
    left: &[Amount],
    faults: &mut Faults,
) -> Vec<Amount> {
    let credit_at = At::ROOT.member("credit");
    let list = credit_at.member("lines");
    let mut back = vec![Amount::ZERO; lines.len()];
    for (i, one) in asked.iter().enumerate() {
        let here = list.element(i);
        let index = lines.iter().position(|l| l.code == one.line);
        let Some((slot, left)) = index.and_then(|i| back.get_mut(i)).zip(index.and_then(|i| left.get(i)))
        else {
            faults
                .value(&here.member("line"), "unknown_code", one.line.as_str(), "not a line of this invoice")
                .allow(lines.iter().map(|l| l.code.as_str()));
            continue;
        };
        if *slot != Amount::ZERO {
            faults.value(&here.member("line"), "duplicate", one.line.as_str(), "given back twice");
        }
        let amount = one.amount.0;
        let within = if *left < Amount::ZERO {
            amount < Amount::ZERO && amount >= *left
        } else {
            amount > Amount::ZERO && amount <= *left
        };
        if !within {
            let detail = format!("{left} of this line can be given back; not more, not less than nothing");
            faults.value(&here.member("amount"), "over_credited", &amount.to_string(), detail);
        }
        *slot = amount;
    }
    back
}
