//! Haul: loads by loose volume and by weight, trips, hours and tipping fees.
//!
//! | file | subject |
//! |---|---|
//! | `loads` | spoil kept and hauled, loads, time and cost |

mod loads;

pub use loads::{HaulFault, HaulPlan, Limit, Spoil, Tip, Truck, plan};
