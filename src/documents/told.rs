//! What papers say in sentences, the same in every form in which they leave.

use crate::compute::contract::addressed::OTHER_THAN_QUOTED;
use crate::compute::contract::change::{ChangeBooks, HoursChange, OTHER_PRICES};
use crate::compute::contract::credit::{CreditDocument, Settled};
use crate::compute::contract::invoice::{InvoiceDocument, OUT_OF_DATE_ORDER, PaperWarning};
use crate::compute::contract::quote::{IncludedSum, Offer, StageShare};
use crate::units::show::Show;
use crate::units::{Amount, Dimension, Length, Unit, UnitSystem, grammar};
use crate::wire::contract::facts::{Measured, QuantityFact};
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

/// How far a change moves the end of the work, in words; nothing where it does not. Hours are the office's own, and so is what the days
/// were reckoned from: the customer reads the days alone.
pub(in crate::documents) fn days(work: &HoursChange) -> Option<String> {
    let HoursChange { crew_hours: _, person_hours: _, days, basis: _ } = work;
    let days = days.value.decimal().normalize();
    let (size, way) = (days.abs(), if days > Decimal::ZERO { "later" } else { "earlier" });
    if size.is_zero() {
        return None;
    }
    Some(if size < Decimal::ONE {
        format!("The work is done less than a working day {way}")
    } else if size == Decimal::ONE {
        format!("The work is done 1 working day {way}")
    } else {
        format!("The work is done {size} working days {way}")
    })
}

/// The measured quantities that a customer reads of, by their stable names and in plain words. The others are the office's: what it buys
/// by, times its work by, and takes away.
const FOR_THE_CUSTOMER: &[(&str, &str)] = &[
    ("channel_length", "Channel"),
    ("grates", "Grates"),
    ("channel_fittings", "Corners and tees of the channel"),
    ("pipe_length", "Drain pipe"),
    ("pipe_fittings", "Bends and branches of the pipe"),
    ("connections", "Connections of the pipe"),
    ("slab_removed", "Concrete slab taken up"),
    ("asphalt_removed", "Asphalt taken up"),
    ("gravel_stripped", "Gravel taken off"),
    ("pavers_lifted", "Pavers lifted"),
    ("run_excavation", "Digging for the channel"),
    ("line_excavation", "Digging for the pipe"),
    ("concrete_ordered", "Concrete"),
];

/// What a measured quantity is called on the customer's papers; nothing where it is the office's own.
pub(in crate::documents) fn for_the_customer(name: &str) -> Option<&'static str> {
    FOR_THE_CUSTOMER.iter().find(|(stable, _)| *stable == name).map(|(_, told)| *told)
}

/// The quantities of a snapshot that a customer reads of, in the order in which they are told.
pub(in crate::documents) fn built(quantities: &[QuantityFact]) -> Vec<(&'static str, &Measured)> {
    let of = |stable: &str| {
        quantities.iter().find(|q| q.name.as_str() == stable && !q.quantity.value.decimal().is_zero())
    };
    FOR_THE_CUSTOMER.iter().filter_map(|(stable, told)| Some((*told, &of(stable)?.quantity))).collect()
}

/// A quantity as a customer reads it: lengths as a tape has them, counts without a unit.
pub(in crate::documents) fn measured(m: &Measured) -> String {
    let Measured { value, unit } = m;
    let size = value.decimal().abs().normalize();
    let minus = if value.decimal().is_sign_negative() && !size.is_zero() { "\u{2212}" } else { "" };
    let length = Some(*unit).filter(|unit| unit.dimension() == Dimension::Length).and_then(|unit| {
        let nm = grammar::decimal(&size.to_string(), unit).ok()?;
        let system =
            if matches!(unit, Unit::Ft | Unit::In | Unit::Yd) { UnitSystem::Us } else { UnitSystem::Metric };
        Some(Show(system).nearest(Length::from_nm(i64::try_from(nm).ok()?)).to_string())
    });
    match (length, unit) {
        (Some(length), _) => format!("{minus}{length}"),
        (None, Unit::Each) => format!("{minus}{size}"),
        (None, unit) => format!("{minus}{size} {unit}"),
    }
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

#[cfg(test)]
#[expect(clippy::panic, reason = "what cannot be read stops a test")]
mod tests {
    use super::*;
    use crate::wire::read_value;
    use serde_json::json;

    fn of(value: &str, unit: &str) -> Measured {
        read_value(&json!({"value": value, "unit": unit})).unwrap_or_else(|e| panic!("{e}"))
    }

    #[test]
    fn a_customer_reads_lengths_of_a_tape_and_counts_alone() {
        for (value, unit, told) in [
            ("44.9167", "ft", "44 ft 11 in"),
            ("-1.5", "ft", "\u{2212}1 ft 6 in"),
            ("3.25", "m", "3250 mm"),
            ("-2", "each", "\u{2212}2"),
            ("1.750", "yd3", "1.75 yd3"),
            ("0", "each", "0"),
        ] {
            assert_eq!(measured(&of(value, unit)), told);
        }
    }

    #[test]
    fn the_days_are_told_and_neither_hours_nor_how_they_were_reckoned() {
        for (days, told) in [
            ("0", None),
            ("0.13", Some("The work is done less than a working day later")),
            ("1", Some("The work is done 1 working day later")),
            ("-1.5", Some("The work is done 1.5 working days earlier")),
        ] {
            let work = HoursChange {
                crew_hours: of("8", "hr"),
                person_hours: of("16", "hr"),
                days: of(days, "day"),
                basis: "8 crew-hours / 8 a day".to_owned(),
            };
            assert_eq!(super::days(&work).as_deref(), told);
        }
    }
}
