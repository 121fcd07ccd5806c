//! Change orders: the contract of a job changed.

use super::contracts;
use super::papers::{self, PaperPage, PaperRecomputed, estimate_fact, json_text, of_kind, paper_out};
use super::quotes::list;
use super::{book, estimated, missing, rains, stored_notes};
use crate::app::AppState;
use crate::compute::ENGINE;
use crate::compute::contract::change::{ChangeDocument, beyond_contract, change};
use crate::compute::contract::fold::Contract;
use crate::compute::contract::moves::{PaperKind, PaperState};
use crate::documents::ubl::{Taxes, quotation};
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params, etag};
use crate::http::problem::Problem;
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::store::estimates::EstimateRow;
use crate::store::papers::{NewPaper, PaperRow};
use crate::wire::contract::Signed;
use crate::wire::contract::facts::{EstimateFact, JobFact};
use crate::wire::contract::inputs::ChangeInputs;
use crate::wire::contract::requests::{ChangeBasis, ChangeIn};
use crate::wire::scalar::Flag;
use crate::wire::{At, Faults, List, Whole};
use axum::extract::{OriginalUri, Path, State};
use axum::http::HeaderMap;
use axum::http::StatusCode;
use axum::response::Response;
use std::sync::Arc;

paper_out! {
    /// A change order.
    ChangeOut of ChangeDocument
}

pub(super) fn changed(row: PaperRow) -> Result<Reply, Problem> {
    Reply::changed(etag(&row.id, row.row_version), &ChangeOut::of(row)?)
}

fn drafted(
    contract: &Contract,
    request: ChangeIn,
    to: Option<EstimateFact>,
    (at_old_prices, from_anew): (Option<EstimateFact>, Option<EstimateFact>),
    (job, quoted): (JobFact, Option<JobFact>),
) -> Result<ChangeInputs, Problem> {
    let quote = &contract.quote;
    let hours = quote.terms.crew_hours_per_day.or_else(|| Whole::new(8));
    let taken = List::new(contract.taken().map(|(code, _)| code).collect());
    let (Some(number), Some(hours), Some(taken)) = (quote.number.clone(), hours, taken) else {
        return Err(Problem::internal("an accepted quote without a number"));
    };
    Ok(ChangeInputs {
        number: None,
        code: None,
        issued_on: None,
        job,
        seller: quote.terms.seller.clone(),
        quote: number,
        currency: quote.estimate.currency,
        tax_scheme: quote.tax_scheme(),
        request,
        from: contract.standing.clone(),
        // By line nothing is priced from a book.
        names_books: Flag(to.is_some()),
        weighs_engines: Flag(to.is_some()),
        to,
        at_old_prices,
        from_anew,
        taken,
        tax_rules: quote.estimate.tax_rules.clone(),
        contract_before: Signed(contract.total()),
        crew_hours_per_day: hours,
        quoted,
    })
}

/// The changed layout at the prices of the revision that the contract of the job stands on. None where both are priced from one version,
/// where the layout cannot be priced from that one, or where another engine made one of them.
async fn at_old_prices(
    state: &AppState,
    standing: &EstimateFact,
    to: &EstimateFact,
) -> Result<Option<EstimateFact>, Problem> {
    let store = &state.inner.store;
    let old = &standing.price_book_version_id;
    let engines = [&standing.engine, &to.engine];
    if *old == to.price_book_version_id || engines.iter().any(|engine| engine.as_str() != ENGINE) {
        return Ok(None);
    }
    let row = store.estimate(to.estimate_id.as_str()).await?.ok_or_else(|| missing("estimate"))?;
    reckoned(state, &row, old.as_str()).await
}

/// The revision that the contract of the job stands on, by the engine of the changed layout. None where that made both, or where the
/// revision cannot be reckoned by it.
async fn by_its_engine(
    state: &AppState,
    standing: &EstimateFact,
    to: &EstimateFact,
) -> Result<Option<EstimateFact>, Problem> {
    let store = &state.inner.store;
    if standing.engine == to.engine || to.engine.as_str() != ENGINE {
        return Ok(None);
    }
    let row = store.estimate(standing.estimate_id.as_str()).await?.ok_or_else(|| missing("estimate"))?;
    reckoned(state, &row, standing.price_book_version_id.as_str()).await
}

/// What of a change must be reckoned before its transaction: the changed layout at the old prices, and the revision the contract
/// stands on by the engine of the changed layout.
async fn beforehand(
    state: &AppState,
    job: &str,
    to: &EstimateFact,
) -> Result<(Option<EstimateFact>, Option<EstimateFact>), Problem> {
    let papers = state.inner.store.papers(job).await?;
    let Some((_, contract)) = contracts::contract(&papers)? else { return Ok((None, None)) };
    let standing = &contract.standing;
    Ok((at_old_prices(state, standing, to).await?, by_its_engine(state, standing, to).await?))
}

/// The notes of an estimate priced from a version today; none where they cannot be.
async fn reckoned(
    state: &AppState,
    row: &EstimateRow,
    version: &str,
) -> Result<Option<EstimateFact>, Problem> {
    let Ok(notes) = stored_notes(&row.notes) else { return Ok(None) };
    let notes = Arc::new(notes);
    let loaded = book(state, Some(version)).await?;
    let rains = rains(state, Some(&notes)).await?;
    match estimated(state, &notes, &loaded, rains).await? {
        Ok(estimate) => Ok(papers::fact_of(row, version, &estimate, &loaded.0).ok()),
        Err(_) => Ok(None),
    }
}

/// Write a change order
///
/// From the estimate of a changed layout (the difference to the revision the contract stands on, in quantities, hours, price
/// and days), or by line. A draft until it is issued. Credits are negative. Where the changed layout is priced from another
/// price-book version than the contract, the prices of the whole job move with it: the paper names both versions, warns, and says how
/// much the layout and how much the prices make. Where another engine made the revision the contract stands on, that revision is
/// reckoned anew first, so that what the engines reckon otherwise is not sold as changed work. It names customer, site and title as
/// the job has them when it is written; where the quote has them otherwise, `document.warnings` says so to the office
/// (`other_than_quoted`).
#[utoipa::path(post, path = "/v1/jobs/{id}/change-orders", tag = "change orders", operation_id = "createChangeOrder",
    request_body(content = ChangeIn, example = json!({"title": "Second outlet box in the path",
        "reason": "Water stands at the gate; agreed on site.",
        "basis": {"kind": "lines", "lines": [
            {"code": "outlet-box", "description": "Outlet box with grate", "category": "material", "price": "180.00",
                "cost": "121.50", "quantity": {"value": "1", "unit": "each"}},
            {"code": "outlet-box-labor", "description": "Dig for it and set it", "category": "labor", "price": "150.00",
                "cost": "102.47", "crew_hours": "1.5", "person_hours": "3"}]}})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The draft.", body = ChangeOut,
        headers(("Location" = String, description = "Path of the change order."), ("ETag" = String, description = "For `If-Match`.")))))]
pub async fn create_change_order(
    State(state): State<AppState>,
    caller: Caller<may::QuotesWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<ChangeIn>,
) -> Result<Response, Problem> {
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let to = match &document.basis {
        ChangeBasis::Lines { .. } => Ok(None),
        ChangeBasis::Revision { estimate_id } => {
            estimate_fact(&state, &id, estimate_id.as_str()).await?.map(Some).ok_or_else(|| {
                let mut faults = Faults::new();
                let at = At::ROOT.member("basis");
                let detail = "this job has no estimate of this id";
                faults.value(&at.member("estimate_id"), "unknown_estimate", estimate_id.as_str(), detail);
                Problem::from(faults)
            })
        }
    };
    let reckoned = match &to {
        Ok(Some(to)) => beforehand(&state, &id, to).await,
        _ => Ok((None, None)),
    };
    let mut session = match asked.open_keyed(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let rows = session.write.papers(&id).await?;
    let (quote_id, contract) = contracts::need_contract(&rows)?;
    // What was priced before the transaction holds for the contract it was priced for.
    let (old, anew) = reckoned?;
    let old = old.filter(|old| old.price_book_version_id == contract.standing.price_book_version_id);
    let anew = anew.filter(|anew| anew.estimate_id == contract.standing.estimate_id);
    let job = papers::job_now(&mut session, &id, &contract.quote.job).await?;
    let inputs = drafted(&contract, document, to?, (old, anew), job)?;
    let (paper, _) = change(&inputs)?;
    if let Some(detail) = beyond_contract(paper.contract_before, paper.total) {
        let mut faults = Faults::new();
        faults.add(&At::ROOT.member("basis"), "over_contract", detail);
        return Err(faults.into());
    }
    let new = NewPaper {
        id: papers::paper_id(PaperKind::ChangeOrder),
        job_id: id,
        kind: PaperKind::ChangeOrder.word(),
        number: None,
        state: PaperState::Draft.word(),
        estimate_id: paper.to_estimate_id.clone(),
        of_paper: Some(quote_id),
        inputs: json_text(&inputs)?,
        document: json_text(&paper)?,
        effect: None,
        total_minor: paper.total.minor(),
        payable_minor: 0,
    };
    let row = papers::put(&mut session, new).await?;
    let location = format!("/v1/change-orders/{}", row.id);
    let reply = Reply::created(location, etag(&row.id, row.row_version), &ChangeOut::of(row)?)?;
    session.finish(reply).await
}

/// List change orders
///
/// Of one job, newest first, without their content.
#[utoipa::path(get, path = "/v1/jobs/{id}/change-orders", tag = "change orders", operation_id = "listChangeOrders",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("number" = Option<String>, Query, description = "Exactly the number on the paper, such as `CO-1`.", min_length = 1, max_length = 200),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = PaperPage)))]
pub async fn list_change_orders(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    list(&state, &id, [PaperKind::ChangeOrder, PaperKind::ChangeOrder], &uri, &params).await
}

pub(super) async fn read(state: &AppState, id: &str) -> Result<PaperRow, Problem> {
    of_kind(state.inner.store.paper(id).await?, PaperKind::ChangeOrder)
}

/// Get a change order
///
/// Once issued, the same bytes for ever.
#[utoipa::path(get, path = "/v1/change-orders/{id}", tag = "change orders", operation_id = "getChangeOrder",
    params(("id" = String, Path, description = "Id of the change order, `chg_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The change order.", body = ChangeOut,
        headers(("ETag" = String, description = "For `If-Match`."))), (status = 304, description = "Not modified.")))]
pub async fn get_change_order(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    reply::record(&headers, &etag(&row.id, row.row_version), &ChangeOut::of(row)?)
}

/// Recompute a change order
///
/// From its snapshot; says whether every byte is the same. Nothing is written.
#[utoipa::path(post, path = "/v1/change-orders/{id}/recompute", tag = "change orders", operation_id = "recomputeChangeOrder",
    extensions(("x-refuses" = json!([422]))),
    params(("id" = String, Path, description = "Id of the change order, `chg_…`.")),
    responses((status = 200, description = "The comparison.", body = PaperRecomputed)))]
pub async fn recompute_change_order(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    let (paper, _) = change(&papers::stored(&row.inputs)?)?;
    reply::json(StatusCode::OK, &PaperRecomputed::of(&row, &paper, paper.total)?)
}

/// Get a change order as UBL
///
/// A UBL 2.1 `Quotation` that names the first. A draft leaves as no file.
#[utoipa::path(get, path = "/v1/change-orders/{id}/ubl", tag = "change orders", operation_id = "getChangeOrderUbl",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the change order, `chg_…`.")),
    responses((status = 200, description = "The file.", body = String, content_type = "application/xml")))]
pub async fn get_change_order_ubl(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = read(&state, &id).await?;
    papers::need_issued(&row)?;
    let inputs: ChangeInputs = papers::stored(&row.inputs)?;
    let (paper, _) = change(&inputs)?;
    papers::same(&row, &paper)?;
    let taxes = Taxes { rules: &inputs.tax_rules, scheme: inputs.tax_scheme };
    let bytes = quotation::change_order(&paper, taxes).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(papers::xml(&row, bytes))
}
