//! Following the water surface through one reach, away from what controls it.
//!
//! Subcritical water is followed against the flow, supercritical water with it: in both directions errors die
//! out. Where depth is a tame function of station the equation is `dy/dx = N/D`; near a critical section, where
//! `D` vanishes, station and depth both become functions of a parameter, `dx/ds = -D`, `dy/ds = -N`, which is
//! regular there. Where it begins at a control or runs into a node is in `ends`.

mod ends;

use super::dormand_prince::{self, last_error};
use super::error::RunError;
use super::radau;
use super::segment::Segment;
use super::terms::{Channel, Reach, Terms};
use crate::compute::water::roots;
use crate::compute::water::section::Prismatic;
use ends::is_singular;

/// Absolute error of the depth allowed per step, m.
const ABSOLUTE: f64 = 1e-18;
/// How much of what the equation is off in the middle of a step counts as its error.
const DEFECT_WEIGHT: f64 = 0.1;
/// Powers of e that a disturbance dies out by within a step, from which a slope holds more rounding than meaning.
const ROUNDING_AT: f64 = 1e3;
/// Share of the depth within which flow without inflow counts as uniform.
const SETTLED: f64 = 1e-9;
/// Steps one march may take; ordinary runs take some tens.
const BUDGET: usize = 20_000;

/// How much of a disturbance, in powers of e, dies out within a step from which the implicit method pays, and below
/// which the explicit one does again.
const SETTLES_FAST: f64 = 1.0;
const SETTLES_SLOWLY: f64 = 0.2;
/// How much longer than the step before one may be for the surface to be carried on as the first guess of the next.
const LONGER: f64 = 1.5;

/// Side of critical depth a march stays on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// Deeper than critical, marching upstream.
    Subcritical,
    /// Shallower than critical, marching downstream.
    Supercritical,
}

impl Side {
    fn direction(self) -> f64 {
        match self {
            Self::Subcritical => -1.0,
            Self::Supercritical => 1.0,
        }
    }

    fn holds(self, denominator: f64) -> bool {
        match self {
            Self::Subcritical => denominator > 0.0,
            Self::Supercritical => denominator < 0.0,
        }
    }
}

/// How a march ended.
#[derive(Debug, Clone, Copy)]
pub(super) enum Stop {
    /// At the far end of the reach, with this depth.
    End(f64),
    /// At critical depth at this station: the surface cannot go on.
    Critical(f64),
    /// Where the observer said so.
    Halted,
}

/// How much longer the next step may be after one whose error was `ratio` of what is allowed.
fn growth(ratio: f64) -> f64 {
    if ratio > 0.0 { (0.9 * roots::per_fifth_root(ratio)).clamp(0.2, 5.0) } else { 5.0 }
}

enum Pace {
    Explicit,
    Implicit,
}

/// One march through one reach.
pub(super) struct March<'a, S> {
    channel: Channel<'a, S>,
    reach: &'a Reach,
    index: usize,
    side: Side,
    end: f64,
    steps: usize,
    /// Steps from which on a node is looked for.
    look_from: usize,
}

impl<'a, S: Prismatic> March<'a, S> {
    pub(super) fn new(channel: Channel<'a, S>, reach: &'a Reach, index: usize, side: Side) -> Self {
        let end = match side {
            Side::Subcritical => 0.0,
            Side::Supercritical => reach.length_m,
        };
        Self { channel, reach, index, side, end, steps: 0, look_from: 0 }
    }

    /// Marches from a point to the end of the reach, handing each segment to `observe`, which may halt it.
    pub(super) fn run(
        mut self,
        mut x: f64,
        mut y: f64,
        observe: &mut impl FnMut(Segment) -> bool,
    ) -> Result<Stop, RunError> {
        let toward = self.side.direction();
        if (self.end - x) * toward <= 0.0 {
            return Ok(Stop::End(y));
        }
        let mut at = self.channel.terms(self.reach, x, y);
        if is_singular(&at) {
            if self.reach.lateral <= 0.0 {
                // Uniform flow at critical depth on a bed of critical slope: it just goes on.
                observe(Segment::straight_cubic(self.index, x, self.end, [y, 0.0, 0.0, 0.0]));
                return Ok(Stop::End(y));
            }
            let first;
            (first, at) = self.leave(x, y, &at)?;
            (x, y) = (first.x(1.0), first.y(1.0));
            if observe(first) {
                return Ok(Stop::Halted);
            }
            if (self.end - x) * toward <= 0.0 {
                return Ok(Stop::End(y));
            }
        }
        loop {
            let stop = if at.is_steep() {
                self.by_parameter(&mut x, &mut y, &mut at, observe)?
            } else {
                self.by_station(&mut x, &mut y, &mut at, observe)?
            };
            if let Some(stop) = stop {
                return Ok(stop);
            }
        }
    }

    fn count(&mut self, x: f64) -> Result<(), RunError> {
        self.steps += 1;
        if self.steps > BUDGET {
            return Err(RunError::StepBudget { station_m: x, steps: BUDGET });
        }
        Ok(())
    }

    /// Steps in station until the end, or until the surface gets steep (`None`).
    fn by_station(
        &mut self,
        x: &mut f64,
        y: &mut f64,
        at: &mut Terms,
        observe: &mut impl FnMut(Segment) -> bool,
    ) -> Result<Option<Stop>, RunError> {
        let toward = self.side.direction();
        let mut pace = Pace::Explicit;
        let mut fast_steps = 0;
        let mut last: Option<(Segment, f64)> = None;
        let mut h = (0.05 * *y / at.slope().abs().max(1e-9)).min(0.1 / at.slope_y().abs().max(1e-9));
        loop {
            let left = (self.end - *x) * toward;
            if left <= 0.0 {
                return Ok(Some(Stop::End(*y)));
            }
            if let Some(depth) = self.settled(*x, *y, at) {
                let rest = Segment::straight_cubic(self.index, *x, self.end, [depth, 0.0, 0.0, 0.0]);
                return Ok(Some(if observe(rest) { Stop::Halted } else { Stop::End(depth) }));
            }
            h = if h >= left {
                left
            } else if 2.0 * h > left {
                0.5 * left
            } else {
                h
            };
            self.count(*x)?;
            let signed = h * toward;
            let next_x = if h >= left { self.end } else { *x + signed };
            let tried = match pace {
                Pace::Explicit => self.explicit(*x, *y, signed, at, next_x),
                Pace::Implicit => self.implicit(*x, *y, signed, at, next_x, last.as_ref()),
            };
            let Some((next, error, segment)) = tried else {
                h *= 0.25;
                if h <= 8.0 * f64::EPSILON * x.abs().max(1e-12 * self.reach.length_m) {
                    if at.denominator.abs() < 1e-3 {
                        return Ok(Some(Stop::Critical(*x)));
                    }
                    return Err(RunError::NoContinuation { station_m: *x, what: "step vanished" });
                }
                continue;
            };
            let next_y = segment.y(1.0);
            let ratio = error / (ABSOLUTE + self.channel.follow.0 * y.max(next_y));
            let factor = growth(ratio);
            if ratio > 1.0 {
                h *= factor.min(0.9);
                continue;
            }
            // Where the depth settles within the step its explicit stages lie off the surface, and hold the step back.
            let settling = -toward * next.slope_y() * h;
            match pace {
                Pace::Explicit if settling > SETTLES_FAST => {
                    fast_steps += 1;
                    if fast_steps >= 2 {
                        pace = Pace::Implicit;
                    }
                }
                Pace::Implicit if settling < SETTLES_SLOWLY => {
                    pace = Pace::Explicit;
                    fast_steps = 0;
                }
                Pace::Explicit | Pace::Implicit => {}
            }
            (*x, *y, *at) = (next_x, next_y, next);
            last = Some((segment, h));
            h *= factor;
            if let Some(stop) = self.hand_on(segment, (*x, *y), at, observe) {
                return Ok(Some(stop));
            }
            if at.is_steep() {
                return Ok(None);
            }
        }
    }

    /// Depth of uniform flow where nothing flows in and the depth has settled to it: from there on it stays.
    fn settled(&self, x: f64, y: f64, at: &Terms) -> Option<f64> {
        let draws_near = self.side.direction() * at.slope_y() < 0.0;
        if self.reach.lateral > 0.0 || !draws_near || at.numerator.abs() > SETTLED * y * at.numerator_y.abs()
        {
            return None;
        }
        let mut depth = y - at.numerator / at.numerator_y;
        for _ in 0..3 {
            let there = self.terms_if_valid(x, depth)?;
            depth -= there.numerator / there.numerator_y;
        }
        (depth.is_finite() && (depth - y).abs() <= 2.0 * SETTLED * y).then_some(depth)
    }

    fn slope(&self, x: f64, y: f64) -> Option<f64> {
        if y.is_nan() || y <= 0.0 {
            return None;
        }
        let (numerator, denominator) = self.channel.slopes(self.reach, x, y);
        self.side.holds(denominator).then(|| numerator / denominator)
    }

    fn explicit(&self, x: f64, y: f64, h: f64, at: &Terms, next_x: f64) -> Option<(Terms, f64, Segment)> {
        let ([next_y], [error]) =
            dormand_prince::step(|c, [y]| Some([self.slope(x + c * h, y)?]), h, [y], [at.slope()])?;
        let next = self.terms_if_valid(next_x, next_y)?;
        let error = (error + last_error(h, next.slope())).abs();
        let start = (y, h * at.slope(), h * h * at.curvature());
        let end = (next_y, h * next.slope(), h * h * next.curvature());
        let segment = Segment::straight_hermite(self.index, x, next_x, start, end);
        // The estimate of the step can vanish by chance; the equation in the middle of the piece does not let that pass.
        let middle = segment.y(0.5);
        let defect = segment.y_rate(0.5) - h * self.slope(x + 0.5 * h, middle)?;
        Some((next, error.max(DEFECT_WEIGHT * defect.abs()), segment))
    }

    fn implicit(
        &self,
        x: f64,
        y: f64,
        h: f64,
        at: &Terms,
        next_x: f64,
        last: Option<&(Segment, f64)>,
    ) -> Option<(Terms, f64, Segment)> {
        let (slope, curvature) = (at.slope(), at.curvature());
        // The piece before goes on about as it went; a much longer step leaves it too far behind.
        let guess = match last.map(|(segment, size)| (segment, h.abs() / size)) {
            Some((segment, ratio)) if ratio <= LONGER => {
                radau::SHARES.map(|share| segment.y(1.0 + share * ratio))
            }
            _ => {
                let bent = if (h * at.slope_y()).abs() < 0.5 { 0.5 * h * h * curvature } else { 0.0 };
                radau::SHARES.map(|share| y + share * (h * slope + share * bent))
            }
        };
        let stage = |stage: usize, depth: f64| {
            let share = radau::SHARES.get(stage)?;
            let terms = self.terms_if_valid(x + share * h, depth)?;
            Some((terms.slope(), terms.slope_y()))
        };
        let next_y = radau::step(stage, h, y, guess)?;
        let next = self.terms_if_valid(next_x, next_y)?;
        let start = (y, h * slope, h * h * curvature);
        let end = (next_y, h * next.slope(), h * h * next.curvature());
        let segment = Segment::straight_hermite(self.index, x, next_x, start, end);
        let middle = self.terms_if_valid(x + 0.5 * h, segment.y(0.5))?;
        let defect = segment.y_rate(0.5) - h * middle.slope();
        // What is off in the slope is less so in the depth where that settles within the step. The balance sees the slope,
        // but where the depth settles at once all there is to see is rounding.
        let settling = (h * middle.slope_y()).abs();
        let weight = (3.0 / (1.0 + settling)).max((ROUNDING_AT / settling).min(1.0));
        Some((next, DEFECT_WEIGHT * weight * defect.abs(), segment))
    }

    fn terms_if_valid(&self, x: f64, y: f64) -> Option<Terms> {
        if y.is_nan() || y <= 0.0 {
            return None;
        }
        let terms = self.channel.terms(self.reach, x, y);
        self.side.holds(terms.denominator).then_some(terms)
    }

    /// Steps in the parameter until the surface is tame again (`None`), ends, or turns critical.
    fn by_parameter(
        &mut self,
        x: &mut f64,
        y: &mut f64,
        at: &mut Terms,
        observe: &mut impl FnMut(Segment) -> bool,
    ) -> Result<Option<Stop>, RunError> {
        let toward = self.side.direction();
        let mut h = 0.02 * *y / at.reference;
        loop {
            self.count(*x)?;
            let tried = dormand_prince::step(
                |_, [x, y]: [f64; 2]| {
                    if y.is_nan() || y <= 0.0 {
                        return None;
                    }
                    let (numerator, denominator) = self.channel.slopes(self.reach, x, y);
                    Some([-denominator, -numerator])
                },
                h,
                [*x, *y],
                [-at.denominator, -at.numerator],
            );
            let Some(([next_x, next_y], [error_x, error_y])) =
                tried.filter(|([next_x, next_y], _)| *next_y > 0.0 && next_x.is_finite())
            else {
                h *= 0.25;
                continue;
            };
            let next = self.channel.terms(self.reach, next_x, next_y);
            let (size, relative) = (y.max(next_y), self.channel.follow.0);
            let ratio_y = (error_y - last_error(h, next.numerator)).abs() / (ABSOLUTE + relative * size);
            let ratio_x = (error_x - last_error(h, next.denominator)).abs()
                / (10.0 * relative * size + 1e-15 * x.abs());
            let ratio = ratio_x.max(ratio_y);
            let factor = growth(ratio);
            if ratio.is_nan() || ratio > 1.0 {
                h *= if ratio.is_nan() { 0.25 } else { factor.min(0.9) };
                continue;
            }
            let segment = self.parametric(h, (*x, *y, at), (next_x, next_y, &next));
            let critical = (!self.side.holds(next.denominator)).then(|| self.critical_at(&segment));
            let reached = critical.map_or(1.0, |t| t);
            if (segment.x(reached) - self.end) * toward >= 0.0 {
                let t = segment.parameter_at(self.end).min(reached);
                let cut = segment.cut(t);
                let depth = cut.y(1.0);
                return Ok(Some(if observe(cut) { Stop::Halted } else { Stop::End(depth) }));
            }
            if let Some(t) = critical {
                let cut = segment.cut(t);
                let station = cut.x(1.0);
                return Ok(Some(if observe(cut) { Stop::Halted } else { Stop::Critical(station) }));
            }
            (*x, *y, *at) = (next_x, next_y, next);
            h *= factor;
            if let Some(stop) = self.hand_on(segment, (*x, *y), at, observe) {
                return Ok(Some(stop));
            }
            if at.is_gentle() {
                return Ok(None);
            }
        }
    }

    fn parametric(&self, h: f64, start: (f64, f64, &Terms), end: (f64, f64, &Terms)) -> Segment {
        let ends = |(x, y, at): (f64, f64, &Terms)| {
            let (vx, vy) = (-at.denominator, -at.numerator);
            let ax = -(at.denominator_x * vx + at.denominator_y * vy);
            let ay = -(at.numerator_x * vx + at.numerator_y * vy);
            ((x, h * vx, h * h * ax), (y, h * vy, h * h * ay))
        };
        let ((x0, y0), (x1, y1)) = (ends(start), ends(end));
        Segment::hermite(self.index, (x0, x1), (y0, y1))
    }

    /// Parameter at which a segment that crosses critical depth does so.
    fn critical_at(&self, segment: &Segment) -> f64 {
        let sign = -self.side.direction();
        let value = |t: f64| {
            let y = segment.y(t);
            if y > 0.0 { sign * self.channel.slopes(self.reach, segment.x(t), y).1 } else { -1.0 }
        };
        let (start, end) = (value(0.0), value(1.0));
        if start <= 0.0 {
            return 0.0;
        }
        roots::bracketed_plain(value, (0.0, start), (1.0, end), 1e-13)
    }
}
