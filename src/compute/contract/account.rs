//! Contract lines and what has been billed of them.

use super::moves::Move;
use super::quote::USUAL_DUE_DAYS;
use super::sums::ByCategory;
use crate::units::Amount;
use crate::units::money::share_out;
use crate::wire::contract::Signed;
use crate::wire::contract::account::{Account, Component, Effect, LinePosition, StagePosition, TaxPosition};
use crate::wire::contract::inputs::QuoteInputs;
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List, Whole};
use std::collections::BTreeMap;
use std::fmt;

/// Opens the account of a contract: the accepted quote, every component in order, and what each live invoice and credit note
/// did. `None` when there are more lines than an account holds.
pub fn open(quote: &QuoteInputs, components: &[Component], effects: &[Effect]) -> Option<Account> {
    let terms = &quote.terms;
    let mut billed: BTreeMap<&str, Amount> = BTreeMap::new();
    let mut taxed: BTreeMap<&str, Amount> = BTreeMap::new();
    let mut stages: BTreeMap<&str, i32> = BTreeMap::new();
    let (mut retained, mut invoiced) = (Amount::ZERO, Amount::ZERO);
    for effect in effects {
        for line in effect.lines.iter() {
            *billed.entry(line.line.as_str()).or_default() += line.amount.0;
        }
        for tax in effect.taxes.iter() {
            *taxed.entry(tax.code.as_str()).or_default() += tax.amount.0;
        }
        retained += effect.retained.0 - effect.released.0;
        invoiced += effect.payable.0;
        if let Some(stage) = &effect.stage {
            *stages.entry(stage.as_str()).or_default() +=
                if effect.lines.iter().map(|l| l.amount.0).sum::<Amount>() < Amount::ZERO { -1 } else { 1 };
        }
    }
    let lines = components
        .iter()
        .flat_map(|c| c.lines.iter().map(move |l| (c, l)))
        .map(|(component, line)| LinePosition {
            component: component.code.clone(),
            line: line.clone(),
            billed: Signed(billed.get(line.code.as_str()).copied().unwrap_or_default()),
        })
        .collect();
    let taxes = quote
        .estimate
        .tax_rules
        .iter()
        .map(|rule| TaxPosition {
            rule: rule.clone(),
            contract: Signed(
                components
                    .iter()
                    .flat_map(|c| c.taxes.iter())
                    .filter(|t| t.code == rule.code)
                    .map(|t| t.amount.0)
                    .sum(),
            ),
            billed: Signed(taxed.get(rule.code.as_str()).copied().unwrap_or_default()),
        })
        .collect();
    let promised: Amount =
        components.iter().filter(|c| !is_change(c)).flat_map(|c| c.lines.iter()).map(|l| l.price.0).sum();
    let weights: Vec<i64> = terms.schedule.iter().map(|s| s.pct.millionths()).collect();
    let stages = terms
        .schedule
        .iter()
        .zip(share_out(promised, &weights))
        .map(|(stage, amount)| StagePosition {
            code: stage.code.clone(),
            name: stage.name.clone(),
            due: stage.due,
            pct: stage.pct,
            amount: Signed(amount),
            billed: Flag(stages.get(stage.code.as_str()).is_some_and(|n| *n > 0)),
        })
        .collect();
    Some(Account {
        currency: quote.estimate.currency,
        quote: quote.number.clone().or_else(|| Label::new("draft"))?,
        lines: List::new(lines)?,
        taxes: List::new(taxes)?,
        stages: List::new(stages)?,
        retainage: terms.retainage.clone(),
        retained: Signed(retained),
        invoiced: Signed(invoiced),
        due_days: terms.due_days.or_else(|| Whole::new(USUAL_DUE_DAYS))?,
    })
}

/// Whether a component is a change order; the others come with the quote.
pub fn is_change(component: &Component) -> bool {
    of_change(&component.code)
}

/// Whether a code is one of a change order or of a line of it.
pub(super) fn of_change(code: &Code) -> bool {
    code.as_str().starts_with("co-")
}

/// Why an invoice cannot be voided, and what can be done with it instead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BarredVoid {
    /// Why not.
    pub why: &'static str,
    /// What is left.
    pub instead: &'static str,
}

impl fmt::Display for BarredVoid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { why, instead } = self;
        write!(f, "`{}` is not possible: {why}; {instead}", Move::Void)
    }
}

impl LinePosition {
    /// What is not billed yet.
    pub fn open(&self) -> Amount {
        self.line.price.0 - self.billed.0
    }
}

impl Account {
    /// Contract before tax.
    pub fn before_tax(&self) -> Amount {
        self.lines.iter().map(|p| p.line.price.0).sum()
    }

    /// Taxes of the contract.
    pub fn tax(&self) -> Amount {
        self.taxes.iter().map(|t| t.contract.0).sum()
    }

    /// Contract with tax.
    pub fn total(&self) -> Amount {
        self.before_tax() + self.tax()
    }

    /// Billed before tax.
    pub fn billed_before_tax(&self) -> Amount {
        self.lines.iter().map(|p| p.billed.0).sum()
    }

    /// Taxes billed.
    pub fn billed_tax(&self) -> Amount {
        self.taxes.iter().map(|t| t.billed.0).sum()
    }

    /// Billed with tax: what is asked for and what is retained.
    pub fn billed(&self) -> Amount {
        self.billed_before_tax() + self.billed_tax()
    }

    /// Open with tax, line by line and tax by tax; negative when more is billed than the contract holds.
    pub fn open(&self) -> Amount {
        let lines: Amount = self.lines.iter().map(LinePosition::open).sum();
        let taxes: Amount = self.taxes.iter().map(|t| t.contract.0 - t.billed.0).sum();
        lines + taxes
    }

    /// What bars the void of an invoice, if anything does: a credit note on it, or retainage that the void would leave wrong.
    /// `held_on_invoices` is what all invoices hold by the terms net of their credit notes.
    pub fn bars_void(
        &self,
        invoice: &Effect,
        credit_notes: &[Effect],
        held_on_invoices: Amount,
    ) -> Option<BarredVoid> {
        let why = if credit_notes.is_empty() {
            self.void_leaves_wrong(invoice, held_on_invoices)?
        } else {
            "a credit note stands on it"
        };
        // An invoice for tax alone has no line that a credit note could give back.
        let instead = if invoice.lines.is_empty() && invoice.released.0 == Amount::ZERO {
            "the invoice allows `pay`; it can be voided once the release is credited, or once what has gone back is billed again"
        } else {
            "give back what is left of it by a credit note, with the retainage that belongs to it: the invoice allows `credit`, `pay`"
        };
        Some(BarredVoid { why, instead })
    }

    /// What the void of an invoice without credit notes would leave wrong. What is held must not be below nothing then, nor differ more
    /// from what the other invoices hold than it does now: retainage that no invoice holds is nobody's, and a credit note moves what
    /// belongs to its invoice.
    fn void_leaves_wrong(&self, effect: &Effect, held_on_invoices: Amount) -> Option<&'static str> {
        let nothing = Amount::ZERO;
        let held = self.retained.0 - effect.retained.0 + effect.released.0;
        let beyond = |held: Amount, on_invoices: Amount| held - on_invoices.max(nothing);
        let before = beyond(self.retained.0, held_on_invoices);
        let after = beyond(held, held_on_invoices - effect.held_by_terms());
        if held < nothing && before >= nothing {
            Some("retainage it held has gone back with an invoice of what was taken out")
        } else if held < nothing {
            Some("retainage it held has been released")
        } else if after > before.max(nothing) && effect.released.0 > nothing {
            Some("what it released has gone back, at least in part, with the invoices it was held on")
        } else if after > before.max(nothing) && effect.retained.0 < nothing {
            Some(
                "what it took off the retainage has gone, at least in part, with the invoices it was held on",
            )
        } else if after > before.max(nothing) {
            Some("it held less for what had been taken out before, and that has gone back since")
        } else if after < before.min(nothing) {
            Some(
                "it gave back less retainage than what it takes out has, and invoices after it held less for that",
            )
        } else {
            None
        }
    }

    /// Billed sums by category, with these amounts on top, one per line.
    pub(super) fn billed_with(&self, amounts: &[Amount]) -> ByCategory {
        ByCategory::collect(
            self.lines.iter().zip(amounts).map(|(p, amount)| (p.line.category, p.billed.0 + *amount)),
        )
    }
}
