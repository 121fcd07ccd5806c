//! What a quote looks like once it is made.

use crate::domain::words::Category;
use crate::units::{Amount, Currency, Percent};
use crate::wire::contract::terms::{Retainage, Seller, StageKind};
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site};
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
    /// Id, `est_…`.
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
    /// Retainage, held on every invoice but a deposit and the final one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub retainage: Option<Retainage>,
    /// Terms of payment.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub payment_terms: Option<String>,
    /// Days from invoice to due date. A deposit is due on the date of its invoice, whatever this says.
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
