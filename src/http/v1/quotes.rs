//! Quotes: written from an estimate, issued, decided.

use super::contracts;
use super::paper_moves::{Begun, Moving, begin, taken_up};
use super::papers::{self, PaperFacts, PaperPage, PaperRecomputed, estimate_fact, json_text, of_kind};
use super::{missing, with_link};
use crate::app::AppState;
use crate::compute::contract::accept::check_quote_issue;
use crate::compute::contract::issuing;
use crate::compute::contract::moves::{Move, PaperKind, PaperState};
use crate::compute::contract::quote::{QuoteDocument, quote};
use crate::documents::ubl::{Taxes, quotation};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params, Patch, etag, patched};
use crate::http::page::{self, Cursor, cut};
use crate::http::problem::Problem;
use crate::http::reply::{self, Asked, Opened, Reply, Session};
use crate::store::jobs::JobRow;
use crate::store::papers::{NewPaper, PaperRow, Rewritten};
use crate::wire::changes::changes;
use crate::wire::contract::inputs::{AlternateFact, QuoteInputs};
use crate::wire::contract::requests::IssueIn;
use crate::wire::contract::terms::QuoteTerms;
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{At, Faults, Label, List};
use axum::extract::{OriginalUri, Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// A quote with the terms it was written with.
#[derive(Debug, Serialize, ToSchema)]
pub struct QuoteOut {
    /// Its facts.
    #[serde(flatten)]
    pub facts: PaperFacts,
    /// The quote, byte for byte as it was made.
    #[schema(value_type = QuoteDocument)]
    pub document: Box<serde_json::value::RawValue>,
    /// Its terms; a merge patch changes them while it is a draft.
    #[schema(value_type = QuoteTerms)]
    pub terms: QuoteTerms,
}

fn with_terms(row: PaperRow) -> Result<QuoteOut, Problem> {
    let inputs: QuoteInputs = papers::stored(&row.inputs)?;
    let facts = PaperFacts::of(&row)?;
    Ok(QuoteOut { facts, document: papers::raw_json(row.document)?, terms: inputs.terms })
}

/// The snapshot of a draft: every estimate it names, looked up.
pub(crate) async fn drafted(
    state: &AppState,
    job: &JobRow,
    terms: QuoteTerms,
    supersedes: Option<Label>,
) -> Result<QuoteInputs, Problem> {
    let mut faults = Faults::new();
    let root = At::ROOT;
    let unknown = "this job has no estimate of this id";
    let estimate = estimate_fact(state, &job.id, terms.estimate_id.as_str()).await?;
    if estimate.is_none() {
        faults.value(&root.member("estimate_id"), "unknown_estimate", terms.estimate_id.as_str(), unknown);
    }
    let mut alternates = Vec::new();
    let list = root.member("alternates");
    for (i, alternate) in terms.alternates.iter().enumerate() {
        let id = alternate.estimate_id.as_str();
        match estimate_fact(state, &job.id, id).await? {
            Some(estimate) => alternates.push(AlternateFact { code: alternate.code.clone(), estimate }),
            None => {
                faults.value(&list.element(i).member("estimate_id"), "unknown_estimate", id, unknown);
            }
        }
    }
    match (estimate, List::new(alternates)) {
        (Some(estimate), Some(alternates)) if faults.is_empty() => Ok(QuoteInputs {
            number: None,
            issued_on: None,
            supersedes,
            job: papers::job_fact(job)?,
            terms,
            estimate,
            names_once: Flag(true),
            scheme_by_country: Flag(true),
            alternates,
        }),
        _ => Err(faults.into()),
    }
}

pub(crate) fn new_draft(job_id: &str, inputs: &QuoteInputs, of: Option<String>) -> Result<NewPaper, Problem> {
    let document = quote(inputs)?;
    Ok(NewPaper {
        id: papers::paper_id(PaperKind::Quote),
        job_id: job_id.to_owned(),
        kind: PaperKind::Quote.word(),
        number: None,
        state: PaperState::Draft.word(),
        estimate_id: Some(inputs.estimate.estimate_id.to_string()),
        of_paper: of,
        inputs: json_text(inputs)?,
        document: json_text(&document)?,
        effect: None,
        total_minor: document.offer.total.minor(),
        payable_minor: 0,
    })
}

pub(crate) fn changed(row: PaperRow) -> Result<Reply, Problem> {
    Reply::changed(etag(&row.id, row.row_version), &with_terms(row)?)
}

pub(crate) fn made(row: PaperRow) -> Result<Reply, Problem> {
    let location = format!("/v1/quotes/{}", row.id);
    Reply::created(location, etag(&row.id, row.row_version), &with_terms(row)?)
}

/// Write a quote
///
/// A draft from an estimate of the job. Lines, schedule, alternates and additions foot; nothing is promised until it is issued.
#[utoipa::path(post, path = "/v1/jobs/{id}/quotes", tag = "quotes", operation_id = "createQuote",
    request_body(content = QuoteTerms, example = json!({
        "estimate_id": "est_01m897fr4tg228nh8rx6b596wb",
        "seller": {"name": "Example Drainage", "street": "2 Quarry Road", "city": "Millbrook", "country": "US"},
        "valid_until": "2026-03-31",
        "scope": "Channel drains in the drive and along the garden path, with the pipe to the swale.",
        "schedule": [
            {"code": "deposit", "name": "On signing", "due": "deposit", "pct": "30"},
            {"code": "poured", "name": "Channel set in concrete", "due": "progress", "pct": "40"},
            {"code": "done", "name": "On completion", "due": "completion", "pct": "30"}],
        "retainage": {"pct": "10"},
        "additions": [{"code": "spare", "name": "Spare grate", "category": "material", "price": "95.00"}]})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The draft.", body = QuoteOut,
        headers(("Location" = String, description = "Path of the quote."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn create_quote(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<QuoteTerms>,
) -> Result<Response, Problem> {
    let job = state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let inputs = drafted(&state, &job, document, None).await;
    // A repeat is answered from the first even when the estimate could not be read any more.
    let mut session = match asked.open_keyed(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let row = papers::put(&mut session, new_draft(&id, &inputs?, None)?).await?;
    session.finish(made(row)?).await
}

/// List quotes
///
/// Of one job, newest first, without their content.
#[utoipa::path(get, path = "/v1/jobs/{id}/quotes", tag = "quotes", operation_id = "listQuotes",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("number" = Option<String>, Query, description = "Exactly the number on the paper, such as `Q-0001`.", min_length = 1, max_length = 200),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = PaperPage)))]
pub async fn list_quotes(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    list(&state, &id, [PaperKind::Quote, PaperKind::Quote], &uri, &params).await
}

/// Papers of a job of two kinds.
pub(crate) async fn list(
    state: &AppState,
    job_id: &str,
    kinds: [PaperKind; 2],
    uri: &axum::http::Uri,
    params: &Params,
) -> Result<Response, Problem> {
    let kinds = kinds.map(PaperKind::word);
    let secret = &state.inner.cursor_secret;
    let number = params.line("number");
    // Which list a cursor belongs to can be said only where the number can be read. Clients hold cursors of the list of all: its name stays.
    let list = number.as_ref().ok().map(|number| match number {
        None => format!("papers {job_id} {kinds:?}"),
        Some(number) => format!("papers {job_id} {kinds:?} {number:?}"),
    });
    let after = match &list {
        Some(list) => Cursor::read(params, secret, list),
        None => Cursor::formed(params).map(|()| None),
    };
    let (number, limit, after) =
        params.all(&["number", "limit", "cursor"], (number, page::limit(params), after))?;
    let list = list.unwrap_or_default();
    let store = &state.inner.store;
    store.job(job_id).await?.ok_or_else(|| missing("job"))?;
    let mut rows =
        store.paper_list(job_id, kinds, number.as_deref(), after.map(|c| c.key), limit + 1).await?;
    let next_cursor = cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.place, id: String::new() });
    let items = rows.iter().map(PaperFacts::of).collect::<Result<_, _>>()?;
    let page = PaperPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, uri, page.next_cursor.as_deref()))
}

pub(crate) async fn read(state: &AppState, id: &str) -> Result<PaperRow, Problem> {
    of_kind(state.inner.store.paper(id).await?, PaperKind::Quote)
}

/// Get a quote
///
/// With its terms. Once issued, the same bytes for ever.
#[utoipa::path(get, path = "/v1/quotes/{id}", tag = "quotes", operation_id = "getQuote",
    params(("id" = String, Path, description = "Id of the quote, `quo_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The quote.", body = QuoteOut,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_quote(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    reply::record(&headers, &etag(&row.id, row.row_version), &with_terms(row)?)
}

/// Edit a draft
///
/// A merge patch (RFC 7396) of the terms. The estimate named is read anew, and so are customer, site and title of the job. Where the
/// draft is the same then, it is answered as it is, under the ETag it has.
#[utoipa::path(patch, path = "/v1/quotes/{id}", tag = "quotes", operation_id = "editQuote",
    request_body(content = QuoteTerms, content_type = "application/merge-patch+json", example = json!({"scope": "Drive only."})),
    params(("id" = String, Path, description = "Id of the quote, `quo_…`."),
        ("If-Match" = String, Header, description = "ETag of the quote, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = Option<String>, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The draft.", body = QuoteOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn edit_quote(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Patch { value, bytes }: Patch,
) -> Result<Response, Problem> {
    asked.check_query()?;
    let before = read(&state, &id).await?;
    let job = state.inner.store.job(&before.job_id).await?.ok_or_else(|| missing("job"))?;
    let old: QuoteInputs = papers::stored(&before.inputs)?;
    let as_json =
        |terms: &QuoteTerms| serde_json::to_value(terms).map_err(|e| Problem::internal(e.to_string()));
    let terms_before = as_json(&old.terms)?;
    let inputs = match patched::<QuoteTerms>(&terms_before, &value) {
        Ok(terms) => drafted(&state, &job, terms, old.supersedes).await,
        Err(faults) => Err(faults.into()),
    };
    let mut session = match asked.open(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let (row, _) = taken_up(&mut session, &asked, &id, (PaperKind::Quote, Move::Edit)).await?;
    let new = new_draft(&row.job_id, &inputs?, None)?;
    let is_as_read = row.row_version == before.row_version;
    if is_as_read && row.inputs == new.inputs && row.document == new.document {
        return session.finish(changed(row)?).await;
    }
    // What was merged with is what is there now, or the change is refused.
    let new = Rewritten {
        number: None,
        state: PaperState::Draft.word(),
        estimate_id: new.estimate_id,
        inputs: new.inputs,
        document: new.document,
        effect: None,
        total_minor: new.total_minor,
    };
    session.write.write_paper(&id, before.row_version, &new).await?;
    let after = papers::read_back(&mut session, &id).await?;
    let terms_after = as_json(&papers::stored::<QuoteInputs>(&after.inputs)?.terms)?;
    papers::audit(&mut session, "edit", &row, &after, changes(&terms_before, &terms_after)).await?;
    session.finish(changed(after)?).await
}

/// When the quote was issued whose place this one takes.
async fn replaced_on(session: &mut Session, row: &PaperRow) -> Result<Option<Day>, Problem> {
    let Some(id) = &row.of_paper else { return Ok(None) };
    let other = papers::read_back(session, id).await?;
    Ok(papers::stored::<QuoteInputs>(&other.inputs)?.issued_on)
}

/// Issue a quote
///
/// It gets its number and is frozen, with the customer, the site and the title of the job as they were when the draft was last
/// written: `PATCH` it, also with `{}`, to take them anew. It never changes afterwards; invoices and change orders have those of the job
/// as it is when they are made. Its date is not to come.
/// A quote that takes the place of another is not dated before that one was issued. Where checks of its estimate or of an alternate
/// failed, it is issued only when that is confirmed by `failed_checks`.
/// A job that has an accepted quote gets no other: its contract is changed by change orders.
#[utoipa::path(post, path = "/v1/quotes/{id}/issue", tag = "quotes", operation_id = "issueQuote",
    request_body(content = IssueIn, example = json!({"on": "2026-03-01"})),
    params(("id" = String, Path, description = "Id of the quote, `quo_…`."),
        ("If-Match" = String, Header, description = "ETag of the quote, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The quote.", body = QuoteOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn issue_quote(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<IssueIn>,
) -> Result<Response, Problem> {
    let moving = match begin(&state, &caller, &asked, &bytes, &id, (PaperKind::Quote, Move::Issue)).await? {
        Begun::Replay(response) => return Ok(response),
        Begun::Fresh(moving) => moving,
    };
    let Moving { mut session, row, to } = *moving;
    let mut inputs: QuoteInputs = papers::stored(&row.inputs)?;
    let number = papers::number(&mut session, PaperKind::Quote, &row.job_id).await?;
    inputs.number = Label::new(&number);
    inputs.issued_on = Some(document.on);
    let replaced = replaced_on(&mut session, &row).await?;
    let faults = check_quote_issue(document.on, &inputs, papers::last_day(&state)?)
        .and::<()>(&Err(issuing::check_quote(&document, &inputs, replaced)));
    if !faults.is_empty() {
        return Err(faults.into());
    }
    // The customer's yes to it would be refused.
    if contracts::accepted_quote(&session.write.papers(&row.job_id).await?).is_some() {
        return Err(contracts::under_contract());
    }
    let paper = quote(&inputs)?;
    let new = Rewritten {
        number: Some(number),
        state: to.word(),
        estimate_id: row.estimate_id.clone(),
        inputs: json_text(&inputs)?,
        document: json_text(&paper)?,
        effect: None,
        total_minor: paper.offer.total.minor(),
    };
    session.write.write_paper(&id, row.row_version, &new).await?;
    let after = papers::read_back(&mut session, &id).await?;
    papers::audit(
        &mut session,
        "issue",
        &row,
        &after,
        papers::confirmed(&document, issuing::quote_has_failed(&inputs)),
    )
    .await?;
    session.finish(changed(after)?).await
}

/// Recompute a quote
///
/// From its snapshot; says whether every byte is the same. Nothing is written.
#[utoipa::path(post, path = "/v1/quotes/{id}/recompute", tag = "quotes", operation_id = "recomputeQuote",
    extensions(("x-refuses" = json!([422]))),
    params(("id" = String, Path, description = "Id of the quote, `quo_…`.")),
    responses((status = 200, description = "The comparison.", body = PaperRecomputed)))]
pub async fn recompute_quote(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    let paper = quote(&papers::stored(&row.inputs)?)?;
    reply::json(StatusCode::OK, &PaperRecomputed::of(&row, &paper, paper.offer.total)?)
}

/// Get a quote as UBL
///
/// A UBL 2.1 `Quotation`. A draft leaves as no file.
#[utoipa::path(get, path = "/v1/quotes/{id}/ubl", tag = "quotes", operation_id = "getQuoteUbl",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the quote, `quo_…`.")),
    responses((status = 200, description = "The file.", body = String, content_type = "application/xml")))]
pub async fn get_quote_ubl(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    papers::need_issued(&row)?;
    let inputs: QuoteInputs = papers::stored(&row.inputs)?;
    let taxes = Taxes { rules: &inputs.estimate.tax_rules, scheme: inputs.tax_scheme() };
    let paper = quote(&inputs)?;
    papers::same(&row, &paper)?;
    let bytes = quotation::quote(&paper, taxes).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(papers::xml(&row, bytes))
}
