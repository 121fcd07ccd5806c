//! The check of a description: every rule it breaks, each with its place, value, and what is allowed.

use super::input::{RunInput, RunSettings};
use crate::compute::water::bounds::{self, RangeFaults};
use crate::compute::water::intake::Opening;

/// How far beyond an end a station may lie and still count as that end, m.
const STATION_SLACK_M: f64 = 1e-6;

/// All that is wrong with a description.
pub(super) fn all(input: &RunInput) -> RangeFaults {
    let mut faults = RangeFaults::default();
    check_legs(input, &mut faults);
    check_inflow(input, &mut faults);
    check_outlets(input, &mut faults);
    faults.check(&bounds::MANNING_N, "manning_n", input.manning_n);
    check_settings(&input.settings, &mut faults);
    faults
}

fn check_legs(input: &RunInput, faults: &mut RangeFaults) {
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

fn check_station(faults: &mut RangeFaults, place: impl FnOnce() -> String, station_m: f64, length: f64) {
    let inside = station_m >= -STATION_SLACK_M && station_m <= length + STATION_SLACK_M;
    if !inside {
        faults.add(place(), station_m, format!("a station lies on the run, from 0 to {length} m"));
    }
}

fn check_inflow(input: &RunInput, faults: &mut RangeFaults) {
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

fn check_outlets(input: &RunInput, faults: &mut RangeFaults) {
    let length = input.length_m();
    if input.outlets.is_empty() {
        faults.add("outlets", "empty", "a run has at least one outlet: at an end, or in its floor");
    }
    for (i, outlet) in input.outlets.iter().enumerate() {
        check_station(faults, || format!("outlets[{i}].station_m"), outlet.station_m, length);
        if let Some(depth) = outlet.tailwater_depth_m {
            let below = outlet.opening.as_ref().map_or(0.0, Opening::invert_below_bed_m);
            let bound = bounds::Bound { min: 0.0 - below, ..bounds::WATER_DEPTH };
            faults.check_at(&bound, || format!("outlets[{i}].tailwater_depth_m"), depth);
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

fn check_settings(settings: &RunSettings, faults: &mut RangeFaults) {
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
