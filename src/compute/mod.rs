//! Numbers in, numbers out.
pub mod needs;
pub mod takeoff;
