//! What is set out and dug, run by run and line by line: what the notes say of it, levels and depths, and the sections with their
//! working.

use super::stored::{counts, figure, level, list, on_tape, on_tape_of, says, system_of, table, text, words};
use crate::units::UnitSystem;
use maud::{Markup, html};
use serde_json::Value;

/// What is set out of a run or line besides levels: the stored names of quantities, and what the crew reads in their place.
/// The working of each has the widths, sides and thicknesses.
const SET_OUT: &[(&str, &str)] = &[
    ("trench_volume", "Trench: length x width x depth"),
    ("saw_cut", "Saw cut, all round"),
    ("slab_removed", "Concrete taken up"),
    ("asphalt_removed", "Asphalt taken up"),
    ("gravel_stripped", "Gravel taken off"),
    ("pavers_lifted", "Pavers lifted"),
    ("run_length", "Run"),
    ("net_channel", "Channel"),
    ("line_length", "Line"),
    ("fall", "Fall"),
    ("excavation", "Digging"),
    ("surround_concrete", "Concrete around the channel"),
    ("fill_concrete", "Concrete below it"),
    ("patch_concrete", "Concrete of the patch"),
    ("form_pieces", "Form boards"),
    ("bar_length", "Bars"),
    ("hangers", "Hangers"),
    ("recess_strip", "Recess strip"),
    ("bends", "Bends"),
    ("branches", "Branches"),
    ("clean_outs", "Clean-outs"),
    ("connections", "Connections"),
    ("bedding", "Bedding"),
    ("zone_fill", "Fill around the pipe"),
    ("backfill", "Fill above it"),
    ("surface_restored", "Surface made good"),
];

/// The quantities that are set out, in the order of [`SET_OUT`], each with its working.
fn set_out(quantities: &[Value]) -> Markup {
    let named = |name: &str| SET_OUT.iter().position(|(stored, _)| *stored == name);
    let columns = [
        says("Set out", |q| {
            SET_OUT
                .iter()
                .find(|(stored, _)| *stored == text(q, "name"))
                .map_or_else(String::new, |(_, told)| (*told).to_owned())
        }),
        counts("How much", |q| on_tape(q, "quantity")),
    ];
    let mut kept: Vec<(usize, &Value)> =
        quantities.iter().filter_map(|q| Some((named(text(q, "name"))?, q))).collect();
    kept.sort_by_key(|(place, _)| *place);
    let kept: Vec<Value> = kept.into_iter().map(|(_, q)| q.clone()).collect();
    table(&kept, &columns, true)
}

/// Levels and depths along a run or line; how deep to dig stands beside the station.
fn levels(rows: &[Value]) -> Markup {
    let of_legs = [
        counts("Leg", |r| figure(r, "leg")),
        counts("Station", |r| level(r, "station")),
        counts("Dig below ground", |r| on_tape(r, "depth")),
        counts("Ground", |r| level(r, "ground")),
        counts("Invert", |r| level(r, "invert")),
    ];
    let with_legs = rows.iter().any(|r| r.get("leg").is_some());
    table(rows, if with_legs { &of_legs } else { &of_legs[1..] }, false)
}

/// What lies on top, with its thickness; nothing for bare soil.
fn on_top(of: &Value, system: UnitSystem) -> Option<String> {
    let surface = of.get("surface")?;
    let kind = words(surface, "kind");
    let thick = on_tape_of(surface, "thickness", system);
    (kind != "bare soil").then(|| if thick.is_empty() { kind } else { format!("{kind}, {thick} thick") })
}

/// Where water leaves a run.
fn outlet(outlet: &Value, system: UnitSystem) -> String {
    let leg = figure(outlet, "leg");
    match text(outlet, "kind") {
        "bottom" => {
            let leg = if leg.is_empty() { String::new() } else { format!("leg {leg} ") };
            format!(
                "{}: through the bottom, {leg}at {}",
                text(outlet, "id"),
                on_tape_of(outlet, "at", system)
            )
        }
        _ => {
            let leg = if leg.is_empty() { String::new() } else { format!(" of leg {leg}") };
            format!("{}: through the open end, {}{leg}", text(outlet, "id"), text(outlet, "at"))
        }
    }
}

/// A leg of a run: its length, and how it meets the legs before it.
fn leg((i, leg): (usize, &Value), system: UnitSystem) -> String {
    let met = leg.get("meets").map_or_else(String::new, |meets| match text(meets, "kind") {
        "tee" => format!(", a tee in leg {} at {}", figure(meets, "leg"), on_tape_of(meets, "at", system)),
        kind => format!(", round a {kind}"),
    });
    format!("{}: {}{met}", i + 1, on_tape_of(leg, "length", system))
}

/// Names with what is said of each; nothing is said of what there is nothing of.
fn facts(facts: &[(&str, Vec<String>)]) -> Markup {
    html! {
        @if facts.iter().any(|(_, told)| !told.is_empty()) {
            dl { @for (name, told) in facts { @if !told.is_empty() { dt { (name) } dd { (told.join("; ")) } } } }
        }
    }
}

/// What the notes say of a run that its levels do not.
fn noted_run(run: &Value, system: UnitSystem) -> Markup {
    facts(&[
        ("Crossed by", Some(words(run, "crossing")).filter(|c| !c.is_empty()).into_iter().collect()),
        ("On top", on_top(run, system).into_iter().collect()),
        ("Legs", list(run, "legs").iter().enumerate().map(|l| leg(l, system)).collect()),
        ("Outlets", list(run, "outlets").iter().map(|o| outlet(o, system)).collect()),
    ])
}

/// What the notes say of a drain line that its levels do not.
fn noted_line(line: &Value, system: UnitSystem) -> Markup {
    let enters = |from: &Value| {
        let at = on_tape_of(from, "at", system);
        let outlet = text(from, "outlet");
        if at.is_empty() { format!("{outlet} at the upper end") } else { format!("{outlet} at {at}") }
    };
    let ends = line.get("ends").map(|ends| match text(ends, "kind") {
        "joins" => format!("in line {} at {}", text(ends, "line"), on_tape_of(ends, "at", system)),
        _ => {
            let invert = on_tape_of(ends, "invert_level", system);
            let invert = if invert.is_empty() { invert } else { format!(", invert {invert}") };
            format!("at {}{invert}", words(ends, "to"))
        }
    });
    let tops = list(line, "legs").iter().enumerate();
    facts(&[
        ("Takes outlet", list(line, "from").iter().map(enters).collect()),
        ("Ends", ends.into_iter().collect()),
        (
            "On top",
            tops.filter_map(|(i, l)| Some(format!("leg {}: {}", i + 1, on_top(l, system)?))).collect(),
        ),
    ])
}

/// What the notes say of a run or line; nothing where they do not have it.
fn noted<'n>(notes: &'n Value, lists: &str, id: &str) -> &'n Value {
    list(notes, lists).iter().find(|it| text(it, "id") == id).unwrap_or(&Value::Null)
}

/// Every run and line of a stored layout, with what its notes say.
pub(super) fn digging(answer: &Value, notes: &Value) -> Markup {
    let layout = answer.get("layout").unwrap_or(&Value::Null);
    let system = system_of(answer);
    html! {
        @for run in list(layout, "runs") {
            @if !list(run, "quantities").is_empty() {
                h2 { "Dig run " (text(run, "run")) " for " (text(run, "channel_system")) ", setting detail " (words(run, "setting_detail")) }
                (noted_run(noted(notes, "runs", text(run, "run")), system))
                (levels(list(run, "dig_table")))
                (set_out(list(run, "quantities")))
            }
        }
        @for line in list(layout, "drain_lines") {
            @if !list(line, "quantities").is_empty() {
                h2 { "Dig drain line " (text(line, "line")) " for " (text(line, "pipe")) }
                (noted_line(noted(notes, "drain_lines", text(line, "line")), system))
                (levels(list(line, "dig_table")))
                (set_out(list(line, "quantities")))
            }
        }
    }
}
