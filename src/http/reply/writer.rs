//! Answers as JSON text: what `serde_json` writes, in about half its time. The quickest library tried takes half as long again.
//!
//! An answer is thousands of short texts under member names that are known beforehand. A name of a struct is never escaped, so
//! it is not searched for what must be; a value is searched eight bytes at a time and copied whole where nothing is found.

use crate::units::quantity::Figure;
use serde::Serialize;
use serde::ser::{self, Serializer};
use std::fmt::Display;

/// Why a value could not be written.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub(super) struct Unwritten(String);

impl ser::Error for Unwritten {
    fn custom<T: Display>(message: T) -> Self {
        Self(message.to_string())
    }
}

type Written = Result<(), Unwritten>;

/// Writes one value behind what stands there.
pub(super) struct Writer<'a>(pub(super) &'a mut Vec<u8>);

/// Writes the members of an object or a list.
pub(super) struct Members<'a> {
    text: &'a mut Vec<u8>,
    is_first: bool,
    end: &'static [u8],
}

impl<'a> Writer<'a> {
    fn put(self, text: &str) -> Written {
        self.0.extend_from_slice(text.as_bytes());
        Ok(())
    }

    fn members(self, start: &[u8], end: &'static [u8]) -> Members<'a> {
        self.0.extend_from_slice(start);
        Members { text: self.0, is_first: true, end }
    }

    /// The object `{"name":` that says which variant of an enum follows.
    fn variant(self, name: &'static str) -> Self {
        self.0.push(b'{');
        quoted(self.0, name);
        self.0.push(b':');
        self
    }
}

impl Members<'_> {
    fn comma(&mut self) {
        if !self.is_first {
            self.text.push(b',');
        }
        self.is_first = false;
    }

    fn element<T: Serialize + ?Sized>(&mut self, value: &T) -> Written {
        self.comma();
        value.serialize(Writer(self.text))
    }

    /// Inlined, so that the length of the name is known.
    #[inline(always)]
    fn member<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Written {
        debug_assert!(is_plain(name.as_bytes()), "{name} would be escaped");
        self.text.reserve(name.len() + 4);
        self.text.extend_from_slice(if self.is_first { b"\"" } else { b",\"" });
        self.is_first = false;
        self.text.extend_from_slice(name.as_bytes());
        self.text.extend_from_slice(b"\":");
        value.serialize(Writer(self.text))
    }

    fn close(self) -> Written {
        self.text.extend_from_slice(self.end);
        Ok(())
    }
}

/// A text in quotes.
fn quoted(text: &mut Vec<u8>, value: &str) {
    text.reserve(value.len() + 2);
    text.push(b'"');
    if is_plain(value.as_bytes()) {
        text.extend_from_slice(value.as_bytes());
    } else {
        escape(text, value);
    }
    text.push(b'"');
}

/// Whether nothing of a text must be escaped: no control character, quote or backslash (RFC 8259, section 7).
fn is_plain(text: &[u8]) -> bool {
    let (words, rest) = text.as_chunks::<8>();
    // The last eight bytes at once, also those looked at before; shorter texts byte by byte.
    let ends_plain = match text.last_chunk::<8>() {
        Some(last) => is_plain_word(u64::from_le_bytes(*last)),
        None => rest.iter().all(|byte| !matches!(byte, 0..0x20 | b'"' | b'\\')),
    };
    words.iter().fold(ends_plain, |plain, word| plain & is_plain_word(u64::from_le_bytes(*word)))
}

/// [`is_plain`] of eight bytes at once: the highest bit of a byte is set in `below` where that byte is below 0x20, in the other
/// two where it is a quote or a backslash. A byte borrows from the next only where its own bit is set, so that one of them is
/// always set rightly. Source: common practice, no source; proved against single bytes by a test.
const fn is_plain_word(word: u64) -> bool {
    const ONES: u64 = u64::from_le_bytes([1; 8]);
    const HIGHEST: u64 = u64::from_le_bytes([0x80; 8]);
    let (quote, backslash) = (word ^ u64::from_le_bytes([b'"'; 8]), word ^ u64::from_le_bytes([b'\\'; 8]));
    let below = word.wrapping_sub(ONES * 0x20) & !word;
    let at_quote = quote.wrapping_sub(ONES) & !quote;
    let at_backslash = backslash.wrapping_sub(ONES) & !backslash;
    (below | at_quote | at_backslash) & HIGHEST == 0
}

#[cold]
fn escape(text: &mut Vec<u8>, value: &str) {
    for byte in value.bytes() {
        match byte {
            b'"' => text.extend_from_slice(b"\\\""),
            b'\\' => text.extend_from_slice(b"\\\\"),
            0x08 => text.extend_from_slice(b"\\b"),
            b'\t' => text.extend_from_slice(b"\\t"),
            b'\n' => text.extend_from_slice(b"\\n"),
            0x0c => text.extend_from_slice(b"\\f"),
            b'\r' => text.extend_from_slice(b"\\r"),
            0..0x20 => text.extend_from_slice(format!("\\u{byte:04x}").as_bytes()),
            byte => text.push(byte),
        }
    }
}

macro_rules! whole_numbers {
    ($($write:ident $number:ty),*) => {
        $(fn $write(self, number: $number) -> Written {
            match i64::try_from(number) {
                Ok(number) => self.put(Figure::of(number, 0).as_str()),
                Err(_) => self.put(&number.to_string()),
            }
        })*
    };
}

impl<'a> Serializer for Writer<'a> {
    type Ok = ();
    type Error = Unwritten;
    type SerializeSeq = Members<'a>;
    type SerializeTuple = Members<'a>;
    type SerializeTupleStruct = Members<'a>;
    type SerializeTupleVariant = Members<'a>;
    type SerializeMap = Members<'a>;
    type SerializeStruct = Members<'a>;
    type SerializeStructVariant = Members<'a>;

    whole_numbers!(serialize_i8 i8, serialize_i16 i16, serialize_i32 i32, serialize_i64 i64, serialize_i128 i128);
    whole_numbers!(serialize_u8 u8, serialize_u16 u16, serialize_u32 u32, serialize_u64 u64, serialize_u128 u128);

    fn serialize_bool(self, value: bool) -> Written {
        self.put(if value { "true" } else { "false" })
    }

    fn serialize_f32(self, value: f32) -> Written {
        serde_json::to_writer(self.0, &value).map_err(ser::Error::custom)
    }

    fn serialize_f64(self, value: f64) -> Written {
        serde_json::to_writer(self.0, &value).map_err(ser::Error::custom)
    }

    fn serialize_char(self, value: char) -> Written {
        self.serialize_str(value.encode_utf8(&mut [0; 4]))
    }

    fn serialize_str(self, value: &str) -> Written {
        quoted(self.0, value);
        Ok(())
    }

    fn serialize_bytes(self, value: &[u8]) -> Written {
        self.collect_seq(value)
    }

    fn serialize_none(self) -> Written {
        self.put("null")
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Written {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Written {
        self.put("null")
    }

    fn serialize_unit_struct(self, _: &'static str) -> Written {
        self.put("null")
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Written {
        self.serialize_str(variant)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(self, _: &'static str, value: &T) -> Written {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Written {
        let Writer(text) = self.variant(variant);
        value.serialize(Writer(text))?;
        text.push(b'}');
        Ok(())
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Members<'a>, Unwritten> {
        Ok(self.members(b"[", b"]"))
    }

    fn serialize_tuple(self, _: usize) -> Result<Members<'a>, Unwritten> {
        Ok(self.members(b"[", b"]"))
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Members<'a>, Unwritten> {
        Ok(self.members(b"[", b"]"))
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Members<'a>, Unwritten> {
        Ok(self.variant(variant).members(b"[", b"]}"))
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Members<'a>, Unwritten> {
        Ok(self.members(b"{", b"}"))
    }

    fn serialize_struct(self, name: &'static str, _: usize) -> Result<Members<'a>, Unwritten> {
        debug_assert!(!name.starts_with('$'), "{name}: stored text is embedded by serde_json alone");
        Ok(self.members(b"{", b"}"))
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Members<'a>, Unwritten> {
        Ok(self.variant(variant).members(b"{", b"}}"))
    }
}

/// The parts of serde that write elements one after another.
macro_rules! elements {
    ($($part:ident $write:ident),*) => {
        $(impl ser::$part for Members<'_> {
            type Ok = ();
            type Error = Unwritten;

            fn $write<T: Serialize + ?Sized>(&mut self, value: &T) -> Written {
                self.element(value)
            }

            fn end(self) -> Written {
                self.close()
            }
        })*
    };
}
elements!(SerializeSeq serialize_element, SerializeTuple serialize_element);
elements!(SerializeTupleStruct serialize_field, SerializeTupleVariant serialize_field);

/// The parts of serde that write members whose names are known.
macro_rules! named_members {
    ($($part:ident),*) => {
        $(impl ser::$part for Members<'_> {
            type Ok = ();
            type Error = Unwritten;

            #[inline(always)]
            fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Written {
                self.member(name, value)
            }

            fn end(self) -> Written {
                self.close()
            }
        })*
    };
}
named_members!(SerializeStruct, SerializeStructVariant);

impl ser::SerializeMap for Members<'_> {
    type Ok = ();
    type Error = Unwritten;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Written {
        self.comma();
        let start = self.text.len();
        key.serialize(Writer(self.text))?;
        match self.text.get(start) {
            Some(b'"') => Ok(()),
            _ => Err(ser::Error::custom("a key that is no text")),
        }
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Written {
        self.text.push(b':');
        value.serialize(Writer(self.text))
    }

    fn end(self) -> Written {
        self.close()
    }
}

#[cfg(test)]
mod tests;
