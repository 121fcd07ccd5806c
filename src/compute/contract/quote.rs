//! The quote: an estimate as a promise.

use super::account::is_change;
use super::additions;
use super::bill::spread;
use super::invoice::tax_due;
pub use super::quote_paper::{
    EstimateUsed, IncludedSum, Offer, PaperLine, PaperTax, QuoteDocument, StageShare,
};
use super::sums::{ByCategory, parts, tax};
use crate::units::Amount;
use crate::units::money::share_out;
use crate::wire::contract::account::{Component, ContractLine};
use crate::wire::contract::facts::{EstimateFact, NamedSum, TaxRule, TaxSum};
use crate::wire::contract::inputs::QuoteInputs;
use crate::wire::contract::terms::{QuoteLine, Stage};
use crate::wire::contract::{Number, Signed};
use crate::wire::{Code, Faults, Label, List};
use std::collections::BTreeSet;

fn included(sums: &[NamedSum]) -> Vec<IncludedSum> {
    sums.iter().map(|s| IncludedSum { name: s.name.to_string(), amount: s.amount.0 }).collect()
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
                None => Code::new(word).zip(Label::new(fact.category.title())).map(|(code, label)| {
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
                basis: format!("{} x {}, rounded {}", sum.taxable, rule.rate_pct, rule.rounding.on_sale()),
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

/// The payment schedule over the lines of an offer and their taxes: each stage with the tax its invoice will have when the
/// stages are billed one after another. All columns foot: stages share the price by largest remainder, each is spread over
/// what is open of the lines, its tax is [`tax_due`], and the last has what the others leave of the tax of the offer.
fn schedule(
    stages: &[Stage],
    lines: &[ContractLine],
    rules: &[TaxRule],
    taxes: &[TaxSum],
) -> Vec<StageShare> {
    let before_tax: Amount = lines.iter().map(|l| l.price.0).sum();
    let weights: Vec<i64> = stages.iter().map(|s| s.pct.millionths()).collect();
    let mut open: Vec<Amount> = lines.iter().map(|l| l.price.0).collect();
    let (mut sums, mut taxed) = (ByCategory::default(), vec![Amount::ZERO; rules.len()]);
    let mut out = Vec::with_capacity(stages.len());
    for (stage, before_tax) in stages.iter().zip(share_out(before_tax, &weights)) {
        let last = out.len() + 1 == stages.len();
        let parts = spread(before_tax, &open);
        for ((open, line), part) in open.iter_mut().zip(lines).zip(parts) {
            *open = *open - part;
            sums.add(line.category, part);
        }
        let mut tax = Amount::ZERO;
        for (rule, billed) in rules.iter().zip(&mut taxed) {
            let whole = taxes.iter().filter(|t| t.code == rule.code).map(|t| t.amount.0).sum();
            let due = tax_due(rule, &sums, last.then_some(whole), *billed);
            *billed += due;
            tax += due;
        }
        out.push(StageShare {
            code: stage.code.to_string(),
            name: stage.name.to_string(),
            due: stage.due,
            pct: stage.pct,
            before_tax,
            tax,
            total: before_tax + tax,
        });
    }
    out
}

/// The payment schedule of an accepted quote, over everything that was taken with it: what the invoices of its stages ask for. Change
/// orders are billed by themselves and move no stage.
pub fn agreed_schedule(quote: &QuoteInputs, components: &[Component]) -> Vec<StageShare> {
    let taken = || components.iter().filter(|c| !is_change(c));
    let lines: Vec<ContractLine> = taken().flat_map(|c| c.lines.iter().cloned()).collect();
    let taxes: Vec<TaxSum> = taken().flat_map(|c| c.taxes.iter().cloned()).collect();
    schedule(&quote.terms.schedule, &lines, &quote.estimate.tax_rules, &taxes)
}

/// Makes the quote.
///
/// # Errors
/// Every fault of the terms, with pointers into them.
pub fn quote(inputs: &QuoteInputs) -> Result<QuoteDocument, Faults> {
    let QuoteInputs {
        number,
        issued_on,
        supersedes,
        job,
        terms,
        estimate,
        names_once,
        scheme_by_country: _,
        alternates,
    } = inputs;
    let faults = super::terms::check(inputs);
    if !faults.is_empty() {
        return Err(faults);
    }
    let rules = &estimate.tax_rules;
    let quoted = lines(estimate, &terms.lines);
    let main = offer("quote", job.title.as_str(), Some(estimate), &quoted, rules, &estimate.taxes);
    let quoted: Vec<ContractLine> = quoted.into_iter().map(|(line, _)| line).collect();
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
        let mut said = BTreeSet::new();
        let all = own.iter().chain(more).map(ToString::to_string);
        all.filter(|text| !names_once.0 || said.insert(text.to_lowercase())).collect::<Vec<String>>()
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
        schedule: schedule(&terms.schedule, &quoted, rules, &estimate.taxes),
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
