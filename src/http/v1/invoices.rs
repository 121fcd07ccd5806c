//! Invoices, and their voids as the accounting system reports them.

use super::contracts;
use super::missing;
use super::paper_moves::allowed;
use super::papers::{self, PaperPage, PaperRecomputed, json_text, last_day, of_kind, paper_out};
use super::quotes::list;
use super::reports;
use crate::app::AppState;
use crate::compute::contract::accept::{check_billed, check_issue, check_released, check_report, check_sum};
use crate::compute::contract::invoice::{InvoiceDocument, invoice};
use crate::compute::contract::moves::{Move, PaperKind, PaperState, Settlement};
use crate::documents::ubl::{self, Taxes};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params, etag};
use crate::http::problem::{self, Problem};
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::store::papers::{NewPaper, PaperRow};
use crate::units::Amount;
use crate::wire::Label;
use crate::wire::contract::Signed;
use crate::wire::contract::account::Effect;
use crate::wire::contract::facts::TaxRule;
use crate::wire::contract::inputs::InvoiceInputs;
use crate::wire::contract::requests::{InvoiceIn, VoidIn};
use crate::wire::scalar::Flag;
use axum::extract::{OriginalUri, Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;

paper_out! {
    /// An invoice.
    InvoiceOut of InvoiceDocument
}

/// The id a ledger's ETag is made of.
pub(crate) fn ledger_tag(job_id: &str) -> String {
    format!("{job_id}.ledger")
}

pub(super) fn changed(row: PaperRow) -> Result<Reply, Problem> {
    Reply::changed(etag(&row.id, row.row_version), &InvoiceOut::of(row)?)
}

/// Issue an invoice
///
/// Computed from the contract and what has been billed of it, issued at once with its number, never changed.
/// `validate_only=true` shows it first. `If-Match` takes the ETag of the ledger, so that nothing is billed twice. Its date is not to
/// come, and not before the acceptance of the quote and of the change orders whose lines it bills, nor before the retainage it releases
/// was held. It names customer, site and title as the job has them now: what was misspelled on the quote is set right by
/// `PATCH /v1/jobs/{id}` before. Where the quote has them otherwise, `document.warnings` says so (`other_than_quoted`), to the office
/// alone.
#[utoipa::path(post, path = "/v1/jobs/{id}/invoices", tag = "invoices", operation_id = "createInvoice",
    request_body(content = InvoiceIn, example = json!({"bill": {"kind": "stage", "stage": "deposit"}, "on": "2026-03-08"})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("If-Match" = String, Header, description = "ETag of the job's ledger, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Compute everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The invoice.", body = InvoiceOut,
        headers(("Location" = String, description = "Path of the invoice."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn create_invoice(
    State(state): State<AppState>,
    caller: Caller<may::InvoicesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<InvoiceIn>,
) -> Result<Response, Problem> {
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let mut session = match asked.open_keyed(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let version = session.write.ledger_version(&id).await?;
    asked.preconditions().check_page(&ledger_tag(&id), version)?;
    let rows = session.write.papers(&id).await?;
    let (_, contract) = contracts::need_contract(&rows)?;
    let account = contract.account().ok_or_else(|| Problem::internal("an account of too many lines"))?;
    let number = papers::number(&mut session, PaperKind::Invoice, &id).await?;
    let terms = &contract.quote.terms;
    let dated_after = contracts::dated_after(&rows, document.on)?;
    let (job, quoted) = papers::job_now(&mut session, &id, &contract.quote.job).await?;
    let inputs = InvoiceInputs {
        number: Label::new(&number).ok_or_else(|| Problem::internal("a number that is no label"))?,
        job,
        seller: terms.seller.clone(),
        tax_scheme: contract.quote.tax_scheme(),
        payment_terms: terms.payment_terms.clone(),
        deposits_due_at_once: Flag(true),
        request: document,
        account,
        held_on_invoices: Some(Signed(contracts::held_on_invoices(&rows)?)),
        dated_after,
        quoted,
    };
    let made = invoice(&inputs);
    let mut faults = check_issue(inputs.request.on, &contract.quote, last_day(&state)?, "an invoice");
    if let Ok((paper, effect)) = &made {
        if faults.is_empty() {
            faults = check_billed(inputs.request.on, &contract, effect);
            let moved = contracts::moved_retainage(&rows)?;
            faults = faults.and::<()>(&Err(check_released(inputs.request.on, effect, &moved)));
        }
        faults = faults.and::<()>(&Err(check_sum(&inputs.account, paper.total)));
    }
    let (paper, effect) = faults.and(&made).finish(made.ok())?;
    let new = NewPaper {
        id: papers::paper_id(PaperKind::Invoice),
        job_id: id.clone(),
        kind: PaperKind::Invoice.word(),
        number: Some(number),
        state: Settlement::issued(paper.payable).state().word(),
        estimate_id: None,
        of_paper: None,
        inputs: json_text(&inputs)?,
        document: json_text(&paper)?,
        effect: Some(json_text(&effect)?),
        total_minor: paper.total.minor(),
        payable_minor: paper.payable.minor(),
    };
    let row = papers::put(&mut session, new).await?;
    session.write.touch_ledger(&id).await?;
    let location = format!("/v1/invoices/{}", row.id);
    let reply = Reply::created(location, etag(&row.id, row.row_version), &InvoiceOut::of(row)?)?;
    session.finish(reply).await
}

/// List invoices
///
/// Invoices and credit notes of one job, newest first, without their content. Voided invoices are listed with what they said:
/// leave those whose `state` is `voided` out of sums.
#[utoipa::path(get, path = "/v1/jobs/{id}/invoices", tag = "invoices", operation_id = "listInvoices",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("number" = Option<String>, Query, description = "Exactly the number on the paper, such as `INV-0001` or `CN-0001`.", min_length = 1, max_length = 200),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = PaperPage)))]
pub async fn list_invoices(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    list(&state, &id, [PaperKind::Invoice, PaperKind::CreditNote], &uri, &params).await
}

pub(super) async fn read(state: &AppState, id: &str) -> Result<PaperRow, Problem> {
    of_kind(state.inner.store.paper(id).await?, PaperKind::Invoice)
}

/// Get an invoice
///
/// Its content never changes; what was paid and given back does.
#[utoipa::path(get, path = "/v1/invoices/{id}", tag = "invoices", operation_id = "getInvoice",
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The invoice.", body = InvoiceOut,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_invoice(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    reply::record(&headers, &etag(&row.id, row.row_version), &InvoiceOut::of(row)?)
}

/// Report a void
///
/// The accounting system, or the office by hand, voided the invoice: what it billed is open again. Not once it is paid, given
/// back, or its retainage released, nor where retainage would stay that no invoice holds: then it is given back by a credit
/// note. One `system` and `reference` is recorded once: a void under a reference that is recorded is refused with 409, and the
/// error at `#/reference` says which invoice and day are held under it. Its code is `recorded_already` where that is this very
/// void, so that nothing is left to do, and `reference_taken` where it is another one. That is told before `If-Match` and the
/// state of the invoice are looked at.
#[utoipa::path(post, path = "/v1/invoices/{id}/void", tag = "invoices", operation_id = "reportVoid",
    request_body(content = VoidIn, example = json!({"system": "accounting", "reference": "VOID-31", "on": "2026-03-20", "reason": "Sent twice."})),
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`."),
        ("If-Match" = String, Header, description = "ETag of the invoice, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The invoice.", body = InvoiceOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn report_void(
    State(state): State<AppState>,
    caller: Caller<may::AccountingWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<VoidIn>,
) -> Result<Response, Problem> {
    let mut session = match asked.open_keyed(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let row = of_kind(session.write.paper(&id).await?, PaperKind::Invoice)?;
    let said = (&document.system, &document.reference, document.on);
    let report = reports::of_invoice(&row, "void", said, Amount::ZERO, json_text(&document)?);
    reports::once(&mut session, &report).await?;
    let to = allowed(&asked, &row, Move::Void)?;
    let inputs: InvoiceInputs = papers::stored(&row.inputs)?;
    let faults = check_report(document.on, Some(inputs.request.on), last_day(&state)?, "voided");
    if !faults.is_empty() {
        return Err(faults.into());
    }
    let rows = session.write.papers(&row.job_id).await?;
    let credit_notes = contracts::credited(&rows, &id)?;
    let (_, contract) = contracts::need_contract(&rows)?;
    let effect: Effect = papers::stored(row.effect.as_deref().unwrap_or_default())?;
    let account = contract.account().ok_or_else(|| Problem::internal("an account of too many lines"))?;
    if let Some(bar) = account.bars_void(&effect, &credit_notes, contracts::held_on_invoices(&rows)?) {
        return Err(Problem::new(problem::STATE_CONFLICT, bar.to_string()));
    }
    session.write.put_report(&report).await?;
    let decision = json_text(&document)?;
    session.write.decide_paper(&id, row.row_version, to.word(), &decision, None).await?;
    session.write.touch_ledger(&row.job_id).await?;
    let after = papers::read_back(&mut session, &id).await?;
    papers::audit(&mut session, "void", &row, &after, serde_json::json!({"void": document})).await?;
    session.finish(changed(after)?).await
}

/// Recompute an invoice
///
/// From its snapshot; says whether every byte is the same. Nothing is written.
#[utoipa::path(post, path = "/v1/invoices/{id}/recompute", tag = "invoices", operation_id = "recomputeInvoice",
    extensions(("x-refuses" = json!([422]))),
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`.")),
    responses((status = 200, description = "The comparison.", body = PaperRecomputed)))]
pub async fn recompute_invoice(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    let (paper, _) = invoice(&papers::stored(&row.inputs)?)?;
    reply::json(StatusCode::OK, &PaperRecomputed::of(&row, &paper, paper.total)?)
}

/// A file that somebody pays from does not leave for what nobody owes.
fn void_demands_nothing(row: &PaperRow) -> Problem {
    let number = row.number.as_deref().unwrap_or_default();
    let on = contracts::decided_on(row).map_or_else(String::new, |day| format!(" on {day}"));
    let detail = format!(
        "invoice {number} was voided{on} and asks for nothing any more, so it leaves as no file; `GET /v1/invoices/{}` has what it \
         said and why it was voided",
        row.id
    );
    Problem::new(problem::STATE_CONFLICT, detail)
}

/// Get an invoice as UBL
///
/// A UBL 2.1 `Invoice`; its payable amount is what is asked for. A voided invoice asks for nothing and is refused with 409: UBL
/// has no mark for it.
#[utoipa::path(get, path = "/v1/invoices/{id}/ubl", tag = "invoices", operation_id = "getInvoiceUbl",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`.")),
    responses((status = 200, description = "The file.", body = String, content_type = "application/xml")))]
pub async fn get_invoice_ubl(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    if papers::state_of(&row)? == PaperState::Voided {
        return Err(void_demands_nothing(&row));
    }
    let inputs: InvoiceInputs = papers::stored(&row.inputs)?;
    let (paper, _) = invoice(&inputs)?;
    papers::same(&row, &paper)?;
    let rules: Vec<TaxRule> = inputs.account.taxes.iter().map(|t| t.rule.clone()).collect();
    let taxes = Taxes { rules: &rules, scheme: inputs.tax_scheme };
    let bytes =
        ubl::invoice::invoice(&paper, &row.job_id, taxes).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(papers::xml(&row, bytes))
}
