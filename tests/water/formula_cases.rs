//! Formulas against their published or computed cases.

use crate::cases::{Cases, Checked};
use rillcast::compute::water::intake::{GrateInlet, orifice_flow_m3_per_s, weir_flow_m3_per_s};
use rillcast::compute::water::manning;
use rillcast::compute::water::pipe::{
    GREATEST_FLOW_RATIO, depth_for_flow_m, full_flow_m3_per_s, full_velocity_m_per_s, part_full_ratios,
    required_bore_m, slope_for_full_flow,
};
use rillcast::compute::water::runoff::{
    FlowFactor, KinematicConstant, applied_coefficient, composite_coefficient, faa_minutes,
    kinematic_wave_minutes, kirpich_minutes, rational_flow_m3_per_s, rational_flow_us_cfs,
    shallow_flow_velocity_m_per_s, sheet_flow_minutes, travel_minutes, upland_velocity_factor_fps,
};
use rillcast::compute::water::section::{
    Circle, Prismatic, Rectangle, Trapezoid, UShape, conveyance_m3_per_s, critical_depth_m,
    critical_flow_m3_per_s, froude, normal_depth_m,
};
use rillcast::units::Unit;
use rillcast::units::factors::{METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT};

const FT: f64 = METRES_PER_FOOT;
/// An acre is 43,560 square feet.
const SQUARE_METRES_PER_ACRE: f64 = 43_560.0 * SQUARE_METRES_PER_SQUARE_FOOT;

fn m3_per_s_from_cfs(flow: f64) -> f64 {
    flow * Unit::Ft3PerS.si_rate()
}

fn cfs_from_m3_per_s(flow: f64) -> f64 {
    flow / Unit::Ft3PerS.si_rate()
}

fn m3_per_s_from_gpm(flow: f64) -> f64 {
    flow * Unit::GalUsPerMin.si_rate()
}

fn gpm_from_m3_per_s(flow: f64) -> f64 {
    flow / Unit::GalUsPerMin.si_rate()
}
/// Constant of Manning's formula in feet that the metre implies; handbooks round it to 1.486.
const EXACT_K: f64 = 1.485_918_577_496_260_7;

#[test]
fn rational_method() -> Checked {
    let all = Cases::read(include_str!("cases/runoff.json"));
    let case = all.get("rat-unit-us");
    let (c, rain, acres) = (case.input("C"), case.input("i_in_per_hr"), case.input("A_acre"));
    case.near("Q_cfs", rational_flow_us_cfs(c, rain, acres, FlowFactor::Exact));
    let flow = rational_flow_m3_per_s(c, rain * 25.4, acres * SQUARE_METRES_PER_ACRE);
    case.near("Q_cfs", cfs_from_m3_per_s(flow));
    let case = all.get("rat-unit-si");
    let (c, rain, area) = (case.input("C"), case.input("i_mm_per_hr"), case.input("A_ha") * 1e4);
    case.near("Q_m3s", rational_flow_m3_per_s(c, rain, area));
    for id in ["rat-compC-hec22-existing", "rat-compC-hec22-proposed"] {
        let case = all.get(id);
        let pairs: Vec<(f64, f64)> =
            case.inputs("C").into_iter().zip(case.inputs("area").iter().map(|a| a * 1e4)).collect();
        case.near("C_composite", composite_coefficient(&pairs)?.coefficient);
    }
    let case = all.get("rat-nrcs-1");
    let acres = case.inputs("area_acre");
    let pairs: Vec<(f64, f64)> =
        case.inputs("C").into_iter().zip(acres.iter().map(|a| a * SQUARE_METRES_PER_ACRE)).collect();
    let composite = composite_coefficient(&pairs)?;
    case.near("C_composite", composite.coefficient);
    let coefficient = applied_coefficient(composite.coefficient, case.input("Cf"));
    let total: f64 = acres.iter().sum();
    case.near(
        "Q_cfs",
        rational_flow_us_cfs(coefficient, case.input("i_in_per_hr"), total, FlowFactor::Exact),
    );
    let case = all.get("rat-Cf-cap");
    case.near("Cf_times_C", applied_coefficient(case.input("C"), case.input("Cf")));
    let case = all.get("rat-small-lot");
    let area = case.input("A_ft2") * SQUARE_METRES_PER_SQUARE_FOOT;
    let flow = rational_flow_m3_per_s(case.input("C"), case.input("i_in_per_hr") * 25.4, area);
    case.near("Q_cfs", cfs_from_m3_per_s(flow));
    case.near("Q_gpm", gpm_from_m3_per_s(flow));
    case.near("Q_Ls", 1e3 * flow);
    Ok(())
}

#[test]
fn times_of_concentration() {
    let all = Cases::read(include_str!("cases/runoff.json"));
    let case = all.get("tc-kw-us-1");
    let (n, s) = (case.input("n"), case.input("S"));
    let (length, rain) = (case.input("L_ft") * FT, case.input("i_in_per_hr") * 25.4);
    case.near("t_min", kinematic_wave_minutes(n, length, s, rain, KinematicConstant::Us));
    let case = all.get("tc-kw-si-1");
    case.near("t_min", kinematic_wave_minutes(n, length, s, rain, KinematicConstant::Si));
    let case = all.get("tc-tr55-sheet");
    let minutes = sheet_flow_minutes(
        case.input("n"),
        case.input("L_ft") * FT,
        case.input("P2_in") * 25.4,
        case.input("S"),
    );
    case.near("t_hr", minutes / 60.0);
    let case = all.get("tc-tr55-shallow");
    let v = shallow_flow_velocity_m_per_s(16.135, case.input("S"));
    case.near("V_fps", v / FT);
    case.near("t_hr", travel_minutes(case.input("L_ft") * FT, v) / 60.0);
    let case = all.get("tc-tr55-channel");
    let radius = case.input("A_ft2") / case.input("P_ft");
    case.near("R_ft", radius);
    let v = manning::velocity_m_per_s(radius * FT, case.input("S"), case.input("n"));
    case.near("V_fps", v / FT);
    case.near("t_hr", travel_minutes(case.input("L_ft") * FT, v) / 60.0);
    let case = all.get("tc-upland-coeffs");
    let factors: Vec<f64> = case
        .inputs("depth_ft")
        .iter()
        .zip(case.inputs("n"))
        .map(|(d, n)| upland_velocity_factor_fps(d * FT, n))
        .collect();
    case.all_near("K_fps", &factors);
    let case = all.get("tc-faa-roswell");
    case.near(
        "t_min",
        faa_minutes(case.input("C"), case.input("L_ft") * FT, case.input("S_percent") / 100.0),
    );
    let case = all.get("tc-roswell-channel");
    let v = manning::velocity_m_per_s(case.input("R_ft") * FT, case.input("S"), case.input("n"));
    case.near("V_fps", v / FT);
    let minutes = travel_minutes(case.input("L_ft") * FT, case.input("V_used_fps") * FT);
    case.near("t_channel_min", minutes);
    case.near("tc_min", minutes + case.input("t_overland_min"));
    for id in ["tc-kirpich-txdot", "tc-kirpich-1000"] {
        let case = all.get(id);
        case.near("t_min", kirpich_minutes(case.input("L_ft") * FT, case.input("S")));
    }
    // Does not agree: the case has 7.19167 min with the metric constant rounded to 0.0195; the formula in feet gives
    // 7.18122 min for the same reach (0.15 % less), which is what the case above asks for and what we give.
    let case = all.get("tc-kirpich-si");
    let minutes = kirpich_minutes(case.input("L_m"), case.input("S"));
    all.get("tc-kirpich-1000").near("t_min", minutes);
    assert!((case.expected("t_min") / minutes - 1.001_455).abs() < 1e-5);
}

#[test]
fn manning_in_pipes() -> Checked {
    let all = Cases::read(include_str!("cases/manning.json"));
    let case = all.get("man-mott-14.2");
    let pipe = Circle::new(case.input("D_m"))?;
    let (y, n, s) = (case.input("y_m"), case.input("n"), case.input("S"));
    let flow = conveyance_m3_per_s(&pipe, y, n) * s.sqrt();
    let at = pipe.geometry(y);
    case.near("Q_m3s", flow);
    case.near("V_ms", flow / at.area_m2);
    case.near("A_m2", at.area_m2);
    case.near("P_m", at.wetted_perimeter_m);
    case.near("R_m", at.hydraulic_radius_m());
    case.near("Fr", froude(&pipe, flow, y, 9.80665));
    let case = all.get("man-mott-14.12p");
    let pipe = Circle::new(case.input("D_ft") * FT)?;
    let (y, n, s) = (case.input("y_ft") * FT, case.input("n"), case.input("S"));
    let flow = conveyance_m3_per_s(&pipe, y, n) * s.sqrt();
    let at = pipe.geometry(y);
    case.near("Q_cfs", cfs_from_m3_per_s(flow));
    case.near("V_fps", flow / at.area_m2 / FT);
    case.near("A_ft2", at.area_m2 / SQUARE_METRES_PER_SQUARE_FOOT);
    case.near("P_ft", at.wetted_perimeter_m / FT);
    case.near("R_ft", at.hydraulic_radius_m() / FT);
    let case = all.get("man-sturm-4.1geom");
    let at = Circle::new(case.input("D_ft") * FT)?.geometry(case.input("y_ft") * FT);
    case.near("A_ft2", at.area_m2 / SQUARE_METRES_PER_SQUARE_FOOT);
    case.near("P_ft", at.wetted_perimeter_m / FT);
    case.near("theta_rad", 2.0 * at.wetted_perimeter_m / (case.input("D_ft") * FT));
    case.near("T_ft", at.top_width_m / FT);
    case.near("R_ft", at.hydraulic_radius_m() / FT);
    let case = all.get("man-hydraulics-1");
    let pipe = Circle::new(case.input("D_m"))?;
    let flow = case.input("Q_m3s");
    let depth = depth_for_flow_m(&pipe, flow, case.input("S"), case.input("n")).ok_or("carries")?;
    case.near("y_m", depth);
    case.near("y_c_m", critical_depth_m(&pipe, flow, 9.80665));
    let case = all.get("man-hydraulics-3");
    let pipe = Circle::new(case.input("D_m"))?;
    let at_one = conveyance_m3_per_s(&pipe, case.input("y_m"), case.input("n"));
    case.near("S", (case.input("Q_m3s") / at_one).powi(2));
    for id in ["man-hec22-7.1a", "man-hec22-7.1b"] {
        let case = all.get(id);
        let bore = required_bore_m(m3_per_s_from_cfs(case.input("Q_cfs")), case.input("S"), case.input("n"));
        // Printed to 0.01 ft, with the constant of a full pipe, 0.4631 in feet, rounded to 0.46: 1.69 and 1.87 ft for our
        // 1.687 and 1.866 ft.
        assert!((bore / FT - case.expected("D_ft")).abs() < 0.005, "{id} {}", bore / FT);
    }
    for id in ["man-minslope-3fps", "man-minslope-2.5fps"] {
        let case = all.get(id);
        let slope = |inches: &f64| {
            let bore = inches * METRES_PER_INCH;
            let area = 0.25 * std::f64::consts::PI * bore * bore;
            slope_for_full_flow(case.input("V_fps") * FT * area, bore, case.input("n"))
        };
        case.all_near("S", &case.inputs("D_in").iter().map(slope).collect::<Vec<f64>>());
    }
    for case in all.starting("man-full-1pct") {
        // The case's own constant for feet goes in through n, as the formula has k/n.
        let (s, n) = (case.input("S"), case.input("n") * EXACT_K / case.input("k"));
        let bores: Vec<f64> = case.inputs("D_in").iter().map(|d| d * METRES_PER_INCH).collect();
        let flow = |bore: &f64| full_flow_m3_per_s(*bore, s, n);
        case.all_near("Q_cfs", &bores.iter().map(|b| cfs_from_m3_per_s(flow(b))).collect::<Vec<f64>>());
        case.all_near("Q_gpm", &bores.iter().map(|b| gpm_from_m3_per_s(flow(b))).collect::<Vec<f64>>());
        case.all_near("Q_Ls", &bores.iter().map(|b| 1e3 * flow(b)).collect::<Vec<f64>>());
        let speed = |bore: &f64| full_velocity_m_per_s(*bore, s, n) / FT;
        case.all_near("V_fps", &bores.iter().map(speed).collect::<Vec<f64>>());
    }
    let case = all.get("man-ipc2021-4in");
    let flow = full_flow_m3_per_s(case.input("D_in") * METRES_PER_INCH, case.input("S"), case.input("n"));
    case.near("Q_gpm", gpm_from_m3_per_s(flow));
    // Does not agree: printed 78.2 gpm with the factor rounded to 0.0104; the exact factor 0.0103896 gives 78.11 gpm.
    let case = all.get("man-ipc2012-4in");
    let area = case.input("A_ft2") * SQUARE_METRES_PER_SQUARE_FOOT;
    let flow = rational_flow_m3_per_s(1.0, case.input("R_in_per_hr") * 25.4, area);
    let gpm = gpm_from_m3_per_s(flow);
    assert!((gpm - 78.109).abs() < 0.001 && (case.expected("Q_gpm") - gpm).abs() < 0.1, "{gpm}");
    Ok(())
}

#[test]
fn partly_full_pipes() -> Checked {
    let all = Cases::read(include_str!("cases/manning.json"));
    let case = all.get("man-hydraulic-elements");
    let fills = case.inputs("y_over_D");
    let each = |of: fn(f64) -> f64| fills.iter().map(|fill| of(*fill)).collect::<Vec<f64>>();
    case.all_near("A_ratio", &each(|f| part_full_ratios(f).area));
    case.all_near("R_ratio", &each(|f| part_full_ratios(f).hydraulic_radius));
    case.all_near("V_ratio", &each(|f| part_full_ratios(f).velocity));
    case.all_near("Q_ratio", &each(|f| part_full_ratios(f).flow));
    let case = all.get("man-maxima");
    let best = |of: fn(f64) -> f64| {
        (1..100_000).map(|i| f64::from(i) * 1e-5).max_by(|a, b| of(*a).total_cmp(&of(*b))).unwrap_or(0.0)
    };
    let fullest = best(|f| part_full_ratios(f).flow);
    case.near("y_over_D_Qmax", fullest);
    case.near("Qmax_ratio", part_full_ratios(fullest).flow);
    case.near("Qmax_ratio", GREATEST_FLOW_RATIO);
    let fastest = best(|f| part_full_ratios(f).velocity);
    case.near("y_over_D_Vmax", fastest);
    case.near("Vmax_ratio", part_full_ratios(fastest).velocity);
    let pipe = Circle::new(1.0)?;
    let just_full = full_flow_m3_per_s(1.0, 0.01, 0.011) * (1.0 - 1e-12);
    case.near("y_over_D_Q_equals_full", depth_for_flow_m(&pipe, just_full, 0.01, 0.011).ok_or("carries")?);
    let case = all.get("man-circ-geom-table");
    let at: Vec<_> = case.inputs("y_over_D").iter().map(|y| pipe.geometry(*y)).collect();
    case.all_near("A_over_D2", &at.iter().map(|g| g.area_m2).collect::<Vec<f64>>());
    case.all_near("R_over_D", &at.iter().map(|g| g.hydraulic_radius_m()).collect::<Vec<f64>>());
    case.all_near("P_over_D", &at.iter().map(|g| g.wetted_perimeter_m).collect::<Vec<f64>>());
    for case in all.starting("man-partfull") {
        let bore = case.input("D_in") * METRES_PER_INCH;
        let pipe = Circle::new(bore)?;
        let flow = m3_per_s_from_gpm(case.input("Q_gpm"));
        // Computed with k = 1.486 (said in its source), which goes in through n.
        let n = case.input("n") * EXACT_K / 1.486;
        let depth = depth_for_flow_m(&pipe, flow, case.input("S"), n).ok_or("carries")?;
        case.near("y_in", depth / METRES_PER_INCH);
        case.near("y_over_D", depth / bore);
        case.near("V_fps", flow / pipe.area_m2(depth) / FT);
        case.near("y_c_in", critical_depth_m(&pipe, flow, 32.174 * FT) / METRES_PER_INCH);
        case.near("Q_full_gpm", gpm_from_m3_per_s(full_flow_m3_per_s(bore, case.input("S"), n)));
    }
    Ok(())
}

#[test]
fn manning_in_channels() -> Checked {
    let all = Cases::read(include_str!("cases/manning.json"));
    let case = all.get("man-mott-14.4");
    let section = Rectangle::new(case.input("b"))?;
    let depth =
        normal_depth_m(&section, case.input("Q"), case.input("S"), case.input("n")).ok_or("exists")?;
    let at = section.geometry(depth);
    case.near("y", depth);
    case.near("V", case.input("Q") / at.area_m2);
    case.near("A", at.area_m2);
    case.near("P", at.wetted_perimeter_m);
    case.near("Fr", froude(&section, case.input("Q"), depth, 9.80665));
    let case = all.get("man-mott-14.41p");
    let section = Trapezoid::new(0.0, case.input("z"))?;
    let flow = m3_per_s_from_cfs(case.input("Q_cfs"));
    let depth = normal_depth_m(&section, flow, case.input("S"), case.input("n")).ok_or("exists")?;
    case.near("y_ft", depth / FT);
    case.near("V_fps", flow / section.area_m2(depth) / FT);
    let case = all.get("man-cengel");
    let v = manning::velocity_m_per_s(case.input("R_m"), case.input("S"), case.input("n"));
    case.near("V_ms", v);
    case.near("Q_m3s", v * case.input("A_m2"));
    let case = all.get("man-hydraulics-4");
    let section = Trapezoid::new(case.input("b_m"), case.input("z"))?;
    case.near(
        "Q_m3s",
        conveyance_m3_per_s(&section, case.input("y_m"), case.input("n")) * case.input("S").sqrt(),
    );
    Ok(())
}

#[test]
fn critical_depths() -> Checked {
    let all = Cases::read(include_str!("cases/critical.json"));
    let case = all.get("crit-rect-holooly");
    let section = Rectangle::new(case.input("b_m"))?;
    let depth = critical_depth_m(&section, case.input("Q_m3s"), case.input("g"));
    case.near("y_c_m", depth);
    case.near("V_c_ms", case.input("Q_m3s") / section.area_m2(depth));
    let case = all.get("crit-rect-rivr");
    let flow = m3_per_s_from_cfs(case.input("Q_cfs"));
    let depth = critical_depth_m(&Rectangle::new(case.input("b_ft") * FT)?, flow, case.input("g") * FT);
    case.near("y_c_ft", depth / FT);
    let case = all.get("crit-rect-sdsu");
    case.near("y_c_m", critical_depth_m(&Rectangle::new(1.0)?, case.input("q_m2s"), case.input("g")));
    let case = all.get("crit-tri-hicks");
    let section = Trapezoid::new(0.0, case.input("z"))?;
    let flow = critical_flow_m3_per_s(&section, case.input("D_c_ft") * FT, case.input("g") * FT);
    case.near("Q_cfs", cfs_from_m3_per_s(flow));
    case.near("D_c_back_ft", critical_depth_m(&section, flow, case.input("g") * FT) / FT);
    let case = all.get("crit-tri-1");
    let section = Trapezoid::new(0.0, case.input("z"))?;
    case.near("y_c_m", critical_depth_m(&section, case.input("Q_m3s"), case.input("g")));
    let case = all.get("crit-circ-hydraulics");
    case.near(
        "y_c_m",
        critical_depth_m(&Circle::new(case.input("D_m"))?, case.input("Q_m3s"), case.input("g")),
    );
    for id in ["crit-circ-4in", "crit-circ-8in"] {
        let case = all.get(id);
        let pipe = Circle::new(case.input("D_in") * METRES_PER_INCH)?;
        let depth = critical_depth_m(&pipe, m3_per_s_from_gpm(case.input("Q_gpm")), case.input("g") * FT);
        case.near("y_c_in", depth / METRES_PER_INCH);
    }
    let case = all.get("crit-U-150");
    case.near(
        "y_c_m",
        critical_depth_m(&UShape::new(case.input("b_m"))?, case.input("Q_m3s"), case.input("g")),
    );
    Ok(())
}

#[test]
fn grates_and_gutters() {
    let all = Cases::read(include_str!("cases/inlets.json"));
    let weir_ft = |cw: f64| cw * FT.sqrt();
    let clean = |perimeter: f64, area: f64, cw: f64| GrateInlet {
        weir_coefficient: cw,
        clogged_perimeter: 0.0,
        clogged_area: 0.0,
        ..GrateInlet::half_clogged(perimeter, area)
    };
    let case = all.get("inl-sag-hec22-P");
    let per_metre = weir_flow_m3_per_s(weir_ft(case.input("Cw")), 1.0, case.input("d_ft") * FT);
    case.near("P_ft", m3_per_s_from_cfs(case.input("Q_cfs")) / per_metre / FT);
    let case = all.get("inl-sag-hec22-d");
    let grate = clean(case.input("P_ft") * FT, 10.0, weir_ft(case.input("Cw")));
    case.near("d_ft", grate.ponding_depth_m(m3_per_s_from_cfs(case.input("Q_cfs")), 9.80665).0 / FT);
    for id in ["inl-sag-curve-clean", "inl-sag-curve-half"] {
        let case = all.get(id);
        let g = case.input("g") * FT;
        let grate = GrateInlet {
            perimeter_m: case.input("P_ft") * FT,
            open_area_m2: case.input("A_open_ft2") * SQUARE_METRES_PER_SQUARE_FOOT,
            weir_coefficient: weir_ft(case.input("Cw")),
            orifice_coefficient: case.input("Co"),
            clogged_perimeter: case.input("clog_P"),
            clogged_area: case.input("clog_A"),
        };
        let at: Vec<_> = case.inputs("d_ft").iter().map(|d| grate.capacity(d * FT, g)).collect();
        let cfs = |q: f64| cfs_from_m3_per_s(q);
        case.all_near("Q_weir_cfs", &at.iter().map(|c| cfs(c.weir_m3_per_s)).collect::<Vec<f64>>());
        case.all_near("Q_orifice_cfs", &at.iter().map(|c| cfs(c.orifice_m3_per_s)).collect::<Vec<f64>>());
        case.all_near("Q_cfs", &at.iter().map(|c| cfs(c.flow_m3_per_s)).collect::<Vec<f64>>());
        case.near("d_cross_ft", grate.crossing_depth_m(g) / FT);
        // The depth that a flow needs is the inverse of the flow that a depth passes.
        for (depth, capacity) in case.inputs("d_ft").iter().zip(&at) {
            let back = grate.ponding_depth_m(capacity.flow_m3_per_s, g).0;
            assert!((back / (depth * FT) - 1.0).abs() < 1e-12);
        }
    }
    let case = all.get("inl-sag-si");
    let depths = case.inputs("d_m");
    let weir = |d: &f64| 1e3 * weir_flow_m3_per_s(case.input("Cw"), case.input("P_m"), *d);
    case.all_near("Q_weir_Ls", &depths.iter().map(weir).collect::<Vec<f64>>());
    let orifice =
        |d: &f64| 1e3 * orifice_flow_m3_per_s(case.input("Co"), case.input("A_open_m2"), *d, case.input("g"));
    case.all_near("Q_orifice_Ls", &depths.iter().map(orifice).collect::<Vec<f64>>());
    // A slot under a weir: both of its edges but not its ends; HEC-22 uses the coefficient 2.48 for slots.
    let case = all.get("inl-slot-sag-hec22");
    let per_metre = weir_flow_m3_per_s(weir_ft(2.48), 1.0, case.input("d_ft") * FT);
    case.near("L_weir_ft", m3_per_s_from_cfs(case.input("Q_cfs")) / per_metre / FT);
}

#[test]
fn unit_factors() {
    let all = Cases::read(include_str!("cases/units.json"));
    let case = all.get("units-exact");
    case.near("ft_m", METRES_PER_FOOT);
    case.near("in_m", METRES_PER_INCH);
    case.near("gal_m3", 60.0 * Unit::GalUsPerMin.si_rate());
    case.near("acre_m2", SQUARE_METRES_PER_ACRE);
    case.near("cfs_Ls", 1e3 * m3_per_s_from_cfs(1.0));
    case.near("gpm_Ls", 1e3 * m3_per_s_from_gpm(1.0));
    case.near("cfs_gpm", gpm_from_m3_per_s(m3_per_s_from_cfs(1.0)));
    case.near("acre_in_per_hr_cfs", rational_flow_us_cfs(1.0, 1.0, 1.0, FlowFactor::Exact));
    let flow = rational_flow_m3_per_s(1.0, 25.4, SQUARE_METRES_PER_SQUARE_FOOT);
    case.near("ft2_in_per_hr_gpm", gpm_from_m3_per_s(flow));
    case.near("ha_mm_per_hr_Ls", 1e3 * rational_flow_m3_per_s(1.0, 1.0, 1e4));
    case.near("g_ft_s2", rillcast::compute::water::STANDARD_GRAVITY / FT);
    case.near("in_per_hr_mm_per_hr", Unit::InPerHr.si_rate() / Unit::MmPerHr.si_rate());
    // In feet the formula has the constant that its metric form gives for a radius of one foot.
    all.get("units-manning-k").near("k_us", manning::velocity_m_per_s(FT, 1.0, 1.0) / FT);
}
