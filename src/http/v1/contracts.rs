//! The contract of a job as its papers tell it.

use super::papers::stored;
use crate::compute::contract::fold::Contract;
use crate::compute::contract::held::still_held;
use crate::compute::contract::invoice::held_on;
use crate::compute::contract::moves::{PaperKind, PaperState};
use crate::http::problem::{self, Problem};
use crate::store::StoreError;
use crate::store::papers::PaperRow;
use crate::units::Amount;
use crate::wire::contract::Signed;
use crate::wire::contract::account::{Component, Effect};
use crate::wire::contract::inputs::{ChangeInputs, DatedPaper, InvoiceInputs, QuoteInputs};
use crate::wire::day::Day;
use crate::wire::read_value;
use crate::wire::{Label, List};

/// The parts of a contract as they are kept.
pub(super) type Components = List<Component, 0, 100>;

/// The accepted quote among the papers of a job.
pub(super) fn accepted_quote(rows: &[PaperRow]) -> Option<&PaperRow> {
    rows.iter().find(|r| r.kind == PaperKind::Quote.word() && r.state == PaperState::Accepted.word())
}

/// The quote that says who the office is and in which currency it speaks: the accepted one, else the last one written.
pub(super) fn speaking(rows: &[PaperRow]) -> Option<&PaperRow> {
    let last = || rows.iter().rfind(|r| r.kind == PaperKind::Quote.word());
    accepted_quote(rows).or_else(last)
}

/// A decision as it is kept with a paper; nothing where none was made.
pub(super) struct Decision(serde_json::Value);

/// The decision about a paper.
pub(super) fn decision(row: &PaperRow) -> Decision {
    let kept = row.decision.as_deref().and_then(|text| serde_json::from_str(text).ok());
    Decision(kept.unwrap_or_default())
}

impl Decision {
    /// A text of it.
    pub(super) fn text(&self, name: &str) -> Option<String> {
        self.0.get(name)?.as_str().map(ToOwned::to_owned)
    }

    /// Its day.
    pub(super) fn day(&self) -> Option<Day> {
        Day::parse(&self.text("on")?)
    }

    /// Codes of what was taken of a quote: the alternate, the additions.
    pub(super) fn taken(&self) -> Vec<String> {
        let additions = self.0.get("additions").and_then(serde_json::Value::as_array).into_iter().flatten();
        let additions = additions.filter_map(|code| code.as_str().map(ToOwned::to_owned));
        self.text("alternate").into_iter().chain(additions).collect()
    }

    /// What the contract comes to by an accepted quote.
    pub(super) fn contract(&self) -> Option<Amount> {
        read_value::<Signed>(self.0.get("contract")?).ok().map(|signed| signed.0)
    }
}

/// The day of a decision.
pub(super) fn decided_on(row: &PaperRow) -> Option<Day> {
    decision(row).day()
}

/// The contract of a job from its papers, once there is an accepted quote; with the id of that quote.
pub(super) fn contract(rows: &[PaperRow]) -> Result<Option<(String, Contract)>, Problem> {
    let accepted = |row: &&PaperRow| row.state == PaperState::Accepted.word();
    let of = |kind: PaperKind| rows.iter().filter(move |r| r.kind == kind.word());
    let Some(quote) = accepted_quote(rows) else { return Ok(None) };
    let effect = |row: &PaperRow| row.effect.clone().unwrap_or_default();
    let inputs: QuoteInputs = stored(&quote.inputs)?;
    let components: Components = stored(&effect(quote))?;
    let mut contract = Contract::open(inputs, components.into_vec(), decided_on(quote));
    let mut changes: Vec<&PaperRow> = of(PaperKind::ChangeOrder).filter(accepted).collect();
    changes.sort_by_key(|r| (r.decided_at, r.place));
    for change in changes {
        let inputs: ChangeInputs = stored(&change.inputs)?;
        contract.change(&inputs, stored(&effect(change))?, decided_on(change));
    }
    for row in rows
        .iter()
        .filter(|r| [PaperKind::Invoice.word(), PaperKind::CreditNote.word()].contains(&r.kind.as_str()))
    {
        if row.state != PaperState::Voided.word() {
            contract.effects.push(stored::<Effect>(&effect(row))?);
        }
    }
    Ok(Some((quote.id.clone(), contract)))
}

/// What each credit note on an invoice did.
pub(super) fn credited(rows: &[PaperRow], invoice: &str) -> Result<Vec<Effect>, Problem> {
    rows.iter()
        .filter(|r| r.kind == PaperKind::CreditNote.word() && r.of_paper.as_deref() == Some(invoice))
        .map(|r| stored(r.effect.as_deref().unwrap_or_default()))
        .collect()
}

/// The retainage that the invoices of a job hold by the terms net of their credit notes, before any of it was released.
pub(super) fn held_on_invoices(rows: &[PaperRow]) -> Result<Amount, Problem> {
    let live = |r: &&PaperRow| r.kind == PaperKind::Invoice.word() && r.state != PaperState::Voided.word();
    let mut sum = Amount::ZERO;
    for row in rows.iter().filter(live) {
        let billed: Effect = stored(row.effect.as_deref().unwrap_or_default())?;
        let credited = credited(rows, &row.id)?;
        sum += if credited.is_empty() {
            billed.held_by_terms()
        } else {
            let inputs: InvoiceInputs = stored(&row.inputs)?;
            still_held(held_on(&inputs), &billed, &credited)
        };
    }
    Ok(sum)
}

/// The day an invoice or a credit note was issued on.
fn issued_on(row: &PaperRow) -> Result<Day, Problem> {
    let document: serde_json::Value =
        serde_json::from_str(&row.document).map_err(|e| Problem::internal(format!("stored paper: {e}")))?;
    let on = document.get("issued_on").and_then(serde_json::Value::as_str).and_then(Day::parse);
    on.ok_or_else(|| Problem::internal("stored paper without its date"))
}

/// What each live invoice and credit note holds of retainage less what it released, with its date.
pub(super) fn moved_retainage(rows: &[PaperRow]) -> Result<Vec<(Day, Amount)>, Problem> {
    let kinds = [PaperKind::Invoice.word(), PaperKind::CreditNote.word()];
    let live = |r: &&PaperRow| kinds.contains(&r.kind.as_str()) && r.state != PaperState::Voided.word();
    let moved = |row: &PaperRow| -> Result<(Day, Amount), Problem> {
        let effect: Effect = stored(row.effect.as_deref().unwrap_or_default())?;
        Ok((issued_on(row)?, effect.retained.0 - effect.released.0))
    };
    rows.iter().filter(live).map(moved).collect()
}

/// The invoice of a job with the latest date, where that is after a day.
pub(super) fn dated_after(rows: &[PaperRow], day: Day) -> Result<Option<DatedPaper>, Problem> {
    let mut last: Option<DatedPaper> = None;
    for row in rows.iter().filter(|r| r.kind == PaperKind::Invoice.word()) {
        let on = issued_on(row)?;
        let Some(number) = row.number.as_deref().and_then(Label::new) else { continue };
        if on > day && last.as_ref().is_none_or(|last| on >= last.on) {
            last = Some(DatedPaper { number, on });
        }
    }
    Ok(last)
}

/// The contract, or a conflict that says what is missing.
pub(super) fn need_contract(rows: &[PaperRow]) -> Result<(String, Contract), Problem> {
    contract(rows)?.ok_or_else(|| {
        Problem::new(
            problem::STATE_CONFLICT,
            "the job has no contract yet: issue a quote and record its acceptance first",
        )
    })
}

/// A second promise on a job under contract.
pub(super) fn under_contract() -> Problem {
    Problem::new(
        problem::STATE_CONFLICT,
        "the job has an accepted quote already; its contract is changed by change orders",
    )
}

/// A second acceptance on one job.
pub(super) fn one_contract(error: StoreError) -> Problem {
    match error {
        StoreError::Conflict => under_contract(),
        other => other.into(),
    }
}
