//! The JSON shapes: what a request may say and what an answer holds. Pure: no HTTP here.
//!
//! | file | subject |
//! |---|---|
//! | [`faults`] | the collector of everything wrong with a body, and JSON pointers |
//! | [`read`] | the [`Wire`] trait, lists, objects, unknown members |
//! | [`macros`] | one declaration for a struct, its reader, its writer and its description |
//! | [`strict`] | bytes to JSON, refusing duplicate members and trailing text |
//! | [`value`] | a JSON value as it was sent |
//! | [`scalar`] | checked text, codes, whole numbers |
//! | [`day`] | civil dates |
//! | [`query`] | closed words of query parameters |
//! | [`notes`] | the site notes: what a foreman wrote down |
//! | [`book`] | the price book: everything the office sets |
//! | [`water`] | storm, catchments and inflows of the notes, water rules of the book |
//! | [`rain`] | rain tables |
//! | [`calc`], [`orders`], [`planning`] | bodies of the calculators, of the order calculators, of plans |
//! | [`contract`] | quotes, change orders, invoices and the snapshots they are made from |
//! | [`records`] | what happened on accepted jobs, and the rates that follow from it |
//! | [`changes`] | what an edit changed, member by member |

pub mod book;
pub mod calc;
pub mod changes;
pub mod contract;
pub mod day;
pub mod faults;
pub mod macros;
pub mod notes;
pub mod orders;
pub mod planning;
pub mod query;
pub mod rain;
pub mod read;
pub mod records;
pub mod scalar;
pub mod strict;
pub mod value;
pub mod water;

pub use faults::{At, Fault, Faults};
pub use query::Words;
pub use read::{Extreme, List, Members, Wire, nearest, wrong_kind};
pub use scalar::{Code, Label, Note, Whole};
pub use value::Value;

use utoipa::openapi::schema::AllOfBuilder;
use utoipa::openapi::{RefOr, Schema};

/// Adds a member's own description to the schema of its type.
pub fn described(schema: RefOr<Schema>, text: &str) -> RefOr<Schema> {
    match schema {
        RefOr::Ref(mut reference) => {
            reference.description = text.to_owned();
            RefOr::Ref(reference)
        }
        RefOr::T(Schema::Object(mut object)) => {
            object.description = Some(text.to_owned());
            RefOr::T(Schema::Object(object))
        }
        RefOr::T(Schema::Array(mut array)) => {
            array.description = Some(text.to_owned());
            RefOr::T(Schema::Array(array))
        }
        RefOr::T(other) => AllOfBuilder::new().description(Some(text)).item(RefOr::T(other)).into(),
    }
}

/// Reads the `kind` that tells the shapes of a union apart.
pub fn kind_of<'v>(
    value: &'v Value<'_>,
    words: &[&'static str],
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<&'v str> {
    let Value::Object(object) = value else {
        let first = words.first().copied().unwrap_or_default();
        let expected =
            format!("an object whose `kind` is one of those allowed, such as {{\"kind\": \"{first}\", …}}");
        read::wrong_type(value, &expected, at, faults).allow(words.iter().copied());
        return None;
    };
    let here = at.member("kind");
    match object.get("kind") {
        None => {
            faults.add(&here, "required", "the member `kind` is required").allow(words.iter().copied());
            None
        }
        Some(Value::String(word)) if words.contains(&&**word) => Some(word),
        Some(Value::String(word)) => {
            faults
                .value(&here, "unknown_value", word, "this is not one of the kinds accepted here")
                .allow(words.iter().copied());
            None
        }
        Some(other) => {
            wrong_kind(other, "text", &here, faults);
            None
        }
    }
}

/// Reads a whole document from bytes.
///
/// # Errors
/// [`strict::NotJson`] when the bytes are no JSON document; the faults of the document otherwise.
pub fn read_document<T: Wire>(bytes: &[u8]) -> Result<T, ReadError> {
    let value = strict::parse(bytes).map_err(ReadError::NotJson)?;
    read_sent(&value).map_err(ReadError::Faults)
}

/// Reads a whole document from a JSON value.
///
/// # Errors
/// Every fault of the document.
pub fn read_value<T: Wire>(value: &serde_json::Value) -> Result<T, Faults> {
    read_sent(&value.into())
}

fn read_sent<T: Wire>(value: &Value<'_>) -> Result<T, Faults> {
    let mut faults = Faults::new();
    let read = T::read(value, &At::ROOT, &mut faults);
    faults.finish(read)
}

/// Why bytes could not be read as a document.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// Not JSON at all.
    #[error(transparent)]
    NotJson(strict::NotJson),
    /// JSON, but not a valid document.
    #[error("{0}")]
    Faults(Faults),
}
