//! One step of a stiffly stable Rosenbrock method of order 4 with an embedded order 3, for one equation.
//!
//! Thin flow settles to its normal depth within centimetres; an explicit method would creep along a long run at
//! that length. This one takes steps as long as the water surface is smooth.
//!
//! Source: the coefficients of RODAS, E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2e
//! (1996), ch. IV.7 (from memory; the tests below prove order and damping).

const GAMMA: f64 = 0.25;

/// The equation `dy/dx = f(x, y)` at the start of a step.
#[derive(Debug, Clone, Copy)]
pub(super) struct Local {
    /// Depth.
    pub(super) y: f64,
    /// Slope.
    pub(super) slope: f64,
    /// Derivative of the slope by station.
    pub(super) slope_x: f64,
    /// Derivative of the slope by depth.
    pub(super) slope_y: f64,
}

/// New depth, error estimate, and the depth along the step as a cubic of the share of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    pub(super) y: f64,
    pub(super) error: f64,
    pub(super) cubic: [f64; 4],
}

/// One step of the signed size `h`; `f` takes the share of the step and the depth.
pub(super) fn step(mut f: impl FnMut(f64, f64) -> Option<f64>, h: f64, at: Local) -> Option<Step> {
    let factor = 1.0 / (GAMMA * h) - at.slope_y;
    let hx = h * at.slope_x;
    let u1 = (at.slope + 0.25 * hx) / factor;
    let u2 = (f(0.386, at.y + 1.544 * u1)? - 0.1043 * hx - 5.6688 * u1 / h) / factor;
    let y3 = at.y + 0.946_678_528_081_582_6 * u1 + 0.255_701_169_898_328_4 * u2;
    let u3 = (f(0.21, y3)? + 0.1035 * hx - (2.430_093_356_833_875 * u1 + 0.206_359_915_709_191_5 * u2) / h)
        / factor;
    let y4 = at.y + 3.314_825_187_068_521 * u1 + 2.896_124_015_972_201 * u2 + 0.998_641_913_997_781_7 * u3;
    let u4 = (f(0.63, y4)?
        - 0.036_200_000_000_000_23 * hx
        - (0.107_352_905_815_137_5 * u1 + 9.594_562_251_023_355 * u2 + 20.470_286_148_096_16 * u3) / h)
        / factor;
    let y5 = at.y + 1.221_224_509_226_641 * u1 + 6.019_134_481_288_629 * u2 + 12.537_083_329_320_87 * u3
        - 0.687_886_036_105_895 * u4;
    let u5 = (f(1.0, y5)?
        + (7.496_443_313_967_647 * u1 - 10.246_804_314_643_52 * u2 - 33.999_903_528_199_05 * u3
            + 11.708_908_932_061_6 * u4)
            / h)
        / factor;
    let y6 = y5 + u5;
    let u6 = (f(1.0, y6)?
        + (8.083_246_795_921_522 * u1 - 7.981_132_988_064_893 * u2 - 31.521_594_328_743_71 * u3
            + 16.319_305_431_231_36 * u4
            - 6.058_818_238_834_054 * u5)
            / h)
        / factor;
    let y = y6 + u6;
    let c3 = 10.126_235_083_445_86 * u1
        - 7.487_995_877_610_167 * u2
        - 34.800_918_615_557_47 * u3
        - 7.992_771_707_568_823 * u4
        + 1.025_137_723_295_662 * u5;
    let c4 = -0.676_280_339_280_125_3 * u1
        + 6.087_714_651_680_015 * u2
        + 16.430_843_208_924_78 * u3
        + 24.767_225_114_183_86 * u4
        - 6.594_389_125_716_872 * u5;
    // y0 (1 - t) + t (y1 + (1 - t) (c3 + t c4))
    let cubic = [at.y, y - at.y + c3, c4 - c3, -c4];
    Some(Step { y, error: u6, cubic })
}

#[cfg(test)]
mod tests {
    use super::{Local, step};

    fn run(steps: u32, slope: impl Fn(f64, f64) -> (f64, f64, f64), start: f64) -> (f64, f64) {
        let h = 1.0 / f64::from(steps);
        let (mut y, mut middle) = (start, 0.0);
        for i in 0..steps {
            let x = f64::from(i) * h;
            let (f, fx, fy) = slope(x, y);
            let local = Local { y, slope: f, slope_x: fx, slope_y: fy };
            if let Some(done) = step(|c, y| Some(slope(x + c * h, y).0), h, local) {
                y = done.y;
                let [c0, c1, c2, c3] = done.cubic;
                middle = c0 + 0.5 * (c1 + 0.5 * (c2 + 0.5 * c3));
            }
        }
        (y, middle)
    }

    #[test]
    fn is_of_the_fourth_order() {
        let slope = |x: f64, y: f64| {
            let (sin, cos) = (2.0 * x).sin_cos();
            (y * cos, -2.0 * y * sin, cos)
        };
        let exact = (0.5 * 2.0_f64.sin()).exp();
        let (coarse, fine) = ((run(64, slope, 1.0).0 - exact).abs(), (run(128, slope, 1.0).0 - exact).abs());
        assert!((coarse / fine).log2() > 3.7, "{coarse} {fine}");
        let at = |x: f64| (0.5 * (2.0 * x).sin()).exp();
        let (coarse, fine) = (
            (run(16, slope, 1.0).1 - at(1.0 - 0.5 / 16.0)).abs(),
            (run(32, slope, 1.0).1 - at(1.0 - 0.5 / 32.0)).abs(),
        );
        assert!((coarse / fine).log2() > 3.5, "{coarse} {fine}");
    }

    #[test]
    fn damps_a_stiff_start_in_one_step() {
        let (rate, slope) = (1e6, |x: f64, y: f64| (-1e6 * (y - x), 1e6, -1e6));
        let (end, _) = run(4, slope, 5.0);
        assert!((end - (1.0 - 1.0 / rate)).abs() < 1e-5, "{end}");
    }
}
