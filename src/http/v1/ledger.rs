//! The job on one page, its costs, and its invoices as rows.

use super::acceptance::accepted;
use super::contracts;
use super::invoices::ledger_tag;
use super::job_orders::placeable;
use super::papers::{self, json_text, last_day};
use super::reports::ReadBack;
use super::{book, missing, new_id, page_type, reports, with_link};
use crate::app::AppState;
use crate::compute::contract::costs::{LedgerCost, ReportedSum, check_cost};
use crate::compute::contract::credit::credit;
use crate::compute::contract::fold::Contract;
use crate::compute::contract::invoice::invoice;
use crate::compute::contract::ledger::{Ledger, LedgerInputs, LedgerPaper, ledger};
use crate::compute::contract::moves::{PaperKind, PaperState};
use crate::compute::job_record::costs::{OrderCost, order_costs, trade_costs, uncounted_hours};
use crate::documents::invoice_csv::{self, Paper};
use crate::domain::words::Category;
use crate::http::auth::{Caller, may};
use crate::http::extract::{Body, Params};
use crate::http::page::{Cursor, cut, limit_and_cursor};
use crate::http::problem::Problem;
use crate::http::reply::{self, Asked, Opened, Reply};
use crate::http::timestamp::{Timestamp, timestamp};
use crate::store::papers::PaperRow;
use crate::store::reports::{CostSum, NewReport, ReportRow};
use crate::units::Amount;
use crate::units::quantity::Span;
use crate::wire::contract::inputs::QuoteInputs;
use crate::wire::contract::requests::CostIn;
use crate::wire::day::Day;
use axum::extract::{OriginalUri, Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;
use serde::Serialize;
use utoipa::ToSchema;

/// A cost as it was reported.
#[derive(Debug, Serialize, ToSchema)]
pub struct CostOut {
    /// Id, `rep_…`.
    pub id: String,
    /// Job, `job_…`.
    pub job_id: String,
    /// The cost.
    #[schema(value_type = CostIn)]
    pub cost: Box<serde_json::value::RawValue>,
    /// When it was recorded.
    pub created_at: Timestamp,
    /// Key that reported it.
    pub created_by: String,
}

page_type! {
    /// A page of costs, newest first.
    CostPage of CostOut
}

fn cost_out(row: ReportRow) -> Result<CostOut, Problem> {
    let ReadBack { id, job_id, paper_id: _, said: cost, created_at, created_by } = reports::read_back(row)?;
    Ok(CostOut { id, job_id, cost, created_at, created_by })
}

/// Get the ledger of a job
///
/// Contract, billed, asked for, paid, retained, costs and expected margin, each with its parts. Costs are those reported by
/// the accounting system and those of the job's records (hours worked, purchase orders placed); in each category the larger
/// of the two accounts stands. Its ETag changes whenever the page does. An invoice takes it in `If-Match` and is refused only
/// where the contract, money or costs have moved since: what else the page shows, as a quote issued meanwhile, does not stand in
/// its way.
#[utoipa::path(get, path = "/v1/jobs/{id}/ledger", tag = "ledger", operation_id = "getLedger",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("If-None-Match" = Option<String>, Header, description = "304 when the ETag is still this.")),
    responses((status = 200, description = "The ledger.", body = Ledger,
        headers(("ETag" = String, description = "For `If-Match` of invoices."))), (status = 304, description = "Not modified.")))]
pub async fn get_ledger(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    headers: HeaderMap,
    params: Params,
) -> Result<Response, Problem> {
    params.only(&[])?;
    let store = &state.inner.store;
    store.job(&id).await?.ok_or_else(|| missing("job"))?;
    // The version is read first: what moves meanwhile makes it too old, never too new.
    let version = store.ledger_version(&id).await?;
    let rows = store.papers(&id).await?;
    let reports = store.reports(&id).await?;
    let contract = contracts::contract(&rows)?;
    let account = contract.as_ref().and_then(|(_, c)| c.account());
    let currency = match contracts::speaking(&rows) {
        Some(quote) => Some(papers::stored::<QuoteInputs>(&quote.inputs)?.estimate.currency),
        None => None,
    };
    let mut costs: Vec<LedgerCost> = reports
        .iter()
        .filter(|r| r.kind == "cost")
        .filter_map(|r| {
            let category = Category::from_word(r.category.as_deref()?)?;
            let (on, amount) = (Day::parse(&r.on_date), Amount::from_minor(r.amount_minor));
            let reference = r.reference.clone();
            Some(LedgerCost::reported(&r.system, reference, on, category, r.committed != 0, amount))
        })
        .collect();
    let Recorded { costs: recorded, uncounted, placed } =
        recorded_costs(&state, &id, contract.as_ref().map(|(_, c)| c)).await?;
    costs.extend(recorded);
    let last_payment_on =
        reports.iter().filter(|r| r.kind == "payment").filter_map(|r| Day::parse(&r.on_date)).max();
    let page = ledger(LedgerInputs {
        job_id: &id,
        version,
        currency,
        account: account.as_ref(),
        components: contract.as_ref().map_or(&[], |(_, c)| c.components.as_slice()),
        papers: rows.iter().map(line).collect::<Result<_, _>>()?,
        costs,
        uncounted,
        placed,
        last_payment_on,
    });
    reply::page(&headers, &ledger_tag(&id), version, &page)
}

/// What the job's own records tell of its costs.
#[derive(Default)]
struct Recorded {
    costs: Vec<LedgerCost>,
    /// Hours that no trade of the book prices.
    uncounted: Vec<(String, Span)>,
    /// Purchase orders placed.
    placed: Vec<OrderCost>,
}

/// Costs that the job's own records tell.
async fn recorded_costs(
    state: &AppState,
    job: &str,
    contract: Option<&Contract>,
) -> Result<Recorded, Problem> {
    let Some(job_record) = accepted(state, job).await? else { return Ok(Recorded::default()) };
    let actuals = &job_record.actuals;
    let (book, _) = book(state, Some(&job_record.wage_book_version)).await?;
    let numbers = actuals.orders.keys().map(String::as_str);
    let orders = placeable(state, job, &job_record.estimate_id, contract, numbers).await?;
    let hours = trade_costs(actuals, &book);
    let placed = order_costs(actuals, &orders);
    let costs =
        hours.iter().map(LedgerCost::hours).chain(placed.iter().flat_map(LedgerCost::order)).collect();
    Ok(Recorded { costs, uncounted: uncounted_hours(actuals, &book), placed })
}

fn line(row: &PaperRow) -> Result<LedgerPaper, Problem> {
    let (kind, state) = (papers::kind_of(row)?, papers::state_of(row)?);
    let PaperRow {
        id,
        job_id: _,
        kind: _,
        place: _,
        number,
        state: _,
        estimate_id: _,
        of_paper: _,
        inputs: _,
        document: _,
        effect: _,
        decision: _,
        decided_at: _,
        total_minor,
        payable_minor,
        paid_minor,
        credited_minor,
        row_version: _,
        created_at: _,
        created_by: _,
        updated_at: _,
    } = row;
    Ok(LedgerPaper {
        id: id.clone(),
        kind,
        number: number.clone(),
        state,
        total: Amount::from_minor(*total_minor),
        payable: Amount::from_minor(*payable_minor),
        paid: Amount::from_minor(*paid_minor),
        credited: Amount::from_minor(*credited_minor),
    })
}

/// Get invoices as rows
///
/// Invoices and credit notes of a job as CSV (RFC 4180, UTF-8, a header line), voided ones left out, oldest first. `paper` is `invoice`
/// or `credit_note`, and `row` says what a row is: `line`, `tax`, `retained` (held back) or `released` (asked for now). The rows of
/// a paper add up to what it asks for: what an invoice holds back counts negative, and a credit note has every sign the other way.
/// `category` is empty but on lines, `due_on` on credit notes. `credits` is the number of the invoice that a credit note gives back
/// of, empty on invoices; `job_title` is the title of the job as the paper has it. A text that a spreadsheet would run as a formula
/// gets a `'` in front.
#[utoipa::path(get, path = "/v1/jobs/{id}/invoice-rows", tag = "ledger", operation_id = "getInvoiceRows",
    extensions(("x-refuses" = json!([409, 422]))),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("byte_order_mark" = Option<bool>, Query, description = "Begin the file with a byte order mark: spreadsheets that are opened by a double click read it as UTF-8 only then.")),
    responses((status = 200, description = "The rows.", body = String, content_type = "text/csv",
        example = json!("paper,number,issued_on,due_on,customer,row,code,description,category,amount,currency,credits,job_id,job_title\r\ninvoice,INV-0001,2026-03-08,2026-04-07,Example Household,line,labor,Labor,labor,1200.00,USD,,job_01m897fr4tg228nh8rx6b596wb,Drive and garden path drains\r\ninvoice,INV-0001,2026-03-08,2026-04-07,Example Household,retained,retainage,Retainage,,-120.00,USD,,job_01m897fr4tg228nh8rx6b596wb,Drive and garden path drains\r\n"))))]
pub async fn get_invoice_rows(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    params: Params,
) -> Result<Response, Problem> {
    let marked = params.only_byte_order_mark()?;
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let mut list = Vec::new();
    for row in state.inner.store.papers(&id).await? {
        match papers::kind_of(&row)? {
            PaperKind::Invoice if papers::state_of(&row)? != PaperState::Voided => {
                let (paper, _) = invoice(&papers::stored(&row.inputs)?)?;
                papers::same(&row, &paper)?;
                list.push(Paper::Invoice(Box::new(paper)));
            }
            PaperKind::CreditNote => {
                let (paper, _) = credit(&papers::stored(&row.inputs)?)?;
                papers::same(&row, &paper)?;
                list.push(Paper::Credit(Box::new(paper)));
            }
            _ => {}
        }
    }
    let bytes = invoice_csv::rows(&list, &id).map_err(|e| Problem::internal(e.to_string()))?;
    Ok(reply::private(reply::csv_file(&format!("invoice-rows-{id}"), marked, bytes)))
}

fn reported_sum(row: &CostSum) -> Option<ReportedSum> {
    let CostSum { category, committed, amount_minor } = row;
    Some(ReportedSum {
        category: Category::from_word(category.as_deref()?)?,
        committed: *committed != 0,
        amount: Amount::from_minor(*amount_minor),
    })
}

/// Report a cost
///
/// Spent or ordered for the job, as the accounting system books it, under its own reference. One `system` and `reference` is recorded
/// once: a cost under a reference that is recorded is refused with 409, and the error at `#/reference` says what is held under it; its
/// code is `recorded_already` where that is this very cost, else `reference_taken`. `GET /v1/jobs/{id}/costs` lists what is held.
#[utoipa::path(post, path = "/v1/jobs/{id}/costs", tag = "ledger", operation_id = "reportCost",
    request_body(content = CostIn, example = json!({"system": "accounting", "reference": "BILL-9001", "on": "2026-03-11",
        "category": "material", "amount": "412.60", "note": "Channel and grates, Millbrook"})),
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("validate_only" = Option<bool>, Query, description = "Check everything, write nothing."),
        ("Idempotency-Key" = String, Header, description = "Repeats of the same request are answered from the first.")),
    responses((status = 201, description = "The cost.", body = CostOut)))]
pub async fn report_cost(
    State(state): State<AppState>,
    caller: Caller<may::AccountingWrite>,
    Path(id): Path<String>,
    asked: Asked,
    Body { document, bytes }: Body<CostIn>,
) -> Result<Response, Problem> {
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let mut session = match asked.open_keyed(&state, &caller, &bytes).await? {
        Opened::Replay(response) => return Ok(response),
        Opened::Fresh(session) => session,
    };
    let report = NewReport {
        id: new_id("rep"),
        job_id: id.clone(),
        paper_id: None,
        kind: "cost",
        system: document.system.to_string(),
        reference: document.reference.to_string(),
        on_date: document.on.to_string(),
        amount_minor: document.amount.0.minor(),
        category: Some(document.category.word()),
        committed: document.committed.0,
        document: json_text(&document)?,
    };
    reports::once(&mut session, &report).await?;
    let before: Vec<ReportedSum> =
        session.write.cost_sums(&id).await?.iter().filter_map(reported_sum).collect();
    let faults = check_cost(&document, &before, last_day(&state)?);
    if !faults.is_empty() {
        return Err(faults.into());
    }
    session.write.put_report(&report).await?;
    session.write.touch_ledger(&id).await?;
    let after = serde_json::json!({"after": document, "job": id});
    session.write.audit("cost.report", &report.id, after).await?;
    let out = CostOut {
        id: report.id,
        job_id: id,
        cost: papers::raw_json(report.document)?,
        created_at: timestamp(session.now()),
        created_by: caller.key_id.clone(),
    };
    session.finish(Reply::added(&out)?).await
}

/// List costs
///
/// Reported for one job, newest first.
#[utoipa::path(get, path = "/v1/jobs/{id}/costs", tag = "ledger", operation_id = "listCosts",
    params(("id" = String, Path, description = "Id of the job, `job_…`."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page.", body = CostPage)))]
pub async fn list_costs(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    Path(id): Path<String>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    let list = format!("costs {id}");
    let secret = &state.inner.cursor_secret;
    let (limit, after) = limit_and_cursor(&params, secret, &list)?;
    state.inner.store.job(&id).await?.ok_or_else(|| missing("job"))?;
    let before = after.as_ref().map(|c| (c.key, c.id.as_str()));
    let mut rows = state.inner.store.report_list(&id, "cost", before, limit + 1).await?;
    let next_cursor =
        cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.created_at, id: r.id.clone() });
    let items = rows.into_iter().map(cost_out).collect::<Result<_, _>>()?;
    let page = CostPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, &uri, page.next_cursor.as_deref()))
}
