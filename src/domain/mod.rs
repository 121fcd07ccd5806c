//! The nouns of the trade, valid by construction. Pure.

pub mod answers;
pub mod book;
pub mod codes;
pub mod demo;
pub mod layout;
pub mod lines;
pub mod measures;
pub mod rain;
pub mod steel;
pub mod words;
