//! Credit notes: what an invoice asked for, given back.

use super::contracts;
use super::paper_moves::{Begun, Moving, begin};
use super::papers::{self, PaperRecomputed, json_text, of_kind, paper_out};
use crate::app::AppState;
use crate::compute::contract::accept::check_credit;
use crate::compute::contract::credit::{CreditDocument, credit};
use crate::compute::contract::fold;
use crate::compute::contract::invoice::held_on;
use crate::compute::contract::moves::{Move, PaperKind, PaperState, Settlement};
use crate::documents::ubl::{self, Taxes};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params, etag};
use crate::http::problem::Problem;
use crate::http::reply::{self, Asked, Reply};
use crate::store::papers::{NewPaper, PaperRow};
use crate::units::Amount;
use crate::wire::contract::Signed;
use crate::wire::contract::account::{ContractLine, Effect};
use crate::wire::contract::inputs::{CreditInputs, InvoiceInputs};
use crate::wire::contract::requests::CreditIn;
use crate::wire::{Label, List};
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;

paper_out! {
    /// A credit note.
    CreditOut of CreditDocument
}

/// Issue a credit note
///
/// On an invoice, whole or by line, with the taxes and the retainage that belong to it. What is given back is open again.
/// Retainage that the invoice released is held again, at most what the other invoices still hold: what of it has gone back with
/// the invoices it was held on is `retained` here, so that nothing is given back twice. It names customer, site and title as its
/// invoice does, also where the job has them otherwise since: an invoice that went out to a wrong name is given back and issued anew.
#[utoipa::path(post, path = "/v1/invoices/{id}/credit-notes", tag = "invoices", operation_id = "createCreditNote",
    request_body(content = CreditIn, example = json!({"credit": {"kind": "whole"}, "on": "2026-03-20", "reason": "Billed before the channel was set."})),
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`."),
        ("If-Match" = String, Header, description = "ETag of the invoice, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Compute everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The credit note.", body = CreditOut,
        headers(("Location" = String, description = "Path of the credit note."), ("ETag" = String, description = "Never changes.")))))]
pub async fn create_credit_note(
    State(state): State<AppState>,
    caller: Caller<may::InvoicesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<CreditIn>,
) -> Result<Response, Problem> {
    let moving = match begin(&state, &caller, &asked, &bytes, &id, (PaperKind::Invoice, Move::Credit)).await?
    {
        Begun::Replay(response) => return Ok(response),
        Begun::Fresh(moving) => moving,
    };
    let Moving { mut session, row, to: _ } = *moving;
    let rows = session.write.papers(&row.job_id).await?;
    let number = papers::number(&mut session, PaperKind::CreditNote, &row.job_id).await?;
    let (inputs, mut effects) = drafted(&rows, &row, document, &number)?;
    let made = credit(&inputs);
    let dated = check_credit(inputs.request.on, inputs.invoice_on, papers::last_day(&state)?);
    let (paper, effect) = dated.and(&made).finish(made.ok())?;
    let new = NewPaper {
        id: papers::paper_id(PaperKind::CreditNote),
        job_id: row.job_id.clone(),
        kind: PaperKind::CreditNote.word(),
        number: Some(number),
        state: PaperState::Issued.word(),
        estimate_id: None,
        of_paper: Some(id.clone()),
        inputs: json_text(&inputs)?,
        document: json_text(&paper)?,
        effect: Some(json_text(&effect)?),
        total_minor: -paper.total.minor(),
        payable_minor: -paper.payable.minor(),
    };
    let made = papers::put(&mut session, new).await?;
    effects.push(effect);
    let credited = row.credited_minor + paper.payable.minor();
    let settled = Settlement {
        payable: Amount::from_minor(row.payable_minor),
        credited: Amount::from_minor(credited),
        credited_whole: fold::nothing_left(&effects),
        paid: Amount::from_minor(row.paid_minor),
    };
    let to = settled.state();
    session.write.settle_paper(&id, row.row_version, to.word(), row.paid_minor, credited).await?;
    session.write.touch_ledger(&row.job_id).await?;
    let after = papers::read_back(&mut session, &id).await?;
    papers::audit(&mut session, "credit", &row, &after, serde_json::json!({"credit_note": made.id})).await?;
    let location = format!("/v1/credit-notes/{}", made.id);
    let reply = Reply::created(location, etag(&made.id, made.row_version), &CreditOut::of(made)?)?;
    session.finish(reply).await
}

/// The snapshot of a credit note, and what the invoice and earlier credit notes on it did.
fn drafted(
    rows: &[PaperRow],
    row: &PaperRow,
    request: CreditIn,
    number: &str,
) -> Result<(CreditInputs, Vec<Effect>), Problem> {
    let (_, contract) = contracts::need_contract(rows)?;
    let account = contract.account().ok_or_else(|| Problem::internal("an account of too many lines"))?;
    let invoice: InvoiceInputs = papers::stored(&row.inputs)?;
    let retainage = held_on(&invoice).cloned();
    let billed: Effect = papers::stored(row.effect.as_deref().unwrap_or_default())?;
    let earlier = contracts::credited(rows, &row.id)?;
    let lines: Vec<ContractLine> = account
        .lines
        .iter()
        .filter(|p| billed.lines.iter().any(|l| l.line == p.line.code))
        .map(|p| p.line.clone())
        .collect();
    let too_many = || Problem::internal("a credit note of too many lines");
    let inputs = CreditInputs {
        number: Label::new(number).ok_or_else(|| Problem::internal("a credit note's number is no label"))?,
        invoice: invoice.number.clone(),
        invoice_on: invoice.request.on,
        job: invoice.job,
        seller: invoice.seller,
        currency: invoice.account.currency,
        tax_scheme: invoice.tax_scheme,
        request,
        lines: List::new(lines).ok_or_else(too_many)?,
        tax_rules: contract.quote.estimate.tax_rules.clone(),
        billed: billed.clone(),
        before: fold::sum(&earlier).ok_or_else(too_many)?,
        held: account.retained,
        held_on_invoices: Some(Signed(contracts::held_on_invoices(rows)?)),
        billed_to_date: None,
        retainage,
        owed: Some(Signed(Amount::from_minor(row.payable_minor - row.credited_minor - row.paid_minor))),
    };
    let mut effects = vec![billed];
    effects.extend(earlier);
    Ok((inputs, effects))
}

pub(super) async fn read(state: &AppState, id: &str) -> Result<PaperRow, Problem> {
    of_kind(state.inner.store.paper(id).await?, PaperKind::CreditNote)
}

/// Get a credit note
///
/// The same bytes for ever.
#[utoipa::path(get, path = "/v1/credit-notes/{id}", tag = "invoices", operation_id = "getCreditNote",
    params(("id" = String, Path, description = "Id of the credit note, `crn_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The credit note.", body = CreditOut,
        headers(("ETag" = String, description = "Never changes."))), (status = 304, description = "Not modified.")))]
pub async fn get_credit_note(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    reply::record(&headers, &etag(&row.id, row.row_version), &CreditOut::of(row)?)
}

/// Recompute a credit note
///
/// From its snapshot; says whether every byte is the same. Nothing is written.
#[utoipa::path(post, path = "/v1/credit-notes/{id}/recompute", tag = "invoices", operation_id = "recomputeCreditNote",
    extensions(("x-refuses" = json!([422]))),
    params(("id" = String, Path, description = "Id of the credit note, `crn_…`.")),
    responses((status = 200, description = "The comparison.", body = PaperRecomputed)))]
pub async fn recompute_credit_note(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    let (paper, _) = credit(&papers::stored(&row.inputs)?)?;
    reply::json(StatusCode::OK, &PaperRecomputed::of(&row, &paper, -paper.total)?)
}

/// Get a credit note as UBL
///
/// A UBL 2.1 `CreditNote`.
#[utoipa::path(get, path = "/v1/credit-notes/{id}/ubl", tag = "invoices", operation_id = "getCreditNoteUbl",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the credit note, `crn_…`.")),
    responses((status = 200, description = "The file.", body = String, content_type = "application/xml")))]
pub async fn get_credit_note_ubl(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    let inputs: CreditInputs = papers::stored(&row.inputs)?;
    let (paper, _) = credit(&inputs)?;
    papers::same(&row, &paper)?;
    let taxes = Taxes { rules: &inputs.tax_rules, scheme: inputs.tax_scheme };
    let bytes = ubl::invoice::credit_note(&paper, taxes).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(papers::xml(&row, bytes))
}
