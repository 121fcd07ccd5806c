//! What a result says about itself: values, so that they reach whatever is printed.

use std::fmt;

/// The caution that belongs beside every answer about water.
pub const CAUTION: &str = "Local rules govern the design storm and where water may be discharged. Where a \
drain that fails can flood a building or a road, a licensed engineer decides.";

/// A result that stands but needs reading with care.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// A bed steeper than the small-slope equations are made for.
    SteepBed {
        /// Steepest slope found, m/m.
        slope: f64,
        /// Slope up to which the equations hold to about one per cent.
        limit: f64,
    },
    /// The flow is close to critical over a stretch, so that its depth is unsteady and sensitive.
    NearCritical {
        /// Start of the stretch, m.
        from_m: f64,
        /// End of the stretch, m.
        to_m: f64,
        /// Froude numbers between which the flow counts as near critical.
        froude_band: (f64, f64),
    },
    /// A small change of slope, roughness or flow would change the regime of the run.
    NearRegimeChange {
        /// Where the bed slope comes closest to the slope that would pass the flow at critical depth, m.
        station_m: f64,
        /// Bed slope there divided by that slope; 1 is the change itself.
        slope_ratio: f64,
    },
    /// A hydraulic jump: turbulent, its place sensitive, its length not zero as computed.
    HydraulicJump {
        /// Where, m.
        station_m: f64,
        /// About how long the rough water is, m.
        length_m: f64,
    },
    /// Fast flow reaches a corner: it climbs and splashes there more than the loss coefficient says.
    FastFlowAtCorner {
        /// Where, m.
        station_m: f64,
        /// Froude number of the arriving flow.
        froude: f64,
    },
    /// Fast flow reaches an outlet: part of it can shoot past.
    FastFlowAtOutlet {
        /// Where, m.
        station_m: f64,
        /// Froude number of the arriving flow.
        froude: f64,
    },
    /// An outlet is too small for what arrives: part of the flow passes it along the run.
    PassesOutlet {
        /// Where, m.
        station_m: f64,
        /// How much passes, m³/s.
        flow_m3_per_s: f64,
    },
    /// The bed falls away from every outlet: water stands there after the storm.
    StandingWater {
        /// Where it is deepest, m.
        station_m: f64,
        /// How deep it stands, m.
        depth_m: f64,
    },
    /// The flow is too thin and slow for Manning's formula.
    NotTurbulent {
        /// Where, m.
        station_m: f64,
        /// Reynolds number `4 R V / nu`.
        reynolds: f64,
    },
    /// The momentum of the finished water surface does not balance as closely as it should: its depths are less exact.
    BalanceNotClosed {
        /// What the balance is off, over the greatest specific force in the run.
        residual: f64,
        /// Up to where it counts as closed.
        limit: f64,
    },
    /// The water stands above the underside of the grate: the depths above it assume walls that go on.
    AboveGrate {
        /// First station where it does, m.
        station_m: f64,
        /// By how much at the worst station, m.
        by_m: f64,
    },
    /// A storm rarer than frequency factors are given for.
    RarerStorm {
        /// Its return period, years.
        years: f64,
        /// The longest return period with a factor, years.
        longest_years: f64,
    },
    /// Water runs further in one way than the formula for it is used.
    LongFlow {
        /// In which way it runs.
        what: &'static str,
        /// How far, m.
        length_m: f64,
        /// Up to how far the formula is used, m.
        limit_m: f64,
    },
    /// Flow too slow to carry grit.
    TooSlow {
        /// Velocity flowing full, m/s.
        velocity_m_per_s: f64,
        /// The limit, m/s.
        limit_m_per_s: f64,
    },
    /// Flow fast enough to wear the pipe.
    TooFast {
        /// Velocity, m/s.
        velocity_m_per_s: f64,
        /// The limit, m/s.
        limit_m_per_s: f64,
    },
}

impl Warning {
    /// Name of the kind, which does not change with wording or numbers.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::SteepBed { .. } => "steep_bed",
            Self::NearCritical { .. } => "near_critical",
            Self::NearRegimeChange { .. } => "near_regime_change",
            Self::HydraulicJump { .. } => "hydraulic_jump",
            Self::FastFlowAtCorner { .. } => "fast_flow_at_corner",
            Self::FastFlowAtOutlet { .. } => "fast_flow_at_outlet",
            Self::PassesOutlet { .. } => "passes_outlet",
            Self::StandingWater { .. } => "standing_water",
            Self::NotTurbulent { .. } => "not_turbulent",
            Self::BalanceNotClosed { .. } => "balance_not_closed",
            Self::AboveGrate { .. } => "above_grate",
            Self::RarerStorm { .. } | Self::LongFlow { .. } => "outside_range",
            Self::TooSlow { .. } => "too_slow",
            Self::TooFast { .. } => "too_fast",
        }
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SteepBed { slope, limit } => write!(
                f,
                "the bed falls {slope:.3} m per m; above {limit:.2} the equations, made for small slopes, \
                 are off by more than one per cent"
            ),
            Self::NearCritical { from_m, to_m, froude_band: (low, high) } => write!(
                f,
                "from {from_m:.2} m to {to_m:.2} m the flow is near critical (Froude number {low} to {high}): \
                 expect waves, and depths that change much with small changes of the input"
            ),
            Self::NearRegimeChange { station_m, slope_ratio } => write!(
                f,
                "at {station_m:.2} m the bed has {slope_ratio:.3} of the slope that turns the flow fast: \
                 a slightly different slope, roughness or flow changes where the water is controlled"
            ),
            Self::HydraulicJump { station_m, length_m } => write!(
                f,
                "a hydraulic jump at {station_m:.2} m: rough water over about {length_m:.2} m, and its place \
                 moves with small changes of the input"
            ),
            Self::FastFlowAtCorner { station_m, froude } => write!(
                f,
                "fast flow (Froude number {froude:.2}) meets a corner at {station_m:.2} m: it climbs the outer \
                 wall and may splash out"
            ),
            Self::FastFlowAtOutlet { station_m, froude } => write!(
                f,
                "fast flow (Froude number {froude:.2}) reaches the outlet at {station_m:.2} m: part of it can \
                 shoot past the opening"
            ),
            Self::PassesOutlet { station_m, flow_m3_per_s } => write!(
                f,
                "the outlet at {station_m:.2} m is too small for what arrives: {:.3} L/s pass it along the run",
                1e3 * flow_m3_per_s
            ),
            Self::StandingWater { station_m, depth_m } => write!(
                f,
                "the bed falls away from the outlets: {depth_m:.4} m of water stands at {station_m:.2} m after \
                 the storm"
            ),
            Self::NotTurbulent { station_m, reynolds } => write!(
                f,
                "the flow at {station_m:.2} m is too thin and slow for Manning's formula (Reynolds number \
                 {reynolds:.0}, turbulent from about 2000)"
            ),
            Self::BalanceNotClosed { residual, limit } => write!(
                f,
                "the momentum of this water surface is off by {residual:.1e} of its greatest force (it should close \
                 to {limit:.0e}): read its depths as less exact, and check them by hand where they matter"
            ),
            Self::AboveGrate { station_m, by_m } => write!(
                f,
                "from {station_m:.2} m on the water stands above the underside of the grate, by {by_m:.4} m at \
                 the worst: depths there assume walls that go on upward"
            ),
            Self::RarerStorm { years, longest_years } => write!(
                f,
                "a storm of {} is rarer than the {} up to which frequency factors are given: the last of them is used",
                in_years(*years),
                in_years(*longest_years)
            ),
            Self::LongFlow { what, length_m, limit_m } => write!(
                f,
                "{length_m:.3} m of {what}, longer than the {limit_m:.3} m up to which its formula is used: the \
                 rest runs gathered, and faster"
            ),
            Self::TooSlow { velocity_m_per_s, limit_m_per_s } => write!(
                f,
                "{velocity_m_per_s:.2} m/s flowing full is below {limit_m_per_s:.2} m/s: the pipe does not \
                 clean itself"
            ),
            Self::TooFast { velocity_m_per_s, limit_m_per_s } => write!(
                f,
                "{velocity_m_per_s:.2} m/s is above {limit_m_per_s:.2} m/s: the flow wears the pipe"
            ),
        }
    }
}

/// A return period in words.
fn in_years(years: f64) -> String {
    format!("{years} year{}", if years > 1.0 { "s" } else { "" })
}
