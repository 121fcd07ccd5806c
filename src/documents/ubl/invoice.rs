//! `Invoice` and `CreditNote`.

use super::codes::{CREDIT_NOTE, LUMP_SUM, invoice_type};
use super::european;
use super::parts::{self, Totals, lump};
use super::taxes::{self, Carrier, Subtotal, Taxes};
use super::xml::{WriteError, Written, Xml, document};
use crate::compute::contract::credit::CreditDocument;
use crate::compute::contract::invoice::InvoiceDocument;
use crate::compute::contract::quote::PaperTax;
use crate::documents::told::{
    RELEASED, credited_retainage, credited_retainage_note, invoiced_retainage, retainage_note, settlement,
    warned,
};
use crate::domain::words::Category;
use crate::units::Amount;

/// A line of either document.
struct Line<'a> {
    code: &'a str,
    name: &'a str,
    note: Option<&'a str>,
    category: Option<Category>,
    amount: Amount,
}

fn line(xml: &mut Xml, kind: &str, number: usize, line: &Line<'_>, taxes: Taxes<'_>) -> Written {
    let (quantity, price) = lump(line.amount);
    let quantity_name = if kind == "InvoiceLine" { "InvoicedQuantity" } else { "CreditedQuantity" };
    xml.group(kind, |xml| {
        xml.text("ID", &number.to_string())?;
        xml.maybe("Note", line.note)?;
        xml.with(quantity_name, &[("unitCode", LUMP_SUM)], quantity)?;
        xml.amount("LineExtensionAmount", line.amount)?;
        parts::item(xml, line.code, line.name, None, line.category, taxes)?;
        xml.group("Price", |xml| xml.amount("PriceAmount", price))
    })
}

/// Lines and retainage held, by tax category.
fn breakdown<'a>(
    lines: &[Line<'_>],
    retained: Amount,
    list: &'a [PaperTax],
    taxes: Taxes<'a>,
) -> Vec<Subtotal<'a>> {
    let mut carriers: Vec<Carrier> = lines.iter().map(|l| (l.category, l.amount)).collect();
    if retained != Amount::ZERO {
        carriers.push((None, -retained));
    }
    taxes::breakdown(list, &carriers, taxes)
}

/// An invoice.
///
/// # Errors
/// When memory cannot be written, which does not happen.
pub fn invoice(paper: &InvoiceDocument, job_id: &str, taxes: Taxes<'_>) -> Result<Vec<u8>, WriteError> {
    let mut lines: Vec<Line<'_>> = paper
        .lines
        .iter()
        .map(|l| Line {
            code: &l.code,
            name: &l.description,
            note: Some(l.basis.as_str()).filter(|b| !b.is_empty()),
            category: Some(l.category),
            amount: l.amount,
        })
        .collect();
    if paper.released != Amount::ZERO {
        lines.push(Line {
            code: "retainage",
            name: RELEASED,
            note: None,
            category: None,
            amount: paper.released,
        });
    }
    let breakdown = breakdown(&lines, paper.retained, &paper.taxes, taxes);
    let totals =
        Totals { lines: lines.iter().map(|l| l.amount).sum(), allowance: paper.retained, tax: paper.tax };
    document("Invoice", paper.currency, |xml| {
        xml.text("UBLVersionID", "2.1")?;
        xml.maybe("CustomizationID", european::mark(&paper.seller, taxes, &breakdown))?;
        xml.text("ID", &paper.number)?;
        xml.text("IssueDate", &paper.issued_on.to_string())?;
        xml.text("DueDate", &paper.due_on.to_string())?;
        xml.text("InvoiceTypeCode", invoice_type(paper.kind))?;
        xml.maybe("Note", paper.note.as_deref())?;
        parts::job(xml, &paper.title)?;
        xml.maybe("Note", retainage_note(paper).as_deref())?;
        for warning in warned(paper) {
            xml.text("Note", &warning.text)?;
        }
        xml.text("DocumentCurrencyCode", xml.currency().word())?;
        xml.group("ContractDocumentReference", |xml| xml.text("ID", &paper.quote))?;
        xml.group("ProjectReference", |xml| xml.text("ID", job_id))?;
        parts::seller(xml, "AccountingSupplierParty", &paper.seller, taxes.scheme)?;
        parts::customer(xml, "AccountingCustomerParty", &paper.customer, &paper.site, &paper.seller)?;
        parts::delivery(xml, &paper.site, &paper.seller)?;
        if let Some(terms) = &paper.payment_terms {
            xml.group("PaymentTerms", |xml| xml.text("Note", terms))?;
        }
        taxes::retainage(xml, invoiced_retainage(paper.retained), paper.retained, taxes)?;
        taxes::total(xml, &breakdown)?;
        parts::totals(xml, "LegalMonetaryTotal", totals)?;
        for (i, one) in lines.iter().enumerate() {
            line(xml, "InvoiceLine", i + 1, one, taxes)?;
        }
        Ok(())
    })
}

/// A credit note.
///
/// # Errors
/// As [`invoice`].
pub fn credit_note(paper: &CreditDocument, taxes: Taxes<'_>) -> Result<Vec<u8>, WriteError> {
    let mut lines: Vec<Line<'_>> = paper
        .lines
        .iter()
        .map(|l| Line {
            code: &l.code,
            name: &l.description,
            note: Some(l.basis.as_str()),
            category: Some(l.category),
            amount: l.price,
        })
        .collect();
    if paper.released != Amount::ZERO {
        lines.push(Line {
            code: "retainage",
            name: RELEASED,
            note: None,
            category: None,
            amount: paper.released,
        });
    }
    let breakdown = breakdown(&lines, paper.retained, &paper.taxes, taxes);
    let totals =
        Totals { lines: lines.iter().map(|l| l.amount).sum(), allowance: paper.retained, tax: paper.tax };
    document("CreditNote", paper.currency, |xml| {
        xml.text("UBLVersionID", "2.1")?;
        xml.maybe("CustomizationID", european::mark(&paper.seller, taxes, &breakdown))?;
        xml.text("ID", &paper.number)?;
        xml.text("IssueDate", &paper.issued_on.to_string())?;
        xml.text("CreditNoteTypeCode", CREDIT_NOTE)?;
        xml.text("Note", &paper.reason)?;
        parts::job(xml, &paper.title)?;
        xml.maybe("Note", credited_retainage_note(paper).as_deref())?;
        xml.text("DocumentCurrencyCode", xml.currency().word())?;
        xml.group("BillingReference", |xml| {
            xml.group("InvoiceDocumentReference", |xml| {
                xml.text("ID", &paper.invoice)?;
                xml.text("IssueDate", &paper.invoice_issued_on.to_string())
            })
        })?;
        parts::seller(xml, "AccountingSupplierParty", &paper.seller, taxes.scheme)?;
        parts::customer(xml, "AccountingCustomerParty", &paper.customer, &paper.site, &paper.seller)?;
        parts::delivery(xml, &paper.site, &paper.seller)?;
        // A UBL 2.1 credit note has no `DueDate`; EN 16931 wants that or terms of payment (BR-CO-25, from memory).
        if paper.payable > Amount::ZERO {
            xml.group("PaymentTerms", |xml| xml.text("Note", &settlement(paper)))?;
        }
        taxes::retainage(xml, credited_retainage(paper.retained), paper.retained, taxes)?;
        taxes::total(xml, &breakdown)?;
        parts::totals(xml, "LegalMonetaryTotal", totals)?;
        for (i, one) in lines.iter().enumerate() {
            line(xml, "CreditNoteLine", i + 1, one, taxes)?;
        }
        Ok(())
    })
}
