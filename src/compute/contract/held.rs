//! Retainage that invoices hold, net of what credit notes gave back of them.

use super::invoice::retained_on;
use super::sums::share;
use crate::units::Amount;
use crate::wire::contract::account::Effect;
use crate::wire::contract::terms::Retainage;

/// What credit notes gave back of an invoice to date.
#[derive(Debug, Clone, Copy)]
pub(super) struct GivenTo {
    pub(super) before_tax: Amount,
    pub(super) tax: Amount,
    /// Whether nothing is left of any line.
    pub(super) complete: bool,
}

/// A tax or retainage on what is given back, to date: that of the invoice once nothing is left of it, else reckoned on the lines
/// given back. Where all lines of the invoice have one direction, never beyond what the invoice has.
pub(super) fn part(billed: &Effect, complete: bool, reckoned: Amount, on_invoice: Amount) -> Amount {
    let lines = || billed.lines.iter().map(|l| l.amount.0);
    if complete {
        on_invoice
    } else if lines().all(|a| a >= Amount::ZERO) {
        reckoned.min(on_invoice)
    } else if lines().all(|a| a <= Amount::ZERO) {
        reckoned.max(on_invoice)
    } else {
        reckoned
    }
}

/// The retainage on what has been given back of an invoice to date.
pub(super) fn on_given(retainage: Option<&Retainage>, billed: &Effect, given: GivenTo) -> Amount {
    let Some(retainage) = retainage else { return Amount::ZERO };
    let base = retained_on(retainage, given.before_tax, given.before_tax + given.tax);
    part(billed, given.complete, share(base, retainage.pct.share()), billed.retained.0)
}

/// The retainage that an invoice holds net of the credit notes on it, whatever of it has been released since. `retainage` is
/// that of the invoice, `credited` what each credit note on it did.
pub fn still_held(retainage: Option<&Retainage>, billed: &Effect, credited: &[Effect]) -> Amount {
    if credited.is_empty() {
        return billed.retained.0;
    }
    let given = |line: &crate::wire::Code| -> Amount {
        let lines = credited.iter().flat_map(|e| e.lines.iter());
        lines.filter(|l| l.line == *line).map(|l| l.amount.0).sum()
    };
    let to_date = GivenTo {
        before_tax: -credited.iter().flat_map(|e| e.lines.iter()).map(|l| l.amount.0).sum::<Amount>(),
        tax: -credited.iter().flat_map(|e| e.taxes.iter()).map(|t| t.amount.0).sum::<Amount>(),
        complete: billed.lines.iter().all(|l| l.amount.0 + given(&l.line) == Amount::ZERO),
    };
    billed.retained.0 - on_given(retainage, billed, to_date)
}
