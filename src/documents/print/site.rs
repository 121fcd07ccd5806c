//! What the crew takes to the site: what to dig, cut, pour and bring, and what to mind. No prices.

use super::cuts::cutting;
use super::dig::digging;
use super::estimate::{Shown, head};
use super::frame::page;
use super::stored::{counts, figure, list, quantity, says, table, text, words};
use maud::{Markup, html};
use serde_json::Value;

/// Tasks in order, with hours and crew.
pub(super) fn work(answer: &Value) -> Markup {
    let Some(labor) = answer.get("labor") else { return html! {} };
    let columns = [
        says("Task", |t| words(t, "task")),
        says("How", |t| words(t, "method")),
        says("Crew", |t| {
            let crew: Vec<String> = list(t, "crew")
                .iter()
                .map(|c| format!("{} {}", figure(c, "count"), words(c, "trade")))
                .collect();
            crew.join(", ")
        }),
        counts("Hours of the crew", |t| quantity(t, "crew_hours")),
    ];
    html! {
        @if !list(labor, "tasks").is_empty() {
            h2 { "Work" }
            (table(list(labor, "tasks"), &columns, true))
            p { "Together " strong { (quantity(labor, "crew_hours")) } " of the crew, " (quantity(labor, "person_hours")) " of people." }
        }
    }
}

/// What to mind, with what raised it.
pub(super) fn cautions(answer: &Value) -> Markup {
    html! {
        @if !list(answer, "cautions").is_empty() {
            h2 { "Cautions" }
            ul {
                @for caution in list(answer, "cautions") {
                    li { (text(caution, "text")) small { "For: " (text(caution, "raised_by")) } }
                }
            }
            p { "Local codes and licensed practice go before this sheet." }
        }
    }
}

/// Checks that are the office's affair: prices, offers, hours and the price book itself. All others stand on the sheet where they
/// failed or warn, since what does not hold must not be built, cut or poured unseen.
pub const OF_THE_OFFICE: &[&str] = &[
    "consumable_unit",
    "discount",
    "finish_wished",
    "goods_before_the_plan",
    "haul_driver",
    "haul_trip",
    "item_can_be_bought",
    "labor_factor",
    "labor_rate",
    "most_suppliers",
    "noted_figure",
    "offers_in_time",
    "purchase_plan",
    "tax_place",
];

/// What was checked and does not hold, or nearly not, for the crew; what failed first.
fn unsafe_to_build(answer: &Value) -> Markup {
    let of = |outcome: &'static str| {
        list(answer, "checks")
            .iter()
            .filter(move |c| text(c, "outcome") == outcome && !OF_THE_OFFICE.contains(&text(c, "name")))
    };
    html! {
        @if of("fail").chain(of("warn")).next().is_some() {
            h2 { "To settle before it is built" }
            ul.checks {
                @for (outcome, word) in [("fail", "Failed"), ("warn", "Look")] {
                    @for check in of(outcome) {
                        li {
                            strong { (word) ": " (words(check, "name")) ", " (words(check, "subject")) } ": "
                            (text(check, "reason"))
                        }
                    }
                }
            }
        }
    }
}

/// What is poured on which day, by which way, and how much of it is ordered.
pub(super) fn pour_days(concrete: &Value) -> Markup {
    let columns = [
        says("Pour day", |d| figure(d, "day")),
        says("What", |d| {
            let parts: Vec<&str> = list(d, "pours").iter().map(|p| text(p, "of")).collect();
            parts.join(", ")
        }),
        counts("With waste", |d| quantity(d, "with_waste")),
        says("By", |d| text(d, "chosen").to_owned()),
        counts("Order", |d| way_of(d).map_or_else(String::new, |w| quantity(w, "order"))),
        counts("Loads", |d| way_of(d).map_or_else(String::new, |w| figure(w, "loads"))),
    ];
    table(list(concrete, "days"), &columns, false)
}

/// The way that was chosen among those of a day, or of all concrete.
fn way_of(of: &Value) -> Option<&Value> {
    list(of, "ways").iter().find(|w| of.get("chosen").is_some() && w.get("code") == of.get("chosen"))
}

/// What concrete a way brings, as its own line names it; nothing of what it costs.
fn mixed(way: &Value) -> Markup {
    let concrete = list(way, "lines")
        .iter()
        .find(|l| text(l, "rule").starts_with("concrete.") && text(l, "category") == "material");
    html! { @if let Some(line) = concrete { p { "To order: " (text(line, "description")) "." } } }
}

/// What is ordered of concrete, by the way that was chosen; on several pour days, day by day.
fn concrete(answer: &Value) -> Markup {
    let Some(concrete) = answer.get("concrete").filter(|c| c.is_object()) else { return html! {} };
    let days = list(concrete, "days");
    html! {
        h2 { "Concrete" }
        @if days.is_empty() && let Some(way) = way_of(concrete) {
            p { (text(way, "name")) ": order " strong { (quantity(way, "order")) } ". " (text(concrete, "basis")) "." }
            (mixed(way))
            @if list(way, "load_sizes").len() > 1 {
                @let loads: Vec<String> = list(way, "load_sizes").iter().map(|l| format!("{} {}", text(l, "value"), text(l, "unit"))).collect();
                p { "Loads: " (loads.join(", ")) "." }
            }
            @for warning in list(way, "warnings") { p { (warning.as_str().unwrap_or_default()) } }
        } @else {
            p { (text(concrete, "basis")) "." }
            (pour_days(concrete))
            @for day in days.iter().filter(|d| way_of(d).is_some()) {
                @if let Some(way) = way_of(day) {
                    @if days.iter().find(|d| d.get("chosen") == day.get("chosen")) == Some(day) { (mixed(way)) }
                }
            }
        }
    }
}

/// Why something is loaded, in words: `dig_run by hand` as `dig run by hand`, `run.forms` as `run, forms`.
fn reason(because: &str) -> String {
    let words = because.replace('_', " ");
    if because.contains(' ') { words } else { words.replace('.', ", ") }
}

/// What is loaded, ticked off as it goes on the truck.
fn load_out(answer: &Value) -> Markup {
    html! {
        @if !list(answer, "load_out").is_empty() {
            h2 { "Load" }
            table.rows {
                thead { tr {
                    th scope="col" { "Loaded" }
                    th scope="col" { "What" }
                    th.figure scope="col" { "How many" }
                    th scope="col" { "For" }
                } }
                tbody {
                    @for thing in list(answer, "load_out") {
                        tr {
                            td.box { span {} }
                            td { (text(thing, "name")) }
                            td.figure data-label="How many" { (figure(thing, "count")) }
                            td data-label="For" { (reason(text(thing, "because"))) }
                        }
                    }
                }
            }
        }
    }
}

/// The page that goes to the site.
pub fn site_sheet(shown: Shown<'_>) -> String {
    let answer = shown.answer;
    let layout = answer.get("layout").unwrap_or(&Value::Null);
    let access = shown.job.site.access.as_ref();
    let body = html! {
        @if let Some(access) = access { h2 { "Access" } p.text { (access) } }
        (unsafe_to_build(answer))
        (cautions(answer))
        (digging(answer, shown.notes))
        (cutting(layout))
        (concrete(answer))
        (work(answer))
        (load_out(answer))
        @for (heading, name) in [("Not ours", "excluded"), ("Done by others", "by_others")] {
            @if !list(answer, name).is_empty() {
                h2 { (heading) }
                ul { @for entry in list(answer, name) { li { (entry.as_str().unwrap_or_default()) } } }
            }
        }
    };
    page(&format!("Site sheet: {}", shown.job.title), shown.stands.note(), &head(shown, "Site sheet"), &body)
}
