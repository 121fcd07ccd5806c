//! Holidays of another country.

use super::{Looks, PRACTICE};
use crate::units::Currency;
use crate::units::show::worded;
use crate::wire::At;

/// Without a calendar plans keep the holidays of the United States, whatever the currency.
pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let rules = book.plan_rules.as_ref();
    if book.currency == Currency::Usd || rules.is_some_and(|r| !r.calendars.is_empty()) {
        return;
    }
    let here = At::ROOT.member("plan_rules");
    let calendars = here.member("calendars");
    let at = if rules.is_some() { &calendars } else { &here };
    let detail = worded!(
        "prices are in {} and no calendar is given: plans keep Monday to Friday and the federal holidays of the United States; list the office's own calendar",
        book.currency
    );
    looks.note(at, detail, "no calendar".to_owned(), "the office's own calendar".to_owned(), PRACTICE);
}
