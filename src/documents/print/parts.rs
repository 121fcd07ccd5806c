//! What papers have in common on a page.

use crate::compute::contract::quote::{PaperLine, PaperTax};
use crate::units::{Amount, Currency};
use crate::wire::contract::terms::Seller;
use crate::wire::notes::{Customer, Site};
use maud::{Markup, html};

/// What stands between thousands: a comma for the currencies of countries that write it so, whose cents stand behind a point; else
/// a small space, which no reader takes for the sign of the decimals. Papers are in English, so the currency decides and not the country
/// of a customer, which few papers know.
///
/// # Source
/// ISO 80000-1, 7.3.1 (from memory) for the space; common practice, no source, for the comma.
const fn apart(currency: Currency) -> char {
    match currency {
        Currency::Usd | Currency::Cad | Currency::Gbp | Currency::Aud | Currency::Nzd | Currency::Mxn => ',',
        Currency::Eur | Currency::Chf => '\u{202f}',
    }
}

/// An amount with its thousands apart in the way of its currency.
pub(super) fn money(amount: Amount, currency: Currency) -> String {
    let text = amount.to_string();
    let (sign, digits) = text.strip_prefix('-').map_or(("", text.as_str()), |rest| ("\u{2212}", rest));
    let (whole, cents) = digits.split_once('.').unwrap_or((digits, ""));
    let mut out = String::from(sign);
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            out.push(apart(currency));
        }
        out.push(digit);
    }
    if !cents.is_empty() {
        out.push('.');
        out.push_str(cents);
    }
    out
}

/// What is said behind a sum that has tax in it: nothing where no tax falls on the paper.
pub(super) const fn with_tax(taxes: &[PaperTax]) -> &'static str {
    if taxes.is_empty() { "" } else { ", with tax" }
}

/// The office and what the paper is, with its facts.
pub(super) fn head(seller: &Seller, what: &str, facts: &[(&str, String)]) -> Markup {
    let Seller { name, street, city, region, postal_code, country, tax_number, email, phone } = seller;
    let town: Vec<&str> = [city, region, postal_code].into_iter().flatten().map(|l| l.as_str()).collect();
    html! {
        header {
            address {
                strong { (name) }
                @if let Some(street) = street { br; (street) }
                @if !town.is_empty() { br; (town.join(", ")) }
                @if let Some(country) = country { br; (country) }
                @if let Some(phone) = phone { br; (phone) }
                @if let Some(email) = email { br; (email) }
                @if let Some(number) = tax_number { br; "Tax number " (number) }
            }
            div {
                h1 { (what) }
                dl {
                    @for (name, value) in facts { dt { (name) } dd { (value) } }
                }
            }
        }
    }
}

/// Who it is for and where the work is.
pub(super) fn parties(customer: &Customer, site: &Site) -> Markup {
    let Customer { name, phone, email, address } = customer;
    let Site { address: at, access: _ } = site;
    html! {
        div.parties {
            div {
                h2 { "For" }
                address {
                    strong { (name) }
                    @if let Some(address) = address { br; (address) }
                    @if let Some(phone) = phone { br; (phone) }
                    @if let Some(email) = email { br; (email) }
                }
            }
            div {
                h2 { "Site" }
                address { (at) }
            }
        }
    }
}

/// One row below the lines of a paper.
pub(super) struct Sum {
    pub(super) name: String,
    pub(super) amount: Amount,
    /// Whether it is one of the figures the paper is read for.
    pub(super) strong: bool,
}

impl Sum {
    pub(super) fn plain(name: impl Into<String>, amount: Amount) -> Self {
        Self { name: name.into(), amount, strong: false }
    }

    pub(super) fn strong(name: impl Into<String>, amount: Amount) -> Self {
        Self { name: name.into(), amount, strong: true }
    }
}

/// What lies between the lines and the total; the total alone where there is no tax.
pub(super) fn taxed(before_tax: Amount, taxes: &[PaperTax], total: Amount, currency: Currency) -> Vec<Sum> {
    let mut sums = Vec::with_capacity(taxes.len() + 2);
    if !taxes.is_empty() {
        sums.push(Sum::plain("Before tax", before_tax));
    }
    sums.extend(taxes.iter().map(|tax| {
        let PaperTax { code: _, name, rate_pct, taxable, amount, basis: _ } = tax;
        Sum::plain(format!("{name}, {rate_pct} of {}", money(*taxable, currency)), *amount)
    }));
    sums.push(Sum::strong("Total", total));
    sums
}

/// Lines with one amount each, and the sums below.
pub(super) fn lines(lines: &[&PaperLine], sums: &[Sum], currency: Currency, told: bool) -> Markup {
    html! {
        table {
            thead { tr { th scope="col" { "Description" } th.figure scope="col" { "Amount, " (currency) } } }
            tbody {
                @for line in lines {
                    tr {
                        td { (line.description) @if told && !line.basis.is_empty() { small { (line.basis) } } }
                        td.figure { (money(line.price, currency)) }
                    }
                }
            }
            (foot(sums, 1, currency))
        }
    }
}

/// The sums of a table whose amounts stand behind so many columns.
pub(super) fn foot(sums: &[Sum], columns: usize, currency: Currency) -> Markup {
    html! {
        tfoot {
            @for sum in sums {
                tr.sum[sum.strong] {
                    th scope="row" colspan=(columns) { (sum.name) }
                    td.figure { (money(sum.amount, currency)) }
                }
            }
        }
    }
}

/// A list under a heading; nothing where it is empty.
pub(super) fn list<T: std::fmt::Display>(heading: &str, entries: &[T]) -> Markup {
    html! {
        @if !entries.is_empty() {
            h2 { (heading) }
            ul { @for entry in entries { li { (entry.to_string()) } } }
        }
    }
}

/// Free text under a heading, its line breaks kept; nothing where there is none.
pub(super) fn text(heading: &str, text: Option<&str>) -> Markup {
    html! { @if let Some(text) = text { h2 { (heading) } p.text { (text) } } }
}

/// Where the customer signs. What is agreed to stands with the names: a page may begin here.
pub(super) fn signature(what: &str) -> Markup {
    html! {
        section.agreed {
            h2 { "Agreed" }
            p { (what) }
            div.sign { span { "Name" } span { "Date" } span { "Signature" } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::money;
    use crate::units::{Amount, Currency};

    #[test]
    fn thousands_stand_apart_in_the_way_of_the_currency() {
        for (minor, dollars, euros) in [
            (0, "0.00", "0.00"),
            (99_999, "999.99", "999.99"),
            (100_000, "1,000.00", "1\u{202f}000.00"),
            (-1_063_500, "\u{2212}10,635.00", "\u{2212}10\u{202f}635.00"),
            (123_456_789_012, "1,234,567,890.12", "1\u{202f}234\u{202f}567\u{202f}890.12"),
        ] {
            let amount = Amount::from_minor(minor);
            assert_eq!(money(amount, Currency::Usd), dollars);
            assert_eq!(money(amount, Currency::Eur), euros);
        }
    }
}
