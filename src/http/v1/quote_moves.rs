//! What becomes of a quote: accepted, declined, expired, withdrawn, superseded.

use super::contracts;
use super::missing;
use super::paper_moves::{Begun, Moving, begin, closing, taken_up};
use super::papers::{self, json_text, last_day};
use super::quotes::{QuoteOut, changed, drafted, made, new_draft, read};
use crate::app::AppState;
use crate::compute::contract::accept::{accept, check_closing, check_expiry, taken_estimate};
use crate::compute::contract::fold;
use crate::compute::contract::moves::{Move, PaperKind};
use crate::http::auth::{Caller, may};
use crate::http::extract::Body;
use crate::http::problem::Problem;
use crate::http::reply::{Asked, Opened, Reply};
use crate::store::papers::PaperRow;
use crate::wire::contract::inputs::{ChangeInputs, QuoteInputs};
use crate::wire::contract::requests::{AcceptIn, CloseIn, SupersedeIn};
use crate::wire::day::Day;
use axum::extract::{Path, State};
use axum::response::Response;

/// Accept a quote
///
/// The customer's yes, with the options taken. The job has a contract from here on; it is changed by change orders. The job is
/// marked as accepted on the estimate taken (`GET /v1/jobs/{id}/acceptance`); a mark set by hand gives way to it.
#[utoipa::path(post, path = "/v1/quotes/{id}/accept", tag = "quotes", operation_id = "acceptQuote",
    request_body(content = AcceptIn, example = json!({"by": "Example Household", "on": "2026-03-08", "additions": ["spare"]})),
    params(("id" = String, Path, description = "Id of the quote, `quo_…`."),
        ("If-Match" = String, Header, description = "ETag of the quote, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 200, description = "The quote.", body = QuoteOut,
        headers(("ETag" = String, description = "For `If-Match`.")))))]
pub async fn accept_quote(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<AcceptIn>,
) -> Result<Response, Problem> {
    let moving = match begin(&state, &caller, &asked, &bytes, &id, (PaperKind::Quote, Move::Accept)).await? {
        Begun::Replay(response) => return Ok(response),
        Begun::Fresh(moving) => moving,
    };
    let Moving { mut session, row, to } = *moving;
    let inputs: QuoteInputs = papers::stored(&row.inputs)?;
    let components = accept(&inputs, &document, last_day(&state)?)?;
    let contract = fold::total(&components);
    let mut decision = serde_json::to_value(&document).map_err(|e| Problem::internal(e.to_string()))?;
    if let Some(members) = decision.as_object_mut() {
        members.insert("contract".to_owned(), serde_json::json!(contract));
    }
    let effect = json_text(&components)?;
    session
        .write
        .decide_paper(&id, row.row_version, to.word(), &decision.to_string(), Some(&effect))
        .await
        .map_err(contracts::one_contract)?;
    session.write.touch_ledger(&row.job_id).await?;
    // What happens on the job is recorded against the estimate the customer took; a mark set by hand gives way to it.
    let taken = taken_estimate(&inputs, document.alternate.as_ref());
    let before = session.write.acceptance(&row.job_id).await?;
    session
        .write
        .set_acceptance(&row.job_id, taken.as_str(), &document.on.to_string(), &row.id, before)
        .await?;
    let after = papers::read_back(&mut session, &id).await?;
    papers::audit(&mut session, "accept", &row, &after, serde_json::json!({"decision": decision})).await?;
    session.finish(changed(after)?).await
}

/// When a quote or change order was issued, and until when a quote can be accepted.
fn dates(row: &PaperRow) -> Result<(Option<Day>, Option<Day>), Problem> {
    if row.kind == PaperKind::Quote.word() {
        let inputs: QuoteInputs = papers::stored(&row.inputs)?;
        return Ok((inputs.issued_on, Some(inputs.terms.valid_until)));
    }
    let inputs: ChangeInputs = papers::stored(&row.inputs)?;
    Ok((inputs.issued_on, None))
}

/// A paper closed some other way than by a yes.
pub(crate) async fn close<S>(
    state: &AppState,
    caller: &Caller<S>,
    asked: &Asked,
    id: &str,
    (kind, by): (PaperKind, Move),
    Body { document, bytes }: Body<CloseIn>,
    answer: fn(PaperRow) -> Result<Reply, Problem>,
) -> Result<Response, Problem> {
    let moving = match begin(state, caller, asked, &bytes, id, (kind, by)).await? {
        Begun::Replay(response) => return Ok(response),
        Begun::Fresh(moving) => moving,
    };
    let Moving { mut session, row, to } = *moving;
    let (issued_on, valid_until) = dates(&row)?;
    let mut faults = check_closing(document.on, issued_on, last_day(state)?, kind, to);
    if let Some(until) = valid_until.filter(|_| by == Move::Expire) {
        faults = faults.and::<()>(&Err(check_expiry(document.on, until)));
    }
    if !faults.is_empty() {
        return Err(faults.into());
    }
    let decision = json_text(&document)?;
    session.write.decide_paper(id, row.row_version, to.word(), &decision, None).await?;
    let after = papers::read_back(&mut session, id).await?;
    papers::audit(&mut session, by.word(), &row, &after, serde_json::json!({"decision": document})).await?;
    session.finish(answer(after)?).await
}

closing! {
    Quote, QuoteOut, "quotes", "Id of the quote, `quo_…`.", "ETag of the quote, or `*`.", "The quote.";
    decline_quote,
    Decline,
    "/v1/quotes/{id}/decline",
    "declineQuote",
    "Decline a quote",
    "The customer's no.",
    { "on": "2026-03-05", "by": "Example Household", "reason": "Asked to think it over until summer." };
    expire_quote,
    Expire,
    "/v1/quotes/{id}/expire",
    "expireQuote",
    "Let a quote expire",
    "Its time is over: the date is after the last one on which it could be accepted, and has come at the office.",
    { "on": "2026-04-01", "reason": "No answer by the last day." };
    withdraw_quote,
    Withdraw,
    "/v1/quotes/{id}/withdraw",
    "withdrawQuote",
    "Withdraw a quote",
    "The office takes it back, or drops a draft.",
    { "on": "2026-03-04", "reason": "The swale is not on the customer's land." };
}

/// Supersede a quote
///
/// It can no longer be accepted; a new draft with its terms takes its place.
#[utoipa::path(post, path = "/v1/quotes/{id}/supersede", tag = "quotes", operation_id = "supersedeQuote",
    request_body(content = SupersedeIn, example = json!({"on": "2026-03-05", "valid_until": "2026-04-30", "reason": "More time was asked for."})),
    params(("id" = String, Path, description = "Id of the quote, `quo_…`."),
        ("If-Match" = String, Header, description = "ETag of the quote, or `*`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The new draft.", body = QuoteOut,
        headers(("Location" = String, description = "Path of the new draft."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn supersede_quote(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<SupersedeIn>,
) -> Result<Response, Problem> {
    let before = read(&state, &id).await?;
    let job = state.inner.store.job(&before.job_id).await?.ok_or_else(|| missing("job"))?;
    let old: QuoteInputs = papers::stored(&before.inputs)?;
    let mut terms = old.terms;
    if let Some(estimate) = &document.estimate_id {
        terms.estimate_id = estimate.clone();
    }
    if let Some(until) = document.valid_until {
        terms.valid_until = until;
    }
    let inputs = drafted(&state, &job, terms, old.number).await;
    let mut session = match asked.open_keyed(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let (row, to) = taken_up(&mut session, &asked, &id, (PaperKind::Quote, Move::Supersede)).await?;
    let (issued_on, _) = dates(&row)?;
    let faults = check_closing(document.on, issued_on, last_day(&state)?, PaperKind::Quote, to);
    if !faults.is_empty() {
        return Err(faults.into());
    }
    let draft = new_draft(&row.job_id, &inputs?, Some(id.clone()))?;
    let mut decision = serde_json::to_value(&document).map_err(|e| Problem::internal(e.to_string()))?;
    // who declined it or let it expire stays on the paper
    if let (Some(members), Some(earlier)) = (decision.as_object_mut(), &row.decision) {
        let earlier =
            serde_json::from_str(earlier).map_err(|e| Problem::internal(format!("stored decision: {e}")))?;
        members.insert("earlier".to_owned(), earlier);
    }
    let decision = decision.to_string();
    session.write.decide_paper(&id, row.row_version, to.word(), &decision, None).await?;
    let after = papers::read_back(&mut session, &id).await?;
    let by = serde_json::json!({"decision": document, "superseded_by": draft.id});
    papers::audit(&mut session, "supersede", &row, &after, by).await?;
    let new = papers::put(&mut session, draft).await?;
    session.finish(made(new)?).await
}
