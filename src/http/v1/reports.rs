//! What the accounting system reports, recorded once under its own reference.

use super::papers;
use crate::http::problem::{self, Problem};
use crate::http::reply::Session;
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::papers::PaperRow;
use crate::store::reports::{HeldReport, NewReport, ReportRow};
use crate::units::Amount;
use crate::wire::day::Day;
use crate::wire::scalar::{Reference, Reporter};
use crate::wire::{At, Faults};

/// A report about an invoice, not yet recorded: under which reference of which system, and of which day.
pub(super) fn of_invoice(
    invoice: &PaperRow,
    kind: &'static str,
    (system, reference, on): (&Reporter, &Reference, Day),
    amount: Amount,
    document: String,
) -> NewReport {
    NewReport {
        id: super::new_id("rep"),
        job_id: invoice.job_id.clone(),
        paper_id: Some(invoice.id.clone()),
        kind,
        system: system.to_string(),
        reference: reference.to_string(),
        on_date: on.to_string(),
        amount_minor: amount.minor(),
        category: None,
        committed: false,
        document,
    }
}

/// A report as it is read back.
pub(super) struct ReadBack {
    pub(super) id: String,
    pub(super) job_id: String,
    /// The paper it is about, if any.
    pub(super) paper_id: Option<String>,
    /// What the accounting system said.
    pub(super) said: Box<serde_json::value::RawValue>,
    pub(super) created_at: Timestamp,
    pub(super) created_by: String,
}

/// What is read back of a row: what the accounting system said stands in the document.
pub(super) fn read_back(row: ReportRow) -> Result<ReadBack, Problem> {
    let ReportRow {
        id,
        job_id,
        paper_id,
        kind: _,
        system: _,
        reference: _,
        on_date: _,
        amount_minor: _,
        category: _,
        committed: _,
        document,
        created_at,
        created_by,
    } = row;
    let (said, created_at) = (papers::raw_json(document)?, timestamp(created_at));
    Ok(ReadBack { id, job_id, paper_id, said, created_at, created_by })
}

/// Refuses a report under a reference that the system has used before, with what is held under it. It goes before the other checks,
/// those of the version and the state of the paper as well: a repeat is told as one, whatever the first has changed.
pub(super) async fn once(session: &mut Session, report: &NewReport) -> Result<(), Problem> {
    let held = session.write.held_report(&report.system, report.kind, &report.reference).await?;
    held.map_or(Ok(()), |held| Err(recorded(report, &held)))
}

/// What is held under the reference of a report, and whether it is that very report.
fn recorded(report: &NewReport, held: &HeldReport) -> Problem {
    let (system, reference, kind) = (report.system.as_str(), report.reference.as_str(), report.kind);
    let mut what = match kind {
        "void" => format!("a {kind} on {}", held.on_date),
        _ => format!("a {kind} of {} on {}", Amount::from_minor(held.amount_minor), held.on_date),
    };
    if let Some(category) = &held.category {
        what.push_str(if held.committed == 0 { " for " } else { " ordered for " });
        what.push_str(category);
    }
    let at = match (&held.paper_id, &held.paper_number) {
        (Some(id), Some(number)) => format!("invoice {number} (`{id}`)"),
        (Some(id), None) => format!("`{id}`"),
        (None, _) => format!("the job `{}`", held.job_id),
    };
    let (code, so) = if is_same(report, held) {
        ("recorded_already", "this very report, so that nothing is left to do")
    } else {
        ("reference_taken", "another one than this: what is reported beside it needs a reference of its own")
    };
    let detail =
        format!("`{system}` has reported {what}, for {at}, under the reference `{reference}` before: {so}");
    let mut faults = Faults::new();
    faults.value(&At::ROOT.member("reference"), code, reference, detail.clone());
    Problem::with_faults(problem::CONFLICT, detail, &faults)
}

/// Whether a report says what is held; remarks apart.
fn is_same(report: &NewReport, held: &HeldReport) -> bool {
    let NewReport {
        id: _,
        job_id,
        paper_id,
        kind: _,
        system: _,
        reference: _,
        on_date,
        amount_minor,
        category,
        committed,
        document: _,
    } = report;
    *job_id == held.job_id
        && *paper_id == held.paper_id
        && *on_date == held.on_date
        && *amount_minor == held.amount_minor
        && *category == held.category.as_deref()
        && *committed == (held.committed != 0)
}
