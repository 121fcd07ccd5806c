//! Papers and sheets as pages to read and to print.

use super::{change_orders, contracts, credit_notes, invoices, job_orders, order_files, papers, quotes};
use crate::app::AppState;
use crate::compute::contract::moves::PaperState;
use crate::compute::contract::{change, credit, invoice, quote};
use crate::documents::print::estimate::{Shown, estimate};
use crate::documents::print::frame::CONTENT_SECURITY_POLICY;
use crate::documents::print::site::site_sheet;
use crate::documents::print::{self, Standing};
use crate::http::auth::{Caller, may};
use crate::http::extract::Params;
use crate::http::problem::Problem;
use crate::http::reply::{self, Disposition};
use crate::store::papers::PaperRow;
use crate::units::Amount;
use crate::wire::contract::inputs::{ChangeInputs, CreditInputs, InvoiceInputs};
use crate::wire::day::Day;
use crate::wire::{Faults, Wire};
use axum::extract::{Path, State};
use axum::http::{HeaderValue, header};
use axum::response::Response;
use serde::Serialize;
use serde_json::Value;

/// A page that is shown, and saved as `{name}.html`.
fn shown(name: &str, page: String) -> Response {
    let name = format!("{name}.html");
    let mut response =
        reply::private(reply::file("text/html; charset=utf-8", Disposition::Inline, &name, page));
    let policy = HeaderValue::from_static(CONTENT_SECURITY_POLICY);
    response.headers_mut().insert(header::CONTENT_SECURITY_POLICY, policy);
    response
}

/// Where a paper stands, and what is known of how it came there.
fn standing(row: &PaperRow, state: &AppState) -> Result<Standing, Problem> {
    let decision = contracts::decision(row);
    Ok(Standing {
        state: papers::state_of(row)?,
        on: decision.day(),
        by: decision.text("by"),
        taken: decision.taken(),
        contract: decision.contract(),
        stages: Vec::new(),
        paid: Amount::from_minor(row.paid_minor),
        credited: Amount::from_minor(row.credited_minor),
        today: Day::of(state.today()),
    })
}

/// The page of a paper, made from its snapshot; it says what the paper says, or is not written.
fn printed<I: Wire, P: Serialize>(
    state: &AppState,
    row: &PaperRow,
    make: impl FnOnce(&I) -> Result<P, Faults>,
    render: impl FnOnce(&P, &I, Standing) -> Result<String, Problem>,
) -> Result<Response, Problem> {
    let inputs = papers::stored(&row.inputs)?;
    let paper = make(&inputs)?;
    papers::same(row, &paper)?;
    Ok(shown(&papers::file_name(row), render(&paper, &inputs, standing(row, state)?)?))
}

/// The page of a quote; of an accepted one with the stages of all that was taken.
fn quote_page(row: &PaperRow, state: &AppState) -> Result<Response, Problem> {
    printed(state, row, quote::quote, |paper, inputs, standing| {
        let accepted = row.effect.as_deref().filter(|_| standing.state == PaperState::Accepted);
        let taken: contracts::Components = accepted.map(papers::stored).transpose()?.unwrap_or_default();
        let stages = if taken.is_empty() { Vec::new() } else { quote::agreed_schedule(inputs, &taken) };
        Ok(print::quote::quote(paper, inputs, &Standing { stages, ..standing }))
    })
}

/// Print a quote
///
/// A page of HTML to read, print and sign: one file with its style, without script, and nothing from elsewhere. It says where the
/// quote stands: a draft, and one that was taken back, cannot be mistaken for an offer. A draft also lists checks that failed, for the office.
#[utoipa::path(get, path = "/v1/quotes/{id}/print", tag = "quotes", operation_id = "printQuote",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the quote, `quo_…`.")),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html")))]
pub async fn print_quote(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = quotes::read(&state, &id).await?;
    quote_page(&row, &state)
}

/// Print a change order
///
/// As a quote is printed: lines, taxes, what changes in plain words, how far the end of the work moves, the contract before and after, and where to
/// sign. Hours and what the office reckons by are not on it.
#[utoipa::path(get, path = "/v1/change-orders/{id}/print", tag = "change orders", operation_id = "printChangeOrder",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the change order, `chg_…`.")),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html")))]
pub async fn print_change_order(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = change_orders::read(&state, &id).await?;
    let make = |inputs: &ChangeInputs| Ok(change::change(inputs)?.0);
    printed(&state, &row, make, |paper, _, standing| Ok(print::change_order::change_order(paper, &standing)))
}

/// Print an invoice
///
/// As a quote is printed: lines with what was billed before, taxes, retainage, what is to be paid by when and what of it is left to pay, and how the
/// account stands. A voided one says so.
#[utoipa::path(get, path = "/v1/invoices/{id}/print", tag = "invoices", operation_id = "printInvoice",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the invoice, `inv_…`.")),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html")))]
pub async fn print_invoice(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = invoices::read(&state, &id).await?;
    let make = |inputs: &InvoiceInputs| Ok(invoice::invoice(inputs)?.0);
    printed(&state, &row, make, |paper, _, standing| Ok(print::invoice::invoice(paper, &standing)))
}

/// Print a credit note
///
/// As a quote is printed: what is given back, of which invoice, and what becomes of it.
#[utoipa::path(get, path = "/v1/credit-notes/{id}/print", tag = "invoices", operation_id = "printCreditNote",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the credit note, `crn_…`.")),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html")))]
pub async fn print_credit_note(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let row = credit_notes::read(&state, &id).await?;
    let make = |inputs: &CreditInputs| Ok(credit::credit(inputs)?.0);
    printed(&state, &row, make, |paper, _, standing| Ok(print::credit_note::credit_note(paper, &standing)))
}

/// Print a purchase order
///
/// A page of HTML to print and send to the supplier, of the same paper as its UBL file. It says where another revision is agreed, or is newer.
#[utoipa::path(get, path = "/v1/estimates/{id}/purchase-orders/{place}/print", tag = "estimates",
    operation_id = "printPurchaseOrder",
    extensions(("x-refuses" = json!([409]))),
    params(("id" = String, Path, description = "Id of the estimate, `est_…`."),
        ("place" = String, Path, description = "Place of the order in the list, from 1: the last part of its number.")),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html")))]
pub async fn print_purchase_order(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path((id, place)): Path<(String, String)>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let (paper, stands) = order_files::paper_of(&state, &id, &place).await?;
    let name = reply::file_of("purchase-order", &paper.supplier.name, &paper.number);
    Ok(shown(&name, print::order::order(&paper, stands)))
}

/// A sheet of a stored estimate.
async fn sheet(
    state: &AppState,
    id: &str,
    what: &str,
    render: fn(Shown<'_>) -> String,
) -> Result<Response, Problem> {
    let row = job_orders::row(state, id).await?;
    let job = job_orders::job_of(state, &row.job_id).await?;
    let contract = contracts::contract(&state.inner.store.papers(&row.job_id).await?)?.map(|(_, c)| c);
    let stands = job_orders::stands(state, &row, contract.as_ref()).await?;
    let read = |stored: &str| -> Result<Value, Problem> {
        serde_json::from_str(stored).map_err(|e| Problem::internal(format!("stored estimate: {e}")))
    };
    let (answer, notes) = (read(&row.answer)?, read(&row.notes)?);
    let page = render(Shown { id: &row.id, stands, job: &job, answer: &answer, notes: &notes });
    Ok(shown(&job_orders::file_name(what, &row), page))
}

/// Print an estimate with its working
///
/// A page of HTML for the office and whoever checks the figures by hand: checks, price, every cost line and quantity with its `basis`,
/// water, concrete, work and cautions, from the estimate as it was stored. One file with its style, without script, and nothing from elsewhere.
#[utoipa::path(get, path = "/v1/estimates/{id}/print", tag = "estimates", operation_id = "printEstimate",
    params(("id" = String, Path, description = "Id of the estimate, `est_…`.")),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html")))]
pub async fn print_estimate(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    sheet(&state, &id, "estimate", estimate).await
}

/// Print a site sheet
///
/// A page of HTML for the crew, without a price: checks that failed or warn, cautions, surfaces, outlets, sections, levels and depths to dig to, what
/// is cut from which piece and where it goes, the concrete to order, tasks with crew and hours, and the load to tick off; from the estimate as it
/// was stored. It says where another revision is agreed, or is newer.
#[utoipa::path(get, path = "/v1/estimates/{id}/site-sheet", tag = "estimates", operation_id = "printSiteSheet",
    params(("id" = String, Path, description = "Id of the estimate, `est_…`.")),
    responses((status = 200, description = "The page.", body = String, content_type = "text/html")))]
pub async fn print_site_sheet(
    State(state): State<AppState>,
    _: Caller<may::EstimatesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    sheet(&state, &id, "site-sheet", site_sheet).await
}
