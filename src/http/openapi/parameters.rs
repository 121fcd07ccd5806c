//! Parameters as clients can send them: a header is there or not, never null; lists name each word once; what a header looks like.

use crate::store::idempotency::KEPT_MS;
use utoipa::openapi::RefOr;
use utoipa::openapi::path::{Operation, Parameter, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, Schema, SchemaType, Type};

/// `*`, or ETags in their quotes with commas between them (RFC 9110 sections 8.8.3 and 13.1), as the preconditions of a write are read.
const TAGS: &str =
    r#"^[ \t,]*(\*|(W/)?"[^\u0000-\u0020"\u007F]*"([ \t]*,[ \t,]*(W/)?"[^\u0000-\u0020"\u007F]*")*)[ \t,]*$"#;

/// Describes the parameters of an operation; `reads` says that it changes nothing.
pub(super) fn describe(operation: &mut Operation, reads: bool) {
    for parameter in operation.parameters.iter_mut().flatten() {
        let RefOr::T(parameter) = parameter else { continue };
        match &mut parameter.schema {
            Some(RefOr::T(Schema::Object(schema))) => never_null(&mut schema.schema_type),
            Some(RefOr::T(Schema::Array(list))) => {
                never_null(&mut list.schema_type);
                list.unique_items = true;
            }
            _ => {}
        }
        match parameter.name.as_str() {
            "Idempotency-Key" => repeats(parameter),
            // A read takes whatever is sent, and answers in full where that is no ETag.
            "If-Match" | "If-None-Match" if !reads => precondition(parameter),
            _ => {}
        }
    }
}

/// A parameter that is not sent is left out.
fn never_null(of: &mut SchemaType) {
    if let SchemaType::Array(types) = of {
        types.retain(|t| *t != Type::Null);
        if let [only] = types.as_slice() {
            *of = SchemaType::Type(only.clone());
        }
    }
}

/// What a precondition looks like.
fn precondition(parameter: &mut Parameter) {
    if parameter.parameter_in != ParameterIn::Header {
        return;
    }
    let schema = ObjectBuilder::new()
        .schema_type(Type::String)
        .description(Some("ETags in their quotes, as they were read, with commas between them; or `*`."))
        .min_length(Some(1))
        .pattern(Some(TAGS))
        .examples([serde_json::json!("\"est_1.1\"")]);
    parameter.schema = Some(schema.into());
}

/// What an Idempotency-Key looks like, and what is kept under it.
fn repeats(parameter: &mut Parameter) {
    let schema = ObjectBuilder::new()
        .schema_type(Type::String)
        .description(Some(format!(
            "8 to 64 letters, digits, `-` and `_`, quoted or bare, for example a UUID. The answer is kept for {} days under \
             the caller's key: until then another request with this one is refused. A refusal is not kept: put right, the \
             request may be sent with the same key.",
            KEPT_MS / (24 * 3600 * 1000)
        )))
        .pattern(Some("^(\"[A-Za-z0-9_-]{8,64}\"|[A-Za-z0-9_-]{8,64})$"));
    parameter.schema = Some(schema.into());
}
