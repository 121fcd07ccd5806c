//! What happened on accepted jobs: records, estimate against actual, and the rates that follow from them.
//!
//! ```text
//! entries (append-only) ─▶ in force ─▶ JobActuals ─┬▶ comparison of one job, line by line
//! notes + book ─▶ hours for the quantity done ─────┼▶ comparison over many jobs, grouped
//!                                                  └▶ learning ─▶ proposals ─▶ draft of the price book
//! ```
//!
//! | file | subject |
//! |---|---|
//! | [`entries`] | records, corrections, what is wrong with new ones |
//! | [`actuals`] | the records of a job added up |
//! | [`costs`] | what recorded hours and placed orders cost |
//! | [`comparison`] | estimate against actual, one job |
//! | [`many`] | estimate against actual over many jobs |
//! | [`proposals`] | rates learned, and their effect on a past job |
//! | [`draft`] | proposed rates in a price book |

pub mod actuals;
pub mod comparison;
pub mod costs;
pub mod draft;
pub mod entries;
pub mod many;
pub mod proposals;

pub use actuals::JobActuals;
pub use entries::Recorded;
