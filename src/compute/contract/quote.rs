//! The quote: an estimate as a promise.

use super::additions;
use super::sums::{ByCategory, parts, tax};
use crate::domain::words::Category;
use crate::units::money::share_out;
use crate::units::{Amount, Currency, Percent};
use crate::wire::contract::account::{Component, ContractLine};
use crate::wire::contract::facts::{EstimateFact, NamedSum, TaxRule, TaxSum};
use crate::wire::contract::inputs::QuoteInputs;
use crate::wire::contract::terms::{QuoteLine, Retainage, Seller, Stage, StageKind};
use crate::wire::contract::{Number, Signed};
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site};
use crate::wire::{Code, Faults, Label, List};
use serde::Serialize;
use utoipa::ToSchema;

/// A line the customer reads.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PaperLine {
    /// Code.
    pub code: String,
    /// What it is.
    pub description: String,
    /// Category, which decides the taxes on it.
    pub category: Category,
    /// Price before tax.
    pub price: Amount,
    /// Where the figure comes from.
    pub basis: String,
}

/// A tax of a paper.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PaperTax {
    /// Code of the tax.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Rate.
    pub rate_pct: Percent,
    /// What it falls on.
    pub taxable: Amount,
    /// The tax.
    pub amount: Amount,
    /// Where the figure comes from.
    pub basis: String,
}

/// A stage of the payment schedule.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct StageShare {
    /// Code.
    pub code: String,
    /// What it is due for.
    pub name: String,
    /// When it falls due.
    pub due: StageKind,
    /// Share of the price.
    pub pct: Percent,
    /// Its part before tax; the stages foot.
    pub before_tax: Amount,
    /// Its part of the tax; the stages foot.
    pub tax: Amount,
    /// Its part with tax.
    pub total: Amount,
}

/// Lines, taxes and total of one choice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Offer {
    /// `quote`, or the code of an alternate or addition.
    pub code: String,
    /// What it is.
    pub name: String,
    /// Estimate it comes from; absent for an addition.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub estimate: Option<EstimateUsed>,
    /// The lines.
    pub lines: Vec<PaperLine>,
    /// Sum of the lines.
    pub before_tax: Amount,
    /// Taxes.
    pub taxes: Vec<PaperTax>,
    /// Sum of the taxes.
    pub tax: Amount,
    /// With tax.
    pub total: Amount,
}

/// Which estimate a paper was made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct EstimateUsed {
    /// Id.
    pub id: String,
    /// Revision of the job.
    pub revision: i64,
    /// Engine it was computed with.
    pub engine: String,
    /// Price-book version it was priced from.
    pub price_book_version_id: String,
    /// Name of the price book.
    pub price_book: String,
    /// Number of the version.
    pub price_book_number: i64,
}

/// A sum that is in the price already, with its name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct IncludedSum {
    /// What it is for.
    pub name: String,
    /// How much; what a discount takes off is negative.
    pub amount: Amount,
}

fn included(sums: &[NamedSum]) -> Vec<IncludedSum> {
    sums.iter().map(|s| IncludedSum { name: s.name.to_string(), amount: s.amount.0 }).collect()
}

/// A quote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct QuoteDocument {
    /// Number; absent on a draft.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub number: Option<String>,
    /// Date; absent on a draft.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub issued_on: Option<Day>,
    /// Last date on which it can be accepted.
    pub valid_until: Day,
    /// Number of the quote it takes the place of.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub supersedes: Option<String>,
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
    /// What is promised.
    pub offer: Offer,
    /// Discounts that are in the price of the offer.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub discounts: Vec<IncludedSum>,
    /// Allowances that are in the price of the offer: sums for what is not known yet.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub allowances: Vec<IncludedSum>,
    /// What may be taken instead, each whole.
    pub alternates: Vec<Offer>,
    /// What may be taken on top.
    pub additions: Vec<Offer>,
    /// The payment schedule of the offer; before tax, tax and total each foot.
    pub schedule: Vec<StageShare>,
    /// Retainage on progress invoices.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub retainage: Option<Retainage>,
    /// Terms of payment.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub payment_terms: Option<String>,
    /// Days from invoice to due date.
    pub due_days: i64,
    /// What is done for the price.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub scope: Option<String>,
    /// What is not.
    pub exclusions: Vec<String>,
    /// What others do.
    pub by_others: Vec<String>,
    /// What to mind. Local codes and licensed practice go before it.
    pub cautions: Vec<String>,
    /// What the customer should read.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub notes_to_customer: Option<String>,
    /// Checks of the estimate that failed, for the office: look at them before the quote goes out.
    pub failed_checks: Vec<String>,
}

/// Days from invoice to due date when the terms name none.
pub const USUAL_DUE_DAYS: i64 = 30;

fn used(estimate: &EstimateFact) -> EstimateUsed {
    EstimateUsed {
        id: estimate.estimate_id.to_string(),
        revision: estimate.revision.get(),
        engine: estimate.engine.to_string(),
        price_book_version_id: estimate.price_book_version_id.to_string(),
        price_book: estimate.price_book.to_string(),
        price_book_number: estimate.price_book_number.get(),
    }
}

/// The lines of an estimate as the quote shows them, with their cost. They foot category by category.
pub(super) fn lines(estimate: &EstimateFact, split: &[QuoteLine]) -> Vec<(ContractLine, String)> {
    let mut out = Vec::new();
    for fact in estimate.categories.iter() {
        let chosen: Vec<&QuoteLine> = split.iter().filter(|l| l.category == fact.category).collect();
        let shares: Vec<i64> = chosen.iter().map(|l| l.pct.millionths()).collect();
        let (prices, costs) = (parts(fact.price.0, &shares), parts(fact.cost.0, &shares));
        let word = fact.category.word();
        for (i, (price, cost)) in prices.iter().zip(&costs).enumerate() {
            let line = match chosen.get(i) {
                Some(line) => Some((
                    line.code.clone(),
                    line.description.clone(),
                    format!("{} of {} for {word}, by largest remainder", line.pct, fact.price),
                )),
                None if *price == Amount::ZERO && (*cost == Amount::ZERO || !chosen.is_empty()) => None,
                None => Code::new(word).zip(Label::new(title_of(fact.category))).map(|(code, label)| {
                    let basis = if chosen.is_empty() {
                        format!("price of {word} in revision {}", estimate.revision.get())
                    } else {
                        format!("what the other lines leave of {} for {word}", fact.price)
                    };
                    (code, label, basis)
                }),
            };
            if let Some((code, description, basis)) = line {
                let line = ContractLine {
                    code,
                    description,
                    category: fact.category,
                    price: Signed(*price),
                    cost: Signed(*cost),
                };
                out.push((line, basis));
            }
        }
    }
    out
}

/// What a customer reads for a category.
pub(super) const fn title_of(category: Category) -> &'static str {
    match category {
        Category::Material => "Materials",
        Category::Labor => "Labor",
        Category::Hire => "Machines and gear",
        Category::Subcontract => "Subcontracted work",
        Category::Disposal => "Haul and disposal",
        Category::Permit => "Permits and fees",
    }
}

fn offer(
    code: &str,
    name: &str,
    estimate: Option<&EstimateFact>,
    lines: &[(ContractLine, String)],
    rules: &[TaxRule],
    taxes: &[TaxSum],
) -> Offer {
    let before_tax: Amount = lines.iter().map(|(l, _)| l.price.0).sum();
    let taxes: Vec<PaperTax> = taxes
        .iter()
        .filter_map(|sum| {
            let rule = rules.iter().find(|r| r.code == sum.code)?;
            Some(PaperTax {
                code: sum.code.to_string(),
                name: rule.name.to_string(),
                rate_pct: rule.rate_pct,
                taxable: sum.taxable.0,
                amount: sum.amount.0,
                basis: format!("{} x {}, rounded {}", sum.taxable, rule.rate_pct, rule.rounding),
            })
        })
        .collect();
    let tax: Amount = taxes.iter().map(|t| t.amount).sum();
    Offer {
        code: code.to_owned(),
        name: name.to_owned(),
        estimate: estimate.map(used),
        lines: lines
            .iter()
            .map(|(l, basis)| PaperLine {
                code: l.code.to_string(),
                description: l.description.to_string(),
                category: l.category,
                price: l.price.0,
                basis: basis.clone(),
            })
            .collect(),
        before_tax,
        taxes,
        tax,
        total: before_tax + tax,
    }
}

/// Taxes on lines that stand on their own.
pub(super) fn own_taxes(rules: &[TaxRule], sums: &ByCategory) -> Vec<TaxSum> {
    rules
        .iter()
        .map(|rule| TaxSum {
            code: rule.code.clone(),
            taxable: Signed(sums.taxable(rule)),
            amount: Signed(tax(rule, sums)),
        })
        .collect()
}

/// The payment schedule over a price and its tax; all columns foot.
pub fn schedule(stages: &[Stage], before_tax: Amount, tax: Amount) -> Vec<StageShare> {
    let weights: Vec<i64> = stages.iter().map(|s| s.pct.millionths()).collect();
    let nets = share_out(before_tax, &weights);
    let taxes = share_out(tax, &weights);
    stages
        .iter()
        .zip(nets.into_iter().zip(taxes))
        .map(|(stage, (before_tax, tax))| StageShare {
            code: stage.code.to_string(),
            name: stage.name.to_string(),
            due: stage.due,
            pct: stage.pct,
            before_tax,
            tax,
            total: before_tax + tax,
        })
        .collect()
}

/// Makes the quote.
///
/// # Errors
/// Every fault of the terms, with pointers into them.
pub fn quote(inputs: &QuoteInputs) -> Result<QuoteDocument, Faults> {
    let QuoteInputs { number, issued_on, supersedes, job, terms, estimate, alternates } = inputs;
    let faults = super::terms::check(inputs);
    if !faults.is_empty() {
        return Err(faults);
    }
    let rules = &estimate.tax_rules;
    let main = offer(
        "quote",
        job.title.as_str(),
        Some(estimate),
        &lines(estimate, &terms.lines),
        rules,
        &estimate.taxes,
    );
    let alternates = terms
        .alternates
        .iter()
        .filter_map(|a| alternates.iter().find(|f| f.code == a.code).map(|f| (a, &f.estimate)))
        .map(|(a, e)| {
            let lines = lines(e, &terms.lines);
            offer(a.code.as_str(), a.name.as_str(), Some(e), &lines, &e.tax_rules, &e.taxes)
        })
        .collect();
    let additions = terms
        .additions
        .iter()
        .filter_map(|a| additions::offered(a, estimate))
        .map(|a| {
            let lines = additions::lines(&a);
            offer(a.code.as_str(), a.name.as_str(), None, &lines, rules, &additions::taxes(rules, &a))
        })
        .collect();
    let texts = |own: &[Label], more: &[Label]| {
        own.iter().chain(more).map(ToString::to_string).collect::<Vec<String>>()
    };
    Ok(QuoteDocument {
        number: number.as_ref().map(ToString::to_string),
        issued_on: *issued_on,
        valid_until: terms.valid_until,
        supersedes: supersedes.as_ref().map(ToString::to_string),
        title: job.title.to_string(),
        seller: terms.seller.clone(),
        customer: job.customer.clone(),
        site: job.site.clone(),
        currency: estimate.currency,
        schedule: schedule(&terms.schedule, main.before_tax, main.tax),
        offer: main,
        discounts: included(&estimate.discounts),
        allowances: included(&estimate.allowances),
        alternates,
        additions,
        retainage: terms.retainage.clone(),
        payment_terms: terms.payment_terms.as_ref().map(ToString::to_string),
        due_days: terms.due_days.map_or(USUAL_DUE_DAYS, |d| d.get()),
        scope: terms.scope.as_ref().map(ToString::to_string),
        exclusions: texts(&estimate.excluded, &terms.exclusions),
        by_others: texts(&estimate.by_others, &[]),
        cautions: estimate.cautions.iter().chain(terms.cautions.iter()).map(ToString::to_string).collect(),
        notes_to_customer: estimate.notes_to_customer.as_ref().map(ToString::to_string),
        failed_checks: estimate.failed.iter().map(ToString::to_string).collect(),
    })
}

pub(super) fn component(
    code: &str,
    paper: &Label,
    name: &Label,
    lines: Vec<ContractLine>,
    taxes: &[TaxSum],
    crew_hours: Number,
    estimate: Option<&EstimateFact>,
) -> Option<Component> {
    Some(Component {
        code: Code::new(code)?,
        paper: paper.clone(),
        name: name.clone(),
        lines: List::new(lines)?,
        taxes: List::new(taxes.to_vec())?,
        crew_hours,
        estimate_id: estimate.map(|e| e.estimate_id.clone()),
    })
}
