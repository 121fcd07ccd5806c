//! Loads of a haul.

use crate::units::Volume;
use crate::units::quantity::Mass;
use std::cmp::Ordering;

/// Loads by loose volume and by weight, whichever needs more, and how the loads by weight compare with those by volume.
///
/// # Formula
/// `max(ceil(volume / truck volume), ceil(weight / payload))`
/// # Units
/// exact
/// # Valid for
/// a truck that takes something; an empty export needs no load
/// # Source
/// common practice, no source; the volume part as in a construction-estimating textbook, ch. 9, ex. 9-2 (read): 1,300 loose yd³ at 7 yd³ is 186 loads
/// # Example
/// ```
/// use rillcast::{compute::haul::by_volume_and_weight, units::{Length, Volume, quantity::Mass}};
/// let yard = Length::feet(3) * Length::feet(3) * Length::feet(3);
/// assert_eq!(by_volume_and_weight(yard * 1300, Mass::pounds(0), yard * 7, Mass::pounds(20_000)).0, 186);
/// assert_eq!(by_volume_and_weight(yard * 4, Mass::pounds(16_200), yard * 10, Mass::pounds(8_000)).0, 3);
/// ```
pub fn by_volume_and_weight(loose: Volume, weight: Mass, truck: Volume, payload: Mass) -> (i64, Ordering) {
    let up = |need: i128, each: i128| if need <= 0 || each <= 0 { 0 } else { (need - 1) / each + 1 };
    let (by_volume, by_weight) = (up(loose.nm3(), truck.nm3()), up(weight.base(), payload.base()));
    (i64::try_from(by_volume.max(by_weight)).unwrap_or(i64::MAX), by_weight.cmp(&by_volume))
}
