//! Cases with their sources, and the demo book.

use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::units::{Length, Unit, Volume};
use rillcast::wire::read_document;
use serde_json::Value;

pub(crate) struct Cases(Vec<Value>);

impl Cases {
    pub(crate) fn of(text: &str) -> Cases {
        let cases: Vec<Value> = serde_json::from_str(text).expect("the cases are JSON");
        for case in &cases {
            let says = |name: &str| case[name].as_str().is_some_and(|t| !t.is_empty());
            assert!(says("id") && says("source") && says("source_basis"), "{case}");
        }
        Cases(cases)
    }

    pub(crate) fn get(&self, id: &str) -> &Value {
        self.0.iter().find(|c| c["id"] == id).unwrap_or_else(|| panic!("no case {id}"))
    }

    /// All cases whose id starts so; at least one.
    pub(crate) fn like<'a>(&'a self, start: &'a str) -> Vec<&'a Value> {
        let found: Vec<&Value> =
            self.0.iter().filter(|c| c["id"].as_str().is_some_and(|id| id.starts_with(start))).collect();
        assert!(!found.is_empty(), "no case {start}");
        found
    }
}

pub(crate) fn number(case: &Value, pointer: &str) -> f64 {
    case.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer} of {case}"))
}

/// Compares within the tolerance the case states.
pub(crate) fn near(got: f64, want: f64, case: &Value) {
    let tolerance = case["rel_tol"].as_f64().unwrap_or(0.0).max(1e-12);
    assert!((got - want).abs() <= tolerance * want.abs(), "{got} is not {want}: {case}");
}

/// A value of the case, to nine decimals, in the base units of its unit.
pub(crate) fn base(value: f64, unit: Unit) -> i128 {
    const BILLION: i128 = 1_000_000_000;
    let (billionths, factor) = ((value * 1e9).round() as i128, unit.factor().expect("a factor"));
    // The whole part apart: the product of a large volume would not fit.
    let rest = (billionths % BILLION * factor + BILLION / 2).div_euclid(BILLION);
    billionths / BILLION * factor + rest
}

pub(crate) fn length(value: f64, unit: Unit) -> Length {
    Length::from_nm(i64::try_from(base(value, unit)).expect("a length"))
}

pub(crate) fn volume(value: f64, unit: Unit) -> Volume {
    Volume::from_nm3(base(value, unit))
}

pub(crate) fn in_unit(base: i128, unit: Unit) -> f64 {
    base as f64 / unit.factor().expect("a factor") as f64
}

pub(crate) fn book() -> PriceBook {
    let doc = read_document(rillcast::domain::demo::BOOK.as_bytes()).unwrap_or_else(|e| panic!("{e}"));
    PriceBook::check(doc).unwrap_or_else(|e| panic!("{e}"))
}

pub(crate) fn used() -> BookRef {
    BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 }
}
