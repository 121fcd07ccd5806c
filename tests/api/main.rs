//! The service as its users meet it: the whole router, driven in process over a real SQLite file.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod app;
mod document;
mod records;

mod answers;
mod audit;
mod book_life;
mod calculators;
mod calendar;
mod computing;
mod concurrency;
mod costs;
mod default_book;
mod estimates;
mod etags;
mod faults;
mod faults_together;
mod headers;
mod idempotency;
mod learning;
mod listener;
mod money;
mod nothing_ignored;
mod openapi;
mod ordered_again;
mod orders;
mod paging;
mod paper_reports;
mod patches;
mod plans;
mod pours;
mod preconditions;
mod price_books;
mod price_lists;
mod pricing;
mod purchase_orders;
mod query_faults;
mod quote_options;
mod rain_tables;
mod scopes;
mod sweep;
mod sweep_layers;
mod unusual_notes;
mod water;
mod words;
