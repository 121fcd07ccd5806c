//! Papers as pages to read and to print: one HTML file each with its style in it, without script, and nothing from elsewhere.
//!
//! | file | subject |
//! |---|---|
//! | [`frame`] | the page around a paper: title, style, mark of where it stands |
//! | `parts` | parties, facts, tables of lines and sums, lists |
//! | [`quote`], [`change_order`] | what the customer is asked to agree to |
//! | [`invoice`], [`credit_note`] | what is asked for, and given back |
//! | [`order`] | what is ordered from a supplier |
//! | [`estimate`] | a stored estimate with all its working |
//! | [`site`] | what the crew takes along: checks, cautions, hours, the load, no prices |
//! | `dig`, `cuts` | what is set out and dug; what is cut from which piece |
//! | `stored` | reading a stored answer for a page |
//!
//! Nothing is computed here: a page says what its paper says, in the sentences of the other files.

pub mod change_order;
pub mod credit_note;
mod cuts;
mod dig;
pub mod estimate;
pub mod frame;
pub mod invoice;
pub mod order;
mod parts;
pub mod quote;
pub mod site;
mod stored;

pub use frame::{Revision, Standing};
