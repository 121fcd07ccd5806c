//! What a grate swallows and what an outlet lets through.
//!
//! Water falls over the edge of an opening as over a weir while it is shallow, and is squeezed through it as
//! through an orifice when it is deep. At every depth the lesser of both passes.
//!
//! | file | subject |
//! |---|---|
//! | `grate` | what a grate swallows, over its edge and through its openings |
//! | `opening` | what an outlet lets through |

mod grate;
mod opening;

pub use grate::{GrateInlet, SagCapacity, SagControl, orifice_flow_m3_per_s, weir_flow_m3_per_s};
pub use opening::{CurvePoint, EndOpening, FloorOpening, Opening, RatingCurve};
