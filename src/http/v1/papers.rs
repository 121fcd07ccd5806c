//! What quotes, change orders, invoices and credit notes have in common.

pub(super) use super::actuals::last_day;
use super::{missing, new_id, page_type};
use crate::app::AppState;
use crate::compute::answers::Estimate;
use crate::compute::contract::addressed::quoted_otherwise;
use crate::compute::contract::estimate::{Origin, facts};
use crate::compute::contract::moves::{self, Move, PaperKind, PaperState};
use crate::domain::book::PriceBook;
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Disposition, Session};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::estimates::EstimateRow;
use crate::store::jobs::JobRow;
use crate::store::papers::{NewPaper, PaperRow};
use crate::units::Amount;
use crate::wire::contract::facts::{EstimateFact, JobFact};
use crate::wire::contract::requests::{CloseIn, IssueIn};
use crate::wire::day::Day;
use crate::wire::{Wire, read_document, read_value};
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// Facts of a paper.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaperFacts {
    /// Id: `quo_…`, `chg_…`, `inv_…` or `crn_…`, by its kind.
    pub id: String,
    /// Job, `job_…`.
    pub job_id: String,
    /// What it is.
    pub kind: PaperKind,
    /// Number; absent on a draft.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub number: Option<String>,
    /// Where it stands.
    pub state: PaperState,
    /// What its state allows. The account or dates may stand in the way of one of them; the refusal then says what is left.
    pub allowed: Vec<Move>,
    /// With tax. Of a quote it is the offer as written; `decision` says what was taken of it.
    pub total: Amount,
    /// Asked for, as the paper says; nothing for quotes and change orders, the other sign for credit notes. A voided invoice keeps
    /// what it said and asks for nothing any more: leave papers that are `voided` out of sums, as the ledger does.
    pub payable: Amount,
    /// Paid, as reported; more than was asked for where more was reported.
    pub paid: Amount,
    /// Given back by credit notes.
    pub credited: Amount,
    /// Estimate it was made from.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub estimate_id: Option<String>,
    /// Quote it supersedes or changes, invoice it gives back.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub of: Option<String>,
    /// What was decided, as it was sent, with what it led to.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<PaperDecision>, nullable = false)]
    pub decision: Option<serde_json::Value>,
    /// Row version, as in the ETag.
    pub version: i64,
    /// When it was made.
    pub created_at: Timestamp,
    /// Key that made it.
    pub created_by: String,
    /// When it last changed.
    pub updated_at: Timestamp,
}

/// A decision about a paper, as it was sent, with what it led to. It is kept and answered as it was written.
#[derive(Debug, ToSchema)]
pub struct PaperDecision {
    /// The day.
    pub on: Day,
    /// Who said so.
    #[schema(nullable = false)]
    pub by: Option<String>,
    /// Why.
    #[schema(nullable = false)]
    pub reason: Option<String>,
    /// Of an accepted quote: the alternate that was taken instead.
    #[schema(nullable = false)]
    pub alternate: Option<String>,
    /// Of an accepted quote: codes of what was taken on top.
    #[schema(nullable = false)]
    pub additions: Option<Vec<String>>,
    /// Of an accepted quote: the contract it leads to.
    #[schema(nullable = false)]
    pub contract: Option<Amount>,
    /// Of an accepted change order: the contract before it.
    #[schema(nullable = false)]
    pub contract_before: Option<Amount>,
    /// Of an accepted change order: the contract with it.
    #[schema(nullable = false)]
    pub contract_after: Option<Amount>,
    /// Of a superseded quote: the estimate of the new draft, where another one was named.
    #[schema(nullable = false)]
    pub estimate_id: Option<String>,
    /// Of a superseded quote: the last date of the new draft, where another one was named.
    #[schema(nullable = false)]
    pub valid_until: Option<Day>,
    /// Of a superseded quote that was declined or had expired: that decision.
    #[schema(nullable = false)]
    pub earlier: Option<CloseIn>,
    /// Of a voided invoice: the accounting system.
    #[schema(nullable = false)]
    pub system: Option<String>,
    /// Of a voided invoice: the accounting system's own reference.
    #[schema(nullable = false)]
    pub reference: Option<String>,
}

page_type! {
    /// A page of papers, newest first, without their content.
    PaperPage of PaperFacts
}

/// Whether a paper made again from its snapshot is the same.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaperRecomputed {
    /// Whether every byte is the same.
    pub same: bool,
    /// With tax, stored.
    pub stored_total: Amount,
    /// With tax, made again.
    pub total: Amount,
}

impl PaperRecomputed {
    /// A stored paper against the one made again.
    pub(crate) fn of<T: Serialize>(row: &PaperRow, paper: &T, total: Amount) -> Result<Self, Problem> {
        Ok(Self {
            same: json_text(paper)? == row.document,
            stored_total: Amount::from_minor(row.total_minor),
            total,
        })
    }
}

macro_rules! paper_out {
    ($(#[doc = $doc:literal])+ $name:ident of $document:ty) => {
        $(#[doc = $doc])+
        #[derive(Debug, serde::Serialize, utoipa::ToSchema)]
        pub struct $name {
            /// Its facts.
            #[serde(flatten)]
            pub facts: crate::http::v1::papers::PaperFacts,
            /// The paper, byte for byte as it was made.
            #[schema(value_type = $document)]
            pub document: Box<serde_json::value::RawValue>,
        }

        impl $name {
            pub(crate) fn of(row: crate::store::papers::PaperRow) -> Result<Self, Problem> {
                let document = crate::http::v1::papers::raw_json(row.document.clone())?;
                Ok(Self { facts: crate::http::v1::papers::PaperFacts::of(&row)?, document })
            }
        }
    };
}
pub(crate) use paper_out;

impl PaperFacts {
    /// Facts of a row.
    pub(crate) fn of(row: &PaperRow) -> Result<Self, Problem> {
        let (kind, state) = (kind_of(row)?, state_of(row)?);
        let PaperRow {
            id,
            job_id,
            kind: _,
            place: _,
            number,
            state: _,
            estimate_id,
            of_paper,
            inputs: _,
            document: _,
            effect: _,
            decision,
            decided_at: _,
            total_minor,
            payable_minor,
            paid_minor,
            credited_minor,
            row_version,
            created_at,
            created_by,
            updated_at,
        } = row;
        let decision = decision
            .as_deref()
            .map(serde_json::from_str)
            .transpose()
            .map_err(|e| Problem::internal(format!("stored decision: {e}")))?;
        Ok(Self {
            id: id.clone(),
            job_id: job_id.clone(),
            kind,
            number: number.clone(),
            state,
            allowed: moves::moves(kind, state).iter().map(|(m, _)| *m).collect(),
            total: Amount::from_minor(*total_minor),
            payable: Amount::from_minor(*payable_minor),
            paid: Amount::from_minor(*paid_minor),
            credited: Amount::from_minor(*credited_minor),
            estimate_id: estimate_id.clone(),
            of: of_paper.clone(),
            decision,
            version: *row_version,
            created_at: timestamp(*created_at),
            created_by: created_by.clone(),
            updated_at: timestamp(*updated_at),
        })
    }
}

pub(crate) fn raw_json(text: String) -> Result<Box<serde_json::value::RawValue>, Problem> {
    serde_json::value::RawValue::from_string(text)
        .map_err(|e| Problem::internal(format!("stored paper: {e}")))
}

pub(crate) fn kind_of(row: &PaperRow) -> Result<PaperKind, Problem> {
    PaperKind::from_word(&row.kind).ok_or_else(|| Problem::internal("stored paper of no kind"))
}

pub(crate) fn state_of(row: &PaperRow) -> Result<PaperState, Problem> {
    PaperState::from_word(&row.state).ok_or_else(|| Problem::internal("stored paper in no state"))
}

/// A stored shape read back.
pub(crate) fn stored<T: Wire>(text: &str) -> Result<T, Problem> {
    read_document(text.as_bytes()).map_err(|e| Problem::internal(format!("stored paper: {e}")))
}

/// JSON as text.
pub(crate) fn json_text<T: Serialize>(value: &T) -> Result<String, Problem> {
    serde_json::to_string(value).map_err(|e| Problem::internal(e.to_string()))
}

/// A checked shape from values of ours.
pub(crate) fn shape<T: Wire>(value: &serde_json::Value) -> Result<T, Problem> {
    read_value(value).map_err(|f| Problem::internal(format!("shape of a paper: {f}")))
}

/// Only papers of this kind are found under its path.
pub(crate) fn of_kind(row: Option<PaperRow>, kind: PaperKind) -> Result<PaperRow, Problem> {
    row.filter(|r| r.kind == kind.word()).ok_or_else(|| missing(&kind.word().replace('_', " ")))
}

/// The state a move leads to, or a conflict that names the moves that are allowed.
pub(crate) fn moved(row: &PaperRow, asked: Move) -> Result<PaperState, Problem> {
    moves::next(kind_of(row)?, state_of(row)?, asked)
        .map_err(|refused| Problem::new(problem::STATE_CONFLICT, refused.to_string()))
}

/// What a job gives to a paper.
pub(crate) fn job_fact(row: &JobRow) -> Result<JobFact, Problem> {
    let read = |text: &str| {
        serde_json::from_str::<serde_json::Value>(text)
            .map_err(|e| Problem::internal(format!("stored job: {e}")))
    };
    shape(&serde_json::json!({
        "job_id": row.id, "title": row.title, "customer": read(&row.customer)?, "site": read(&row.site)?
    }))
}

/// What a job under contract gives to a new paper, and the job as its quote has it, where that is otherwise.
pub(crate) async fn job_now(
    session: &mut Session,
    id: &str,
    quoted: &JobFact,
) -> Result<(JobFact, Option<JobFact>), Problem> {
    let now = job_fact(&session.write.job(id).await?.ok_or_else(|| missing("job"))?)?;
    let quoted = quoted_otherwise(&now, quoted);
    Ok((now, quoted))
}

/// What an estimate of this job gives to a paper; none when there is no such estimate.
pub(crate) async fn estimate_fact(
    state: &AppState,
    job_id: &str,
    estimate_id: &str,
) -> Result<Option<EstimateFact>, Problem> {
    let Some(row) = state.inner.store.estimate(estimate_id).await?.filter(|e| e.job_id == job_id) else {
        return Ok(None);
    };
    let (book, _) = super::book(state, Some(&row.price_book_version_id)).await?;
    let answer: serde_json::Value =
        serde_json::from_str(&row.answer).map_err(|e| Problem::internal(format!("stored estimate: {e}")))?;
    let origin = Origin {
        estimate_id: &row.id,
        revision: row.revision,
        price_book_version_id: &row.price_book_version_id,
    };
    facts(origin, &answer, &book.doc().taxes)
        .map(Some)
        .map_err(|f| Problem::internal(format!("stored estimate: {f}")))
}

/// What the notes of an estimate give to a paper when they are priced from another version.
pub(crate) fn fact_of(
    row: &EstimateRow,
    version: &str,
    estimate: &Estimate,
    book: &PriceBook,
) -> Result<EstimateFact, Problem> {
    let answer = serde_json::to_value(estimate).map_err(|e| Problem::internal(e.to_string()))?;
    let origin = Origin { estimate_id: &row.id, revision: row.revision, price_book_version_id: version };
    facts(origin, &answer, &book.doc().taxes).map_err(|f| Problem::internal(format!("estimate: {f}")))
}

/// Writes a new paper with its audit row, and reads it back.
pub(crate) async fn put(session: &mut Session, new: NewPaper) -> Result<PaperRow, Problem> {
    session.write.put_paper(&new).await?;
    let action = if new.state == PaperState::Draft.word() { "draft" } else { "issue" };
    let after = serde_json::json!({"after": {"state": new.state, "number": new.number, "version": 1,
        "total": Amount::from_minor(new.total_minor)}, "job": new.job_id});
    session.write.audit(&format!("{}.{action}", new.kind), &new.id, after).await?;
    read_back(session, &new.id).await
}

/// A paper as this transaction sees it.
pub(crate) async fn read_back(session: &mut Session, id: &str) -> Result<PaperRow, Problem> {
    session.write.paper(id).await?.ok_or_else(|| missing("paper"))
}

/// The audit row of a change of a paper, with what was there before and after.
pub(crate) async fn audit(
    session: &mut Session,
    action: &str,
    before: &PaperRow,
    after: &PaperRow,
    more: serde_json::Value,
) -> Result<(), Problem> {
    let side = |row: &PaperRow| {
        serde_json::json!({"state": row.state, "number": row.number, "version": row.row_version,
            "total": Amount::from_minor(row.total_minor), "paid": Amount::from_minor(row.paid_minor),
            "credited": Amount::from_minor(row.credited_minor)})
    };
    let mut detail = serde_json::json!({"before": side(before), "after": side(after)});
    if let (serde_json::Value::Object(more), Some(members)) = (more, detail.as_object_mut()) {
        members.extend(more);
    }
    session.write.audit(&format!("{}.{action}", after.kind), &after.id, detail).await?;
    Ok(())
}

/// What the trail keeps of the issue of a paper beside its state: that failed checks were confirmed, and nothing where there are none.
pub(crate) fn confirmed(issue: &IssueIn, has_failed: bool) -> serde_json::Value {
    let is_confirmed = issue.failed_checks.0 && has_failed;
    if is_confirmed { serde_json::json!({"failed_checks": true}) } else { serde_json::json!({}) }
}

/// The next number of a kind, as it is printed.
pub(crate) async fn number(session: &mut Session, kind: PaperKind, job_id: &str) -> Result<String, Problem> {
    let (counter, prefix) = match kind {
        PaperKind::Quote => ("quote".to_owned(), "Q"),
        PaperKind::ChangeOrder => (format!("change_order {job_id}"), "CO"),
        PaperKind::Invoice => ("invoice".to_owned(), "INV"),
        PaperKind::CreditNote => ("credit_note".to_owned(), "CN"),
    };
    let next = session.write.next_number(&counter).await?;
    Ok(if kind == PaperKind::ChangeOrder {
        format!("{prefix}-{next}")
    } else {
        format!("{prefix}-{next:04}")
    })
}

/// A fresh id of a paper.
pub(crate) fn paper_id(kind: PaperKind) -> String {
    new_id(match kind {
        PaperKind::Quote => "quo",
        PaperKind::ChangeOrder => "chg",
        PaperKind::Invoice => "inv",
        PaperKind::CreditNote => "crn",
    })
}

/// What a file of a paper is called: by its number, a draft by its id. Change orders are numbered within their job, so that of another
/// job must not have the same name.
pub(crate) fn file_name(row: &PaperRow) -> String {
    match &row.number {
        None => format!("draft-{}", row.id),
        Some(number) if row.kind == PaperKind::ChangeOrder.word() => format!("{number}-{}", row.job_id),
        Some(number) => number.clone(),
    }
}

/// A UBL file of an issued paper.
pub(crate) fn xml(row: &PaperRow, bytes: Vec<u8>) -> Response {
    xml_file(&file_name(row), bytes)
}

/// An XML file of this name.
pub(crate) fn xml_file(name: &str, bytes: Vec<u8>) -> Response {
    reply::private(reply::file("application/xml", Disposition::Attachment, &format!("{name}.xml"), bytes))
}

/// A file says what the paper says, to the byte, or is not written.
pub(crate) fn same<T: Serialize>(row: &PaperRow, paper: &T) -> Result<(), Problem> {
    if json_text(paper)? == row.document {
        return Ok(());
    }
    Err(Problem::new(
        problem::CONFLICT,
        "this paper was made by another version of the service, which would write it otherwise today: take its `document`",
    ))
}

/// A draft has no number and leaves as no file.
pub(crate) fn need_issued(row: &PaperRow) -> Result<(), Problem> {
    if row.number.is_some() {
        return Ok(());
    }
    Err(Problem::new(problem::STATE_CONFLICT, "a draft leaves as no file: issue it first"))
}
