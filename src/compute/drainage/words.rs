//! Numbers and warnings in the job's units.

use super::answer::WaterWarning;
use crate::compute::water::bounds::{Limit, RangeFaults};
use crate::compute::water::run::RunError;
use crate::compute::water::warning::Warning;
use crate::units::factors::{
    METRES_PER_FOOT, METRES_PER_INCH, MILLIMETRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT,
};
use crate::units::show::Show;
use crate::units::{Length, Quantity, Unit, UnitSystem};

/// Decimals beyond which a computed depth says no more.
const MOST_PLACES: u8 = 9;

/// Turns SI numbers into quantities of the job's unit system.
#[derive(Debug, Clone, Copy)]
pub(super) struct Say(pub(super) Show);

impl Say {
    /// Which factor of the rational formula is taken, where it is usually rounded.
    pub(super) fn exact_factor(self) -> &'static str {
        if self.us() { " (exact: 121/120 ft3/s for an acre and 1 in/h)" } else { "" }
    }
    fn us(self) -> bool {
        self.0.0 == UnitSystem::Us
    }
    fn pick(self, si: f64, us: (Unit, f64, u8), metric: (Unit, f64, u8)) -> Quantity {
        let (unit, size, places) = if self.us() { us } else { metric };
        Quantity::computed(si / size, unit, places)
    }
    /// A depth of water, m: to a hundredth of an inch or a tenth of a millimetre.
    pub(super) fn depth(self, m: f64) -> Quantity {
        self.pick(m, (Unit::In, METRES_PER_INCH, 2), (Unit::Mm, 0.001, 1))
    }
    /// Two depths of water that are compared, m: with as many decimals as tell them apart.
    pub(super) fn depths_apart(self, one: f64, other: f64) -> [Quantity; 2] {
        self.apart([one, other], (Unit::In, METRES_PER_INCH, 2), (Unit::Mm, 0.001, 1))
    }
    /// Two velocities that are compared, m/s: with as many decimals as tell them apart.
    fn speeds_apart(self, one: f64, other: f64) -> [Quantity; 2] {
        self.apart([one, other], (Unit::FtPerS, METRES_PER_FOOT, 2), (Unit::MPerS, 1.0, 2))
    }
    fn apart(self, two: [f64; 2], us: (Unit, f64, u8), metric: (Unit, f64, u8)) -> [Quantity; 2] {
        let (unit, size, usual) = if self.us() { us } else { metric };
        let to = |places| two.map(|si| Quantity::computed(si / size, unit, places));
        (usual..=MOST_PLACES).map(to).find(|[one, other]| one != other).unwrap_or_else(|| to(usual))
    }
    /// A distance or level, m.
    pub(super) fn far(self, m: f64) -> Quantity {
        self.pick(m, (Unit::Ft, METRES_PER_FOOT, 3), (Unit::M, 1.0, 3))
    }
    /// A flow, m³/s.
    pub(super) fn flow(self, m3_per_s: f64) -> Quantity {
        self.pick(
            m3_per_s,
            (Unit::GalUsPerMin, Unit::GalUsPerMin.si_rate(), 2),
            (Unit::LPerS, Unit::LPerS.si_rate(), 3),
        )
    }
    /// A velocity, m/s.
    pub(super) fn speed(self, m_per_s: f64) -> Quantity {
        self.pick(m_per_s, (Unit::FtPerS, METRES_PER_FOOT, 2), (Unit::MPerS, 1.0, 2))
    }
    /// A rain intensity, mm/h.
    pub(super) fn rain(self, mm_per_h: f64) -> Quantity {
        self.pick(mm_per_h, (Unit::InPerHr, MILLIMETRES_PER_INCH, 3), (Unit::MmPerHr, 1.0, 2))
    }
    /// An area, m².
    pub(super) fn area(self, m2: f64) -> Quantity {
        self.pick(m2, (Unit::Ft2, SQUARE_METRES_PER_SQUARE_FOOT, 1), (Unit::M2, 1.0, 2))
    }

    /// A warning of the computation.
    pub(super) fn warning(self, warning: &Warning) -> WaterWarning {
        WaterWarning { kind: warning.kind(), text: self.warning_text(warning) }
    }

    fn warning_text(self, warning: &Warning) -> String {
        let (far, depth) = (|m: f64| self.far(m), |m: f64| self.depth(m));
        match *warning {
            Warning::NearCritical { from_m, to_m, froude_band: (low, high) } => format!(
                "from {} to {} the flow is near critical (Froude number {low} to {high}): expect waves, and depths that \
                 change much with small changes of the input",
                far(from_m),
                far(to_m)
            ),
            Warning::NearRegimeChange { station_m, slope_ratio } => format!(
                "at {} the bed has {slope_ratio:.3} of the slope that turns the flow fast: a slightly different slope, \
                 roughness or flow changes where the water is controlled",
                far(station_m)
            ),
            Warning::HydraulicJump { station_m, length_m } => format!(
                "a hydraulic jump at {}: rough water over about {}, and its place moves with small changes of the input",
                far(station_m),
                far(length_m)
            ),
            Warning::FastFlowAtCorner { station_m, froude } => format!(
                "fast flow (Froude number {froude:.2}) meets a corner at {}: it climbs the outer wall and may splash out",
                far(station_m)
            ),
            Warning::FastFlowAtOutlet { station_m, froude } => format!(
                "fast flow (Froude number {froude:.2}) reaches the outlet at {}: part of it can shoot past the opening",
                far(station_m)
            ),
            Warning::PassesOutlet { station_m, flow_m3_per_s } => format!(
                "the outlet at {} is too small for what arrives: {} pass it along the run",
                far(station_m),
                self.flow(flow_m3_per_s)
            ),
            Warning::StandingWater { station_m, depth_m } => format!(
                "the bed falls away from the outlets: {} of water stands at {} after the storm",
                depth(depth_m),
                far(station_m)
            ),
            Warning::NotTurbulent { station_m, reynolds } => format!(
                "the flow at {} is too thin and slow for Manning's formula (Reynolds number {reynolds:.0}, turbulent from \
                 about 2000)",
                far(station_m)
            ),
            Warning::AboveGrate { station_m, by_m } => format!(
                "from {} on the water stands above the underside of the grate, by {} at the worst: depths there assume \
                 walls that go on upward",
                far(station_m),
                depth(by_m)
            ),
            Warning::LongFlow { what, length_m, limit_m } => format!(
                "{} of {what}, longer than the {} up to which its formula is used: describe the rest as `shallow`",
                far(length_m),
                far(limit_m)
            ),
            Warning::TooSlow { velocity_m_per_s, limit_m_per_s } => {
                let [runs, least] = self.speeds_apart(velocity_m_per_s, limit_m_per_s);
                format!("flowing full it runs {runs}, slower than the {least} that carry grit away")
            }
            Warning::TooFast { velocity_m_per_s, limit_m_per_s } => {
                let [runs, most] = self.speeds_apart(velocity_m_per_s, limit_m_per_s);
                format!("it runs {runs}, faster than the {most} that pipes are usually kept to")
            }
            Warning::SteepBed { slope, limit } => format!(
                "the bed falls {}; above {} the equations, made for small slopes, are off by more than one per cent",
                percent(slope),
                percent(limit)
            ),
            // Numbers without a unit of length.
            Warning::BalanceNotClosed { .. } | Warning::RarerStorm { .. } => warning.to_string(),
        }
    }

    /// Why a channel with built-in fall that arrives at an outlet in two depths has no water surface.
    pub(super) fn bed_step(self, (at, before, behind): (Length, f64, f64)) -> String {
        format!(
            "with its built-in fall the channel is {} deep where it reaches the outlet at {} from one side and {} from the \
             other: a step in the bottom is not computed. Move the outlet to the end or to the middle of the run, or take a \
             system without built-in fall",
            self.depth(before),
            self.far(at.metres_f64()),
            self.depth(behind)
        )
    }

    /// Why a chain is not computed that a tee would feed though it has outlets: its first and last leg, and by how much the water
    /// at the tee stands too high.
    pub(super) fn fed_at_tee(self, (first, last): (usize, usize), excess_m: f64) -> String {
        let legs =
            if first == last { format!("leg {first} meets") } else { format!("legs {first} to {last} meet") };
        format!(
            "the water at the tee that {legs} stands {} higher than the branch towards its own outlet needs, so it would flow \
             into the branch. Where both sides of a tee have outlets, water is computed from the branch only: leave out one of \
             the outlets, or describe the branch as a run of its own with the water that it takes as an inflow",
            self.depth(excess_m)
        )
    }

    /// Why a run has no water surface.
    pub(super) fn refusal(self, error: &RunError) -> String {
        match error {
            RunError::OutletFeedsRun { station_m, other_station_m, excess_m } => format!(
                "the water at the outlet at {} stands {} higher than the run towards the outlet at {} needs, so it would \
                 feed the run instead of draining it: enlarge that outlet or its pipe, lower its tailwater, or remove it",
                self.far(*station_m),
                self.depth(*excess_m),
                self.far(*other_station_m)
            ),
            RunError::DivideUnsettled { station_m } => format!(
                "the split of the flow between the outlets near {} did not settle: state one outlet fewer there",
                self.far(*station_m)
            ),
            RunError::StepBudget { station_m, .. } | RunError::NoContinuation { station_m, .. } => format!(
                "the water surface near {} could not be followed: change the slope, flow or section there slightly, or \
                 divide the run into shorter legs",
                self.far(*station_m)
            ),
            RunError::Invalid(faults) => self.faults(faults, &|_| None),
        }
    }

    /// What the computing core does not take, each once, in the job's units. `whose` says of what on the job a place of its
    /// input is: ` of line main`.
    pub(super) fn faults(self, faults: &RangeFaults, whose: &dyn Fn(&str) -> Option<String>) -> String {
        let mut told: Vec<String> = Vec::new();
        for fault in faults.list() {
            let whose = whose(&fault.place).unwrap_or_default();
            let text = match fault.limit.as_deref() {
                Some(Limit { bound, value }) => format!(
                    "the {}{whose} is {}, and water is computed from {} to {} ({})",
                    bound.label,
                    self.measured(*value, bound.unit),
                    self.measured(bound.min, bound.unit),
                    self.measured(bound.max, bound.unit),
                    bound.why
                ),
                None => format!("the water{whose} is not computed: {}", fault.rule),
            };
            if !told.contains(&text) {
                told.push(text);
            }
        }
        told.join("; ")
    }

    /// A number of the computing core.
    fn measured(self, value: f64, unit: &str) -> String {
        match unit {
            "m" if value.abs() < 0.1 => self.depth(value).to_string(),
            "m" => self.far(value).to_string(),
            "m3/s" => self.flow(value).to_string(),
            "m2/s" if self.us() => format!("{} a ft", self.flow(value * 0.3048)),
            "m2/s" => format!("{} a m", self.flow(value)),
            "m/m" => percent(value).to_string(),
            // Numbers by which the trade knows them without a unit.
            _ => Quantity::computed(value, Unit::Each, 4).to_string(),
        }
    }
}

/// A slope, m/m.
fn percent(slope: f64) -> Quantity {
    Quantity::computed(100.0 * slope, Unit::Percent, 3)
}
