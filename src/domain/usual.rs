//! Values of the trade that hold where a price book says nothing of them, each with its source. The book's own go before them.
//!
//! What belongs to a formula by itself stands with its settings: times and lengths of flow and factors of rare storms in
//! `compute::water`, overtime, spreads and learning with theirs.

use crate::units::quantity::Span;
use crate::units::{Factor, Length, Percent};

/// Room under the grate that a run keeps (common practice, no source).
pub const LEAST_FREEBOARD: Length = Length::inches(1, 2);
/// Depth of water over a grate at which it must take everything (common practice, no source).
pub const PONDING: Length = Length::inches(1, 2);
/// Part of a grate that is blocked: the usual allowance in a sag (TxDOT Hydraulic Design Manual, read).
pub const CLOGGED: Percent = Percent::whole(50);
/// Velocity heads lost at a bend of a pipe (from memory).
pub const BEND_LOSS: Factor = Factor::from_millionths(250_000);
/// Velocity heads lost where a pipe joins another (from memory).
pub const JUNCTION_LOSS: Factor = Factor::from_millionths(500_000);
/// Velocity below which a full pipe silts up, ft/s (Ten States Standards, from memory).
pub const LEAST_VELOCITY_FT_PER_S: Factor = Factor::from_millionths(2_000_000);
/// Velocity above which a pipe wears, ft/s (common practice, from memory).
pub const GREATEST_VELOCITY_FT_PER_S: Factor = Factor::from_millionths(10_000_000);
/// Fall of a drain line (common practice, no source).
pub const LINE_FALL: Percent = Percent::whole(1);

/// Hours of a working day (common practice, no source).
pub const WORKING_DAY: Span = Span::from_seconds(8 * 3_600);
/// What a crew's hours are rounded up to (common practice, no source).
pub const HOURS_STEP: Span = Span::from_seconds(15 * 60);
/// Waste of concrete (common practice, no source).
pub const CONCRETE_WASTE: Percent = Percent::whole(10);
/// Days before wheels cross new concrete (UFGS 03301A, read: 7 for Type I cement).
pub const CURE_DAYS_WHEELS: i64 = 7;
/// Days before people cross it (common practice, no source).
pub const CURE_DAYS_FEET: i64 = 2;
/// Working days until a permit is there (common practice, no source).
pub const PERMIT_DAYS: i64 = 5;
/// Working days until an inspector comes (common practice, no source).
pub const INSPECTION_DAYS: i64 = 1;
/// Days before forms are stripped (common practice, no source).
pub const STRIP_DAYS: i64 = 1;
/// Days between an order and the day its goods are needed (common practice, no source).
pub const ORDER_DAYS: i64 = 30;
