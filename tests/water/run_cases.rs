//! Published and independently integrated water surfaces.

use crate::cases::{Case, Cases, Checked};
use rillcast::compute::water::run::{ControlKind, Leg, Outlet, Regime, Run, RunInput, RunProfile};
use rillcast::compute::water::section::{OpenSection, Rectangle, Trapezoid, UShape, critical_depth_m};

const FT: f64 = 0.3048;

fn cases() -> Cases {
    Cases::read(include_str!("cases/spatially_varied.json"))
}

fn section(name: &str, width_m: f64) -> Result<OpenSection, Box<dyn std::error::Error>> {
    Ok(match name {
        "rectangular" => Rectangle::new(width_m)?.into(),
        _ => UShape::new(width_m)?.into(),
    })
}

fn level(length_m: f64, surface_fall: f64, depth_m: f64) -> Leg {
    Leg { length_m, surface_fall, depth_start_m: depth_m, depth_end_m: depth_m, corner_loss_at_end: 0.0 }
}

/// Depth of the profile at a station, from the stations on both sides of it.
pub(crate) fn depth_at(profile: &RunProfile, x: f64) -> f64 {
    let found = profile.stations.iter().find(|s| (s.station_m - x).abs() < 1e-6);
    found.unwrap_or_else(|| panic!("no station at {x}")).depth_m
}

fn build(case: &Case) -> Result<(Run, f64), Box<dyn std::error::Error>> {
    let text = |name: &str| case.inputs[name].as_str().unwrap_or_default().to_owned();
    let (unit, suffix) = if text("unit") == "ft" { (FT, "ft") } else { (1.0, "m") };
    let width = case.input(&format!("b_{suffix}")) * unit;
    let length = case.input(&format!("L_{suffix}")) * unit;
    let flow = case.input(if suffix == "ft" { "q_cfs_per_ft" } else { "q_m2s" }) * unit * unit;
    let mut input = RunInput::simple(
        section(&text("section"), width)?,
        case.input("n"),
        level(length, case.input("S0"), 0.3),
        flow,
    );
    input.settings.gravity = case.input("g") * unit;
    input.settings.stations = 10;
    if case.inputs.get("y_out_m").is_some() {
        input.outlets =
            vec![Outlet { tailwater_depth_m: Some(case.input("y_out_m")), ..Outlet::free(length) }];
    }
    Ok((Run::new(input)?, unit))
}

#[test]
fn profiles_agree_with_an_independent_integration() -> Checked {
    let all = cases();
    let mut count = 0;
    for case in all.starting("svf-0").chain(all.starting("svf-1")) {
        count += 1;
        let (run, unit) = build(case)?;
        let suffix = if unit == 1.0 { "m" } else { "ft" };
        let profile = run.profile()?;
        for (x, y) in case.inputs(&format!("x_{suffix}")).iter().zip(case.expecteds(&format!("y_{suffix}"))) {
            case.close(&format!("depth at {x}"), depth_at(&profile, x * unit) / unit, y);
        }
        let input = run.input();
        let critical = critical_depth_m(&input.section, profile.inflow_m3_per_s, input.settings.gravity);
        case.near(&format!("y_c_outlet_{suffix}"), critical / unit);
        case.near(&format!("y_max_{suffix}"), profile.greatest_depth.value / unit);
        if case.expected.get("x_control_m").is_some() {
            let [control] = profile.controls.as_slice() else { panic!("{}: one control", case.id) };
            assert_eq!(control.kind, ControlKind::Interior);
            case.near("x_control_m", control.station_m);
            case.near("y_control_m", control.depth_m);
            let regimes: Vec<Regime> = profile.regimes.iter().map(|r| r.regime).collect();
            assert_eq!(regimes, [Regime::Subcritical, Regime::Supercritical]);
        } else {
            assert!(profile.controls.is_empty());
            assert!(profile.regimes.iter().all(|r| r.regime == Regime::Subcritical));
        }
        assert!(profile.residuals.momentum < 1e-6, "{} {}", case.id, profile.residuals.momentum);
        assert!(profile.residuals.mass.abs() < 1e-12);
    }
    assert_eq!(count, 9);
    Ok(())
}

/// The side channel of the published table: its water to the depth it has at its lower end.
fn side_channel(case: &Case) -> Result<RunProfile, Box<dyn std::error::Error>> {
    let length = case.input("L_ft") * FT;
    let mut input = RunInput::simple(
        Trapezoid::new(case.input("b_ft") * FT, case.input("z"))?.into(),
        0.0,
        level(length, case.input("S0"), 8.0),
        case.input("q_cfs_per_ft") * FT * FT,
    );
    input.settings.gravity = case.input("g") * FT;
    input.settings.stations = 100;
    input.outlets =
        vec![Outlet { tailwater_depth_m: Some(case.input("y_at_100_ft") * FT), ..Outlet::free(length) }];
    Ok(Run::new(input)?.profile()?)
}

#[test]
fn side_channel_of_a_dam_agrees_with_its_published_table() -> Checked {
    let all = cases();
    let case = all.get("svf-usbr-table9-3");
    let profile = side_channel(case)?;
    let at: Vec<f64> = case.inputs("x_ft").iter().map(|x| depth_at(&profile, x * FT) / FT).collect();
    case.all_near("depth_ft", &at);
    let levels: Vec<f64> = at.iter().zip(case.inputs("bed_el_at_x_ft")).map(|(y, bed)| y + bed).collect();
    case.all_near("water_surface_el_ft", &levels);
    assert!(profile.residuals.momentum < 1e-6);
    Ok(())
}

/// The first step of the same table, from where the channel carries one flow to where it carries the next: by how much the surface
/// stands higher, and how fast the water is at both.
#[test]
fn a_step_of_the_side_channel_agrees_with_the_published_one() -> Checked {
    let all = cases();
    let (table, case) = (all.get("svf-usbr-table9-3"), all.get("svf-usbr-step"));
    assert_eq!(case.input("g"), table.input("g"));
    let profile = side_channel(table)?;
    let carrying = |flow: &str| {
        let wanted = case.input(flow) * FT.powi(3);
        let found = profile.stations.iter().find(|s| (s.flow_m3_per_s - wanted).abs() < 1e-6);
        found.unwrap_or_else(|| panic!("no station carries {flow}"))
    };
    let (above, below) = (carrying("Q1_cfs"), carrying("Q2_cfs"));
    for (name, at) in [("v1_fps", above), ("v2_fps", below)] {
        case.close(name, at.velocity_m_per_s / FT, case.input(name));
    }
    case.near("dy_ft", (above.bed_m + above.depth_m - below.bed_m - below.depth_m) / FT);
    Ok(())
}
