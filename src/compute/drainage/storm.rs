//! Rain, and the flow of each catchment.

use super::Rules;
use super::answer::CatchmentFlow;
use super::shelf::RainShelf;
use super::words::Say;
use crate::compute::rain::{Frequency, IntensityFormula, Rain, RainError};
use crate::compute::water::bounds::RangeFault;
use crate::compute::water::runoff::{
    Catchment, CatchmentError, DesignFlow, PathSegment, SURFACES, SurfaceArea, design_flow,
};
use crate::domain::layout::Layout;
use crate::domain::layout::water::{Demand, Shed};
use crate::units::{Percent, Quantity, Unit};
use crate::wire::water::{CatchmentSurface, FlowPath, RainFormulaUnit, RainNotes, Storm};
use crate::wire::{At, Faults};

/// What flows where.
#[derive(Debug)]
pub(super) struct Flows {
    pub(super) return_period: Option<i64>,
    pub(super) rain: String,
    pub(super) catchments: Vec<CatchmentFlow>,
    /// Inflow of each run.
    pub(super) runs: Vec<RunInflow>,
}

/// What flows into one run.
#[derive(Debug, Clone, Default)]
pub(super) struct RunInflow {
    /// Chain, from and to in m, flow per metre in m³/s.
    pub(super) spread: Vec<(usize, f64, f64, f64)>,
    /// Chain, station in m, flow in m³/s.
    pub(super) points: Vec<(usize, f64, f64)>,
}

impl RunInflow {
    /// Whether nothing of the notes flows into the run, not even a catchment that sheds next to nothing.
    pub(super) fn is_empty(&self) -> bool {
        self.spread.is_empty() && self.points.is_empty()
    }

    /// All that is told to flow into a chain, m³/s.
    pub(super) fn reaching(&self, chain: usize) -> f64 {
        let spread =
            self.spread.iter().filter(|(c, ..)| *c == chain).map(|(_, from, to, flow)| flow * (to - from));
        let points = self.points.iter().filter(|(c, ..)| *c == chain).map(|(_, _, flow)| flow);
        spread.sum::<f64>() + points.sum::<f64>()
    }
}

pub(super) fn flows(
    demand: &Demand<'_>,
    layout: &Layout<'_>,
    rules: Rules<'_>,
    rains: &RainShelf,
) -> Result<Flows, Faults> {
    let say = Say(layout.show);
    let mut faults = Faults::new();
    let rain = rain(demand.storm, demand.return_period, rains, &mut faults);
    let Some((rain, rain_text)) = rain else { return Err(faults) };
    let mut runs = vec![RunInflow::default(); layout.runs.len()];
    let mut catchments = Vec::with_capacity(demand.catchments.len());
    let list_at = At::ROOT.member("catchments");
    let settings = rules.concentration();
    let factors = rules.frequency_factors(demand.return_period);
    let whose = Whose { return_period: demand.return_period, of_book: rules.sets_frequency_factors() };
    for (i, shed) in demand.catchments.iter().enumerate() {
        let catchment = Catchment {
            surfaces: shed.notes.surfaces.iter().map(surface).collect(),
            path: shed.notes.path.iter().map(segment).collect(),
            return_period_years: demand.return_period.unwrap_or(1) as f64,
        };
        match design_flow(&catchment, &rain, &factors, &settings) {
            Ok(flow) => {
                spread(shed, flow.flow_m3_per_s, &mut runs);
                catchments.push(told(shed, &flow, whose, say));
            }
            Err(CatchmentError::Invalid(found)) => {
                for fault in found.list() {
                    at_its_member(fault, &list_at.element(i), &mut faults);
                }
            }
            Err(CatchmentError::Rain(error @ RainError::DurationOutsideTable { .. })) => {
                outside_table(&error, shed, &list_at.element(i), rules, &mut faults);
            }
            Err(CatchmentError::Rain(error)) => rain_fault(&error, &mut faults),
            Err(error @ CatchmentError::Unsettled { .. }) => {
                let detail = format!(
                    "{error}: take a rain formula fitted to the durations needed, a rain table or one intensity, or describe \
                     the way of the water without a `sheet`"
                );
                faults.add(&list_at.element(i).member("path"), "concentration_unsettled", detail);
            }
        }
    }
    for inflow in &demand.inflows {
        if let Some(run) = runs.get_mut(inflow.run) {
            run.points.push((inflow.at.chain, inflow.at.from.metres_f64(), inflow.notes.flow.m3_per_s()));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Flows { return_period: demand.return_period, rain: rain_text, catchments, runs })
}

/// The fault of a number of the computing core, at the member of the catchment that it came from. The number is told in the
/// unit of the core, which its rule names.
fn at_its_member(fault: &RangeFault, catchment: &At<'_>, faults: &mut Faults) {
    let (list, rest) = fault.place.split_once('[').unwrap_or((&fault.place, ""));
    let (index, field) = rest.split_once("].").unwrap_or((rest, ""));
    let member = match field {
        "slope" => "fall_pct",
        "n" => "roughness",
        "factor_fps" => "velocity_factor",
        "length_m" => "length",
        "area_m2" => "area",
        same => same,
    };
    let detail = format!("{} in the unit of the rule: {}", fault.value, fault.rule);
    match index.parse() {
        Ok(index) => {
            let list = catchment.member(list);
            faults.add(&list.element(index).member(member), "out_of_range", detail)
        }
        Err(_) => faults.add(catchment, "out_of_range", detail),
    };
}

/// A time of concentration that the rain table does not cover: told at the way of the water, or at the table where no way
/// is noted and the least time of concentration decides, once for all catchments.
fn outside_table(error: &RainError, shed: &Shed<'_>, at: &At<'_>, rules: Rules<'_>, faults: &mut Faults) {
    const CODE: &str = "duration_outside_rain_table";
    if !shed.notes.path.is_empty() {
        faults.add(&at.member("path"), CODE, error.to_string());
        return;
    }
    let storm_at = At::ROOT.member("storm");
    let rain_at = storm_at.member("rain");
    let table_at = rain_at.member("table");
    if faults.list().iter().any(|f| f.code == CODE && f.pointer == table_at.pointer()) {
        return;
    }
    let least = Quantity::computed(rules.concentration().floor_minutes, Unit::Min, 2);
    let detail = format!(
        "catchment `{}` has no `path`, so the least time of concentration of the price book's water rules holds, {least}: {error}",
        shed.notes.id
    );
    faults.add(&table_at, CODE, detail);
}

fn rain_fault(error: &RainError, faults: &mut Faults) {
    match error {
        RainError::NoSuchFrequency { asked, available } => {
            faults
                .value(
                    &At::ROOT.member("storm").member("return_period_years"),
                    "not_in_rain_table",
                    asked,
                    "the rain table has no column for this return period",
                )
                .allow(available.iter().map(String::as_str));
        }
        other => {
            faults.add(&At::ROOT.member("storm").member("rain"), "rain", other.to_string());
        }
    }
}

/// The rain of a storm, and how it is told.
pub(super) fn rain(
    storm: &Storm,
    return_period: Option<i64>,
    rains: &RainShelf,
    faults: &mut Faults,
) -> Option<(Rain, String)> {
    let storm_at = At::ROOT.member("storm");
    let rain_at = storm_at.member("rain");
    let made = match &storm.rain {
        RainNotes::Intensity { intensity } => {
            let mm = intensity.mm_per_h();
            Rain::given(mm).map(|r| (r, "one intensity, as given".to_owned()))
        }
        RainNotes::Formula { a, b, c, unit } => {
            let text = format!("i = {} / (t + {b})^{c} {unit}, t in minutes", plain_constant(a.number_f64()));
            let number = |f: &crate::units::Factor| f.millionths() as f64 / 1e6;
            let formula = match unit {
                RainFormulaUnit::InPerHr => {
                    IntensityFormula::from_inches(a.number_f64(), number(b), number(c))
                }
                RainFormulaUnit::MmPerHr => IntensityFormula::new(a.number_f64(), number(b), number(c)),
            };
            formula.map(|f| (Rain::Formula(f), text))
        }
        RainNotes::Table { table } => {
            let Some(found) = rains.table(table) else {
                faults
                    .value(
                        &rain_at.member("table"),
                        "unknown_rain_table",
                        table.as_str(),
                        "no rain table of this code is stored; POST /v1/rain-tables stores one",
                    )
                    .allow(rains.known.iter().map(|c| c.as_str()));
                return None;
            };
            let years = return_period? as f64;
            let frequency = found.frequencies().iter().copied().find(|f| (f.years() - years).abs() < 1e-9);
            let Some(frequency) = frequency else {
                faults
                    .value(
                        &storm_at.member("return_period_years"),
                        "not_in_rain_table",
                        &years.to_string(),
                        format!("the rain table `{table}` has no column for this return period"),
                    )
                    .allow(found.frequencies().iter().map(|f| f.years().to_string()).collect::<Vec<_>>());
                return None;
            };
            let what = match frequency {
                Frequency::RecurrenceYears(y) => format!("{y}-year recurrence"),
                Frequency::OneIn(y) => format!("yearly chance of 1 in {y}"),
            };
            let bound = found.bound().words().map_or_else(String::new, |words| format!(" ({words})"));
            Ok((
                Rain::Table(found.clone(), frequency),
                format!(
                    "rain table `{table}`{bound}, {what}, between its durations straight on logarithmic axes"
                ),
            ))
        }
    };
    match made {
        Ok(made) => Some(made),
        Err(error) => {
            rain_fault(&error, faults);
            None
        }
    }
}

fn plain_constant(value: f64) -> String {
    Quantity::computed(value, Unit::Each, 6).to_string()
}

fn surface(surface: &CatchmentSurface) -> SurfaceArea {
    SurfaceArea { coefficient: coefficient(surface), area_m2: surface.area.square_metres_f64() }
}

fn coefficient(surface: &CatchmentSurface) -> f64 {
    surface.coefficient.map_or_else(
        || SURFACES.iter().find(|s| s.key == surface.cover.word()).map_or(1.0, |s| s.default),
        |c| c.millionths() as f64 / 1e6,
    )
}

fn segment(path: &FlowPath) -> PathSegment {
    let share = |p: &Percent| p.millionths() as f64 / 1e6;
    let number = |f: &crate::units::Factor| f.millionths() as f64 / 1e6;
    match path {
        FlowPath::Sheet { length, fall_pct, roughness } => {
            PathSegment::Sheet { n: number(roughness), length_m: length.metres_f64(), slope: share(fall_pct) }
        }
        FlowPath::Overland { length, fall_pct, coefficient } => PathSegment::Overland {
            coefficient: number(coefficient),
            length_m: length.metres_f64(),
            slope: share(fall_pct),
        },
        FlowPath::Shallow { length, fall_pct, velocity_factor } => PathSegment::Shallow {
            factor_fps: number(velocity_factor),
            length_m: length.metres_f64(),
            slope: share(fall_pct),
        },
    }
}

/// Hands the flow of a catchment to the runs it reaches.
fn spread(shed: &Shed<'_>, flow: f64, runs: &mut [RunInflow]) {
    for reach in &shed.reaches {
        let Some(run) = runs.get_mut(reach.run) else { continue };
        let part = flow * reach.share;
        let length: f64 = reach.stretches.iter().map(|s| (s.to - s.from).metres_f64()).sum();
        for stretch in &reach.stretches {
            let (from, to) = (stretch.from.metres_f64(), stretch.to.metres_f64());
            if length > 0.0 {
                run.spread.push((stretch.chain, from, to, part / length));
            } else {
                run.points.push((stretch.chain, from, part));
            }
        }
    }
}

/// Whose factor a coefficient is raised by.
#[derive(Debug, Clone, Copy)]
struct Whose {
    /// Return period of the storm in years, where anything names it.
    return_period: Option<i64>,
    /// Whether the price book sets the factors.
    of_book: bool,
}

fn told(shed: &Shed<'_>, flow: &DesignFlow, whose: Whose, say: Say) -> CatchmentFlow {
    use std::fmt::Write as _;
    let mut basis = String::with_capacity(240);
    for (i, s) in shed.notes.surfaces.iter().enumerate() {
        if i > 0 {
            basis.push_str(" + ");
        }
        let _ = write!(
            basis,
            "{} of {} at {}",
            say.area(s.area.square_metres_f64()),
            s.cover,
            Quantity::computed(coefficient(s), Unit::Each, 3)
        );
        if s.coefficient.is_none() {
            basis.push_str(" (high end of the published range)");
        }
    }
    let _ = write!(basis, ": C {}", Quantity::computed(flow.composite.coefficient, Unit::Each, 4));
    let of_book = whose.return_period.filter(|_| whose.of_book);
    if flow.frequency_factor > 1.0 || of_book.is_some() {
        let _ = write!(basis, " x frequency factor {}", flow.frequency_factor);
        if let Some(years) = of_book {
            let _ = write!(basis, " (price book, for a storm of {years} years)");
        }
        let applied = Quantity::computed(flow.applied_coefficient, Unit::Each, 4);
        let product = flow.composite.coefficient * flow.frequency_factor;
        // told to four places
        let _ = if product > 1.000_05 {
            write!(basis, " = {}, of which at most 1 is taken", Quantity::computed(product, Unit::Each, 4))
        } else {
            write!(basis, " = {applied}, at most 1")
        };
    }
    if shed.notes.path.is_empty() {
        let _ = write!(
            basis,
            "; least time of concentration {} min",
            Quantity::computed(flow.duration_minutes, Unit::Each, 2)
        );
    } else if let Some(last) = flow.steps.last() {
        let parts: Vec<String> =
            last.segment_minutes.iter().map(|m| Quantity::computed(*m, Unit::Each, 2).to_string()).collect();
        let _ = write!(basis, "; way of the water {} min", parts.join(" + "));
        if flow.at_floor {
            let _ = write!(
                basis,
                ", below the least {} min",
                Quantity::computed(flow.duration_minutes, Unit::Each, 2)
            );
        }
    }
    let _ = write!(
        basis,
        "; rain at {} min {}; Q = C i A = {}{}",
        Quantity::computed(flow.duration_minutes, Unit::Each, 2),
        say.rain(flow.intensity_mm_per_h),
        say.flow(flow.flow_m3_per_s),
        say.exact_factor()
    );
    CatchmentFlow {
        catchment: shed.notes.id.as_str().to_owned(),
        area: say.area(flow.composite.area_m2),
        coefficient: Quantity::computed(flow.applied_coefficient, Unit::Each, 4).to_string(),
        concentration: Quantity::computed(flow.duration_minutes, Unit::Min, 2),
        intensity: say.rain(flow.intensity_mm_per_h),
        flow: say.flow(flow.flow_m3_per_s),
        rule: "water.catchment",
        basis,
        warnings: flow.warnings.iter().map(|w| say.warning(w)).collect(),
    }
}
