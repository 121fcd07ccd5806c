//! Allowances, discounts, the place of the sale, and rates by category.

use super::rates::{Adding, Beside, STEPS, upon};
use super::{CategoryPrice, CategoryStep, PriceStep, plain_step};
use crate::domain::lines::{Check, CostLine, Outcome};
use crate::domain::words::Category;
use crate::units::money::share_out;
use crate::units::show::worded;
use crate::units::{Amount, Percent, Price, Quantity, Unit};
use crate::wire::Code;
use crate::wire::book::pricing::{Compounding, MarkupRate, MarkupScheme, RateKind, Tax};
use crate::wire::notes::{Allowance, Discount, PricingNotes};
use crate::wire_enum;
use serde::Serialize;
use utoipa::ToSchema;

wire_enum! {
    /// What a step of the build-up is.
    pub enum PriceStepName {
        /// what the office costs
        Overhead = "overhead",
        /// what may go wrong
        Contingency = "contingency",
        /// profit
        Profit = "profit",
        /// a discount
        Discount = "discount",
        /// sums for what is not known yet, as they stand
        Allowances = "allowances",
        /// up to the least that a job is charged
        LeastCharge = "least_charge",
        /// to the step of the quoted figure
        Rounding = "rounding",
    }
}

/// What a discount takes off what the category, or the whole, has come to.
///
/// # Formula
/// percent: `base x p`, rounded once, half away from zero; a sum: the sum, at most the base
/// # Units
/// currency
/// # Valid for
/// percentages up to 100
/// # Source
/// EN 16931 document-level allowances: amount = base x percentage / 100, BT-92 to BT-94 (from memory)
/// # Example
/// ```
/// use rillcast::{compute::pricing::terms::taken_off, units::Amount, wire::read_document};
/// let base = Amount::from_minor(1_063_500);
/// let five = read_document(br#"{"kind": "percent", "name": "Neighbors", "pct": "5"}"#).expect("a discount");
/// assert_eq!(taken_off(&five, base).to_string(), "531.75");
/// let sum = read_document(br#"{"kind": "amount", "name": "Old debt", "amount": "20000.00"}"#).expect("a discount");
/// assert_eq!(taken_off(&sum, base), base);
/// ```
pub fn taken_off(discount: &Discount, base: Amount) -> Amount {
    match discount {
        Discount::Percent { pct, .. } => {
            Amount::line(base.decimal() * (*pct).min(Percent::whole(100)).share())
        }
        Discount::Amount { amount, .. } => (*amount).min(base),
    }
}

/// A sum for something that is not known yet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct AllowanceLine {
    /// Name of the allowance on this job.
    pub code: String,
    /// What it is for.
    pub name: String,
    /// Where it goes in the build-up.
    pub category: Category,
    /// The sum.
    pub amount: Amount,
    /// Whether it stands among the costs and is marked up with them; in the price as it stands otherwise.
    pub marked_up: bool,
}

/// What the notes say about pricing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Terms<'a> {
    /// Where the sale takes place.
    pub place: Option<&'a Code>,
    /// Sums for what is not known yet.
    pub allowances: &'a [Allowance],
    /// Discounts.
    pub discounts: &'a [Discount],
}

impl<'a> Terms<'a> {
    /// The terms of notes; none when they say nothing.
    pub fn of(notes: Option<&'a PricingNotes>) -> Terms<'a> {
        notes.map_or_else(Terms::default, |n| Terms {
            place: n.place.as_ref(),
            allowances: &n.allowances,
            discounts: &n.discounts,
        })
    }

    /// Whether a tax is due at the place of the sale.
    pub fn is_due(&self, tax: &Tax) -> bool {
        tax.places.is_empty() || self.place.is_some_and(|p| tax.places.contains(p))
    }

    /// Allowances that are not marked up, in all.
    pub fn as_they_stand(&self) -> Amount {
        self.allowances.iter().filter(|a| !a.marked_up.0).map(|a| a.amount).sum()
    }

    /// Allowances of a category that are not marked up.
    pub fn as_they_stand_in(&self, category: Category) -> Amount {
        self.allowances.iter().filter(|a| !a.marked_up.0 && a.category == category).map(|a| a.amount).sum()
    }

    /// All allowances, as the build-up lists them.
    pub fn lines(&self) -> Vec<AllowanceLine> {
        self.allowances
            .iter()
            .map(|a| AllowanceLine {
                code: a.code.to_string(),
                name: a.name.to_string(),
                category: a.category,
                amount: a.amount,
                marked_up: a.marked_up.0,
            })
            .collect()
    }

    /// Allowances that are marked up, as cost lines.
    pub fn cost_lines(&self) -> Vec<CostLine> {
        self.allowances
            .iter()
            .filter(|a| a.marked_up.0)
            .map(|a| CostLine {
                code: a.code.to_string(),
                description: a.name.to_string(),
                category: a.category,
                quantity: Quantity::new(1, 0, Unit::LumpSum),
                unit_price: Price::from_millionths(a.amount.minor().saturating_mul(10_000)),
                cost: a.amount,
                rule: "allowance",
                basis: "a sum for what is not known yet, marked up with the other costs".to_owned(),
            })
            .collect()
    }

    /// Taxes that name places, when the notes name none: they are left out, and somebody should look.
    pub fn check(&self, taxes: &[Tax]) -> Option<Check> {
        let left_out: Vec<&str> =
            taxes.iter().filter(|t| !t.places.is_empty()).map(|t| t.code.as_str()).collect();
        (self.place.is_none() && !left_out.is_empty()).then(|| Check {
            name: "tax_place",
            subject: "taxes".to_owned(),
            outcome: Outcome::Warn,
            reason: worded!(
                "the notes name no place of sale, so taxes due in some places only are left out: {}",
                left_out.join(", ")
            ),
        })
    }
}

/// What each category has come to, on the way from cost to price.
pub(super) struct Running {
    cost: Vec<(Category, Amount)>,
    sums: Vec<Amount>,
    /// Whether the categories are reckoned apart; else the price is shared by cost.
    apart: bool,
}

impl Running {
    pub(super) fn new(by_category: &[CategoryPrice], scheme: &MarkupScheme) -> Running {
        Running {
            cost: by_category.iter().map(|c| (c.category, c.cost)).collect(),
            sums: by_category.iter().map(|c| c.cost).collect(),
            apart: !scheme.by_category.is_empty(),
        }
    }

    fn total(&self) -> Amount {
        self.sums.iter().copied().sum()
    }

    /// Overhead, contingency or profit, category by category.
    pub(super) fn step(&mut self, name: PriceStepName, scheme: &MarkupScheme) -> PriceStep {
        let before = self.total();
        let mut base_sum = Amount::ZERO;
        let mut out = Vec::new();
        let additive = scheme.compounding == Compounding::Additive;
        for ((category, cost), sum) in self.cost.iter().zip(&mut self.sums) {
            if *cost == Amount::ZERO {
                continue;
            }
            let rate = rate_of(scheme, *category, name);
            let base = if additive { *cost } else { *sum };
            let Adding { amount, basis: _ } = if additive {
                Beside::of(*cost, STEPS.map(|step| rate_of(scheme, *category, step))).step(name)
            } else {
                upon(base, rate)
            };
            *sum += amount;
            base_sum += base;
            out.push(CategoryStep {
                category: *category,
                pct: rate.pct,
                as_kind: rate.as_kind,
                base,
                amount,
                sum: *sum,
            });
        }
        let sum = self.total();
        let mut basis = "category by category".to_owned();
        if additive && out.iter().any(|c| c.as_kind == RateKind::Margin) {
            basis.push_str(
                "; a margin is taken on the price of its category, (cost + markups) / (1 - sum of margins), and what all of them \
                 come to is shared out by their percentages",
            );
        }
        PriceStep {
            base: base_sum,
            amount: sum - before,
            by_category: out,
            ..plain_step(name, before, sum, basis)
        }
    }

    /// After the rates: without rates by category, each category has its share of the sum by cost.
    pub(super) fn close(&mut self, sum: Amount) {
        if !self.apart {
            let weights: Vec<i64> = self.cost.iter().map(|(_, c)| c.minor()).collect();
            self.sums = share_out(sum, &weights);
        }
    }

    /// Takes a discount off the sum so far; one on the whole is shared over the categories by what they came to.
    pub(super) fn discount(
        &mut self,
        discount: &Discount,
        sum: Amount,
        checks: &mut Vec<Check>,
    ) -> PriceStep {
        let (name, category) = match discount {
            Discount::Percent { name, category, .. } | Discount::Amount { name, category, .. } => {
                (name, category)
            }
        };
        let base: Amount = match category {
            None => sum,
            Some(category) => self.of(*category),
        };
        let off = taken_off(discount, base);
        let (pct, basis) = match discount {
            Discount::Percent { pct, .. } => {
                let pct = (*pct).min(Percent::whole(100));
                (Some(pct), worded!("{base} x {pct}"))
            }
            Discount::Amount { amount, .. } if *amount > base => {
                checks.push(Check {
                    name: "discount",
                    subject: name.to_string(),
                    outcome: Outcome::Warn,
                    reason: worded!("{amount} is more than there is: {base} is taken off"),
                });
                (None, worded!("{amount}, at most {base}"))
            }
            Discount::Amount { amount, .. } => (None, worded!("{amount} off {base}")),
        };
        match category {
            Some(category) => {
                self.apart = true;
                for ((have, _), sum) in self.cost.iter().zip(&mut self.sums) {
                    if have == category {
                        *sum = *sum - off;
                    }
                }
            }
            None => {
                let weights: Vec<i64> = self.sums.iter().map(|s| s.minor()).collect();
                for (sum, part) in self.sums.iter_mut().zip(share_out(off, &weights)) {
                    *sum = *sum - part;
                }
            }
        }
        let basis = category.map_or_else(|| basis.clone(), |c| worded!("{basis}, on {c} only"));
        PriceStep {
            label: Some(name.to_string()),
            category: *category,
            pct,
            base,
            amount: -off,
            ..plain_step(PriceStepName::Discount, sum, sum - off, basis)
        }
    }

    fn of(&self, category: Category) -> Amount {
        self.cost.iter().zip(&self.sums).filter(|((c, _), _)| *c == category).map(|(_, s)| *s).sum()
    }

    /// What the price is shared by.
    pub(super) fn weights(&self) -> Vec<i64> {
        if self.apart {
            self.sums.iter().map(|s| s.minor()).collect()
        } else {
            self.cost.iter().map(|(_, c)| c.minor()).collect()
        }
    }
}

fn rate_of(scheme: &MarkupScheme, category: Category, name: PriceStepName) -> &MarkupRate {
    let own = scheme.by_category.iter().find(|c| c.category == category);
    let (own, general) = match name {
        PriceStepName::Overhead => (own.and_then(|c| c.overhead.as_ref()), &scheme.overhead),
        PriceStepName::Contingency => (own.and_then(|c| c.contingency.as_ref()), &scheme.contingency),
        _ => (own.and_then(|c| c.profit.as_ref()), &scheme.profit),
    };
    own.unwrap_or(general)
}
