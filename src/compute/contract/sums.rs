//! Sums by category, and the taxes on them.

use crate::domain::words::Category;
use crate::units::Amount;
use crate::units::money::tax_rounding;
use crate::wire::book::pricing::TaxRounding;
use crate::wire::contract::facts::TaxRule;

/// A sum for each category.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ByCategory([Amount; Category::ALL.len()]);

impl ByCategory {
    /// Adds to the sum of a category.
    pub fn add(&mut self, category: Category, amount: Amount) {
        if let Some(sum) = self.0.get_mut(category as usize) {
            *sum += amount;
        }
    }

    /// The sum of a category.
    pub fn of(&self, category: Category) -> Amount {
        self.0.get(category as usize).copied().unwrap_or_default()
    }

    /// The sum of all.
    pub fn total(&self) -> Amount {
        self.0.iter().copied().sum()
    }

    /// Sums of a list of amounts with their categories.
    pub fn collect(amounts: impl IntoIterator<Item = (Category, Amount)>) -> Self {
        let mut out = Self::default();
        for (category, amount) in amounts {
            out.add(category, amount);
        }
        out
    }

    /// What a tax falls on.
    pub fn taxable(&self, rule: &TaxRule) -> Amount {
        Category::ALL.iter().filter(|c| rule.categories.contains(c)).map(|c| self.of(*c)).sum()
    }
}

/// A sales tax on sums by category, rounded once on the whole or once per category, as the price book sets it.
///
/// # Formula
/// `per_document`: `round(rate x sum of the taxed categories)`; `per_line`: `sum of round(rate x category)`; the rounding
/// is [`tax_rounding`].
/// # Units
/// currency
/// # Valid for
/// sums of either sign; a credit mirrors the charge
/// # Source
/// Streamlined Sales and Use Tax Agreement sec. 324 (read as R.I. Gen. Laws 44-18.1-25)
/// # Example
/// ```
/// use rillcast::compute::contract::sums::{ByCategory, tax};
/// use rillcast::domain::words::Category;
/// use rillcast::units::Amount;
/// let rule = rillcast::wire::read_document(br#"{"code": "state", "name": "State", "rate_pct": "8.25",
///     "categories": ["material", "hire"], "rounding": "per_document"}"#).expect("a rule");
/// let sums = ByCategory::collect([(Category::Material, Amount::from_minor(151_352)), (Category::Labor, Amount::from_minor(179_813))]);
/// assert_eq!(tax(&rule, &sums).to_string(), "124.87"); // 1513.52 x 8.25 % = 124.8654
/// ```
pub fn tax(rule: &TaxRule, sums: &ByCategory) -> Amount {
    let rate = rule.rate_pct.share();
    match rule.rounding {
        TaxRounding::PerDocument => tax_rounding(sums.taxable(rule).decimal() * rate),
        TaxRounding::PerLine => Category::ALL
            .iter()
            .filter(|c| rule.categories.contains(c))
            .map(|c| tax_rounding(sums.of(*c).decimal() * rate))
            .sum(),
    }
}

/// A share of an amount, rounded once as a line is.
pub fn share(amount: Amount, share: rust_decimal::Decimal) -> Amount {
    Amount::line(amount.decimal() * share)
}

/// Shares of an amount that foot: the parts named, in millionths, and what they leave of a million as the last part.
pub fn parts(amount: Amount, millionths: &[i64]) -> Vec<Amount> {
    let rest = 1_000_000 - millionths.iter().sum::<i64>();
    let mut weights = millionths.to_vec();
    weights.push(rest.max(0));
    crate::units::money::share_out(amount, &weights)
}
