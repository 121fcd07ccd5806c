//! The cut lists, purchases and orders of a whole job.

use proptest::prelude::*;

use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, NOTES, rains};
use rillcast::wire::notes::SiteNotes;
use rillcast::wire::read_document;
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// The demo's price book, changed.
pub fn book(change: impl FnOnce(&mut Value)) -> PriceBook {
    let mut doc: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut doc);
    PriceBook::check(read_document(doc.to_string().as_bytes()).unwrap()).unwrap()
}

/// The estimate of the demo's notes, changed.
pub fn estimate(book: &PriceBook, change: impl FnOnce(&mut Value)) -> Value {
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    change(&mut notes);
    let notes: SiteNotes = read_document(notes.to_string().as_bytes()).unwrap();
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    serde_json::to_value(pipeline::estimate(&notes, book, &used, &rains().unwrap()).unwrap()).unwrap()
}

/// A decimal string as a number.
pub fn number(value: &Value) -> Decimal {
    let text = value.get("value").unwrap_or(value);
    text.as_str().unwrap_or_else(|| panic!("{value}")).parse().unwrap()
}

fn list<'v>(estimate: &'v Value, part: &str) -> &'v Value {
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    lists.iter().find(|l| l["part"] == part).unwrap_or_else(|| panic!("no list of {part}"))
}

#[test]
fn the_demo_job_beats_the_plain_list_and_is_proven() {
    let estimate = estimate(&book(|_| {}), |_| {});
    let mut saving = Decimal::ZERO;
    for list in estimate["layout"]["cut_lists"].as_array().unwrap() {
        assert_eq!(list["proven"], true, "{}", list["code"]);
        assert_eq!(list["total"], list["lower_bound"], "{}", list["code"]);
        assert_eq!(number(&list["plain_list"]) - number(&list["total"]), number(&list["saving"]));
        saving += number(&list["saving"]);
    }
    assert!(saving > Decimal::ZERO);
}

/// Every leg is covered from its start to its end, in the order of the stations, by pieces that fit their stock.
fn covered(estimate: &Value) {
    for list in estimate["layout"]["cut_lists"].as_array().unwrap() {
        let (kerf, gap) = (number(&list["kerf"]), number(&list["gap"]));
        let foot = Decimal::from(12);
        let channel = list["part"] == "channel";
        for leg in list["legs"].as_array().unwrap() {
            let mut pieces: Vec<(Decimal, Decimal)> = list["sheet"]
                .as_array()
                .unwrap()
                .iter()
                .flat_map(|s| s["pieces"].as_array().unwrap())
                .filter(|p| p["leg"] == leg["leg"])
                .map(|p| (number(&p["from"]), number(&p["to"])))
                .collect();
            pieces.sort();
            // Stations are shown to a few decimals.
            let near = |a: Decimal, b: Decimal| (a - b).abs() < Decimal::new(2, 3);
            // channel may begin behind a fitting
            let begin = if channel { pieces[0].0 } else { Decimal::ZERO };
            assert!(near(pieces[0].0, begin));
            assert!(near(pieces.last().unwrap().1, begin + number(&leg["length"])), "{leg}");
            let settings = leg["settings"].as_array().unwrap();
            assert!(near(number(&settings[0]["from"]), begin), "{leg}");
            assert!(near(number(&settings.last().unwrap()["to"]), begin + number(&leg["length"])), "{leg}");
            for pair in pieces.windows(2) {
                assert!(near(pair[1].0 - pair[0].1, gap / foot), "{pair:?} {gap}");
            }
        }
        let mut next = 1;
        for stock in list["sheet"].as_array().unwrap() {
            let count = stock["count"].as_i64().unwrap();
            assert_eq!(stock["number"], next, "{stock}");
            next += count;
            if count > 1 {
                let [piece] = stock["pieces"].as_array().unwrap().as_slice() else { panic!("{stock}") };
                assert_eq!((&piece["length"], &stock["cuts"]), (&stock["length"], &json!(0)), "{stock}");
            }
            for piece in stock["pieces"].as_array().unwrap() {
                let long =
                    Decimal::from(count) * number(&piece["length"]) + Decimal::from(count - 1) * gap / foot;
                let covered = number(&piece["to"]) - number(&piece["from"]);
                assert!((covered - long).abs() < Decimal::new(2, 2), "{stock}");
            }
            let used: Decimal =
                stock["pieces"].as_array().unwrap().iter().map(|p| number(&p["length"])).sum();
            let cuts = Decimal::from(stock["cuts"].as_i64().unwrap());
            let whole = number(&stock["length"]);
            assert!(used <= whole + Decimal::new(1, 3));
            assert!(used + number(&stock["left"]) + cuts * kerf / foot >= whole - Decimal::new(1, 3));
        }
        assert_eq!(list["stock_pieces"], next - 1);
    }
}

#[test]
fn the_sheet_of_the_demo_can_be_followed_with_a_saw() {
    covered(&estimate(&book(|_| {}), |_| {}));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_leg_of_any_job_is_covered(legs in prop::collection::vec(40_i64..900, 1..5), hot in any::<bool>(), bare in any::<bool>()) {
        let estimate = estimate(&book(|_| {}), |notes| {
            notes["climate"] = json!(if hot { "hot" } else { "temperate" });
            let legs: Vec<Value> = legs.iter().enumerate().map(|(i, n)| {
                let mut leg = json!({"length": format!("{n} in")});
                if i > 0 { leg["meets"] = json!({"kind": "corner"}); }
                leg
            }).collect();
            notes["runs"][1]["legs"] = json!(legs);
            notes["runs"][1]["outlets"] = json!([{"kind": "end", "id": "path-out", "at": "finish"}]);
            if bare { notes["runs"][0].as_object_mut().unwrap().remove("surface"); }
        });
        covered(&estimate);
    }
}

#[test]
fn an_offcut_from_the_yard_is_used_and_saves_its_stock() {
    let book = book(|_| {});
    let without = estimate(&book, |_| {});
    let with =
        estimate(&book, |n| n["yard_offcuts"] = json!([{"item": "channel-6-u-4ft", "length": "3 ft 2 in"}]));
    let (a, b) = (list(&without, "channel"), list(&with, "channel"));
    assert!(number(&b["total"]) < number(&a["total"]));
    assert!(b["sheet"].as_array().unwrap().iter().any(|s| s["source"] == "yard"));
}

/// Stations of the sheet are those of the pieces in the layout: from the start of the leg, before a corner.
#[test]
fn stations_of_the_sheet_are_those_of_the_layout() {
    let estimate = estimate(&book(|_| {}), |_| {});
    let run = &estimate["layout"]["runs"][0];
    let mut behind_a_corner = 0;
    for (part, code) in [("channel", "channel-6-u"), ("grate", "grate-6-cast")] {
        let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
        let list = lists.iter().find(|l| l["part"] == part && l["code"] == code).unwrap();
        for piece in run["pieces"].as_array().unwrap().iter().filter(|p| p["part"] == part) {
            let leg = format!("run drive, leg {}", piece["leg"]);
            let row = list["sheet"]
                .as_array()
                .unwrap()
                .iter()
                .find(|r| r["number"] == piece["stock_piece"])
                .unwrap();
            let cut = row["pieces"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|p| p["leg"].as_str().unwrap().starts_with(&leg));
            let stations: Vec<_> = cut.map(|p| (&p["from"], &p["to"])).collect();
            assert!(stations.contains(&(&piece["from"], &piece["to"])), "{piece} {stations:?}");
            behind_a_corner += i32::from(part == "channel" && piece["from"]["value"] == "0.5");
        }
    }
    assert_eq!(behind_a_corner, 1);
}

/// What the cut lists take from the yard goes onto the truck by the item's name, and its pieces go by its code.
#[test]
fn offcuts_and_own_machines_are_loaded() {
    let owned = book(|_| {}).doc().equipment.iter().find(|m| m.owned.0).unwrap().name.to_string();
    let with = estimate(&book(|_| {}), |n| {
        n["yard_offcuts"] = json!([{"item": "channel-6-u-4ft", "length": "3 ft 2 in"},
            {"item": "channel-8-fall-1m", "length": "2 ft"}]);
    });
    let loaded = |kind: &str| -> Vec<&Value> {
        with["load_out"].as_array().unwrap().iter().filter(|l| l["kind"] == kind).collect()
    };
    let [offcut] = loaded("offcut")[..] else { panic!("{:?}", loaded("offcut")) };
    assert_eq!((&offcut["count"], &offcut["because"]), (&json!("1"), &json!("run.channel_stock")));
    assert!(offcut["name"].as_str().unwrap().ends_with(": offcut of 3 ft 2 in"), "{offcut}");
    assert!(loaded("machine").iter().any(|l| l["name"] == owned), "{:?}", loaded("machine"));
    let pieces = with["layout"]["runs"][0]["pieces"].as_array().unwrap();
    assert!(
        pieces.iter().all(|p| book(|_| {}).doc().items.iter().any(|i| p["item"] == i.code.as_str())),
        "{pieces:?}"
    );
    // nothing is cut from the other: that is said
    let checks = with["checks"].as_array().unwrap();
    let left: Vec<&Value> = checks.iter().filter(|c| c["name"] == "yard_offcut").collect();
    assert_eq!(left.len(), 1, "{left:?}");
    assert_eq!((&left[0]["outcome"], &left[0]["subject"]), (&json!("warn"), &json!("channel-8-fall-1m")));
}

/// Hired gear that nobody is paid to bring is fetched by the crew; what its yard brings is not.
#[test]
fn hired_gear_without_transport_is_loaded() {
    let fetched = |change: fn(&mut Value)| -> Vec<String> {
        let made = estimate(&book(change), |_| {});
        let lines = made["load_out"].as_array().unwrap().iter().filter(|l| l["kind"] == "hired").cloned();
        lines.map(|l| format!("{} {}: {}", l["count"], l["name"], l["because"]).replace('"', "")).collect()
    };
    let how = ": hired without transport, to be fetched and taken back";
    let saw = format!("1 Walk-behind saw: saw_cut by walk-behind-saw{how}");
    let usual = fetched(|_| {});
    assert!(usual.contains(&saw), "{usual:?}");
    assert!(usual.contains(&format!("1 Electric breaker: break_out by breaker{how}")), "{usual:?}");
    assert!(usual.contains(&format!("1 Plate compactor: backfill by plate-compactor{how}")), "{usual:?}");
    // It comes with its transport paid.
    assert!(usual.iter().all(|l| !l.contains("excavator")), "{usual:?}");
    let brought = fetched(|book| book["equipment"][0]["transport"] = json!("40.00"));
    assert!(!brought.contains(&saw), "{brought:?}");
}

/// Bags for two pour days are told apart.
#[test]
fn bags_are_loaded_by_their_pour_day() {
    let two = estimate(&book(|_| {}), |n| {
        n["runs"][1]["pour_days"] = json!([2]);
        n["options"] = json!({"concrete_way": "bags-80"});
    });
    let bags: Vec<&Value> = two["load_out"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|l| l["because"].as_str().unwrap().starts_with("concrete.bags"))
        .collect();
    let days: Vec<&str> = bags.iter().map(|l| l["because"].as_str().unwrap()).collect();
    assert!(
        days.contains(&"concrete.bags, pour day 1") && days.contains(&"concrete.bags, pour day 2"),
        "{days:?}"
    );
}

/// A bar that is no longer than the lap is one piece, which needs no lap.
#[test]
fn a_bar_shorter_than_its_lap_is_one_piece() {
    let long_lap = book(|b| {
        for detail in b["setting_details"].as_array_mut().unwrap() {
            if let Some(steel) = detail.get_mut("reinforcement") {
                steel["lap"] = json!("5 ft");
            }
        }
    });
    let short = estimate(&long_lap, |n| {
        n["runs"] = json!([{"id": "short", "legs": [{"length": "16 in"}], "channel_system": "channel-6-u",
            "crossing": "C250", "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]);
        for gone in ["drain_lines", "storm", "catchments"] {
            n.as_object_mut().unwrap().remove(gone);
        }
    });
    let checks = short["checks"].as_array().unwrap();
    let failed: Vec<&Value> = checks
        .iter()
        .filter(|c| c["outcome"] == "fail" && c["reason"].as_str().unwrap().contains("bar"))
        .collect();
    assert!(failed.is_empty(), "{failed:?}");
    let bars = list(&short, "bar");
    assert_eq!(number(&bars["gap"]), Decimal::ZERO);
    assert_eq!((&bars["joints"], bars["legs"].as_array().unwrap().is_empty()), (&json!(0), false));
}

#[test]
fn several_stock_lengths_are_weighed_against_each_other() {
    // Eight feet cost less than twice four: long stock is taken where it is not cut to waste.
    let estimate = estimate(&book(|_| {}), |_| {});
    let light = estimate["layout"]["cut_lists"].as_array().unwrap();
    let light = light.iter().find(|l| l["code"] == "channel-4-light").unwrap();
    let lengths: Vec<&str> =
        light["sheet"].as_array().unwrap().iter().map(|s| s["stock"].as_str().unwrap()).collect();
    assert!(lengths.contains(&"channel-4-light-8ft"), "{lengths:?}");
}

#[test]
fn a_span_below_the_least_piece_is_named_and_the_rest_is_planned() {
    let estimate = estimate(&book(|_| {}), |n| {
        n["runs"][0]["legs"] = json!([{"length": "24 ft"}, {"length": "15 in", "meets": {"kind": "corner"}}]);
        n["runs"][0]["outlets"] = json!([{"kind": "end", "id": "drive-out", "at": "start"}]);
    });
    let checks = estimate["checks"].as_array().unwrap();
    let failed: Vec<&Value> = checks.iter().filter(|c| c["name"] == "least_piece").collect();
    assert_eq!(failed.len(), 1, "{failed:?}");
    assert!(
        failed[0]["reason"].as_str().unwrap().contains("shorter than the least piece of 1 ft"),
        "{failed:?}"
    );
    assert!(list(&estimate, "channel")["stock_pieces"].as_i64().unwrap() >= 6);
}

/// The limit on joints is the channel's: grates lie loose, pipes and boards are joined as they come. What a system says goes
/// before the settings.
#[test]
fn a_limit_on_joints_holds_for_channel_alone() {
    let limited = |settings: i64, system: Option<i64>| {
        let book = book(|book| {
            book["cutting"]["most_joints"] = settings.into();
            for s in book["channel_systems"].as_array_mut().unwrap() {
                if let Some(most) = system {
                    s["most_joints"] = most.into();
                }
            }
        });
        estimate(&book, |notes| {
            notes["runs"] = json!([{"id": "r", "legs": [{"length": "16 ft"}], "channel_system": "channel-6-u",
                "crossing": "feet", "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]);
            for gone in ["drain_lines", "storm", "catchments"] {
                notes.as_object_mut().unwrap().remove(gone);
            }
        })
    };
    let failed = |estimate: &Value| -> Vec<String> {
        let checks = estimate["checks"].as_array().unwrap();
        let failed = checks.iter().filter(|c| c["name"] == "least_piece" && c["outcome"] == "fail");
        failed.map(|c| c["reason"].as_str().unwrap().to_owned()).collect()
    };
    let kept = limited(3, None);
    assert_eq!(failed(&kept), Vec::<String>::new());
    assert_eq!(list(&kept, "channel")["joints"], 3);
    list(&kept, "grate");
    let refused = failed(&limited(3, Some(0)));
    assert!(refused.iter().all(|r| r.contains("channel")) && refused.len() == 1, "{refused:?}");
}

/// A hot climate asks for a gap of 1/8 in where the setting detail says nothing of it (common practice, no source); `0 in` says none.
#[test]
fn grates_have_their_gap_in_a_hot_climate_where_the_book_names_none() {
    let gap = |said: Option<&str>, climate: &str| {
        let book = book(|book| {
            for detail in book["setting_details"].as_array_mut().unwrap() {
                match said {
                    Some(gap) => detail["hot_grate_gap"] = json!(gap),
                    None => drop(detail.as_object_mut().unwrap().remove("hot_grate_gap")),
                }
            }
        });
        number(&list(&estimate(&book, |notes| notes["climate"] = json!(climate)), "grate")["gap"])
    };
    assert_eq!(gap(None, "hot"), Decimal::new(125, 3));
    assert_eq!(gap(None, "temperate"), Decimal::ZERO);
    assert_eq!(gap(Some("0 in"), "hot"), Decimal::ZERO);
    assert_eq!(gap(Some("1/4 in"), "hot"), Decimal::new(25, 2));
}

/// Stock, joints and cuts make the total to the cent.
fn footed(estimate: &Value) {
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    assert!(!lists.is_empty());
    for list in lists {
        let [stock, joints, cuts, total] =
            ["stock_cost", "joint_cost", "cut_cost", "total"].map(|m| number(&list[m]));
        assert_eq!(stock + joints + cuts, total, "{}", list["code"]);
        assert!(joints >= Decimal::ZERO && cuts >= Decimal::ZERO, "{}", list["code"]);
    }
}

#[test]
fn the_parts_of_a_cut_list_of_the_demo_make_its_total() {
    let estimate = estimate(&book(|_| {}), |_| {});
    footed(&estimate);
    // 122.32 + 9 x 4.9283 + 2 x 8.1765 = 183.0273: the cent goes where the larger rest is, to the joints (44.3547, 16.353).
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    let grates = lists.iter().find(|l| l["code"] == "grate-4-plastic").unwrap();
    let parts = ["stock_cost", "joint_cost", "cut_cost", "total"].map(|m| grates[m].as_str().unwrap());
    assert_eq!(parts, ["122.32", "44.36", "16.35", "183.03"]);
    let told = "; rounded by themselves 44.35 for joints and 16.35 for cuts, here 44.36 and 16.35: with the stock they make the total";
    assert!(grates["basis"].as_str().unwrap().contains(told), "{}", grates["basis"]);
    // nothing is told where each is what its rounding makes
    let channel = lists.iter().find(|l| !l["basis"].as_str().unwrap().contains("rounded by themselves"));
    assert!(channel.is_some(), "{lists:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 30, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_parts_of_a_cut_list_make_its_total(length in 60_i64..900, cents in 1_000_i64..99_999) {
        let book = book(|book| {
            for trade in book["trades"].as_array_mut().unwrap() {
                trade["wage"] = json!(format!("{}.{:02}", cents / 1_000, cents % 100));
            }
        });
        let estimate = estimate(&book, |notes| {
            notes["runs"][1]["legs"] = json!([{"length": format!("{length} in")}]);
            notes["runs"][1]["outlets"] = json!([{"kind": "end", "id": "path-out", "at": "finish"}]);
        });
        footed(&estimate);
    }
}

/// A pour day that the plan pours in several goes is dated by the first of them.
#[test]
fn a_pour_day_is_dated_by_its_first_pour() {
    let made = estimate(&book(|_| {}), |n| {
        n["schedule"] = json!({"start": "2027-03-02"});
        n["runs"][0]["legs"] = json!([{"length": "700 ft"}]);
        n["runs"][0]["outlets"] = json!([{"kind": "bottom", "id": "drive-out", "at": "699 ft"}]);
    });
    let [pour] = made["plan"]["pours"].as_array().unwrap().as_slice() else {
        panic!("{}", made["plan"]["pours"])
    };
    let cautions = made["plan"]["cautions"].as_array().unwrap().iter().filter_map(Value::as_str);
    let several =
        cautions.filter(|c| c.contains("is ordered as one quantity, but the plan has ")).collect::<Vec<_>>();
    let first = several[0].split(" on ").nth(1).unwrap().split(',').next().unwrap();
    assert_eq!(pour["on"], first, "{several:?}");
}
