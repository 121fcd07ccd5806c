//! What can be wrong with a concrete request, and what a result has to warn of.

use super::request::{Bags, Crew, Mixer, ReadyMix, ShortLoad, Way};
use crate::compute::exact::Nm3;
use rust_decimal::Decimal;

/// A fault of the request.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PourFault {
    /// No way on offer.
    #[error("ways: give at least one way to get the concrete")]
    NoWays,
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
    /// A volume outside what can be computed.
    #[error("{field}: {} m3 is outside what is allowed: {rule}", value.in_units(Nm3::CUBIC_METRE))]
    Volume {
        /// The field.
        field: String,
        /// The value.
        value: Nm3,
        /// What is allowed.
        rule: &'static str,
    },
    /// A weather figure outside what can be computed.
    #[error("{field}: {value} is outside what is allowed: {rule}")]
    Weather {
        /// The field.
        field: &'static str,
        /// The value in words.
        value: String,
        /// What is allowed.
        rule: &'static str,
    },
    /// More than can be computed exactly.
    #[error("the request is too large to compute exactly ({what}): split it")]
    TooLarge {
        /// What is too large.
        what: &'static str,
    },
}

/// What a result has to say beside its figures.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PourWarning {
    /// The last load is short.
    #[error("the last load is {} m3, below {} m3: compare ordering more, or bags for the rest", load.in_units(Nm3::CUBIC_METRE), below.in_units(Nm3::CUBIC_METRE))]
    ShortLastLoad {
        /// Its volume.
        load: Nm3,
        /// The volume below which it is short.
        below: Nm3,
    },
    /// The least order is more than is needed.
    #[error("the least order of {} m3 is more than needed", order.in_units(Nm3::CUBIC_METRE))]
    LeastOrder {
        /// The order.
        order: Nm3,
    },
    /// Concrete is older than the limit when a truck is empty.
    #[error(
        "concrete of truck {truck} is {minutes} min old when the truck is empty, the limit is {limit} min: agree another limit with the producer, place faster or order smaller loads"
    )]
    TooOld {
        /// Number of the truck.
        truck: usize,
        /// Age in minutes.
        minutes: Decimal,
        /// The limit.
        limit: Decimal,
    },
    /// It takes more hours than a working day.
    #[error(
        "mixing takes {hours} h, more than a working day of {day} h: the pour needs a planned joint or another way"
    )]
    MoreThanADay {
        /// Hours of mixing.
        hours: Decimal,
        /// Hours in a day.
        day: Decimal,
    },
    /// Cold weather.
    #[error(
        "air at {air_c:.1} C is below {limit_c:.1} C: cold-weather measures, and protect the pour from frost"
    )]
    Cold {
        /// Air temperature.
        air_c: f64,
        /// The limit.
        limit_c: f64,
    },
    /// Hot concrete.
    #[error("concrete at {concrete_c:.1} C is above {limit_c:.1} C: cool the mix or pour at another hour")]
    HotConcrete {
        /// Concrete temperature.
        concrete_c: f64,
        /// The limit.
        limit_c: f64,
    },
    /// Fast drying.
    #[error(
        "evaporation of {rate:.2} kg/m2/h is above {limit:.2}: wind breaks, fog or cover against plastic shrinkage cracks"
    )]
    Evaporation {
        /// Rate.
        rate: f64,
        /// The limit.
        limit: f64,
    },
    /// A formula was used outside its range.
    #[error("{what} is outside the range of the formula ({range}): take the result as a rough guide")]
    OutsideRange {
        /// The quantity.
        what: &'static str,
        /// The range.
        range: &'static str,
    },
}

/// Most that a volume may be: a million cubic metres.
const LARGEST: i128 = Nm3::CUBIC_METRE.0 * 1_000_000;

/// Every fault of a request at once.
pub(super) fn check(
    nets: &[Nm3],
    waste: Decimal,
    ways: &[Way],
    crew: &Crew,
    minor_digits: u32,
) -> Result<(), Vec<PourFault>> {
    let mut c = Checker { faults: Vec::new() };
    if ways.is_empty() {
        c.faults.push(PourFault::NoWays);
    }
    for net in nets {
        c.volume("net", *net, true);
    }
    c.amount("waste", waste, true);
    c.amount("crew.rate_per_hour", crew.rate_per_hour, true);
    c.amount("crew.people", Decimal::from(crew.people), true);
    if minor_digits > 4 {
        let (field, value) = ("minor_digits".to_owned(), Decimal::from(minor_digits));
        c.faults.push(PourFault::Amount { field, value, rule: "0 to 4" });
    }
    for way in ways {
        match way {
            Way::ReadyMix(w) => c.ready_mix(w),
            Way::Bags(w) => c.bags(w),
            Way::Mixer(w) => c.mixer(w),
        }
    }
    if c.faults.is_empty() { Ok(()) } else { Err(c.faults) }
}

struct Checker {
    faults: Vec<PourFault>,
}

impl Checker {
    fn volume(&mut self, field: &str, value: Nm3, zero: bool) {
        if value.0 < i128::from(!zero) || value.0 > LARGEST {
            let rule =
                if zero { "0 or more, at most 1 000 000 m3" } else { "more than 0, at most 1 000 000 m3" };
            self.faults.push(PourFault::Volume { field: field.to_owned(), value, rule });
        }
    }

    fn amount(&mut self, field: &str, value: Decimal, zero: bool) {
        let low = value.is_sign_negative() && !value.is_zero() || !zero && value.is_zero();
        if low || value > Decimal::from(1_000_000) || value.normalize().scale() > 9 {
            let rule = match zero {
                true => "0 or more, at most 1 000 000, no more than 9 decimals",
                false => "more than 0, at most 1 000 000, no more than 9 decimals",
            };
            self.faults.push(PourFault::Amount { field: field.to_owned(), value, rule });
        }
    }

    fn ready_mix(&mut self, w: &ReadyMix) {
        let f = |name: &str| format!("ways[{}].{name}", w.id);
        self.volume(&f("unit"), w.unit, false);
        self.volume(&f("increment"), w.increment, false);
        self.volume(&f("least_order"), w.least_order, true);
        self.volume(&f("truck"), w.truck, false);
        self.volume(&f("place_per_hour"), w.place_per_hour, false);
        for (name, value) in [
            ("price", w.price),
            ("delivery_per_load", w.delivery_per_load),
            ("free_minutes", w.free_minutes),
            ("waiting_per_minute", w.waiting_per_minute),
        ] {
            self.amount(&f(name), value, true);
        }
        match w.short_load {
            ShortLoad::None => {}
            ShortLoad::Flat { below, charge } | ShortLoad::PerMissing { below, charge } => {
                self.volume(&f("short_load.below"), below, true);
                self.amount(&f("short_load.charge"), charge, true);
            }
        }
    }

    fn bags(&mut self, w: &Bags) {
        let f = |name: &str| format!("ways[{}].{name}", w.id);
        self.volume(&f("yield_each"), w.yield_each, false);
        for (name, value) in [
            ("price", w.price),
            ("delivery", w.delivery),
            ("minutes_per_bag", w.minutes_per_bag),
            ("mixer_per_day", w.mixer_per_day),
        ] {
            self.amount(&f(name), value, true);
        }
        self.amount(&f("mixers"), Decimal::from(w.mixers), false);
        self.amount(&f("hours_per_day"), w.hours_per_day, false);
        if let Some(p) = w.pallet {
            self.amount(&f("pallet.bags"), Decimal::from(p.bags), false);
            self.amount(&f("pallet.price"), p.price.unwrap_or_default(), true);
            self.amount(&f("pallet.delivery"), p.delivery, true);
        }
    }

    fn mixer(&mut self, w: &Mixer) {
        let f = |name: &str| format!("ways[{}].{name}", w.id);
        self.volume(&f("unit"), w.unit, false);
        self.volume(&f("increment"), w.increment, false);
        self.volume(&f("least_order"), w.least_order, true);
        self.volume(&f("capacity"), w.capacity, false);
        self.volume(&f("place_per_hour"), w.place_per_hour, false);
        self.amount(&f("price"), w.price, true);
        self.amount(&f("hire_per_trip"), w.hire_per_trip, true);
        self.amount(&f("trip_minutes"), w.trip_minutes, true);
        self.amount(&f("fetchers"), Decimal::from(w.fetchers), true);
    }
}
