//! Published cases as data: each test names the case it checks, and a last test sees that none was passed
//! over.

use serde_json::Value;

/// One case.
pub struct Case(Value);

fn all() -> Vec<Value> {
    let files = [
        include_str!("cases/labor.json"),
        include_str!("cases/schedule.json"),
        include_str!("cases/learning.json"),
        include_str!("cases/strength.json"),
    ];
    files.iter().flat_map(|text| serde_json::from_str::<Vec<Value>>(text).unwrap()).collect()
}

#[track_caller]
pub fn case(id: &str) -> Case {
    let found = all().into_iter().find(|c| c["id"] == id);
    let case = found.unwrap_or_else(|| panic!("no case {id}"));
    assert!(case["source"].is_string() && case["source_basis"].is_string(), "{id} names no source");
    Case(case)
}

impl Case {
    #[track_caller]
    pub fn input(&self, name: &str) -> f64 {
        self.0["inputs"][name].as_f64().unwrap_or_else(|| panic!("no input {name}"))
    }

    #[track_caller]
    pub fn inputs(&self, name: &str) -> Vec<f64> {
        self.0["inputs"][name].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    }

    #[track_caller]
    pub fn text(&self, name: &str) -> &str {
        self.0["inputs"][name].as_str().unwrap()
    }

    pub fn value(&self, part: &str, name: &str) -> &Value {
        &self.0[part][name]
    }

    /// Within the case's own tolerance.
    #[track_caller]
    pub fn expect(&self, name: &str, actual: f64) {
        let expected = self.0["expected"][name].as_f64().unwrap_or_else(|| panic!("no expectation {name}"));
        self.near(name, expected, actual);
    }

    #[track_caller]
    pub fn near(&self, name: &str, expected: f64, actual: f64) {
        let tolerance = self.0["rel_tol"].as_f64().unwrap() * expected.abs() + f64::EPSILON;
        assert!(
            (actual - expected).abs() <= tolerance,
            "{} {name}: {actual}, expected {expected}",
            self.0["id"]
        );
    }

    #[track_caller]
    pub fn expect_text(&self, name: &str, actual: &str) {
        assert_eq!(self.0["expected"][name], actual, "{} {name}", self.0["id"]);
    }
}

/// Every case is named in one of the test files.
#[test]
fn every_case_is_checked() {
    let tests = [
        include_str!("labor_cases.rs"),
        include_str!("schedule_cases.rs"),
        include_str!("learning_cases.rs"),
    ];
    for case in all() {
        let id = case["id"].as_str().unwrap();
        let quoted = format!("\"{id}\"");
        assert!(tests.iter().any(|text| text.contains(&quoted)), "{id} is not checked");
    }
}
