//! Flows, falls, grade line and cover along a drain line.

use super::flow::{depth_for_flow_m, full_flow_m3_per_s, full_velocity_m_per_s, slope_for_full_flow};
use super::network::{DrainLine, LineLeg, LineSettings};
use crate::compute::water::section::{Circle, Prismatic, critical_depth_m};
use crate::compute::water::warning::Warning;

/// The water in one leg.
#[derive(Debug, Clone, PartialEq)]
pub struct LegResult {
    /// Name of the leg.
    pub name: String,
    /// Flow, with everything from above, m³/s.
    pub flow_m3_per_s: f64,
    /// Fall from upper to lower invert, m; negative where the leg rises.
    pub fall_available_m: f64,
    /// Fall that the full bore needs for the flow, or the least slope asks for, whichever is more, m.
    pub fall_needed_m: f64,
    /// Fall left over, m; negative where it is missing.
    pub fall_spare_m: f64,
    /// Slope, m/m.
    pub slope: f64,
    /// Flow of the full bore at that slope, m³/s; 0 where the leg does not fall.
    pub full_flow_m3_per_s: f64,
    /// Velocity of the full bore at that slope, m/s.
    pub full_velocity_m_per_s: f64,
    /// Depth of uniform flow, m; `None` where the leg runs full.
    pub depth_m: Option<f64>,
    /// Velocity of the flow, m/s.
    pub velocity_m_per_s: f64,
    /// Critical depth, m.
    pub critical_depth_m: f64,
    /// Whether the full bore carries the flow with the fall there is.
    pub carries: bool,
    /// Grade line (level the water would stand to) at the lower end, above the junction and bend there, m.
    pub grade_lower_m: f64,
    /// Grade line at the upper end, m.
    pub grade_upper_m: f64,
    /// How far from the lower end the leg runs full, m.
    pub full_length_m: f64,
    /// Grade line above the crown of the pipe at the upper end, m; 0 when it is not.
    pub surcharge_upper_m: f64,
    /// Least cover and its distance from the upper end, m; `None` without ground levels.
    pub least_cover_m: Option<(f64, f64)>,
    /// Whether that is enough; `true` without ground levels.
    pub cover_ok: bool,
    /// Grade line above the ground somewhere: water comes out. Distance and height, m.
    pub floods: Option<(f64, f64)>,
    /// Velocities outside the limits.
    pub warnings: Vec<Warning>,
}

/// A drain line under its flows.
#[derive(Debug, Clone, PartialEq)]
pub struct LineResult {
    /// Legs, in the order of the description.
    pub legs: Vec<LegResult>,
    /// Flow at the discharge, m³/s.
    pub discharge_m3_per_s: f64,
    /// Whether every leg carries its flow with the fall there is and keeps its cover.
    pub passes: bool,
}

impl DrainLine {
    /// Adds up the flows and follows the grade line from the discharge up every branch.
    ///
    /// Where the line runs full the grade line rises by friction and losses; where it falls below the crown the leg runs
    /// partly full at its uniform depth, without a backwater curve: its level is then the higher of that depth and the level
    /// water stands to below. A surcharged upper end is the tailwater of the outlets that empty there.
    #[must_use]
    pub fn compute(&self) -> LineResult {
        let legs = &self.input.legs;
        let settings = &self.input.settings;
        let mut flows: Vec<f64> = legs.iter().map(|leg| leg.inflow_m3_per_s).collect();
        for &index in &self.downstream_order {
            let flow = flows.get(index).copied().unwrap_or(0.0);
            if let Some(total) =
                legs.get(index).and_then(|leg| leg.flows_into).and_then(|below| flows.get_mut(below))
            {
                *total += flow;
            }
        }
        let mut results: Vec<Option<LegResult>> = vec![None; legs.len()];
        let mut discharge = 0.0;
        for &index in self.downstream_order.iter().rev() {
            let (Some(leg), Some(&flow)) = (legs.get(index), flows.get(index)) else {
                continue;
            };
            let below = leg.flows_into.and_then(|below| results.get(below)).and_then(Option::as_ref);
            let level = match leg.flows_into {
                None => {
                    discharge = flow;
                    self.input.tailwater_level_m
                }
                Some(_) => below.map(|result| result.grade_upper_m),
            };
            let result = leg_result(leg, flow, level, settings);
            if let Some(slot) = results.get_mut(index) {
                *slot = Some(result);
            }
        }
        let legs: Vec<LegResult> = results.into_iter().flatten().collect();
        let passes = legs
            .iter()
            .all(|leg| leg.carries && leg.cover_ok && leg.fall_spare_m >= -1e-9 && leg.floods.is_none());
        LineResult { legs, discharge_m3_per_s: discharge, passes }
    }
}

fn leg_result(leg: &LineLeg, flow: f64, level_below: Option<f64>, settings: &LineSettings) -> LegResult {
    let fall = leg.invert_upper_m - leg.invert_lower_m;
    let slope = fall / leg.length_m;
    let gravity = settings.pipe.gravity;
    let full_area = 0.25 * std::f64::consts::PI * leg.bore_m * leg.bore_m;
    let friction = slope_for_full_flow(flow, leg.bore_m, leg.n);
    let (full_flow, full_velocity) = if slope > 0.0 {
        (full_flow_m3_per_s(leg.bore_m, slope, leg.n), full_velocity_m_per_s(leg.bore_m, slope, leg.n))
    } else {
        (0.0, 0.0)
    };
    let carries = flow <= full_flow;
    let pipe = Circle::new(leg.bore_m).ok();
    let uniform = pipe.as_ref().and_then(|pipe| depth_for_flow_m(pipe, flow, slope, leg.n));
    let critical = pipe.as_ref().map_or(0.0, |pipe| critical_depth_m(pipe, flow, gravity)).min(leg.bore_m);
    // At a free end the water leaves at the lesser of uniform and critical depth, or full.
    let free_depth = uniform.map_or(leg.bore_m, |depth| depth.min(critical.max(0.0)));
    let free = leg.invert_lower_m + if carries { free_depth } else { critical };
    let head = (flow / full_area).powi(2) / (2.0 * gravity);
    let crown_lower = leg.invert_lower_m + leg.bore_m;
    let crown_upper = leg.invert_upper_m + leg.bore_m;
    let standing = level_below.unwrap_or(f64::NEG_INFINITY);
    let drowned = standing >= crown_lower;
    let lower = if drowned { standing + leg.junction_loss * head } else { standing.max(free) };
    // The bend at the lower end costs its head wherever the water fills it, however far up the leg runs full.
    let bend = leg.bend_loss * head;
    let start = match (carries, drowned) {
        (true, false) => lower,
        (true, true) => lower + bend,
        (false, _) => lower.max(crown_lower) + bend,
    };
    let (full_length, upper) = if start >= crown_lower && (drowned || !carries) {
        // Full from the lower end until the grade line dips below the crown.
        let above_crown = start - crown_lower;
        let closing = slope - friction;
        let length = if closing > 0.0 { (above_crown / closing).min(leg.length_m) } else { leg.length_m };
        if length >= leg.length_m {
            (leg.length_m, start + friction * leg.length_m)
        } else {
            // Above that the water is no lower than where it leaves the crown.
            let leaves = start + friction * length;
            (length, (leg.invert_upper_m + uniform.unwrap_or(leg.bore_m)).max(leaves))
        }
    } else {
        (0.0, (leg.invert_upper_m + uniform.unwrap_or(leg.bore_m)).max(start))
    };
    let running_full = full_length >= leg.length_m;
    let velocity = match (&pipe, uniform) {
        (Some(pipe), Some(depth)) if !running_full && depth > 0.0 => flow / pipe.area_m2(depth),
        (_, Some(_)) if flow <= 0.0 => 0.0,
        _ => flow / full_area,
    };
    let needed = friction.max(settings.least_slope) * leg.length_m;
    let full_from = leg.length_m - full_length;
    let at_crown = start + friction * full_length;
    let grade = |along: f64| {
        if along >= full_from {
            return start + friction * (leg.length_m - along);
        }
        // no lower than where it leaves the crown, or than it stands below
        (leg.invert_upper_m - slope * along + uniform.unwrap_or(leg.bore_m)).max(at_crown)
    };
    let (least_cover_m, floods) = over_the_pipe(leg, grade, full_from);
    LegResult {
        name: leg.name.clone(),
        flow_m3_per_s: flow,
        fall_available_m: fall,
        fall_needed_m: needed,
        fall_spare_m: fall - needed,
        slope,
        full_flow_m3_per_s: full_flow,
        full_velocity_m_per_s: full_velocity,
        depth_m: if running_full { None } else { uniform },
        velocity_m_per_s: velocity,
        critical_depth_m: critical,
        carries,
        grade_lower_m: start,
        grade_upper_m: upper,
        full_length_m: full_length,
        surcharge_upper_m: (upper - crown_upper).max(0.0),
        cover_ok: least_cover_m.is_none_or(|(cover, _)| cover >= settings.least_cover_m - 1e-9),
        least_cover_m,
        floods,
        warnings: velocity_warnings(full_velocity, velocity, settings),
    }
}

fn velocity_warnings(full_velocity: f64, velocity: f64, settings: &LineSettings) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let (least, greatest) =
        (settings.pipe.least_full_velocity_m_per_s, settings.pipe.greatest_velocity_m_per_s);
    if full_velocity < least {
        warnings.push(Warning::TooSlow { velocity_m_per_s: full_velocity, limit_m_per_s: least });
    }
    if velocity > greatest {
        warnings.push(Warning::TooFast { velocity_m_per_s: velocity, limit_m_per_s: greatest });
    }
    warnings
}

/// Least cover with its place, and where the grade line stands highest above the ground.
///
/// Ground and pipe are straight between the ground points, so the least cover is at one of them; the grade line has one bend
/// more that is higher than a chord, where the pipe begins to run full.
#[expect(clippy::type_complexity, reason = "two optional pairs of a height and a place, used once")]
fn over_the_pipe(
    leg: &LineLeg,
    grade: impl Fn(f64) -> f64,
    full_from: f64,
) -> (Option<(f64, f64)>, Option<(f64, f64)>) {
    let mut cover: Option<(f64, f64)> = None;
    let mut flood: Option<(f64, f64)> = None;
    let mut higher = |along: f64, ground: f64| {
        let above = grade(along) - ground;
        if above > 0.0 && flood.is_none_or(|(_, most)| above > most) {
            flood = Some((along, above));
        }
    };
    for point in &leg.ground {
        let share = (point.along_m / leg.length_m).clamp(0.0, 1.0);
        let invert = leg.invert_upper_m + share * (leg.invert_lower_m - leg.invert_upper_m);
        let over = point.level_m - invert - leg.bore_m - leg.wall_m;
        if cover.is_none_or(|(least, _)| over < least) {
            cover = Some((over, point.along_m));
        }
        higher(point.along_m, point.level_m);
    }
    for pair in leg.ground.windows(2) {
        if let [a, b] = pair
            && a.along_m < full_from
            && full_from < b.along_m
        {
            let share = (full_from - a.along_m) / (b.along_m - a.along_m);
            higher(full_from, a.level_m + share * (b.level_m - a.level_m));
        }
    }
    (cover, flood)
}
