use super::error::{RainError, figure};
use super::frequency::Frequency;
use super::point_text::Bound;
use crate::units::factors::MILLIMETRES_PER_INCH;

/// Intensity of a depth that falls in a duration.
///
/// # Formula
/// `i = 60 P / t`
/// # Units
/// `depth_mm` mm, `duration_minutes` min, result mm/h
/// # Valid for
/// mean intensity over the duration
/// # Source
/// definition; example: NOAA Atlas 14, Champaign IL, 10 years: 0.647 in in 5 min (read)
/// # Example
/// ```
/// use rillcast::compute::rain::intensity_from_depth_mm_per_h;
/// assert!((intensity_from_depth_mm_per_h(0.647 * 25.4, 5.0) / 25.4 - 7.764).abs() < 1e-12);
/// ```
#[must_use]
pub fn intensity_from_depth_mm_per_h(depth_mm: f64, duration_minutes: f64) -> f64 {
    60.0 * depth_mm / duration_minutes
}

/// Depth that falls in a duration at an intensity.
///
/// # Formula
/// `P = i t / 60`
/// # Units
/// `intensity_mm_per_h` mm/h, `duration_minutes` min, result mm
/// # Valid for
/// mean intensity over the duration
/// # Source
/// definition
/// # Example
/// ```
/// use rillcast::compute::rain::depth_from_intensity_mm;
/// assert!((depth_from_intensity_mm(60.0, 30.0) - 30.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn depth_from_intensity_mm(intensity_mm_per_h: f64, duration_minutes: f64) -> f64 {
    intensity_mm_per_h * duration_minutes / 60.0
}

/// Part of the depth of the next shorter duration that rounded intensities may lose.
const INTENSITY_SLACK: f64 = 0.9;
/// Most decimals that intensities are printed with.
const MOST_DECIMALS: i32 = 4;

/// Half of the last digit that intensities are printed with, mm/h: all are multiples of it in millimetres or in inches. Zero
/// where no such digit is found.
fn half_a_digit(intensities_mm_per_h: &[Vec<f64>]) -> f64 {
    let found = |unit: f64| {
        let multiples = |digit: &f64| {
            let whole = |value: &f64| {
                let times = value / digit;
                (times - times.round()).abs() < 1e-6
            };
            intensities_mm_per_h.iter().flatten().all(whole)
        };
        (0..=MOST_DECIMALS).map(|places| unit * 10_f64.powi(-places)).find(multiples)
    };
    0.5 * found(1.0).unwrap_or(0.0).max(found(MILLIMETRES_PER_INCH).unwrap_or(0.0))
}

/// A depth of a table with its duration.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point {
    pub(super) minutes: f64,
    pub(super) depth_mm: f64,
}

/// What a depth is read from: a row of the table, or two with the duration between them.
#[derive(Debug, Clone, Copy)]
pub(super) enum Around {
    Row(f64),
    Between(Point, Point),
}

/// How far a duration lies from the shorter to the longer one, on a logarithmic axis.
pub(super) fn share_between(shorter: Point, longer: Point, duration_minutes: f64) -> f64 {
    (duration_minutes / shorter.minutes).ln() / (longer.minutes / shorter.minutes).ln()
}

/// Rain depth by duration and frequency.
#[derive(Debug, Clone, PartialEq)]
pub struct RainTable {
    frequencies: Vec<Frequency>,
    durations_minutes: Vec<f64>,
    /// One row per duration, one value per frequency, mm.
    depths_mm: Vec<Vec<f64>>,
    bound: Bound,
}

impl RainTable {
    /// A table of depths.
    ///
    /// # Errors
    /// Durations that do not grow, depths that shrink with duration, a row of the wrong length, a number that is none.
    pub fn from_depths_mm(
        frequencies: Vec<Frequency>,
        durations_minutes: Vec<f64>,
        depths_mm: Vec<Vec<f64>>,
    ) -> Result<Self, RainError> {
        Self::build(frequencies, durations_minutes, depths_mm, None)
    }

    /// `printed_to` is half the last digit of intensities, mm/h, where the table was one of them.
    fn build(
        frequencies: Vec<Frequency>,
        durations_minutes: Vec<f64>,
        depths_mm: Vec<Vec<f64>>,
        printed_to: Option<f64>,
    ) -> Result<Self, RainError> {
        let bad = |what: String, value: String, rule: &str| {
            Err(RainError::BadNumber { what, value, rule: rule.to_owned() })
        };
        if frequencies.is_empty() || durations_minutes.is_empty() {
            return bad("the rain table".to_owned(), "empty".to_owned(), "a table has a row and a column");
        }
        if depths_mm.len() != durations_minutes.len() {
            let rows = format!("{} rows", depths_mm.len());
            return bad("the rain table".to_owned(), rows, "one row of values per duration");
        }
        for (i, frequency) in frequencies.iter().enumerate() {
            let years = frequency.years();
            let again = frequencies.iter().take(i).any(|other| other.is_same(*frequency));
            // A yearly chance of one in one is no chance but a certainty.
            let sure = matches!(frequency, Frequency::OneIn(y) if *y <= 1.0);
            if !(years.is_finite() && years >= 1.0) || again || sure {
                return bad(
                    format!("frequency {}", i + 1),
                    years.to_string(),
                    "1 year or more, each once; a yearly chance is less than 1",
                );
            }
        }
        // Columns by how rare they are, whatever order they came in.
        let mut by_rarity: Vec<usize> = (0..frequencies.len()).collect();
        let years = |i: &usize| frequencies.get(*i).map_or(0.0, |f| f.years());
        by_rarity.sort_by(|a, b| years(a).total_cmp(&years(b)));
        let mut above: Option<(f64, &Vec<f64>)> = None;
        for (index, (duration, row)) in durations_minutes.iter().zip(&depths_mm).enumerate() {
            if !(duration.is_finite() && *duration > above.map_or(0.0, |(last, _)| last)) {
                return bad(
                    "a duration".to_owned(),
                    figure(*duration),
                    "minutes, each longer than the one before",
                );
            }
            if row.len() != frequencies.len() {
                let found = format!("{} values", row.len());
                return bad(
                    format!("the row of {} min", figure(*duration)),
                    found,
                    "one value per frequency",
                );
            }
            for (i, depth) in row.iter().enumerate() {
                let (before, shorter) = above
                    .map_or((0.0, 0.0), |(minutes, last)| (minutes, last.get(i).copied().unwrap_or(0.0)));
                // Intensities are printed rounded: their depths may shrink a little, more over long durations, and they never
                // rise with duration.
                let rounded = |half: f64| shorter - depth_from_intensity_mm(half, before + duration);
                let least = printed_to.map_or(shorter, |half| rounded(half).min(shorter * INTENSITY_SLACK));
                let rises = printed_to.is_some()
                    && before > 0.0
                    && depth / duration > shorter / before * (1.0 + 1e-9);
                if !(depth.is_finite() && *depth > 0.0 && *depth >= least) || rises {
                    return Err(RainError::BadDepth {
                        row: index,
                        column: i,
                        minutes: *duration,
                        depth_mm: *depth,
                        rule: "above 0, no less than in a shorter duration, and no harder rain than in a shorter one",
                    });
                }
            }
            for pair in by_rarity.windows(2) {
                let [often, rare] = pair else { continue };
                let (Some(low), Some(high)) = (row.get(*often), row.get(*rare)) else { continue };
                if high < low {
                    return Err(RainError::BadDepth {
                        row: index,
                        column: *rare,
                        minutes: *duration,
                        depth_mm: *high,
                        rule: "no less than that of a more frequent rain of the same duration",
                    });
                }
            }
            above = Some((*duration, row));
        }
        Ok(Self { frequencies, durations_minutes, depths_mm, bound: Bound::Mean })
    }

    /// A table of mean intensities, mm/h.
    ///
    /// # Errors
    /// As [`Self::from_depths_mm`], but for depths that shrink.
    pub fn from_intensities_mm_per_h(
        frequencies: Vec<Frequency>,
        durations_minutes: Vec<f64>,
        mut intensities: Vec<Vec<f64>>,
    ) -> Result<Self, RainError> {
        let half = half_a_digit(&intensities);
        for (row, duration) in intensities.iter_mut().zip(&durations_minutes) {
            row.iter_mut().for_each(|value| *value = depth_from_intensity_mm(*value, *duration));
        }
        // Intensities rounded to a few digits may give depths that shrink slightly with duration.
        Self::build(frequencies, durations_minutes, intensities, Some(half))
    }

    /// The same table, told to be a bound of the estimates.
    #[must_use]
    pub fn of_bound(self, bound: Bound) -> Self {
        Self { bound, ..self }
    }

    /// Whether it holds the estimates or a bound of them.
    #[must_use]
    pub const fn bound(&self) -> Bound {
        self.bound
    }

    /// Frequencies, in the order of the columns.
    #[must_use]
    pub fn frequencies(&self) -> &[Frequency] {
        &self.frequencies
    }

    /// Durations, min, growing.
    #[must_use]
    pub fn durations_minutes(&self) -> &[f64] {
        &self.durations_minutes
    }

    /// Depths, mm: a row per duration.
    #[must_use]
    pub fn depths_mm(&self) -> &[Vec<f64>] {
        &self.depths_mm
    }

    /// Depth of rain of a duration and frequency: straight between the table's durations on logarithmic axes, so that depth
    /// and intensity agree.
    ///
    /// # Formula
    /// `P = P0 (P1/P0)^s` with `s = ln(t/t0) / ln(t1/t0)`; a duration of the table has its own depth
    /// # Units
    /// `duration_minutes` min, result mm
    /// # Valid for
    /// durations and frequencies that the table covers
    /// # Source
    /// log-log interpolation of depth-duration curves (common practice, no source); example computed by hand
    /// # Example
    /// ```
    /// use rillcast::compute::rain::{Frequency, RainTable};
    /// let ten = Frequency::RecurrenceYears(10.0);
    /// let table = RainTable::from_depths_mm(vec![ten], vec![10.0, 40.0], vec![vec![12.0], vec![24.0]])?;
    /// // twice ten minutes is half of the way to four times ten, so the depth is 12 mm x 2^(1/2)
    /// assert!((table.depth_mm(20.0, ten)? - 16.970_562_748).abs() < 1e-9);
    /// assert_eq!(table.depth_mm(40.0, ten)?, 24.0);
    /// assert!(table.depth_mm(41.0, ten).is_err());
    /// # Ok::<(), rillcast::compute::rain::RainError>(())
    /// ```
    /// # Errors
    /// [`RainError::DurationOutsideTable`], [`RainError::NoSuchFrequency`].
    pub fn depth_mm(&self, duration_minutes: f64, frequency: Frequency) -> Result<f64, RainError> {
        Ok(match self.around(duration_minutes, frequency)? {
            Around::Row(depth_mm) => depth_mm,
            Around::Between(shorter, longer) => {
                let share = share_between(shorter, longer, duration_minutes);
                shorter.depth_mm * (longer.depth_mm / shorter.depth_mm).powf(share)
            }
        })
    }

    /// What of the table a depth is read from.
    pub(super) fn around(&self, duration_minutes: f64, frequency: Frequency) -> Result<Around, RainError> {
        let column = self.frequencies.iter().position(|have| have.is_same(frequency)).ok_or_else(|| {
            RainError::NoSuchFrequency {
                asked: frequency.to_string(),
                available: self.frequencies.iter().map(ToString::to_string).collect(),
            }
        })?;
        let outside = || RainError::DurationOutsideTable {
            asked_minutes: duration_minutes,
            least_minutes: self.durations_minutes.first().copied().unwrap_or(f64::NAN),
            greatest_minutes: self.durations_minutes.last().copied().unwrap_or(f64::NAN),
        };
        let point = |row: usize| {
            let minutes = *self.durations_minutes.get(row)?;
            let depth_mm = *self.depths_mm.get(row)?.get(column)?;
            Some(Point { minutes, depth_mm })
        };
        let above = self.durations_minutes.partition_point(|have| *have < duration_minutes);
        let longer = point(above).ok_or_else(outside)?;
        if longer.minutes == duration_minutes {
            return Ok(Around::Row(longer.depth_mm));
        }
        let shorter = above.checked_sub(1).and_then(point).ok_or_else(outside)?;
        Ok(Around::Between(shorter, longer))
    }

    /// Mean intensity of rain of a duration and frequency, mm/h.
    ///
    /// # Errors
    /// As [`Self::depth_mm`].
    pub fn intensity_mm_per_h(&self, duration_minutes: f64, frequency: Frequency) -> Result<f64, RainError> {
        self.depth_mm(duration_minutes, frequency)
            .map(|depth| intensity_from_depth_mm_per_h(depth, duration_minutes))
    }
}
