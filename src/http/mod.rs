//! The HTTP edge: routes, and nothing of the trade.
//!
//! Layers from the outside in: request id and log, concurrency limit, deadline, panic catch, then under `/v1` the key and
//! its quota, then the route. Every answer that is no success is a problem of [`problem::KINDS`], also where [`refused`] has no
//! request to answer.
//!
//! | file | subject |
//! |---|---|
//! | [`v1`] | the operations |
//! | [`health`] | health and the documentation of problems, without a key |
//! | [`openapi`], [`guarded`] | the document, made from the router; the scope of an operation, read off its handler |
//! | [`layers`] | what every request passes |
//! | [`auth`], `credential`, [`secret`] | keys and scopes; the key that a request shows; texts that no log may show |
//! | [`extract`] | bodies, queries and preconditions |
//! | [`negotiate`], [`reply`] | which form of an answer is asked for; answers with their ETag |
//! | [`page`], [`timestamp`] | pages of lists; an instant as answers carry it |
//! | [`problem`], [`refused`] | the table of problems; requests that never become one |
//! | [`patience`] | clients that do not take their answer |

pub mod auth;
mod credential;
pub mod extract;
pub mod guarded;
pub mod health;
pub mod layers;
pub mod negotiate;
pub mod openapi;
pub mod page;
pub mod patience;
pub mod problem;
pub mod refused;
pub mod reply;
pub mod secret;
pub mod timestamp;
pub mod v1;

use crate::app::AppState;
use axum::Router;
use axum::middleware::{from_fn, from_fn_with_state, map_response};
use guarded::routes;
use tower_http::catch_panic::CatchPanicLayer;
use utoipa_axum::router::OpenApiRouter;

/// Now: the one place where the service asks what time it is. How long something takes is measured apart from it.
pub fn now() -> jiff::Timestamp {
    jiff::Timestamp::now()
}

/// Now in unix milliseconds, as it is stored.
pub fn now_ms() -> i64 {
    now().as_millisecond()
}

/// The documented routes under `/v1`, one line each.
pub fn v1_routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        // Calculators: nothing is stored.
        .routes(routes!(v1::calculators::calculate_layout_quantities))
        .routes(routes!(v1::calculators::calculate_concrete_order))
        .routes(routes!(v1::calculators::calculate_labor_hours))
        .routes(routes!(v1::calculators::calculate_flow_check))
        .routes(routes!(v1::calculators::calculate_estimate))
        .routes(routes!(v1::orders::calculate_cut_list))
        .routes(routes!(v1::orders::calculate_purchase_plan))
        .routes(routes!(v1::orders::calculate_hire_plan))
        .routes(routes!(v1::plan_calculators::calculate_plan))
        .routes(routes!(v1::plan_calculators::calculate_risk))
        .routes(routes!(v1::rules::list_rules))
        // Price books and their versions.
        .routes(routes!(v1::price_books::create_price_book, v1::price_books::list_price_books))
        .routes(routes!(v1::price_books::get_price_book))
        .routes(routes!(
            v1::price_books::create_price_book_version,
            v1::price_books::list_price_book_versions
        ))
        .routes(routes!(v1::versions::get_price_book_version))
        .routes(routes!(v1::versions::get_price_book_document, v1::versions::edit_price_book_document))
        .routes(routes!(v1::versions::check_price_book_version))
        .routes(routes!(v1::book_life::publish_price_book_version))
        .routes(routes!(v1::book_life::retire_price_book_version))
        .routes(routes!(v1::book_life::get_price_book_timeline))
        .routes(routes!(v1::book_life::get_price_book_version_in_effect))
        .routes(routes!(v1::book_changes::compare_price_book_versions))
        .routes(routes!(v1::book_changes::list_price_book_version_jobs))
        .routes(routes!(v1::repricing::reprice_open_jobs))
        .routes(routes!(v1::price_lists::export_price_list))
        .routes(routes!(v1::price_lists::import_price_list))
        // Rain tables.
        .routes(routes!(v1::rain_tables::create_rain_table, v1::rain_tables::list_rain_tables))
        .routes(routes!(v1::rain_tables::import_rain_table))
        .routes(routes!(v1::rain_tables::get_rain_table))
        .routes(routes!(v1::rain_tables::read_rain_table))
        // Jobs and their estimates.
        .routes(routes!(v1::jobs::create_job, v1::job_list::list_jobs))
        .routes(routes!(v1::jobs::get_job, v1::jobs::edit_job))
        .routes(routes!(v1::estimates::create_estimate, v1::estimates::list_estimates))
        .routes(routes!(v1::repricing::reprice_job))
        .routes(routes!(v1::estimates::get_estimate))
        .routes(routes!(v1::estimates::get_estimate_inputs))
        .routes(routes!(v1::estimates::get_customer_view))
        .routes(routes!(v1::estimates::recompute_estimate))
        .routes(routes!(v1::job_orders::get_purchase_orders))
        .routes(routes!(v1::job_orders::export_purchase_orders))
        .routes(routes!(v1::order_files::get_purchase_order_ubl))
        .routes(routes!(v1::prints::print_purchase_order))
        .routes(routes!(v1::job_orders::get_cutting_sheet))
        .routes(routes!(v1::job_orders::export_cutting_sheet))
        .routes(routes!(v1::prints::print_estimate))
        .routes(routes!(v1::prints::print_site_sheet))
        // Quotes.
        .routes(routes!(v1::paper_lists::list_all_quotes))
        .routes(routes!(v1::quotes::create_quote, v1::quotes::list_quotes))
        .routes(routes!(v1::quotes::get_quote, v1::quotes::edit_quote))
        .routes(routes!(v1::quotes::issue_quote))
        .routes(routes!(v1::quote_moves::accept_quote))
        .routes(routes!(v1::quote_moves::decline_quote))
        .routes(routes!(v1::quote_moves::expire_quote))
        .routes(routes!(v1::quote_moves::withdraw_quote))
        .routes(routes!(v1::quote_moves::supersede_quote))
        .routes(routes!(v1::quotes::recompute_quote))
        .routes(routes!(v1::quotes::get_quote_ubl))
        .routes(routes!(v1::prints::print_quote))
        // Change orders.
        .routes(routes!(v1::change_orders::create_change_order, v1::change_orders::list_change_orders))
        .routes(routes!(v1::change_orders::get_change_order))
        .routes(routes!(v1::change_order_moves::issue_change_order))
        .routes(routes!(v1::change_order_moves::accept_change_order))
        .routes(routes!(v1::change_order_moves::decline_change_order))
        .routes(routes!(v1::change_order_moves::withdraw_change_order))
        .routes(routes!(v1::change_orders::recompute_change_order))
        .routes(routes!(v1::change_orders::get_change_order_ubl))
        .routes(routes!(v1::prints::print_change_order))
        // Invoices and credit notes.
        .routes(routes!(v1::paper_lists::list_all_invoices))
        .routes(routes!(v1::invoices::create_invoice, v1::invoices::list_invoices))
        .routes(routes!(v1::invoices::get_invoice))
        .routes(routes!(v1::payments::report_payment, v1::payments::list_payments))
        .routes(routes!(v1::invoices::report_void))
        .routes(routes!(v1::invoices::recompute_invoice))
        .routes(routes!(v1::invoices::get_invoice_ubl))
        .routes(routes!(v1::prints::print_invoice))
        .routes(routes!(v1::credit_notes::create_credit_note))
        .routes(routes!(v1::credit_notes::get_credit_note))
        .routes(routes!(v1::credit_notes::recompute_credit_note))
        .routes(routes!(v1::credit_notes::get_credit_note_ubl))
        .routes(routes!(v1::prints::print_credit_note))
        // The job on one page.
        .routes(routes!(v1::ledger::get_ledger))
        .routes(routes!(v1::ledger::get_invoice_rows))
        .routes(routes!(v1::ledger::report_cost, v1::ledger::list_costs))
        // Plans.
        .routes(routes!(v1::plans::create_plan))
        .routes(routes!(v1::plans::get_plan))
        .routes(routes!(v1::plans::get_job_plan))
        .routes(routes!(v1::plans::report_progress))
        .routes(routes!(v1::plans::list_plan_versions))
        .routes(routes!(v1::plan_calendar::get_plan_calendar))
        // What happened, and what it teaches.
        .routes(routes!(v1::acceptance::accept_job, v1::acceptance::get_acceptance))
        .routes(routes!(v1::actuals::add_actuals, v1::actuals::list_actuals))
        .routes(routes!(v1::actuals::compare_job))
        .routes(routes!(v1::learning::compare_jobs))
        .routes(routes!(v1::learning::propose_rates))
        .routes(routes!(v1::learning::get_rate_proposal))
        // Who did what.
        .routes(routes!(v1::audit::list_audit))
}

/// The documented routes that need no key.
pub fn open_routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(utoipa_axum::routes!(health::live))
        .routes(utoipa_axum::routes!(health::ready))
        .routes(utoipa_axum::routes!(health::problems))
        .routes(utoipa_axum::routes!(health::problem))
}

/// The whole service.
pub fn router(state: AppState) -> Router {
    router_with(state, Router::new())
}

/// The whole service with further routes outside `/v1`, for tests.
pub fn router_with(state: AppState, more: Router<AppState>) -> Router {
    let (documented, _) = v1_routes().split_for_parts();
    let guarded = documented
        .route("/v1/{*rest}", axum::routing::any(layers::not_found))
        .route("/v1", axum::routing::any(layers::not_found))
        .route("/v1/", axum::routing::any(layers::not_found))
        .method_not_allowed_fallback(layers::wrong_method)
        .layer((from_fn_with_state(state.clone(), auth::require_key), from_fn(layers::readable_path)));
    let (documented, _) = open_routes().split_for_parts();
    let open = documented
        .route("/", axum::routing::get(openapi::front))
        .route("/openapi.json", axum::routing::get(openapi::document))
        .merge(openapi::docs())
        .merge(more)
        .method_not_allowed_fallback(layers::wrong_method)
        .layer(from_fn(layers::readable_path));
    Router::new()
        .merge(open)
        .merge(guarded)
        .fallback(layers::not_found)
        .method_not_allowed_fallback(layers::wrong_method)
        // Outermost first; in one layer, since every layer of a router is boxed and copied for each request.
        .layer((
            from_fn_with_state(state.clone(), layers::outer),
            CatchPanicLayer::custom(layers::panicked),
            map_response(openapi::problem_for_foreign),
        ))
        .with_state(state)
}
