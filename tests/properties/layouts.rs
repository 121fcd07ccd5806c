//! Properties of whole layouts and estimates.

use crate::jobs::{BOOK, estimate, job, read, text};
use proptest::prelude::*;
use rillcast::compute::answers::Estimate;
use rillcast::compute::takeoff::{levels, profile, take_off, trench};
use rillcast::domain::layout::resolve::resolve;
use rillcast::domain::words::Measure;
use rillcast::units::{Amount, Length, Volume};
use serde_json::{Value, json};

fn straight(eighths: &[i64], system: &str) -> Value {
    let runs: Vec<Value> = eighths
        .iter()
        .enumerate()
        .map(|(i, length)| {
            json!({"id": format!("r{i}"), "legs": [{"length": text(*length, false)}], "channel_system": system,
                   "crossing": "wheels", "surface": {"kind": "bare_soil"},
                   "outlets": [{"kind": "bottom", "id": format!("o{i}"), "at": text(*length / 2, false)}]})
        })
        .collect();
    json!({"runs": runs})
}

/// Trench, concrete and channel of straight runs, exact.
fn measured(notes: &Value) -> (Volume, Volume, i128) {
    let notes = read(notes);
    let layout = resolve(&notes, &BOOK).unwrap_or_else(|e| panic!("{e}"));
    let taken = take_off(&layout, &BOOK);
    let dug = Volume::from_nm3(taken.measures.base(Measure::RunExcavation));
    (dug, taken.concrete_net, taken.measures.base(Measure::ChannelLength))
}

/// What is bought and what it costs, whatever the order of the lines.
fn bought(estimate: &Estimate) -> Vec<(String, String, Amount)> {
    let mut lines: Vec<_> =
        estimate.cost_lines.iter().map(|l| (l.code.clone(), l.quantity.to_string(), l.cost)).collect();
    lines.sort();
    lines
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn twice_the_length_is_twice_the_volume_but_for_the_ends(length in 192_i64..8_000) {
        let (dug, concrete, channel) = measured(&straight(&[length], "channel-6-u"));
        let (dug2, concrete2, channel2) = measured(&straight(&[length * 2], "channel-6-u"));
        // The two ends alone: 4 in each of channel 6 U (8 in x 9 in) in the detail for wheels.
        let inch = |n, d| Length::inches(n, d);
        let ends = trench::trench(Length::ZERO, inch(8, 1), inch(9, 1), inch(4, 1), inch(4, 1), inch(4, 1), inch(1, 8), 0);
        prop_assert_eq!(dug2 - ends.volume, (dug - ends.volume) * 2);
        prop_assert_eq!(concrete2 - ends.surround, (concrete - ends.surround) * 2);
        prop_assert_eq!(channel2, channel * 2);
    }

    #[test]
    fn splitting_a_run_keeps_its_channel(length in 400_i64..8_000, share in 1_i64..99) {
        let first = (length * share / 100).clamp(192, length - 192);
        let whole = measured(&straight(&[length], "channel-6-u")).2;
        let split = measured(&straight(&[first, length - first], "channel-6-u")).2;
        prop_assert_eq!(whole, split);
    }

    #[test]
    fn metric_and_us_text_give_the_same_job(job in job()) {
        let (us, metric) = (estimate(&job.notes(false)), estimate(&job.notes(true)));
        prop_assert_eq!(&us.cost_lines, &metric.cost_lines);
        prop_assert_eq!(&us.price, &metric.price);
        prop_assert_eq!(&us.concrete, &metric.concrete);
    }

    #[test]
    fn order_of_runs_and_lines_changes_nothing(job in job()) {
        let notes = job.notes(false);
        let mut turned = notes.clone();
        for list in ["runs", "drain_lines"] {
            turned[list].as_array_mut().expect("a list").reverse();
        }
        let (a, b) = (estimate(&notes), estimate(&turned));
        prop_assert_eq!(bought(&a), bought(&b));
        prop_assert_eq!(a.price.total, b.price.total);
        prop_assert_eq!(a.labor.cost, b.labor.cost);
    }

    #[test]
    fn everything_foots(job in job()) {
        let e = estimate(&job.notes(false));
        let p = &e.price;
        let lines: Amount = e.cost_lines.iter().map(|l| l.cost).sum();
        let bought_tax: Amount = p.purchase_taxes.iter().map(|t| t.amount).sum();
        prop_assert_eq!(lines + bought_tax, p.direct_cost);
        prop_assert_eq!(p.by_category.iter().map(|c| c.cost).sum::<Amount>(), p.direct_cost);
        prop_assert_eq!(p.by_category.iter().map(|c| c.price).sum::<Amount>(), p.price_before_tax);
        let mut sum = p.direct_cost;
        for step in &p.steps {
            sum += step.amount;
            prop_assert_eq!(sum, step.sum);
        }
        prop_assert_eq!(sum, p.price_before_tax);
        prop_assert_eq!(p.sale_taxes.iter().map(|t| t.amount).sum::<Amount>(), p.sale_tax);
        prop_assert_eq!(p.price_before_tax + p.sale_tax, p.total);
        prop_assert_eq!(e.labor.trades.iter().map(|t| t.cost).sum::<Amount>(), e.labor.cost);
        // Each trade of each task is rounded once there and once in the sum: half a cent for each.
        let tasks: Amount = e.labor.tasks.iter().map(|t| t.cost).sum();
        let rounded: usize = e.labor.tasks.iter().map(|t| t.crew.len()).sum::<usize>() + e.labor.trades.len();
        prop_assert!((tasks - e.labor.cost).minor().abs() * 2 <= rounded as i64, "{tasks} {}", e.labor.cost);
        for line in &e.cost_lines {
            prop_assert!(rillcast::compute::rules::find(line.rule).is_some(), "{}", line.rule);
            prop_assert!(!line.basis.is_empty());
        }
    }

    #[test]
    fn splitting_a_leg_of_a_line_where_nothing_turns_changes_nothing(
        parts in prop::collection::vec(8_i64..800, 1..8), slope in 0_i64..3, surface in 0_usize..3, drop in 0_i64..200,
    ) {
        let total: i64 = parts.iter().sum();
        let top = match surface {
            0 => json!({"kind": "bare_soil"}),
            1 => json!({"kind": "concrete_slab", "thickness": "4 in"}),
            _ => json!({"kind": "asphalt", "thickness": "3 in"}),
        };
        let notes = |legs: &[i64]| json!({
            "runs": [{"id": "r", "legs": [{"length": "20 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
                      "surface": {"kind": "bare_soil"}, "outlets": [{"kind": "bottom", "id": "o", "at": "10 ft"}]}],
            "drain_lines": [{"id": "a", "from": [{"outlet": "o"}], "pipe": "pipe-6", "side_slope": format!("0.{}", slope * 5),
                "legs": legs.iter().map(|l| json!({"length": text(*l, false), "surface": top})).collect::<Vec<_>>(),
                "ground": [{"at": "0 ft", "level": "2 ft"}, {"at": text(total, false), "level": text(drop, false)}],
                "ends": {"kind": "discharges", "to": "swale"}}]
        });
        let (whole, split) = (estimate(&notes(&[total])), estimate(&notes(&parts)));
        prop_assert_eq!(bought(&whole), bought(&split));
        prop_assert_eq!(whole.price.total, split.price.total);
        prop_assert_eq!(whole.labor.cost, split.labor.cost);
    }

    #[test]
    fn trench_volumes_close(
        legs in prop::collection::vec(80_i64..4_000, 1..4), drop in 0_i64..400, slope in 0_i64..4, fall in 5_i64..30,
    ) {
        let total: i64 = legs.iter().sum();
        let notes = json!({
            "runs": [{"id": "r", "legs": [{"length": "20 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
                      "outlets": [{"kind": "bottom", "id": "o", "at": "10 ft"}]}],
            "drain_lines": [{"id": "a", "from": [{"outlet": "o"}], "pipe": "pipe-6", "side_slope": format!("0.{}", slope * 25),
                "legs": legs.iter().map(|l| json!({"length": text(*l, false)})).collect::<Vec<_>>(),
                "fall_pct": format!("{}.{}", fall / 10, fall % 10),
                "ground": [{"at": "0 ft", "level": "0 in"}, {"at": text(total, false), "level": format!("-{}", text(drop, false))}],
                "ends": {"kind": "discharges", "to": "swale"}}]
        });
        let notes = read(&notes);
        let layout = resolve(&notes, &BOOK).unwrap_or_else(|e| panic!("{e}"));
        let levels = levels::all(&layout, &BOOK);
        let line = &layout.lines[0];
        let inch = |n| Length::inches(n, 1);
        let (outside, bedding) = (line.pipe.outside_diameter, inch(4));
        let wall = (outside - line.pipe.inside_diameter).half();
        let stations = profile::stations(line, &levels[0], wall, bedding, Length::feet(8));
        let section = profile::Section {
            width: inch(22), side_slope: line.side_slope, bedding, zone_top: bedding + outside + inch(6), outside,
        };
        let v = profile::volumes(line, &stations, &section);
        prop_assert_eq!(v.dug, v.bedding + v.pipe + v.zone + v.backfill);
        for part in [v.dug, v.bedding, v.pipe, v.zone, v.backfill] {
            prop_assert!(part >= Volume::ZERO);
        }
        // Against plain summation of thin slices.
        let n = 4_000;
        let (mut dug, step) = (0.0, line.length.metres_f64() / f64::from(n));
        for i in 0..n {
            let x = Length::from_metres_f64((f64::from(i) + 0.5) * step).expect("a station");
            let depth = profile::ground_at(&line.ground, x) - (levels[0].invert(x, line.length) - wall - bedding);
            dug += profile::area_to(depth, section.width, section.side_slope).square_metres_f64() * step;
        }
        let got = v.dug.cubic_metres_f64();
        prop_assert!((got - dug).abs() <= 1e-4 * dug.max(0.01), "{got} against {dug}");
    }
}
