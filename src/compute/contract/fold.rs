//! The papers of a job folded into its contract: what was accepted, what was billed.

use super::{account, additions};
use crate::units::Amount;
use crate::wire::contract::Signed;
use crate::wire::contract::account::{Account, BilledLine, Component, Effect};
use crate::wire::contract::facts::{EstimateFact, TaxSum};
use crate::wire::contract::inputs::{ChangeInputs, QuoteInputs};
use crate::wire::day::Day;
use crate::wire::{Code, Label, List};
use std::collections::BTreeMap;

/// The contract of a job.
#[derive(Debug, Clone)]
pub struct Contract {
    /// The accepted quote.
    pub quote: QuoteInputs,
    /// Its parts, in the order in which they were accepted.
    pub components: Vec<Component>,
    /// The revision it stands on.
    pub standing: EstimateFact,
    /// What each live invoice and credit note did.
    pub effects: Vec<Effect>,
    /// When each paper was accepted, by its number.
    accepted: BTreeMap<Label, Day>,
}

impl Contract {
    /// The contract that an accepted quote opens.
    pub fn open(quote: QuoteInputs, components: Vec<Component>, on: Option<Day>) -> Self {
        let taken = components.iter().find_map(|c| c.estimate_id.as_ref());
        let standing = quote
            .alternates
            .iter()
            .map(|a| &a.estimate)
            .find(|e| Some(&e.estimate_id) == taken)
            .unwrap_or(&quote.estimate)
            .clone();
        let accepted = components.iter().zip(on).map(|(c, on)| (c.paper.clone(), on)).collect();
        Self { quote, components, standing, effects: Vec::new(), accepted }
    }

    /// Adds an accepted change order.
    pub fn change(&mut self, inputs: &ChangeInputs, component: Component, on: Option<Day>) {
        self.accepted.extend(on.map(|on| (component.paper.clone(), on)));
        if let Some(to) = &inputs.to {
            self.standing = to.clone();
        }
        self.components.push(component);
    }

    /// Additions that were taken with the quote, by their codes, each with its part of the contract.
    pub fn taken(&self) -> impl Iterator<Item = (Code, &Component)> {
        let code = |c: &Component| c.code.as_str().strip_prefix(additions::PREFIX).and_then(Code::new);
        self.components.iter().filter_map(move |c| Some((code(c)?, c)))
    }

    /// When the paper of a part was accepted.
    pub fn accepted_on(&self, component: &Component) -> Option<Day> {
        self.accepted.get(&component.paper).copied()
    }

    /// When the quote was accepted.
    pub fn begun_on(&self) -> Option<Day> {
        self.components.first().and_then(|c| self.accepted_on(c))
    }

    /// The estimates it stands on and stood on.
    pub fn estimates(&self) -> impl Iterator<Item = &Label> {
        self.components.iter().filter_map(|c| c.estimate_id.as_ref())
    }

    /// With tax.
    pub fn total(&self) -> Amount {
        total(&self.components)
    }

    /// Its account; `None` when there are more lines than an account holds.
    pub fn account(&self) -> Option<Account> {
        account::open(&self.quote, &self.components, &self.effects)
    }
}

/// Parts of a contract with tax.
pub fn total(components: &[Component]) -> Amount {
    let lines: Amount = components.iter().flat_map(|c| c.lines.iter()).map(|l| l.price.0).sum();
    let taxes: Amount = components.iter().flat_map(|c| c.taxes.iter()).map(|t| t.amount.0).sum();
    lines + taxes
}

/// Several effects as one; `None` when there are more lines than an effect holds.
pub fn sum(effects: &[Effect]) -> Option<Effect> {
    let mut lines: Vec<BilledLine> = Vec::new();
    let mut taxes: Vec<TaxSum> = Vec::new();
    let add = |a: Signed, b: Signed| Signed(a.0 + b.0);
    for effect in effects {
        for line in effect.lines.iter() {
            match lines.iter_mut().find(|l| l.line == line.line) {
                Some(have) => have.amount = add(have.amount, line.amount),
                None => lines.push(line.clone()),
            }
        }
        for tax in effect.taxes.iter() {
            match taxes.iter_mut().find(|t| t.code == tax.code) {
                Some(have) => {
                    have.taxable = add(have.taxable, tax.taxable);
                    have.amount = add(have.amount, tax.amount);
                }
                None => taxes.push(tax.clone()),
            }
        }
    }
    let total = |of: fn(&Effect) -> Amount| Signed(effects.iter().map(of).sum());
    Some(Effect {
        lines: List::new(lines)?,
        taxes: List::new(taxes)?,
        retained: total(|e| e.retained.0),
        by_terms: None,
        released: total(|e| e.released.0),
        payable: total(|e| e.payable.0),
        stage: None,
    })
}

/// Whether an invoice and the credit notes on it leave nothing.
pub fn nothing_left(effects: &[Effect]) -> bool {
    sum(effects)
        .is_some_and(|s| s.lines.iter().all(|l| l.amount.0 == Amount::ZERO) && s.released.0 == Amount::ZERO)
}
