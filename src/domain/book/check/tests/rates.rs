//! Tasks that need a rate, and those whose work other tasks count.

use super::{drop_task, faults_with, with};
use serde_json::{Value, json};

/// A measure with its unit.
type Measured = (&'static str, &'static str);

/// Counts measures with all methods of a task.
fn count(book: &mut Value, task: &str, measures: &[Measured]) {
    for rate in book["labor"].as_array_mut().into_iter().flatten().filter(|r| r["task"] == task) {
        for (measure, unit) in measures {
            let row = json!({"measure": measure, "unit": unit, "hours": "0.02"});
            rate["rates"].as_array_mut().into_iter().for_each(|rates| rates.push(row.clone()));
        }
    }
}

const PIPE: [Measured; 4] =
    [("pipe_length", "ft"), ("pipe_joints", "each"), ("pipe_fittings", "each"), ("bedding", "yd3")];
const SAWN: [Measured; 2] = [("saw_cut_length", "ft"), ("saw_cut_face", "ft2")];

#[test]
fn what_another_task_counts_needs_no_rate_of_its_own() {
    for (task, with_it, measures) in [
        ("finish", "pour", &[("finish_area", "ft2")][..]),
        ("connect", "lay_pipe", &[("connections", "each")]),
        ("restore", "backfill", &[("surface_restored", "ft2")]),
        ("mix_concrete", "pour", &[("bags_mixed", "each")]),
        ("backfill", "lay_pipe", &[("backfill", "yd3"), ("zone_fill", "yd3")]),
        ("lay_pipe", "connect", &PIPE),
    ] {
        let missing = [("#/labor".to_owned(), "missing_rate")];
        assert_eq!(with(|b| drop_task(b, task)), missing, "{task}");
        let counted = |measures: &[Measured]| {
            with(|b| {
                drop_task(b, task);
                count(b, with_it, measures);
            })
        };
        assert_eq!(counted(measures), [], "{task} with {with_it}");
        assert_eq!(counted(&measures[1..]), missing, "{task} with {with_it}, but for {}", measures[0].0);
    }
}

#[test]
fn what_is_not_counted_is_named() {
    let details = |change: fn(&mut Value)| {
        let faults = faults_with(change);
        faults.list().iter().map(|f| f.detail.clone()).collect::<Vec<_>>()
    };
    let none = |task: &str| format!("no rate for `{task}`; without it its hours would be missing");
    for (change, task, unless) in [
        (
            (|b| drop_task(b, "mix_concrete")) as fn(&mut Value),
            "mix_concrete",
            ", unless the rate of `pour` counts `bags_mixed`",
        ),
        (
            |b| {
                drop_task(b, "lay_pipe");
                count(b, "connect", &PIPE[..2]);
            },
            "lay_pipe",
            ", unless rates of other tasks count `pipe_fittings`, `bedding`",
        ),
        // what calls for several tasks is the work of none alone
        (|b| drop_task(b, "clear_up"), "clear_up", ""),
    ] {
        assert_eq!(details(change), [format!("{}{unless}", none(task))]);
    }
}

/// What goes by a task itself is not done under the name of another one, nor by some methods of it alone.
#[test]
fn what_goes_by_a_task_itself_needs_its_rate() {
    let method = "its method, how deep that reaches and the notices before it go by a rate of its own";
    for (task, with_it, measures, words) in [
        ("dig_line", "dig_run", &[("line_excavation", "yd3")][..], method),
        ("saw_cut", "break_out", &SAWN, method),
        (
            "pour",
            "finish",
            &[("concrete_ordered", "yd3")],
            "the pace of the pour, its days and what sets after it go by a rate of its own",
        ),
        (
            "haul",
            "backfill",
            &[("haul_loads", "each"), ("export_loose", "yd3")],
            "the time that a driver is paid goes by a rate of its own",
        ),
        (
            "mix_concrete",
            "haul",
            &[("bags_mixed", "each")],
            "ways of concrete are compared by rates of its own and of `pour`",
        ),
    ] {
        let faults = faults_with(|b| {
            drop_task(b, task);
            count(b, with_it, measures);
        });
        let details: Vec<&str> = faults.list().iter().map(|f| f.detail.as_ref()).collect();
        assert_eq!(details, [format!("no rate for `{task}`: `{with_it}` counts its hours, but {words}")]);
    }
    let by_one_method = faults_with(|b| {
        drop_task(b, "connect");
        let row = json!({"measure": "connections", "unit": "each", "hours": "0.02"});
        let rates = b["labor"].as_array_mut().into_iter().flatten();
        for digs in rates.filter(|r| r["task"] == "dig_run").take(1) {
            digs["rates"].as_array_mut().into_iter().for_each(|rows| rows.push(row.clone()));
        }
    });
    let told = by_one_method.list().iter().map(|f| f.detail.as_str()).collect::<Vec<_>>();
    assert_eq!(told, ["no rate for `connect`: `dig_run` counts its hours, but not by every method of it"]);
}
