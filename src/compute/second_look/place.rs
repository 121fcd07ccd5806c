//! Holidays of another country.

use super::{Looks, PRACTICE};
use crate::units::show::worded;
use crate::units::{Currency, UnitSystem};
use crate::wire::At;

/// Without a calendar plans keep the holidays of the United States, whatever the currency and the units of the office.
pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let rules = book.plan_rules.as_ref();
    let of_the_us = book.currency == Currency::Usd && book.unit_system == UnitSystem::Us;
    if of_the_us || rules.is_some_and(|r| !r.calendars.is_empty()) {
        return;
    }
    let here = At::ROOT.member("plan_rules");
    let calendars = here.member("calendars");
    let at = if rules.is_some() { &calendars } else { &here };
    let elsewhere = match book.currency {
        Currency::Usd => "the office measures in metres".to_owned(),
        other => worded!("prices are in {other}"),
    };
    let detail = worded!(
        "{elsewhere} and no calendar is given: plans keep Monday to Friday and the federal holidays of the United States; list the office's own calendar",
    );
    looks.note(at, detail, "no calendar".to_owned(), "the office's own calendar".to_owned(), PRACTICE);
}
