//! Pipes: flow full and partly full on the true bore, and drain lines as a tree.
//!
//! | file | subject |
//! |---|---|
//! | `flow` | one pipe: full flow, depth for a flow, sizing, velocity limits |
//! | `network` | the description of a drain line and its check |
//! | `line` | flows, falls, grade line and cover of every leg |

mod flow;
mod line;
mod network;

pub use flow::{
    GREATEST_FLOW_RATIO, PartFull, PipeCheck, PipeSettings, check_pipe, depth_for_flow_m, full_flow_m3_per_s,
    full_velocity_m_per_s, part_full_ratios, required_bore_m, slope_for_full_flow,
};
pub use line::{LegResult, LineResult};
pub use network::{DrainLine, DrainLineInput, GroundPoint, LineLeg, LineSettings};
