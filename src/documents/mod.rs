//! Rendered papers: bytes from what was computed. Pure.
//!
//! | file | subject |
//! |---|---|
//! | [`mod@print`] | papers and sheets as pages to read and to print |
//! | [`ubl`] | papers as UBL files |
//! | [`invoice_csv`] | invoices and credit notes as CSV rows |
//! | [`job_orders`] | purchase orders and cutting sheets, as data and as CSV |
//! | [`price_list`] | the items of a price book as CSV, out and in |
//! | [`icalendar`] | a plan as a calendar file |
//! | `told` | what papers say in sentences, the same in every form |

pub mod icalendar;
pub mod invoice_csv;
pub mod job_orders;
pub mod price_list;
pub mod print;
mod told;
pub mod ubl;
