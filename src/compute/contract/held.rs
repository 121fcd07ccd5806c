//! Retainage that invoices hold, net of what credit notes gave back of them.

use super::sums::share;
use crate::units::Amount;
use crate::wire::contract::account::{Account, Effect};
use crate::wire::contract::terms::{Retainage, RetainageBase};

impl Effect {
    /// The retainage of an invoice by the terms.
    pub fn held_by_terms(&self) -> Amount {
        self.by_terms.unwrap_or(self.retained).0
    }
}

/// What an invoice does to the retainage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Held {
    /// Held now; what is negative is no longer held.
    pub now: Amount,
    /// What later papers take as its retainage by the terms.
    pub by_terms: Amount,
}

/// What an invoice does to the retainage, so that what is held in all is never below nothing, and never more than the invoices hold
/// by the terms: while nothing is released it is the share of what is billed in all.
///
/// `reckoned` is the share of this invoice, `held` what is held before it, `on_invoices` what the invoices before it hold by the terms
/// net of their credit notes; that is below nothing where more was taken out than is billed.
///
/// # Formula
/// billed: `min(reckoned, max(0, max(0, on_invoices + reckoned) - held))`; taken out: `max(reckoned, -held)`. By the terms it is
/// `reckoned`; of what was taken out it is what was held, if some has been released: that was asked for and is held no more
/// # Units
/// currency
/// # Valid for
/// any order of invoices, credit notes and releases
/// # Source
/// common practice, no source
/// # Example
/// ```
/// use rillcast::{compute::contract::held::hold, units::Amount};
/// let hold = |reckoned, held, on_invoices| {
///     let held = hold(Amount::from_minor(reckoned), Amount::from_minor(held), Amount::from_minor(on_invoices));
///     (held.now.minor(), held.by_terms.minor())
/// };
/// // 10 % of 1000.00 billed, then of 4000.00 taken out, then of 9000.00 billed: 10 % of 6000.00 in all.
/// assert_eq!(hold(10_000, 0, 0), (10_000, 10_000));
/// assert_eq!(hold(-40_000, 10_000, 10_000), (-10_000, -40_000));
/// assert_eq!(hold(90_000, 0, -30_000), (60_000, 90_000));
/// // What has been released is held no more.
/// assert_eq!(hold(-40_000, 0, 10_000), (0, 0));
/// ```
pub fn hold(reckoned: Amount, held: Amount, on_invoices: Amount) -> Held {
    let nothing = Amount::ZERO;
    if reckoned >= nothing {
        let room = ((on_invoices + reckoned).max(nothing) - held).max(nothing);
        return Held { now: reckoned.min(room), by_terms: reckoned };
    }
    let now = reckoned.max(-held);
    let released = held < on_invoices.max(nothing);
    Held { now, by_terms: if released { now } else { reckoned } }
}

/// The sum retainage is held on.
fn retained_on(retainage: &Retainage, before_tax: Amount, with_tax: Amount) -> Amount {
    match retainage.held_on {
        Some(RetainageBase::WithTax) => with_tax,
        Some(RetainageBase::BeforeTax) | None => before_tax,
    }
}

/// The retainage of an invoice, and how it came about. Snapshots without `on_invoices` are older: an invoice held its share
/// whatever had been taken out before.
pub(super) fn retain(
    account: &Account,
    on_invoices: Option<Amount>,
    holds: bool,
    (before_tax, total): (Amount, Amount),
) -> (Held, Option<String>) {
    let nothing = Held { now: Amount::ZERO, by_terms: Amount::ZERO };
    let Some(retainage) = account.retainage.as_ref().filter(|_| holds) else { return (nothing, None) };
    let base = retained_on(retainage, before_tax, total);
    let word = retainage.held_on.unwrap_or(RetainageBase::BeforeTax).word().replace('_', " ");
    let reckoned = share(base, retainage.pct.share());
    let held = match on_invoices {
        Some(on_invoices) => hold(reckoned, account.retained.0, on_invoices),
        None => {
            let now = reckoned.max(-account.retained.0);
            Held { now, by_terms: now }
        }
    };
    let basis = format!("{base} {word} x {}", retainage.pct);
    let basis = if held.now == reckoned {
        basis
    } else if reckoned < Amount::ZERO {
        // A credit line gives retainage back, at most what is held.
        format!("{basis} = {reckoned}, of which {} is held", held.now)
    } else {
        format!("{basis} = {reckoned}, less {} on what was taken out before", reckoned - held.now)
    };
    (held, Some(basis))
}

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
    part(billed, given.complete, share(base, retainage.pct.share()), billed.held_by_terms())
}

/// The retainage that an invoice holds by the terms net of the credit notes on it, whatever of it has been released since. `retainage` is
/// that of the invoice, `credited` what each credit note on it did.
pub fn still_held(retainage: Option<&Retainage>, billed: &Effect, credited: &[Effect]) -> Amount {
    if credited.is_empty() {
        return billed.held_by_terms();
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
    billed.held_by_terms() - on_given(retainage, billed, to_date)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;
    use serde_json::{Value, json};

    /// Taxes are rounded on what is billed to date, so that an invoice may have a cent less than its lines make by themselves.
    #[test]
    fn no_more_goes_back_than_an_invoice_has_where_its_lines_have_one_direction() {
        let back = |amounts: &[&str], reckoned: i64, on_invoice: i64| {
            let lines: Vec<Value> = amounts
                .iter()
                .enumerate()
                .map(|(i, a)| json!({"line": format!("l-{i}"), "amount": a}))
                .collect();
            let billed: Effect =
                crate::wire::read_value(&json!({"lines": lines, "taxes": [], "retained": "0.00",
                "released": "0.00", "payable": "0.00"}))
                .unwrap();
            let of = |complete| {
                part(&billed, complete, Amount::from_minor(reckoned), Amount::from_minor(on_invoice))
            };
            (of(false).minor(), of(true).minor())
        };
        assert_eq!(back(&["20.00", "13.33"], 234, 233), (233, 233));
        assert_eq!(back(&["20.00", "13.33"], 100, 233), (100, 233));
        assert_eq!(back(&["-20.00", "-13.33"], -234, -233), (-233, -233));
        assert_eq!(back(&["-20.00", "-13.33"], -100, -233), (-100, -233));
        assert_eq!(back(&["20.00", "-13.33"], 140, 47), (140, 47));
    }
}
