//! The job on one page: contract, billed, asked for, paid, retained, costs, expected margin.

use super::account::is_change;
use super::costs::{LedgerCost, Margin, margin};
use super::moves::{PaperKind, PaperState, owed};
use crate::compute::job_record::costs::{OrderCost, OrderedAgain, of_several_estimates};
use crate::domain::words::Category;
use crate::units::decimal::rounded;
use crate::units::quantity::Span;
use crate::units::{Amount, Currency};
use crate::wire::contract::account::{Account, Component, LinePosition, StagePosition};
use crate::wire::day::Day;
use serde::Serialize;
use utoipa::ToSchema;

/// A part of the contract.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LedgerPart {
    /// `quote`, `add-…` or `co-…`.
    pub code: String,
    /// Number of the paper it stands on.
    pub paper: String,
    /// What it is.
    pub name: String,
    /// Before tax.
    pub before_tax: Amount,
    /// Tax.
    pub tax: Amount,
    /// With tax.
    pub total: Amount,
    /// Contract with tax up to here.
    pub contract_sum: Amount,
}

/// A line of the contract.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LedgerLine {
    /// Code.
    pub code: String,
    /// Part of the contract it belongs to.
    pub component: String,
    /// What it is.
    pub description: String,
    /// Category.
    pub category: Category,
    /// In the contract, before tax.
    pub contract: Amount,
    /// Billed to date.
    pub billed: Amount,
    /// Left to bill.
    pub open: Amount,
}

/// A stage of the payment schedule.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LedgerStage {
    /// Code.
    pub code: String,
    /// What it is due for.
    pub name: String,
    /// Before tax.
    pub amount: Amount,
    /// Whether it has been billed as a stage; what other invoices billed of the contract shows in the lines.
    pub billed: bool,
}

/// A sum before tax, its tax, and with tax.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, ToSchema)]
pub struct Sum {
    /// Before tax.
    pub before_tax: Amount,
    /// Tax.
    pub tax: Amount,
    /// With tax.
    pub total: Amount,
}

impl Sum {
    fn new(before_tax: Amount, tax: Amount) -> Self {
        Self { before_tax, tax, total: before_tax + tax }
    }
}

/// A paper of the job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LedgerPaper {
    /// Id: `quo_…`, `chg_…`, `inv_…` or `crn_…`, by its kind.
    pub id: String,
    /// What it is.
    pub kind: PaperKind,
    /// Number; absent on a draft.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub number: Option<String>,
    /// Where it stands.
    pub state: PaperState,
    /// With tax; a credit note has the other sign.
    pub total: Amount,
    /// Asked for, as the paper says; a credit note has the other sign. Nothing for quotes and change orders. A voided invoice keeps
    /// what it said: those of the papers that are not `voided` come to `invoiced`.
    pub payable: Amount,
    /// Paid of this paper to date, as the accounting system reported it.
    pub paid: Amount,
    /// What credit notes took off it; nothing for other papers than invoices.
    pub credited: Amount,
}

/// The job on one page.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Ledger {
    /// The job.
    pub job_id: String,
    /// Row version, as in the ETag.
    pub version: i64,
    /// ISO 4217 code of every amount; absent before the first quote.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub currency: Option<Currency>,
    /// Number of the accepted quote; absent before there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub quote: Option<String>,
    /// The accepted quote with what was taken on top.
    pub quoted: Sum,
    /// Accepted change orders.
    pub changes: Sum,
    /// Quote and accepted change orders.
    pub contract: Sum,
    /// Billed: asked for and retained.
    pub billed: Sum,
    /// Left to bill, line by line and tax by tax; negative when more is billed than the contract holds.
    pub open: Sum,
    /// Asked for: invoices less credit notes, with tax, without what is retained.
    pub invoiced: Amount,
    /// Retained by the customer.
    pub retained: Amount,
    /// Paid to date, as the accounting system reported it.
    pub paid: Amount,
    /// Asked for and not paid; negative when more is paid than is asked for.
    pub unpaid: Amount,
    /// What the office should look into.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
    /// The sum that must hold, in figures.
    pub basis: String,
    /// The parts of the contract.
    pub parts: Vec<LedgerPart>,
    /// The lines of the contract.
    pub lines: Vec<LedgerLine>,
    /// The payment schedule.
    pub stages: Vec<LedgerStage>,
    /// Costs and margin.
    pub margin: Margin,
    /// The costs the margin is drawn from, each with where it is known from.
    pub costs: Vec<LedgerCost>,
    /// The papers, oldest first; voided ones stand among them and are in none of the sums.
    pub papers: Vec<LedgerPaper>,
    /// Last date reported for a payment.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub last_payment_on: Option<Day>,
}

/// What a ledger is drawn from.
#[derive(Debug)]
pub struct LedgerInputs<'a> {
    /// The job.
    pub job_id: &'a str,
    /// Row version of the ledger.
    pub version: i64,
    /// Currency of the papers.
    pub currency: Option<Currency>,
    /// The account, once there is a contract.
    pub account: Option<&'a Account>,
    /// The parts of the contract in order.
    pub components: &'a [Component],
    /// The papers.
    pub papers: Vec<LedgerPaper>,
    /// Costs as reported and as recorded.
    pub costs: Vec<LedgerCost>,
    /// Recorded hours by trade code that no trade of the accepted estimate's book prices.
    pub uncounted: Vec<(String, Span)>,
    /// Purchase orders placed.
    pub placed: Vec<OrderCost>,
    /// Last date reported for a payment.
    pub last_payment_on: Option<Day>,
}

fn sum_of<'c>(components: impl Iterator<Item = &'c Component>) -> Sum {
    components.map(part_sum).fold(Sum::default(), |a, b| Sum::new(a.before_tax + b.before_tax, a.tax + b.tax))
}

fn part_sum(component: &Component) -> Sum {
    Sum::new(
        component.lines.iter().map(|l| l.price.0).sum(),
        component.taxes.iter().map(|t| t.amount.0).sum(),
    )
}

/// Draws the ledger.
pub fn ledger(inputs: LedgerInputs<'_>) -> Ledger {
    let LedgerInputs {
        job_id,
        version,
        currency,
        account,
        components,
        papers,
        costs,
        uncounted,
        placed,
        last_payment_on,
    } = inputs;
    let quoted = sum_of(components.iter().filter(|c| !is_change(c)));
    let changes = sum_of(components.iter().filter(|c| is_change(c)));
    let contract = Sum::new(quoted.before_tax + changes.before_tax, quoted.tax + changes.tax);
    let empty = Sum::default();
    let billed = account.map_or(empty, |a| Sum::new(a.billed_before_tax(), a.billed_tax()));
    let open = account.map_or(empty, |a| {
        let before_tax = a.lines.iter().map(LinePosition::open).sum();
        Sum::new(before_tax, a.taxes.iter().map(|t| t.contract.0 - t.billed.0).sum())
    });
    let invoiced = account.map_or(Amount::ZERO, |a| a.invoiced.0);
    let retained = account.map_or(Amount::ZERO, |a| a.retained.0);
    let paid = papers.iter().map(|p| p.paid).sum();
    let mut warnings = warnings((invoiced, paid), (contract.total, open.total), &uncounted);
    if paid <= invoiced {
        // Told once for all of them where they are paid beyond what they ask for together.
        warnings.extend(papers.iter().filter_map(paid_beyond));
    }
    warnings.extend(ordered_again(&of_several_estimates(&placed)));
    warnings.extend(placed.iter().filter_map(not_ordered));
    let mut contract_sum = Amount::ZERO;
    Ledger {
        job_id: job_id.to_owned(),
        version,
        currency,
        quote: account.map(|a| a.quote.to_string()),
        quoted,
        changes,
        contract,
        billed,
        open,
        invoiced,
        retained,
        paid,
        unpaid: invoiced - paid,
        warnings,
        basis: format!(
            "contract {} = quote {} + changes {} = invoiced {invoiced} + retained {retained} + open {}",
            contract.total, quoted.total, changes.total, open.total
        ),
        parts: components
            .iter()
            .map(|c| {
                let Sum { before_tax, tax, total } = part_sum(c);
                contract_sum += total;
                let (code, paper, name) = (c.code.to_string(), c.paper.to_string(), c.name.to_string());
                LedgerPart { code, paper, name, before_tax, tax, total, contract_sum }
            })
            .collect(),
        lines: account.map_or_else(Vec::new, |a| a.lines.iter().map(line).collect()),
        stages: account.map_or_else(Vec::new, |a| a.stages.iter().map(stage).collect()),
        margin: margin(contract.before_tax, components, &costs),
        costs,
        papers,
        last_payment_on,
    }
}

/// Where one invoice is paid beyond what it asks for, while others are not paid in full.
fn paid_beyond(paper: &LedgerPaper) -> Option<String> {
    let LedgerPaper { id, kind, number, state, total: _, payable, paid, credited } = paper;
    let left = owed(*payable, *credited, *paid);
    let is_beyond = *kind == PaperKind::Invoice
        && *state != PaperState::Voided
        && *paid > Amount::ZERO
        && left < Amount::ZERO;
    is_beyond.then(|| {
        format!(
            "{} is paid {} beyond what it asks for, while other invoices are not paid in full: was it for one of them?",
            number.as_ref().unwrap_or(id),
            -left
        )
    })
}

/// More paid than asked for, more billed than agreed, hours without a wage.
fn warnings(
    (invoiced, paid): (Amount, Amount),
    (contract, open): (Amount, Amount),
    uncounted: &[(String, Span)],
) -> Vec<String> {
    let mut warnings = Vec::new();
    if paid > invoiced {
        warnings.push(format!(
            "{paid} are paid and {invoiced} are asked for: {} more, to be given back (a payment below zero) or set against \
             the next invoice",
            paid - invoiced
        ));
    }
    if open < Amount::ZERO {
        warnings.push(format!(
            "{} more are billed than the contract of {contract} holds: a change order or a credit note sets it right",
            Amount::ZERO - open
        ));
    }
    for (trade, worked) in uncounted {
        warnings.push(format!(
            "{} hr of `{trade}` are recorded and the accepted estimate's price book has no such trade: their cost is not in \
             the margin",
            rounded(worked.hours(), 4).normalize()
        ));
    }
    warnings
}

/// Goods that orders of several estimates have in common.
fn ordered_again(again: &OrderedAgain<'_>) -> Option<String> {
    let named = |(number, supplier): (&&str, &&str)| format!("{number} for {supplier}");
    let orders: Vec<String> = again.orders.iter().map(named).collect();
    let items: Vec<&str> = again.items.iter().copied().collect();
    (!orders.is_empty()).then(|| {
        format!(
            "orders of several estimates stand as placed: {}; each estimate lists the whole job, so what they have in common \
             ({}) is counted twice: correct the record of an order that was not placed, or the `total` of the later one to what it \
             adds",
            orders.join(", "),
            items.join(", ")
        )
    })
}

/// What an order has come to hold since it was placed.
fn not_ordered(order: &OrderCost) -> Option<String> {
    let (then, now) = order.grown?;
    let OrderCost { number, supplier, .. } = order;
    Some(format!(
        "{number} for {supplier} came to {then} when it was recorded as placed and comes to {now} with what the customer took since: \
         {} of it is not ordered yet and not in the costs; order it, then correct the record",
        now - then
    ))
}

fn line(position: &LinePosition) -> LedgerLine {
    LedgerLine {
        code: position.line.code.to_string(),
        component: position.component.to_string(),
        description: position.line.description.to_string(),
        category: position.line.category,
        contract: position.line.price.0,
        billed: position.billed.0,
        open: position.open(),
    }
}

fn stage(position: &StagePosition) -> LedgerStage {
    LedgerStage {
        code: position.code.to_string(),
        name: position.name.to_string(),
        amount: position.amount.0,
        billed: position.billed.0,
    }
}
