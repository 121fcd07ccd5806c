//! Checks of the water computation against published and independently computed results.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "tests")]

mod built_in_fall;
mod cases;
mod choosing;
mod continuity;
mod coverage;
mod divides;
mod flow_check;
mod formula_cases;
mod fuzz;
mod job;
mod laws;
mod limits;
mod line_ends;
mod line_grades;
mod office;
mod outside;
mod rain_cases;
mod run_cases;
mod tees;
mod told;
mod upper_ends;
