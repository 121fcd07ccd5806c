//! Sums by category, and the taxes on them.

use crate::compute::pricing::tax::tax_due;
use crate::domain::words::Category;
use crate::units::Amount;
use crate::wire::contract::facts::TaxRule;
use smallvec::SmallVec;

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

/// A sales tax on sums by category: [`tax_due`].
pub fn tax(rule: &TaxRule, sums: &ByCategory) -> Amount {
    let taxed: SmallVec<[Amount; Category::ALL.len()]> =
        Category::ALL.iter().filter(|c| rule.categories.contains(c)).map(|c| sums.of(*c)).collect();
    tax_due(rule.rate_pct, rule.rounding, &taxed)
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
