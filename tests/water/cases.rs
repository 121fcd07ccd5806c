//! Reading the reference cases. Each carries its source and how the source was seen.

use serde::Deserialize;
use serde_json::Value;

pub(crate) type Checked = Result<(), Box<dyn std::error::Error>>;

#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Case {
    pub(crate) id: String,
    pub(crate) source: String,
    pub(crate) source_basis: String,
    pub(crate) expected_basis: String,
    pub(crate) inputs: Value,
    pub(crate) expected: Value,
    pub(crate) rel_tol: f64,
}

impl Case {
    pub(crate) fn input(&self, name: &str) -> f64 {
        number(&self.inputs, name, &self.id)
    }

    pub(crate) fn inputs(&self, name: &str) -> Vec<f64> {
        numbers(&self.inputs, name, &self.id)
    }

    pub(crate) fn expected(&self, name: &str) -> f64 {
        number(&self.expected, name, &self.id)
    }

    pub(crate) fn expecteds(&self, name: &str) -> Vec<f64> {
        numbers(&self.expected, name, &self.id)
    }

    #[track_caller]
    pub(crate) fn near(&self, name: &str, got: f64) {
        self.close(name, got, self.expected(name));
    }

    #[track_caller]
    pub(crate) fn all_near(&self, name: &str, got: &[f64]) {
        let wanted = self.expecteds(name);
        assert_eq!(wanted.len(), got.len(), "{} {name}", self.id);
        for (got, wanted) in got.iter().zip(wanted) {
            self.close(name, *got, wanted);
        }
    }

    #[track_caller]
    pub(crate) fn close(&self, name: &str, got: f64, wanted: f64) {
        let off = (got - wanted).abs();
        assert!(
            off <= self.rel_tol * wanted.abs() + 1e-300,
            "{} {name}: got {got}, wanted {wanted} within {} ({}; {}, {})",
            self.id,
            self.rel_tol,
            self.source,
            self.source_basis,
            self.expected_basis
        );
    }
}

fn number(from: &Value, name: &str, id: &str) -> f64 {
    from.get(name).and_then(Value::as_f64).unwrap_or_else(|| panic!("{id} has no number {name}"))
}

fn numbers(from: &Value, name: &str, id: &str) -> Vec<f64> {
    let list = from.get(name).and_then(Value::as_array).unwrap_or_else(|| panic!("{id} has no list {name}"));
    list.iter().map(|v| v.as_f64().unwrap_or_else(|| panic!("{id} {name}: not a number"))).collect()
}

/// The cases of a file, by id.
pub(crate) struct Cases(Vec<Case>);

impl Cases {
    pub(crate) fn read(text: &str) -> Self {
        Self(serde_json::from_str(text).expect("the case file is valid"))
    }

    #[track_caller]
    pub(crate) fn get(&self, id: &str) -> &Case {
        self.0.iter().find(|case| case.id == id).unwrap_or_else(|| panic!("no case {id}"))
    }

    pub(crate) fn starting(&self, prefix: &str) -> impl Iterator<Item = &Case> {
        self.0.iter().filter(move |case| case.id.starts_with(prefix))
    }
}
