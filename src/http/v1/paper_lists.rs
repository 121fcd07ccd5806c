//! Papers of all jobs, for a program that follows what became of them.

use super::papers::{PaperFacts, PaperPage};
use super::with_link;
use crate::app::AppState;
use crate::compute::contract::moves::PaperKind;
use crate::http::auth::{Caller, may};
use crate::http::extract::{Params, Together};
use crate::http::page::{Cursor, cut, limit};
use crate::http::problem::Problem;
use crate::http::reply;
use crate::store::papers::PaperFilter;
use crate::wire::query::{InvoiceState, PaperOrder, QuoteState, Words};
use axum::extract::{OriginalUri, State};
use axum::http::{StatusCode, Uri};
use axum::response::Response;

/// The list that a cursor belongs to, in full. Cursors that clients hold are signed with it, so it stays as it is: one state is written
/// as it was when there could be one alone, and a number is named only where one is asked for.
fn list_name(kinds: [&str; 2], filter: &PaperFilter) -> String {
    let PaperFilter { states, updated_since, number, newest_first } = filter;
    let states = match states.as_slice() {
        [] => "state: None".to_owned(),
        [state] => format!("state: Some(\"{state}\")"),
        states => format!("states: [\"{}\"]", states.join("\", \"")),
    };
    let since = updated_since.map_or_else(|| "None".to_owned(), |at| format!("Some({at})"));
    let number = number.as_ref().map_or_else(String::new, |number| format!("number: {number:?}, "));
    let [one, other] = kinds;
    format!(
        "papers [\"{one}\", \"{other}\"] PaperFilter {{ {states}, updated_since: {since}, {number}newest_first: {newest_first} }}"
    )
}

/// Which papers the query asks for, how many, the list that cursors are bound to, and where to go on. `S` are the states that papers
/// of these kinds can be in.
fn query<S: Words>(
    params: &Params,
    kinds: [&str; 2],
    secret: &str,
) -> Result<(PaperFilter, i64, String, Option<Cursor>), Problem> {
    let sort = params.one_of("sort", "this order is not offered", PaperOrder::UpdatedDescending);
    let filter = (
        params.words::<S>("state", "none of these papers is ever in such a state"),
        params.instant("updated_since"),
        params.line("number"),
        sort,
    )
        .together()
        .map(|(states, updated_since, number, sort)| PaperFilter {
            states: states.into_iter().map(S::as_word).collect(),
            updated_since,
            number,
            newest_first: sort == PaperOrder::UpdatedDescending,
        });
    // Which list a cursor belongs to can be said only where filter and order can be read.
    let list = filter.as_ref().ok().map(|filter| list_name(kinds, filter));
    let after = match &list {
        Some(list) => Cursor::read(params, secret, list),
        None => Cursor::formed(params).map(|()| None),
    };
    let known = ["state", "updated_since", "number", "sort", "limit", "cursor"];
    let (filter, limit, after) = params.all(&known, (filter, limit(params), after))?;
    Ok((filter, limit, list.unwrap_or_default(), after))
}

/// Papers of all jobs of two kinds, which can be in the states `S`.
async fn all<S: Words>(
    state: &AppState,
    kinds: [PaperKind; 2],
    uri: &Uri,
    params: &Params,
) -> Result<Response, Problem> {
    let kinds = kinds.map(PaperKind::word);
    let secret = &state.inner.cursor_secret;
    let (filter, limit, list, after) = query::<S>(params, kinds, secret)?;
    let after = after.as_ref().map(|c| (c.key, c.id.as_str()));
    let mut rows = state.inner.store.all_papers(kinds, &filter, after, limit + 1).await?;
    let next_cursor =
        cut(&mut rows, limit, secret, &list, |r| Cursor { key: r.updated_at, id: r.id.clone() });
    let items = rows.iter().map(PaperFacts::of).collect::<Result<_, _>>()?;
    let page = PaperPage { items, next_cursor };
    Ok(with_link(reply::json(StatusCode::OK, &page)?, uri, page.next_cursor.as_deref()))
}

/// List invoices of all jobs
///
/// Invoices and credit notes without their content, by last change: made, paid, given back or voided. A program that follows them
/// sorts by `updated_at`, keeps the last instant it saw and asks for what changed since then: what changes meanwhile moves to the end
/// of that order, so that nothing is missed and something may be met again.
#[utoipa::path(get, path = "/v1/invoices", tag = "invoices", operation_id = "listAllInvoices",
    params(("state" = inline(Option<Vec<InvoiceState>>), Query, style = Form, explode = false, description = "Only those that stand there; several with commas between them, or each as a parameter of its own."),
        ("updated_since" = Option<String>, Query, description = "Changed at or after this instant, RFC 3339; a `+` is sent as `%2B`.", format = DateTime),
        ("number" = Option<String>, Query, description = "Exactly the number on the paper, such as `INV-0001` or `CN-0001`.", min_length = 1, max_length = 200),
        ("sort" = inline(Option<PaperOrder>), Query, description = "In which order; `-updated_at` when left out."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page, in the order asked for.", body = PaperPage)))]
pub async fn list_all_invoices(
    State(state): State<AppState>,
    _: Caller<may::InvoicesRead>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    all::<InvoiceState>(&state, [PaperKind::Invoice, PaperKind::CreditNote], &uri, &params.listing("state"))
        .await
}

/// List quotes of all jobs
///
/// Quotes and change orders without their content, by last change: written, issued or decided. Followed as the invoices of all jobs
/// are.
#[utoipa::path(get, path = "/v1/quotes", tag = "quotes", operation_id = "listAllQuotes",
    params(("state" = inline(Option<Vec<QuoteState>>), Query, style = Form, explode = false, description = "Only those that stand there; several with commas between them, or each as a parameter of its own."),
        ("updated_since" = Option<String>, Query, description = "Changed at or after this instant, RFC 3339; a `+` is sent as `%2B`.", format = DateTime),
        ("number" = Option<String>, Query, description = "Exactly the number on the paper, such as `Q-0001`; change orders are numbered within their job, so that `CO-1` is there once for each.", min_length = 1, max_length = 200),
        ("sort" = inline(Option<PaperOrder>), Query, description = "In which order; `-updated_at` when left out."),
        ("limit" = Option<i64>, Query, description = "1 to 200; 50 when left out.", minimum = 1, maximum = 200),
        ("cursor" = Option<String>, Query, description = "`next_cursor` of the page before.")),
    responses((status = 200, description = "A page, in the order asked for.", body = PaperPage)))]
pub async fn list_all_quotes(
    State(state): State<AppState>,
    _: Caller<may::QuotesRead>,
    OriginalUri(uri): OriginalUri,
    params: Params,
) -> Result<Response, Problem> {
    all::<QuoteState>(&state, [PaperKind::Quote, PaperKind::ChangeOrder], &uri, &params.listing("state"))
        .await
}
