//! Rendered papers: bytes from what was computed. Pure.

pub mod icalendar;
