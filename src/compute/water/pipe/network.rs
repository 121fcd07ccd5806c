//! A drain line: legs of pipe that flow together to one discharge.

use super::flow::PipeSettings;
use crate::compute::water::bounds::{self, RangeFaults};
use crate::units::factors::METRES_PER_FOOT;

/// Level of the ground at a distance from a leg's upper end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundPoint {
    /// Distance from the upper end, m.
    pub along_m: f64,
    /// Ground level, m.
    pub level_m: f64,
}

/// One straight leg of pipe.
#[derive(Debug, Clone, PartialEq)]
pub struct LineLeg {
    /// Name by which results and other legs call it.
    pub name: String,
    /// Index of the leg it flows into; `None` at the discharge.
    pub flows_into: Option<usize>,
    /// Length, m.
    pub length_m: f64,
    /// Inside diameter, m.
    pub bore_m: f64,
    /// Wall thickness, m, for the cover.
    pub wall_m: f64,
    /// Manning's n, s/m^(1/3).
    pub n: f64,
    /// Invert at the upper end, m.
    pub invert_upper_m: f64,
    /// Invert at the lower end, m.
    pub invert_lower_m: f64,
    /// Flow that joins at the upper end from outlets and elsewhere, m³/s.
    pub inflow_m3_per_s: f64,
    /// Loss of the bend at its lower end, in velocity heads.
    pub bend_loss: f64,
    /// Loss where it joins the leg below (or discharges), in velocity heads.
    pub junction_loss: f64,
    /// Ground along the leg, by distance; empty when cover is not asked for. Straight between points.
    pub ground: Vec<GroundPoint>,
}

/// Numbers of the trade for drain lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineSettings {
    /// Velocity limits and gravity.
    pub pipe: PipeSettings,
    /// Least slope, m/m; 0.01 (common practice). Code tables ask for more in small pipe.
    pub least_slope: f64,
    /// Least cover over the pipe, m; 12 in (common practice, no source).
    pub least_cover_m: f64,
}

impl Default for LineSettings {
    fn default() -> Self {
        Self { pipe: PipeSettings::default(), least_slope: 0.01, least_cover_m: METRES_PER_FOOT }
    }
}

/// Description of a drain line.
#[derive(Debug, Clone, PartialEq)]
pub struct DrainLineInput {
    /// Legs in any order; they form a tree whose root discharges.
    pub legs: Vec<LineLeg>,
    /// Level of the water the line discharges into, m; `None` discharges freely.
    pub tailwater_level_m: Option<f64>,
    /// Numbers of the trade.
    pub settings: LineSettings,
}

/// A drain line whose description holds together.
#[derive(Debug, Clone, PartialEq)]
pub struct DrainLine {
    pub(super) input: DrainLineInput,
    /// Legs from the upper ends to the discharge: each before the one it flows into.
    pub(super) downstream_order: Vec<usize>,
}

impl DrainLine {
    /// Checks a description.
    ///
    /// # Errors
    /// Every rule it breaks: numbers out of bounds, legs that rise, a leg that flows into none that exists, a ring, more than
    /// one discharge, an upper end below the leg it joins.
    pub fn new(input: DrainLineInput) -> Result<Self, RangeFaults> {
        let mut faults = RangeFaults::default();
        if input.legs.is_empty() {
            faults.add("legs", "empty", "a drain line has at least one leg");
        }
        for (i, leg) in input.legs.iter().enumerate() {
            check_leg(&format!("legs[{i}]"), leg, &mut faults);
            if let Some(below) = leg.flows_into {
                match input.legs.get(below) {
                    None => faults.add(
                        format!("legs[{i}].flows_into"),
                        below,
                        format!("legs are numbered from 0 to {}", input.legs.len() - 1),
                    ),
                    Some(next) if leg.invert_lower_m < next.invert_upper_m - 1e-9 => faults.add(
                        format!("legs[{i}].invert_lower_m"),
                        leg.invert_lower_m,
                        format!(
                            "water does not climb: the leg ends no lower than the invert of {} that it flows into, {} m",
                            next.name, next.invert_upper_m
                        ),
                    ),
                    Some(_) => {}
                }
            }
        }
        let discharges = input.legs.iter().filter(|leg| leg.flows_into.is_none()).count();
        if discharges != 1 && !input.legs.is_empty() {
            faults.add(
                "legs",
                format!("{discharges} legs that discharge"),
                "one leg flows into none: the discharge",
            );
        }
        if let Some(level) = input.tailwater_level_m {
            faults.check(&bounds::LEVEL, "tailwater_level_m", level);
        }
        faults.check(&bounds::BED_SLOPE, "settings.least_slope", input.settings.least_slope);
        faults.check(&bounds::WATER_DEPTH, "settings.least_cover_m", input.settings.least_cover_m);
        let order = downstream_order(&input.legs);
        if order.len() != input.legs.len() && discharges == 1 {
            let stuck: Vec<&str> = (0..input.legs.len())
                .filter(|i| !order.contains(i))
                .filter_map(|i| input.legs.get(i).map(|leg| leg.name.as_str()))
                .collect();
            faults.add(
                "legs",
                stuck.join(", "),
                "these legs flow in a ring: every leg must lead to the discharge",
            );
        }
        faults.into_result()?;
        Ok(Self { input, downstream_order: order })
    }

    /// The description.
    #[must_use]
    pub fn input(&self) -> &DrainLineInput {
        &self.input
    }
}

fn check_leg(place: &str, leg: &LineLeg, faults: &mut RangeFaults) {
    faults.check(&bounds::LEG_LENGTH, format!("{place}.length_m"), leg.length_m);
    faults.check(&bounds::BORE, format!("{place}.bore_m"), leg.bore_m);
    faults.check(
        &bounds::Bound { label: "wall", ..bounds::WATER_DEPTH },
        format!("{place}.wall_m"),
        leg.wall_m,
    );
    faults.check(&bounds::Bound { min: 1e-3, ..bounds::MANNING_N }, format!("{place}.n"), leg.n);
    faults.check(&bounds::LEVEL, format!("{place}.invert_upper_m"), leg.invert_upper_m);
    faults.check(&bounds::LEVEL, format!("{place}.invert_lower_m"), leg.invert_lower_m);
    faults.check(&bounds::FLOW, format!("{place}.inflow_m3_per_s"), leg.inflow_m3_per_s);
    faults.check(&bounds::LOSS_COEFFICIENT, format!("{place}.bend_loss"), leg.bend_loss);
    faults.check(&bounds::LOSS_COEFFICIENT, format!("{place}.junction_loss"), leg.junction_loss);
    for (i, point) in leg.ground.iter().enumerate() {
        faults.check(&bounds::LEVEL, format!("{place}.ground[{i}].level_m"), point.level_m);
        faults.check(&bounds::STATION, format!("{place}.ground[{i}].along_m"), point.along_m);
    }
    for (i, pair) in leg.ground.windows(2).enumerate() {
        if let [a, b] = pair
            && a.along_m >= b.along_m
        {
            faults.add(
                format!("{place}.ground[{}].along_m", i + 1),
                b.along_m,
                "ground points go along the leg in order",
            );
        }
    }
}

/// Legs so that each comes before the one it flows into; legs in a ring are left out.
fn downstream_order(legs: &[LineLeg]) -> Vec<usize> {
    let mut waiting = vec![0_usize; legs.len()];
    for below in legs.iter().filter_map(|leg| leg.flows_into) {
        if let Some(count) = waiting.get_mut(below) {
            *count += 1;
        }
    }
    let mut ready: Vec<usize> = (0..legs.len()).filter(|i| waiting.get(*i) == Some(&0)).collect();
    let mut order = Vec::with_capacity(legs.len());
    let mut next = 0;
    while let Some(&leg) = ready.get(next) {
        next += 1;
        order.push(leg);
        if let Some(below) = legs.get(leg).and_then(|leg| leg.flows_into)
            && let Some(count) = waiting.get_mut(below)
        {
            *count -= 1;
            if *count == 0 {
                ready.push(below);
            }
        }
    }
    order
}
