//! A credit note to read and print.

use super::frame::{Standing, page};
use super::parts::{self, Sum};
use crate::compute::contract::credit::CreditDocument;
use crate::documents::told;
use crate::units::Amount;
use maud::html;

/// The page of a credit note.
pub fn credit_note(paper: &CreditDocument, standing: &Standing) -> String {
    let CreditDocument {
        number,
        invoice,
        invoice_issued_on,
        issued_on,
        reason,
        title,
        seller,
        customer,
        site,
        currency,
        lines,
        before_tax,
        taxes,
        tax: _,
        total,
        retained,
        released,
        payable,
        settled: _,
        basis: _,
    } = paper;
    let what = format!("Credit note {number}");
    let facts = [
        ("Job", title.clone()),
        ("Date", issued_on.to_string()),
        ("Gives back of", format!("invoice {invoice} of {invoice_issued_on}")),
    ];
    let mut sums = parts::taxed(*before_tax, taxes, *total, *currency);
    if *retained != Amount::ZERO {
        sums.push(Sum::plain(told::credited_retainage(*retained), -*retained));
    }
    if *released != Amount::ZERO {
        sums.push(Sum::plain("Released retainage that is held again", *released));
    }
    sums.push(Sum::strong(format!("Given back, {currency}"), *payable));
    let body = html! {
        (parts::parties(customer, site))
        (parts::text("Why", Some(reason)))
        h2 { "Given back" }
        (parts::lines(&lines.iter().collect::<Vec<_>>(), &sums, *currency, true))
        @if let Some(sentence) = told::credited_retainage_note(paper) { p { (sentence) "." } }
        @if *payable > Amount::ZERO { p { (told::settlement(paper)) "." } }
    };
    page(&format!("{what}: {title}"), standing.stamp(), &parts::head(seller, &what, &facts), &body)
}
