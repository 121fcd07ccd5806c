//! Boards and bars that are shorter as a whole than the least piece: sawn as long as they must be.

use crate::estimate::{book, estimate, number};
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// A run between forms, with bars, and a drain line, where no piece is to be shorter than three feet.
fn of(legs: &Value, line: &str) -> Value {
    let book = book(|book| {
        book["cutting"]["least_piece"] = json!("3 ft");
        let bars = book["setting_details"][2]["reinforcement"].clone();
        book["setting_details"][1]["reinforcement"] = bars;
        book["setting_details"][1]["reinforcement"]["lap"] = json!("2 ft");
    });
    estimate(&book, |notes| {
        notes["runs"] = json!([{"id": "r", "legs": legs, "channel_system": "channel-6-u", "crossing": "wheels",
            "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]);
        let pipe = notes["drain_lines"][0]["pipe"].clone();
        notes["drain_lines"] = json!([{"id": "l", "from": [{"outlet": "o"}], "pipe": pipe, "legs": [{"length": line}],
            "depth": "3 ft", "fall_pct": "1", "ends": {"kind": "discharges", "to": "dry_well"}}]);
        for gone in ["storm", "catchments"] {
            notes.as_object_mut().unwrap().remove(gone);
        }
    })
}

/// Reasons of the failed checks of least pieces.
fn too_short(estimate: &Value) -> Vec<&str> {
    let checks = estimate["checks"].as_array().unwrap().iter();
    checks.filter(|c| c["name"] == "least_piece").map(|c| c["reason"].as_str().unwrap()).collect()
}

/// The legs of a part, each with its pieces, in feet.
fn legs(estimate: &Value, part: &str) -> Vec<(Decimal, Vec<Decimal>)> {
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    let mut out = Vec::new();
    for list in lists.iter().filter(|l| l["part"] == part) {
        for leg in list["legs"].as_array().unwrap() {
            let rows = list["sheet"].as_array().unwrap().iter();
            let pieces = rows.flat_map(|row| {
                let count = usize::try_from(row["count"].as_i64().unwrap()).unwrap();
                let of_leg = row["pieces"].as_array().unwrap().iter().filter(|p| p["leg"] == leg["leg"]);
                of_leg.flat_map(move |p| vec![number(&p["length"]); count])
            });
            out.push((number(&leg["length"]), pieces.collect()));
        }
    }
    out
}

#[test]
fn a_board_across_a_narrow_trench_is_no_piece_too_short() {
    let estimate = of(&json!([{"length": "14 ft"}]), "10 ft");
    assert_eq!(too_short(&estimate), Vec::<&str>::new());
    let boards = legs(&estimate, "form_board");
    let (ends, sides): (Vec<_>, Vec<_>) =
        boards.into_iter().partition(|(length, _)| *length < Decimal::from(3));
    assert!(ends.len() >= 2 && sides.len() == ends.len(), "{ends:?} {sides:?}");
    for (length, pieces) in &ends {
        assert_eq!(pieces, &[*length]);
    }
    for (_, pieces) in &sides {
        assert!(pieces.len() > 1 && pieces.iter().all(|p| *p >= Decimal::from(3)), "{pieces:?}");
    }
}

#[test]
fn boards_and_bars_of_a_short_run_are_whole() {
    // 2 ft 8 in of trench: longer than the lap of the bars and shorter than the least piece; 2 ft: no longer than the lap
    for (leg, feet) in [("2 ft", "2.6667"), ("1 ft 4 in", "2")] {
        let estimate = of(&json!([{"length": leg}]), "10 ft");
        assert_eq!(too_short(&estimate), Vec::<&str>::new());
        let bars = legs(&estimate, "bar");
        assert_eq!(bars.len(), 4, "{bars:?}");
        for (length, pieces) in bars.iter().chain(&legs(&estimate, "form_board")) {
            assert_eq!(pieces, &[*length]);
        }
        let feet: Decimal = feet.parse().unwrap();
        assert!((bars[0].0 - feet).abs() < Decimal::new(1, 3), "{bars:?}");
    }
}

#[test]
fn a_stub_of_pipe_is_still_too_short() {
    let estimate = of(&json!([{"length": "14 ft"}]), "2 ft");
    let told = too_short(&estimate);
    assert!(
        matches!(told[..], [one] if one.contains("pipe of 2 ft is shorter than the least piece of 3 ft: move a fitting")),
        "{told:?}"
    );
}
