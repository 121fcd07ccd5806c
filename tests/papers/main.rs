//! Papers made from the demo job, and as files for other programs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod job;
mod read_back;

mod csv_rows;
mod four_traps;
mod limits;
mod money_back;
mod printed;
mod quote_pages;
mod quotes;
mod sheets;
mod stages;
mod told;
mod ubl;
mod vat;
