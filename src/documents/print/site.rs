//! What the crew takes to the site: what to dig, cut, pour and bring, and what to mind. No prices.

use super::estimate::{Shown, head};
use super::frame::page;
use super::stored::{counts, figure, level, list, on_tape, quantity, says, table, text, words};
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

/// What is set out besides levels, by the names of their quantities.
const SET_OUT: &[&str] = &[
    "run_length",
    "net_channel",
    "line_length",
    "fall",
    "bends",
    "branches",
    "clean_outs",
    "connections",
    "bedding",
];

/// Lengths, falls and fittings of a run or line, with their working.
fn set_out(quantities: &[Value]) -> Markup {
    let columns = [says("Set out", |q| words(q, "name")), counts("How much", |q| quantity(q, "quantity"))];
    let kept: Vec<Value> =
        quantities.iter().filter(|q| SET_OUT.contains(&text(q, "name"))).cloned().collect();
    table(&kept, &columns, true)
}

/// Levels and depths along a run or line.
fn dig(rows: &[Value]) -> Markup {
    let of_legs = [
        says("Leg", |r| figure(r, "leg")),
        counts("Station", |r| level(r, "station")),
        counts("Ground", |r| level(r, "ground")),
        counts("Invert", |r| level(r, "invert")),
        counts("Dig below ground", |r| on_tape(r, "depth")),
    ];
    let with_legs = rows.iter().any(|r| r.get("leg").is_some());
    table(rows, if with_legs { &of_legs } else { &of_legs[1..] }, false)
}

fn digging(layout: &Value) -> Markup {
    html! {
        @for run in list(layout, "runs") {
            @if !list(run, "dig_table").is_empty() {
                h2 { "Dig run " (text(run, "run")) " for " (text(run, "channel_system")) ", setting detail " (words(run, "setting_detail")) }
                (dig(list(run, "dig_table")))
                (set_out(list(run, "quantities")))
            }
        }
        @for line in list(layout, "drain_lines") {
            @if !list(line, "dig_table").is_empty() {
                h2 { "Dig drain line " (text(line, "line")) " for " (text(line, "pipe")) }
                (dig(list(line, "dig_table")))
                (set_out(list(line, "quantities")))
            }
        }
    }
}

/// What is cut from which piece, in order, and where it goes.
fn cutting(layout: &Value) -> Markup {
    html! {
        @for cut in list(layout, "cut_lists") {
            @let sheet = list(cut, "sheet");
            @if !sheet.is_empty() {
                h2 { "Cut " (words(cut, "part")) " " (text(cut, "code")) ", saw cut " (quantity(cut, "kerf")) }
                table {
                    thead { tr {
                        th scope="col" { "Stock piece" }
                        th scope="col" { "From" }
                        th.figure scope="col" { "Mark" }
                        th scope="col" { "Goes to" }
                        th.figure scope="col" { "Left over" }
                    } }
                    tbody {
                        @for stock in sheet {
                            @let pieces = list(stock, "pieces");
                            @for (i, piece) in pieces.iter().enumerate() {
                                tr {
                                    td { @if i == 0 { (numbers(stock)) } }
                                    td { @if i == 0 { (text(stock, "stock")) ", " (on_tape(stock, "length")) } }
                                    td.figure { (text(piece, "mark")) }
                                    td { (text(piece, "leg")) ", " (on_tape(piece, "from")) " to " (on_tape(piece, "to")) }
                                    td.figure { @if i + 1 == pieces.len() { (on_tape(stock, "left")) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Numbers of the stock pieces of a row: those that go whole onto one leg are one row.
fn numbers(stock: &Value) -> String {
    let number = |name: &str| stock.get(name).and_then(Value::as_u64);
    match (number("number"), number("count")) {
        (Some(first), Some(count)) if count > 1 => format!("{first} to {}", first + count - 1),
        (Some(first), _) => first.to_string(),
        _ => String::new(),
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

/// What is ordered of concrete, by the way that was chosen; on several pour days, day by day.
fn concrete(answer: &Value) -> Markup {
    let Some(concrete) = answer.get("concrete").filter(|c| c.is_object()) else { return html! {} };
    let days = list(concrete, "days");
    html! {
        h2 { "Concrete" }
        @if days.is_empty() && let Some(way) = way_of(concrete) {
            p { (text(way, "name")) ": order " strong { (quantity(way, "order")) } ". " (text(concrete, "basis")) "." }
            @if list(way, "load_sizes").len() > 1 {
                @let loads: Vec<String> = list(way, "load_sizes").iter().map(|l| format!("{} {}", text(l, "value"), text(l, "unit"))).collect();
                p { "Loads: " (loads.join(", ")) "." }
            }
            @for warning in list(way, "warnings") { p { (warning.as_str().unwrap_or_default()) } }
        } @else {
            p { (text(concrete, "basis")) "." }
            (pour_days(concrete))
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
            table {
                thead { tr {
                    th scope="col" {}
                    th scope="col" { "What" }
                    th.figure scope="col" { "How many" }
                    th scope="col" { "For" }
                } }
                tbody {
                    @for thing in list(answer, "load_out") {
                        tr {
                            td.box { span {} }
                            td { (text(thing, "name")) }
                            td.figure { (figure(thing, "count")) }
                            td { (reason(text(thing, "because"))) }
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
        (cautions(answer))
        (digging(layout))
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
    page(&format!("Site sheet: {}", shown.job.title), None, &head(shown, "Site sheet"), &body)
}
