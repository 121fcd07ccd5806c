use super::error::RainError;
use super::intensity::IntensityFormula;

/// The formula `i = a/(t + b)^c` that fits intensities best: least squares of the logarithms, all points alike.
///
/// For each `b` the other two follow from a straight line; `b` is searched between 0 and 200 min.
///
/// # Errors
/// Fewer than three points, or a duration or intensity that is not above zero.
pub fn fit_intensity_formula(points: &[(f64, f64)]) -> Result<IntensityFormula, RainError> {
    let good = points.iter().all(|(t, i)| t.is_finite() && *t > 0.0 && i.is_finite() && *i > 0.0);
    if points.len() < 3 || !good {
        return Err(RainError::BadNumber {
            what: "the points of the fit".to_owned(),
            value: format!("{} points", points.len()),
            rule: "three or more, with duration (min) and intensity (mm/h) above 0".to_owned(),
        });
    }
    let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
    // A coarse look first: the misfit may have more than one hollow.
    let misfit = |b: f64| line(points, b).2;
    let best =
        (0..=100).map(|k| 2.0 * f64::from(k)).min_by(|a, b| misfit(*a).total_cmp(&misfit(*b))).unwrap_or(0.0);
    let (mut low, mut high) = ((best - 2.0).max(0.0), best + 2.0);
    for _ in 0..80 {
        let (left, right) = (high - ratio * (high - low), low + ratio * (high - low));
        if misfit(left) < misfit(right) { high = right } else { low = left }
    }
    let b = 0.5 * (low + high);
    let (intercept, slope, _) = line(points, b);
    IntensityFormula::new(intercept.exp(), b, -slope)
}

/// Straight line through `ln i` over `ln (t + b)`: intercept, slope, sum of squares.
fn line(points: &[(f64, f64)], b: f64) -> (f64, f64, f64) {
    let count = points.len() as f64;
    let logs = || points.iter().map(|(t, i)| ((t + b).ln(), i.ln()));
    let (mean_x, mean_y) =
        (logs().map(|p| p.0).sum::<f64>() / count, logs().map(|p| p.1).sum::<f64>() / count);
    let (xx, xy) = logs().fold((0.0, 0.0), |(xx, xy), (x, y)| {
        (xx + (x - mean_x) * (x - mean_x), xy + (x - mean_x) * (y - mean_y))
    });
    let slope = xy / xx;
    let intercept = mean_y - slope * mean_x;
    let squares = logs().map(|(x, y)| (y - intercept - slope * x).powi(2)).sum();
    (intercept, slope, squares)
}
