//! What a credit note gives back of an invoice: lines, their taxes and the retainage held on them.

use super::held::{GivenTo, on_given, part};
use super::invoice::by_category;
use super::quote::{PaperLine, PaperTax};
use super::sums::{ByCategory, tax};
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

/// What becomes of the sum of a credit note; both parts make its `payable`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct Settled {
    /// So much less is owed on the invoice.
    pub owed_less: Amount,
    /// Due back to the customer, or set against what else is owed: the invoice was paid so far, or retainage held on it has been released.
    pub due_back: Amount,
}

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
    /// Retainage that is no longer held, because what it was held on is given back, by this credit note or before; what is negative
    /// is held again.
    pub retained: Amount,
    /// Released retainage that is held again.
    pub released: Amount,
    /// What the customer owes less: total less retained plus released.
    pub payable: Amount,
    /// What becomes of it by what was paid of the invoice before; absent where nothing is given back, and on papers from before it was
    /// said.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub settled: Option<Settled>,
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
        let to_date = part(billed, self.complete, reckoned, on_invoice);
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

    /// The retainage held on what is given back to date, before what has been released of it.
    fn retained_to_date(&self, tax_now: Amount) -> Amount {
        let CreditInputs { billed, before, retainage, .. } = self.inputs;
        let tax_before: Amount = before.taxes.iter().map(|t| -t.amount.0).sum();
        let before_tax = self.to_date.iter().copied().sum();
        let given = GivenTo { before_tax, tax: tax_before + tax_now, complete: self.complete };
        on_given(retainage.as_ref(), billed, given)
    }
}

/// The retainage held on what earlier credit notes gave back.
fn retained_before(inputs: &CreditInputs, left: &[Amount]) -> Amount {
    let CreditInputs { billed, before, retainage, .. } = inputs;
    let given = GivenTo {
        before_tax: -before.lines.iter().map(|l| l.amount.0).sum::<Amount>(),
        tax: -before.taxes.iter().map(|t| t.amount.0).sum::<Amount>(),
        complete: !left.is_empty() && left.iter().all(|a| *a == Amount::ZERO),
    };
    on_given(retainage.as_ref(), billed, given)
}

/// The retainage of a credit note: no longer held, and held again.
struct Retained {
    retained: Amount,
    released: Amount,
    /// What was released and has gone back with the invoices it was held on: held again for nobody.
    gone: Amount,
}

/// The retainage a credit note moves. What it says was never released is held again, but at most what the invoices that stay hold
/// net of their credit notes: the rest went back with the invoices it was held on.
fn retained(
    inputs: &CreditInputs,
    given_back: &GivenBack<'_>,
    left: &[Amount],
    now: (Amount, Amount),
) -> Retained {
    let CreditInputs { billed, before, held, billed_to_date, held_on_invoices, .. } = inputs;
    let (before_tax, tax) = now;
    let to_date = given_back.retained_to_date(tax);
    let whole = matches!(inputs.request.credit, Credit::Whole {});
    let released_left = if whole { billed.released.0 + before.released.0 } else { Amount::ZERO };
    if let Some(most) = held_on_invoices {
        let again = held.0 + released_left;
        let on_it = to_date - retained_before(inputs, left);
        let after = (again.min(most.0) - on_it).max(Amount::ZERO);
        let gone = if whole { (again - most.0).max(Amount::ZERO).min(released_left) } else { Amount::ZERO };
        return Retained { retained: again - after, released: released_left, gone };
    }
    // Snapshots without what invoices hold are older: they went by what stays billed, and papers stay as they were made.
    let on_it = to_date + before.retained.0;
    let most = billed_to_date.map(|all| all.0 - before_tax - tax - (held.0 - on_it.min(held.0)));
    let released = most.map_or(released_left, |most| released_left.min(most.max(Amount::ZERO)));
    Retained { retained: on_it.min(held.0 + released), released, gone: Amount::ZERO }
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
        held: _,
        held_on_invoices: _,
        billed_to_date: _,
        retainage: _,
        owed,
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
    let Retained { retained, released, gone } = retained(inputs, &given_back, &left, (before_tax, tax));
    let empty = left.iter().all(|a| *a == Amount::ZERO) && released == Amount::ZERO;
    if empty && faults.is_empty() {
        let why = if billed.lines.is_empty() && billed.released.0 == Amount::ZERO {
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
        by_terms: None,
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
        settled: owed.filter(|_| payable > Amount::ZERO).map(|owed| {
            let owed_less = payable.min(owed.0.max(Amount::ZERO));
            Settled { owed_less, due_back: payable - owed_less }
        }),
        basis: if gone == Amount::ZERO {
            format!(
                "{total} with tax less {retained} retainage held on it plus {released} released = {payable}"
            )
        } else {
            format!(
                "{total} with tax less {retained} retainage, of which {gone} has gone back with the invoices it was held on, \
                 plus {released} released = {payable}"
            )
        },
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
