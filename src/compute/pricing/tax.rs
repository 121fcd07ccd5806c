//! What a tax comes to.

use crate::units::money::tax_rounding;
use crate::units::{Amount, Percent};
use crate::wire::book::pricing::TaxRounding;

/// A tax on sums by category, rounded once on the whole or once per category, as the price book sets it.
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
/// use rillcast::{compute::pricing::tax::tax_due, units::{Amount, Percent}, wire::book::pricing::TaxRounding};
/// let rate = Percent::from_millionths(82_500);
/// let taxed = [Amount::from_minor(100_020), Amount::from_minor(51_332)];
/// // 1513.52 x 8.25 % = 124.8654; by category 82.5165 and 42.3489
/// assert_eq!(tax_due(rate, TaxRounding::PerDocument, &taxed).to_string(), "124.87");
/// assert_eq!(tax_due(rate, TaxRounding::PerLine, &taxed).to_string(), "124.87");
/// let halves = [Amount::from_minor(6), Amount::from_minor(6)];
/// assert_eq!(tax_due(rate, TaxRounding::PerDocument, &halves).to_string(), "0.01"); // 0.0099
/// assert_eq!(tax_due(rate, TaxRounding::PerLine, &halves).to_string(), "0.00"); // 0.00495 twice
/// ```
pub fn tax_due(rate: Percent, rounding: TaxRounding, taxed: &[Amount]) -> Amount {
    let rate = rate.share();
    match rounding {
        TaxRounding::PerDocument => tax_rounding(taxed.iter().copied().sum::<Amount>().decimal() * rate),
        TaxRounding::PerLine => taxed.iter().map(|a| tax_rounding(a.decimal() * rate)).sum(),
    }
}
