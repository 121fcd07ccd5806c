//! Roots of one equation in one unknown, always bracketed and always finite in work.

/// Root of `f` between two points where its signs differ, by Chandrupatla's method: inverse quadratic
/// interpolation where that is safe, bisection elsewhere.
///
/// Source: T. R. Chandrupatla, Advances in Engineering Software 28 (1997), 145-149 (from memory; the tests
/// check it against known roots).
pub(crate) fn bracketed<E>(
    mut f: impl FnMut(f64) -> Result<f64, E>,
    first: (f64, f64),
    second: (f64, f64),
    x_tolerance: f64,
) -> Result<f64, E> {
    let (mut x1, mut f1) = first;
    let (mut x2, mut f2) = second;
    if f1 == 0.0 {
        return Ok(x1);
    }
    if f2 == 0.0 {
        return Ok(x2);
    }
    let mut share = 0.5;
    for _ in 0..200 {
        let x = x1 + share * (x2 - x1);
        let value = f(x)?;
        let (x3, f3);
        if (value > 0.0) == (f1 > 0.0) {
            (x3, f3) = (x1, f1);
        } else {
            (x3, f3) = (x2, f2);
            (x2, f2) = (x1, f1);
        }
        (x1, f1) = (x, value);
        let (best, best_value) = if f1.abs() < f2.abs() { (x1, f1) } else { (x2, f2) };
        let limit = (2.0 * f64::EPSILON * best.abs() + x_tolerance) / (x2 - x1).abs();
        if limit > 0.5 || best_value == 0.0 || !limit.is_finite() {
            return Ok(best);
        }
        share = safe_share((x1, f1), (x2, f2), (x3, f3)).clamp(limit, 1.0 - limit);
    }
    Ok(if f1.abs() < f2.abs() { x1 } else { x2 })
}

/// Where a root is looked for by going along a slope.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Along {
    /// Where to start, and about how `f` grows there.
    pub(crate) place: f64,
    pub(crate) slope: f64,
    /// Between which two places it lies.
    pub(crate) range: (f64, f64),
    /// A shorter step shows more of rounding than of the slope.
    pub(crate) telling: f64,
    /// Longest step that is taken without looking again; the slope's own error, times that, is left.
    pub(crate) near: f64,
}

/// Root of `f` near a place where its slope is about known, by going along that slope and then along its own secants, and
/// the slope there; `None` where that does not close in on one within the range.
pub(crate) fn near<E>(
    mut f: impl FnMut(f64) -> Result<f64, E>,
    from: Along,
) -> Result<Option<(f64, f64)>, E> {
    let Along { place, mut slope, range: (low, high), telling, near } = from;
    let (mut x, mut value) = (place, f(place)?);
    let mut last = f64::INFINITY;
    for _ in 0..8 {
        let step = value / slope;
        let next = x - step;
        if !(low..=high).contains(&next) {
            return Ok(None);
        }
        if step.abs() <= near {
            return Ok(Some((next, slope)));
        }
        if step.abs() > 0.5 * last {
            return Ok(None);
        }
        let there = f(next)?;
        if step.abs() > telling {
            let steeper = (there - value) / (next - x);
            // Written so that a NaN fails it.
            let grows_alike = steeper.is_finite() && steeper * slope > 0.0;
            if !grows_alike {
                return Ok(None);
            }
            slope = steeper;
        }
        (x, value, last) = (next, there, step.abs());
    }
    Ok(None)
}

/// Part of the way from `a` to `b` at which the curve through three places with their values has its root, by inverse
/// quadratic interpolation: the place as a polynomial of the value, at value 0. Not finite where two values are alike.
fn share_through(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> f64 {
    let ((x1, f1), (x2, f2), (x3, f3)) = (a, b, c);
    f1 / (f2 - f1) * f3 / (f2 - f3) + (x3 - x1) / (x2 - x1) * f1 / (f3 - f1) * f2 / (f3 - f2)
}

/// [`share_through`] where that is safe (Chandrupatla's criterion), else the middle.
fn safe_share(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> f64 {
    let xi = (a.0 - b.0) / (c.0 - b.0);
    let phi = (a.1 - b.1) / (c.1 - b.1);
    let safe = phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi;
    let share = if safe { share_through(a, b, c) } else { 0.5 };
    if share.is_finite() { share } else { 0.5 }
}

/// Where the curve through three places has its root, as [`share_through`].
pub(crate) fn through_three(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> f64 {
    a.0 + share_through(a, b, c) * (b.0 - a.0)
}

/// How closely a root is looked for: by the rough function at first, then by the fine one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Closeness {
    /// To which the rough function is followed.
    pub(crate) rough: f64,
    /// Least distance over which its slope is taken.
    pub(crate) slope_step: f64,
    /// Longest step along that slope that is taken without looking again; the slope's own error, times that, is left.
    pub(crate) near: f64,
    /// To which it is followed from both ends where that fails: at a sudden change.
    pub(crate) fine: f64,
}

/// Place and slope of a root of a smooth function between two points where its signs differ, without closing in on it from
/// both sides: the last step is a secant's. `None` at a sudden change.
fn approach<E>(
    mut f: impl FnMut(f64) -> Result<f64, E>,
    first: (f64, f64),
    second: (f64, f64),
    to: Closeness,
) -> Result<Option<(f64, f64)>, E> {
    let (mut a, mut b) = (first, second);
    // The point nearest to `a` that its slope can be taken to.
    let mut other = b;
    let mut share = (a.1 / (a.1 - b.1)).clamp(0.1, 0.9);
    for _ in 0..60 {
        let x = a.0 + share * (b.0 - a.0);
        let value = f(x)?;
        let left_out = if (value > 0.0) == (a.1 > 0.0) {
            a
        } else {
            let old = b;
            b = a;
            old
        };
        let distance = |p: (f64, f64)| (p.0 - x).abs();
        for point in [left_out, b, other] {
            let nearer = distance(point) < distance(other) || distance(other) < to.slope_step;
            if distance(point) >= to.slope_step && nearer {
                other = point;
            }
        }
        a = (x, value);
        let slope = (other.1 - value) / (other.0 - x);
        let step = value / slope;
        if step.abs() <= to.rough {
            return Ok((slope.is_finite() && slope != 0.0).then_some((x - step, slope)));
        }
        if (b.0 - a.0).abs() <= to.rough {
            return Ok(None);
        }
        share = safe_share(a, b, left_out).clamp(0.0, 1.0);
        if share * (b.0 - a.0).abs() < 0.5 * to.rough {
            // Across the root, so that it is enclosed again.
            share = (to.rough / (b.0 - a.0).abs()).min(0.5);
        }
    }
    Ok(None)
}

/// Root of `f(x, true)`, which is dear, by way of the root of `f(x, false)`, which is cheap and comes near it. `first`
/// and `second` enclose both, with their rough values.
pub(crate) fn rough_then_fine<E>(
    mut f: impl FnMut(f64, bool) -> Result<f64, E>,
    first: (f64, f64),
    second: (f64, f64),
    to: Closeness,
) -> Result<f64, E> {
    let (low, high) = (first.0.min(second.0), first.0.max(second.0));
    if let Ok(Some((place, slope))) = approach(|x| f(x, false), first, second, to)
        && let Some((root, _)) = near(
            |x| f(x, true),
            Along { place: place.clamp(low, high), slope, range: (low, high), telling: 0.0, near: to.near },
        )?
    {
        return Ok(root);
    }
    let ends = ((first.0, f(first.0, true)?), (second.0, f(second.0, true)?));
    bracketed(|x| f(x, true), ends.0, ends.1, to.fine)
}

/// [`bracketed`] for a function that cannot fail.
pub(crate) fn bracketed_plain(
    mut f: impl FnMut(f64) -> f64,
    first: (f64, f64),
    second: (f64, f64),
    x_tolerance: f64,
) -> f64 {
    match bracketed(|x| Ok::<f64, std::convert::Infallible>(f(x)), first, second, x_tolerance) {
        Ok(root) => root,
    }
}

/// Newton's method doubles the digits: after a relative step of no more than this all are right.
const LAST_NEWTON_STEP: f64 = 1e-9;

/// Root of an increasing function of a positive unknown that is close to a power law: Newton's method in the
/// logarithm, kept inside the bracket it finds. `f` returns the value and its derivative by `ln x`.
pub(crate) fn power_law(mut f: impl FnMut(f64) -> (f64, f64), guess: f64) -> f64 {
    let (mut low, mut high) = (0.0_f64, f64::INFINITY);
    let mut x = guess;
    for _ in 0..100 {
        let (value, derivative) = f(x);
        if value == 0.0 {
            return x;
        }
        if value < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let move_by = -value / derivative;
        let newton = x * move_by.clamp(-2.0, 2.0).exp();
        let enclosed = newton > low && newton < high;
        let next = if enclosed {
            newton
        } else if high.is_finite() && low > 0.0 {
            (low * high).sqrt()
        } else if high.is_finite() {
            high * 0.25
        } else {
            low * 4.0
        };
        let last_step = if enclosed { LAST_NEWTON_STEP } else { 4.0 * f64::EPSILON };
        if (next - x).abs() <= last_step * x || next <= 0.0 || !next.is_finite() {
            return if next > 0.0 && next.is_finite() { next } else { x };
        }
        x = next;
    }
    x
}

/// Cube root of a positive number, to a relative 1e-14: where the water surface is followed it is asked for more often
/// than anything else, and the last digit does not matter.
///
/// A third of the exponent, then Halley's method twice. Only additions, products and quotients: the same digits
/// everywhere.
#[inline]
pub(crate) fn cube_root(x: f64) -> f64 {
    /// Two thirds of the exponent's bias, less what makes the first guess even.
    const THIRD: u64 = 715_094_163 << 32;
    if x.is_nan() || x < f64::MIN_POSITIVE || x.is_infinite() {
        return x.cbrt();
    }
    let mut root = f64::from_bits(x.to_bits() / 3 + THIRD);
    for _ in 0..2 {
        let cube = root * root * root;
        root *= (cube + 2.0 * x) / (2.0 * cube + x);
    }
    root
}

/// One over the fifth root of a positive number, to four parts in a thousand: for the length of steps. The same digits everywhere.
#[inline]
pub(crate) fn per_fifth_root(x: f64) -> f64 {
    /// Six fifths of the exponent's bias, less what makes the first guess even.
    const BIAS: u64 = 0x4CB8_A8A0_0000_0000;
    if !(1e-200..=1e200).contains(&x) {
        return x.powf(-0.2);
    }
    let mut root = f64::from_bits(BIAS - x.to_bits() / 5);
    let square = root * root;
    root *= 0.2 * (6.0 - x * square * square * root);
    root
}

#[cfg(test)]
mod tests {
    use super::{
        Along, Closeness, bracketed_plain, cube_root, near, per_fifth_root, power_law, rough_then_fine,
        through_three,
    };

    #[test]
    fn cube_roots_agree_with_the_library() {
        let mut x = 1e-12_f64;
        while x < 1e6 {
            let share = cube_root(x) / x.cbrt() - 1.0;
            assert!(share.abs() < 2e-14, "{x} {share}");
            x *= 1.000_37;
        }
        assert_eq!(cube_root(0.0), 0.0);
    }

    #[test]
    fn fifth_roots_agree_with_the_library() {
        let mut x = 1e-30_f64;
        while x < 1e30 {
            let share = per_fifth_root(x) * x.powf(0.2) - 1.0;
            assert!(share.abs() < 4e-3, "{x} {share}");
            x *= 1.003;
        }
    }

    #[test]
    fn finds_known_roots() {
        let root = bracketed_plain(|x| x * x - 2.0, (0.0, -2.0), (2.0, 2.0), 1e-15);
        assert!((root - std::f64::consts::SQRT_2).abs() < 1e-14);
        let root = bracketed_plain(|x| (x - 1.0).powi(3), (0.0, -1.0), (4.0, 27.0), 1e-12);
        assert!((root - 1.0).abs() < 1e-4);
        let step = bracketed_plain(|x| if x < 0.3 { -1.0 } else { 1.0 }, (0.0, -1.0), (1.0, 1.0), 1e-12);
        assert!((step - 0.3).abs() < 1e-11);
    }

    #[test]
    fn three_places_tell_a_square_root_exactly() {
        // x is a polynomial of second order of the value
        let f = |x: f64| x.sqrt() - 3.0;
        let at = |x: f64| (x, f(x));
        assert!((through_three(at(1.0), at(4.0), at(16.0)) - 9.0).abs() < 1e-12);
        assert!(!through_three((1.0, 2.0), (2.0, 2.0), (3.0, 1.0)).is_finite());
    }

    #[test]
    fn near_closes_in_or_says_that_it_does_not() {
        let f = |x: f64| Ok::<f64, std::convert::Infallible>(x * x - 2.0);
        let from = Along { place: 1.41, slope: 2.83, range: (0.0, 2.0), telling: 0.0, near: 1e-12 };
        let root = near(f, from);
        assert!(matches!(root, Ok(Some((x, _))) if (x - std::f64::consts::SQRT_2).abs() < 1e-12));
        assert!(matches!(root, Ok(Some((_, slope))) if (slope - 8.0_f64.sqrt()).abs() < 1e-2));
        assert!(matches!(near(f, Along { slope: -2.83, ..from }), Ok(None)));
        assert!(matches!(near(f, Along { range: (1.5, 2.0), ..from }), Ok(None)));
    }

    #[test]
    fn a_rough_function_leads_to_the_root_of_the_fine_one() {
        let to = Closeness { rough: 1e-5, slope_step: 1e-3, near: 1e-9, fine: 1e-12 };
        let mut counts = (0, 0);
        let f = |x: f64, fine: bool| {
            if fine {
                counts.1 += 1
            } else {
                counts.0 += 1
            }
            Ok::<f64, std::convert::Infallible>(x.exp() - 3.0 + if fine { 0.0 } else { 1e-5 })
        };
        let (first, second) = ((0.0, -2.0), (2.0, 2.0_f64.exp() - 3.0));
        let Ok(root) = rough_then_fine(f, first, second, to);
        assert!((root - 3.0_f64.ln()).abs() < 1e-12, "{root}");
        assert!(counts.0 <= 7 && counts.1 <= 3, "{counts:?}");
        // A sudden change is enclosed from both ends.
        let step =
            |x: f64, _: bool| Ok::<f64, std::convert::Infallible>(if x < 0.3 { -1.0 - x } else { 1.0 + x });
        let Ok(root) = rough_then_fine(step, (0.0, -1.0), (1.0, 2.0), to);
        assert!((root - 0.3).abs() < 1e-11, "{root}");
    }

    #[test]
    fn power_law_is_exact_for_powers() {
        let root = power_law(|x: f64| (3.0 * x.ln() - 8.0_f64.ln(), 3.0), 1e-6);
        assert!((root - 2.0).abs() < 1e-14);
    }
}
