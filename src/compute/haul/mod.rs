//! Haul: loads by loose volume and by weight, and how long the trips take.
//!
//! | file | subject |
//! |---|---|
//! | `loads` | loads, whichever of volume and weight needs more |
//! | `trip` | the round trip, trips shared among trucks |

mod loads;
mod trip;

pub use loads::by_volume_and_weight;
pub use trip::{Trip, drive_seconds};
