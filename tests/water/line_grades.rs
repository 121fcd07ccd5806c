//! Grade lines, ends and limits of single pipes, worked by hand. Losses in velocity heads and the lesser of uniform and critical
//! depth at a free end: FHWA HEC-22 (2009), ch. 7 (from memory).

use rillcast::compute::water::intake::FloorOpening;
use rillcast::compute::water::pipe::{
    DrainLine, DrainLineInput, LegResult, LineLeg, LineSettings, PipeSettings, check_pipe,
};
use rillcast::compute::water::warning::Warning;

const GRAVITY: f64 = 9.806_65;
const BORE: f64 = 0.15;
/// `BORE^2 x pi / 4`
const AREA: f64 = 0.017_671_458_676_442_587;

/// 10 m of pipe of 150 mm, n 0.010, down to 0.9 m; the junction takes half a velocity head, the bend a fifth.
fn leg(slope: f64, flow: f64, tailwater: Option<f64>) -> LegResult {
    let leg = LineLeg {
        name: "leg".to_owned(),
        flows_into: None,
        length_m: 10.0,
        bore_m: BORE,
        wall_m: 0.005,
        n: 0.010,
        invert_upper_m: 0.9 + 10.0 * slope,
        invert_lower_m: 0.9,
        inflow_m3_per_s: flow,
        bend_loss: 0.2,
        junction_loss: 0.5,
        ground: Vec::new(),
    };
    let input =
        DrainLineInput { legs: vec![leg], tailwater_level_m: tailwater, settings: LineSettings::default() };
    DrainLine::new(input).unwrap().compute().legs.remove(0)
}

fn head(flow: f64) -> f64 {
    (flow / AREA).powi(2) / (2.0 * GRAVITY)
}

/// `V = (0.15 / 4)^(2/3) x 0.01^0.5 / 0.010` = 1.1204 m/s, 19.80 L/s; 15 L/s rub off (15 / 19.80)^2 of 1 %.
#[test]
fn a_drowned_end_costs_the_junction_and_the_bend() {
    let found = leg(0.01, 0.015, Some(1.2));
    assert!(found.carries);
    let lower = 1.2 + (0.5 + 0.2) * head(0.015);
    assert!((found.grade_lower_m - lower).abs() < 1e-9, "{} {lower}", found.grade_lower_m);
    let friction = 0.01 * (0.015 / 0.019_799_f64).powi(2);
    assert!((found.grade_upper_m - (lower + 10.0 * friction)).abs() < 1e-5, "{}", found.grade_upper_m);
}

/// 25 L/s are more than the 19.80 it carries: it stands to the crown at the end, and the bend costs its head there.
#[test]
fn a_pipe_that_carries_too_little_is_full_and_loses_at_its_bend() {
    let found = leg(0.01, 0.025, None);
    assert!(!found.carries);
    let lower = 0.9 + BORE + 0.2 * head(0.025);
    assert!((found.grade_lower_m - lower).abs() < 1e-9, "{} {lower}", found.grade_lower_m);
}

#[test]
fn water_leaves_a_free_end_at_the_lesser_of_uniform_and_critical_depth() {
    // Steep: it shoots along at less than critical depth and leaves so.
    let steep = leg(0.02, 0.01, None);
    let uniform = steep.depth_m.unwrap();
    assert!(uniform < steep.critical_depth_m, "{uniform} {}", steep.critical_depth_m);
    assert!((steep.grade_lower_m - 0.9 - uniform).abs() < 1e-9, "{}", steep.grade_lower_m);
    // Flat: it is deeper and falls off at critical depth.
    let flat = leg(0.001, 0.004, None);
    assert!(flat.depth_m.unwrap() > flat.critical_depth_m);
    assert!((flat.grade_lower_m - 0.9 - flat.critical_depth_m).abs() < 1e-9, "{}", flat.grade_lower_m);
}

/// 2 ft/s flowing full (Ten States Standards, from memory): a hundredth more keeps a pipe clean, a hundredth less does not.
#[test]
fn a_pipe_is_too_slow_just_below_its_limit() {
    let at = |share: f64| {
        // V goes by the root of the slope, 1.1204 m/s at 1 %
        let slope = 0.01 * (share * 2.0 * 0.3048 / 1.120_4_f64).powi(2);
        let found = check_pipe(BORE, slope, 0.010, 0.001, &PipeSettings::default()).unwrap();
        found.warnings.iter().any(|w| matches!(w, Warning::TooSlow { .. }))
    };
    assert_eq!([at(0.99), at(1.01)], [true, false]);
}

/// 5 L/s through a round hole of 100 mm with the coefficient 0.67 ask for 46.03 mm over what stands in it; 50 mm stand there.
#[test]
fn a_hole_that_is_backed_up_needs_its_head_on_top() {
    let depth = FloorOpening::round(0.1).depth_m(0.005, Some(0.05), GRAVITY);
    assert!((depth - 0.096_03).abs() < 1e-5, "{depth}");
}
