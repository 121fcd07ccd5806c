//! Numbers in, numbers out.
/// Version of the engine: changes whenever the same input may give another answer.
pub const ENGINE: &str = "1.0.0";

pub mod cautions;
pub mod concrete;
pub mod consumables;
pub mod hire;
pub mod labor;
pub mod load_out;
pub mod needs;
pub mod pipeline;
pub mod pricing;
pub mod rules;
pub mod takeoff;
