//! A change order: its lines, what it does to the work and to the contract.

use super::addressed::otherwise;
use super::change_lines::{Drawn, by_lines, by_revision};
use super::invoice::PaperWarning;
use super::quote::{PaperLine, PaperTax, component};
use crate::units::decimal::rounded;
use crate::units::{Amount, Currency};
use crate::wire::contract::Number;
use crate::wire::contract::account::Component;
use crate::wire::contract::facts::{EstimateFact, Measured};
use crate::wire::contract::inputs::ChangeInputs;
use crate::wire::contract::requests::ChangeBasis;
use crate::wire::contract::terms::Seller;
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site};
use crate::wire::{At, Faults, Label};
use crate::wire_enum;
use rust_decimal::Decimal;
use serde::Serialize;
use std::fmt;
use utoipa::ToSchema;

/// A quantity before and after.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct QuantityChange {
    /// Stable name of the quantity, or code of the line.
    pub name: String,
    /// In the revision the contract stands on; absent for a line written by hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub before: Option<Measured>,
    /// In the changed layout; absent for a line written by hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub after: Option<Measured>,
    /// The difference.
    pub change: Measured,
}

/// What a change does to the work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct HoursChange {
    /// Hours of the crew.
    pub crew_hours: Measured,
    /// Hours of people.
    pub person_hours: Measured,
    /// Working days.
    pub days: Measured,
    /// How the days came about.
    pub basis: String,
}

/// A version of a price book, as papers name it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct NamedBook {
    /// Name of the book.
    pub name: String,
    /// Number of the version.
    pub number: i64,
    /// The version, `pbv_…`.
    pub version_id: String,
}

impl NamedBook {
    fn of(estimate: &EstimateFact) -> Self {
        Self {
            name: estimate.price_book.to_string(),
            number: estimate.price_book_number.get(),
            version_id: estimate.price_book_version_id.to_string(),
        }
    }
}

impl fmt::Display for NamedBook {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} version {}", self.name, self.number)
    }
}

/// The price books of the two revisions of a change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ChangeBooks {
    /// Of the revision the contract stands on.
    pub before: NamedBook,
    /// Of the changed layout.
    pub after: NamedBook,
}

/// What makes the sum of a change whose two revisions are priced from different versions; both parts make `before_tax`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct PriceSplit {
    /// By the changed layout, both at the prices of the revision the contract stands on.
    pub by_layout: Amount,
    /// By the other prices, on the whole job.
    pub by_prices: Amount,
}

wire_enum! {
    /// Where the figures of a change order come from.
    pub enum ChangeBasisKind {
        /// a changed layout
        Revision = "revision",
        /// lines written by hand
        Lines = "lines",
    }
}

impl From<&ChangeBasis> for ChangeBasisKind {
    fn from(basis: &ChangeBasis) -> Self {
        match basis {
            ChangeBasis::Revision { .. } => Self::Revision,
            ChangeBasis::Lines { .. } => Self::Lines,
        }
    }
}

/// A change order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ChangeDocument {
    /// Number within the job; absent on a draft.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub number: Option<String>,
    /// Date; absent on a draft.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub issued_on: Option<Day>,
    /// What changes.
    pub title: String,
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub reason: Option<String>,
    /// What the job is called.
    pub job_title: String,
    /// The office.
    pub seller: Seller,
    /// Who it is for.
    pub customer: Customer,
    /// Where the work is.
    pub site: Site,
    /// Number of the quote it changes.
    pub quote: String,
    /// Where its figures come from.
    pub basis: ChangeBasisKind,
    /// Estimate the contract stands on.
    pub from_estimate_id: String,
    /// Estimate of the changed layout.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub to_estimate_id: Option<String>,
    /// The price books of both revisions; absent on a change order by line.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub price_books: Option<ChangeBooks>,
    /// How much of the sum before tax comes from other prices; absent where both revisions are priced from one version, or where the
    /// changed layout cannot be priced from the one before.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub split: Option<PriceSplit>,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// The lines; credits are negative.
    pub lines: Vec<PaperLine>,
    /// Sum of the lines.
    pub before_tax: Amount,
    /// Taxes on them.
    pub taxes: Vec<PaperTax>,
    /// Sum of the taxes.
    pub tax: Amount,
    /// With tax.
    pub total: Amount,
    /// Quantities that change.
    pub quantities: Vec<QuantityChange>,
    /// Hours and days.
    pub work: HoursChange,
    /// Contract with tax before it.
    pub contract_before: Amount,
    /// Contract with tax once it is accepted.
    pub contract_after: Amount,
    /// What to look at before the paper goes out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<PaperWarning>,
}

/// The revision that a changed layout is held against: the one the contract stands on, reckoned by the engine of the changed layout
/// where another one made it. What an engine reckons otherwise is no work that changed, and is not sold as such.
pub(super) fn base(inputs: &ChangeInputs) -> &EstimateFact {
    inputs.from_anew.as_ref().unwrap_or(&inputs.from)
}

/// Whether another engine made the revision that the contract stands on and reckons it otherwise.
pub(super) fn reckoned_otherwise(inputs: &ChangeInputs) -> bool {
    inputs.from_anew.as_ref().is_some_and(|anew| anew.categories != inputs.from.categories)
}

/// What is said of a contract whose revision another engine made than the changed layout.
fn engines(inputs: &ChangeInputs) -> Option<PaperWarning> {
    let ChangeInputs { from, to, from_anew, weighs_engines, .. } = inputs;
    let to = to.as_ref().filter(|to| weighs_engines.0 && to.engine != from.engine)?;
    let sum = |e: &EstimateFact| e.categories.iter().map(|c| c.price.0).sum::<Amount>();
    let (revision, before, after) = (from.revision.get(), &from.engine, &to.engine);
    let text = match from_anew {
        Some(_) if !reckoned_otherwise(inputs) => return None,
        Some(anew) => format!(
            "revision {revision}, which the contract stands on, was made by engine {before}, the changed one by {after}, which reckons \
             revision {revision} at {} before tax in place of {}: what is added is held against that, so that nothing of it is sold, \
             and what is taken out is given back at what it was sold for",
            sum(anew),
            sum(from)
        ),
        None => format!(
            "revision {revision}, which the contract stands on, was made by engine {before}, the changed one by {after}, and it cannot be \
             reckoned anew by that: what the engines reckon otherwise is in this change; look through its lines"
        ),
    };
    Some(PaperWarning { code: "other_engine", text })
}

/// Code of the warning that the prices of the whole job move with a change.
pub const OTHER_PRICES: &str = "other_prices";

/// The price books of a change, what the change of prices makes, and what is said of it.
fn priced(
    inputs: &ChangeInputs,
    before_tax: Amount,
) -> (Option<ChangeBooks>, Option<PriceSplit>, Vec<PaperWarning>) {
    let ChangeInputs { from, to, names_books, at_old_prices, .. } = inputs;
    let Some(to) = to.as_ref().filter(|_| names_books.0) else { return (None, None, Vec::new()) };
    let base = base(inputs);
    let books = ChangeBooks { before: NamedBook::of(from), after: NamedBook::of(to) };
    if from.price_book_version_id == to.price_book_version_id {
        return (Some(books), None, Vec::new());
    }
    let sum = |e: &EstimateFact| e.categories.iter().map(|c| c.price.0).sum::<Amount>();
    let split = at_old_prices.as_ref().map(|old| {
        let by_layout = sum(old) - sum(base);
        PriceSplit { by_layout, by_prices: before_tax - by_layout }
    });
    let ChangeBooks { before, after } = &books;
    let text = format!(
        "the contract is priced from {before}, the changed layout from {after}: the prices of the whole job move with it"
    );
    let text = match split {
        Some(PriceSplit { by_layout, by_prices }) => {
            format!(
                "{text}; of {before_tax} before tax {by_layout} come from the layout and {by_prices} from the prices"
            )
        }
        None if inputs.weighs_engines.0 => format!(
            "{text}; the changed layout could not be priced from {before} by the engine of that revision, so what the prices make is not \
             known"
        ),
        None => format!(
            "{text}; the changed layout cannot be priced from {before}, so what the prices make is not known"
        ),
    };
    (Some(books), split, vec![PaperWarning { code: OTHER_PRICES, text }])
}

/// Makes the change order, and the part of the contract its acceptance adds.
///
/// # Errors
/// Every fault of the request, with pointers into it.
pub fn change(inputs: &ChangeInputs) -> Result<(ChangeDocument, Component), Faults> {
    let ChangeInputs {
        number,
        code,
        issued_on,
        job,
        seller,
        quote,
        currency,
        tax_scheme: _,
        request,
        from,
        to,
        names_books: _,
        at_old_prices: _,
        weighs_engines: _,
        from_anew: _,
        taken: _,
        tax_rules,
        contract_before,
        crew_hours_per_day,
        quoted,
    } = inputs;
    let prefix = code.as_ref().map_or("co", |c| c.as_str());
    let drawn = match (&request.basis, to) {
        (ChangeBasis::Lines { lines }, _) => by_lines(prefix, lines, inputs)?,
        (ChangeBasis::Revision { .. }, Some(to)) => by_revision(prefix, to, inputs)?,
        (ChangeBasis::Revision { .. }, None) => {
            let mut faults = Faults::new();
            let at = At::ROOT.member("basis");
            faults.add(&at.member("estimate_id"), "unknown_estimate", "there is no estimate of this id");
            return Err(faults);
        }
    };
    let Drawn { lines, taxes, quantities, crew_hours, person_hours } = drawn;
    let before_tax: Amount = lines.iter().map(|(l, _)| l.price.0).sum();
    let tax: Amount = taxes.iter().map(|t| t.amount.0).sum();
    let total = before_tax + tax;
    let (days, days_basis) = days(base(inputs), to.as_ref(), crew_hours, crew_hours_per_day.get());
    let hours = |value: Decimal| Measured::hours(Number::new(value));
    let paper = number.clone().or_else(|| Label::new("draft"));
    let whole = paper.and_then(|paper| {
        let own = lines.iter().map(|(l, _)| l.clone()).collect();
        component(prefix, &paper, &request.title, own, &taxes, Number::new(crew_hours), to.as_ref())
    });
    let Some(component) = whole else {
        let mut faults = Faults::new();
        faults.add(&At::ROOT.member("basis"), "list_length", "a change order has at most 200 lines");
        return Err(faults);
    };
    let (price_books, split, mut warnings) = priced(inputs, before_tax);
    warnings.extend(engines(inputs));
    warnings.extend(otherwise(job, quoted.as_ref(), quote));
    let document = ChangeDocument {
        number: number.as_ref().map(ToString::to_string),
        issued_on: *issued_on,
        title: request.title.to_string(),
        reason: request.reason.as_ref().map(ToString::to_string),
        job_title: job.title.to_string(),
        seller: seller.clone(),
        customer: job.customer.clone(),
        site: job.site.clone(),
        quote: quote.to_string(),
        basis: (&request.basis).into(),
        from_estimate_id: from.estimate_id.to_string(),
        to_estimate_id: to.as_ref().map(|t| t.estimate_id.to_string()),
        price_books,
        split,
        currency: *currency,
        lines: lines
            .into_iter()
            .map(|(line, basis)| PaperLine {
                code: line.code.to_string(),
                description: line.description.to_string(),
                category: line.category,
                price: line.price.0,
                basis,
            })
            .collect(),
        before_tax,
        taxes: taxes
            .iter()
            .filter_map(|sum| {
                let rule = tax_rules.iter().find(|r| r.code == sum.code)?;
                let basis = if to.is_some() && !reckoned_otherwise(inputs) {
                    format!("tax of the changed estimate less that of the one before, on {}", sum.taxable)
                } else {
                    format!("{} x {}, rounded {}", sum.taxable, rule.rate_pct, rule.rounding.on_sale())
                };
                Some(PaperTax {
                    code: sum.code.to_string(),
                    name: rule.name.to_string(),
                    rate_pct: rule.rate_pct,
                    taxable: sum.taxable.0,
                    amount: sum.amount.0,
                    basis,
                })
            })
            .collect(),
        tax,
        total,
        quantities,
        work: HoursChange {
            crew_hours: hours(crew_hours),
            person_hours: hours(person_hours),
            days: Measured { value: days, unit: crate::units::Unit::Day },
            basis: days_basis,
        },
        contract_before: contract_before.0,
        contract_after: contract_before.0 + total,
        warnings,
    };
    Ok((document, component))
}

/// Why a change cannot be: it takes more than the contract holds, or makes it greater than can be written. What was billed
/// beyond the contract is given back by a credit note.
pub fn beyond_contract(contract: Amount, change: Amount) -> Option<String> {
    if contract + change > Amount::MOST {
        return Some(format!(
            "the contract stands at {contract} and this changes it by {change}: a contract comes to at most {}",
            Amount::MOST
        ));
    }
    (contract + change < Amount::ZERO).then(|| {
        format!(
            "the contract stands at {contract} and this changes it by {change}: a change order takes at most what the \
             contract holds"
        )
    })
}

/// Working days of a change: those of the plan after it less those of the plan before, where both estimates were planned;
/// else its hours over the hours of a day.
fn days(
    from: &EstimateFact,
    to: Option<&EstimateFact>,
    crew_hours: Decimal,
    per_day: i64,
) -> (Number, String) {
    if let (Some(before), Some(after)) = (from.crew_days, to.and_then(|to| to.crew_days)) {
        let (before, after) = (before.get(), after.get());
        let basis =
            format!("{after} crew days by the plan of the changed estimate - {before} by the one before");
        return (Number::new(Decimal::from(after - before)), basis);
    }
    let days = rounded(crew_hours / Decimal::from(per_day), 2);
    let why = match (from.crew_days, to.map(|to| to.crew_days)) {
        (_, None) => "lines written by hand have no plan",
        (None, Some(None)) => "neither estimate was planned: their notes name no day to start",
        (None, Some(Some(_))) => "the estimate before was not planned: its notes name no day to start",
        (Some(_), Some(_)) => "the changed estimate was not planned: its notes name no day to start",
    };
    (Number::new(days), format!("{} crew-hours / {per_day} a day; {why}", Number::new(crew_hours)))
}
