//! Why a run cannot be computed, in words that say what to change.

use crate::compute::water::bounds::RangeFaults;

/// A run that cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RunError {
    /// Something in the input breaks a rule; all of it at once.
    #[error("the run's input breaks a rule: {0}")]
    Invalid(#[from] RangeFaults),
    /// The water at an outlet stands so high that it would flow back along the run to another outlet.
    #[error(
        "the water at the outlet at {station_m:.3} m stands {excess_m:.4} m higher than the run towards the \
         outlet at {other_station_m:.3} m needs, so it would feed the run instead of draining it: enlarge that \
         outlet or its pipe, lower its tailwater, or remove it"
    )]
    OutletFeedsRun {
        /// Station of the outlet that stands too high, m.
        station_m: f64,
        /// Station of the outlet it would flow to, m.
        other_station_m: f64,
        /// By how much it stands too high, m.
        excess_m: f64,
    },
    /// The search for the divides between outlets used its whole budget of trials.
    #[error(
        "the split of the flow between the outlets near {station_m:.3} m did not settle: state one outlet fewer \
         there, or give the outlets' depths instead of their openings"
    )]
    DivideUnsettled {
        /// Station of the unsettled divide, m.
        station_m: f64,
    },
    /// The integration used its whole budget of steps.
    #[error(
        "the water surface near {station_m:.3} m could not be followed within {steps} steps: divide the run into \
         shorter legs or check its slope and flow there"
    )]
    StepBudget {
        /// Where it stopped, m.
        station_m: f64,
        /// Steps taken.
        steps: usize,
    },
    /// The equation has no continuation, where theory says it has one.
    #[error(
        "the water surface could not be continued at {station_m:.6} m ({what}): change the slope, flow or section \
         there slightly"
    )]
    NoContinuation {
        /// Where it stopped, m.
        station_m: f64,
        /// What failed.
        what: &'static str,
    },
}
