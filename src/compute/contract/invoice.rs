//! What is billed now: lines up to what is done, taxes on what is billed to date, retainage held and released.

use super::accept::is_deposit;
use super::addressed::otherwise;
use super::bill::{Drawn, Over, draw, over_contract};
use super::held::{Held, retain};
use super::invoice_lines::lines;
use super::sums::{ByCategory, tax};
use crate::domain::words::Category;
use crate::units::{Amount, Currency};
use crate::wire::book::pricing::TaxRounding;
use crate::wire::contract::Signed;
use crate::wire::contract::account::{Account, BilledLine, Effect};
use crate::wire::contract::facts::{TaxRule, TaxSum};
use crate::wire::contract::inputs::InvoiceInputs;
use crate::wire::contract::requests::Bill;
use crate::wire::contract::terms::{Retainage, Seller};
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site};
use crate::wire::{At, Faults, List};
use crate::wire_enum;
use serde::Serialize;
use utoipa::ToSchema;

use super::quote::PaperTax;

wire_enum! {
    /// What kind of invoice it is.
    pub enum InvoiceKind {
        /// before the work begins
        Deposit = "deposit",
        /// as the work goes on
        Progress = "progress",
        /// the lines of a change order
        ChangeOrder = "change_order",
        /// retainage that is due
        Retainage = "retainage",
        /// everything that is open
        Final = "final",
    }
}

/// A line of an invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct InvoiceLine {
    /// Code of the line in the contract.
    pub code: String,
    /// Part of the contract it belongs to: `quote`, `add-…` or `co-…`.
    pub component: String,
    /// What it is.
    pub description: String,
    /// Category, which decides the taxes on it.
    pub category: Category,
    /// In the contract, before tax.
    pub contract: Amount,
    /// Billed before.
    pub billed_before: Amount,
    /// Billed now.
    pub amount: Amount,
    /// Billed to date.
    pub billed_to_date: Amount,
    /// Left to bill.
    pub open: Amount,
    /// How the amount came about.
    pub basis: String,
}

/// Something to look at before the paper goes out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PaperWarning {
    /// Stable code.
    pub code: &'static str,
    /// What it is about.
    pub text: String,
}

/// The account after an invoice. Contract = asked for + retained + open.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct AccountAfter {
    /// Contract with tax.
    pub contract: Amount,
    /// Asked for to date, with tax.
    pub invoiced: Amount,
    /// Held back by the customer to date.
    pub retained: Amount,
    /// Left to bill, with tax.
    pub open: Amount,
}

/// An invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct InvoiceDocument {
    /// Number.
    pub number: String,
    /// What kind of invoice it is.
    pub kind: InvoiceKind,
    /// Stage of the payment schedule.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub stage: Option<String>,
    /// Date.
    pub issued_on: Day,
    /// When it is due.
    pub due_on: Day,
    /// What the job is called.
    pub title: String,
    /// The office.
    pub seller: Seller,
    /// Who it is for.
    pub customer: Customer,
    /// Where the work is.
    pub site: Site,
    /// Number of the quote the contract rests on.
    pub quote: String,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// The lines billed. Where tax alone is left, lines that it fell on, at nothing before tax. An invoice of retainage has none:
    /// what it asks for is `released`.
    pub lines: Vec<InvoiceLine>,
    /// Sum of the lines.
    pub before_tax: Amount,
    /// Taxes.
    pub taxes: Vec<PaperTax>,
    /// Sum of the taxes.
    pub tax: Amount,
    /// Billed with tax.
    pub total: Amount,
    /// Retainage held back by the customer; what is negative is no longer held, and is counted in this invoice.
    pub retained: Amount,
    /// How the retainage came about.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub retained_basis: Option<String>,
    /// Retainage released and due now.
    pub released: Amount,
    /// Due: total less retained plus released.
    pub payable: Amount,
    /// The account after it.
    pub account: AccountAfter,
    /// Terms of payment.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub payment_terms: Option<String>,
    /// What the customer should read.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub note: Option<String>,
    /// What to look at.
    pub warnings: Vec<PaperWarning>,
}

/// Code of the warning that the dates of invoices are not in the order of their numbers: it is for the office, not for the customer.
pub const OUT_OF_DATE_ORDER: &str = "out_of_date_order";

/// Makes the invoice, and what it does to the account.
///
/// # Errors
/// Every fault of the request, with pointers into it.
pub fn invoice(inputs: &InvoiceInputs) -> Result<(InvoiceDocument, Effect), Faults> {
    let InvoiceInputs {
        number,
        job,
        seller,
        tax_scheme: _,
        payment_terms,
        deposits_due_at_once,
        request,
        account,
        held_on_invoices,
        dated_after,
        quoted,
    } = inputs;
    let mut faults = Faults::new();
    let drawn = draw(&request.bill, account, &mut faults);
    let at_once = deposits_due_at_once.0 && is_deposit(inputs);
    let due_days = if at_once { 0 } else { account.due_days.get() };
    let due_on = request.due_on.unwrap_or_else(|| request.on.plus_days(due_days));
    if due_on < request.on {
        let at = At::ROOT.member("due_on");
        faults.value(&at, "before_issue_date", &due_on.to_string(), "an invoice is due on its date or later");
    }
    let Some(drawn) = drawn else { return Err(faults) };
    let amounts: Vec<Amount> = drawn.amounts.iter().map(|(a, _)| *a).collect();
    let over = over_contract(account, &amounts);
    if let Some(Over { amount, line }) = over.filter(|_| !request.over_contract.0) {
        let holder = match line {
            Some(line) => format!("than its lines hold, line `{line}` for one"),
            None => "than the contract holds after its change orders".to_owned(),
        };
        let detail = format!(
            "this bills {amount} more {holder}; write a change order, or send `over_contract: true` to bill it nevertheless"
        );
        let bill = At::ROOT.member("bill");
        let place = match &request.bill {
            Bill::Lines { lines } => line.and_then(|line| lines.iter().position(|asked| asked.line == *line)),
            _ => None,
        };
        match place {
            Some(place) => faults.add(&bill.member("lines").element(place), "over_contract", detail),
            None => faults.add(&bill, "over_contract", detail),
        };
    }
    let taxes = taxes(account, &amounts);
    let before_tax: Amount = amounts.iter().copied().sum();
    let tax: Amount = taxes.iter().map(|(t, _)| t.amount.0).sum();
    let total = before_tax + tax;
    if total > Amount::MOST || account.invoiced.0 + total > Amount::MOST {
        let detail = format!("all invoices of a contract come to at most {}", Amount::MOST);
        faults.add(&At::ROOT.member("bill"), "out_of_range", detail);
    }
    let nothing = amounts.iter().all(|a| *a == Amount::ZERO) && tax == Amount::ZERO;
    if nothing && drawn.released == Amount::ZERO && faults.is_empty() {
        faults.add(
            &At::ROOT.member("bill"),
            "nothing_to_bill",
            "everything this asks for has been billed before",
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let on_invoices = held_on_invoices.map(|held| held.0);
    let (held, retained_basis) = retain(account, on_invoices, drawn.holds, (before_tax, total));
    let retained = held.now;
    let payable = total - retained + drawn.released;
    let mut warnings = Vec::new();
    if let Some(Over { amount, line }) = over {
        let holder = if line.is_some() { "the contract holds for its lines" } else { "the contract holds" };
        warnings
            .push(PaperWarning { code: "over_contract", text: format!("bills {amount} more than {holder}") });
    }
    if payable < Amount::ZERO {
        let text = format!("{} go back to the customer", -payable);
        warnings.push(PaperWarning { code: "negative", text });
    }
    if let Some(earlier) = dated_after {
        let text = format!(
            "dated {}, and {} before it {}: the numbers are not in the order of their dates",
            request.on, earlier.number, earlier.on
        );
        warnings.push(PaperWarning { code: OUT_OF_DATE_ORDER, text });
    }
    warnings.extend(otherwise(job, quoted.as_ref(), &account.quote));
    let effect = effect(&drawn, account, &taxes, held, payable);
    let Some(effect) = effect else {
        faults.add(&At::ROOT.member("bill"), "list_length", "an invoice has at most 1000 lines");
        return Err(faults);
    };
    let document = InvoiceDocument {
        number: number.to_string(),
        kind: drawn.kind,
        stage: drawn.stage.as_ref().map(ToString::to_string),
        issued_on: request.on,
        due_on,
        title: job.title.to_string(),
        seller: seller.clone(),
        customer: job.customer.clone(),
        site: job.site.clone(),
        quote: account.quote.to_string(),
        currency: account.currency,
        lines: lines(account, drawn.amounts, &taxes),
        before_tax,
        taxes: taxes.into_iter().filter_map(|(sum, basis)| shown(account, &sum, basis)).collect(),
        tax,
        total,
        retained,
        retained_basis,
        released: drawn.released,
        payable,
        account: AccountAfter {
            contract: account.total(),
            invoiced: account.invoiced.0 + payable,
            retained: account.retained.0 + retained - drawn.released,
            open: account.open() - total,
        },
        payment_terms: payment_terms.as_ref().map(ToString::to_string),
        note: request.note.as_ref().map(ToString::to_string),
        warnings,
    };
    Ok((document, effect))
}

/// A tax of an invoice: the tax on everything billed to date, less what was billed of it before.
///
/// When every line of the contract is billed in full (`complete`), the tax to date is the tax of the contract, so that the
/// customer is asked for exactly what was promised.
///
/// # Formula
/// `tax(billed to date) - tax billed before`; on completion `tax of the contract - tax billed before`
/// # Units
/// currency
/// # Valid for
/// any order of invoices and credit notes
/// # Source
/// common practice, no source; the rounding of each tax to date is that of [`tax`]
/// # Example
/// ```
/// use rillcast::compute::contract::{invoice::tax_due, sums::ByCategory};
/// use rillcast::{domain::words::Category, units::Amount, wire::contract::facts::TaxRule};
/// let rule: TaxRule = rillcast::wire::read_document(br#"{"code": "state", "name": "State", "rate_pct": "7",
///     "categories": ["material"], "rounding": "per_document"}"#).expect("a rule");
/// // 7 % on three thirds of 100.00: 2.33 and 2.34, and 2.33 make the 7.00 of the contract.
/// let (mut sums, mut billed, mut due) = (ByCategory::default(), Amount::ZERO, Vec::new());
/// for (part, complete) in [(3334, None), (3333, None), (3333, Some(Amount::from_minor(700)))] {
///     sums.add(Category::Material, Amount::from_minor(part));
///     let now = tax_due(&rule, &sums, complete, billed);
///     billed += now;
///     due.push(now.to_string());
/// }
/// assert_eq!(due, ["2.33", "2.34", "2.33"]);
/// ```
pub fn tax_due(rule: &TaxRule, to_date: &ByCategory, complete: Option<Amount>, billed: Amount) -> Amount {
    complete.unwrap_or_else(|| tax(rule, to_date)) - billed
}

fn taxes(account: &Account, amounts: &[Amount]) -> Vec<(TaxSum, String)> {
    let to_date = account.billed_with(amounts);
    let complete =
        account.lines.iter().zip(amounts).all(|(p, amount)| p.billed.0 + *amount == p.line.price.0);
    account
        .taxes
        .iter()
        .map(|position| {
            let rule = &position.rule;
            let taxable: Amount = account
                .lines
                .iter()
                .zip(amounts)
                .filter(|(p, _)| rule.categories.contains(&p.line.category))
                .map(|(_, amount)| *amount)
                .sum();
            let contract = complete.then_some(position.contract.0);
            let amount = tax_due(rule, &to_date, contract, position.billed.0);
            let (amount, basis) = if complete {
                (
                    amount,
                    format!("{} in the contract less {} billed before", position.contract, position.billed),
                )
            } else if taxable == Amount::ZERO {
                (Amount::ZERO, "nothing taxable is billed".to_owned())
            } else {
                let basis = format!(
                    "{} billed to date x {}{} = {}, less {} billed before",
                    to_date.taxable(rule),
                    rule.rate_pct,
                    by_category(rule, &to_date),
                    amount + position.billed.0,
                    position.billed
                );
                (amount, basis)
            };
            (TaxSum { code: rule.code.clone(), taxable: Signed(taxable), amount: Signed(amount) }, basis)
        })
        .collect()
}

/// What a basis says where a tax is rounded category by category and more than one of them is taxed.
pub(super) fn by_category(rule: &TaxRule, sums: &ByCategory) -> &'static str {
    let taxed = Category::ALL.iter().filter(|c| rule.categories.contains(c) && sums.of(**c) != Amount::ZERO);
    match rule.rounding {
        TaxRounding::PerLine if taxed.count() > 1 => ", rounded by category",
        TaxRounding::PerLine | TaxRounding::PerDocument => "",
    }
}

/// The retainage that is held on an invoice; none where its bill holds none.
pub fn held_on(inputs: &InvoiceInputs) -> Option<&Retainage> {
    let drawn = draw(&inputs.request.bill, &inputs.account, &mut Faults::new());
    inputs.account.retainage.as_ref().filter(|_| drawn.is_some_and(|d| d.holds))
}

fn shown(account: &Account, sum: &TaxSum, basis: String) -> Option<PaperTax> {
    let rule = &account.taxes.iter().find(|t| t.rule.code == sum.code)?.rule;
    Some(PaperTax {
        code: sum.code.to_string(),
        name: rule.name.to_string(),
        rate_pct: rule.rate_pct,
        taxable: sum.taxable.0,
        amount: sum.amount.0,
        basis,
    })
}

fn effect(
    drawn: &Drawn,
    account: &Account,
    taxes: &[(TaxSum, String)],
    held: Held,
    payable: Amount,
) -> Option<Effect> {
    let lines = account
        .lines
        .iter()
        .zip(&drawn.amounts)
        .filter(|(_, (amount, _))| *amount != Amount::ZERO)
        .map(|(p, (amount, _))| BilledLine { line: p.line.code.clone(), amount: Signed(*amount) })
        .collect();
    Some(Effect {
        lines: List::new(lines)?,
        taxes: List::new(taxes.iter().map(|(t, _)| t.clone()).collect())?,
        retained: Signed(held.now),
        by_terms: (held.by_terms != held.now).then_some(Signed(held.by_terms)),
        released: Signed(drawn.released),
        payable: Signed(payable),
        stage: drawn.stage.clone(),
    })
}
