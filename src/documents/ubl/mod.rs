//! Papers as UBL 2.1 (OASIS Universal Business Language): quotation, invoice, credit note, order.
//!
//! | file | subject |
//! |---|---|
//! | [`xml`] | elements in order, text that is safe |
//! | [`codes`] | UN/ECE Recommendation 20 units, document and tax codes |
//! | [`parts`] | parties, items, totals |
//! | [`taxes`] | tax categories and the breakdown by them |
//! | [`european`] | when an invoice says that it keeps to EN 16931 |
//! | [`invoice`] | `Invoice` and `CreditNote` |
//! | [`quotation`] | `Quotation`, of a quote and of a change order |
//! | [`order`] | `Order`, to a supplier |
//!
//! UBL knows no retainage. What an invoice holds back leaves it as an allowance without tax, what it releases as a line
//! without tax; so the sums of the file foot and its payable amount is what is asked for. A change order is no UBL
//! `OrderChange` (that is the buyer's): it leaves as a quotation that names the first.

pub mod codes;
pub mod european;
pub mod invoice;
pub mod order;
pub mod parts;
pub mod quotation;
pub mod taxes;
pub mod xml;

pub use taxes::Taxes;
pub use xml::WriteError;
