//! The most flow and the longest run just fit, also between several outlets.

use crate::cases::Checked;
use rillcast::compute::water::intake::{FloorOpening, Opening};
use rillcast::compute::water::run::{Leg, LongestRun, Outlet, Run, RunInput};
use rillcast::compute::water::section::{OpenSection, Rectangle, Trapezoid, UShape};

fn hole(station_m: f64, bore: f64) -> Outlet {
    Outlet { opening: Some(Opening::Floor(FloorOpening::round(bore))), ..Outlet::free(station_m) }
}

fn leg(length_m: f64, surface_fall: f64, depth_m: f64) -> Leg {
    Leg { length_m, surface_fall, depth_start_m: depth_m, depth_end_m: depth_m, corner_loss_at_end: 0.0 }
}

/// No source: the profile of the limit itself is the check.
#[test]
fn the_limits_just_fit_between_outlets() -> Checked {
    let u_shape: OpenSection = UShape::new(0.15)?.into();
    let rectangle: OpenSection = Rectangle::new(0.12)?.into();
    let trapezoid: OpenSection = Trapezoid::new(0.075, 1.4)?.into();
    let free = Outlet::free;
    let runs = [
        (u_shape, leg(40.0, 0.002, 0.2), 1.2e-4, vec![free(0.0), free(40.0)]),
        (u_shape, leg(40.0, 0.002, 0.2), 1.2e-4, vec![hole(0.0, 0.1), hole(20.0, 0.03), hole(40.0, 0.1)]),
        (rectangle, leg(30.0, 0.0, 0.15), 3e-4, vec![free(0.0), hole(10.0, 0.05), free(30.0)]),
        (trapezoid, leg(37.0, 0.005, 0.095), 5e-6, vec![free(0.0), hole(18.0, 0.04), hole(37.0, 0.07)]),
        // With a fall to one side the flow parts close to the upper outlet.
        (u_shape, leg(20.0, 0.02, 0.2), 1.5e-4, vec![free(0.0), free(20.0)]),
        (rectangle, leg(15.0, -0.01, 0.2), 2e-4, vec![free(0.0), free(15.0)]),
        // More than it carries: limits below what it is.
        (rectangle, leg(30.0, 0.001, 0.05), 4e-4, vec![free(0.0), free(30.0)]),
    ];
    for (i, (section, leg, flow, outlets)) in runs.into_iter().enumerate() {
        let mut input = RunInput::simple(section, 0.011, leg, flow);
        input.outlets = outlets;
        let run = Run::new(input.clone())?;
        let limits = run.limits()?;
        assert_eq!(run.limits_from(run.profile()?.least_freeboard), limits, "{i}");
        let room = |input: RunInput| -> Result<f64, Box<dyn std::error::Error>> {
            Ok(Run::new(input)?.least_freeboard()?.value)
        };
        let factor = 1.0 / limits.share_of_capacity.ok_or("flow")?;
        let left = room(input.with_flow_times(factor))?;
        assert!(left.abs() < 1e-6, "{i}: {left} at {factor} times the flow");
        assert!(room(input.with_flow_times(1.001 * factor))? < 0.0, "{i}");
        let LongestRun::Length(longest) = limits.longest else { panic!("{i}: {:?}", limits.longest) };
        let left = room(input.with_length_times(longest / run.length_m()))?;
        assert!(left.abs() < 1e-6, "{i}: {left} at {longest} m");
    }
    Ok(())
}

/// No source: the water stands equally deep on both sides of where it parts, and a run turned round parts at the mirrored place.
#[test]
fn a_flow_that_parts_close_to_an_outlet_parts_alike_from_either_side() -> Checked {
    let section: OpenSection = UShape::new(0.15)?.into();
    for (length, fall) in [(20.0, 0.02), (35.0, 0.01), (60.0, 0.005)] {
        let parts = |fall: f64| -> Result<(f64, f64), Box<dyn std::error::Error>> {
            let mut input = RunInput::simple(section, 0.011, leg(length, fall, 0.3), 1.5e-4);
            input.outlets = vec![Outlet::free(0.0), Outlet::free(length)];
            let profile = Run::new(input)?.profile()?;
            let [divide] = profile.divides[..] else { return Err("one divide".into()) };
            assert!(divide.mismatch_m.abs() < 1e-9 * divide.depth_m, "{length} {fall} {divide:?}");
            Ok((divide.station_m, divide.depth_m))
        };
        let ((station, depth), (mirrored, mirrored_depth)) = (parts(fall)?, parts(-fall)?);
        assert!(station > 0.0 && station < 0.02 * length, "{length} {fall} {station}");
        assert!((length - mirrored - station).abs() < 1e-9 * length, "{length} {fall} {station} {mirrored}");
        assert!((depth - mirrored_depth).abs() < 1e-6 * depth, "{length} {fall} {depth} {mirrored_depth}");
    }
    Ok(())
}

/// No source: physics knows no length at which such a run has no steady surface. The bed is a little flatter than critical near the
/// outlet and a little steeper further up, or the other way round: the surface leaves a control whose two slopes are nearly one, and
/// runs into a point where it meets critical depth without one.
#[test]
fn runs_close_to_the_critical_slope_have_a_surface_at_every_length() -> Checked {
    let cases = [
        (0.11918, 0.0100691, 0.00514314, 1.57861e-5, (117.0, 131.0)),
        (0.2279265, 0.0104111, 0.0091911, 2.890404e-4, (340.0, 530.0)),
    ];
    for (width, roughness, fall, flow, (shortest, longest)) in cases {
        let mut last = None;
        for step in 0..120 {
            let length = shortest + (longest - shortest) * f64::from(step) / 119.0;
            let section = UShape::new(width)?.into();
            let run = Run::new(RunInput::simple(section, roughness, leg(length, fall, 0.4), flow))?;
            let profile = run.profile().map_err(|e| format!("{length} m: {e}"))?;
            assert!(profile.residuals.momentum < 1e-6, "{length} m: {:?}", profile.residuals);
            // A longer run leaves less room, and a little longer one a little less.
            let room = profile.least_freeboard.value;
            if let Some(before) = last {
                assert!(room < before && before - room < 0.01, "{length} m: {before} {room}");
            }
            last = Some(room);
        }
    }
    Ok(())
}

/// No source: at the longest run there is no room left, however many surfaces close to the critical slope lie between.
#[test]
fn the_longest_run_is_not_ended_by_a_surface_close_to_the_critical_slope() -> Checked {
    for (width, roughness, fall, flow, length) in [
        (0.11918, 0.0100691, 0.00514314, 1.57861e-5, 36.9),
        (0.0815405, 0.0115806, 0.01198962, 9.291111e-5, 42.36),
    ] {
        let input = RunInput::simple(UShape::new(width)?.into(), roughness, leg(length, fall, 0.4), flow);
        let run = Run::new(input.clone())?;
        let LongestRun::Length(longest) = run.limits()?.longest else { panic!("{width}") };
        assert!(longest > 300.0, "{width}: {longest}");
        let left = Run::new(input.with_length_times(longest / length))?.least_freeboard()?.value;
        assert!(left.abs() < 1e-6, "{width}: {left} at {longest} m");
    }
    Ok(())
}
