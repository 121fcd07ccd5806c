//! A change order to read, print and sign.

use super::frame::{Standing, page};
use super::parts::{self, money};
use crate::compute::contract::change::{ChangeBasisKind, ChangeDocument, PriceSplit, QuantityChange};
use crate::documents::told;
use crate::units::{Amount, Currency};
use crate::wire::contract::facts::Measured;
use maud::{Markup, html};

/// What there is more or less of, in plain words; what is measured for the office alone is left out.
fn quantities(list: &[QuantityChange]) -> Markup {
    let told: Vec<(&str, &QuantityChange)> =
        list.iter().filter_map(|q| Some((told::for_the_customer(&q.name)?, q))).collect();
    let there = |m: Option<&Measured>| m.map_or_else(|| "none".to_owned(), told::measured);
    html! {
        @if !told.is_empty() {
            h2 { "What changes" }
            table.rows {
                thead { tr {
                    th scope="col" { "What" }
                    th.figure scope="col" { "Change" }
                    th.figure scope="col" { "Before" }
                    th.figure scope="col" { "After" }
                } }
                tbody {
                    @for (called, QuantityChange { name: _, before, after, change }) in told {
                        tr {
                            td { (called) }
                            td.figure data-label="Change" { (signed(change)) }
                            td.figure data-label="Before" { (there(before.as_ref())) }
                            td.figure data-label="After" { (there(after.as_ref())) }
                        }
                    }
                }
            }
        }
    }
}

/// A difference, with its sign.
fn signed(m: &Measured) -> String {
    let sign = if m.value.decimal().is_sign_positive() { "+" } else { "" };
    format!("{sign}{}", told::measured(m))
}

/// What the customer puts a name to: the sum, which way it goes, and what the contract comes to.
fn agreement(paper: &ChangeDocument) -> String {
    let ChangeDocument { number, quote, currency, total, contract_after, taxes, .. } = paper;
    let number = number.as_ref().map(|n| format!(" {n}")).unwrap_or_default();
    if *total == Amount::ZERO {
        return format!(
            "We agree to change order{number} of quote {quote}: at no change of the price, so that the contract stays at {} {currency}.",
            money(*contract_after, *currency)
        );
    }
    let (sum, way) = if *total < Amount::ZERO { (-*total, "less") } else { (*total, "more") };
    format!(
        "We agree to change order{number} of quote {quote}: {} {currency} {way}{tax}, so that the contract comes to {} {currency}.",
        money(sum, *currency),
        money(*contract_after, *currency),
        tax = parts::with_tax(taxes)
    )
}

/// How much comes of the layout and how much of other prices.
fn split(split: PriceSplit, currency: Currency) -> String {
    let PriceSplit { by_layout, by_prices } = split;
    let (layout, prices) = (money(by_layout, currency), money(by_prices, currency));
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
    let tax = parts::with_tax(taxes);
    let office: Vec<&str> = office.iter().map(|w| w.text.as_str()).collect();
    let body = html! {
        (parts::parties(customer, site))
        @if number.is_none() {
            @if !office.is_empty() { div.office { (parts::list("For the office, before this goes out", &office)) } }
        }
        h2 { (title) }
        @if let Some(reason) = reason { p.text { (reason) } }
        (parts::lines(&lines.iter().collect::<Vec<_>>(), &parts::taxed(*before_tax, taxes, *total, *currency), *currency, false))
        @if *basis == ChangeBasisKind::Revision { (quantities(changed)) }
        h2 { "The contract" }
        table {
            tbody {
                tr { th scope="row" { "Before this change" (tax) } td.figure { (money(*contract_before, *currency)) } }
                tr { th scope="row" { "Once it is agreed" (tax) } td.figure { strong { (money(*contract_after, *currency)) } } }
            }
        }
        @if let Some(days) = told::days(work) { p { (days) "." } }
        @if let Some(books) = prices { p { (told::books(books)) "." } }
        // The warning has the split as well.
        @if let (Some(parts_of), true) = (parts_of, told.is_empty()) { p { (split(*parts_of, *currency)) "." } }
        @for warning in told { p { (warning.text) "." } }
        @if standing.is_open() { (parts::signature(&agreement(paper))) }
    };
    page(&format!("{what}: {title}"), standing.stamp(), &parts::head(seller, &what, &facts), &body)
}
