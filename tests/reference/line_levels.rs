//! How drain lines lie: cover up to an end in the open, falls of lines that join others. Geometry worked by hand.

use crate::lines::{checked, estimate, run};
use rillcast::compute::answers::Estimate;
use rillcast::domain::lines::Outcome;
use serde_json::{Value, json};

/// The check of the cover over one line of this pipe from a run at level 0: an end outlet of `channel-4-light` lies 4 3/4 in below
/// it, a bottom outlet of `channel-6-u` 20 1/8 in.
fn cover_of(run: &Value, pipe: &str, ground: &Value, ends: &Value) -> (Outcome, String) {
    let made = estimate(&json!({"unit_system": "us", "runs": [run], "drain_lines": [
        {"id": "l", "from": [{"outlet": "a-out"}], "pipe": pipe, "legs": [{"length": "40 ft"}], "ground": ground, "ends": ends}]}));
    let check = checked(&made, "cover", "line l").unwrap();
    (check.outcome, check.reason.clone())
}

fn profile(points: &[(i64, i64)]) -> Value {
    points
        .iter()
        .map(|(at, level)| json!({"at": format!("{at} ft"), "level": format!("{level} in")}))
        .collect()
}

fn bottom_run() -> Value {
    json!({"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
        "outlets": [{"kind": "bottom", "id": "a-out", "at": "19 ft"}]})
}

/// From 4 3/4 in down to 20 in over 40 ft the top of a pipe of 4 in (3.975 in bore, 0.12 in wall) lies 0.655 in, 6.0925 in and
/// -8.095 in below ground at 0 in, -6 in and -24 in: it comes out 10 ft x 6.0925 / 14.1875 = 4.294 ft behind 30 ft.
#[test]
fn a_pipe_comes_out_of_the_ground_at_an_end_in_the_open() {
    let ground = profile(&[(0, 0), (30, -6), (40, -24)]);
    let of = |to: &str, invert: &str| {
        let ends = json!({"kind": "discharges", "to": to, "invert_level": invert});
        cover_of(&run("a"), "pipe-4", &ground, &ends)
    };
    for to in ["daylight", "street", "swale", "pond"] {
        let (outcome, reason) = of(to, "-20 in");
        assert_eq!(outcome, Outcome::Warn, "{to}: {reason}");
        for words in [
            "at 0 in the cover is 0.655 in; from 0 in to 34.294 ft it is less than 1 ft: what enters",
            "from 34.294 ft on it stands out of the ground, 5.706 ft in all",
            "is not counted",
        ] {
            assert!(reason.contains(words), "{to}: {words}: {reason}");
        }
        assert_eq!(of(to, "-24 in").0, Outcome::Warn);
    }
    for to in ["storm_sewer", "existing_pipe", "dry_well"] {
        let (outcome, reason) = of(to, "-20 in");
        assert_eq!(outcome, Outcome::Fail, "{to}");
        assert!(reason.contains("at 40 ft the top of the pipe lies 8.095 in above the ground"), "{reason}");
    }
    // A dip amid the line is no end.
    let ends = json!({"kind": "discharges", "to": "daylight", "invert_level": "-20 in"});
    let dip = profile(&[(0, 0), (20, -24), (30, 0), (40, -24)]);
    let (outcome, reason) = cover_of(&run("a"), "pipe-4", &dip, &ends);
    assert_eq!(outcome, Outcome::Fail);
    assert!(reason.contains("at 20 ft the top of the pipe lies "), "{reason}");
}

/// With enough cover up to a steep slope nothing is left but the end. A pipe of 6 in (5.915 in bore, 0.18 in wall) lies from
/// 20.125 in down to 24 in: its top 17.711 in deep at 38 ft and 18.095 in above the ground at 40 ft, out from
/// 38 ft + 2 ft x 17.711 / 35.806.
#[test]
fn the_last_pipe_comes_out_of_a_slope() {
    let ends = json!({"kind": "discharges", "to": "daylight", "invert_level": "-24 in"});
    let of = |ground: &[(i64, i64)]| cover_of(&bottom_run(), "pipe-6", &profile(ground), &ends);
    let (outcome, reason) = of(&[(0, 0), (38, 0), (40, -36)]);
    assert_eq!(outcome, Outcome::Pass, "{reason}");
    assert!(reason.starts_with("least cover 1.169 ft at 0 in;"), "{reason}");
    for words in ["it is less than 1 ft from 38.319 ft on", "from 38.989 ft on it stands out of the ground"] {
        assert!(reason.contains(words), "{words}: {reason}");
    }
    // Ground that leaves the pipe early: more than one pipe of 10 ft has nothing below it.
    let (outcome, reason) = of(&[(0, 0), (10, 0), (40, -60)]);
    assert_eq!(outcome, Outcome::Fail);
    assert!(reason.contains("hangs clear of it over the last 18."), "{reason}");
    // Ground that meets the invert at the end lets a long pipe show, but bears it.
    let (outcome, reason) = of(&[(0, 0), (10, 0), (40, -24)]);
    assert_eq!(outcome, Outcome::Warn);
    assert!(reason.contains("stands out of the ground") && !reason.contains("hangs"), "{reason}");
}

/// Two runs at these levels in inches, each with the end outlet of `channel-4-light` 4 3/4 in below it. The main line falls from the
/// first by 2 % over 50 ft (12 in) or to a level that is told, the second joins it at 30 ft, a third joins that at 10 ft.
fn joining(branch_level: i64, branch: &Value, main: &Value, twig: &str) -> (Estimate, Value) {
    let at = |id: &str, level: i64| {
        let mut run = run(id);
        run["surface_level"] = json!(format!("{level} in"));
        run
    };
    let ground = json!([{"at": "0 ft", "level": "0 ft"}]);
    let of = |id: &str, from: &str, length: &str, ends: &Value, rest: &Value| {
        let mut line = json!({"id": id, "from": [{"outlet": from}], "pipe": "pipe-4", "legs": [{"length": length}],
            "ground": ground, "ends": ends});
        line.as_object_mut().unwrap().extend(rest.as_object().unwrap().clone());
        line
    };
    let joins = |line: &str, at: &str| json!({"kind": "joins", "line": line, "at": at});
    let mut lines = vec![
        of("twig", "c-out", "8 ft", &joins("branch", "10 ft"), &json!({"pipe": twig})),
        of("main", "a-out", "50 ft", &json!({"kind": "discharges", "to": "dry_well"}), main),
        of("branch", "b-out", "20 ft", &joins("main", "30 ft"), branch),
    ];
    let mut answers = (0..3).map(|_| {
        lines.rotate_left(1);
        let runs = [at("a", 0), at("b", branch_level), at("c", branch_level + 2)];
        let made = estimate(&json!({"unit_system": "us", "runs": runs, "drain_lines": lines}));
        let mut of_lines = serde_json::to_value(&made.layout.drain_lines).unwrap();
        of_lines.as_array_mut().unwrap().sort_by_key(|line| line["line"].to_string());
        (made, of_lines)
    });
    let (made, first) = answers.next().unwrap();
    assert!(answers.all(|(_, other)| other == first), "the order of the notes does not count");
    (made, first)
}

/// Invert where a line of [`joining`] ends, in feet.
fn ends_at(lines: &Value, line: &str) -> f64 {
    let lines = lines.as_array().unwrap();
    let table = lines.iter().find(|l| l["line"] == line).unwrap()["dig_table"].as_array().unwrap();
    table.last().unwrap()["invert"]["value"].as_str().unwrap().parse().unwrap()
}

/// -4.75 in less 2 % of 30 ft are -11.95 in on the main line; from -4.75 in down to it a branch of 20 ft falls by 3 %. At 10 ft it
/// lies at -8.35 in, 3.6 in below it: the twig begins 2 in higher and falls 5.6 in over 8 ft, 5.8333 %.
#[test]
fn a_line_that_joins_another_is_laid_to_its_invert() {
    let two = json!({"fall_pct": "2"});
    let (made, lines) = joining(0, &json!({}), &two, "pipe-4");
    for (line, inches) in [("branch", -11.95), ("twig", -8.35)] {
        assert!((ends_at(&lines, line) * 12.0 - inches).abs() < 1e-3, "{line}: {}", ends_at(&lines, line));
    }
    let of = |line: &str| {
        let line = made.layout.drain_lines.iter().find(|l| l.line == line).unwrap();
        line.quantities.iter().find(|q| q.name == "fall").unwrap()
    };
    assert_eq!(
        (of("branch").quantity.to_string(), of("twig").quantity.to_string()),
        ("3 %".into(), "5.8333 %".into())
    );
    assert!(
        of("branch").basis.ends_with("at the lower, down to that of line main there"),
        "{}",
        of("branch").basis
    );
    let fall = checked(&made, "fall_available", "line branch").unwrap();
    assert_eq!(fall.outcome, Outcome::Pass);
    assert!(
        fall.reason.contains("to the invert of line main at 30 ft, -11.95 in, there are 7.2 in;"),
        "{}",
        fall.reason
    );
    let enters = |made: &Estimate| {
        let mut all = made.checks.iter().filter(|c| c.name == "enters_above_invert");
        all.find(|c| c.subject == "line main" && c.reason.starts_with("line branch")).cloned()
    };
    assert!(enters(&made).unwrap().reason.contains("arrives 0 in above"));
    // A fall that is told stays, and what drops into the line is said not to be counted: 7.2 in less 2.4 in above the invert.
    let (made, lines) = joining(0, &json!({"fall_pct": "1"}), &two, "pipe-4");
    assert!((ends_at(&lines, "branch") * 12.0 + 7.15).abs() < 1e-3);
    let told = enters(&made).unwrap();
    assert_eq!(told.outcome, Outcome::Pass);
    assert!(
        told.reason.contains("4.8 in above the invert at 30 ft, above its bore of 3.975 in: it drops into"),
        "{}",
        told.reason
    );
    assert!(told.reason.contains("not counted"), "{}", told.reason);
    assert!(checked(&made, "fall_available", "line branch").is_none());
}

/// Two lines join one with nothing at its upper end: the lower gives it its start, the other is laid down to its invert, whichever
/// the notes name first.
#[test]
fn only_the_lowest_that_joins_gives_a_line_its_start() {
    let run = |id: &str, level: &str| {
        json!({"id": id, "legs": [{"length": "6 m"}], "channel_system": "channel-4-light", "crossing": "feet", "surface_level": level,
            "outlets": [{"kind": "bottom", "id": format!("{id}-out"), "at": "3 m"}]})
    };
    let line = |id: &str, length: &str, ends: Value| json!({"id": id, "pipe": "pipe-4", "legs": [{"length": length}], "depth": "900 mm", "ends": ends});
    let mut main =
        line("main", "20 m", json!({"kind": "discharges", "to": "storm_sewer", "invert_level": "-3 m"}));
    main["depth"] = json!("1200 mm");
    for at in ["5 m", "10 m", "0 m"] {
        let mut low = line(
            "low",
            "5 m",
            json!({"kind": "joins", "line": "main", "at": if at == "0 m" { at } else { "5 m" }}),
        );
        low["from"] = json!([{"outlet": "r1-out"}]);
        let mut high = line("high", "20 m", json!({"kind": "joins", "line": "main", "at": at}));
        high["from"] = json!([{"outlet": "r2-out"}]);
        let mut lines = vec![main.clone(), low, high];
        for _ in 0..3 {
            lines.rotate_left(1);
            let made =
                estimate(&json!({"unit_system": "metric", "runs": [run("r1", "-900 mm"), run("r2", "0 mm")],
                "drain_lines": lines}));
            let of_lines = serde_json::to_value(&made.layout.drain_lines).unwrap();
            let table = |id: &str| {
                let line = of_lines.as_array().unwrap().iter().find(|l| l["line"] == id).unwrap();
                let invert = |row: &Value| row["invert"]["value"].as_str().unwrap().parse::<f64>().unwrap();
                let rows = line["dig_table"].as_array().unwrap();
                (invert(&rows[0]), invert(rows.last().unwrap()))
            };
            let (start, finish) = table("main");
            let station = at.trim_end_matches(" m").parse::<f64>().unwrap();
            let there = start + (finish - start) * station / 20.0;
            assert!((table("high").1 - there).abs() < 2e-3, "at {at}: {} and not {there}", table("high").1);
            assert!((table("low").1 - start).abs() < 2e-3, "the lower begins the line at its own level");
            let drops =
                |reason: &str| reason.starts_with("line high") && reason.contains("drops into the line");
            assert!(!made.checks.iter().any(|c| drops(&c.reason)), "at {at}");
        }
    }
}

/// A run 10 in lower lets its water out below the main line, where a pipe cannot rise: as at a discharge that lies too high. With 2 in
/// left over 20 ft there is less than the least fall.
#[test]
fn a_line_that_begins_below_the_one_it_joins_fails() {
    let two = json!({"fall_pct": "2"});
    let (made, lines) = joining(-10, &json!({}), &two, "pipe-4");
    assert!((ends_at(&lines, "branch") * 12.0 + 14.75).abs() < 1e-3);
    for (name, subject, words) in
        [("least_fall", "line branch", "laid at 0 %"), ("fall_available", "line branch", "5.2 in missing")]
    {
        let check = checked(&made, name, subject).unwrap();
        assert_eq!(check.outcome, Outcome::Fail, "{name}");
        assert!(check.reason.contains(words), "{}", check.reason);
    }
    let below =
        made.checks.iter().find(|c| c.name == "enters_above_invert" && c.outcome == Outcome::Fail).unwrap();
    assert!(
        below.reason.contains("line branch arrives 2.8 in below the invert at 30 ft"),
        "{}",
        below.reason
    );
    let (made, _) = joining(-6, &json!({}), &two, "pipe-4");
    let fall = checked(&made, "fall_available", "line branch").unwrap();
    assert_eq!(fall.outcome, Outcome::Fail);
    assert!(fall.reason.ends_with("1.2 in missing"), "{}", fall.reason);
}

/// The outlet of `channel-6-u` lies 8 1/8 in below the slab: 2.03 in over a pipe of 6 in, which reach 3.18 in at 6 ft and 9.905 in at
/// the end. A slab of 5 in takes all of that leg, one of 3 in as far as 0.97 in of the 7.875 in that are gained over 41 ft.
#[test]
fn a_pipe_that_reaches_into_a_slab_is_named() {
    let under = |thickness: &str, bend: bool| {
        let slab = json!({"kind": "concrete_slab", "thickness": thickness});
        let mut legs = json!([{"length": "6 ft", "surface": slab}, {"length": "35 ft"}]);
        if bend {
            legs[0]["bend"] = json!(90);
        }
        let mut run = bottom_run();
        run["outlets"] = json!([{"kind": "end", "id": "a-out", "at": "finish"}]);
        let made = estimate(&json!({"unit_system": "us", "runs": [run], "drain_lines": [
            {"id": "l", "from": [{"outlet": "a-out"}], "pipe": "pipe-6", "legs": legs,
             "ground": [{"at": "0 ft", "level": "0 in"}, {"at": "41 ft", "level": "-8 in"}],
             "ends": {"kind": "discharges", "to": "street", "invert_level": "-2 ft"}}]}));
        let cover = checked(&made, "cover", "line l").unwrap().reason.clone();
        (checked(&made, "slab_against_trench", "line l").map(|c| c.reason.clone()), cover)
    };
    let (slab, cover) = under("5 in", true);
    let slab = slab.unwrap();
    assert!(
        slab.starts_with("leg 1: 5 in of concrete_slab lie on top, and at 0 in only 2.03 in over the pipe; all along it reaches \
             into the concrete_slab: what enters at the upper end sets the level there"),
        "{slab}"
    );
    assert!(cover.contains("; all along it is less than 1 ft: what enters at the upper end sets"), "{cover}");
    let (slab, _) = under("3 in", false);
    let slab = slab.unwrap();
    assert!(
        slab.contains("only 2.03 in over the pipe; from 0 in to 5.05 ft it reaches into the concrete_slab: "),
        "{slab}"
    );
    assert_eq!(under("2 in", false).0, None);
}

/// A cover that is enough at both ends and not in a dip names the dip: 14.03 in and 17.905 in over the pipe where the ground is
/// level, 5.97 in at 20 ft, less than 12 in over the middle of both slopes.
#[test]
fn the_stretch_of_too_little_cover_is_named() {
    let ends = json!({"kind": "discharges", "to": "dry_well", "invert_level": "-24 in"});
    let ground = profile(&[(0, 0), (10, 0), (20, -10), (30, 0)]);
    let (outcome, reason) = cover_of(&bottom_run(), "pipe-6", &ground, &ends);
    assert_eq!(outcome, Outcome::Warn);
    assert!(reason.contains("at 20 ft the cover is 5.968 in; from 13."), "{reason}");
    assert!(reason.ends_with(" ft it is less than 1 ft: protect the pipe or lay it deeper"), "{reason}");
}

/// Of two lines at an upper end the one of the same pipe goes straight in, whichever the notes name first; the book has a branch that
/// takes the other.
#[test]
fn what_fits_goes_straight_in_at_an_upper_end() {
    let line = |id: &str, pipe: &str, from: Value, ends: Value| json!({"id": id, "pipe": pipe, "from": from, "legs": [{"length": "20 ft"}], "depth": "3 ft", "ends": ends});
    let joins = json!({"kind": "joins", "line": "main", "at": "0 ft"});
    let mut lines = vec![
        line("main", "pipe-6", json!([]), json!({"kind": "discharges", "to": "storm_sewer"})),
        line("a", "pipe-4", json!([{"outlet": "a-out"}]), joins.clone()),
        line("b", "pipe-6", json!([{"outlet": "b-out"}]), joins),
    ];
    lines[0].as_object_mut().unwrap().remove("from");
    for _ in 0..2 {
        lines.swap(1, 2);
        let made =
            estimate(&json!({"unit_system": "us", "runs": [run("a"), run("b")], "drain_lines": lines}));
        let branches: Vec<_> = made.cost_lines.iter().filter(|l| l.code.starts_with("branch-")).collect();
        let [branch] = branches.as_slice() else { panic!("{branches:?}") };
        assert_eq!((branch.code.as_str(), branch.quantity.to_string()), ("branch-6-4", "1".to_owned()));
        assert!(made.checks.iter().all(|c| c.name != "reducer"));
    }
}

/// The branch fitting of a pipe of 8 in does not by itself take one of 4 in; one of its own size it does, and that of 6 in which is
/// made for it.
#[test]
fn a_line_of_another_size_that_joins_asks_for_a_reducer() {
    let of = |main: &str, twig: &str| {
        let (made, _) = joining(0, &json!({"pipe": "pipe-4"}), &json!({"pipe": main, "fall_pct": "2"}), twig);
        let found = made.checks.into_iter().filter(|c| c.name == "reducer");
        found.map(|c| (c.outcome, c.subject, c.reason)).collect::<Vec<_>>()
    };
    assert!(of("pipe-4", "pipe-4").is_empty());
    assert!(of("pipe-6", "pipe-4").is_empty(), "the book has a fitting of both sizes");
    let found = of("pipe-8", "pipe-4");
    let [(outcome, subject, reason)] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!((*outcome, subject.as_str()), (Outcome::Warn, "line main"));
    assert!(
        reason.starts_with(
            "line branch joins at 30 ft: it is `pipe-4`, the line and its fittings are `pipe-8`"
        ),
        "{reason}"
    );
    assert_eq!(of("pipe-8", "pipe-6").len(), 2, "the twig is wider than the branch");
}
