//! A purchase order to print and send.

use super::frame::{Revision, page};
use super::parts::{self, Sum, money};
use crate::documents::ubl::order::{OrderLine, OrderPaper, OrderSupplier};
use crate::units::{Amount, Unit};
use maud::{Markup, html};
use rust_decimal::Decimal;

/// Codes up to this length stand on one line.
const LONGEST_WHOLE: usize = 16;

/// What one of the things ordered is: `pack of 10 ft`, or the unit alone where a pack holds one of it.
fn pack(pack: Decimal, unit: Unit) -> String {
    if pack == Decimal::ONE {
        unit.word().replace('_', " ")
    } else {
        format!("pack of {} {unit}", pack.normalize())
    }
}

fn supplier(supplier: &OrderSupplier) -> Markup {
    let OrderSupplier { name, contact, address, country, tax_number } = supplier;
    html! {
        h2 { "To" }
        address {
            strong { (name) }
            @for line in [contact, address, country].into_iter().flatten() { br; (line) }
            @if let Some(number) = tax_number { br; "Tax number " (number) }
        }
    }
}

fn lines(paper: &OrderPaper) -> Markup {
    let goods: Amount = paper.lines.iter().map(|l| l.amount).sum();
    let mut sums = Vec::new();
    if paper.delivery != Amount::ZERO {
        sums.push(Sum::plain("Goods", goods));
        sums.push(Sum::plain("Delivery", paper.delivery));
    }
    sums.push(Sum::strong("Total, before tax", goods + paper.delivery));
    html! {
        table.rows {
            thead { tr {
                th scope="col" { "Code" }
                th scope="col" { "What" }
                th.figure scope="col" { "How many" }
                th scope="col" { "Of" }
                th.figure scope="col" { "Price of one" }
                th.figure scope="col" { "Amount, " (paper.currency) }
            } }
            tbody {
                @for OrderLine { order_code, item, description, count, pack: size, unit, price, amount } in &paper.lines {
                    tr {
                        @let code = order_code.as_ref().unwrap_or(item);
                        td.whole[code.len() <= LONGEST_WHOLE] { (code) }
                        td data-label="What" { (description) @if order_code.is_some() { small { "Our code " (item) } } }
                        td.figure data-label="How many" { (count.normalize()) }
                        td data-label="Of" { (pack(*size, *unit)) }
                        td.figure data-label="Price of one" { (price) }
                        td.figure data-label={ "Amount, " (paper.currency) } { (money(*amount, paper.currency)) }
                    }
                }
            }
            (parts::foot(&sums, 5, paper.currency))
        }
    }
}

/// The page of a purchase order of a revision.
pub fn order(paper: &OrderPaper, stands: Revision) -> String {
    let OrderPaper {
        number,
        issued_on,
        wanted_on,
        note,
        job_id: _,
        job,
        buyer,
        tax_scheme: _,
        supplier: to,
        deliver_to,
        currency: _,
        lines: _,
        delivery: _,
    } = paper;
    let mut facts = vec![("Number", number.clone()), ("Date", issued_on.to_string()), ("Job", job.clone())];
    facts.extend(wanted_on.map(|on| ("Wanted on site by", on.to_string())));
    let body = html! {
        div.parties {
            div { (supplier(to)) }
            @if let Some(site) = deliver_to { div { h2 { "Deliver to" } address { (site) } } }
        }
        @if let Some(note) = note { p.text { (note) } }
        h2 { "Ordered" }
        (lines(paper))
    };
    page(
        &format!("Purchase order {number}"),
        stands.note(),
        &parts::head(buyer, "Purchase order", &facts),
        &body,
    )
}
