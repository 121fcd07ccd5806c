//! What describes a run; [`super::check`] makes a description a [`Run`].

use super::check;
use super::layout::Layout;
use crate::compute::water::STANDARD_GRAVITY;
use crate::compute::water::bounds::RangeFaults;
use crate::compute::water::intake::Opening;
use crate::compute::water::section::OpenSection;

/// A straight stretch of a run. Legs follow each other from the run's start to its finish.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Length, m.
    pub length_m: f64,
    /// Fall of the finished surface (and grate) towards the finish, m/m; negative where it rises.
    pub surface_fall: f64,
    /// Depth from the underside of the grate to the bed at the leg's start, m.
    pub depth_start_m: f64,
    /// The same at the leg's end, m: deeper where fall is built into the sections.
    pub depth_end_m: f64,
    /// Head lost at the corner where the leg ends, in velocity heads; 0 where the run goes straight on.
    /// [`corner_loss_coefficient`] gives the default for an angle.
    pub corner_loss_at_end: f64,
}

impl Leg {
    /// Fall of the bed towards the finish, m/m.
    #[must_use]
    pub fn bed_slope(&self) -> f64 {
        self.surface_fall + (self.depth_end_m - self.depth_start_m) / self.length_m
    }
}

/// Head lost where a channel turns without a curve (a mitre), in velocity heads.
///
/// # Formula
/// `K = 1.2 (1 - cos(angle))`
/// # Units
/// `deflection_degrees` degrees, 0 straight on and 90 a right angle; result in velocity heads of the arriving flow
/// # Valid for
/// a sharp mitre up to 90°, slow (subcritical) flow. An angle of 0 loses nothing.
/// # Source
/// the usual handbook expression for single mitre bends of closed conduits, about 1.2 at 90° and 0.35 at 45°
/// (from memory); no published value for mitred channel drains was found, so it is the default, not the rule
/// # Example
/// ```
/// use rillcast::compute::water::run::corner_loss_coefficient;
/// assert!((corner_loss_coefficient(90.0) - 1.2).abs() < 1e-12);
/// assert!((corner_loss_coefficient(45.0) - 0.3515).abs() < 1e-4);
/// ```
#[must_use]
pub fn corner_loss_coefficient(deflection_degrees: f64) -> f64 {
    1.2 * (1.0 - deflection_degrees.to_radians().cos())
}

/// Water that falls in evenly along a stretch of the run. Stretches may overlap: they add up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LateralInflow {
    /// Start of the stretch, m from the run's start.
    pub from_m: f64,
    /// End of the stretch, m.
    pub to_m: f64,
    /// Inflow per length, m³/s per m.
    pub flow_m2_per_s: f64,
}

/// Water that falls in at one place: a roof leader, a hose, a branch that joins from the side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointInflow {
    /// Where, m from the run's start.
    pub station_m: f64,
    /// How much, m³/s.
    pub flow_m3_per_s: f64,
}

/// An opening through which the run empties: at an end, or in the floor anywhere along it.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlet {
    /// Where, m from the run's start; 0 and the run's length are its ends.
    pub station_m: f64,
    /// What the water must pass; `None` is a free fall. The head it needs is the depth at the outlet where that is
    /// above critical depth.
    pub opening: Option<Opening>,
    /// Depth of standing water at the outlet above the bed, from a pipe or ditch that backs up, m; below 0 where it stands
    /// between the bed and the invert of an opening that lies deeper.
    pub tailwater_depth_m: Option<f64>,
}

impl Outlet {
    /// A free fall at a station.
    #[must_use]
    pub fn free(station_m: f64) -> Self {
        Self { station_m, opening: None, tailwater_depth_m: None }
    }

    /// Whether the depth it needs depends on the flow.
    pub(super) fn depends_on_flow(&self) -> bool {
        self.opening.is_some()
    }

    /// Depth it needs for a flow, m; 0 for a free fall.
    #[must_use]
    pub fn depth_m(&self, flow_m3_per_s: f64, gravity: f64) -> f64 {
        match &self.opening {
            Some(opening) if flow_m3_per_s > 0.0 => {
                opening.depth_m(flow_m3_per_s, self.tailwater_depth_m, gravity)
            }
            _ => self.tailwater_depth_m.unwrap_or(0.0).max(0.0),
        }
    }
}

/// Numbers of the trade, with their defaults.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunSettings {
    /// Gravity, m/s²; standard gravity.
    pub gravity: f64,
    /// Freeboard below which a run does not pass, m; 0: the water may touch the underside of the grate.
    pub least_freeboard_m: f64,
    /// About how many evenly spaced stations the profile has.
    pub stations: usize,
    /// Froude numbers between which flow counts as near critical; 0.9 to 1.1 (from memory: surface waves are seen
    /// within about a tenth of critical depth).
    pub froude_band: (f64, f64),
    /// Share of the run that must be near critical before it is said; one tenth (common practice, no source).
    pub near_critical_share: f64,
    /// How near the bed slope may come to the one that changes the regime before it is said; one tenth.
    pub regime_margin: f64,
    /// Bed slope up to which the small-slope equations hold to one per cent; 0.10.
    pub steep_bed: f64,
    /// Length of a hydraulic jump in depths of the water after it; 6 (Chow 1959, ch. 15, from memory).
    pub jump_length_depths: f64,
    /// Residual of the momentum balance above which the answer says that it does not close; 1e-6.
    pub balance_limit: f64,
}

impl Default for RunSettings {
    fn default() -> Self {
        Self {
            gravity: STANDARD_GRAVITY,
            least_freeboard_m: 0.0,
            stations: 60,
            froude_band: (0.9, 1.1),
            near_critical_share: 0.1,
            regime_margin: 0.1,
            steep_bed: 0.10,
            jump_length_depths: 6.0,
            balance_limit: 1e-6,
        }
    }
}

/// Everything that describes a run. Stations run from the start; a positive fall is towards the finish.
#[derive(Debug, Clone, PartialEq)]
pub struct RunInput {
    /// Cross-section.
    pub section: OpenSection,
    /// Manning's n, s/m^(1/3): polymer concrete 0.011, cast concrete 0.013, smooth plastic 0.009 to 0.011 (Caltrans
    /// Highway Design Manual, table 851.2, read); 0 is frictionless.
    pub manning_n: f64,
    /// Legs from start to finish.
    pub legs: Vec<Leg>,
    /// Inflow spread along the run.
    pub lateral: Vec<LateralInflow>,
    /// Inflow at single places.
    pub points: Vec<PointInflow>,
    /// Flow that arrives at the start along the channel, m³/s.
    pub entering_at_start_m3_per_s: f64,
    /// Flow that arrives at the finish along the channel, m³/s.
    pub entering_at_finish_m3_per_s: f64,
    /// Outlets, at least one.
    pub outlets: Vec<Outlet>,
    /// Numbers of the trade.
    pub settings: RunSettings,
}

impl RunInput {
    /// One leg with even inflow and a free outlet at its finish.
    #[must_use]
    pub fn simple(section: OpenSection, manning_n: f64, leg: Leg, flow_m2_per_s: f64) -> Self {
        Self {
            section,
            manning_n,
            legs: vec![leg],
            lateral: vec![LateralInflow { from_m: 0.0, to_m: leg.length_m, flow_m2_per_s }],
            points: Vec::new(),
            entering_at_start_m3_per_s: 0.0,
            entering_at_finish_m3_per_s: 0.0,
            outlets: vec![Outlet::free(leg.length_m)],
            settings: RunSettings::default(),
        }
    }

    /// Sum of the leg lengths, m.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.legs.iter().map(|leg| leg.length_m).sum()
    }

    /// The same run seen from its other end: stations, falls and ends swapped.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let length = self.length_m();
        let mut legs: Vec<Leg> = Vec::with_capacity(self.legs.len());
        let mut corner = 0.0;
        for leg in &self.legs {
            legs.push(Leg {
                length_m: leg.length_m,
                surface_fall: -leg.surface_fall,
                depth_start_m: leg.depth_end_m,
                depth_end_m: leg.depth_start_m,
                corner_loss_at_end: corner,
            });
            corner = leg.corner_loss_at_end;
        }
        legs.reverse();
        let mut outlets: Vec<Outlet> = self
            .outlets
            .iter()
            .map(|outlet| Outlet { station_m: length - outlet.station_m, ..outlet.clone() })
            .collect();
        outlets.reverse();
        Self {
            section: self.section,
            manning_n: self.manning_n,
            legs,
            lateral: self
                .lateral
                .iter()
                .map(|l| LateralInflow { from_m: length - l.to_m, to_m: length - l.from_m, ..*l })
                .collect(),
            points: self
                .points
                .iter()
                .map(|p| PointInflow { station_m: length - p.station_m, ..*p })
                .collect(),
            entering_at_start_m3_per_s: self.entering_at_finish_m3_per_s,
            entering_at_finish_m3_per_s: self.entering_at_start_m3_per_s,
            outlets,
            settings: self.settings,
        }
    }

    /// The same run with every inflow multiplied.
    #[must_use]
    pub fn with_flow_times(&self, factor: f64) -> Self {
        let mut scaled = self.clone();
        scaled.lateral.iter_mut().for_each(|l| l.flow_m2_per_s *= factor);
        scaled.points.iter_mut().for_each(|p| p.flow_m3_per_s *= factor);
        scaled.entering_at_start_m3_per_s *= factor;
        scaled.entering_at_finish_m3_per_s *= factor;
        scaled
    }

    /// The same run with every length and station multiplied: inflow per length, point inflows, surface falls and
    /// the channel's depths at the leg ends stay.
    #[must_use]
    pub fn with_length_times(&self, factor: f64) -> Self {
        let mut scaled = self.clone();
        scaled.legs.iter_mut().for_each(|leg| leg.length_m *= factor);
        for lateral in &mut scaled.lateral {
            lateral.from_m *= factor;
            lateral.to_m *= factor;
        }
        scaled.points.iter_mut().for_each(|p| p.station_m *= factor);
        scaled.outlets.iter_mut().for_each(|outlet| outlet.station_m *= factor);
        scaled
    }
}

/// A run whose description holds together.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    input: RunInput,
    pub(super) layout: Layout,
}

impl Run {
    /// Checks a description.
    ///
    /// # Errors
    /// Every rule it breaks, each with its place, value, and what is allowed.
    pub fn new(input: RunInput) -> Result<Self, RangeFaults> {
        check::all(&input).into_result()?;
        let layout = Layout::new(&input);
        Ok(Self { input, layout })
    }

    /// The description.
    #[must_use]
    pub fn input(&self) -> &RunInput {
        &self.input
    }

    /// Length, m.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.input.length_m()
    }

    /// All the inflow together, m³/s.
    #[must_use]
    pub fn total_inflow_m3_per_s(&self) -> f64 {
        self.layout.total_inflow()
            + self.input.entering_at_start_m3_per_s
            + self.input.entering_at_finish_m3_per_s
    }
}
