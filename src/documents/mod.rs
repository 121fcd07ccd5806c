//! Rendered papers: bytes from what was computed. Pure.

pub mod icalendar;
pub mod invoice_csv;
pub mod job_orders;
pub mod price_list;
pub mod print;
mod told;
pub mod ubl;
