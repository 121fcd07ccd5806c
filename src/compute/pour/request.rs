//! The ways to get concrete, and the crew that places it.

use crate::compute::exact::Nm3;
use rust_decimal::Decimal;

/// A volume to be poured on one day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pour {
    /// Name.
    pub name: String,
    /// Day number on the job; pours of one day are ordered together.
    pub day: u32,
    /// Net volume, waste not included.
    pub net: Nm3,
}

/// The crew that mixes and places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Crew {
    /// People placing.
    pub people: u32,
    /// Cost of one person, currency per hour.
    pub rate_per_hour: Decimal,
}

/// One way to get the concrete.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Way {
    /// Delivered by truck.
    ReadyMix(ReadyMix),
    /// Dry mix in bags, mixed on site.
    Bags(Bags),
    /// A small mixer or trailer fetched from a yard.
    Mixer(Mixer),
}

impl Way {
    /// Its name.
    #[must_use]
    pub fn id(&self) -> &str {
        match self {
            Self::ReadyMix(w) => &w.id,
            Self::Bags(w) => &w.id,
            Self::Mixer(w) => &w.id,
        }
    }
}

/// Charge for a load below a volume; it is looked at for the last load, which is the smallest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShortLoad {
    /// No charge.
    None,
    /// A flat charge.
    Flat {
        /// Loads below this are short.
        below: Nm3,
        /// The charge.
        charge: Decimal,
    },
    /// A charge per missing unit volume.
    PerMissing {
        /// Loads below this are short.
        below: Nm3,
        /// Charge per missing [`ReadyMix::unit`].
        charge: Decimal,
    },
}

impl ShortLoad {
    /// The volume below which a load is short.
    #[must_use]
    pub fn below(&self) -> Option<Nm3> {
        match self {
            Self::None => None,
            Self::Flat { below, .. } | Self::PerMissing { below, .. } => Some(*below),
        }
    }
}

/// Concrete delivered by truck.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadyMix {
    /// Name of the offer.
    pub id: String,
    /// Volume that prices are counted in (a cubic yard, a cubic metre).
    pub unit: Nm3,
    /// Price per unit volume.
    pub price: Decimal,
    /// The order is a whole number of these.
    pub increment: Nm3,
    /// Least order.
    pub least_order: Nm3,
    /// Charge for a short load.
    pub short_load: ShortLoad,
    /// What a truck holds.
    pub truck: Nm3,
    /// Delivery charge per load.
    pub delivery_per_load: Decimal,
    /// Minutes of unloading included per load.
    pub free_minutes: Decimal,
    /// Charge per minute beyond that.
    pub waiting_per_minute: Decimal,
    /// Volume the crew places in an hour.
    pub place_per_hour: Nm3,
}

/// A pallet of bags.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pallet {
    /// Bags on it.
    pub bags: u32,
    /// Price of a whole pallet; `None` for the price of its bags.
    pub price: Option<Decimal>,
    /// Whether bags are sold by whole pallets only.
    pub whole_only: bool,
    /// Delivery per pallet begun.
    pub delivery: Decimal,
}

/// Dry mix in bags. Label yields: 0.15 ft3 per 20 lb, so 0.30, 0.375, 0.45, 0.60 ft3 for 40, 50, 60, 80 lb
/// (read; that ASTM C387 asks for it on the bag is from memory).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bags {
    /// Name of the offer.
    pub id: String,
    /// Mixed volume of one bag.
    pub yield_each: Nm3,
    /// Price of one bag.
    pub price: Decimal,
    /// Pallet terms.
    pub pallet: Option<Pallet>,
    /// Delivery of the whole order.
    pub delivery: Decimal,
    /// Minutes to mix and place one bag with one mixer.
    pub minutes_per_bag: Decimal,
    /// Mixers at work at once; at least 1.
    pub mixers: u32,
    /// Hire of one mixer per day begun.
    pub mixer_per_day: Decimal,
    /// Working hours in a day.
    pub hours_per_day: Decimal,
}

/// A small mixer or trailer fetched from a yard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mixer {
    /// Name of the offer.
    pub id: String,
    /// Volume that prices are counted in.
    pub unit: Nm3,
    /// Price per unit volume.
    pub price: Decimal,
    /// The order is a whole number of these.
    pub increment: Nm3,
    /// Least order.
    pub least_order: Nm3,
    /// What one trip carries.
    pub capacity: Nm3,
    /// Hire per trip.
    pub hire_per_trip: Decimal,
    /// Minutes to fetch one load and take the trailer back.
    pub trip_minutes: Decimal,
    /// People who fetch; they are paid for the trips.
    pub fetchers: u32,
    /// Whether the crew that places waits, paid, during the trips after the first.
    pub crew_waits: bool,
    /// Volume the crew places in an hour.
    pub place_per_hour: Nm3,
}
