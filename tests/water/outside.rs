//! Agreement with general-purpose libraries: `fluids` (PyPI) for sections, `ode_solvers` (crates.io) for profiles.

use crate::cases::Checked;
use ode_solvers::{Dop853, System, Vector2};
use rillcast::compute::water::pipe::depth_for_flow_m;
use rillcast::compute::water::run::{Leg, Outlet, Regime, Run, RunInput};
use rillcast::compute::water::section::{
    Circle, OpenSection, Prismatic, Rectangle, UShape, conveyance_m3_per_s, critical_depth_m, normal_depth_m,
};
use serde_json::Value;

#[test]
fn manning_and_critical_depth_agree_with_fluids() -> Checked {
    let file: Value = serde_json::from_str(include_str!("cases/fluids.json"))?;
    let gravity = file["gravity"].as_f64().ok_or("gravity")?;
    let cases = file["cases"].as_array().ok_or("cases")?;
    assert_eq!(cases.len(), 240);
    for case in cases {
        let number = |name: &str| case[name].as_f64().unwrap_or(f64::NAN);
        let (size, depth, n, slope) = (number("size_m"), number("depth_m"), number("n"), number("slope"));
        let (flow, critical) = (number("flow_m3_per_s"), number("critical_depth_m"));
        let check = |section: &dyn Prismatic, uniform: Option<f64>| {
            let ours = conveyance_m3_per_s(section, depth, n) * slope.sqrt();
            assert!((ours / flow - 1.0).abs() < 1e-10, "{case} {ours}");
            let velocity = ours / section.area_m2(depth);
            assert!((velocity / number("velocity_m_per_s") - 1.0).abs() < 1e-10);
            let ours = critical_depth_m(section, flow, gravity);
            assert!((ours / critical - 1.0).abs() < 1e-8, "{case} {ours}");
            if let Some(uniform) = uniform {
                assert!((uniform / depth - 1.0).abs() < 1e-9, "{case} {uniform}");
            }
        };
        match case["shape"].as_str() {
            Some("circle") => {
                let pipe = Circle::new(size)?;
                // Above 0.82 of the bore the same flow has a lesser depth too, which is the one we give.
                let uniform = depth_for_flow_m(&pipe, flow, slope, n).filter(|_| depth < 0.8196 * size);
                check(&pipe, uniform);
            }
            Some("rectangle") => {
                let section = Rectangle::new(size)?;
                check(&section, normal_depth_m(&section, flow, slope, n));
            }
            _ => {
                let section = UShape::new(size)?;
                check(&section, normal_depth_m(&section, flow, slope, n));
            }
        }
    }
    Ok(())
}

/// A random run, in plain numbers, with its own geometry: nothing here is shared with the library under test.
#[derive(Debug, Clone, Copy)]
struct Plain {
    u_shape: bool,
    b: f64,
    n: f64,
    q: f64,
    s0: f64,
    length: f64,
    tail: f64,
}

const G: f64 = 9.80665;

impl Plain {
    /// Area, width, perimeter.
    fn geometry(&self, y: f64) -> (f64, f64, f64) {
        let r = 0.5 * self.b;
        if !self.u_shape {
            (self.b * y, self.b, self.b + 2.0 * y)
        } else if y >= r {
            let half = 0.5 * std::f64::consts::PI * r * r;
            (half + self.b * (y - r), self.b, std::f64::consts::PI * r + 2.0 * (y - r))
        } else {
            let theta = 2.0 * (1.0 - y / r).acos();
            (0.5 * r * r * (theta - theta.sin()), 2.0 * r * (0.5 * theta).sin(), r * theta)
        }
    }

    fn parts(&self, x: f64, y: f64) -> (f64, f64) {
        let (a, t, p) = self.geometry(y);
        let flow = self.q * x;
        let sf = self.n * self.n * flow * flow / (a * a * (a / p).powf(4.0 / 3.0));
        (self.s0 - sf - 2.0 * flow * self.q / (G * a * a), 1.0 - flow * flow * t / (G * a * a * a))
    }

    fn critical(&self, x: f64) -> f64 {
        let (mut low, mut high) = (1e-12, 50.0);
        for _ in 0..200 {
            let mid = f64::sqrt(low * high);
            if self.parts(x, mid).1 < 0.0 { low = mid } else { high = mid }
        }
        f64::sqrt(low * high)
    }

    fn force(&self, x: f64, y: f64) -> f64 {
        let (a, _, _) = self.geometry(y);
        let flow = self.q * x;
        // First moment by Simpson's rule on the area, piece by piece below and above the springing.
        let simpson = |low: f64, high: f64| {
            let steps = 400;
            let h = (high - low) / f64::from(steps);
            let area = |k: i32| self.geometry((low + h * f64::from(k)).max(1e-15)).0;
            let inner: f64 = (1..steps).map(|k| if k % 2 == 1 { 4.0 } else { 2.0 } * area(k)).sum();
            (area(0) + inner + area(steps)) * h / 3.0
        };
        let r = 0.5 * self.b;
        let moment = if y > r { simpson(0.0, r) + simpson(r, y) } else { simpson(0.0, y) };
        flow * flow / (G * a) + moment
    }

    /// Stations where the bed gets steep enough to turn the flow fast, by looking along it.
    fn controls(&self) -> Vec<f64> {
        let numerator = |x: f64| self.parts(x, self.critical(x)).0;
        let stations: Vec<f64> =
            (0..=600).map(|k| self.length * 10_f64.powf(-6.0 * (1.0 - f64::from(k) / 600.0))).collect();
        let mut found = Vec::new();
        for pair in stations.windows(2) {
            let (mut low, mut high) = (pair[0], pair[1]);
            if numerator(low) < 0.0 && numerator(high) >= 0.0 {
                for _ in 0..100 {
                    let mid = 0.5 * (low + high);
                    if numerator(mid) < 0.0 { low = mid } else { high = mid }
                }
                found.push(0.5 * (low + high));
            }
        }
        found
    }
}

/// The regular form: station and depth along a parameter, with the length of its path as that parameter.
struct Path {
    run: Plain,
    /// Sign of `1 - Fr²` on the side of critical depth the path is on; 0 until it has left the critical point.
    side: f64,
}

impl Path {
    fn ends_at(&self, x: f64, y: f64) -> bool {
        let inside = x > 0.0 && x <= self.run.length * 1.001 && y > 1e-9;
        !inside || self.run.parts(x, y).1 * self.side < 0.0
    }
}

impl System<f64, Vector2<f64>> for Path {
    fn system(&self, _: f64, at: &Vector2<f64>, rate: &mut Vector2<f64>) {
        let (x, y) = (at[0].max(0.0), at[1].max(1e-12));
        let (n, d) = self.run.parts(x, y);
        // Scaled so that a unit of the parameter moves about one part of the run or of the depth.
        let size = (d / self.run.length).hypot(n / y).max(1e-300);
        rate[0] = -d / size;
        rate[1] = -n / size;
    }

    /// Beyond the run and beyond critical depth the equation has no meaning, and a step there may fail.
    fn solout(&mut self, _: f64, at: &Vector2<f64>, _: &Vector2<f64>) -> bool {
        let (x, y) = (at[0], at[1]);
        if self.ends_at(x, y) {
            return true;
        }
        let d = self.run.parts(x, y).1;
        if self.side == 0.0 && d.abs() > 1e-7 {
            self.side = d.signum();
        }
        false
    }
}

/// Points of the water surface that leaves a point, to where it leaves the run or turns critical, and whether the
/// integrator got that far.
fn follow(run: Plain, x: f64, y: f64) -> (Vec<(f64, f64)>, bool) {
    let start = Vector2::new(x, y);
    let mut solver = Dop853::new(Path { run, side: 0.0 }, 0.0, 200.0, 0.004, start, 1e-10, 1e-14);
    let _ = solver.integrate();
    let mut path = Path { run, side: 0.0 };
    let mut points = vec![(x, y)];
    for at in solver.y_out().iter().skip(1) {
        let (x, y) = (at[0], at[1]);
        if path.ends_at(x, y) {
            let left_run = run.parts(x.max(0.0), y.max(1e-12)).1 * path.side > 0.0;
            if left_run {
                points.push((x, y));
            }
            return (points, true);
        }
        path.solout(0.0, at, at);
        points.push((x, y));
    }
    (points, false)
}

/// Depth by interpolation, cubic through the slopes of the equation; `None` outside.
fn read(run: Plain, points: &[(f64, f64)], x: f64) -> Option<f64> {
    points.windows(2).find_map(|pair| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        let (low, high) = if x0 < x1 { (x0, x1) } else { (x1, x0) };
        if x < low || x > high || x0 == x1 {
            return None;
        }
        let h = x1 - x0;
        let t = (x - x0) / h;
        let slope = |x: f64, y: f64| {
            let (n, d) = run.parts(x.max(0.0), y);
            n / d
        };
        let (m0, m1) = (h * slope(x0, y0), h * slope(x1, y1));
        let rise = y1 - y0;
        let cubic = y0 + t * (m0 + t * ((3.0 * rise - 2.0 * m0 - m1) + t * (m0 + m1 - 2.0 * rise)));
        let tame = m0.is_finite() && m1.is_finite() && m0.abs() < 3.0 * y0 && m1.abs() < 3.0 * y0;
        Some(if tame { cubic } else { y0 + t * rise })
    })
}

/// A number from 0 to 1 (SplitMix64: the same runs every time).
fn unit(state: &mut u64) -> f64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

fn random_run(state: &mut u64) -> Plain {
    let mut log = |low: f64, high: f64| low * (high / low).powf(unit(state));
    let b = log(0.05, 0.4);
    let length = log(2.0, 120.0);
    let capacity = b * b.sqrt() * b * log(0.02, 3.0);
    let n = log(0.008, 0.02);
    let kind = log(1.0, 10.0);
    let s0 = if kind < 1.5 { 0.0 } else { log(1e-3, 0.06) };
    let tail = if kind > 4.0 { b * log(0.3, 2.5) } else { 0.0 };
    let u_shape = log(1.0, 4.0) > 2.0;
    Plain { u_shape, b, n, q: capacity / length, s0, length, tail }
}

#[test]
fn profiles_agree_with_a_general_integrator() -> Checked {
    let mut state = 1934;
    let mut by_kind = [0_usize; 4];
    let (mut compared, mut given_up, mut runs) = (0, 0, 0);
    for _ in 0..420 {
        let plain = random_run(&mut state);
        let section: OpenSection =
            if plain.u_shape { UShape::new(plain.b)?.into() } else { Rectangle::new(plain.b)?.into() };
        let leg = Leg {
            length_m: plain.length,
            surface_fall: plain.s0,
            depth_start_m: 1.0,
            depth_end_m: 1.0,
            corner_loss_at_end: 0.0,
        };
        let mut input = RunInput::simple(section, plain.n, leg, plain.q);
        input.settings.stations = 40;
        if plain.tail > 0.0 {
            let tail = Some(plain.tail);
            input.outlets = vec![Outlet { tailwater_depth_m: tail, ..Outlet::free(plain.length) }];
        }
        let profile = Run::new(input)?.profile().map_err(|e| format!("{plain:?}: {e}"))?;
        assert!(profile.residuals.momentum < 1e-6, "{plain:?} {}", profile.residuals.momentum);
        let controls = plain.controls();
        let critical = plain.critical(plain.length);
        let (n_out, _) = plain.parts(plain.length, critical);
        // Slow water from the outlet, where there is any.
        let (slow, slow_done) = if plain.tail > critical {
            follow(plain, plain.length, plain.tail)
        } else if n_out < 0.0 {
            follow(plain, plain.length, critical)
        } else {
            (Vec::new(), true)
        };
        // Fast and slow water from the control, leaving along the slope that both take there: a point slightly off on
        // either side is drawn onto it.
        let control = controls.last().map(|&x| {
            let y = plain.critical(x);
            let step = 1e-5;
            let slope =
                (plain.critical(x * (1.0 + step)) - plain.critical(x * (1.0 - step))) / (2.0 * step * x);
            let fast = follow(plain, x * (1.0 + step), y + slope * x * step - 2e-5 * y);
            let above = follow(plain, x * (1.0 - step), y - slope * x * step + 2e-5 * y);
            (x, fast, above)
        });
        runs += 1;
        by_kind[match (controls.is_empty(), plain.tail > critical, profile.jumps.is_empty()) {
            (true, false, _) => 0,
            (true, true, _) => 1,
            (false, _, true) => 2,
            (false, _, false) => 3,
        }] += 1;
        for station in &profile.stations {
            let x = station.station_m;
            if x < 0.02 * plain.length || x > 0.995 * plain.length {
                continue;
            }
            let from_slow = read(plain, &slow, x);
            let from_control = control.as_ref().and_then(|(at, fast, above)| {
                if (x - at).abs() < 0.05 * at {
                    return None;
                }
                read(plain, if x > *at { &fast.0 } else { &above.0 }, x)
            });
            // A path that the integrator gave up on before it ended compares nothing beyond.
            let slow_missing = !slow_done && from_slow.is_none();
            let control_missing = control.as_ref().is_some_and(|(at, fast, above)| {
                let (_, done) = if x > *at { fast } else { above };
                !done && from_control.is_none()
            });
            if slow_missing || control_missing {
                given_up += 1;
                continue;
            }
            // The one with the greater specific force prevails.
            let expected = match (from_slow, from_control) {
                (Some(slow), Some(other)) => {
                    let (a, b) = (plain.force(x, slow), plain.force(x, other));
                    if (a / b - 1.0).abs() < 1e-3 {
                        continue;
                    }
                    if a > b { slow } else { other }
                }
                (Some(depth), None) | (None, Some(depth)) => depth,
                (None, None) => continue,
            };
            if control.as_ref().is_some_and(|(at, _, _)| (x - at).abs() < 0.05 * at) {
                continue;
            }
            compared += 1;
            assert!(
                (station.depth_m / expected - 1.0).abs() < 1e-3,
                "{plain:?} at {x}: {} against {expected} ({from_slow:?} {from_control:?}); {:?}",
                station.depth_m,
                profile.controls
            );
        }
        assert!(profile.regimes.iter().all(|r| r.regime != Regime::Still));
    }
    assert!(runs >= 400 && compared > 12_000, "{runs} {compared}");
    assert!(given_up < compared / 100, "{given_up} of {compared}");
    assert!(by_kind.iter().all(|count| *count > 15), "{by_kind:?}");
    Ok(())
}
