//! One step of the Dormand-Prince 5(4) pair.
//!
//! Source: J. R. Dormand and P. J. Prince, J. Comp. Appl. Math. 6 (1980), 19-26 (from memory; the test below
//! proves the order, and random runs are compared with an independent integrator).

const A: [[f64; 5]; 5] = [
    [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0],
    [19_372.0 / 6_561.0, -25_360.0 / 2_187.0, 64_448.0 / 6_561.0, -212.0 / 729.0, 0.0],
    [9_017.0 / 3_168.0, -355.0 / 33.0, 46_732.0 / 5_247.0, 49.0 / 176.0, -5_103.0 / 18_656.0],
];
const B: [f64; 6] = [35.0 / 384.0, 0.0, 500.0 / 1_113.0, 125.0 / 192.0, -2_187.0 / 6_784.0, 11.0 / 84.0];
const C: [f64; 5] = [1.0 / 5.0, 3.0 / 10.0, 4.0 / 5.0, 8.0 / 9.0, 1.0];
const E: [f64; 7] = [
    71.0 / 57_600.0,
    0.0,
    -71.0 / 16_695.0,
    71.0 / 1_920.0,
    -17_253.0 / 339_200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];

/// Stages of a step of size `h` from `start`, whose slope is `first`. `f` returns `None` where the equation has
/// no meaning, which ends the step. Gives the new point and the seventh-stage-free part of the error, to which
/// [`last_error`] adds the slope at the new point.
pub(super) fn step<const N: usize>(
    mut f: impl FnMut(f64, [f64; N]) -> Option<[f64; N]>,
    h: f64,
    start: [f64; N],
    first: [f64; N],
) -> Option<([f64; N], [f64; N])> {
    let k0 = first;
    let along = |terms: &[(f64, &[f64; N])]| -> [f64; N] {
        std::array::from_fn(|i| start[i] + h * terms.iter().map(|(a, k)| a * k[i]).sum::<f64>())
    };
    let k1 = f(C[0], along(&[(A[0][0], &k0)]))?;
    let k2 = f(C[1], along(&[(A[1][0], &k0), (A[1][1], &k1)]))?;
    let k3 = f(C[2], along(&[(A[2][0], &k0), (A[2][1], &k1), (A[2][2], &k2)]))?;
    let k4 = f(C[3], along(&[(A[3][0], &k0), (A[3][1], &k1), (A[3][2], &k2), (A[3][3], &k3)]))?;
    let k5 =
        f(C[4], along(&[(A[4][0], &k0), (A[4][1], &k1), (A[4][2], &k2), (A[4][3], &k3), (A[4][4], &k4)]))?;
    let point = along(&[(B[0], &k0), (B[2], &k2), (B[3], &k3), (B[4], &k4), (B[5], &k5)]);
    let error = std::array::from_fn(|i| {
        h * (E[0] * k0[i] + E[2] * k2[i] + E[3] * k3[i] + E[4] * k4[i] + E[5] * k5[i])
    });
    Some((point, error))
}

/// Share of the error estimate that the slope at the new point carries.
pub(super) fn last_error(h: f64, slope: f64) -> f64 {
    h * E[6] * slope
}

#[cfg(test)]
mod tests {
    use super::{last_error, step};

    fn error_of(steps: u32) -> (f64, f64) {
        let h = 1.0 / f64::from(steps);
        let f = |x: f64, y: f64| y * (2.0 * x).cos();
        let (mut y, mut estimate) = (1.0, 0.0);
        for i in 0..steps {
            let x = f64::from(i) * h;
            if let Some(([next], [error])) = step(|c, [y]| Some([f(x + c * h, y)]), h, [y], [f(x, y)]) {
                estimate += error + last_error(h, f(x + h, next));
                y = next;
            }
        }
        ((y - (0.5 * 2.0_f64.sin()).exp()).abs(), estimate.abs())
    }

    #[test]
    fn is_of_the_fifth_order_with_a_fourth_order_estimate() {
        let ((coarse, coarse_estimate), (fine, fine_estimate)) = (error_of(20), error_of(40));
        assert!((coarse / fine).log2() > 4.7, "{coarse} {fine}");
        assert!((coarse_estimate / fine_estimate).log2() > 3.7);
    }
}
