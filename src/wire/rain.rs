//! A rain table as it is sent and stored.

use crate::units::percent::Constant;
use crate::units::quantity::Span;
use crate::wire::{Code, Label, List, Note, Whole};
use crate::{wire_enum, wire_object};

wire_enum! {
    /// The kind of series the values come from.
    pub enum RainSeries {
        /// partial duration: return periods are mean recurrence intervals
        PartialDuration = "partial_duration",
        /// annual maximum: return periods are the reverse of yearly chances
        AnnualMaximum = "annual_maximum",
    }
}

wire_enum! {
    /// What the values of a rain table are.
    pub enum RainValues {
        /// depth in inches
        DepthIn = "depth_in",
        /// depth in millimetres
        DepthMm = "depth_mm",
        /// mean intensity in inches an hour
        InPerHr = "in_per_hr",
        /// mean intensity in millimetres an hour
        MmPerHr = "mm_per_hr",
    }
}

impl RainValues {
    /// Whether they are in inches.
    pub const fn in_inches(self) -> bool {
        matches!(self, Self::DepthIn | Self::InPerHr)
    }
}

wire_enum! {
    /// Which bound of the 90 % confidence interval the values are.
    pub enum RainBound {
        /// upper bound
        Upper = "upper",
        /// lower bound
        Lower = "lower",
    }
}

wire_object! {
    /// The values of one duration.
    pub struct RainRow {
        /// Duration, kept in whole seconds.
        pub duration: Span,
        /// One value for each return period, in their order.
        pub values: List<Constant, 1, 30>,
    }
}

wire_object! {
    /// Rain by duration and return period. Once stored it never changes.
    pub struct RainTableDoc {
        /// The office's own code; another table has another one.
        pub code: Code,
        /// What it is called.
        pub name: Label,
        /// Where it holds.
        pub place: Option<Label>,
        /// Where the values were published.
        pub source: Label,
        /// Remarks.
        pub note: Option<Note>,
        /// Kind of series.
        pub series: RainSeries,
        /// What the values are.
        pub values: RainValues,
        /// Which bound of the 90 % confidence interval they are; the estimates themselves when left out.
        pub bound: Option<RainBound>,
        /// Return periods in years.
        pub return_periods: List<Whole<1, 1000>, 1, 30>,
        /// A row for each duration, shortest first.
        pub rows: List<RainRow, 1, 60>,
    }
}
