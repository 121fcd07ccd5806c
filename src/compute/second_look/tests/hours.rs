//! Work that no labor rate of the book counts.

use super::{Change, silent, told};
use serde_json::{Value, json};

fn rated(book: &mut Value, task: &str, rates: &[(&str, &str)]) {
    let labor = book["labor"].as_array_mut().unwrap();
    let rate = labor.iter_mut().find(|r| r["task"] == task).unwrap();
    rate["rates"] =
        rates.iter().map(|(m, unit)| json!({"measure": m, "unit": unit, "hours": "0.1"})).collect();
}

#[test]
fn work_that_no_rate_counts_is_told() {
    let cases: &[(Change, &str, &str)] = &[
        (
            |b| rated(b, "backfill", &[("backfill", "yd3")]),
            "#/labor/21/rates",
            "`backfill` by `plate-compactor` counts backfill and not zone_fill, and no rate of another task does",
        ),
        (
            |b| rated(b, "hang_and_brace", &[("bar_length", "ft"), ("visits", "each")]),
            "#/labor/14/rates",
            "and not hangers,",
        ),
        (
            |b| rated(b, "lay_pipe", &[("pipe_fittings", "each")]),
            "#/labor/15/rates",
            "and not pipe_length or pipe_joints,",
        ),
        (
            |b| rated(b, "strip_and_clean", &[("form_area", "ft2")]),
            "#/labor/20/rates",
            "not hangers, which are all there is where a run lies in a slab,",
        ),
        (
            |b| rated(b, "clear_up", &[("line_length", "ft")]),
            "#/labor/24/rates",
            "not run_length, which is all there is of a job without drain lines,",
        ),
    ];
    told(cases);
}

/// By another measure, or with another task, it is counted as well.
#[test]
fn work_that_is_counted_otherwise_is_no_matter() {
    silent(&[
        |b| {
            rated(b, "backfill", &[("backfill", "yd3")]);
            rated(b, "lay_pipe", &[("pipe_length", "ft"), ("zone_fill", "yd3")]);
        },
        |b| rated(b, "hang_and_brace", &[("bar_length", "ft"), ("run_length", "ft")]),
        |b| rated(b, "clear_up", &[("visits", "each")]),
        |b| rated(b, "strip_and_clean", &[("form_area", "ft2"), ("run_length", "ft")]),
        |b| rated(b, "finish", &[("run_length", "ft")]),
        // no pipes are laid by a book without them
        |b| {
            rated(b, "backfill", &[("backfill", "yd3")]);
            b.as_object_mut().unwrap().remove("pipes");
        },
    ]);
}
