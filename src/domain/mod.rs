//! The nouns of the trade, valid by construction. Pure.

pub mod book;
pub mod codes;
pub mod demo;
pub mod layout;
pub mod lines;
pub mod measures;
pub mod order_number;
pub mod steel;
pub mod words;
