//! Trenches of runs where something is not plain: tees, slabs deeper than the trench, relief cuts, uplift. Geometry worked by
//! hand; common practice, no source, for what is done about it.

use crate::support::{book, used};
use rillcast::compute::answers::Estimate;
use rillcast::compute::pipeline;
use rillcast::domain::book::PriceBook;
use rillcast::domain::demo::{BOOK, rains};
use rillcast::domain::lines::Outcome;
use rillcast::units::Amount;
use rillcast::wire::{read_document, read_value};
use serde_json::{Value, json};

fn book_with(change: impl FnOnce(&mut Value)) -> PriceBook {
    let mut doc: Value = serde_json::from_str(BOOK).expect("JSON");
    change(&mut doc);
    let doc = read_document(doc.to_string().as_bytes()).unwrap_or_else(|e| panic!("{e}"));
    PriceBook::check(doc).unwrap_or_else(|e| panic!("{e}"))
}

fn estimate(run: Value, book: &PriceBook) -> Estimate {
    let mut whole = json!({"id": "r", "outlets": [{"kind": "end", "id": "o", "at": "finish"}]});
    for (member, value) in run.as_object().expect("a run") {
        whole[member] = value.clone();
    }
    let notes = read_value(&json!({"runs": [whole]})).unwrap_or_else(|e| panic!("{e}"));
    pipeline::estimate(&notes, book, &used(), &rains().unwrap()).unwrap_or_else(|e| panic!("{e}"))
}

fn quantity(estimate: &Estimate, name: &str) -> f64 {
    let run = &estimate.layout.runs[0].quantities;
    let found = run.iter().find(|q| q.name == name).unwrap_or_else(|| panic!("no {name}"));
    f64::try_from(found.quantity.value()).unwrap()
}

fn near(estimate: &Estimate, name: &str, expected: f64) {
    let got = quantity(estimate, name);
    assert!((got - expected).abs() < 0.001, "{name}: {got} is not {expected}");
}

/// A patch of 4 in beside the surround: in one lift with it up to what the book says.
#[test]
fn a_patch_too_thick_for_one_lift_is_said() {
    let outcome = |limit: Option<&'static str>, over_cut: &str| {
        let book = book_with(|b| {
            b["over_cut"] = json!(over_cut);
            if let Some(limit) = limit {
                b["concrete_rules"]["one_lift"] = json!(limit);
            }
        });
        let run = json!({"legs": [{"length": "10 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
            "surface": {"kind": "concrete_slab", "thickness": "4 in"}});
        let estimate = estimate(run, &book);
        estimate.checks.iter().find(|c| c.name == "one_lift").map(|c| c.outcome)
    };
    assert_eq!(outcome(Some("4 in"), "2 in"), Some(Outcome::Pass));
    assert_eq!(outcome(Some("3 1/2 in"), "2 in"), Some(Outcome::Warn));
    assert_eq!((outcome(None, "2 in"), outcome(Some("3 in"), "0 in")), (None, None));
}

#[test]
fn what_is_not_sawn_is_said_in_words() {
    let estimate = estimate(
        json!({"legs": [{"length": "10 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
            "surface": {"kind": "pavers", "thickness": "2 3/8 in"}, "relief_cuts": "3 ft"}),
        &book(),
    );
    let check = estimate.checks.iter().find(|c| c.name == "relief_cuts").unwrap();
    assert_eq!(check.reason, "relief cuts of 3 ft are noted, but pavers are not sawn: they are not counted");
}

/// A run of 30 ft with a leg of 10 ft that meets it in a tee, 8 in wide, 9 in high; 4 in beside, below and beyond it, 1/8 in
/// recess, 2 in over-cut: the union of the two rectangles, legs measured along their centre lines.
#[test]
fn the_trench_at_a_tee_is_the_union_of_both() {
    let tee = json!({
        "legs": [{"length": "30 ft"}, {"length": "10 ft", "meets": {"kind": "tee", "leg": 1, "at": "15 ft"}}],
        "channel_system": "channel-6-u", "crossing": "wheels",
        "surface": {"kind": "concrete_slab", "thickness": "4 in"},
        "outlets": [{"kind": "end", "id": "o", "at": "finish", "leg": 1}]
    });
    let estimate = estimate(tee, &book());
    let inch = 1.0 / 12.0;
    // in feet: the main trench with both ends, and what of the other lies beyond its side
    let plan = |side: f64| {
        let width = 8.0 * inch + 2.0 * side;
        let (main, branch) = (30.0 + 2.0 * side, 10.0 - width / 2.0 + side);
        (width * (main + branch), 2.0 * (main + width) + 2.0 * branch)
    };
    let (trench, _) = plan(4.0 * inch);
    let (cut, perimeter) = plan(6.0 * inch);
    let channel = 8.0 * inch * (40.0 - 4.0 * inch);
    near(&estimate, "trench_volume", trench * 13.125 * inch / 27.0);
    near(&estimate, "excavation", trench * 9.125 * inch / 27.0);
    near(&estimate, "surround_concrete", (trench * 13.125 * inch - channel * 9.125 * inch) / 27.0);
    near(&estimate, "slab_removed", cut * 4.0 * inch / 27.0);
    near(&estimate, "patch_concrete", (cut - trench) * 4.0 * inch / 27.0);
    near(&estimate, "saw_cut", perimeter);
}

/// A slab of 8 in over a trench of 5 in: what is sawn comes out whole, and concrete fills what is below the surround.
#[test]
fn a_slab_deeper_than_the_trench_is_lifted_whole() {
    let over = |inches: i64| {
        let surface = json!({"kind": "concrete_slab", "thickness": format!("{inches} in")});
        let run = json!({"legs": [{"length": "10 ft"}], "channel_system": "channel-4-light", "crossing": "feet", "surface": surface});
        estimate(run, &book())
    };
    let (thick, flush) = (over(8), over(2));
    let area = quantity(&flush, "slab_removed") / 2.0;
    near(&thick, "slab_removed", area * 8.0);
    assert!(quantity(&thick, "excavation").abs() < 1e-9, "nothing is left to dig");
    let trench = quantity(&thick, "trench_volume");
    let fill = quantity(&thick, "fill_concrete");
    // as deep below as above: 8 in less the trench's own depth, over the trench's own plan
    let depth = 5.0;
    assert!((fill - trench * (8.0 - depth) / depth).abs() < 0.002, "{fill} of {trench}");
}

#[test]
fn relief_cuts_where_nothing_is_sawn_are_told() {
    let run = json!({
        "legs": [{"length": "10 ft"}], "channel_system": "channel-4-light", "crossing": "feet", "relief_cuts": "5 ft",
        "surface": {"kind": "gravel", "thickness": "3 in"}
    });
    let estimate = estimate(run, &book());
    let check = estimate.checks.iter().find(|c| c.name == "relief_cuts").expect("a check");
    assert!(check.reason.contains("5 ft"), "{}", check.reason);
}

/// A run whose channel has fall built in, 60 m on the ground: 180 mm high, at 0.5 % 330 mm from 30 m on; 240 mm wide, 101.6 mm of
/// concrete round it, 3.175 mm recess.
fn falling(outlet: &Value) -> Value {
    let run = json!({"legs": [{"length": "60 m"}], "channel_system": "channel-8-fall", "crossing": "wheels", "outlets": [outlet]});
    serde_json::to_value(estimate(run, &book())).unwrap()
}

fn figures(list: &Value, member: &str) -> Vec<f64> {
    let figure = |row: &Value| row[member]["value"].as_str().unwrap().parse::<f64>().unwrap();
    list.as_array().unwrap_or_else(|| panic!("no list: {list}")).iter().map(figure).collect()
}

fn basis_of(estimate: &Value, name: &str) -> String {
    let all = estimate["layout"]["runs"][0]["quantities"].as_array().unwrap();
    all.iter().find(|q| q["name"] == name).unwrap_or_else(|| panic!("no {name}"))["basis"]
        .as_str()
        .unwrap()
        .to_owned()
}

/// Volumes go by the mean depth, the crew digs by the table: 284.775 mm at the shallow places, 434.775 mm at the deep ones.
#[test]
fn a_run_with_fall_is_dug_by_its_table() {
    let foot = 304.8;
    let close = |got: &[f64], expected: &[f64]| {
        let near = got.iter().zip(expected).all(|(a, b)| (a - b / foot).abs() < 1e-4);
        assert!(got.len() == expected.len() && near, "{got:?} is not {expected:?} mm");
    };
    for (outlet, depths, mean, ends) in [
        (json!({"kind": "bottom", "id": "o", "at": "30 m"}), [284.775, 434.775, 284.775], 255.0, false),
        (json!({"kind": "end", "id": "o", "at": "finish"}), [284.775, 434.775, 434.775], 292.5, true),
    ] {
        let estimate = falling(&outlet);
        let table = &estimate["layout"]["runs"][0]["dig_table"];
        close(&figures(table, "station"), &[0.0, 30_000.0, 60_000.0]);
        close(&figures(table, "depth"), &depths);
        let trench = basis_of(&estimate, "trench_volume");
        let words = ["is the mean height, (", " mean + 4 in base", "the dig table says how deep"];
        assert!(words.iter().all(|w| trench.contains(w)), "{trench}");
        assert_eq!(trench.contains("the fall is built in for "), ends, "{trench}");
        assert!(basis_of(&estimate, "surround_concrete").contains(" mean + 1/8 in recess"));
        let all = estimate["layout"]["runs"][0]["quantities"].as_array().unwrap();
        let volume =
            figures(&json!([all.iter().find(|q| q["name"] == "trench_volume").unwrap()]), "quantity")[0];
        let by_hand = 60.2032 * 0.4432 * (mean + 104.775) / 1000.0 / 0.764_554_857_984;
        assert!((volume - by_hand).abs() < 1e-3, "{volume} is not {by_hand}");
    }
}

/// Two rows of boards 7 1/4 in wide hold 368.3 mm: at 0.5 % the trench is deeper for 13.295 m on each side of the outlet.
#[test]
fn rows_of_boards_hold_where_the_trench_is_deep() {
    let estimate = falling(&json!({"kind": "bottom", "id": "o", "at": "30 m"}));
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    let boards = lists.iter().find(|l| l["part"] == "form_board").unwrap();
    let rows = |row: i64| -> Value {
        let of_row = |l: &&Value| l["leg"].as_str().unwrap().contains(&format!(", row {row}"));
        boards["legs"].as_array().unwrap().iter().filter(of_row).cloned().collect()
    };
    for row in [1, 2] {
        let wide = 443.2 / 304.8;
        let expected: f64 = 2.0 * (60_203.2 / 304.8 + wide);
        let got: f64 = figures(&rows(row), "length").iter().sum();
        assert!((got - expected).abs() < 1e-3, "row {row}: {got} is not {expected}");
    }
    let third = figures(&rows(3), "length");
    assert_eq!(third.len(), 2, "{third:?}");
    assert!(third.iter().all(|l| (l - 26_590.0 / 304.8).abs() < 1e-3), "{third:?}");
    let basis = basis_of(&estimate, "form_pieces");
    assert!(basis.contains("2 rows all along; row 3 where it is deeper than 1 ft 2 1/2 in: "), "{basis}");
}

/// A channel 4 7/8 in wide, 10 ft long, 4 in beside and beyond it, 6 in more all round: 11 ft 8 in by 24 7/8 in of pavers are lifted,
/// and what is not trench, 10 ft 8 in by 12 7/8 in, is laid again.
#[test]
fn pavers_beside_the_surround_are_lifted_and_laid_again() {
    let run = json!({"legs": [{"length": "10 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
        "surface": {"kind": "pavers", "thickness": "2 in"}, "over_cut": "6 in"});
    let estimate = estimate(run, &book());
    let (lifted, trench) = (140.0 * 24.875 / 144.0, 128.0 * 12.875 / 144.0);
    near(&estimate, "pavers_lifted", lifted);
    near(&estimate, "surface_restored", lifted - trench);
    let run = &estimate.layout.runs[0].quantities;
    assert!(run.iter().all(|q| q.name != "saw_cut"), "{run:?}");
    assert!(estimate.checks.iter().all(|c| c.name != "over_cut"), "{:?}", estimate.checks);
    // What stood in the trench is carried off, 1.3 times as much loose: the demo office lays pavers again.
    let rubble = estimate.layout.earth.quantities.iter().find(|q| q.name == "rubble_pavers").expect("rubble");
    let loose = f64::try_from(rubble.quantity.value()).unwrap();
    assert!((loose - 1.3 * trench * 2.0 / 12.0 / 27.0).abs() < 1e-3, "{}", rubble.basis);
    assert!(rubble.basis.contains(" laid again"), "{}", rubble.basis);
    let restored = estimate.labor.tasks.iter().any(|t| t.task == rillcast::domain::words::Task::Restore);
    assert!(restored, "laying them again takes hours");
}

/// The leg of a tee begins under the other's grate, half of 8 in wide: 4 in of it are covered already.
#[test]
fn grates_at_a_tee_do_not_lie_on_each_other() {
    let tee = json!({
        "legs": [{"length": "30 ft"}, {"length": "10 ft", "meets": {"kind": "tee", "leg": 1, "at": "15 ft"}}],
        "channel_system": "channel-6-u", "crossing": "wheels",
        "outlets": [{"kind": "end", "id": "o", "at": "finish", "leg": 1}]
    });
    let estimate = estimate(tee, &book());
    let grates = estimate.layout.runs[0].pieces.iter().filter(|p| p.part.word() == "grate");
    let mut covered = [0.0; 2];
    let mut first = [f64::MAX; 2];
    for piece in grates {
        let number = |q: &rillcast::units::Quantity| f64::try_from(q.value()).unwrap();
        let leg = usize::try_from(piece.leg - 1).unwrap();
        first[leg] = first[leg].min(number(&piece.from));
        covered[leg] += number(&piece.length) * piece.count as f64;
    }
    let expected = [(0.0, 30.0), (4.0 / 12.0, 10.0 - 4.0 / 12.0)];
    for (leg, (from, length)) in expected.into_iter().enumerate() {
        assert!((first[leg] - from).abs() < 1e-3, "leg {}: from {}", leg + 1, first[leg]);
        assert!((covered[leg] - length).abs() < 1e-3, "leg {}: {} ft", leg + 1, covered[leg]);
    }
    near(&estimate, "recess_strip", 40.0 - 4.0 / 12.0);
    let length = estimate.layout.totals.iter().find(|t| t.name == "grate_length").expect("a total");
    assert!((f64::try_from(length.quantity.value()).unwrap() - (40.0 - 4.0 / 12.0)).abs() < 1e-3);
}

/// What lifts an empty channel is the concrete below it: its base, or the fill under a slab deeper than the trench.
#[test]
fn a_channel_with_no_concrete_below_it_does_not_float() {
    let told = |crossing: &str, surface: &Value| {
        let run = json!({"legs": [{"length": "10 ft"}], "channel_system": "channel-4-light", "crossing": crossing, "surface": surface});
        let estimate = estimate(run, &book());
        let caution = estimate.cautions.iter().any(|c| c.name == "channel_floats");
        (estimate.checks.iter().any(|c| c.name == "uplift"), caution)
    };
    let bare = json!({"kind": "bare_soil"});
    assert_eq!(told("feet", &bare), (false, false));
    assert_eq!(told("wheels", &bare), (true, true));
    let slab = |thickness: &str| json!({"kind": "concrete_slab", "thickness": thickness});
    assert_eq!(told("feet", &slab("4 in")), (false, false));
    assert_eq!(told("feet", &slab("8 in")), (true, true));
}

#[test]
fn the_uplift_is_told_where_nobody_says_what_a_hanger_holds() {
    let book = book_with(|book| {
        book["hangers"].as_object_mut().unwrap().remove("holds").expect("hangers hold something");
    });
    let run = json!({"legs": [{"length": "10 ft"}], "channel_system": "channel-6-u", "crossing": "wheels"});
    let estimate = estimate(run, &book);
    let check = estimate.checks.iter().find(|c| c.name == "uplift").expect("a check");
    // 10 ft x 8 in x 9 in x 150 lb/ft3
    assert!(check.reason.contains("750 lb"), "{}", check.reason);
}

/// What lifts and what holds are told with as many decimals as bear out which is more. A hanger of the book holds 250 lb; the
/// channel displaces 8 in x 9 in, 75 lb of concrete a foot.
#[test]
fn the_weights_of_an_uplift_bear_out_what_is_said_of_them() {
    let told = |length: &str, system: &str| {
        let run = json!({"id": "r", "legs": [{"length": length}], "channel_system": "channel-6-u", "crossing": "wheels",
            "outlets": [{"kind": "end", "id": "o", "at": "finish"}]});
        let notes =
            read_value(&json!({"unit_system": system, "runs": [run]})).unwrap_or_else(|e| panic!("{e}"));
        let estimate =
            pipeline::estimate(&notes, &book(), &used(), &rains().unwrap()).unwrap_or_else(|e| panic!("{e}"));
        estimate.checks.into_iter().find(|c| c.name == "uplift").expect("a check").reason
    };
    // 1995.3 lb are 905.05 kg; eight times 113 kg would be 904 kg
    let reason = told("26 ft 7 1/4 in", "metric");
    assert!(reason.contains("with 905.1 kg; 8 hangers of 113.4 kg hold it"), "{reason}");
    // 2000.4 lb are more than eight times 250 lb
    let reason = told("26 ft 8 1/16 in", "us");
    assert!(reason.contains("with 2000.4 lb; 8 hangers of 250 lb do not hold it"), "{reason}");
    let reason = told("26 ft", "us");
    assert!(reason.contains("with 1950 lb; 8 hangers of 250 lb hold it"), "{reason}");
}

/// A price beyond twelve digits is refused, not cut off.
#[test]
fn a_price_that_cannot_be_written_is_refused() {
    let book = book_with(|book| {
        let items = book["items"].as_array_mut().unwrap();
        let item = items.iter_mut().find(|i| i["code"] == "hanger").expect("hangers");
        item["price"] = "999999999.999999".into();
        book["offers"].as_array_mut().unwrap().retain(|o| o["item"] != "hanger");
    });
    let notes = json!({
        "runs": [{"id": "r", "legs": [{"length": "10 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
            "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}],
        "extras": [{"item": "hanger", "quantity": "100000"}]
    });
    let notes = read_value(&notes).unwrap_or_else(|e| panic!("{e}"));
    let refused = pipeline::estimate(&notes, &book, &used(), &rains().unwrap()).expect_err("too much");
    assert!(refused.list().iter().any(|f| f.code == "out_of_range"), "{refused}");
    assert_eq!(Amount::MOST.to_string(), "999999999999.99");
}
