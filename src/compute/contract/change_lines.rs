//! What a change order is made of: the difference between two revisions, or lines written by hand.

use super::change::{QuantityChange, base, reckoned_otherwise};
use super::quote::own_taxes;
use super::sums::ByCategory;
use crate::domain::words::Category;
use crate::units::Amount;
use crate::wire::contract::account::ContractLine;
use crate::wire::contract::facts::{EstimateFact, Measured, TaxSum};
use crate::wire::contract::inputs::ChangeInputs;
use crate::wire::contract::requests::ChangeLineIn;
use crate::wire::contract::{Number, Signed};
use crate::wire::{At, Code, Faults, Label};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// What a change is made of.
pub(super) struct Drawn {
    pub lines: Vec<(ContractLine, String)>,
    pub taxes: Vec<TaxSum>,
    pub quantities: Vec<QuantityChange>,
    pub crew_hours: Decimal,
    pub person_hours: Decimal,
}

/// Lines written by hand.
pub(super) fn by_lines(prefix: &str, lines: &[ChangeLineIn], inputs: &ChangeInputs) -> Result<Drawn, Faults> {
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

/// The difference between two revisions.
pub(super) fn by_revision(prefix: &str, to: &EstimateFact, inputs: &ChangeInputs) -> Result<Drawn, Faults> {
    let ChangeInputs { from, taken, quote, tax_rules, .. } = inputs;
    let (base, otherwise) = (base(inputs), reckoned_otherwise(inputs));
    let anew = if otherwise { " as the engine of the changed one reckons it" } else { "" };
    let mut faults = Faults::new();
    let basis_at = At::ROOT.member("basis");
    let at = basis_at.member("estimate_id");
    let one_currency = to.currency == from.currency;
    if !one_currency {
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
        let ((price_before, cost_before), (price_after, cost_after)) = (of(base), of(to));
        let (price, cost) = (price_after - price_before, cost_after - cost_before);
        let (sold_at, sold_cost) = of(from);
        let back = otherwise && price < Amount::ZERO && sold_at != price_before;
        let (price, cost) = if back {
            (given_back(price, sold_at, price_before), given_back(cost, sold_cost, cost_before))
        } else {
            (price, cost)
        };
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
            let old = inputs.at_old_prices.as_ref().map(|old| of(old).0);
            let split = old.map_or_else(String::new, |old| {
                format!("; {} by the layout, {} by the prices", old - price_before, price_after - old)
            });
            let sold = if back {
                format!("; what is taken out was sold at {sold_at} for each {price_before}")
            } else {
                String::new()
            };
            let basis = format!(
                "{price_after} in revision {} less {price_before} in revision {}{anew}{split}{sold}",
                to.revision.get(),
                from.revision.get()
            );
            lines.push((line, basis));
        }
    }
    // Amounts of two currencies cannot be compared.
    if lines.is_empty() && one_currency {
        faults.value(
            &at,
            "no_change",
            to.estimate_id.as_str(),
            if otherwise {
                "this estimate has the price and cost in every category that its engine reckons for the one the contract stands on: \
                 only the engines differ, which is no change of the work"
            } else {
                "this estimate has the same price and cost in every category as the one the contract stands on"
            },
        );
    }
    let sums = ByCategory::collect(lines.iter().map(|(l, _)| (l.category, l.price.0)));
    let differences_of_taxes = || -> Vec<TaxSum> {
        to.taxes
            .iter()
            .map(|after| {
                let before = base.taxes.iter().find(|t| t.code == after.code);
                let less = |get: fn(&TaxSum) -> Amount| Signed(get(after) - before.map_or(Amount::ZERO, get));
                TaxSum {
                    code: after.code.clone(),
                    taxable: less(|t| t.taxable.0),
                    amount: less(|t| t.amount.0),
                }
            })
            .collect()
    };
    // Where the engines differ, the difference of their taxes is no tax of the change.
    let taxes = if otherwise { own_taxes(tax_rules, &sums) } else { differences_of_taxes() };
    let drawn = Drawn {
        lines,
        taxes,
        quantities: differences(base, to),
        crew_hours: to.crew_hours.decimal() - base.crew_hours.decimal(),
        person_hours: to.person_hours.decimal() - base.person_hours.decimal(),
    };
    faults.finish(Some(drawn))
}

/// What comes back for work taken out that another engine reckons otherwise than it was sold: the same part of what it was sold at,
/// rounded as a line.
fn given_back(change: Amount, sold: Amount, reckoned: Amount) -> Amount {
    let part = change.decimal().checked_mul(sold.decimal()).and_then(|p| p.checked_div(reckoned.decimal()));
    part.map_or(change, Amount::line)
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
