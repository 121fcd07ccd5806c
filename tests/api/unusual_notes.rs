//! Whole estimates of legal but unusual notes.

use crate::app::TestApp;
use rillcast::compute::answers::Estimate;
use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo;
use rillcast::domain::lines::Outcome;
use rillcast::wire::read_document;
use serde_json::{Value, json};

fn estimate(change: impl FnOnce(&mut Value)) -> Estimate {
    estimate_by(|_| {}, change)
}

/// The demo job by the demo book, both changed.
pub(crate) fn estimate_by(book: impl FnOnce(&mut Value), change: impl FnOnce(&mut Value)) -> Estimate {
    let mut document: Value = serde_json::from_str(demo::BOOK).unwrap();
    book(&mut document);
    let book = PriceBook::check(read_document(document.to_string().as_bytes()).unwrap()).unwrap();
    let mut notes: Value = serde_json::from_str(demo::NOTES).unwrap();
    change(&mut notes);
    let notes = read_document(notes.to_string().as_bytes()).unwrap();
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    pipeline::estimate(&notes, &book, &used, &demo::rains().unwrap()).unwrap()
}

/// Subject, outcome and reason of the checks of one name.
fn checks(estimate: &Estimate, name: &str) -> Vec<(String, Outcome, String)> {
    let of = estimate.checks.iter().filter(|c| c.name == name);
    of.map(|c| (c.subject.clone(), c.outcome, c.reason.clone())).collect()
}

/// A forgotten drain line is missing from the price: each outlet that no line takes is named.
#[test]
fn outlets_without_a_line_are_named() {
    assert!(checks(&estimate(|_| {}), "outlet_connected").is_empty(), "both outlets of the demo have a line");
    let without = estimate(|notes| notes["drain_lines"] = json!([]));
    let found = checks(&without, "outlet_connected");
    let subjects: Vec<(&str, Outcome)> = found.iter().map(|(s, o, _)| (s.as_str(), *o)).collect();
    assert_eq!(subjects, [("run drive", Outcome::Warn), ("run path", Outcome::Warn)]);
    assert!(found.first().unwrap().2.contains("outlet `drive-out`"), "{found:?}");
}

/// A metric answer says metric weights and lengths; the sums of money do not move.
#[test]
fn a_metric_answer_weighs_in_kilograms() {
    let (us, metric) = (estimate(|_| {}), estimate(|notes| notes["unit_system"] = json!("metric")));
    assert_eq!(us.summary.total, metric.summary.total);
    let reasons =
        |e: &Estimate| checks(e, "uplift").into_iter().map(|(.., reason)| reason).collect::<Vec<_>>();
    // 2513 lb x 0.45359237 kg (international pound, exact; from memory) = 1139.9 kg; 250 lb = 113.4 kg.
    assert!(reasons(&us).first().unwrap().contains("2513 lb; 11 hangers of 250 lb"), "{:?}", reasons(&us));
    assert!(
        reasons(&metric).first().unwrap().contains("1140 kg; 11 hangers of 113 kg"),
        "{:?}",
        reasons(&metric)
    );
    let lifting = metric.cautions.iter().find(|c| c.name == "lifting").unwrap();
    assert_eq!(lifting.raised_by, "3.658 m of channel set at once");
}

/// A plan that ends after the wished finish warns in the estimate, with the days it is late.
#[test]
fn a_finish_out_of_reach_warns() {
    let late = estimate(|notes| notes["schedule"] = json!({"start": "2026-12-07", "finish": "2026-12-08"}));
    let found = checks(&late, "finish_wished");
    let (subject, outcome, reason) = found.first().unwrap();
    assert_eq!((subject.as_str(), *outcome), ("plan", Outcome::Warn));
    let wish = late.plan.as_ref().unwrap().wish.as_ref().unwrap();
    let days = wish.working_days_to_spare.unsigned_abs();
    assert!(
        reason.contains(&format!("planned until {}, {days} working days after", wish.planned)),
        "{reason}"
    );
    let in_time =
        estimate(|notes| notes["schedule"] = json!({"start": "2026-12-07", "finish": "2027-06-30"}));
    assert_eq!(checks(&in_time, "finish_wished").first().unwrap().1, Outcome::Pass);
}

/// The truck carries whole things that the crew can lift: no deliveries, and a blade charged by its wear is one blade.
#[test]
fn the_truck_is_loaded_with_whole_things() {
    let demo = estimate(|_| {});
    let loaded = |name: &str| demo.load_out.iter().filter(|l| l.name.starts_with(name)).collect::<Vec<_>>();
    assert!(demo.cost_lines.iter().any(|l| l.rule == "buying.delivery"), "the demo job pays for a delivery");
    assert!(loaded("Delivery").is_empty());
    let blade = demo.cost_lines.iter().find(|l| l.description.starts_with("Diamond blade")).unwrap();
    assert_eq!(blade.quantity.to_string(), "0.09");
    assert_eq!(loaded("Diamond blade").first().unwrap().count, "1");
}

/// A failed check is said once with what it is about, in the summary too.
#[test]
fn a_failed_check_names_its_subject_once() {
    let short = estimate(|notes| {
        notes["runs"] = json!([{"id": "stub", "legs": [{"length": "1 in"}], "channel_system": "channel-4-light",
            "crossing": "feet", "outlets": [{"kind": "end", "id": "out", "at": "finish"}]}]);
        for member in ["drain_lines", "catchments"] {
            notes[member] = json!([]);
        }
        notes.as_object_mut().unwrap().remove("storm");
    });
    let failed = &short.summary.failed;
    assert!(
        failed.iter().any(|f| f.starts_with("run stub, leg 1: channel of 1 in is shorter")),
        "{failed:?}"
    );
    assert!(!failed.iter().any(|f| f.starts_with("run stub: run stub")), "{failed:?}");
}

/// A channel with built-in fall that meets its outlet deeper from one side than from the other is refused in the words of the
/// job, with what would mend it.
#[test]
fn a_step_in_the_bottom_is_told_in_the_units_of_the_job() {
    let stepped = estimate(|notes| notes["runs"][0]["channel_system"] = json!("channel-8-fall"));
    let found = checks(&stepped, "run_water");
    let (subject, outcome, reason) = found.first().unwrap();
    assert_eq!((subject.as_str(), *outcome), ("run drive", Outcome::Fail));
    // 33 ft at 0.5 % from one side, 6 in from the other; the channel begins 5.118 in deep.
    for part in ["the outlet at 33 ft", "7.1 in", "5.15 in", "Move the outlet"] {
        assert!(reason.contains(part), "{reason}");
    }
}

/// Quantity and basis of one line of the first run or of a drain line.
fn figure(lines: &[rillcast::domain::lines::QuantityLine], name: &str) -> (String, String) {
    let line = lines.iter().find(|l| l.name == name).unwrap_or_else(|| panic!("no {name}"));
    (line.quantity.to_string(), line.basis.to_string())
}

/// One straight run of 20 ft with a surface over it.
fn under(surface: &Value, system: &str, crossing: &str) -> Estimate {
    estimate(|notes| {
        *notes = json!({"runs": [{"id": "a", "legs": [{"length": "20 ft"}], "channel_system": system, "crossing": crossing,
            "surface": surface, "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]});
    })
}

/// Asphalt beside the surround is made good by itself: what is finished is the surround. By hand: a channel 8 in wide with 4 in on
/// each side and at each end, so 20 ft 8 in by 1 ft 4 in less 20 ft by 8 in is 14.222 ft²; the cut is 2 in wider all round,
/// 21 ft by 1 ft 8 in, which leaves 35 - 27.556 = 7.444 ft² of asphalt.
#[test]
fn asphalt_beside_the_surround_is_not_finished_as_concrete() {
    let asphalt = under(&json!({"kind": "asphalt", "thickness": "3 in"}), "channel-6-u", "wheels");
    let run = &asphalt.layout.runs[0].quantities;
    assert_eq!(figure(run, "finish_area").0, "14.222 ft2");
    let (made_good, basis) = figure(run, "surface_restored");
    assert_eq!(made_good, "7.444 ft2");
    assert!(
        basis.starts_with("cut 21 ft x 1 ft 8 in less trench 20 ft 8 in x 1 ft 4 in = 7.444 ft2"),
        "{basis}"
    );
}

/// A slab thicker than the trench is deep is lifted whole; beside the trench it is poured back, below the surround concrete fills it:
/// what is lifted less what is poured back and filled is the trench's plan times its depth.
#[test]
fn a_slab_thicker_than_the_trench_is_deep_closes() {
    let slab = under(&json!({"kind": "concrete_slab", "thickness": "6 in"}), "channel-4-light", "feet");
    let run = &slab.layout.runs[0].quantities;
    let number = |name: &str| figure(run, name).0.split(' ').next().unwrap().parse::<f64>().unwrap();
    let (_, basis) = figure(run, "fill_concrete");
    assert!(basis.ends_with("x 1 in that the concrete_slab goes deeper"), "{basis}");
    // 20 ft 8 in by 1 ft 7/8 in by 5 in: 20.6667 x 1.072917 x 0.416667 / 27 = 0.34218 yd³
    let between = number("slab_removed") - number("patch_concrete") - number("fill_concrete");
    assert!((between - 0.342_18).abs() < 3e-4, "{between}");
    // the pour holds the fill
    let poured = number("surround_concrete") + number("patch_concrete") + number("fill_concrete");
    let net = f64::try_from(slab.concrete.net.value()).unwrap();
    assert!((net - poured).abs() < 1e-3, "{net} is not {poured}");
}

/// The water part and the checks name the same least cover.
#[test]
fn the_least_cover_over_a_stretch_is_a_depth() {
    let demo = estimate(|_| {});
    let water = serde_json::to_value(demo.water.as_ref().unwrap()).unwrap();
    let covers: Vec<&str> = water["drain_lines"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|line| line["stretches"].as_array().unwrap())
        .map(|stretch| stretch["least_cover"]["value"].as_str().unwrap())
        .collect();
    // both stretches of the main line meet at 42 ft, where it is least
    assert_eq!(covers, ["10.35", "10.35", "7.18"]);
    let said: Vec<String> = checks(&demo, "cover").into_iter().map(|(.., reason)| reason).collect();
    assert!(said[0].contains("at 42 ft the cover is 10.347 in") && said[1].contains("7.175 in"), "{said:?}");
}

/// With battered sides each layer of a line's trench can be reckoned from its working. By hand: 78 ft by 4 in by the mean width
/// of 1.856 ft + 0.5 x 4 in is 52.59 ft³, 1.948 yd³.
#[test]
fn the_layers_of_a_battered_trench_are_told_with_their_widths() {
    let battered = estimate(|notes| {
        notes["soil"] = json!("sand_gravel");
        notes["drain_lines"][0]["side_slope"] = json!("0.5");
        notes["drain_lines"][0]["ends"]["invert_level"] = json!("-7 ft");
    });
    let line = &battered.layout.drain_lines[0].quantities;
    let bedding = figure(line, "bedding");
    assert_eq!(bedding, ("1.948 yd3".to_owned(), "78 ft x (1.856 ft + 0.5 x 4 in) x 4 in thick".to_owned()));
    let (zone, basis) = figure(line, "zone_fill");
    assert_eq!(zone, "7.3614 yd3");
    assert!(basis.contains("(1.856 ft + 0.5 x 1.356 ft) x 1.356 ft of bedding and zone"), "{basis}");
    // under a slab the trench is shallower and the working says by how much
    let slab = estimate(|notes| {
        notes["drain_lines"][0]["legs"][0]["surface"] = json!({"kind": "concrete_slab", "thickness": "6 in"});
    });
    let (zone, basis) = figure(&slab.layout.drain_lines[0].quantities, "zone_fill");
    // 4.865 yd³ where it is deep enough everywhere
    assert_eq!(zone, "4.7757 yd3");
    assert!(basis.contains("less 0.0892 yd3 where the trench"), "{basis}");
}

/// Days do not add their roundings: the volume with waste of three days is that of all of it.
#[test]
fn waste_over_several_days_is_that_of_the_whole() {
    let days = estimate(|notes| {
        notes["runs"][0]["pour_days"] = json!([1, 2]);
        notes["runs"][1]["pour_days"] = json!([3]);
    });
    assert_eq!(days.concrete.with_waste, estimate(|_| {}).concrete.with_waste);
}

/// Cautions and checks come with what causes them: a slab over a line, a class above a car's wheels, and no other.
#[tokio::test]
async fn cautions_come_with_their_cause() {
    let app = TestApp::start().await;
    let raised = async |crossing: &str, slab: bool| -> Vec<String> {
        let mut leg = json!({"length": "20 ft"});
        if slab {
            leg["surface"] = json!({"kind": "concrete_slab", "thickness": "4 in"});
        }
        let notes = json!({
            "runs": [{"id": "a", "legs": [{"length": "10 ft"}], "channel_system": "channel-6-u", "crossing": crossing,
                "outlets": [{"kind": "end", "id": "a-o", "at": "finish"}]}],
            "drain_lines": [{"id": "l", "from": [{"outlet": "a-o"}], "pipe": "pipe-6", "legs": [leg], "depth": "2 ft",
                "fall_pct": "1", "ends": {"kind": "discharges", "to": "swale"}}]});
        let answer = app.post("/v1/calculators/estimate", &json!({"notes": notes})).await.ok(200).json();
        let names = |list: &str| {
            answer[list].as_array().unwrap().iter().map(|c| c["name"].as_str().unwrap().to_owned()).collect()
        };
        let (mut all, checks): (Vec<String>, Vec<String>) = (names("cautions"), names("checks"));
        all.extend(checks);
        let digging = &answer["cautions"][0];
        assert!(digging["raised_by"].as_str().unwrap().contains("for drain lines"), "{digging}");
        all
    };
    let has = |list: &[String], name: &str| list.iter().any(|n| n == name);
    let bare = raised("feet", false).await;
    assert!(!has(&bare, "buried_services_in_slab"), "{bare:?}");
    assert!(has(&raised("feet", true).await, "buried_services_in_slab"));
    for (crossing, heavier) in [("A15", false), ("B125", false), ("C250", true)] {
        let found = raised(crossing, false).await;
        assert_eq!(has(&found, "structural_surround"), heavier, "{crossing}: {found:?}");
        assert_eq!(has(&found, "surround_by_engineer"), heavier, "{crossing}: {found:?}");
    }
}

/// A setting detail that the notes name is held against what crosses: it fails where the classes it names are lighter, and is
/// warned of where only a use says what it bears, or classes of the other standard.
#[test]
fn a_setting_detail_is_held_against_what_crosses() {
    let told = |crossings: &Value, crossing: &str| {
        let detail = |book: &mut Value| {
            let mut other = book["setting_details"][1].clone();
            other["code"] = json!("other");
            other["crossings"] = crossings.clone();
            // one detail serves each crossing
            let taken = crossings.as_array().unwrap();
            let details = book["setting_details"].as_array_mut().unwrap();
            for detail in details.iter_mut() {
                detail["crossings"].as_array_mut().unwrap().retain(|c| !taken.contains(c));
            }
            details.push(other);
        };
        let estimate = estimate_by(detail, |notes| {
            notes["runs"][0]["crossing"] = json!(crossing);
            notes["runs"][0]["setting_detail"] = json!("other");
        });
        let found = checks(&estimate, "setting_detail");
        let [(subject, outcome, reason), (path, Outcome::Pass, _)] = &found[..] else { panic!("{found:?}") };
        assert_eq!((subject.as_str(), path.as_str()), ("run drive", "run path"));
        (*outcome, reason.clone())
    };
    let usual = checks(&estimate(|_| {}), "setting_detail");
    let made = "`wheels` crosses and setting detail `wheels` is made for it";
    assert_eq!(usual.first().unwrap(), &("run drive".to_owned(), Outcome::Pass, made.to_owned()));

    let classes = json!(["wheels", "B125", "heavy_duty"]);
    for fits in ["wheels", "feet", "A15", "B125", "medium_duty"] {
        assert_eq!(told(&classes, fits).0, Outcome::Pass, "{fits}");
    }
    let (outcome, reason) = told(&classes, "C250");
    assert_eq!(outcome, Outcome::Fail);
    assert_eq!(
        reason,
        "`C250` crosses and setting detail `other` is not made for it but for `wheels`, `B125`, `heavy_duty`, no more than B125: \
         take `trucks`, which is, by leaving `setting_detail` out; such a surround follows the channel maker's installation \
         instructions and licensed practice"
    );
    let (outcome, reason) = told(&classes, "special_duty");
    assert_eq!(outcome, Outcome::Fail);
    assert!(
        reason.contains("no more than heavy_duty: add a detail for `special_duty` to the price book"),
        "{reason}"
    );

    let use_alone = json!(["wheels"]);
    assert_eq!(told(&use_alone, "B125").0, Outcome::Pass);
    let (outcome, reason) = told(&use_alone, "D400");
    assert_eq!(outcome, Outcome::Warn);
    assert!(
        reason.contains("but for `wheels`, by use no more than B125: add a detail for `D400`"),
        "{reason}"
    );

    let other_standard = json!(["special_duty"]);
    assert_eq!(told(&other_standard, "wheels").0, Outcome::Pass);
    let (outcome, reason) = told(&other_standard, "A15");
    assert_eq!(outcome, Outcome::Warn);
    assert!(
        reason.contains("but for `special_duty`, which cannot be compared with it: take `feet`"),
        "{reason}"
    );
    let (outcome, reason) = told(&json!(["light_duty"]), "wheels");
    assert_eq!(outcome, Outcome::Fail);
    assert!(reason.contains("no more than light_duty: take `wheels`"), "{reason}");
}

/// What the take-off counts and the price book has no item for is warned of: it is missing from the price.
#[test]
fn what_the_book_cannot_buy_is_warned_of() {
    let wheels = |notes: &mut Value| {
        *notes = json!({"runs": [{"id": "r", "legs": [{"length": "40 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
            "surface": {"kind": "asphalt", "thickness": "3 in"}, "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]});
    };
    let whole = estimate_by(|_| {}, wheels);
    for name in ["recess_strip_on_offer", "restore_on_offer"] {
        assert!(checks(&whole, name).is_empty(), "{name}");
    }
    let strip = estimate_by(
        |book| {
            for detail in book["setting_details"].as_array_mut().unwrap() {
                detail.as_object_mut().unwrap().remove("recess_strip");
            }
        },
        wheels,
    );
    let reason = "a recess strip of 40 ft is called for, but setting detail `wheels` names none in the price book: nothing is bought";
    let expected = [("run r".to_owned(), Outcome::Warn, reason.to_owned())];
    assert_eq!(checks(&strip, "recess_strip_on_offer"), expected);
    let surfaces = |change: fn(&mut Value)| {
        move |book: &mut Value| {
            let surfaces = book["surfaces"].as_array_mut().unwrap();
            change(surfaces.iter_mut().find(|s| s["surface"] == "asphalt").unwrap());
        }
    };
    let without = |surface: &mut Value| drop(surface.as_object_mut().unwrap().remove("restore_item"));
    let restored = estimate_by(surfaces(without), wheels);
    let found = checks(&restored, "restore_on_offer");
    let [(subject, Outcome::Warn, reason)] = found.as_slice() else { panic!("{found:?}") };
    assert_eq!(subject, "run r");
    assert!(
        reason.ends_with(
            "of asphalt to be made good, but the price book names no item for it: nothing is bought"
        ),
        "{reason}"
    );
    // What goes back where it was needs nothing.
    let laid_again = |surface: &mut Value| {
        surface.as_object_mut().unwrap().remove("restore_item");
        surface["reused"] = json!(true);
    };
    assert!(checks(&estimate_by(surfaces(laid_again), wheels), "restore_on_offer").is_empty());
}

/// Two figures that differ are never told as if they were equal.
#[test]
fn figures_that_are_compared_are_told_apart() {
    let told = estimate(|notes| {
        *notes = json!({"runs": [{"id": "r", "legs": [{"length": "40 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
            "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}],
            "drain_lines": [{"id": "l", "from": [{"outlet": "o"}], "pipe": "pipe-6", "legs": [{"length": "20 ft"}],
            "depth": "8.0001 ft", "fall_pct": "1", "trench_width": "1.856 ft", "ends": {"kind": "discharges", "to": "swale"}}]});
    });
    // 6.275 in and 16 in are 22.275 in, 1.85625 ft.
    let width = checks(&told, "trench_width");
    assert!(width[0].2.starts_with("1.856 ft is narrower than 1.8563 ft "), "{width:?}");
    let reach = checks(&told, "method_reach").into_iter().find(|c| c.1 == Outcome::Fail).unwrap();
    assert!(reach.2.contains("digs to 8 ft and does not reach 8.0001 ft"), "{reach:?}");
    // Room under the grate that is short of what the book asks for by less than a hundredth of an inch.
    let water = estimate(|_| {}).water.unwrap();
    let room = water.runs[0].chains[0].surface.as_ref().unwrap().least_freeboard.value;
    let asked = room.value() + rust_decimal::Decimal::new(49, 4);
    let short =
        estimate_by(|book| book["water_rules"]["least_freeboard"] = json!(format!("{asked} in")), |_| {});
    let (_, outcome, reason) =
        checks(&short, "run_freeboard").into_iter().find(|c| c.2.contains("is asked for")).unwrap();
    assert_eq!(outcome, Outcome::Fail);
    let (kept, wanted) = reason.split_once(" of room under the grate").unwrap();
    let (kept, wanted) = (kept.trim_start_matches("keeps "), wanted.rsplit("; ").next().unwrap());
    assert!(!wanted.starts_with(&format!("{kept} ")), "{reason}");
}

/// What is finished over a line stands among its quantities, and the total is the sum of what stands there. By hand: the trench of a
/// 4 in pipe is 20.215 in wide and the cut 2 in wider on each side, so 30 ft by 24.215 in are 60.538 ft².
#[test]
fn the_slab_poured_back_over_a_line_is_finished_there() {
    let made = estimate(|notes| {
        *notes = json!({
            "runs": [{"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
                "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}],
            "drain_lines": [{"id": "main", "pipe": "pipe-4", "from": [{"outlet": "o"}], "depth": "2 ft",
                "legs": [{"length": "30 ft", "surface": {"kind": "concrete_slab", "thickness": "4 in"}}],
                "ends": {"kind": "discharges", "to": "swale"}}]});
    });
    let layout = &made.layout;
    let (of_run, _) = figure(&layout.runs[0].quantities, "finish_area");
    let (of_line, basis) = figure(&layout.drain_lines[0].quantities, "finish_area");
    assert_eq!((of_run.as_str(), of_line.as_str()), ("14.049 ft2", "60.538 ft2"));
    assert_eq!(basis, "leg 1: 30 ft x 2.018 ft");
    assert_eq!(figure(&layout.totals, "finish_area").0, "74.586 ft2");
}

/// Where the ground falls below the bottom of the trench nothing is dug.
#[test]
fn a_trench_is_nowhere_dug_above_the_ground() {
    let made = estimate(|notes| {
        *notes = json!({
            "runs": [{"id": "a", "legs": [{"length": "20 ft"}], "channel_system": "channel-4-light", "crossing": "feet",
                "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}],
            "drain_lines": [{"id": "main", "pipe": "pipe-4", "from": [{"outlet": "o"}], "legs": [{"length": "30 ft"}],
                "ground": [{"at": "0 ft", "level": "0 ft"}, {"at": "20 ft", "level": "0 ft"}, {"at": "30 ft", "level": "-60 in"}],
                "ends": {"kind": "discharges", "to": "daylight", "invert_level": "-24 in"}}]});
    });
    let line = &made.layout.drain_lines[0];
    let lowest = line.dig_table.last().unwrap();
    assert!(lowest.ground.value() < lowest.invert.value(), "{lowest:?}");
    assert!(lowest.depth.value().is_zero(), "{lowest:?}");
    let (_, basis) = figure(&line.quantities, "excavation");
    assert!(basis.contains(", 0 in to ") && basis.contains(" deep by the dig table"), "{basis}");
}
