//! How sure an estimate is: hours, cost and finish with their spread.
//!
//! | module | holds |
//! |---|---|
//! | [`lognormal`] | mean and percentiles of a log-normal ratio, in closed form |
//! | [`spread`] | the spread of a task: its own, its rate's, and the job's |
//! | [`request`] | what is simulated, what comes out, what can be wrong |
//! | [`mod@simulate`] | [`simulate::simulate`]: seeded draws over tasks and plan |
//! | `placing` | the plan, placed anew for each draw |
//! | [`summary`] | percentiles, shares of variance, contingency |
//! | [`draws`] | the reproducible stream of normal draws |

pub mod draws;
pub mod lognormal;
mod placing;
pub mod request;
pub mod simulate;
pub mod spread;
pub mod summary;

pub use request::{RiskError, RiskRequest, RiskResult, RiskTask};
pub use simulate::simulate;
pub use spread::Spread;
pub use summary::{Contingency, Driver, FinishPercentiles, Percentiles};
