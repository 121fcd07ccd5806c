//! A change order to read, print and sign.

use super::frame::{Standing, page};
use super::parts::{self, money};
use crate::compute::contract::change::{ChangeBasisKind, ChangeDocument, PriceSplit, QuantityChange};
use crate::documents::told;
use crate::units::Currency;
use crate::wire::contract::facts::Measured;
use maud::{Markup, html};

fn measured(m: &Measured) -> String {
    format!("{} {}", m.value.decimal().normalize(), m.unit)
}

/// A difference, with its sign.
fn signed(m: &Measured) -> String {
    let sign = if m.value.decimal().is_sign_positive() { "+" } else { "" };
    format!("{sign}{}", measured(m))
}

/// What there is more or less of.
fn quantities(list: &[QuantityChange]) -> Markup {
    html! {
        @if !list.is_empty() {
            h2 { "What changes" }
            table {
                thead { tr {
                    th scope="col" { "Quantity" }
                    th.figure scope="col" { "Before" }
                    th.figure scope="col" { "After" }
                    th.figure scope="col" { "Change" }
                } }
                tbody {
                    @for QuantityChange { name, before, after, change } in list {
                        tr {
                            td { (name.replace('_', " ")) }
                            td.figure { (before.as_ref().map(measured).unwrap_or_default()) }
                            td.figure { (after.as_ref().map(measured).unwrap_or_default()) }
                            td.figure { (signed(change)) }
                        }
                    }
                }
            }
        }
    }
}

/// How much comes of the layout and how much of other prices.
fn split(split: PriceSplit, currency: Currency) -> String {
    let PriceSplit { by_layout, by_prices } = split;
    let (layout, prices) = (money(by_layout), money(by_prices));
    format!(
        "Before tax, {layout} {currency} come of the changed layout and {prices} {currency} of other prices"
    )
}

/// The page of a change order.
pub fn change_order(paper: &ChangeDocument, standing: &Standing) -> String {
    let ChangeDocument {
        number,
        issued_on,
        title,
        reason,
        job_title,
        seller,
        customer,
        site,
        quote,
        basis,
        from_estimate_id: _,
        to_estimate_id: _,
        price_books,
        split: parts_of,
        currency,
        lines,
        before_tax,
        taxes,
        tax: _,
        total,
        quantities: changed,
        work,
        contract_before,
        contract_after,
        warnings,
    } = paper;
    let what = number.as_ref().map_or_else(|| "Change order".to_owned(), |n| format!("Change order {n}"));
    let mut facts = vec![("Job", job_title.clone()), ("Changes", format!("quote {quote}"))];
    facts.extend(issued_on.map(|on| ("Date", on.to_string())));
    let prices = price_books.as_ref().filter(|b| b.before != b.after);
    let (told, office): (Vec<_>, Vec<_>) = warnings.iter().partition(|w| told::is_for_the_customer(w));
    let office: Vec<&str> = office.iter().map(|w| w.text.as_str()).collect();
    let body = html! {
        (parts::parties(customer, site))
        @if number.is_none() {
            @if !office.is_empty() { div.office { (parts::list("For the office, before this goes out", &office)) } }
        }
        h2 { (title) }
        @if let Some(reason) = reason { p.text { (reason) } }
        (parts::lines(lines, &parts::taxed(*before_tax, taxes, *total), *currency, false))
        @if *basis == ChangeBasisKind::Revision { (quantities(changed)) }
        h2 { "The contract" }
        table {
            tbody {
                tr { th scope="row" { "With tax, before this change" } td.figure { (money(*contract_before)) } }
                tr { th scope="row" { "With tax, once it is agreed" } td.figure { strong { (money(*contract_after)) } } }
            }
        }
        @if let Some(work) = told::work(work) { p { (work) "." } }
        @if let Some(books) = prices { p { (told::books(books)) "." } }
        // The warning has the split as well.
        @if let (Some(parts_of), true) = (parts_of, told.is_empty()) { p { (split(*parts_of, *currency)) "." } }
        @for warning in told { p { (warning.text) "." } }
        @if standing.is_open() { (parts::signature("We agree to this change of the contract.")) }
    };
    page(&format!("{what}: {title}"), Some(standing), &parts::head(seller, &what, &facts), &body)
}
