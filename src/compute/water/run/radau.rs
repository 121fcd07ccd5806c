//! One step of the implicit method of Radau, order 5, for one equation.
//!
//! Where flow settles to its depth within centimetres, or runs close to critical, an explicit method creeps although the
//! water surface is smooth: its trial depths lie off the surface, where the slope is quite another. This one only ever
//! asks for the slope on the surface, and takes steps as long as that is smooth.
//!
//! Source: the method of three stages, Radau IIA, E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2e
//! (1996), ch. IV.5 (from memory; the tests below prove order and damping).

/// Slope and its derivative by depth.
pub(super) type Local = (f64, f64);

const ROOT: f64 = 2.449_489_742_783_178;
/// Shares of the step at which its stages lie.
pub(super) const SHARES: [f64; 3] = [(4.0 - ROOT) / 10.0, (4.0 + ROOT) / 10.0, 1.0];
const WEIGHTS: [[f64; 3]; 3] = [
    [(88.0 - 7.0 * ROOT) / 360.0, (296.0 - 169.0 * ROOT) / 1800.0, (-2.0 + 3.0 * ROOT) / 225.0],
    [(296.0 + 169.0 * ROOT) / 1800.0, (88.0 + 7.0 * ROOT) / 360.0, (-2.0 - 3.0 * ROOT) / 225.0],
    [(16.0 - ROOT) / 36.0, (16.0 + ROOT) / 36.0, 1.0 / 9.0],
];
/// Share of the depth that Newton's method may leave: far less than a step may be off.
const NEGLIGIBLE: f64 = 1e-12;
/// Newton steps in which the stages must settle.
const ROUNDS: usize = 8;

/// Depth after one step of the signed size `h` from `y`; `at` takes the stage and its depth. `None` where the stages do
/// not settle, or leave the range of the equation.
pub(super) fn step(
    mut at: impl FnMut(usize, f64) -> Option<Local>,
    h: f64,
    y: f64,
    guess: [f64; 3],
) -> Option<f64> {
    let [mut z1, mut z2, mut z3] = guess.map(|depth| depth - y);
    for _ in 0..ROUNDS {
        let ((f1, g1), (f2, g2), (f3, g3)) = (at(0, y + z1)?, at(1, y + z2)?, at(2, y + z3)?);
        let [[a11, a12, a13], [a21, a22, a23], [a31, a32, a33]] = WEIGHTS;
        let r1 = z1 - h * (a11 * f1 + a12 * f2 + a13 * f3);
        let r2 = z2 - h * (a21 * f1 + a22 * f2 + a23 * f3);
        let r3 = z3 - h * (a31 * f1 + a32 * f2 + a33 * f3);
        let (h1, h2, h3) = (h * g1, h * g2, h * g3);
        let (m11, m12, m13) = (1.0 - a11 * h1, -a12 * h2, -a13 * h3);
        let (m21, m22, m23) = (-a21 * h1, 1.0 - a22 * h2, -a23 * h3);
        let (m31, m32, m33) = (-a31 * h1, -a32 * h2, 1.0 - a33 * h3);
        let (c1, c2, c3) = (m22 * m33 - m23 * m32, m23 * m31 - m21 * m33, m21 * m32 - m22 * m31);
        let determinant = m11 * c1 + m12 * c2 + m13 * c3;
        let d1 = (r1 * c1 + r2 * (m13 * m32 - m12 * m33) + r3 * (m12 * m23 - m13 * m22)) / determinant;
        let d2 = (r1 * c2 + r2 * (m11 * m33 - m13 * m31) + r3 * (m13 * m21 - m11 * m23)) / determinant;
        let d3 = (r1 * c3 + r2 * (m12 * m31 - m11 * m32) + r3 * (m11 * m22 - m12 * m21)) / determinant;
        (z1, z2, z3) = (z1 - d1, z2 - d2, z3 - d3);
        let moved = d1.abs().max(d2.abs()).max(d3.abs());
        // Newton's steps square what is left, times how much of a disturbance dies out within the step.
        let dies_out = h1.abs().max(h2.abs()).max(h3.abs()).max(1.0);
        if moved * moved * dies_out <= NEGLIGIBLE * y * y {
            return Some(y + z3);
        }
        // Written so that a NaN fails it.
        let possible = moved <= 4.0 * y;
        if !possible {
            return None;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::{SHARES, step};

    fn run(steps: u32, slope: impl Fn(f64, f64) -> (f64, f64), start: f64) -> f64 {
        let h = 1.0 / f64::from(steps);
        let mut y = start;
        for i in 0..steps {
            let x = f64::from(i) * h;
            let at = |stage: usize, y: f64| SHARES.get(stage).map(|share| slope(x + share * h, y));
            y = step(at, h, y, [y; 3]).unwrap_or(f64::NAN);
        }
        y
    }

    #[test]
    fn is_of_the_fifth_order() {
        let slope = |x: f64, y: f64| (y * (2.0 * x).cos(), (2.0 * x).cos());
        let exact = (0.5 * 2.0_f64.sin()).exp();
        let (coarse, fine) = ((run(8, slope, 1.0) - exact).abs(), (run(16, slope, 1.0) - exact).abs());
        assert!((coarse / fine).log2() > 4.7, "{coarse} {fine}");
    }

    #[test]
    fn damps_a_stiff_start_at_once() {
        let slope = |x: f64, y: f64| (-1e6 * (y - 1.0 - x), -1e6);
        let end = run(4, slope, 5.0);
        assert!((end - (2.0 - 1e-6)).abs() < 1e-6, "{end}");
    }
}
