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

/// A concrete yard of 1,000 ft2 at C 0.5 under 4 in/h, by a storm of so many years: coefficient, working, warnings.
fn raised(rules: Option<Value>, years: Option<i64>) -> (String, String, Vec<String>) {
    raised_from("0.5", rules, years)
}

/// The same at another C.
fn raised_from(c: &str, rules: Option<Value>, years: Option<i64>) -> (String, String, Vec<String>) {
    let mut storm = json!({"rain": {"kind": "intensity", "intensity": "4 in_per_hr"}});
    if let Some(years) = years {
        storm["return_period_years"] = json!(years);
    }
    let request = json!({"notes": {
        "runs": [{"id": "a", "legs": [{"length": "40 ft"}], "channel_system": "channel-6-u", "crossing": "feet",
            "outlets": [{"kind": "end", "id": "a-out", "at": "finish"}]}],
        "storm": storm,
        "catchments": [{"id": "yard", "reaches": [{"run": "a"}],
            "surfaces": [{"cover": "concrete", "area": "1000 ft2", "coefficient": c}]}]}});
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    let request = read_value(&request).unwrap();
    let answer = pipeline::flow(&request, &book(rules).unwrap(), &used, &rains().unwrap()).unwrap();
    let [catchment] = answer.water.catchments.as_slice() else { panic!("one catchment") };
    let warnings = catchment.warnings.iter().map(|w| w.text.clone()).collect();
    (catchment.coefficient.clone(), catchment.basis.clone(), warnings)
}

/// 1, 1.1, 1.2, 1.25 up to 10, 25, 50, 100 years (FHWA HEC-22 and state manuals, from memory).
#[test]
fn a_book_without_frequency_factors_takes_the_published_ones() {
    for (years, coefficient) in [(10, "0.5"), (11, "0.55"), (25, "0.55"), (50, "0.6"), (100, "0.625")] {
        let (found, basis, warnings) = raised(None, Some(years));
        assert_eq!((found.as_str(), warnings.len()), (coefficient, 0), "{years}: {basis}");
        assert!(!basis.contains("price book"), "{basis}");
    }
    let (found, _, warnings) = raised(None, Some(200));
    assert_eq!((found.as_str(), warnings.len()), ("0.625", 1));
    assert!(warnings[0].starts_with("a storm of 200 years is rarer than the 100 years "), "{warnings:?}");
}

#[test]
fn the_frequency_factors_of_the_book_are_taken_and_told() {
    let step = |years: i64, factor: &str| json!({"up_to_years": years, "factor": factor});
    let none = json!({"frequency_factors": [step(1000, "1")]});
    for years in [25, 50, 100, 1000] {
        let (found, basis, warnings) = raised(Some(none.clone()), Some(years));
        assert_eq!((found.as_str(), warnings.len()), ("0.5", 0), "{basis}");
        let told =
            format!("C 0.5 x frequency factor 1 (price book, for a storm of {years} years) = 0.5, at most 1");
        assert!(basis.contains(&told), "{basis}");
    }
    let (_, _, warnings) = raised(Some(json!({"frequency_factors": [step(1, "1")]})), Some(2));
    assert!(warnings[0].starts_with("a storm of 2 years is rarer than the 1 year up to "), "{warnings:?}");
    let own = json!({"frequency_factors": [step(20, "1.05"), step(60, "1.5")]});
    for (years, coefficient) in [(2, "0.525"), (20, "0.525"), (21, "0.75"), (60, "0.75")] {
        assert_eq!(raised(Some(own.clone()), Some(years)).0, coefficient, "{years}");
    }
    let (found, _, warnings) = raised(Some(own.clone()), Some(61));
    assert_eq!((found.as_str(), warnings.len()), ("0.75", 1));
    assert!(warnings[0].contains("the 60 years up to which"), "{warnings:?}");
    // Nothing says how rare a storm is that nobody gave a return period, not even the first factor of the list.
    let (found, basis, _) = raised(Some(own.clone()), None);
    assert!(found == "0.5" && !basis.contains("frequency factor"), "{basis}");
    let mut by_book = own;
    by_book["return_period_years"] = json!(50);
    assert_eq!(raised(Some(by_book), None).0, "0.75");
}

#[test]
fn frequency_factors_that_contradict_each_other_are_refused() {
    let refused = |steps: Value| book(Some(json!({"frequency_factors": steps}))).unwrap_err();
    let step = |years: i64, factor: &str| json!({"up_to_years": years, "factor": factor});
    for (steps, at, code) in [
        (json!([step(25, "1"), step(25, "1.1")]), "1/up_to_years", "not_ascending"),
        (json!([step(25, "1"), step(10, "1.1")]), "1/up_to_years", "not_ascending"),
        (json!([step(25, "1.2"), step(50, "1.1")]), "1/factor", "contradiction"),
        (json!([step(25, "0.9")]), "0/factor", "out_of_range"),
        (json!([step(25, "2.01")]), "0/factor", "out_of_range"),
    ] {
        let told = refused(steps);
        assert!(told.contains(&format!("#/water_rules/frequency_factors/{at}")), "{told}");
        assert!(told.contains(code), "{told}");
    }
}

/// What would run off as more than all that falls is told as it comes out, and that all of it is taken.
#[test]
fn a_coefficient_raised_above_one_says_what_it_came_to() {
    let (found, basis, _) = raised_from("0.85", None, Some(100));
    assert_eq!(found, "1");
    assert!(
        basis.contains(": C 0.85 x frequency factor 1.25 = 1.0625, of which at most 1 is taken; "),
        "{basis}"
    );
    let (found, basis, _) = raised_from("0.8", None, Some(100));
    assert_eq!(found, "1");
    assert!(basis.contains(": C 0.8 x frequency factor 1.25 = 1, at most 1; "), "{basis}");
}
