//! Reading the case files.

use rillcast::units::{Unit, Volume};
use rust_decimal::Decimal;
use serde_json::Value;

/// The cases of one file in `tests/orders/cases`.
pub fn read(name: &str) -> Vec<Value> {
    let path = format!("{}/tests/orders/cases/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap();
    serde_json::from_str::<Value>(&text).unwrap().as_array().unwrap().clone()
}

/// The case of that id.
#[track_caller]
pub fn case(name: &str, id: &str) -> Value {
    read(name).into_iter().find(|c| c["id"] == id).unwrap_or_else(|| panic!("no case {id}"))
}

/// A number as the decimal it is written as.
#[track_caller]
pub fn decimal(v: &Value) -> Decimal {
    v.to_string().parse().unwrap()
}

/// So many units, rounded up to a whole cubic nanometre.
#[track_caller]
pub fn volume(units: &Value, unit: Unit) -> Volume {
    let number = decimal(units);
    let scaled = number.mantissa() * unit.factor().unwrap();
    let below = 10_i128.pow(number.scale());
    Volume::from_nm3((scaled + below - 1) / below)
}
