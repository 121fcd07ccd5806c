//! The office's rules for water, through the whole flow check.

use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, rains};
use rillcast::wire::read_value;
use serde_json::{Value, json};

fn book(rules: Option<Value>) -> Result<PriceBook, String> {
    let mut doc: Value = serde_json::from_str(BOOK).unwrap();
    match rules {
        Some(rules) => doc["water_rules"] = rules,
        None => drop(doc.as_object_mut().unwrap().remove("water_rules")),
    }
    let doc = read_value(&doc).map_err(|faults| format!("{faults:?}"))?;
    PriceBook::check(doc).map_err(|faults| format!("{faults:?}"))
}

/// Texts of the warnings of a catchment whose water runs so far as a sheet, then so far overland.
fn warnings(rules: Option<Value>, sheet: &str, overland: &str) -> Vec<String> {
    let request = json!({"notes": {
        "runs": [{"id": "a", "legs": [{"length": "40 ft"}], "channel_system": "channel-6-u", "crossing": "feet",
            "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}],
        "storm": {"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}},
        "catchments": [{"id": "yard", "surfaces": [{"cover": "concrete", "area": "1000 ft2"}],
            "path": [{"kind": "sheet", "length": sheet, "fall_pct": "2", "roughness": "0.011"},
                     {"kind": "overland", "length": overland, "fall_pct": "2", "coefficient": "0.9"}],
            "reaches": [{"run": "a"}]}]}});
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    let request = read_value(&request).unwrap();
    let answer = pipeline::flow(&request, &book(rules).unwrap(), &used, &rains().unwrap()).unwrap();
    let [catchment] = answer.water.catchments.as_slice() else { panic!("one catchment") };
    assert!(catchment.warnings.iter().all(|w| w.kind == "outside_range"));
    catchment.warnings.iter().map(|w| w.text.clone()).collect()
}

/// Usual lengths: 100 ft of sheet flow (USDA NRCS, FHWA HEC-22, from memory), 500 ft by the formula of the FAA (from
/// memory).
#[test]
fn a_book_without_lengths_warns_beyond_the_usual_ones() {
    for rules in [None, Some(json!({})), Some(json!({"ponding": "1/2 in"}))] {
        assert_eq!(warnings(rules.clone(), "100 ft", "500 ft"), Vec::<String>::new());
        assert_eq!(
            warnings(rules, "101 ft", "501 ft"),
            [
                "101 ft of sheet flow, longer than the 100 ft up to which its formula is used: describe the rest as \
                 `shallow`",
                "501 ft of overland flow, longer than the 500 ft up to which its formula is used: describe the rest as \
                 `shallow`",
            ]
        );
    }
}

#[test]
fn the_lengths_of_the_book_stand_in_the_warning() {
    let rules = json!({"longest_sheet_flow": "60 ft", "longest_overland_flow": "800 ft"});
    assert_eq!(warnings(Some(rules.clone()), "60 ft", "800 ft"), Vec::<String>::new());
    let told = warnings(Some(rules.clone()), "75 ft", "700 ft");
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].starts_with("75 ft of sheet flow, longer than the 60 ft "), "{told:?}");
    let told = warnings(Some(rules), "50 ft", "850 ft");
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].starts_with("850 ft of overland flow, longer than the 800 ft "), "{told:?}");
}

#[test]
fn lengths_of_nothing_are_refused_with_their_place() {
    let told = book(Some(json!({"longest_sheet_flow": "0 ft", "longest_overland_flow": "0 m"}))).unwrap_err();
    for name in ["longest_sheet_flow", "longest_overland_flow"] {
        assert!(told.contains(&format!("#/water_rules/{name}")), "{told}");
    }
    assert!(told.contains("out_of_range"), "{told}");
}
