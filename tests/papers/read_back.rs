//! The files of other programs, read back by a parser that shares nothing with their writer.

use crate::job::read;
use quick_xml::Reader;
use quick_xml::events::Event;
use rillcast::units::Amount;
use serde_json::json;

pub(crate) fn stored(name: &str, bytes: &[u8]) {
    let path = format!("{}/tests/papers/ubl/{name}.xml", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("RILLCAST_REVIEW").is_some() {
        std::fs::write(&path, bytes).unwrap();
    }
    let reviewed = std::fs::read(&path).unwrap_or_default();
    assert!(
        reviewed == bytes,
        "{path} differs: run `RILLCAST_REVIEW=1 cargo test --test papers` and review it"
    );
}

/// A file read back by a parser: the path of each element with its text, in order.
fn elements(bytes: &[u8]) -> Vec<(String, String)> {
    let mut reader = Reader::from_str(std::str::from_utf8(bytes).unwrap());
    let mut path: Vec<String> = Vec::new();
    let mut out: Vec<(String, String)> = Vec::new();
    loop {
        match reader.read_event().unwrap() {
            Event::Start(start) => {
                path.push(start.local_name().as_ref().to_owned());
                out.push((path.join("/"), String::new()));
            }
            Event::Text(text) => {
                if let Some(last) = out.last_mut().filter(|l| l.0 == path.join("/")) {
                    last.1.push_str(&text);
                }
            }
            Event::GeneralRef(reference) => {
                let name = reference.to_string();
                let c = match name.as_str() {
                    "amp" => "&",
                    "lt" => "<",
                    "gt" => ">",
                    "quot" => "\"",
                    "apos" => "'",
                    other => panic!("{other}"),
                };
                out.last_mut().unwrap().1.push_str(c);
            }
            Event::End(_) => {
                path.pop();
            }
            Event::Eof => return out,
            _ => {}
        }
    }
}

pub(crate) fn all(bytes: &[u8], path: &str) -> Vec<String> {
    elements(bytes).into_iter().filter(|(p, _)| p == path).map(|(_, t)| t).collect()
}

pub(crate) fn amounts(bytes: &[u8], path: &str) -> Vec<Amount> {
    all(bytes, path).iter().map(|t| read::<rillcast::wire::contract::Signed>(&json!(t)).0).collect()
}

#[track_caller]
pub(crate) fn one(bytes: &[u8], path: &str) -> Amount {
    let list = amounts(bytes, path);
    assert_eq!(list.len(), 1, "{path}");
    list[0]
}

/// The arithmetic of EN 16931 (BR-CO-10, 13, 14, 15, 16; from memory) on the file itself.
pub(crate) fn foots(bytes: &[u8], kind: &str, line: &str) {
    let total =
        format!("{kind}/{}", if kind == "Quotation" { "QuotedMonetaryTotal" } else { "LegalMonetaryTotal" });
    let lines: Amount = amounts(bytes, &format!("{kind}/{line}/LineExtensionAmount")).into_iter().sum();
    let sum = |path: &str| amounts(bytes, path).into_iter().sum::<Amount>();
    assert_eq!(one(bytes, &format!("{total}/LineExtensionAmount")), lines);
    let (allowance, charge) =
        (sum(&format!("{total}/AllowanceTotalAmount")), sum(&format!("{total}/ChargeTotalAmount")));
    let stated = all(bytes, &format!("{kind}/AllowanceCharge/ChargeIndicator"));
    let each = amounts(bytes, &format!("{kind}/AllowanceCharge/Amount"));
    let signed: Amount = stated.iter().zip(&each).map(|(c, a)| if c == "true" { -*a } else { *a }).sum();
    assert_eq!(signed, allowance - charge);
    let exclusive = one(bytes, &format!("{total}/TaxExclusiveAmount"));
    assert_eq!(exclusive, lines - allowance + charge);
    let tax = one(bytes, &format!("{kind}/TaxTotal/TaxAmount"));
    assert_eq!(tax, sum(&format!("{kind}/TaxTotal/TaxSubtotal/TaxAmount")));
    assert_eq!(one(bytes, &format!("{total}/TaxInclusiveAmount")), exclusive + tax);
    assert_eq!(one(bytes, &format!("{total}/PayableAmount")), exclusive + tax);
    // Prices are never negative, and quantity times price is the line.
    for path in
        [format!("{kind}/{line}/Price/PriceAmount"), format!("{kind}/{line}/LineItem/Price/PriceAmount")]
    {
        assert!(amounts(bytes, &path).iter().all(|p| *p >= Amount::ZERO));
    }
}
