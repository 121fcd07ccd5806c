//! Codes of the hand-off.

use crate::compute::contract::invoice::InvoiceKind;
use crate::units::Unit;

/// One sum for the whole (UN/ECE Recommendation 20, from memory).
pub const LUMP_SUM: &str = "LS";

/// The UN/ECE Recommendation 20 code of a unit; none for units that nothing is sold by.
///
/// Office abbreviations are no such codes: `CY` there was a cylinder and `ST` a sheet. A cubic yard is `YDQ`, a short ton `STN`.
/// The codes are from memory; a script checks that each is in the published list.
///
/// ```
/// use rillcast::{documents::ubl::codes::unit, units::Unit};
/// assert_eq!((unit(Unit::Yd3), unit(Unit::ShortTon), unit(Unit::Ft)), (Some("YDQ"), Some("STN"), Some("FOT")));
/// ```
pub const fn unit(unit: Unit) -> Option<&'static str> {
    Some(match unit {
        Unit::In => "INH",
        Unit::Ft => "FOT",
        Unit::Yd => "YRD",
        Unit::Mm => "MMT",
        Unit::Cm => "CMT",
        Unit::M => "MTR",
        Unit::In2 => "INK",
        Unit::Ft2 => "FTK",
        Unit::Yd2 => "YDK",
        Unit::Cm2 => "CMK",
        Unit::M2 => "MTK",
        Unit::In3 => "INQ",
        Unit::Ft3 => "FTQ",
        Unit::Yd3 => "YDQ",
        Unit::GalUs => "GLL",
        Unit::L => "LTR",
        Unit::M3 => "MTQ",
        Unit::Lb => "LBR",
        Unit::ShortTon => "STN",
        Unit::Kg => "KGM",
        Unit::T => "TNE",
        Unit::Min => "MIN",
        Unit::Hr => "HUR",
        Unit::Day => "DAY",
        Unit::Each => "EA",
        Unit::LumpSum => LUMP_SUM,
        _ => return None,
    })
}

/// UN/EDIFACT code list 1001 (from memory): 386 prepayment, 875 partial construction invoice, 877 final construction
/// invoice, 380 invoice.
pub const fn invoice_type(kind: InvoiceKind) -> &'static str {
    match kind {
        InvoiceKind::Deposit => "386",
        InvoiceKind::Progress | InvoiceKind::ChangeOrder => "875",
        InvoiceKind::Retainage => "380",
        InvoiceKind::Final => "877",
    }
}

/// UN/EDIFACT code list 1001 (from memory): credit note.
pub const CREDIT_NOTE: &str = "381";

/// UN/EDIFACT code list 5305 (from memory): standard rate.
pub const TAXED: &str = "S";

/// UN/EDIFACT code list 5305 (from memory): zero rated, which is a tax of nothing and no exemption.
pub const ZERO_RATED: &str = "Z";

/// UN/EDIFACT code list 5305 (from memory): exempt from tax.
pub const UNTAXED: &str = "E";
