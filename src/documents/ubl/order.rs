//! `Order`: what is bought from a supplier.

use super::codes::{LUMP_SUM, unit};
use super::parts;
use super::xml::{WriteError, Written, Xml, document};
use crate::units::{Amount, Currency, Unit};
use crate::wire::contract::terms::{Seller, TaxScheme};
use crate::wire::day::Day;
use rust_decimal::Decimal;

/// A line of an order: so many packs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderLine {
    /// The supplier's code, where it is known.
    pub order_code: Option<String>,
    /// The office's code.
    pub item: String,
    /// What it is.
    pub description: String,
    /// How many packs.
    pub count: Decimal,
    /// What is in one pack.
    pub pack: Decimal,
    /// Unit of what is in the pack.
    pub unit: Unit,
    /// Price of one pack.
    pub price: Decimal,
    /// Amount of the line.
    pub amount: Amount,
}

/// Who sells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderSupplier {
    /// Name.
    pub name: String,
    /// Where orders go.
    pub contact: Option<String>,
    /// Postal address on one line.
    pub address: Option<String>,
    /// Country, two letters.
    pub country: Option<String>,
    /// Number under which it collects tax.
    pub tax_number: Option<String>,
}

/// An order to a supplier.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderPaper {
    /// Number.
    pub number: String,
    /// Date.
    pub issued_on: Day,
    /// When it is wanted on site.
    pub wanted_on: Option<Day>,
    /// What the supplier should read.
    pub note: Option<String>,
    /// Job it is for.
    pub job_id: String,
    /// What that job is called.
    pub job: String,
    /// The office, which buys.
    pub buyer: Seller,
    /// Scheme of the office's tax number.
    pub tax_scheme: TaxScheme,
    /// Who sells.
    pub supplier: OrderSupplier,
    /// Where it goes, on one line.
    pub deliver_to: Option<String>,
    /// Currency.
    pub currency: Currency,
    /// The lines.
    pub lines: Vec<OrderLine>,
    /// Charge for the delivery.
    pub delivery: Amount,
}

fn supplier(xml: &mut Xml, paper: &OrderPaper) -> Written {
    let OrderSupplier { name, contact, address, country, tax_number } = &paper.supplier;
    xml.group("Party", |xml| {
        xml.group("PartyName", |xml| xml.text("Name", name))?;
        if let Some(line) = address {
            xml.group("PostalAddress", |xml| match country {
                None => parts::address_line(xml, line, &paper.buyer),
                Some(code) => {
                    xml.group("AddressLine", |xml| xml.text("Line", line))?;
                    xml.group("Country", |xml| xml.text("IdentificationCode", code))
                }
            })?;
        }
        if let Some(number) = tax_number {
            xml.group("PartyTaxScheme", |xml| {
                xml.text("CompanyID", number)?;
                xml.group("TaxScheme", |xml| xml.text("ID", paper.tax_scheme.word()))
            })?;
        }
        match contact {
            None => Ok(()),
            Some(contact) => xml.group("Contact", |xml| xml.text("Note", contact)),
        }
    })
}

fn delivery(xml: &mut Xml, paper: &OrderPaper) -> Written {
    if paper.deliver_to.is_none() && paper.wanted_on.is_none() {
        return Ok(());
    }
    xml.group("Delivery", |xml| {
        if let Some(line) = &paper.deliver_to {
            xml.group("DeliveryLocation", |xml| {
                xml.group("Address", |xml| parts::address_line(xml, line, &paper.buyer))
            })?;
        }
        match paper.wanted_on {
            None => Ok(()),
            Some(on) => xml.group("RequestedDeliveryPeriod", |xml| xml.text("EndDate", &on.to_string())),
        }
    })
}

/// A line: its quantity is in the unit, packs times what is in one, and its price is for as much as one pack holds
/// (`BaseQuantity`), so that quantity / base quantity · price is the line.
fn line(xml: &mut Xml, id: usize, line: &OrderLine) -> Written {
    let unit_code = [("unitCode", unit(line.unit).unwrap_or(LUMP_SUM))];
    let single = line.pack == Decimal::ONE;
    let quantity = if single { line.count } else { (line.count * line.pack).normalize() };
    xml.group("LineItem", |xml| {
        xml.text("ID", &id.to_string())?;
        xml.with("Quantity", &unit_code, &quantity.to_string())?;
        xml.amount("LineExtensionAmount", line.amount)?;
        xml.group("Price", |xml| {
            let currency = xml.currency().word();
            xml.with("PriceAmount", &[("currencyID", currency)], &line.price.to_string())?;
            if single {
                return Ok(());
            }
            xml.with("BaseQuantity", &unit_code, &line.pack.normalize().to_string())
        })?;
        xml.group("Item", |xml| {
            xml.text("Name", &line.description)?;
            xml.group("BuyersItemIdentification", |xml| xml.text("ID", &line.item))?;
            match &line.order_code {
                None => Ok(()),
                Some(code) => xml.group("SellersItemIdentification", |xml| xml.text("ID", code)),
            }
        })
    })
}

/// An order, before tax. The charge for the delivery stands beside the lines.
///
/// # Errors
/// When memory cannot be written, which does not happen.
pub fn order(paper: &OrderPaper) -> Result<Vec<u8>, WriteError> {
    let goods: Amount = paper.lines.iter().map(|l| l.amount).sum();
    document("Order", paper.currency, |xml| {
        xml.text("UBLVersionID", "2.1")?;
        xml.text("ID", &paper.number)?;
        xml.text("IssueDate", &paper.issued_on.to_string())?;
        xml.maybe("Note", paper.note.as_deref())?;
        xml.text("DocumentCurrencyCode", xml.currency().word())?;
        xml.group("ProjectReference", |xml| xml.text("ID", &paper.job_id))?;
        parts::seller(xml, "BuyerCustomerParty", &paper.buyer, paper.tax_scheme)?;
        xml.group("SellerSupplierParty", |xml| supplier(xml, paper))?;
        delivery(xml, paper)?;
        let charged = paper.delivery != Amount::ZERO;
        if charged {
            xml.group("AllowanceCharge", |xml| {
                xml.text("ChargeIndicator", "true")?;
                xml.text("AllowanceChargeReason", "Delivery")?;
                xml.amount("Amount", paper.delivery)
            })?;
        }
        xml.group("AnticipatedMonetaryTotal", |xml| {
            xml.amount("LineExtensionAmount", goods)?;
            if charged {
                xml.amount("ChargeTotalAmount", paper.delivery)?;
            }
            xml.amount("PayableAmount", goods + paper.delivery)
        })?;
        for (i, each) in paper.lines.iter().enumerate() {
            xml.group("OrderLine", |xml| line(xml, i + 1, each))?;
        }
        Ok(())
    })
}
