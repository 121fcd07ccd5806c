//! The trench of a run and the concrete around the channel in it.

use crate::domain::layout::Run;
use crate::units::{Area, Length, Volume};

/// Plan and volumes of a run's trench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trench {
    /// `L + (2 + n) e - n (W + 2 s) / 2`.
    pub length: Length,
    /// `W + 2 s`.
    pub width: Length,
    /// Mean of `H + t + r`.
    pub depth: Length,
    /// Plan area.
    pub plan: Area,
    /// `length x width x depth`.
    pub volume: Volume,
    /// `volume - (L - n W / 2) W (H + r)`.
    pub surround: Volume,
    /// `L - n W / 2`: the channel in plan.
    pub channel: Length,
}

impl Trench {
    /// That of a run, by its system and its setting detail.
    pub fn of(run: &Run<'_>) -> Self {
        let width = run.system.section.overall_width;
        let detail = run.detail;
        trench(
            run.length(),
            width,
            run.mean_height(),
            detail.side,
            detail.base,
            detail.end,
            detail.recess,
            run.tees,
        )
    }

    /// Rows of boards over its depth, where that is the same everywhere.
    pub fn form_rows(&self, board_width: Length) -> i64 {
        self.depth.steps_up(board_width)
    }
}

/// The trench of a run and the concrete that surrounds the channel in it.
///
/// # Formula
/// `V = (L + (2 + n) e - n (W + 2 s) / 2)(W + 2 s)(H + t + r)`, surround `= V - (L - n W / 2) W (H + r)`; `n` tees; `H` the mean
/// height
/// # Units
/// exact lengths and volumes
/// # Valid for
/// vertical sides; legs are measured along the centre line, which closes for an L of equal widths; the leg of a tee begins on
/// the centre line of the other, whose half width it shares
/// # Source
/// geometry; the surround's thickness is common practice, no source
/// # Example
/// ```
/// use rillcast::{compute::takeoff::trench::trench, units::Length};
/// let inch = |n| Length::inches(n, 1);
/// // 20 ft of a channel 6 in wide and 8 in high; 4 in beside, below and beyond it; no recess.
/// let t = trench(Length::feet(20), inch(6), inch(8), inch(4), inch(4), inch(4), Length::ZERO, 0);
/// assert_eq!(t.volume, (Length::feet(20) + inch(8)) * inch(14) * inch(12));
/// assert_eq!(t.surround, t.volume - Length::feet(20) * inch(6) * inch(8));
/// // A leg of 5 ft of them meets the other 15 ft in a tee: three ends, and 7 in of it lie in the other's trench.
/// let t = trench(Length::feet(20), inch(6), inch(8), inch(4), inch(4), inch(4), Length::ZERO, 1);
/// assert_eq!(t.length, Length::feet(20) + inch(12) - inch(7));
/// assert_eq!(t.channel, Length::feet(20) - inch(3));
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
    tees: i64,
) -> Trench {
    let (width, depth) = (w + s * 2, h + t + r);
    let length = l + e * (2 + tees) - (width * tees).half();
    let channel = l - (w * tees).half();
    let plan = length * width;
    let volume = plan * depth;
    Trench { length, width, depth, plan, volume, surround: volume - channel * w * (h + r), channel }
}
