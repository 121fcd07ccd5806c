//! When an invoice says that it keeps to EN 16931.

use super::taxes::{Subtotal, Taxes};
use crate::wire::contract::terms::Seller;

/// How a file says it (BT-24).
pub const EN_16931: &str = "urn:cen.eu:en16931:2017";

/// The mark of a file that can keep to the rules; the others are UBL as well, but promise no more than that.
///
/// Nothing is refused for want of it: value added taxes are there outside of EN 16931 too, where offices need none of this, and
/// papers that stand are printed from what they were written with. The rules are from memory:
/// - a line has one VAT (BT-151), so no two may fall on one category;
/// - the seller has a country (BR-09), which here is that of the buyer and of the place of the work as well;
/// - it has a number (BR-CO-26, BR-S-02, BR-Z-02, BR-E-02) that begins with a country (BR-CO-09);
/// - there is a breakdown for a category only where something carries it (BR-S-01, BR-Z-01).
pub(super) fn mark(seller: &Seller, taxes: Taxes<'_>, breakdown: &[Subtotal<'_>]) -> Option<&'static str> {
    let Seller { country, tax_number, .. } = seller;
    let numbered = tax_number.as_ref().is_some_and(|n| begins_with_country(n.as_str()));
    let keeps = taxes.one_vat() && country.is_some() && numbered && breakdown.iter().all(|s| s.carried);
    keeps.then_some(EN_16931)
}

fn begins_with_country(number: &str) -> bool {
    number.len() > 2 && number.bytes().take(2).all(|b| b.is_ascii_uppercase())
}
