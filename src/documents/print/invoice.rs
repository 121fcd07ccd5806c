//! An invoice to read and print.

use super::frame::{Standing, page};
use super::parts::{self, Sum, money};
use crate::compute::contract::invoice::{AccountAfter, InvoiceDocument, InvoiceKind, InvoiceLine};
use crate::compute::contract::moves::{PaperState, owed};
use crate::documents::told::{self, RELEASED};
use crate::units::{Amount, Currency};
use maud::{Markup, html};

fn kind_of(kind: InvoiceKind) -> &'static str {
    match kind {
        InvoiceKind::Deposit => "deposit before the work begins",
        InvoiceKind::Progress => "work done so far",
        InvoiceKind::ChangeOrder => "a change order",
        InvoiceKind::Retainage => "retainage that is due",
        InvoiceKind::Final => "everything that is open, final",
    }
}

/// The part of the contract that a line belongs to, in words.
fn part(component: &str, quote: &str) -> String {
    match component.split_once('-') {
        Some(("co", number)) => format!("Change order CO-{number}"),
        Some(("add", _)) => "Taken on top of the quote".to_owned(),
        _ => format!("Quote {quote}"),
    }
}

/// The lines, under the part of the contract they belong to where there are several.
fn lines(lines: &[InvoiceLine], quote: &str, sums: &[Sum], currency: Currency) -> Markup {
    let parts: Vec<String> = lines.iter().map(|line| part(&line.component, quote)).collect();
    let several = parts.windows(2).any(|two| two[0] != two[1]);
    html! {
        table.rows {
            thead { tr {
                th scope="col" { "Description" }
                th.figure scope="col" { "In the contract" }
                th.figure scope="col" { "Billed before" }
                th.figure scope="col" { "Now, " (currency) }
            } }
            tbody {
                @for (i, line) in lines.iter().enumerate() {
                    @if several && (i == 0 || parts[i] != parts[i - 1]) {
                        tr { th.part scope="rowgroup" colspan="4" { (parts[i]) } }
                    }
                    tr {
                        td { (line.description) @if !line.basis.is_empty() { small { (line.basis) } } }
                        td.figure data-label="In the contract" { (money(line.contract, currency)) }
                        td.figure data-label="Billed before" { (money(line.billed_before, currency)) }
                        td.figure data-label={ "Now, " (currency) } { (money(line.amount, currency)) }
                    }
                }
            }
            (parts::foot(sums, 3, currency))
        }
    }
}

/// How the account stands once this is billed.
fn account(account: &AccountAfter, tax: &str, currency: Currency) -> Markup {
    let AccountAfter { contract, invoiced, retained, open } = account;
    html! {
        h2 { "The account after this invoice" }
        table {
            tbody {
                @for (name, amount) in [
                    (format!("Contract{tax}"), contract),
                    ("Asked for to date".to_owned(), invoiced),
                    ("Retainage held".to_owned(), retained),
                    ("Left to bill".to_owned(), open),
                ] {
                    tr { th scope="row" { (name) } td.figure { (money(*amount, currency)) } }
                }
            }
        }
    }
}

/// What is to be paid, and what is left of it once some was paid or given back. Of a void invoice nothing is.
fn asked_for(paper: &InvoiceDocument, standing: &Standing) -> Vec<Sum> {
    let InvoiceDocument { due_on, currency, payable, .. } = paper;
    let (paid, credited) = (standing.paid, standing.credited);
    let back = *payable < Amount::ZERO;
    let is_void = standing.state == PaperState::Voided;
    if !is_void && paid == Amount::ZERO && credited == Amount::ZERO {
        return vec![if back {
            Sum::strong(format!("Goes back to the customer, {currency}"), -*payable)
        } else {
            Sum::strong(format!("To pay by {due_on}, {currency}"), *payable)
        }];
    }
    let (asked, paid_so_far, taken_off) = if back {
        let asked = if is_void { "Was to go back to the customer" } else { "To go back to the customer" };
        ((asked, -*payable), ("Paid back so far", -paid), ("Taken off by credit notes", -credited))
    } else {
        (("Asked for", *payable), ("Paid so far", paid), ("Given back by credit notes", credited))
    };
    let mut sums: Vec<Sum> = [asked, paid_so_far, taken_off]
        .into_iter()
        .filter(|(_, amount)| *amount != Amount::ZERO)
        .map(|(name, amount)| Sum::plain(name, amount))
        .collect();
    let left = owed(*payable, credited, paid);
    if is_void {
        return sums;
    }
    sums.push(if left < Amount::ZERO {
        Sum::strong(format!("Goes back to the customer, {currency}"), -left)
    } else if left == Amount::ZERO {
        Sum::strong(format!("Nothing is left to pay, {currency}"), left)
    } else {
        Sum::strong(format!("Still to pay by {due_on}, {currency}"), left)
    });
    sums
}

/// The page of an invoice.
pub fn invoice(paper: &InvoiceDocument, standing: &Standing) -> String {
    let InvoiceDocument {
        number,
        kind,
        stage,
        issued_on,
        due_on,
        title,
        seller,
        customer,
        site,
        quote,
        currency,
        lines: billed,
        before_tax,
        taxes,
        tax: _,
        total,
        retained,
        retained_basis: _,
        released,
        payable: _,
        account: after,
        payment_terms,
        note,
        warnings: _,
    } = paper;
    let what = format!("Invoice {number}");
    let stage = stage.as_ref().map(|s| format!(" ({s})")).unwrap_or_default();
    let facts = [
        ("Job", title.clone()),
        ("Date", issued_on.to_string()),
        ("Due on", due_on.to_string()),
        ("For", format!("{}{stage}", kind_of(*kind))),
        ("Contract", format!("quote {quote}")),
    ];
    let mut sums = parts::taxed(*before_tax, taxes, *total, *currency);
    if *retained != Amount::ZERO {
        sums.push(Sum::plain(told::invoiced_retainage(*retained), -*retained));
    }
    if *released != Amount::ZERO {
        sums.push(Sum::plain(RELEASED, *released));
    }
    sums.extend(asked_for(paper, standing));
    let body = html! {
        (parts::parties(customer, site))
        h2 { "Billed" }
        (lines(billed, quote, &sums, *currency))
        @if let Some(sentence) = told::retainage_note(paper) { p { (sentence) "." } }
        @if let Some(terms) = payment_terms { p.text { (terms) } }
        (parts::text("Please note", note.as_deref()))
        @for warning in told::warned(paper) { p { (warning.text) "." } }
        (account(after, parts::with_tax(taxes), *currency))
    };
    page(&format!("{what}: {title}"), standing.stamp(), &parts::head(seller, &what, &facts), &body)
}
