//! A change order: the difference between two revisions, or lines written by hand.

use super::quote::{PaperLine, PaperTax, component, own_taxes};
use super::sums::ByCategory;
use crate::domain::words::Category;
use crate::units::{Amount, Currency};
use crate::wire::contract::account::{Component, ContractLine};
use crate::wire::contract::facts::{EstimateFact, Measured, TaxSum};
use crate::wire::contract::inputs::ChangeInputs;
use crate::wire::contract::requests::{ChangeBasis, ChangeLineIn};
use crate::wire::contract::terms::Seller;
use crate::wire::contract::{Number, Signed};
use crate::wire::day::Day;
use crate::wire::notes::{Customer, Site};
use crate::wire::{At, Code, Faults, Label};
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
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

struct Drawn {
    lines: Vec<(ContractLine, String)>,
    taxes: Vec<TaxSum>,
    quantities: Vec<QuantityChange>,
    crew_hours: Decimal,
    person_hours: Decimal,
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
                    format!("{} x {}, rounded {}", sum.taxable, rule.rate_pct, rule.rounding)
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
    let days = (crew_hours / Decimal::from(per_day))
        .round_dp_with_strategy(2, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    let why = match (from.crew_days, to.map(|to| to.crew_days)) {
        (_, None) => "lines written by hand have no plan",
        (None, Some(None)) => "neither estimate was planned: their notes name no day to start",
        (None, Some(Some(_))) => "the estimate before was not planned: its notes name no day to start",
        (Some(_), Some(_)) => "the changed estimate was not planned: its notes name no day to start",
    };
    (Number::new(days), format!("{} crew-hours / {per_day} a day; {why}", Number::new(crew_hours)))
}

fn by_lines(prefix: &str, lines: &[ChangeLineIn], inputs: &ChangeInputs) -> Result<Drawn, Faults> {
    let mut faults = Faults::new();
    let basis_at = At::ROOT.member("basis");
    let list = basis_at.member("lines");
    let mut seen = BTreeSet::new();
    let mut out = Vec::new();
    let mut quantities = Vec::new();
    let (mut crew, mut people) = (Decimal::ZERO, Decimal::ZERO);
    for (i, line) in lines.iter().enumerate() {
        let here = list.element(i);
        if !seen.insert(&line.code) {
            faults.value(&here.member("code"), "duplicate", line.code.as_str(), "this code is used twice");
        }
        let code = Code::new(&format!("{prefix}.{}", line.code)).filter(|_| line.code.as_str().len() <= 40);
        let Some(code) = code else {
            let detail = "a code of a paper has at most 40 characters";
            faults.value(&here.member("code"), "text_rule", line.code.as_str(), detail);
            continue;
        };
        crew += line.crew_hours.unwrap_or_default().decimal();
        people += line.person_hours.unwrap_or_default().decimal();
        if let Some(quantity) = &line.quantity {
            quantities.push(QuantityChange {
                name: line.code.to_string(),
                before: None,
                after: None,
                change: quantity.clone(),
            });
        }
        let line = ContractLine {
            code,
            description: line.description.clone(),
            category: line.category,
            price: line.price,
            cost: line.cost.unwrap_or_default(),
        };
        out.push((line, "price as written in the change order".to_owned()));
    }
    let sums = ByCategory::collect(out.iter().map(|(l, _)| (l.category, l.price.0)));
    let taxes = own_taxes(&inputs.tax_rules, &sums);
    let drawn = Drawn { lines: out, taxes, quantities, crew_hours: crew, person_hours: people };
    faults.finish(Some(drawn))
}

fn by_revision(prefix: &str, to: &EstimateFact, inputs: &ChangeInputs) -> Result<Drawn, Faults> {
    let ChangeInputs { from, taken, quote, .. } = inputs;
    let mut faults = Faults::new();
    let basis_at = At::ROOT.member("basis");
    let at = basis_at.member("estimate_id");
    if to.currency != from.currency {
        faults.add(&at, "currency", "the changed estimate is priced in another currency than the contract");
    }
    if to.tax_rules != from.tax_rules {
        faults.add(
            &at,
            "tax_rules",
            "the changed estimate is priced with other taxes than the contract: price it from the same book, or write \
             the change by line",
        );
    }
    for code in taken.iter().filter(|code| to.chosen.contains(code)) {
        let detail = format!(
            "the addition `{code}` was taken with {quote} and is charged beside the estimate; the changed estimate has it in \
             its price once more: leave `{code}` out of its `pricing.chosen`"
        );
        faults.value(&at, "taken_already", to.estimate_id.as_str(), detail);
    }
    let mut lines = Vec::new();
    for category in Category::ALL {
        let of = |e: &EstimateFact| {
            e.categories
                .iter()
                .find(|c| c.category == *category)
                .map_or((Amount::ZERO, Amount::ZERO), |c| (c.price.0, c.cost.0))
        };
        let ((price_before, cost_before), (price_after, cost_after)) = (of(from), of(to));
        let (price, cost) = (price_after - price_before, cost_after - cost_before);
        if price == Amount::ZERO && cost == Amount::ZERO {
            continue;
        }
        let parts = Code::new(&format!("{prefix}.{category}")).zip(Label::new(category.title()));
        if let Some((code, description)) = parts {
            let line = ContractLine {
                code,
                description,
                category: *category,
                price: Signed(price),
                cost: Signed(cost),
            };
            let basis = format!(
                "{price_after} in revision {} less {price_before} in revision {}",
                to.revision.get(),
                from.revision.get()
            );
            lines.push((line, basis));
        }
    }
    if lines.is_empty() {
        faults.value(
            &at,
            "no_change",
            to.estimate_id.as_str(),
            "this estimate has the same price and cost in every category as the one the contract stands on",
        );
    }
    let taxes = to
        .taxes
        .iter()
        .map(|after| {
            let before = from.taxes.iter().find(|t| t.code == after.code);
            let less = |get: fn(&TaxSum) -> Amount| Signed(get(after) - before.map_or(Amount::ZERO, get));
            TaxSum { code: after.code.clone(), taxable: less(|t| t.taxable.0), amount: less(|t| t.amount.0) }
        })
        .collect();
    let drawn = Drawn {
        lines,
        taxes,
        quantities: differences(from, to),
        crew_hours: to.crew_hours.decimal() - from.crew_hours.decimal(),
        person_hours: to.person_hours.decimal() - from.person_hours.decimal(),
    };
    faults.finish(Some(drawn))
}

/// Quantities that differ, by name; one that is in one revision only is nothing in the other.
fn differences(from: &EstimateFact, to: &EstimateFact) -> Vec<QuantityChange> {
    let mut names: BTreeMap<&str, (Option<&Measured>, Option<&Measured>)> = BTreeMap::new();
    for quantity in from.quantities.iter() {
        names.entry(quantity.name.as_str()).or_default().0 = Some(&quantity.quantity);
    }
    for quantity in to.quantities.iter() {
        names.entry(quantity.name.as_str()).or_default().1 = Some(&quantity.quantity);
    }
    names
        .into_iter()
        .filter_map(|(name, (before, after))| {
            let unit = after.or(before)?.unit;
            let of = |m: Option<&Measured>| m.map_or(Some(Decimal::ZERO), |m| in_unit(m, unit));
            let change = of(after)? - of(before)?;
            (change != Decimal::ZERO).then(|| QuantityChange {
                name: name.to_owned(),
                before: before.cloned(),
                after: after.cloned(),
                change: Measured { value: Number::new(change), unit },
            })
        })
        .collect()
}

/// A quantity in another unit of its dimension; revisions may be in different unit systems.
fn in_unit(quantity: &Measured, unit: crate::units::Unit) -> Option<Decimal> {
    if quantity.unit == unit {
        return Some(quantity.value.decimal());
    }
    if quantity.unit.dimension() != unit.dimension() {
        return None;
    }
    let (from, into) = (quantity.unit.factor()?, unit.factor()?);
    let factor = |n: i128| Decimal::try_from_i128_with_scale(n, 0).ok();
    quantity.value.decimal().checked_mul(factor(from)?.checked_div(factor(into)?)?)
}
