//! The round trip from the site to the tip and back.

use crate::units::quantity::Span;
use crate::units::{Distance, Speed};

/// Seconds on the road, there and back, rounded up; `None` where the truck stands still.
///
/// # Formula
/// `2 x distance / speed`
/// # Units
/// nanometres and nanometres an hour in, whole seconds out
/// # Valid for
/// one mean speed for the way there and back; speeds above zero
/// # Source
/// definition
/// # Example
/// ```
/// use rillcast::compute::haul::drive_seconds;
/// use rillcast::units::{Distance, Speed};
/// use rillcast::wire::read_value;
/// let road: Distance = read_value(&"6 mi".into())?;
/// let mean: Speed = read_value(&"24 mi_per_hr".into())?;
/// assert_eq!(drive_seconds(road, mean), Some(1_800));
/// # Ok::<(), rillcast::wire::Faults>(())
/// ```
pub fn drive_seconds(distance: Distance, speed: Speed) -> Option<i64> {
    let there_and_back = i128::from(distance.nm()) * 2 * 3_600;
    let speed = i128::from(speed.nm_per_h());
    if speed <= 0 {
        return None;
    }
    i64::try_from((there_and_back + speed - 1) / speed).ok()
}

/// A round trip and what all trips take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trip {
    /// One round trip.
    pub one: Span,
    /// All trips together: hours of trucks and drivers.
    pub all: Span,
    /// Until the last truck is back, trips shared among the trucks.
    pub elapsed: Span,
}

impl Trip {
    /// So many loads by so many trucks, each trip loading, on the road and tipping; `None` beyond what is counted.
    ///
    /// # Formula
    /// `trip = loading + driving + tipping`; `all = loads x trip`; `elapsed = ceil(loads / trucks) x trip`
    /// # Units
    /// seconds
    /// # Valid for
    /// trucks alike, none waiting for another at the tip or the loader
    /// # Source
    /// common practice, no source
    /// # Example
    /// ```
    /// use rillcast::{compute::haul::Trip, units::quantity::Span};
    /// let minutes = |m: i64| Span::from_seconds(m * 60);
    /// // 5 loads by 2 trucks: 3 rounds of 10 + 30 + 8 min.
    /// let trip = Trip::of(5, 2, minutes(10), minutes(30), minutes(8)).ok_or("too long")?;
    /// assert_eq!((trip.one, trip.all, trip.elapsed), (minutes(48), minutes(240), minutes(144)));
    /// # Ok::<(), &str>(())
    /// ```
    pub fn of(loads: i64, trucks: i64, loading: Span, driving: Span, tipping: Span) -> Option<Trip> {
        let one = loading.seconds().checked_add(driving.seconds())?.checked_add(tipping.seconds())?;
        let trucks = trucks.max(1);
        let rounds = loads.checked_add(trucks - 1)? / trucks;
        Some(Trip {
            one: Span::from_seconds(one),
            all: Span::from_seconds(one.checked_mul(loads)?),
            elapsed: Span::from_seconds(one.checked_mul(rounds)?),
        })
    }
}
