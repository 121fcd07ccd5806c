//! Taxes: the category of a line and of an allowance, and the breakdown by category.

use super::codes::{TAXED, UNTAXED, ZERO_RATED};
use super::xml::{Written, Xml};
use crate::compute::contract::quote::PaperTax;
use crate::domain::words::Category;
use crate::units::{Amount, Percent};
use crate::wire::contract::facts::TaxRule;
use crate::wire::contract::terms::TaxScheme;

/// Why no tax falls on retainage, held or released.
const RETAINAGE: &str = "Retainage has no tax of its own: any tax is charged with the lines it is held on";

/// Taxes of a document: the rules, which say what each falls on, and their scheme.
#[derive(Debug, Clone, Copy)]
pub struct Taxes<'a> {
    /// The rules.
    pub rules: &'a [TaxRule],
    /// Their scheme.
    pub scheme: TaxScheme,
}

impl<'a> Taxes<'a> {
    fn on(self, category: Category) -> impl Iterator<Item = &'a TaxRule> {
        self.rules.iter().filter(move |r| r.categories.contains(&category))
    }

    /// Why no tax falls on something.
    fn not_set(self) -> &'static str {
        match self.scheme {
            TaxScheme::Vat => "No VAT is set for this category",
            TaxScheme::Gst => "No goods and services tax is set for this category",
            TaxScheme::Stt | TaxScheme::Loc => "No sales tax is set for this category",
        }
    }

    /// Why no tax falls on some lines and retainage; a breakdown has one reason (BT-120).
    fn not_set_and_retainage(self) -> &'static str {
        match self.scheme {
            TaxScheme::Vat => {
                "No VAT is set for some of the lines; retainage has no tax of its own: any tax is charged with the lines it is held on"
            }
            TaxScheme::Gst => {
                "No goods and services tax is set for some of the lines; retainage has no tax of its own: any tax is charged with the \
                 lines it is held on"
            }
            TaxScheme::Stt | TaxScheme::Loc => {
                "No sales tax is set for some of the lines; retainage has no tax of its own: any tax is charged with the lines it is \
                 held on"
            }
        }
    }

    /// Whether all rules are rates of one VAT: no two fall on one thing.
    pub(super) fn one_vat(self) -> bool {
        self.scheme == TaxScheme::Vat && Category::ALL.iter().all(|c| self.on(*c).nth(1).is_none())
    }
}

/// A tax category as the file has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct TaxCategory<'a> {
    code: &'static str,
    rate: Percent,
    /// Name of the tax, where there is more than one; EN 16931 knows one tax and no name of it.
    name: Option<&'a str>,
    /// Why nothing is due.
    reason: Option<&'static str>,
    scheme: TaxScheme,
}

impl<'a> TaxCategory<'a> {
    fn taxed(name: &'a str, rate: Percent, taxes: Taxes<'_>) -> Self {
        let name = Some(name).filter(|_| !taxes.one_vat());
        let code = if rate == Percent::ZERO { ZERO_RATED } else { TAXED };
        Self { code, rate, name, reason: None, scheme: taxes.scheme }
    }

    fn untaxed(reason: &'static str, taxes: Taxes<'_>) -> Self {
        Self { code: UNTAXED, rate: Percent::ZERO, name: None, reason: Some(reason), scheme: taxes.scheme }
    }

    /// On a line or an allowance. EN 16931 has reasons in the breakdown alone (BT-120, from memory).
    fn write_beside(self, xml: &mut Xml, group: &str, taxes: Taxes<'_>) -> Written {
        Self { reason: self.reason.filter(|_| !taxes.one_vat()), ..self }.write(xml, group)
    }

    fn write(self, xml: &mut Xml, group: &str) -> Written {
        xml.group(group, |xml| {
            xml.text("ID", self.code)?;
            xml.text("Percent", &self.rate.number().to_string())?;
            xml.maybe("TaxExemptionReason", self.reason)?;
            xml.group("TaxScheme", |xml| {
                xml.text("ID", self.scheme.word())?;
                xml.maybe("Name", self.name)
            })
        })
    }
}

/// The taxes of an item. `of` is its category; none for retainage.
pub(super) fn of_item(xml: &mut Xml, of: Option<Category>, taxes: Taxes<'_>) -> Written {
    let group = "ClassifiedTaxCategory";
    let rules: Vec<&TaxRule> = of.map_or_else(Vec::new, |c| taxes.on(c).collect());
    if rules.is_empty() {
        let reason = if of.is_none() { RETAINAGE } else { taxes.not_set() };
        return TaxCategory::untaxed(reason, taxes).write_beside(xml, group, taxes);
    }
    for rule in rules {
        TaxCategory::taxed(rule.name.as_str(), rule.rate_pct, taxes).write(xml, group)?;
    }
    Ok(())
}

/// Retainage taken off (or, when negative, added) on the whole document, without tax.
pub(super) fn retainage(xml: &mut Xml, reason: &str, amount: Amount, taxes: Taxes<'_>) -> Written {
    if amount == Amount::ZERO {
        return Ok(());
    }
    let charge = amount < Amount::ZERO;
    xml.group("AllowanceCharge", |xml| {
        xml.text("ChargeIndicator", if charge { "true" } else { "false" })?;
        xml.text("AllowanceChargeReason", reason)?;
        xml.amount("Amount", if charge { -amount } else { amount })?;
        TaxCategory::untaxed(RETAINAGE, taxes).write_beside(xml, "TaxCategory", taxes)
    })
}

/// An amount of the file that a tax category stands on: a line, or retainage held with its sign turned. Retainage has no
/// category.
pub(super) type Carrier = (Option<Category>, Amount);

/// The sums of one tax category.
#[derive(Debug, Clone, Copy)]
pub(super) struct Subtotal<'a> {
    of: TaxCategory<'a>,
    taxable: Amount,
    amount: Amount,
    /// Whether something in the file carries it; a cent of tax may be left when its lines are billed.
    pub(super) carried: bool,
}

/// One subtotal for each tax category that something carries, be its sums nothing, or that a sum is left of.
pub(super) fn breakdown<'a>(
    list: &'a [PaperTax],
    carriers: &[Carrier],
    taxes: Taxes<'a>,
) -> Vec<Subtotal<'a>> {
    let falls = |tax: &PaperTax, of: Category| taxes.on(of).any(|r| r.code.as_str() == tax.code);
    let mut out: Vec<Subtotal<'a>> = Vec::new();
    for tax in list {
        let carried = carriers.iter().any(|(of, _)| of.is_some_and(|of| falls(tax, of)));
        if !carried && tax.taxable == Amount::ZERO && tax.amount == Amount::ZERO {
            continue;
        }
        let of = TaxCategory::taxed(&tax.name, tax.rate_pct, taxes);
        // Taxes of one rate are one VAT: nothing carries both. Of other taxes each stands for itself.
        match out.iter_mut().find(|s| s.of == of).filter(|_| taxes.one_vat()) {
            Some(same) => {
                same.taxable += tax.taxable;
                same.amount += tax.amount;
                same.carried |= carried;
            }
            None => out.push(Subtotal { of, taxable: tax.taxable, amount: tax.amount, carried }),
        }
    }
    let untaxed: Vec<&Carrier> =
        carriers.iter().filter(|(of, _)| of.is_none_or(|of| taxes.on(of).next().is_none())).collect();
    let carried = !untaxed.is_empty();
    if carried || out.is_empty() {
        let retainage = untaxed.iter().filter(|(of, _)| of.is_none()).count();
        let reason = match retainage {
            0 => taxes.not_set(),
            all if all == untaxed.len() => RETAINAGE,
            _ => taxes.not_set_and_retainage(),
        };
        out.push(Subtotal {
            of: TaxCategory::untaxed(reason, taxes),
            taxable: untaxed.iter().map(|(_, amount)| *amount).sum(),
            amount: Amount::ZERO,
            carried,
        });
    }
    out
}

/// Taxes in all and by tax category.
pub(super) fn total(xml: &mut Xml, breakdown: &[Subtotal<'_>]) -> Written {
    xml.group("TaxTotal", |xml| {
        xml.amount("TaxAmount", breakdown.iter().map(|s| s.amount).sum())?;
        for Subtotal { of, taxable, amount, carried: _ } in breakdown {
            xml.group("TaxSubtotal", |xml| {
                xml.amount("TaxableAmount", *taxable)?;
                xml.amount("TaxAmount", *amount)?;
                of.write(xml, "TaxCategory")
            })?;
        }
        Ok(())
    })
}
