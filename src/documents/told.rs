//! What papers say in sentences, the same in every form in which they leave.

use crate::compute::contract::addressed::OTHER_THAN_QUOTED;
use crate::compute::contract::change::{ChangeBooks, HoursChange, OTHER_PRICES};
use crate::compute::contract::credit::{CreditDocument, Settled};
use crate::compute::contract::invoice::{InvoiceDocument, OUT_OF_DATE_ORDER, PaperWarning};
use crate::compute::contract::quote::{IncludedSum, Offer, StageShare};
use crate::units::Amount;
use crate::wire::contract::facts::Measured;
use crate::wire::contract::terms::{Retainage, RetainageBase, StageKind};
use rust_decimal::Decimal;

/// What may be chosen, in words.
pub(in crate::documents) fn choice(word: &str, offer: &Offer) -> String {
    format!("{word} {}: {}, {} with tax", offer.code, offer.name, offer.total)
}

/// A sum that is in the price already, in words.
pub(in crate::documents) fn contained(word: &str, sum: &IncludedSum) -> String {
    let IncludedSum { name, amount } = sum;
    format!("{word} in the price: {name}, {amount}")
}

/// What is held back, in words.
pub(in crate::documents) fn retained(retainage: &Retainage) -> String {
    let of = match retainage.held_on {
        Some(RetainageBase::WithTax) => "with tax",
        Some(RetainageBase::BeforeTax) | None => "before tax",
    };
    format!(
        "Retainage of {} of the sum {of} on every invoice but that of a deposit and the final one",
        retainage.pct
    )
}

/// A stage of the payment schedule, in words.
pub(in crate::documents) fn stage(stage: &StageShare) -> String {
    let StageShare { code: _, name, due, pct, before_tax: _, tax: _, total } = stage;
    format!("{name}: {pct} of the price, {total} with tax, {}", when(*due))
}

/// When a stage falls due, in words.
pub(in crate::documents) fn when(due: StageKind) -> &'static str {
    match due {
        StageKind::Deposit => "before the work begins",
        StageKind::Progress => "as the work goes on",
        StageKind::Completion => "when the work is done",
    }
}

/// When invoices are due, in words.
pub(in crate::documents) fn due(days: i64, schedule: &[StageShare]) -> String {
    let deposit = if schedule.iter().any(|s| s.due == StageKind::Deposit) {
        ", that of a deposit on its date"
    } else {
        ""
    };
    match days {
        0 => "Invoices are due on their date".to_owned(),
        1 => format!("Invoices are due 1 day after their date{deposit}"),
        more => format!("Invoices are due {more} days after their date{deposit}"),
    }
}

/// What a change does to the work, in words; what does not change is not said.
pub(in crate::documents) fn work(work: &HoursChange) -> Option<String> {
    let HoursChange { crew_hours, person_hours, days, basis } = work;
    let signed = |m: &Measured, what: &str| {
        let value = m.value.decimal().normalize();
        let sign = if value > Decimal::ZERO { "+" } else { "" };
        (value != Decimal::ZERO).then(|| format!("{sign}{value} {what}"))
    };
    let told: Vec<String> = [
        signed(crew_hours, "hours of the crew"),
        signed(person_hours, "hours of people"),
        signed(days, &format!("working days ({basis})")),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!told.is_empty()).then(|| format!("Work: {}", told.join(", ")))
}

/// The price books of a change order, in words.
pub(in crate::documents) fn books(books: &ChangeBooks) -> String {
    let ChangeBooks { before, after } = books;
    if before == after {
        format!("Priced from {before} before and after")
    } else {
        format!("Priced from {before} before, from {after} after")
    }
}

/// What released retainage is called on papers.
pub(in crate::documents) const RELEASED: &str = "Retainage released";
/// What retainage is called on papers that an invoice holds.
pub(in crate::documents) const HELD: &str = "Retainage held";
/// What retainage is called on papers that was held on what is taken out or given back.
pub(in crate::documents) const NO_LONGER_HELD: &str = "Retainage no longer held";
/// What retainage is called on papers that a credit note puts back on what was taken out.
pub(in crate::documents) const HELD_AGAIN: &str = "Retainage held again";

/// What the retainage of an invoice is called, by its direction.
pub(in crate::documents) fn invoiced_retainage(retained: Amount) -> &'static str {
    if retained < Amount::ZERO { NO_LONGER_HELD } else { HELD }
}

/// What the retainage of a credit note is called, by its direction.
pub(in crate::documents) fn credited_retainage(retained: Amount) -> &'static str {
    if retained < Amount::ZERO { HELD_AGAIN } else { NO_LONGER_HELD }
}

/// What retainage an invoice holds or no longer holds, in words. No longer held is never more than was held, so the basis may
/// come to more than the amount: then the note says no product.
pub(in crate::documents) fn retainage_note(paper: &InvoiceDocument) -> Option<String> {
    let basis = paper.retained_basis.as_ref().filter(|_| paper.retained != Amount::ZERO)?;
    let held_before = paper.account.retained - paper.retained + paper.released;
    let (name, retained) = (invoiced_retainage(paper.retained), paper.retained);
    Some(if retained > Amount::ZERO {
        format!("{name}: {basis} = {retained}, without tax, due when released")
    } else if retained == -held_before {
        format!("{name}: {held_before}, all that was held, counted in this invoice, without tax ({basis})")
    } else {
        let less = -retained;
        format!(
            "{name}: {less} of {held_before} held, counted in this invoice, without tax ({basis} = {retained})"
        )
    })
}

/// What retainage a credit note moves, in words.
pub(in crate::documents) fn credited_retainage_note(paper: &CreditDocument) -> Option<String> {
    let retained = paper.retained;
    let name = credited_retainage(retained);
    (retained != Amount::ZERO).then(|| {
        if retained > Amount::ZERO {
            format!("{name}: {retained}, taken off what is given back, without tax")
        } else {
            format!("{name}: {}, without tax, due when released", -retained)
        }
    })
}

/// What becomes of the sum of a credit note, in words.
pub(in crate::documents) fn settlement(paper: &CreditDocument) -> String {
    let CreditDocument { invoice, payable, settled, .. } = paper;
    match settled {
        Some(Settled { owed_less, due_back }) if *due_back == Amount::ZERO => {
            format!("Set against invoice {invoice}: {owed_less} less is owed on it")
        }
        Some(Settled { owed_less, due_back }) if *owed_less == Amount::ZERO => {
            format!(
                "Nothing is owed on invoice {invoice}: {due_back} are due back to the customer or set against what else is owed"
            )
        }
        Some(Settled { owed_less, due_back }) => format!(
            "Set against invoice {invoice}: {owed_less} less is owed on it, and {due_back} are due back to the customer or set against what else is owed"
        ),
        None => format!(
            "Set against invoice {invoice}: {payable} less is owed on it, or due back as far as it was paid"
        ),
    }
}

/// Warnings of an invoice that its customer reads too; those of the order of dates and of what the quote names otherwise are for the
/// office alone.
pub(in crate::documents) fn warned(paper: &InvoiceDocument) -> impl Iterator<Item = &PaperWarning> {
    paper.warnings.iter().filter(|w| ![OUT_OF_DATE_ORDER, OTHER_THAN_QUOTED].contains(&w.code))
}

/// Whether the customer reads a warning of a change order too; those of the engines and of what the quote names otherwise are for the
/// office alone.
pub(in crate::documents) fn is_for_the_customer(warning: &PaperWarning) -> bool {
    warning.code == OTHER_PRICES
}
