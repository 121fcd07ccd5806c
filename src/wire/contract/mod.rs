//! The shapes of the promise and what follows it: quotes, change orders, invoices, credit notes, reports of the accounting
//! system, and the snapshots each paper is computed from.
//!
//! | file | subject |
//! |---|---|
//! | [`scalars`] | signed sums, signed numbers |
//! | [`terms`] | what a quote is written with |
//! | [`facts`] | what a paper takes over from an estimate and a job |
//! | [`requests`] | what may be done with papers |
//! | [`account`] | the lines of a contract and what has been billed of them |
//! | [`inputs`] | the whole input of each paper, kept beside it |

pub mod account;
pub mod facts;
pub mod inputs;
pub mod requests;
pub mod scalars;
pub mod terms;

pub use scalars::{Number, Signed};
