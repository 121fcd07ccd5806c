//! Whole numbers of a unit that the reader of a fault has to be told.

use crate::wire::Value;
use crate::wire::read::{Extreme, Wire};
use crate::wire::scalar::whole_number;
use crate::wire::{At, Faults};
use serde::Serialize;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

macro_rules! whole_measure {
    ($(#[doc = $doc:literal])+ $name:ident, $least:literal to $most:literal, rule $rule:literal) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
        #[serde(transparent)]
        pub struct $name(i64);

        impl $name {
            const LEAST: i64 = $least;
            const MOST: i64 = $most;

            /// The number.
            pub const fn get(self) -> i64 {
                self.0
            }
        }

        impl PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                ObjectBuilder::new()
                    .schema_type(Type::Integer)
                    .minimum(Some(Self::LEAST))
                    .maximum(Some(Self::MOST))
                    .into()
            }
        }

        impl ToSchema for $name {}

        impl Wire for $name {
            fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
                whole_number(value, Self::LEAST..=Self::MOST, $rule, at, faults).map(Self)
            }
            fn stand_in(extreme: Extreme) -> Option<Self> {
                Some(Self(extreme.of(Self::LEAST, Self::MOST)))
            }
            fn member_schema() -> RefOr<Schema> {
                Self::schema()
            }
            fn register(_: &mut Vec<(String, RefOr<Schema>)>) {}
        }
    };
}

whole_measure! {
    /// Strength of a mix in psi.
    MixPsi, 500 to 20_000,
    rule "a strength in psi, a whole number from 500 to 20000 (3.4 to 138 MPa; 1 MPa is 145 psi: 28 MPa is 4061)"
}

whole_measure! {
    /// Strength at which wheels may cross in psi.
    WheelsPsi, 100 to 20_000,
    rule "a strength in psi, a whole number from 100 to 20000 (0.7 to 138 MPa; 1 MPa is 145 psi: 20 MPa is 2901)"
}

whole_measure! {
    /// A bar by its number.
    BarNumber, 3 to 11,
    rule "a bar number, the diameter in eighths of an inch, a whole number from 3 to 11 (9.5 to 35 mm; a bar of 12 mm is nearest to number 4)"
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn told<T: Wire>(value: &serde_json::Value) -> String {
        let mut faults = Faults::new();
        assert!(T::read(&value.into(), &At::ROOT, &mut faults).is_none(), "{value}");
        faults.to_string()
    }

    #[test]
    fn a_fault_names_the_unit() {
        for sent in [json!(28), json!("28 MPa")] {
            assert!(
                told::<MixPsi>(&sent).contains("psi") && told::<MixPsi>(&sent).contains("28 MPa is 4061")
            );
        }
        assert!(told::<WheelsPsi>(&json!(20)).contains("1 MPa is 145 psi"));
        assert!(told::<BarNumber>(&json!(12)).contains("eighths of an inch"));
        let mut faults = Faults::new();
        assert_eq!(
            BarNumber::read(&Value::Number(4.into()), &At::ROOT, &mut faults).map(BarNumber::get),
            Some(4)
        );
        assert!(faults.is_empty());
        let read = BarNumber::read(&(&json!(4.0)).into(), &At::ROOT, &mut faults);
        assert_eq!(read.map(BarNumber::get), Some(4));
        assert!(told::<MixPsi>(&json!(4000.5)).ends_with("found 4000.5"));
    }
}
