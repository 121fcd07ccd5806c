//! A change order: its lines, what it does to the work and to the contract.

use super::change_lines::{Drawn, by_lines, by_revision};
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
use rust_decimal::Decimal;
use serde::Serialize;
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
    /// `revision` or `lines`.
    pub basis: &'static str,
    /// Estimate the contract stands on.
    pub from_estimate_id: String,
    /// Estimate of the changed layout.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub to_estimate_id: Option<String>,
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
        taken: _,
        tax_rules,
        contract_before,
        crew_hours_per_day,
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
    let (days, days_basis) = days(from, to.as_ref(), crew_hours, crew_hours_per_day.get());
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
        basis: request.basis.kind(),
        from_estimate_id: from.estimate_id.to_string(),
        to_estimate_id: to.as_ref().map(|t| t.estimate_id.to_string()),
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
                let basis = if to.is_some() {
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
