//! Both forms of a quantity in a request as the document describes them: the object form with the units and the sign that are read.

use crate::units::unit::Unit;
use utoipa::ToSchema;
use utoipa::openapi::schema::{AdditionalProperties, ObjectBuilder, OneOfBuilder, Type};
use utoipa::openapi::{Ref, RefOr, Schema};

/// A number that may be below zero.
pub(super) const SIGNED: &str = r"^-?\d{1,15}(\.\d{1,6})?$";

/// The name of the object form of an input: that of `LengthInput` is `LengthQuantity`.
fn object_name(input: &str) -> String {
    match input.trim_end_matches("Input") {
        "Quantity" => "AnyQuantity".to_owned(),
        of => format!("{of}Quantity"),
    }
}

/// Both forms, the object form by its name.
pub(in crate::units) fn input_schema<T: ToSchema>(what: &str, examples: [&str; 3]) -> RefOr<Schema> {
    let text = ObjectBuilder::new().schema_type(Type::String).min_length(Some(1)).max_length(Some(60));
    OneOfBuilder::new()
        .description(Some(what))
        .item(text)
        .item(Ref::from_schema_name(object_name(&T::name())))
        .examples(examples.map(serde_json::Value::from))
        .into()
}

/// Puts the object form of an input into `into`: a number, below zero only where it is `signed`, of one of the units that are read.
pub(in crate::units) fn register_object<T: ToSchema>(
    signed: bool,
    is_read: impl Fn(Unit) -> bool,
    into: &mut Vec<(String, RefOr<Schema>)>,
) {
    let name = object_name(&T::name());
    if into.iter().any(|(have, _)| *have == name) {
        return;
    }
    let units: Vec<&str> = Unit::ALL.iter().copied().filter(|u| is_read(*u)).map(Unit::word).collect();
    let number = if signed { SIGNED } else { r"^\d{1,15}(\.\d{1,6})?$" };
    let example = serde_json::json!({"value": "16.25", "unit": units.first()});
    let unit = ObjectBuilder::new()
        .schema_type(Type::String)
        .description(Some("The unit of the number."))
        .enum_values(Some(units));
    into.push((name, object("A number with its unit.", number, unit, example)));
}

/// The object form of a quantity: its number by a pattern, and its unit.
pub(super) fn object(
    description: &str,
    number: &str,
    unit: impl Into<RefOr<Schema>>,
    example: serde_json::Value,
) -> RefOr<Schema> {
    ObjectBuilder::new()
        .description(Some(description))
        .additional_properties(Some(AdditionalProperties::FreeForm(false)))
        .property(
            "value",
            ObjectBuilder::new()
                .schema_type(Type::String)
                .description(Some("The number, a decimal string."))
                .pattern(Some(number))
                .examples([serde_json::json!("16.25")]),
        )
        .property("unit", unit)
        .required("value")
        .required("unit")
        .examples([example])
        .into()
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where a shape is not there")]
    use super::*;
    use crate::units::exact::{Area, Length, Volume};
    use crate::units::quantity::{AnyQuantity, Density, Flow, Level, Mass, RainRate, Span, WorkTime};
    use crate::units::{Distance, Speed, Temperature};
    use crate::wire::{Wire, read_value};
    use serde_json::{Value, json};

    /// What is described of the object form is what is read, unit by unit, with and without a sign.
    fn told<T: Wire + ToSchema>() -> usize {
        let input = serde_json::to_value(T::schema()).unwrap();
        let at = input["oneOf"][1]["$ref"].as_str().unwrap().rsplit('/').next().unwrap().to_owned();
        let mut shapes = Vec::new();
        T::register(&mut shapes);
        let (_, object) = shapes.iter().find(|(name, _)| *name == at).unwrap();
        let object = serde_json::to_value(object).unwrap();
        let units = object["properties"]["unit"]["enum"].as_array().unwrap();
        let signed = object["properties"]["value"]["pattern"].as_str().unwrap().starts_with("^-?");
        for unit in Unit::ALL {
            let is_told = units.contains(&Value::from(unit.word()));
            let reads = |value: &str| read_value::<T>(&json!({"value": value, "unit": unit})).is_ok();
            assert_eq!(reads("1"), is_told, "{at} {unit}");
            assert_eq!(reads("-1"), is_told && signed, "{at} {unit}");
        }
        units.len()
    }

    #[test]
    fn the_units_and_signs_that_are_described_are_those_that_are_read() {
        let lengths = [told::<Length>(), told::<Level>(), told::<Distance>()];
        assert_eq!(lengths, [8; 3]);
        assert_eq!([told::<Area>(), told::<Volume>(), told::<Mass>()], [5, 6, 4]);
        assert_eq!([told::<Span>(), told::<WorkTime>()], [3, 2]);
        assert_eq!([told::<Flow>(), told::<Speed>(), told::<RainRate>()], [3, 4, 2]);
        assert_eq!([told::<Temperature>(), told::<Density>()], [2, 6]);
        assert_eq!(told::<AnyQuantity>(), 8 + 5 + 6 + 4 + 3 + 2);
    }
}
