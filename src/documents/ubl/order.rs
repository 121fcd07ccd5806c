//! `Order`: what is bought from a supplier.

use super::codes::{LUMP_SUM, unit};
use super::parts;
use super::xml::{WriteError, document};
use crate::units::{Amount, Currency, Price, Quantity};
use crate::wire::contract::CivilDate;
use crate::wire::contract::terms::{Seller, TaxScheme};
use crate::wire::notes::Site;

/// A line of an order.
#[derive(Debug, Clone)]
pub struct OrderLine {
    /// Item code.
    pub code: String,
    /// What it is.
    pub description: String,
    /// How much.
    pub quantity: Quantity,
    /// Price of one unit.
    pub unit_price: Price,
    /// Amount of the line.
    pub amount: Amount,
}

/// An order to a supplier.
#[derive(Debug, Clone)]
pub struct OrderPaper {
    /// Number.
    pub number: String,
    /// Date.
    pub issued_on: CivilDate,
    /// When it is wanted on site.
    pub wanted_on: Option<CivilDate>,
    /// What the supplier should read.
    pub note: Option<String>,
    /// Job it is for.
    pub job_id: String,
    /// The office, which buys.
    pub buyer: Seller,
    /// Name of the supplier.
    pub supplier: String,
    /// Where it goes.
    pub site: Site,
    /// Currency.
    pub currency: Currency,
    /// The lines.
    pub lines: Vec<OrderLine>,
}

/// An order.
///
/// # Errors
/// When memory cannot be written, which does not happen.
pub fn order(paper: &OrderPaper) -> Result<Vec<u8>, WriteError> {
    let total: Amount = paper.lines.iter().map(|l| l.amount).sum();
    document("Order", paper.currency, |xml| {
        xml.text("UBLVersionID", "2.1")?;
        xml.text("ID", &paper.number)?;
        xml.text("IssueDate", &paper.issued_on.to_string())?;
        xml.maybe("Note", paper.note.as_deref())?;
        xml.text("DocumentCurrencyCode", xml.currency().word())?;
        xml.group("ProjectReference", |xml| xml.text("ID", &paper.job_id))?;
        parts::seller(xml, "BuyerCustomerParty", &paper.buyer, TaxScheme::Stt)?;
        xml.group("SellerSupplierParty", |xml| {
            xml.group("Party", |xml| xml.group("PartyName", |xml| xml.text("Name", &paper.supplier)))
        })?;
        xml.group("Delivery", |xml| {
            parts::location(xml, &paper.site, &paper.buyer)?;
            match paper.wanted_on {
                None => Ok(()),
                Some(on) => xml.group("RequestedDeliveryPeriod", |xml| xml.text("EndDate", &on.to_string())),
            }
        })?;
        xml.group("AnticipatedMonetaryTotal", |xml| {
            xml.amount("LineExtensionAmount", total)?;
            xml.amount("PayableAmount", total)
        })?;
        for (i, line) in paper.lines.iter().enumerate() {
            xml.group("OrderLine", |xml| {
                xml.group("LineItem", |xml| {
                    xml.text("ID", &(i + 1).to_string())?;
                    let code = unit(line.quantity.unit()).unwrap_or(LUMP_SUM);
                    xml.with("Quantity", &[("unitCode", code)], &line.quantity.value().to_string())?;
                    xml.amount("LineExtensionAmount", line.amount)?;
                    xml.group("Price", |xml| {
                        let currency = xml.currency().word();
                        xml.with("PriceAmount", &[("currencyID", currency)], &line.unit_price.to_string())
                    })?;
                    xml.group("Item", |xml| {
                        xml.text("Name", &line.description)?;
                        xml.group("SellersItemIdentification", |xml| xml.text("ID", &line.code))
                    })
                })
            })?;
        }
        Ok(())
    })
}
