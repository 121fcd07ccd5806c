//! One accepted step of the integration as a pair of polynomials: station and depth of a parameter from 0 to 1.

use crate::compute::water::roots;

/// Polynomials of up to the fifth degree; parameter 0 is where the step began, 1 where it ended.
#[derive(Debug, Clone, Copy)]
pub(super) struct Segment {
    /// Index of the reach it lies in.
    pub(super) reach: usize,
    x: [f64; 6],
    y: [f64; 6],
    /// Station is linear in the parameter.
    straight: bool,
}

/// Value, first and second derivative at one end of a step, by the parameter.
pub(super) type End = (f64, f64, f64);

fn hermite((p0, v0, a0): End, (p1, v1, a1): End) -> [f64; 6] {
    let rise = p1 - p0;
    [
        p0,
        v0,
        0.5 * a0,
        10.0 * rise - 6.0 * v0 - 4.0 * v1 - 1.5 * a0 + 0.5 * a1,
        -15.0 * rise + 8.0 * v0 + 7.0 * v1 + 1.5 * a0 - a1,
        6.0 * rise - 3.0 * (v0 + v1) - 0.5 * (a0 - a1),
    ]
}

fn value(c: &[f64; 6], t: f64) -> f64 {
    c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))))
}

fn rate(c: &[f64; 6], t: f64) -> f64 {
    c[1] + t * (2.0 * c[2] + t * (3.0 * c[3] + t * (4.0 * c[4] + t * 5.0 * c[5])))
}

impl Segment {
    /// Quintic Hermite piece: both ends with two derivatives, in both coordinates.
    pub(super) fn hermite(reach: usize, x: (End, End), y: (End, End)) -> Self {
        Self { reach, x: hermite(x.0, x.1), y: hermite(y.0, y.1), straight: false }
    }

    /// Quintic Hermite piece over a straight station axis.
    pub(super) fn straight_hermite(reach: usize, x0: f64, x1: f64, start: End, end: End) -> Self {
        Self { reach, x: line(x0, x1), y: hermite(start, end), straight: true }
    }

    /// Depth as a cubic of the parameter over a straight station axis.
    pub(super) fn straight_cubic(reach: usize, x0: f64, x1: f64, depth: [f64; 4]) -> Self {
        let [c0, c1, c2, c3] = depth;
        Self { reach, x: line(x0, x1), y: [c0, c1, c2, c3, 0.0, 0.0], straight: true }
    }

    pub(super) fn x(&self, t: f64) -> f64 {
        value(&self.x, t)
    }

    pub(super) fn y(&self, t: f64) -> f64 {
        value(&self.y, t)
    }

    /// Derivative of the station by the parameter.
    pub(super) fn x_rate(&self, t: f64) -> f64 {
        rate(&self.x, t)
    }

    /// Derivative of the depth by the parameter.
    pub(super) fn y_rate(&self, t: f64) -> f64 {
        rate(&self.y, t)
    }

    /// The part up to parameter `t`, with its own parameter from 0 to 1.
    pub(super) fn cut(&self, t: f64) -> Self {
        let mut cut = *self;
        let mut power = 1.0;
        for (x, y) in cut.x.iter_mut().zip(cut.y.iter_mut()) {
            *x *= power;
            *y *= power;
            power *= t;
        }
        cut
    }

    /// Parameter at a station inside the segment.
    pub(super) fn parameter_at(&self, x: f64) -> f64 {
        if self.straight {
            let run = self.x[1];
            return if run == 0.0 { 0.0 } else { ((x - self.x[0]) / run).clamp(0.0, 1.0) };
        }
        let (start, end) = (self.x(0.0) - x, self.x(1.0) - x);
        if start == 0.0 || start * end > 0.0 {
            return if start.abs() <= end.abs() { 0.0 } else { 1.0 };
        }
        roots::bracketed_plain(|t| self.x(t) - x, (0.0, start), (1.0, end), 1e-14)
    }
}

fn line(x0: f64, x1: f64) -> [f64; 6] {
    [x0, x1 - x0, 0.0, 0.0, 0.0, 0.0]
}

#[cfg(test)]
mod tests {
    use super::Segment;

    #[test]
    fn hermite_reproduces_a_quintic() {
        let f = |t: f64| 1.0 + t - 2.0 * t.powi(3) + 0.5 * t.powi(5);
        let segment = Segment::straight_hermite(0, 0.0, 1.0, (1.0, 1.0, 0.0), (0.5, -2.5, -2.0));
        for t in [0.0, 0.2, 0.5, 0.9, 1.0] {
            assert!((segment.y(t) - f(t)).abs() < 1e-14);
            assert!((segment.cut(0.5).y(t) - f(0.5 * t)).abs() < 1e-14);
        }
    }
}
