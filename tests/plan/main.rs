//! Plan, hours, risk and learning against published cases, independent libraries and closed forms.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    missing_docs,
    unreachable_pub,
    reason = "tests"
)]

mod cards;
mod cases;
mod common;
mod holidays;
mod hostile;
mod icalendar;
mod job_plans;
mod labor_cases;
mod learned_before;
mod learning;
mod learning_cases;
mod learning_loop;
mod limits;
mod networks;
mod overtime;
mod plans;
mod progress;
mod proposals;
mod risk;
mod schedule_cases;
mod start_days;
mod working_calendar;
