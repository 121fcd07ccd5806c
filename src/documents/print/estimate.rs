//! A stored estimate with all its working, for the office and whoever checks it by hand.

use super::frame::{Revision, page};
use super::site;
use super::stored::{counts, currency_of, figure, list, money, quantity, says, table, text, words};
use crate::wire::contract::facts::JobFact;
use maud::{Markup, html};
use serde_json::Value;

/// Which estimate a page shows.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'e> {
    /// Its id.
    pub id: &'e str,
    /// Its revision, beside the others of the job.
    pub stands: Revision,
    /// Its job as it stands, which is where the crew and the goods go.
    pub job: &'e JobFact,
    /// The answer as it was stored.
    pub answer: &'e Value,
    /// The site notes as they were stored with it.
    pub notes: &'e Value,
}

/// The job and the revision, over either sheet.
pub(super) fn head(shown: Shown<'_>, what: &str) -> Markup {
    let Shown { id, stands, job, answer, notes: _ } = shown;
    let JobFact { job_id: _, title, customer, site } = job;
    let book = answer.get("price_book").unwrap_or(&Value::Null);
    html! {
        header {
            div {
                h1 { (what) }
                strong { (title) }
                br; (customer.name)
                @if let Some(phone) = &customer.phone { ", " (phone) }
                br; (site.address)
            }
            dl {
                dt { "Estimate" } dd { (id) }
                dt { "Revision" } dd { (stands.own) }
                dt { "Prices of" } dd { (text(book, "name")) " version " (figure(book, "number")) }
                dt { "Engine" } dd { (text(answer, "engine")) }
            }
        }
    }
}

/// The figures the sheet is read for.
fn summary(answer: &Value) -> Markup {
    let Some(sums) = answer.get("summary") else { return html! {} };
    let currency = currency_of(answer);
    let (word, way) = (text(answer, "currency"), text(sums, "concrete_way"));
    let told = [
        ("Channel", quantity(sums, "channel")),
        ("Pipe", quantity(sums, "pipe")),
        ("Concrete", format!("{} {way}", quantity(sums, "concrete"))),
        ("Hours of the crew", quantity(sums, "crew_hours")),
        ("Hours of people", quantity(sums, "person_hours")),
        ("Cost", format!("{} {word}", money(sums, "direct_cost", currency))),
        ("Price before tax", format!("{} {word}", money(sums, "price_before_tax", currency))),
        ("Tax", format!("{} {word}", money(sums, "tax", currency))),
        ("Price", format!("{} {word}", money(sums, "total", currency))),
    ];
    html! {
        h2 { "In short" }
        dl { @for (name, value) in &told { @if !value.trim().is_empty() { dt { (name) } dd { (value) } } } }
    }
}

/// What was checked: what needs a look first, with its reason; what holds behind it.
fn checks(answer: &Value) -> Markup {
    let columns = [
        says("Check", |c| words(c, "name")),
        says("Of", |c| text(c, "subject").to_owned()),
        says("Outcome", |c| text(c, "outcome").to_owned()),
        says("Why", |c| text(c, "reason").to_owned()),
    ];
    html! {
        @if !list(answer, "checks").is_empty() { h2 { "Checks" } (table(list(answer, "checks"), &columns, false)) }
    }
}

fn price(answer: &Value) -> Markup {
    let Some(price) = answer.get("price") else { return html! {} };
    let currency = currency_of(answer);
    let by_category = [
        says("Category", |c| text(c, "category").to_owned()),
        counts("Cost", |c| money(c, "cost", currency)),
        counts("In the price", |c| money(c, "price", currency)),
    ];
    let steps = [
        says("Step", |s| words(s, "name")),
        counts("On", |s| money(s, "base", currency)),
        counts("Adds", |s| money(s, "amount", currency)),
        counts("Makes", |s| money(s, "sum", currency)),
    ];
    let taxes = [
        says("Tax", |t| text(t, "name").to_owned()),
        counts("Falls on", |t| money(t, "taxable", currency)),
        counts("Rate, %", |t| figure(t, "rate_pct")),
        counts("Amount", |t| money(t, "amount", currency)),
    ];
    html! {
        h2 { "From cost to price" }
        (table(list(price, "by_category"), &by_category, false))
        p { "Direct cost " strong { (money(price, "direct_cost", currency)) } " " (text(answer, "currency")) "." }
        (table(list(price, "steps"), &steps, true))
        @if !list(price, "purchase_taxes").is_empty() { h2 { "Tax on what is bought, within the cost" } }
        (table(list(price, "purchase_taxes"), &taxes, true))
        @if !list(price, "sale_taxes").is_empty() { h2 { "Tax on the sale" } }
        (table(list(price, "sale_taxes"), &taxes, true))
        p { "Price" @if !list(price, "sale_taxes").is_empty() { " with tax" } " " strong { (money(price, "total", currency)) } " " (text(answer, "currency")) "." }
    }
}

fn costs(answer: &Value) -> Markup {
    let currency = currency_of(answer);
    let columns = [
        says("What", |l| text(l, "description").to_owned()),
        counts("Quantity", |l| quantity(l, "quantity")),
        counts("Unit price", |l| money(l, "unit_price", currency)),
        counts("Cost", |l| money(l, "cost", currency)),
    ];
    html! {
        @if !list(answer, "cost_lines").is_empty() {
            h2 { "What it costs" }
            (table(list(answer, "cost_lines"), &columns, true))
            @if let Some(price) = answer.get("price") {
                p {
                    "Direct cost" @if !list(price, "purchase_taxes").is_empty() { ", with the tax on what is bought" } ": "
                    strong { (money(price, "direct_cost", currency)) } " " (text(answer, "currency")) "."
                }
            }
        }
    }
}

/// Quantities with their working, part by part.
fn quantities(answer: &Value) -> Markup {
    let Some(layout) = answer.get("layout") else { return html! {} };
    let columns = [says("Quantity", |q| words(q, "name")), counts("How much", |q| quantity(q, "quantity"))];
    html! {
        @for run in list(layout, "runs") {
            h2 { "Quantities of run " (text(run, "run")) ", " (text(run, "channel_system")) }
            (table(list(run, "quantities"), &columns, true))
        }
        @for line in list(layout, "drain_lines") {
            h2 { "Quantities of drain line " (text(line, "line")) ", " (text(line, "pipe")) }
            (table(list(line, "quantities"), &columns, true))
        }
        @if let Some(earth) = layout.get("earth") {
            @if !list(earth, "quantities").is_empty() { h2 { "Earth" } (table(list(earth, "quantities"), &columns, true)) }
        }
        @if !list(layout, "totals").is_empty() { h2 { "Totals" } (table(list(layout, "totals"), &columns, true)) }
    }
}

fn water(answer: &Value) -> Markup {
    let Some(water) = answer.get("water").filter(|w| w.is_object()) else { return html! {} };
    let catchments = [
        says("Catchment", |c| text(c, "catchment").to_owned()),
        counts("Area", |c| quantity(c, "area")),
        counts("C", |c| figure(c, "coefficient")),
        counts("Intensity", |c| quantity(c, "intensity")),
        counts("Flow", |c| quantity(c, "flow")),
    ];
    let stretches = [
        says("From", |s| quantity(s, "from")),
        says("To", |s| quantity(s, "to")),
        counts("Flow", |s| quantity(s, "flow")),
        counts("Runs full at", |s| quantity(s, "full_flow")),
        counts("Depth", |s| quantity(s, "depth")),
        counts("Velocity", |s| quantity(s, "velocity")),
    ];
    html! {
        h2 { "Water" }
        p { (text(water, "rain")) "." }
        (table(list(water, "catchments"), &catchments, true))
        @for line in list(water, "drain_lines") {
            h2 { "Water in drain line " (text(line, "line")) ": " (text(line, "outcome")) }
            (table(list(line, "stretches"), &stretches, true))
        }
        @if !text(water, "caution").is_empty() { p { (text(water, "caution")) } }
    }
}

/// Ways to get the concrete, each with all that comes with it.
fn ways(answer: &Value) -> Markup {
    let Some(concrete) = answer.get("concrete").filter(|c| c.is_object()) else { return html! {} };
    let currency = currency_of(answer);
    let columns = [
        says("Way", |w| text(w, "name").to_owned()),
        counts("Order", |w| quantity(w, "order")),
        counts("With all that comes with it", |w| money(w, "all_in", currency)),
    ];
    html! {
        h2 { "Concrete" }
        p {
            (text(concrete, "basis")) ". Chosen: "
            @if !text(concrete, "chosen").is_empty() { strong { (text(concrete, "chosen")) } ", " }
            (text(concrete, "because")) "."
        }
        (table(list(concrete, "ways"), &columns, false))
        (site::pour_days(concrete))
    }
}

/// The page of a stored estimate with all its working.
pub fn estimate(shown: Shown<'_>) -> String {
    let answer = shown.answer;
    let currency = currency_of(answer);
    let trades = [
        says("Trade", |t| text(t, "name").to_owned()),
        counts("Hours", |t| quantity(t, "hours")),
        counts("Wage", |t| money(t, "wage", currency)),
        counts("Burden, %", |t| figure(t, "burden_pct")),
        counts("Cost", |t| money(t, "cost", currency)),
    ];
    let labor = answer.get("labor").unwrap_or(&Value::Null);
    let body = html! {
        (summary(answer))
        (checks(answer))
        (price(answer))
        (costs(answer))
        (quantities(answer))
        (water(answer))
        (ways(answer))
        (site::work(answer))
        @if !list(labor, "trades").is_empty() { h2 { "Trades" } (table(list(labor, "trades"), &trades, false)) }
        (site::cautions(answer))
    };
    page(
        &format!("Estimate: {}", shown.job.title),
        shown.stands.note(),
        &head(shown, "Estimate with its working"),
        &body,
    )
}
