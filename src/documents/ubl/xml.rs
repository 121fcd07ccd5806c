//! XML elements in order. UBL is a strict sequence: the order of calls is the order of the schema.

use crate::units::{Amount, Currency};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

/// The writer could not write, which writing to memory does not.
#[derive(Debug, thiserror::Error)]
#[error("the document could not be written: {0}")]
pub struct WriteError(#[from] std::io::Error);

const AGGREGATE: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";
const BASIC: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";

/// An open document.
pub(super) struct Xml {
    writer: Writer<Vec<u8>>,
    currency: Currency,
}

/// What writing gives.
pub(super) type Written = Result<(), WriteError>;

/// A document of the kind `Invoice`, `Quotation` and so on.
pub(super) fn document(
    kind: &str,
    currency: Currency,
    content: impl FnOnce(&mut Xml) -> Written,
) -> Result<Vec<u8>, WriteError> {
    let mut xml = Xml { writer: Writer::new_with_indent(Vec::with_capacity(8 * 1024), b' ', 1), currency };
    xml.writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let own = format!("urn:oasis:names:specification:ubl:schema:xsd:{kind}-2");
    xml.element(kind, &[("xmlns", &own), ("xmlns:cac", AGGREGATE), ("xmlns:cbc", BASIC)], content)?;
    let mut bytes = xml.writer.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

impl Xml {
    /// The currency of the document.
    pub(super) fn currency(&self) -> Currency {
        self.currency
    }

    fn element(
        &mut self,
        name: &str,
        attributes: &[(&str, &str)],
        content: impl FnOnce(&mut Xml) -> Written,
    ) -> Written {
        let mut start = quick_xml::events::BytesStart::new(name);
        for (name, value) in attributes {
            start.push_attribute((*name, clean(value).as_str()));
        }
        let end = start.to_end().into_owned();
        self.writer.write_event(Event::Start(start.borrow()))?;
        content(self)?;
        self.writer.write_event(Event::End(end))?;
        Ok(())
    }

    /// `cac:name` with content.
    pub(super) fn group(&mut self, name: &str, content: impl FnOnce(&mut Xml) -> Written) -> Written {
        self.element(&format!("cac:{name}"), &[], content)
    }

    /// `cbc:name` with text.
    pub(super) fn text(&mut self, name: &str, value: &str) -> Written {
        self.with(name, &[], value)
    }

    /// `cbc:name` with text, when there is some.
    pub(super) fn maybe(&mut self, name: &str, value: Option<&str>) -> Written {
        value.map_or(Ok(()), |v| self.text(name, v))
    }

    /// `cbc:name` with attributes and text.
    pub(super) fn with(&mut self, name: &str, attributes: &[(&str, &str)], value: &str) -> Written {
        self.element(&format!("cbc:{name}"), attributes, |xml| {
            xml.writer.write_event(Event::Text(BytesText::new(&clean(value))))?;
            Ok(())
        })
    }

    /// `cbc:name` with an amount in the currency of the document.
    pub(super) fn amount(&mut self, name: &str, amount: Amount) -> Written {
        self.with(name, &[("currencyID", self.currency.word())], &amount.to_string())
    }
}

/// Text without what XML 1.0 cannot hold (section 2.2 Char, from memory); it is shown as the replacement character.
fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\t' | '\n' | '\r' => c,
            c if c < ' ' || matches!(c, '\u{fffe}' | '\u{ffff}') => '\u{fffd}',
            c => c,
        })
        .collect()
}
