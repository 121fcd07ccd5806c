//! A quote to read, print and sign.

use super::frame::{Standing, page};
use super::parts;
use crate::compute::contract::moves::PaperState;
use crate::compute::contract::quote::{IncludedSum, Offer, PaperLine, QuoteDocument, StageShare};
use crate::documents::told;
use crate::units::Currency;
use crate::wire::contract::inputs::QuoteInputs;
use maud::{Markup, html};

/// Sums that are in the price already.
fn contained(heading: &str, sums: &[IncludedSum], currency: Currency) -> Markup {
    let told: Vec<String> = sums
        .iter()
        .map(|IncludedSum { name, amount }| format!("{name}: {}", parts::money(*amount, currency)))
        .collect();
    parts::list(heading, &told)
}

/// What may be chosen, each with its sums: where it is ticked, or whether it was taken.
fn choices(heading: &str, offers: &[Offer], currency: Currency, standing: &Standing) -> Markup {
    let ticked = standing.is_open();
    let decided = standing.state == PaperState::Accepted;
    let taken = |offer: &Offer| if standing.taken.contains(&offer.code) { "taken" } else { "not taken" };
    let has_tax = offers.iter().any(|offer| !offer.taxes.is_empty());
    html! {
        @if !offers.is_empty() {
            h2 { (heading) }
            table.rows {
                thead { tr {
                    @if ticked { th scope="col" { "Tick" } }
                    th scope="col" { "What" }
                    @if has_tax {
                        th.figure scope="col" { "Before tax" }
                        th.figure scope="col" { "Tax" }
                    }
                    th.figure scope="col" { "Total, " (currency) }
                    @if decided { th scope="col" { "Decided" } }
                } }
                tbody {
                    @for offer in offers {
                        tr {
                            @if ticked { td.box { span {} } }
                            td { (offer.name) }
                            @if has_tax {
                                td.figure data-label="Before tax" { (parts::money(offer.before_tax, currency)) }
                                td.figure data-label="Tax" { (parts::money(offer.tax, currency)) }
                            }
                            td.figure data-label={ "Total, " (currency) } { (parts::money(offer.total, currency)) }
                            @if decided { td data-label="Decided" { (taken(offer)) } }
                        }
                    }
                }
            }
        }
    }
}

/// When the price is paid; `open` says that more may be taken, which raises every stage.
fn schedule(shares: &[StageShare], currency: Currency, open: bool) -> Markup {
    html! {
        @if !shares.is_empty() {
            h2 { "Paid in stages" }
            table.rows {
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
                            td data-label="Due" { (told::when(*due)) }
                            td.figure data-label="Share" { (pct) }
                            td.figure data-label={ "Total, " (currency) } { (parts::money(*total, currency)) }
                        }
                    }
                }
            }
            @if open { p { "What is ticked above changes these sums: each stage is its share of all that is agreed." } }
        }
    }
}

/// What is built, by the quantities of the estimate, where the office wrote no scope: else nothing on the paper says it.
fn built(inputs: &QuoteInputs) -> Markup {
    let told = told::built(&inputs.estimate.quantities);
    html! {
        @if inputs.terms.scope.is_none() && !told.is_empty() {
            h2 { "What is built" }
            dl { @for (called, quantity) in told { dt { (called) } dd { (told::measured(quantity)) } } }
        }
    }
}

/// The lines in the order in which the office wrote them; what it named no line for stands behind.
fn in_order<'p>(lines: &'p [PaperLine], inputs: &QuoteInputs) -> Vec<&'p PaperLine> {
    let written = &inputs.terms.lines;
    let mut out: Vec<&PaperLine> = lines.iter().collect();
    out.sort_by_key(|line| {
        written.iter().position(|l| l.code.as_str() == line.code).unwrap_or(written.len())
    });
    out
}

/// What the customer puts a name to: which quote, and the sum of it.
fn agreement(paper: &QuoteDocument) -> String {
    let QuoteDocument { number, issued_on, currency, offer, additions, alternates, .. } = paper;
    let number = number.as_ref().map_or_else(|| "this quote".to_owned(), |n| format!("quote {n}"));
    let of = issued_on.map(|on| format!(" of {on}")).unwrap_or_default();
    let ticked = match (additions.is_empty(), alternates.is_empty()) {
        (true, true) => "",
        (false, true) => " What is ticked above is added to this sum.",
        (true, false) => " What is ticked above takes the place of this sum.",
        (false, false) => {
            " What is ticked above is added to this sum where it is taken on top, and takes its place where it is taken instead."
        }
    };
    format!(
        "We accept {number}{of} over {} {currency}{}.{ticked}",
        parts::money(offer.total, *currency),
        parts::with_tax(&offer.taxes)
    )
}

/// The page of a quote; `inputs` is the snapshot it was made from.
pub fn quote(paper: &QuoteDocument, inputs: &QuoteInputs, standing: &Standing) -> String {
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
    let may_choose = !(additions.is_empty() && alternates.is_empty());
    let sums = parts::taxed(offer.before_tax, &offer.taxes, offer.total, *currency);
    // Once it is accepted its stages are those of all that was taken: they are what the invoices ask for.
    let is_agreed = standing.state == PaperState::Accepted && !standing.stages.is_empty();
    let stages = if is_agreed { &standing.stages } else { shares };
    let agreed = standing.contract.filter(|_| standing.state == PaperState::Accepted);
    let body = html! {
        (parts::parties(customer, site))
        @if number.is_none() && !failed_checks.is_empty() {
            div.office { (parts::list("For the office, before this goes out: checks that failed", failed_checks)) }
        }
        (parts::text("What is done", scope.as_deref()))
        (built(inputs))
        h2 { "Price" }
        (parts::lines(&in_order(&offer.lines, inputs), &sums, *currency, false))
        (contained("Discounts in the price", discounts, *currency))
        (contained("Allowances in the price, for what is not known yet", allowances, *currency))
        (choices("May be taken on top", additions, *currency, standing))
        (choices("May be taken instead", alternates, *currency, standing))
        @if let Some(agreed) = agreed {
            p { "Agreed in all" (parts::with_tax(&offer.taxes)) ": " strong { (parts::money(agreed, *currency)) } " " (currency) "." }
        }
        (schedule(stages, *currency, open && may_choose))
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
        @if open { (parts::signature(&agreement(paper))) }
    };
    page(&format!("{what}: {title}"), standing.stamp(), &parts::head(seller, &what, &facts), &body)
}
