//! `Quotation`, of a quote and of a change order.

use super::codes::{LUMP_SUM, unit};
use super::parts::{self, Totals, lump};
use super::taxes::{self, Carrier, Taxes};
use super::xml::{WriteError, Written, Xml, document};
use crate::compute::contract::change::ChangeDocument;
use crate::compute::contract::quote::{PaperLine, PaperTax, QuoteDocument};
use crate::documents::told::{books, choice, contained, days, due, is_for_the_customer, retained, stage};
use crate::units::{Amount, Unit};

fn lines(xml: &mut Xml, lines: &[PaperLine], taxes: Taxes<'_>) -> Written {
    for (i, line) in lines.iter().enumerate() {
        let (quantity, price) = lump(line.price);
        let number = (i + 1).to_string();
        xml.group("QuotationLine", |xml| {
            xml.text("ID", &number)?;
            xml.group("LineItem", |xml| {
                xml.text("ID", &number)?;
                xml.with("Quantity", &[("unitCode", unit(Unit::LumpSum).unwrap_or(LUMP_SUM))], quantity)?;
                xml.amount("LineExtensionAmount", line.price)?;
                xml.group("Price", |xml| xml.amount("PriceAmount", price))?;
                parts::item(xml, &line.code, &line.description, None, Some(line.category), taxes)
            })
        })?;
    }
    Ok(())
}

fn sums(xml: &mut Xml, list: &[PaperLine], papers: &[PaperTax], taxes: Taxes<'_>) -> Written {
    let carriers: Vec<Carrier> = list.iter().map(|l| (Some(l.category), l.price)).collect();
    taxes::total(xml, &taxes::breakdown(papers, &carriers, taxes))?;
    let totals = Totals {
        lines: list.iter().map(|l| l.price).sum(),
        allowance: Amount::ZERO,
        tax: papers.iter().map(|t| t.amount).sum(),
    };
    parts::totals(xml, "QuotedMonetaryTotal", totals)
}

/// A quote that has been issued; what may be chosen besides stands in the notes.
///
/// # Errors
/// When memory cannot be written, which does not happen.
pub fn quote(paper: &QuoteDocument, taxes: Taxes<'_>) -> Result<Vec<u8>, WriteError> {
    document("Quotation", paper.currency, |xml| {
        xml.text("UBLVersionID", "2.1")?;
        xml.maybe("ID", paper.number.as_deref())?;
        let issued = paper.issued_on.unwrap_or(paper.valid_until);
        xml.text("IssueDate", &issued.to_string())?;
        parts::job(xml, &paper.title)?;
        if let Some(other) = &paper.supersedes {
            xml.text("Note", &format!("Takes the place of quote {other}"))?;
        }
        xml.maybe("Note", paper.scope.as_deref())?;
        for exclusion in &paper.exclusions {
            xml.text("Note", &format!("Not included: {exclusion}"))?;
        }
        for other in &paper.by_others {
            xml.text("Note", &format!("By others: {other}"))?;
        }
        for sum in &paper.allowances {
            xml.text("Note", &contained("Allowance", sum))?;
        }
        for sum in &paper.discounts {
            xml.text("Note", &contained("Discount", sum))?;
        }
        for share in &paper.schedule {
            xml.text("Note", &stage(share))?;
        }
        if let Some(retainage) = &paper.retainage {
            xml.text("Note", &retained(retainage))?;
        }
        // A UBL 2.1 quotation has no `PaymentTerms`.
        xml.maybe("Note", paper.payment_terms.as_ref().map(|t| format!("Terms of payment: {t}")).as_deref())?;
        xml.text("Note", &due(paper.due_days, &paper.schedule))?;
        for offer in &paper.alternates {
            xml.text("Note", &choice("Instead", offer))?;
        }
        for offer in &paper.additions {
            xml.text("Note", &choice("On top", offer))?;
        }
        for caution in &paper.cautions {
            xml.text("Note", caution)?;
        }
        xml.maybe("Note", paper.notes_to_customer.as_deref())?;
        xml.text("PricingCurrencyCode", xml.currency().word())?;
        xml.group("ValidityPeriod", |xml| xml.text("EndDate", &paper.valid_until.to_string()))?;
        if let Some(other) = &paper.supersedes {
            xml.group("AdditionalDocumentReference", |xml| {
                xml.text("ID", other)?;
                xml.text("DocumentType", "Quotation that this one takes the place of")
            })?;
        }
        parts::seller(xml, "SellerSupplierParty", &paper.seller, taxes.scheme)?;
        parts::customer(xml, "BuyerCustomerParty", &paper.customer, &paper.site, &paper.seller)?;
        parts::delivery(xml, &paper.site, &paper.seller)?;
        sums(xml, &paper.offer.lines, &paper.offer.taxes, taxes)?;
        lines(xml, &paper.offer.lines, taxes)
    })
}

/// A change order, as a quotation that names the first.
///
/// # Errors
/// As [`quote`].
pub fn change_order(paper: &ChangeDocument, taxes: Taxes<'_>) -> Result<Vec<u8>, WriteError> {
    document("Quotation", paper.currency, |xml| {
        xml.text("UBLVersionID", "2.1")?;
        xml.maybe("ID", paper.number.as_ref().map(|n| format!("{} {n}", paper.quote)).as_deref())?;
        let issued = paper.issued_on.map_or_else(String::new, |on| on.to_string());
        xml.text("IssueDate", &issued)?;
        xml.text("Note", &paper.title)?;
        xml.maybe("Note", paper.reason.as_deref())?;
        parts::job(xml, &paper.job_title)?;
        let (before, after) = (paper.contract_before, paper.contract_after);
        let with_tax = if paper.taxes.is_empty() { "" } else { " with tax" };
        xml.text("Note", &format!("Contract{with_tax} {before} before, {after} after this change"))?;
        xml.maybe("Note", days(&paper.work).as_deref())?;
        xml.maybe("Note", paper.price_books.as_ref().map(books).as_deref())?;
        for warning in paper.warnings.iter().filter(|w| is_for_the_customer(w)) {
            xml.text("Note", &warning.text)?;
        }
        xml.text("PricingCurrencyCode", xml.currency().word())?;
        xml.group("AdditionalDocumentReference", |xml| {
            xml.text("ID", &paper.quote)?;
            xml.text("DocumentType", "Quotation")
        })?;
        parts::seller(xml, "SellerSupplierParty", &paper.seller, taxes.scheme)?;
        parts::customer(xml, "BuyerCustomerParty", &paper.customer, &paper.site, &paper.seller)?;
        parts::delivery(xml, &paper.site, &paper.seller)?;
        sums(xml, &paper.lines, &paper.taxes, taxes)?;
        lines(xml, &paper.lines, taxes)
    })
}
