//! The trench of a run and the concrete around the channel in it.

use crate::units::{Area, Length, Volume};

/// Plan and volumes of a run's trench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trench {
    /// `L + n e`.
    pub length: Length,
    /// `W + 2 s`.
    pub width: Length,
    /// Mean of `H + t + r`.
    pub depth: Length,
    /// Plan area.
    pub plan: Area,
    /// `length x width x depth`.
    pub volume: Volume,
    /// `volume - L W (H + r)`.
    pub surround: Volume,
}

/// The trench of a run and the concrete that surrounds the channel in it.
///
/// # Formula
/// `V = (L + n e)(W + 2 s)(H + t + r)`, surround `= V - L W (H + r)`; `n` open ends, two for a straight run; `H` the mean height
/// # Units
/// exact lengths and volumes
/// # Valid for
/// vertical sides; corners are taken along the centre line, which closes for an L of equal widths
/// # Source
/// geometry; the surround's thickness is common practice, no source
/// # Example
/// ```
/// use rillcast::{compute::takeoff::trench::trench, units::Length};
/// let inch = |n| Length::inches(n, 1);
/// // 20 ft of a channel 6 in wide and 8 in high; 4 in beside, below and beyond it; no recess.
/// let t = trench(Length::feet(20), inch(6), inch(8), inch(4), inch(4), inch(4), Length::ZERO, 2);
/// assert_eq!(t.volume, (Length::feet(20) + inch(8)) * inch(14) * inch(12));
/// assert_eq!(t.surround, t.volume - Length::feet(20) * inch(6) * inch(8));
/// ```
#[expect(clippy::too_many_arguments, reason = "the symbols of the formula, in its order")]
pub fn trench(
    l: Length,
    w: Length,
    h: Length,
    s: Length,
    t: Length,
    e: Length,
    r: Length,
    ends: i64,
) -> Trench {
    let (length, width, depth) = (l + e * ends, w + s * 2, h + t + r);
    let plan = length * width;
    let volume = plan * depth;
    Trench { length, width, depth, plan, volume, surround: volume - l * w * (h + r) }
}
