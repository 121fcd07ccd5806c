//! The lines of an invoice as the paper shows them.

use super::invoice::InvoiceLine;
use crate::units::Amount;
use crate::wire::contract::account::{Account, LinePosition};
use crate::wire::contract::facts::TaxSum;

/// The lines of an invoice: those that are billed, else those that a tax which is left fell on.
pub(super) fn lines(
    account: &Account,
    amounts: Vec<(Amount, String)>,
    taxes: &[(TaxSum, String)],
) -> Vec<InvoiceLine> {
    let billed: Vec<InvoiceLine> = account
        .lines
        .iter()
        .zip(amounts)
        .filter(|(_, (amount, _))| *amount != Amount::ZERO)
        .map(|(p, (amount, basis))| line(p, p.line.description.to_string(), amount, basis))
        .collect();
    if billed.is_empty() { of_tax_alone(account, taxes) } else { billed }
}

/// What roundings left of a tax once every line is billed stands at the first line that the tax fell on.
fn of_tax_alone(account: &Account, taxes: &[(TaxSum, String)]) -> Vec<InvoiceLine> {
    let mut out: Vec<InvoiceLine> = Vec::new();
    for (sum, basis) in taxes.iter().filter(|(sum, _)| sum.amount.0 != Amount::ZERO) {
        let Some(rule) = account.taxes.iter().map(|t| &t.rule).find(|r| r.code == sum.code) else { continue };
        let fell_on = |p: &&LinePosition| rule.categories.contains(&p.line.category);
        let Some(position) = account.lines.iter().find(fell_on) else { continue };
        let left = format!("{}: {basis} = {}", rule.name, sum.amount);
        match out.iter_mut().find(|l| position.line.code.as_str() == l.code) {
            Some(line) => line.basis = format!("{}; {left}", line.basis),
            None => {
                let description = format!("Tax left of what was billed: {}", position.line.description);
                out.push(line(position, description, Amount::ZERO, left));
            }
        }
    }
    out
}

fn line(p: &LinePosition, description: String, amount: Amount, basis: String) -> InvoiceLine {
    InvoiceLine {
        code: p.line.code.to_string(),
        component: p.component.to_string(),
        description,
        category: p.line.category,
        contract: p.line.price.0,
        billed_before: p.billed.0,
        amount,
        billed_to_date: p.billed.0 + amount,
        open: p.open() - amount,
        basis,
    }
}
