//! From which volume on which way is the cheapest.

use super::{Setting, Terms, WayOrder, crew, increments};
use crate::domain::book::PriceBook;
use crate::units::show::{Show, worded};
use crate::units::{Amount, Percent, Quantity, Volume};
use crate::wire::book::concrete::ConcreteWay;
use serde::Serialize;
use utoipa::ToSchema;

/// Steps of cost looked at: more than any job's worth, and an end to what one call can ask for.
const MOST_STEPS: usize = 4_000;

/// Volumes at which the cheapest way changes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct BreakEven {
    /// Volume, waste included, up to which this was worked out.
    pub up_to: Quantity,
    /// Which way is the cheapest from which volume to which.
    pub bands: Vec<BreakEvenBand>,
    /// How it came about.
    pub basis: String,
}

/// A stretch of volumes over which one way is the cheapest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct BreakEvenBand {
    /// Volumes greater than this, waste included …
    pub above: Quantity,
    /// … up to and including this.
    pub up_to: Quantity,
    /// Code of the cheapest way.
    pub way: String,
    /// What it costs, all in, at the lower end …
    pub all_in_from: Amount,
    /// … and at the upper end.
    pub all_in_to: Amount,
}

struct Standing<'a> {
    way: &'a ConcreteWay,
    increment: Volume,
    /// The cost holds up to and including this volume.
    holds_to: Volume,
    all_in: Amount,
}

impl Standing<'_> {
    /// The cost for volumes just above `above`.
    fn advance(&mut self, above: Volume, setting: &Setting<'_>) -> Option<()> {
        let just = Volume::from_nm3(above.nm3() + 1);
        let count = increments(just, Percent::ZERO, self.increment)?;
        self.holds_to = self.increment * count;
        let order: WayOrder = crew::reckon(self.way, just, Percent::ZERO, setting)?;
        self.all_in = order.all_in;
        Some(())
    }
}

/// The bands from nothing to a volume, waste included; of equal costs the way that stands first in the book.
///
/// Every way's cost is the same between two whole multiples of its increment or bag, so looking at those multiples alone
/// is exact. `None` when a volume cannot be reckoned exactly.
pub fn break_even(up_to: Volume, terms: &Terms<'_>, book: &PriceBook, show: Show) -> Option<BreakEven> {
    let setting = terms.figures_only().setting(book, show);
    let mut standings = Vec::new();
    for way in &book.doc().concrete_ways {
        let (ConcreteWay::ReadyMix { increment, .. }
        | ConcreteWay::Trailer { increment, .. }
        | ConcreteWay::Bags { bag_yield: increment, .. }) = way;
        let mut standing =
            Standing { way, increment: *increment, holds_to: Volume::ZERO, all_in: Amount::ZERO };
        standing.advance(Volume::ZERO, &setting)?;
        standings.push(standing);
    }
    let mut bands: Vec<(Volume, Volume, &str, Amount, Amount)> = Vec::new();
    let (mut above, mut steps) = (Volume::ZERO, 0);
    while above < up_to && steps < MOST_STEPS {
        steps += 1;
        let end = standings.iter().map(|s| s.holds_to).min()?.min(up_to);
        let best = standings.iter().min_by_key(|s| s.all_in)?;
        match bands.last_mut().filter(|b| b.2 == best.way.code().as_str()) {
            Some(band) => (band.1, band.4) = (end, best.all_in),
            None => bands.push((above, end, best.way.code().as_str(), best.all_in, best.all_in)),
        }
        above = end;
        for standing in standings.iter_mut().filter(|s| s.holds_to <= above) {
            standing.advance(above, &setting)?;
        }
    }
    let cut = if above < up_to { worded!("; ended after {MOST_STEPS} steps") } else { String::new() };
    Some(BreakEven {
        up_to: show.volume(above),
        bands: bands
            .into_iter()
            .map(|(above, up_to, way, from, to)| BreakEvenBand {
                above: show.volume(above),
                up_to: show.volume(up_to),
                way: way.to_owned(),
                all_in_from: from,
                all_in_to: to,
            })
            .collect(),
        basis: worded!(
            "all-in costs at every multiple of an increment or a bag, last loads as they are; between two multiples no cost \
             changes{cut}"
        ),
    })
}
