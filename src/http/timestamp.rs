//! An instant as answers carry it.

use serde::Serialize;
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, SchemaFormat, Type};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// An instant in UTC with milliseconds (RFC 3339).
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Timestamp(String);

impl Timestamp {
    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// An instant from unix milliseconds.
///
/// ```
/// use rillcast::http::timestamp::timestamp;
/// assert_eq!(timestamp(1_772_323_200_005).as_str(), "2026-03-01T00:00:00.005Z");
/// ```
pub fn timestamp(ms: i64) -> Timestamp {
    let text = jiff::Timestamp::from_millisecond(ms)
        .map_or_else(|_| String::new(), |t| t.strftime("%Y-%m-%dT%H:%M:%S%.3fZ").to_string());
    Timestamp(text)
}

impl PartialSchema for Timestamp {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::String)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::DateTime)))
            .description(Some("An instant in UTC with milliseconds (RFC 3339)."))
            .examples([serde_json::json!("2026-03-09T14:03:27.118Z")])
            .into()
    }
}

impl ToSchema for Timestamp {
    fn name() -> std::borrow::Cow<'static, str> {
        "Timestamp".into()
    }
}
