//! A quote to read, print and sign.

use super::frame::{Standing, page};
use super::parts;
use crate::compute::contract::moves::PaperState;
use crate::compute::contract::quote::{IncludedSum, Offer, QuoteDocument, StageShare};
use crate::documents::told;
use crate::units::Currency;
use maud::{Markup, html};

/// Sums that are in the price already.
fn contained(heading: &str, sums: &[IncludedSum]) -> Markup {
    let told: Vec<String> = sums
        .iter()
        .map(|IncludedSum { name, amount }| format!("{name}: {}", parts::money(*amount)))
        .collect();
    parts::list(heading, &told)
}

/// What may be chosen, each with its sums: where it is ticked, or whether it was taken.
fn choices(heading: &str, offers: &[Offer], currency: Currency, standing: &Standing) -> Markup {
    let ticked = standing.is_open();
    let decided = standing.state == PaperState::Accepted;
    let taken = |offer: &Offer| if standing.taken.contains(&offer.code) { "taken" } else { "not taken" };
    html! {
        @if !offers.is_empty() {
            h2 { (heading) }
            table {
                thead { tr {
                    @if ticked { th scope="col" {} }
                    th scope="col" { "What" }
                    th.figure scope="col" { "Before tax" }
                    th.figure scope="col" { "Tax" }
                    th.figure scope="col" { "Total, " (currency) }
                    @if decided { th scope="col" { "Decided" } }
                } }
                tbody {
                    @for offer in offers {
                        tr {
                            @if ticked { td.box { span {} } }
                            td { (offer.name) }
                            td.figure { (parts::money(offer.before_tax)) }
                            td.figure { (parts::money(offer.tax)) }
                            td.figure { (parts::money(offer.total)) }
                            @if decided { td { (taken(offer)) } }
                        }
                    }
                }
            }
        }
    }
}

/// When the price is paid.
fn schedule(shares: &[StageShare], currency: Currency) -> Markup {
    html! {
        @if !shares.is_empty() {
            h2 { "Paid in stages" }
            table {
                thead { tr {
                    th scope="col" { "Stage" }
                    th scope="col" { "Due" }
                    th.figure scope="col" { "Share" }
                    th.figure scope="col" { "Total, " (currency) }
                } }
                tbody {
                    @for StageShare { code: _, name, due, pct, before_tax: _, tax: _, total } in shares {
                        tr {
                            td { (name) }
                            td { (told::when(*due)) }
                            td.figure { (pct) }
                            td.figure { (parts::money(*total)) }
                        }
                    }
                }
            }
        }
    }
}

/// The page of a quote.
pub fn quote(paper: &QuoteDocument, standing: &Standing) -> String {
    let QuoteDocument {
        number,
        issued_on,
        valid_until,
        supersedes,
        title,
        seller,
        customer,
        site,
        currency,
        offer,
        discounts,
        allowances,
        alternates,
        additions,
        schedule: shares,
        retainage,
        payment_terms,
        due_days,
        scope,
        exclusions,
        by_others,
        cautions,
        notes_to_customer,
        failed_checks,
    } = paper;
    let what = number.as_ref().map_or_else(|| "Quote".to_owned(), |n| format!("Quote {n}"));
    let mut facts = vec![("Job", title.clone())];
    facts.extend(issued_on.map(|on| ("Date", on.to_string())));
    facts.push(("Valid until", valid_until.to_string()));
    facts.extend(supersedes.clone().map(|other| ("In place of", format!("quote {other}"))));
    let mut terms = vec![told::due(*due_days, shares)];
    terms.extend(retainage.as_ref().map(told::retained));
    let standing = &standing.until(*valid_until);
    let open = standing.is_open();
    let agreed = standing.contract.filter(|_| standing.state == PaperState::Accepted);
    let body = html! {
        (parts::parties(customer, site))
        @if number.is_none() && !failed_checks.is_empty() {
            div.office { (parts::list("For the office, before this goes out: checks that failed", failed_checks)) }
        }
        (parts::text("What is done", scope.as_deref()))
        h2 { "Price" }
        (parts::lines(&offer.lines, &parts::taxed(offer.before_tax, &offer.taxes, offer.total), *currency, false))
        (contained("Discounts in the price", discounts))
        (contained("Allowances in the price, for what is not known yet", allowances))
        (choices("May be taken on top", additions, *currency, standing))
        (choices("May be taken instead", alternates, *currency, standing))
        @if let Some(agreed) = agreed {
            p { "Agreed in all, with tax: " strong { (parts::money(agreed)) } " " (currency) "." }
        }
        (schedule(shares, *currency))
        h2 { "Payment" }
        @for sentence in &terms { p { (sentence) "." } }
        @if let Some(terms) = payment_terms { p.text { (terms) } }
        (parts::list("Not included", exclusions))
        (parts::list("Done by others", by_others))
        (parts::text("Please note", notes_to_customer.as_deref()))
        div.cautions {
            (parts::list("Cautions", cautions))
            p { "Local codes and licensed practice go before what stands here." }
        }
        @if open {
            @let ticked = if additions.is_empty() && alternates.is_empty() { "" } else { ", with what is ticked above" };
            (parts::signature(&format!("We accept this quote{ticked}.")))
        }
    };
    page(&format!("{what}: {title}"), Some(standing), &parts::head(seller, &what, &facts), &body)
}
