//! Limits that are met to the hair: what is just enough passes, the least bit more does not. Geometry worked by hand; common
//! practice, no source, where no other is named.

use crate::lines::{checked, estimate, run};
use crate::support::{book, used};
use rillcast::compute::answers::Estimate;
use rillcast::compute::pipeline;
use rillcast::compute::takeoff::levels::least_fall_of;
use rillcast::domain::book::PriceBook;
use rillcast::domain::demo::{BOOK, rains};
use rillcast::domain::lines::Outcome;
use rillcast::domain::words::Task;
use rillcast::units::{Length, Percent};
use rillcast::wire::{read_document, read_value};
use serde_json::{Value, json};

/// A line of pipe-4 (4.215 in outside, 3.975 in bore) from a run whose outlet lies 4 3/4 in below level 0, over 40 ft.
fn line(rest: &Value) -> Estimate {
    let mut line = json!({"id": "l", "from": [{"outlet": "a-out"}], "pipe": "pipe-4", "legs": [{"length": "40 ft"}],
        "ground": [{"at": "0 ft", "level": "0 ft"}], "ends": {"kind": "discharges", "to": "storm_sewer"}});
    line.as_object_mut().unwrap().extend(rest.as_object().unwrap().clone());
    estimate(&json!({"unit_system": "us", "runs": [run("a")], "drain_lines": [line]}))
}

#[track_caller]
fn outcome(made: &Estimate, name: &str) -> Option<Outcome> {
    checked(made, name, "line l").map(|c| c.outcome)
}

/// Plumbing codes ask for 2 % up to 2 1/2 in, for 1 % from 3 in to 6 in (IPC table 704.1, from memory): a bore of just the
/// size that ends a band belongs to it.
#[test]
fn a_bore_of_just_the_size_keeps_to_its_band_and_just_the_fall_is_enough() {
    let least = |bore: Length| least_fall_of(bore, &book()).unwrap();
    let inches = |n: i64| Length::inches(n, 2);
    assert_eq!([least(inches(5)), least(inches(6))], [Percent::whole(2), Percent::whole(1)]);
    assert_eq!(least(inches(14)), Percent::whole(1));
    assert_eq!(least(inches(15)), Percent::from_millionths(5_000));
    assert_eq!(outcome(&line(&json!({"fall_pct": "1"})), "least_fall"), Some(Outcome::Pass));
    assert_eq!(outcome(&line(&json!({"fall_pct": "0.9999"})), "least_fall"), Some(Outcome::Fail));
}

/// 1 % of 40 ft are 4.8 in: from 4.75 in below level 0 down to 9.55 in below it.
#[test]
fn a_discharge_just_low_enough_leaves_nothing_to_spare() {
    let to = |invert: &str| {
        let ends = json!({"kind": "discharges", "to": "storm_sewer", "invert_level": invert});
        let made = line(&json!({"fall_pct": "1", "ends": ends}));
        let check = checked(&made, "fall_available", "line l").unwrap();
        (check.outcome, check.reason.clone())
    };
    let (just, words) = to("-9.55 in");
    assert!(just == Outcome::Pass && words.ends_with(": 0 in to spare"), "{words}");
    let (high, words) = to("-9.5 in");
    assert!(high == Outcome::Fail && words.ends_with("missing"), "{words}");
}

/// ASTM D2321-05 (read): the greater of 4.215 in + 16 in and 1.25 x 4.215 in + 12 in.
#[test]
fn a_trench_just_wide_enough_is_not_spoken_of() {
    let wide = |width: &str| outcome(&line(&json!({"trench_width": width})), "trench_width");
    assert_eq!(wide("20.215 in"), None);
    assert_eq!(wide("20.2 in"), Some(Outcome::Warn));
    assert_eq!(wide("4.215 in"), Some(Outcome::Warn));
    assert_eq!(wide("4.2 in"), Some(Outcome::Fail));
}

/// The trencher of the book digs to 3 ft: it reaches a line of just that depth, and only the deeper one is named.
#[test]
fn a_method_reaches_just_as_deep_as_it_digs() {
    let lines = |depths: &[&str]| {
        let runs: Vec<Value> = (0..depths.len()).map(|n| run(&format!("r{n}"))).collect();
        let lines = depths.iter().enumerate().map(|(n, depth)| {
            json!({"id": format!("l{n}"), "from": [{"outlet": format!("r{n}-out")}], "pipe": "pipe-4", "depth": depth,
                "legs": [{"length": "20 ft"}], "ends": {"kind": "discharges", "to": "dry_well"}})
        });
        let made =
            estimate(&json!({"unit_system": "us", "runs": runs, "drain_lines": lines.collect::<Vec<_>>(),
            "options": {"methods": [{"task": "dig_line", "method": "trencher"}]}}));
        let check = checked(&made, "method_reach", "dig_line").unwrap();
        (check.outcome, check.reason.clone())
    };
    let (just, words) = lines(&["3 ft"]);
    assert!(just == Outcome::Pass && words.ends_with(" (line l0)"), "{words}");
    let (deep, words) = lines(&["3 ft", "4 ft"]);
    assert!(deep == Outcome::Fail && words.ends_with(" (line l1)"), "{words}");
}

/// Three bends of 45 degrees are 135, a fourth is more.
#[test]
fn a_clean_out_stands_where_the_line_has_turned_more_than_the_limit() {
    let clean_outs = |bends: usize| {
        let mut legs = vec![json!({"length": "5 ft", "bend": 45}); bends];
        legs.push(json!({"length": "5 ft"}));
        let made = line(&json!({"legs": legs, "depth": "2 ft", "ground": []}));
        let found = made.layout.drain_lines[0].quantities.iter().find(|q| q.name == "clean_outs");
        found.map(|q| q.quantity.value().to_string())
    };
    assert_eq!(clean_outs(3), None);
    assert_eq!(clean_outs(4).as_deref(), Some("1"));
}

/// A pipe of 6 in (6.275 in outside, 5.915 in bore, in pieces of 10 ft) from 20.125 in down to 24 in below level 0 over 40 ft: its
/// top lies 14.03 in, 15.9675 in and 16.93625 in below level 0 at 0 ft, 20 ft and 30 ft.
#[test]
fn a_pipe_may_stand_out_by_one_whole_piece() {
    let run = json!({"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
        "outlets": [{"kind": "bottom", "id": "a-out", "at": "19 ft"}]});
    let over = |ground: &[(&str, &str)]| {
        let ground: Vec<Value> = ground.iter().map(|(at, level)| json!({"at": at, "level": level})).collect();
        let made = estimate(&json!({"unit_system": "us", "runs": [run], "drain_lines": [{"id": "l",
            "from": [{"outlet": "a-out"}], "pipe": "pipe-6", "legs": [{"length": "40 ft"}], "ground": ground,
            "ends": {"kind": "discharges", "to": "daylight", "invert_level": "-24 in"}}]}));
        let check = checked(&made, "cover", "line l").unwrap();
        (check.outcome, check.reason.clone())
    };
    // out of the ground from 30 ft on
    let (stands, words) =
        over(&[("0 ft", "0 in"), ("28 ft", "0 in"), ("30 ft", "-16.93625 in"), ("40 ft", "-19 in")]);
    assert!(words.contains("from 30 ft on it stands out of the ground, 10 ft in all"), "{words}");
    assert_eq!(stands, Outcome::Pass, "{words}");
    let (more, words) =
        over(&[("0 ft", "0 in"), ("28 ft", "0 in"), ("29.9 ft", "-16.93625 in"), ("40 ft", "-19 in")]);
    assert_eq!(more, Outcome::Warn, "{words}");
    // its bottom just on the ground at 30 ft, clear of it behind
    let clear =
        |level: &str| over(&[("0 ft", "0 in"), ("28 ft", "0 in"), ("30 ft", level), ("40 ft", "-60 in")]);
    let (bears, words) = clear("-23.21125 in");
    assert!(bears == Outcome::Warn && !words.contains("hangs"), "{words}");
    let (hangs, words) = clear("-23.3 in");
    assert!(hangs == Outcome::Fail && words.contains("hangs clear"), "{words}");
    // 1 ft of cover at 20 ft, none at 30 ft: less than 1 ft over one whole piece, which is told with the end
    let (thin, words) =
        over(&[("0 ft", "0 in"), ("20 ft", "-3.9675 in"), ("30 ft", "-16.93625 in"), ("40 ft", "-19 in")]);
    assert!(words.contains("towards its end in the open it is less than 1 ft from 20 ft on"), "{words}");
    assert_eq!(thin, Outcome::Pass, "{words}");
}

/// The estimate of one run of 11 ft 4 in in bare soil by a book that was changed.
fn of_run(change: impl FnOnce(&mut Value), rest: &Value, haul: &Value) -> Estimate {
    let mut doc: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut doc);
    let book = PriceBook::check(read_document(doc.to_string().as_bytes()).unwrap()).unwrap();
    let mut run = json!({"id": "a", "legs": [{"length": "11 ft 4 in"}], "channel_system": "channel-6-u", "crossing": "feet",
        "outlets": [{"kind": "end", "id": "o", "at": "finish"}]});
    run.as_object_mut().unwrap().extend(rest.as_object().unwrap().clone());
    let notes =
        read_value(&json!({"soil": "clay", "runs": [run], "haul": haul})).unwrap_or_else(|e| panic!("{e}"));
    pipeline::estimate(&notes, &book, &used(), &rains().unwrap()).unwrap_or_else(|e| panic!("{e}"))
}

/// 8 in wide and 9 in high with 4 in beside and beyond it: 12 ft x 16 in x 9 in = 12 ft3, of which nothing goes back.
#[test]
fn all_the_soil_there_is_can_be_kept() {
    let kept = |volume: &str| {
        let made = of_run(|_| {}, &json!({}), &json!({"spoil_kept": volume}));
        made.checks.iter().find(|c| c.name == "spoil_kept").map(|c| c.outcome)
    };
    assert_eq!(kept("12 ft3"), None);
    assert_eq!(kept("12.001 ft3"), Some(Outcome::Warn));
}

/// The trench is 9 in deep, and concrete of 9 in reaches just its bottom.
#[test]
fn a_slab_just_as_deep_as_the_trench_is_not_deeper() {
    let warned = |thickness: &str| {
        let slab = json!({"surface": {"kind": "concrete_slab", "thickness": thickness}});
        let made = of_run(|_| {}, &slab, &json!({}));
        made.checks.iter().any(|c| c.name == "slab_against_trench")
    };
    assert_eq!([warned("9 in"), warned("9.1 in")], [false, true]);
}

/// Digging takes 1.15 times as long where it is deeper than 3 ft: 9 in of channel on 27 in of concrete are no deeper.
#[test]
fn a_trench_of_just_the_depth_takes_no_longer() {
    let basis = |base: &'static str| {
        let made = of_run(|book| book["setting_details"][0]["base"] = json!(base), &json!({}), &json!({}));
        made.labor.tasks.iter().find(|t| t.task == Task::DigRun).unwrap().basis.clone()
    };
    assert!(!basis("27 in").contains("1.15"), "{}", basis("27 in"));
    assert!(basis("27.1 in").contains("x 1.15"), "{}", basis("27.1 in"));
}

/// A detail bears what the heaviest class of those it is made for bears: EN 1433, D400 of C250 and D400.
#[test]
fn a_detail_is_as_strong_as_the_heaviest_it_is_made_for() {
    for crossings in [json!(["C250", "D400"]), json!(["D400", "C250"])] {
        let made = of_run(
            |book| book["setting_details"][2]["crossings"] = crossings,
            &json!({"crossing": "E600", "setting_detail": "trucks"}),
            &json!({}),
        );
        let check = made.checks.iter().find(|c| c.name == "setting_detail").unwrap();
        assert_eq!(check.outcome, Outcome::Fail);
        assert!(check.reason.contains("no more than D400"), "{}", check.reason);
    }
}

/// A bottom outlet that is a section of its own has a joint on either side: 4 ft sections over 5 ft 6 in and 5 ft 6 in beside an
/// outlet of 4 in in the middle.
#[test]
fn an_outlet_in_the_channel_has_two_joints() {
    let joints = |uses: Option<&'static str>| {
        let made = of_run(
            |book| {
                let systems = book["channel_systems"].as_array_mut().unwrap();
                let system = systems.iter_mut().find(|s| s["code"] == "channel-6-u").unwrap();
                if let Some(length) = uses {
                    system["bottom_outlet"]["uses_length"] = json!(length);
                }
            },
            &json!({"outlets": [{"kind": "bottom", "id": "o", "at": "5 ft 8 in"}]}),
            &json!({}),
        );
        let of = |name: &str| made.layout.runs[0].quantities.iter().find(|q| q.name == name).unwrap();
        let net = of("net_channel").quantity.to_string();
        (of("joints").quantity.value().to_string(), of("joints").basis.to_string(), net)
    };
    // two sections on each side, a joint between them, and one on each side of the outlet
    let (count, words, net) = joints(Some("4 in"));
    assert_eq!((count.as_str(), net.as_str()), ("4", "11 ft"), "{words}");
    assert!(words.ends_with("2 at 1 outlet in the channel"), "{words}");
    // 11 ft 4 in in three sections
    let (count, words, net) = joints(None);
    assert_eq!((count.as_str(), net.as_str()), ("2", "11.3333 ft"), "{words}");
}

/// Relief cuts are sawn besides the closed cut: 12 ft x 16 in with 2 in of over-cut on every side, and 5 ft.
#[test]
fn relief_cuts_are_sawn_besides_the_closed_cut() {
    let saw = |rest: Value| {
        let mut rest = rest;
        rest["surface"] = json!({"kind": "concrete_slab", "thickness": "4 in"});
        let made = of_run(|book| book["over_cut"] = json!("2 in"), &rest, &json!({}));
        let found = made.layout.runs[0].quantities.iter().find(|q| q.name == "saw_cut").unwrap();
        found.quantity.value().normalize().to_string()
    };
    assert_eq!(saw(json!({})), "28");
    assert_eq!(saw(json!({"relief_cuts": "5 ft"})), "33");
}

/// 29 CFR 1926.651(c)(2) and 652(a)(1) (read): a way out and protection from 4 ft and 5 ft on, 652(b) and (c): an engineer beyond
/// 20 ft. 9 in of channel on 39 in, 51 in and 231 in of concrete are just as deep.
#[test]
fn cautions_of_depth_begin_where_the_rules_say() {
    let told = |base: &'static str| -> Vec<&'static str> {
        let made = of_run(|book| book["setting_details"][0]["base"] = json!(base), &json!({}), &json!({}));
        let depths = ["way_out", "cave_in", "engineered_protection"];
        depths.into_iter().filter(|name| made.cautions.iter().any(|c| c.name == *name)).collect()
    };
    assert_eq!(told("38.9 in"), [""; 0]);
    assert_eq!(told("39 in"), ["way_out"]);
    assert_eq!(told("50.9 in"), ["way_out"]);
    assert_eq!(told("51 in"), ["way_out", "cave_in"]);
    assert_eq!(told("231 in"), ["way_out", "cave_in"]);
    assert_eq!(told("231.1 in"), ["way_out", "cave_in", "engineered_protection"]);
}

/// 12 ft of channel 8 in x 9 in displace 6 ft3, at 150 lb a cubic foot 900 lb: four hangers, 4 ft apart, hold that by 225 lb each.
#[test]
fn hangers_that_hold_just_the_uplift_hold_it() {
    let outcome = |holds: &'static str| {
        let run = json!({"legs": [{"length": "12 ft"}], "crossing": "wheels"});
        let made = of_run(|book| book["hangers"]["holds"] = json!(holds), &run, &json!({}));
        made.checks.iter().find(|c| c.name == "uplift").map(|c| (c.outcome, c.reason.clone())).unwrap()
    };
    let (held, words) = outcome("225 lb");
    assert_eq!(held, Outcome::Pass, "{words}");
    let (lifted, words) = outcome("224.9 lb");
    assert_eq!(lifted, Outcome::Warn, "{words}");
}

/// A run of 8 in with 6 in of concrete beyond either end is just as long as the lap of its four bars, 20 in: each is one piece
/// without a lap, and all come from one bar of 20 ft.
#[test]
fn bars_as_long_as_their_lap_are_one_piece() {
    let run = json!({"legs": [{"length": "8 in"}], "channel_system": "channel-4-light", "crossing": "C250"});
    let made = of_run(|_| {}, &run, &json!({}));
    let bars = made.layout.runs[0].quantities.iter().find(|q| q.name == "bar_length").unwrap();
    assert!(bars.basis.starts_with("4 bars No. 4 x 1 ft 8 in + 0 laps"), "{}", bars.basis);
    let layout = serde_json::to_value(&made.layout).unwrap();
    let list = layout["cut_lists"].as_array().unwrap().iter().find(|l| l["part"] == "bar").unwrap();
    assert_eq!((list["stock_pieces"].as_i64(), list["joints"].as_i64()), (Some(1), Some(0)), "{list:#}");
}
