//! Rendered papers: bytes from what was computed. Pure.

pub mod icalendar;
pub mod price_list;
