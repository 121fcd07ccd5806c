//! Parties, items and totals, the same in every document.

use super::taxes::{self, Taxes};
use super::xml::{Written, Xml};
use crate::domain::words::Category;
use crate::units::Amount;
use crate::wire::contract::terms::{Seller, TaxScheme};
use crate::wire::notes::{Customer, Site};

/// The office, in a group such as `AccountingSupplierParty`.
pub(super) fn seller(xml: &mut Xml, group: &str, seller: &Seller, scheme: TaxScheme) -> Written {
    let Seller { name, street, city, region, postal_code, country, tax_number, email, phone } = seller;
    let text = |o: &Option<crate::wire::Label>| o.as_ref().map(ToString::to_string);
    xml.group(group, |xml| {
        xml.group("Party", |xml| {
            xml.group("PartyName", |xml| xml.text("Name", name.as_str()))?;
            let lines = [street, city, region, postal_code, country];
            if lines.iter().any(|l| l.is_some()) {
                xml.group("PostalAddress", |xml| {
                    xml.maybe("StreetName", text(street).as_deref())?;
                    xml.maybe("CityName", text(city).as_deref())?;
                    xml.maybe("PostalZone", text(postal_code).as_deref())?;
                    xml.maybe("CountrySubentity", text(region).as_deref())?;
                    self::country(xml, seller)
                })?;
            }
            if let Some(number) = tax_number {
                xml.group("PartyTaxScheme", |xml| {
                    xml.text("CompanyID", number.as_str())?;
                    xml.group("TaxScheme", |xml| xml.text("ID", scheme.word()))
                })?;
            }
            xml.group("PartyLegalEntity", |xml| xml.text("RegistrationName", name.as_str()))?;
            contact(xml, text(phone).as_deref(), text(email).as_deref())
        })
    })
}

/// The customer, in a group such as `AccountingCustomerParty`.
///
/// The country is that of the office: its customers are where it works.
pub(super) fn customer(
    xml: &mut Xml,
    group: &str,
    customer: &Customer,
    site: &Site,
    office: &Seller,
) -> Written {
    let Customer { name, phone, email, address } = customer;
    xml.group(group, |xml| {
        xml.group("Party", |xml| {
            xml.group("PartyName", |xml| xml.text("Name", name.as_str()))?;
            let line = address.as_ref().unwrap_or(&site.address);
            xml.group("PostalAddress", |xml| address_line(xml, line.as_str(), office))?;
            xml.group("PartyLegalEntity", |xml| xml.text("RegistrationName", name.as_str()))?;
            let text = |o: &Option<crate::wire::Label>| o.as_ref().map(ToString::to_string);
            contact(xml, text(phone).as_deref(), text(email).as_deref())
        })
    })
}

fn contact(xml: &mut Xml, phone: Option<&str>, email: Option<&str>) -> Written {
    if phone.is_none() && email.is_none() {
        return Ok(());
    }
    xml.group("Contact", |xml| {
        xml.maybe("Telephone", phone)?;
        xml.maybe("ElectronicMail", email)
    })
}

/// What the job is called, as a note: UBL has a place for the id of a project alone.
pub(super) fn job(xml: &mut Xml, title: &str) -> Written {
    xml.text("Note", &format!("Job: {title}"))
}

/// Where the work is.
pub(super) fn delivery(xml: &mut Xml, site: &Site, office: &Seller) -> Written {
    xml.group("Delivery", |xml| location(xml, site, office))
}

/// The address of the work.
pub(super) fn location(xml: &mut Xml, site: &Site, office: &Seller) -> Written {
    xml.group("DeliveryLocation", |xml| {
        xml.group("Address", |xml| address_line(xml, site.address.as_str(), office))
    })
}

/// An address on one line, in the country of the office.
pub(super) fn address_line(xml: &mut Xml, line: &str, office: &Seller) -> Written {
    xml.group("AddressLine", |xml| xml.text("Line", line))?;
    country(xml, office)
}

fn country(xml: &mut Xml, office: &Seller) -> Written {
    match &office.country {
        None => Ok(()),
        Some(code) => xml.group("Country", |xml| xml.text("IdentificationCode", code.as_str())),
    }
}

/// An item with its taxes. `of` is its category; none for retainage.
pub(super) fn item(
    xml: &mut Xml,
    code: &str,
    name: &str,
    description: Option<&str>,
    of: Option<Category>,
    taxes: Taxes<'_>,
) -> Written {
    xml.group("Item", |xml| {
        xml.maybe("Description", description)?;
        xml.text("Name", name)?;
        xml.group("SellersItemIdentification", |xml| xml.text("ID", code))?;
        taxes::of_item(xml, of, taxes)
    })
}

/// The sums of a document.
#[derive(Debug, Clone, Copy)]
pub(super) struct Totals {
    /// Sum of the lines.
    pub(super) lines: Amount,
    /// Taken off without tax; negative when added.
    pub(super) allowance: Amount,
    /// Taxes.
    pub(super) tax: Amount,
}

impl Totals {
    fn exclusive(self) -> Amount {
        self.lines - self.allowance
    }

    /// What is to be paid.
    pub(super) fn payable(self) -> Amount {
        self.exclusive() + self.tax
    }
}

/// Totals in `group`.
pub(super) fn totals(xml: &mut Xml, group: &str, totals: Totals) -> Written {
    let Totals { lines, allowance, .. } = totals;
    xml.group(group, |xml| {
        xml.amount("LineExtensionAmount", lines)?;
        xml.amount("TaxExclusiveAmount", totals.exclusive())?;
        xml.amount("TaxInclusiveAmount", totals.payable())?;
        if allowance > Amount::ZERO {
            xml.amount("AllowanceTotalAmount", allowance)?;
        }
        if allowance < Amount::ZERO {
            xml.amount("ChargeTotalAmount", -allowance)?;
        }
        xml.amount("PayableAmount", totals.payable())
    })
}

/// Quantity and price of a lump sum: a negative sum is minus one of it, for prices are never negative.
pub(super) fn lump(amount: Amount) -> (&'static str, Amount) {
    if amount < Amount::ZERO { ("-1", -amount) } else { ("1", amount) }
}
