//! The orders core against reference solvers, published cases and its own properties.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, unreachable_pub, reason = "tests")]

mod buying_limits;
mod buying_solver;
mod cases;
mod concrete;
mod concrete_ways;
mod cut_costs;
mod cutting_cases;
mod cutting_checker;
mod cutting_hard_lists;
mod cutting_limits;
mod cutting_properties;
mod cutting_solver;
mod estimate;
mod exact_needs;
mod haul;
mod hire;
mod hire_by_plan;
mod outlet_bores;
mod pipe_stock;
mod purchase;
mod random;
mod short_boards;
mod sizes;
mod stock_prices;
