//! The text of answers against `serde_json`.

#![expect(clippy::unwrap_used, reason = "a test stops where the demo cannot be read")]

use super::*;
use crate::compute::pipeline;
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::demo::{BOOK, NOTES, rains};
use crate::wire::notes::SiteNotes;
use crate::wire::read_document;
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeMap;

fn same(value: &impl Serialize) {
    let mut text = Vec::new();
    value.serialize(Writer(&mut text)).unwrap();
    assert_eq!(String::from_utf8_lossy(&text), serde_json::to_string(value).unwrap());
}

#[derive(Serialize)]
struct Unit;

#[derive(Serialize)]
struct Pair(u8, char);

#[derive(Serialize)]
enum Kind {
    Unit,
    Text(&'static str),
    Pair(i64, f64),
    Members { one: Option<Unit>, two: BTreeMap<&'static str, Pair> },
}

#[derive(Serialize)]
struct All {
    empty: [u8; 0],
    kinds: Vec<Kind>,
    numbers: (i8, i16, i32, i64, u8, u16, u32, u64, f32, f64),
    large: (i128, u128),
    #[serde(skip_serializing_if = "Option::is_none")]
    left_out: Option<u8>,
    #[serde(flatten)]
    more: BTreeMap<String, bool>,
}

#[test]
fn every_shape_is_written_as_the_library_writes_it() {
    let two = BTreeMap::from([("a", Pair(1, '"')), ("\n", Pair(255, 'é'))]);
    for left_out in [None, Some(7)] {
        same(&All {
            empty: [],
            kinds: vec![
                Kind::Unit,
                Kind::Text("\u{1f}\\"),
                Kind::Pair(-999, 0.1),
                Kind::Members {
                    one: Some(Unit),
                    two: two.iter().map(|(k, v)| (*k, Pair(v.0, v.1))).collect(),
                },
                Kind::Members { one: None, two: BTreeMap::new() },
            ],
            numbers: (i8::MIN, i16::MIN, i32::MIN, i64::MIN, 9, 10, 1000, u64::MAX, 1.5, f64::NAN),
            large: (i128::MIN, u128::MAX),
            left_out,
            more: BTreeMap::from([("x".to_owned(), true), ("y".to_owned(), false)]),
        });
    }
    same(&BTreeMap::<String, Value>::new());
}

#[test]
fn each_byte_is_escaped_at_each_place_as_the_library_escapes_it() {
    for length in 1..=25 {
        for at in 0..length {
            for byte in 0..0x80_u8 {
                let mut text = vec![b'a'; length];
                if let Some(place) = text.get_mut(at) {
                    *place = byte;
                }
                same(&String::from_utf8_lossy(&text));
            }
        }
    }
}

#[test]
fn a_key_that_is_no_text_is_refused() {
    assert!(BTreeMap::from([(1, 2)]).serialize(Writer(&mut Vec::new())).is_err());
}

#[test]
fn an_estimate_is_written_as_the_library_writes_it() {
    let book = PriceBook::check(read_document(BOOK.as_bytes()).unwrap()).unwrap();
    let used = BookRef { version_id: "v".to_owned(), name: "demo".to_owned(), number: 1 };
    let notes: SiteNotes = read_document(NOTES.as_bytes()).unwrap();
    same(&pipeline::estimate(&notes, &book, &used, &rains().unwrap()).unwrap());
}

proptest! {
    #[test]
    fn eight_bytes_are_plain_when_each_of_them_is(bytes in any::<[u8; 8]>()) {
        let each = bytes.iter().all(|byte| !matches!(byte, 0..0x20 | b'"' | b'\\'));
        prop_assert_eq!(is_plain_word(u64::from_le_bytes(bytes)), each);
    }

    #[test]
    fn any_text_is_written_as_the_library_writes_it(text in any::<String>()) {
        same(&text);
    }
}
