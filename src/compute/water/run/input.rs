//! What describes a run, and the check that makes a description a [`Run`].

use super::layout::Layout;
use crate::compute::water::STANDARD_GRAVITY;
use crate::compute::water::bounds::{self, Faults};
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
    /// Depth of standing water at the outlet above the bed, from a pipe or ditch that backs up, m.
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
        let tailwater = self.tailwater_depth_m.unwrap_or(0.0);
        match &self.opening {
            Some(opening) if flow_m3_per_s > 0.0 => opening.depth_m(flow_m3_per_s, tailwater, gravity),
            _ => tailwater,
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

/// How far beyond an end a station may lie and still count as that end, m.
const STATION_SLACK_M: f64 = 1e-6;

impl Run {
    /// Checks a description.
    ///
    /// # Errors
    /// Every rule it breaks, each with its place, value, and what is allowed.
    pub fn new(input: RunInput) -> Result<Self, Faults> {
        let mut faults = Faults::default();
        check_legs(&input, &mut faults);
        check_inflow(&input, &mut faults);
        check_outlets(&input, &mut faults);
        faults.check(&bounds::MANNING_N, "manning_n", input.manning_n);
        check_settings(&input.settings, &mut faults);
        faults.into_result()?;
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

fn check_legs(input: &RunInput, faults: &mut Faults) {
    if input.legs.is_empty() {
        faults.add("legs", "empty", "a run has at least one leg");
    }
    for (i, leg) in input.legs.iter().enumerate() {
        faults.check_at(&bounds::LEG_LENGTH, || format!("legs[{i}].length_m"), leg.length_m);
        faults.check_at(&bounds::BED_SLOPE, || format!("legs[{i}].surface_fall"), leg.surface_fall);
        faults.check_at(&bounds::CHANNEL_DEPTH, || format!("legs[{i}].depth_start_m"), leg.depth_start_m);
        faults.check_at(&bounds::CHANNEL_DEPTH, || format!("legs[{i}].depth_end_m"), leg.depth_end_m);
        faults.check_at(
            &bounds::LOSS_COEFFICIENT,
            || format!("legs[{i}].corner_loss_at_end"),
            leg.corner_loss_at_end,
        );
        if leg.length_m >= bounds::LEG_LENGTH.min {
            faults.check_at(&bounds::BED_SLOPE, || format!("legs[{i}] bed slope"), leg.bed_slope());
        }
    }
    for (i, pair) in input.legs.windows(2).enumerate() {
        if let [above, below] = pair
            && (above.depth_end_m - below.depth_start_m).abs() > STATION_SLACK_M
        {
            faults.add(
                format!("legs[{}].depth_start_m", i + 1),
                below.depth_start_m,
                format!(
                    "a leg starts as deep as the one before it ends, {} m: a step in the bed is not computed",
                    above.depth_end_m
                ),
            );
        }
    }
    if let Some(last) = input.legs.last()
        && last.corner_loss_at_end != 0.0
    {
        faults.add(
            format!("legs[{}].corner_loss_at_end", input.legs.len() - 1),
            last.corner_loss_at_end,
            "the last leg ends at no corner: its loss must be 0",
        );
    }
}

fn check_station(faults: &mut Faults, place: impl FnOnce() -> String, station_m: f64, length: f64) {
    let inside = station_m >= -STATION_SLACK_M && station_m <= length + STATION_SLACK_M;
    if !inside {
        faults.add(place(), station_m, format!("a station lies on the run, from 0 to {length} m"));
    }
}

fn check_inflow(input: &RunInput, faults: &mut Faults) {
    let length = input.length_m();
    for (i, lateral) in input.lateral.iter().enumerate() {
        check_station(faults, || format!("lateral[{i}].from_m"), lateral.from_m, length);
        check_station(faults, || format!("lateral[{i}].to_m"), lateral.to_m, length);
        faults.check_at(
            &bounds::LATERAL_FLOW,
            || format!("lateral[{i}].flow_m2_per_s"),
            lateral.flow_m2_per_s,
        );
        if lateral.to_m <= lateral.from_m {
            faults.add(format!("lateral[{i}].to_m"), lateral.to_m, "a stretch ends after it starts (from_m)");
        }
    }
    for (i, point) in input.points.iter().enumerate() {
        check_station(faults, || format!("points[{i}].station_m"), point.station_m, length);
        faults.check_at(&bounds::FLOW, || format!("points[{i}].flow_m3_per_s"), point.flow_m3_per_s);
    }
    faults.check(&bounds::FLOW, "entering_at_start_m3_per_s", input.entering_at_start_m3_per_s);
    faults.check(&bounds::FLOW, "entering_at_finish_m3_per_s", input.entering_at_finish_m3_per_s);
}

fn check_outlets(input: &RunInput, faults: &mut Faults) {
    let length = input.length_m();
    if input.outlets.is_empty() {
        faults.add("outlets", "empty", "a run has at least one outlet: at an end, or in its floor");
    }
    for (i, outlet) in input.outlets.iter().enumerate() {
        check_station(faults, || format!("outlets[{i}].station_m"), outlet.station_m, length);
        if let Some(depth) = outlet.tailwater_depth_m {
            faults.check_at(&bounds::WATER_DEPTH, || format!("outlets[{i}].tailwater_depth_m"), depth);
        }
        if let Some(opening) = &outlet.opening
            && opening.check("").is_err()
            && let Err(found) = opening.check(&format!("outlets[{i}].opening"))
        {
            faults.extend(found);
        }
        for (end, station, entering) in [
            ("start", 0.0, input.entering_at_start_m3_per_s),
            ("finish", length, input.entering_at_finish_m3_per_s),
        ] {
            if entering > 0.0 && (outlet.station_m - station).abs() <= STATION_SLACK_M {
                faults.add(
                    format!("entering_at_{end}_m3_per_s"),
                    entering,
                    format!("outlets[{i}] is at the {end}: flow cannot enter along the channel there"),
                );
            }
        }
    }
    for (i, pair) in input.outlets.windows(2).enumerate() {
        if let [first, second] = pair
            && second.station_m - first.station_m <= STATION_SLACK_M
        {
            faults.add(
                format!("outlets[{}].station_m", i + 1),
                second.station_m,
                format!("outlets are listed by station, each after the one before ({} m)", first.station_m),
            );
        }
    }
}

fn check_settings(settings: &RunSettings, faults: &mut Faults) {
    faults.check(&bounds::GRAVITY, "settings.gravity", settings.gravity);
    faults.check(&bounds::WATER_DEPTH, "settings.least_freeboard_m", settings.least_freeboard_m);
    if settings.stations < 2 || settings.stations > 10_000 {
        faults.add("settings.stations", settings.stations, "a profile has 2 to 10000 stations");
    }
    let band = settings.froude_band;
    if !(band.0 > 0.0 && band.0 < band.1 && band.1.is_finite()) {
        faults.add("settings.froude_band", format!("{band:?}"), "two Froude numbers, the smaller first");
    }
    faults.check(&bounds::FRACTION, "settings.near_critical_share", settings.near_critical_share);
    faults.check(&bounds::FRACTION, "settings.regime_margin", settings.regime_margin);
    faults.check(&bounds::BED_SLOPE, "settings.steep_bed", settings.steep_bed);
    faults.check(&bounds::LOSS_COEFFICIENT, "settings.jump_length_depths", settings.jump_length_depths);
    faults.check(&bounds::FRACTION, "settings.balance_limit", settings.balance_limit);
}
