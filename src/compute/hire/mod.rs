//! Hire: the cheapest mix of periods for the days on site, whether to hold or return in between, and hire or
//! own.
//!
//! | file | subject |
//! |---|---|
//! | `periods` | the cheapest mix of half days, days, weeks and four-weeks |
//! | `long` | the same however long the stay |
//! | `stretches` | several stretches on site: hold the machine through a gap, or return it and hire again |
//! | `own` | hire against buying |

mod long;
mod own;
mod periods;
mod stretches;

pub use long::{Paid, cheapest_mix};
pub use own::{Hired, Own, OwnOrHire, own_or_hire};
pub use periods::{Counts, HireCharge, Period, Rates, charge};
pub use stretches::{HirePlan, Stay, Stretch, plan};

use rust_decimal::Decimal;

/// A fault of a hire request.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HireFault {
    /// No rate at all.
    #[error("rates: give at least one of half day, day, week, four weeks")]
    NoRates,
    /// A figure outside what can be computed.
    #[error("{field}: {value} is outside what is allowed: {rule}")]
    Amount {
        /// The field.
        field: String,
        /// The value.
        value: Decimal,
        /// What is allowed.
        rule: &'static str,
    },
    /// Stretches that overlap or run backwards.
    #[error(
        "stretches[{at}]: days {first} to {last}: stretches must be in order, not overlap, and end no earlier than they begin"
    )]
    Order {
        /// Place in the list.
        at: usize,
        /// First day.
        first: u32,
        /// Last day.
        last: u32,
    },
}
