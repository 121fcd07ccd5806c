//! The request: what has to be covered, and from what.

use super::name::Name;
use crate::compute::exact::Nm;
use rust_decimal::Decimal;

/// One straight leg that has to be covered from end to end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leg {
    /// Name of the leg, unique in the request; the cutting sheet uses it.
    pub id: Name,
    /// Length to cover, net of what fittings use up.
    pub length: Nm,
}

impl Leg {
    /// A leg of that name and length.
    #[must_use]
    pub fn new(id: impl Into<Name>, length: Nm) -> Self {
        Self { id: id.into(), length }
    }
}

/// Where a stock piece comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// Bought new for this job.
    Bought,
    /// Brought along from the yard; used first where that is no dearer.
    Yard,
}

/// A stock length on offer, or an offcut in the yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stock {
    /// Name or code, unique in the request.
    pub id: String,
    /// Its whole length.
    pub length: Nm,
    /// Price of one, in currency units; 0 for an offcut already paid for.
    pub price: Decimal,
    /// How many there are; `None` for as many as wanted.
    pub available: Option<u32>,
    /// Bought or from the yard.
    pub source: Source,
}

impl Stock {
    /// A stock length that can be bought in any number.
    #[must_use]
    pub fn bought(id: impl Into<String>, length: Nm, price: Decimal) -> Self {
        Self { id: id.into(), length, price, available: None, source: Source::Bought }
    }

    /// One offcut from the yard, already paid for.
    #[must_use]
    pub fn yard(id: impl Into<String>, length: Nm) -> Self {
        Self { id: id.into(), length, price: Decimal::ZERO, available: Some(1), source: Source::Yard }
    }
}

/// Parts and minutes of one joint or one cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Work {
    /// Parts used up, in currency units (coupling and cement; the blade's wear).
    pub parts: Decimal,
    /// Minutes of the crew.
    pub minutes: Decimal,
}

impl Work {
    /// Cost of one joint or cut, in currency units.
    ///
    /// # Formula
    /// `cost = parts + minutes x rate / 60`
    /// # Units
    /// parts in currency, minutes in min, rate in currency per hour; result in currency
    /// # Valid for
    /// amounts not below zero
    /// # Source
    /// definition
    /// # Example
    /// ```
    /// # use rillcast::compute::cutting::Work;
    /// # use rust_decimal::Decimal;
    /// let joint = Work { parts: Decimal::from(3), minutes: Decimal::from(5) };
    /// assert_eq!(joint.cost(Decimal::from(60)), Decimal::from(8));
    /// ```
    #[must_use]
    pub fn cost(&self, rate_per_hour: Decimal) -> Decimal {
        if self.minutes.is_zero() {
            return self.parts;
        }
        let labor = self.minutes.checked_mul(rate_per_hour).map(|m| m / Decimal::from(60));
        labor.and_then(|l| self.parts.checked_add(l)).unwrap_or(Decimal::MAX)
    }
}

/// A cut list to be worked out, over all legs that use one kind of stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The legs; at least one.
    pub legs: Vec<Leg>,
    /// The stock; at least one.
    pub stock: Vec<Stock>,
    /// What the saw takes at each cut.
    pub kerf: Nm,
    /// Between two neighbouring pieces of a leg: a gap (grates) when positive, a lap (bars) when negative.
    pub gap: Nm,
    /// No piece shorter than this.
    pub least_piece: Nm,
    /// Whether a leg that is shorter than the least piece as a whole is one piece of its length, as nothing is joined to it; else it
    /// is a fault.
    pub short_legs_whole: bool,
    /// Most joints one leg may have; `None` for no limit.
    pub max_joints_per_leg: Option<u32>,
    /// Longest assembled piece the crew can lift and set; also the longest single piece. Stock that is longer is left out
    /// whole: the search takes no piece of it. `None` for no limit.
    pub longest_setting: Option<Nm>,
    /// Parts and minutes of one joint.
    pub joint: Work,
    /// Parts and minutes of one cut.
    pub cut: Work,
    /// Cost of the crew's time, currency per hour.
    pub rate_per_hour: Decimal,
    /// Offcuts at least this long are worth keeping.
    pub keep: Nm,
    /// What a kept offcut is worth, currency per metre. Reported beside the total; it does not steer the
    /// plan.
    pub offcut_value_per_metre: Decimal,
    /// Most search nodes; the plan depends on it, never on the time taken.
    pub node_budget: u64,
}

impl Default for Problem {
    /// Nothing to cut, no kerf, no gap, free joints and cuts, and a budget that suits some 200 legs.
    fn default() -> Self {
        Self {
            legs: Vec::new(),
            stock: Vec::new(),
            kerf: Nm(0),
            gap: Nm(0),
            least_piece: Nm(0),
            short_legs_whole: false,
            max_joints_per_leg: None,
            longest_setting: None,
            joint: Work::default(),
            cut: Work::default(),
            rate_per_hour: Decimal::ZERO,
            keep: Nm(0),
            offcut_value_per_metre: Decimal::ZERO,
            node_budget: 20_000_000,
        }
    }
}
