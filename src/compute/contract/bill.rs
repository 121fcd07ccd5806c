//! What a bill comes to before taxes: an amount for each line of the account.

use super::account::of_change;
use super::invoice::InvoiceKind;
use super::sums::share;
use crate::units::Amount;
use crate::units::money::share_out;
use crate::wire::contract::account::{Account, LinePosition};
use crate::wire::contract::requests::{Bill, BilledLineIn};
use crate::wire::contract::terms::StageKind;
use crate::wire::{At, Code, Faults};

/// What a bill comes to before taxes: an amount and its basis for each line of the account.
pub(super) struct Drawn {
    pub(super) kind: InvoiceKind,
    pub(super) stage: Option<Code>,
    pub(super) amounts: Vec<(Amount, String)>,
    pub(super) holds: bool,
    pub(super) released: Amount,
}

/// Draws a bill on an account.
pub(super) fn draw(bill: &Bill, account: &Account, faults: &mut Faults) -> Option<Drawn> {
    let plain = |kind, amounts| Drawn { kind, stage: None, amounts, holds: true, released: Amount::ZERO };
    let at = At::ROOT.member("bill");
    match bill {
        Bill::Stage { stage } => by_stage(account, stage, &at, faults),
        Bill::Percent { pct_to_date } => {
            let amounts = account.lines.iter().map(|p| up_to(p, *pct_to_date)).collect();
            Some(plain(InvoiceKind::Progress, amounts))
        }
        Bill::Lines { lines } => {
            by_lines(account, lines, &at, faults).map(|a| plain(InvoiceKind::Progress, a))
        }
        Bill::ChangeOrder { change_order } => {
            let changes = account.lines.iter().filter(|p| of_change(&p.component));
            let known: Vec<&str> = changes.map(|p| p.component.as_str()).collect();
            if !known.contains(&change_order.as_str()) {
                let mut allowed = known;
                allowed.dedup();
                faults
                    .value(
                        &at.member("change_order"),
                        "unknown_code",
                        change_order.as_str(),
                        "no accepted change order has this code",
                    )
                    .allow(allowed);
                return None;
            }
            let amounts = account
                .lines
                .iter()
                .map(|p| if p.component == *change_order { whole(p) } else { none() })
                .collect();
            Some(plain(InvoiceKind::ChangeOrder, amounts))
        }
        Bill::Retainage { amount } => {
            let held = account.retained.0;
            let released = amount.unwrap_or(held);
            if released > held || released <= Amount::ZERO {
                let detail = format!("{held} are held; at most that can be released, and more than nothing");
                faults.value(&at.member("amount"), "over_retained", &released.to_string(), detail);
            }
            let amounts = account.lines.iter().map(|_| none()).collect();
            Some(Drawn { released, holds: false, ..plain(InvoiceKind::Retainage, amounts) })
        }
        Bill::Final { keep_retainage } => {
            let keep = keep_retainage.0;
            let released = if keep { Amount::ZERO } else { account.retained.0 };
            let amounts = account.lines.iter().map(whole).collect();
            Some(Drawn { released, holds: keep, ..plain(InvoiceKind::Final, amounts) })
        }
    }
}

fn none() -> (Amount, String) {
    (Amount::ZERO, String::new())
}

/// Everything that is open.
fn whole(position: &LinePosition) -> (Amount, String) {
    let basis = format!("{} less {} billed before", position.line.price, position.billed);
    (position.open(), basis)
}

/// Up to a share of the line, less what was billed before; never backwards.
fn up_to(position: &LinePosition, pct: crate::units::Percent) -> (Amount, String) {
    let price = position.line.price.0;
    let done = share(price, pct.share());
    let amount = done - position.billed.0;
    let backwards = if price < Amount::ZERO { amount > Amount::ZERO } else { amount < Amount::ZERO };
    if backwards {
        return none();
    }
    (amount, format!("{price} x {pct} = {done} to date, less {} billed before", position.billed))
}

fn by_stage(account: &Account, stage: &Code, at: &At<'_>, faults: &mut Faults) -> Option<Drawn> {
    let here = at.member("stage");
    let Some(found) = account.stages.iter().find(|s| s.code == *stage) else {
        faults
            .value(&here, "unknown_code", stage.as_str(), "the payment schedule has no such stage")
            .allow(account.stages.iter().map(|s| s.code.as_str()));
        return None;
    };
    if found.billed.0 {
        faults
            .value(&here, "already_billed", stage.as_str(), "this stage has been billed")
            .allow(account.stages.iter().filter(|s| !s.billed.0).map(|s| s.code.as_str()));
        return None;
    }
    // Spread over what is open of the quoted lines, so that no line is billed beyond its price.
    let open: Vec<Amount> = account
        .lines
        .iter()
        .map(|p| if of_change(&p.component) { Amount::ZERO } else { p.open().max(Amount::ZERO) })
        .collect();
    let left = open.iter().copied().sum();
    let amount = found.amount.0;
    if amount > left {
        let detail =
            format!("the stage comes to {amount} and only {left} of the quoted lines are open: bill `final`");
        faults.value(&here, "over_contract", stage.as_str(), detail);
        return None;
    }
    let amounts = spread(amount, &open)
        .into_iter()
        .map(|part| {
            let basis = format!("part of {amount} for stage {stage}, by what is open, largest remainder");
            (part, basis)
        })
        .collect();
    let deposit = found.due == StageKind::Deposit;
    let kind = if deposit { InvoiceKind::Deposit } else { InvoiceKind::Progress };
    Some(Drawn { kind, stage: Some(stage.clone()), amounts, holds: !deposit, released: Amount::ZERO })
}

/// A stage spread over what is open of the lines, by largest remainder.
pub(super) fn spread(amount: Amount, open: &[Amount]) -> Vec<Amount> {
    let open: Vec<i64> = open.iter().map(|open| open.minor()).collect();
    share_out(amount, &open)
}

fn by_lines(
    account: &Account,
    lines: &[BilledLineIn],
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<Vec<(Amount, String)>> {
    let list = at.member("lines");
    let mut amounts: Vec<(Amount, String)> = account.lines.iter().map(|_| none()).collect();
    let mut seen = std::collections::BTreeSet::new();
    for (i, asked) in lines.iter().enumerate() {
        let here = list.element(i);
        if !seen.insert(&asked.line) {
            faults.value(&here.member("line"), "duplicate", asked.line.as_str(), "this line is billed twice");
        }
        let index = account.lines.iter().position(|p| p.line.code == asked.line);
        let Some((position, slot)) =
            index.and_then(|i| account.lines.get(i)).zip(index.and_then(|i| amounts.get_mut(i)))
        else {
            faults
                .value(&here.member("line"), "unknown_code", asked.line.as_str(), "no such line")
                .allow(account.lines.iter().map(|p| p.line.code.as_str()));
            continue;
        };
        *slot = match (asked.pct_to_date, asked.amount) {
            (Some(pct), None) => up_to(position, pct),
            (None, Some(amount)) => (amount.0, "amount as asked for".to_owned()),
            _ => {
                faults
                    .add(&here, "one_of", "say how much in exactly one way")
                    .allow(["pct_to_date", "amount"]);
                none()
            }
        };
        let price = position.line.price.0;
        let backwards = if price < Amount::ZERO { slot.0 > Amount::ZERO } else { slot.0 < Amount::ZERO };
        if backwards {
            let detail = format!(
                "{} are billed of this line of {price}: it is billed in its own direction, and what was billed is given back \
                 by a credit note",
                position.billed
            );
            faults.value(&here.member("amount"), "negative_billing", &slot.0.to_string(), detail);
        }
    }
    Some(amounts)
}

/// What a bill asks for beyond the contract.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Over<'a> {
    pub(super) amount: Amount,
    /// The first line that goes beyond what it holds; none where the lines hold and the contract as a whole does not, since
    /// a change order took of it what these lines still have.
    pub(super) line: Option<&'a Code>,
}

/// How much a bill goes beyond what its lines hold, or beyond the contract as a whole; money off a credit line counts too.
pub(super) fn over_contract<'a>(account: &'a Account, amounts: &[Amount]) -> Option<Over<'a>> {
    let beyond = |(p, amount): (&'a LinePosition, &Amount)| {
        let beyond = p.billed.0 + *amount - p.line.price.0;
        let over = if p.line.price.0 < Amount::ZERO { -beyond } else { beyond };
        (*amount != Amount::ZERO && over > Amount::ZERO).then_some((&p.line.code, over))
    };
    let by_line: Vec<(&Code, Amount)> = account.lines.iter().zip(amounts).filter_map(beyond).collect();
    let asked: Amount = amounts.iter().copied().sum();
    let whole = (account.billed_before_tax() + asked - account.before_tax()).min(asked);
    match by_line.first() {
        Some((line, _)) => Some(Over {
            amount: by_line.iter().map(|(_, over)| *over).sum::<Amount>().max(whole),
            line: Some(line),
        }),
        None => (whole > Amount::ZERO).then_some(Over { amount: whole, line: None }),
    }
}
