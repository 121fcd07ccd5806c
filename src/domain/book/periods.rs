//! The days for which versions of one price book hold: no overlap, no gap unseen.

use crate::wire::day::Day;
use jiff::civil::Date;
use std::fmt;

/// Days from `from` on, up to but not including `to`; without `to` for ever.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Period {
    from: Date,
    to: Option<Date>,
}

impl Period {
    /// A period of at least one day.
    pub fn new(from: Date, to: Option<Date>) -> Option<Period> {
        to.is_none_or(|to| from < to).then_some(Period { from, to })
    }

    /// The period two stored days stand for; `None` when they stand for none.
    pub fn read(from: Option<&str>, to: Option<&str>) -> Option<Period> {
        let from = Day::parse(from?)?.date();
        let to = match to {
            Some(text) => Some(Day::parse(text)?.date()),
            None => None,
        };
        Period::new(from, to)
    }

    /// First day.
    pub fn from(&self) -> Date {
        self.from
    }

    /// The day after the last; `None` for ever.
    pub fn to(&self) -> Option<Date> {
        self.to
    }

    /// Whether the day lies in the period.
    pub fn holds(&self, day: Date) -> bool {
        self.from <= day && self.to.is_none_or(|to| day < to)
    }

    /// Whether the two share a day.
    pub fn overlaps(&self, other: &Period) -> bool {
        self.to.is_none_or(|to| other.from < to) && other.to.is_none_or(|to| self.from < to)
    }

    /// Whether the two share a day or one begins where the other ends.
    pub fn touches(&self, other: &Period) -> bool {
        self.to.is_none_or(|to| other.from <= to) && other.to.is_none_or(|to| self.from <= to)
    }

    /// The days from `day` on; `None` when there are none.
    pub fn since(&self, day: Date) -> Option<Period> {
        Period::new(self.from.max(day), self.to)
    }

    /// The same beginning, ending before `day`; `None` when nothing is left.
    pub fn ended(&self, day: Date) -> Option<Period> {
        Period::new(self.from, Some(self.to.map_or(day, |to| to.min(day))))
    }
}

impl fmt::Display for Period {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.to {
            Some(to) => write!(f, "{} up to, not including, {to}", self.from),
            None => write!(f, "{} on", self.from),
        }
    }
}

/// What is left free of `taken` from `start` on, in order.
///
/// ```
/// use rillcast::domain::book::periods::{Period, free};
/// let read = |from, to| Period::read(Some(from), to).unwrap();
/// let taken = [read("2027-03-01", None), read("2027-01-01", Some("2027-02-01"))];
/// let gaps: Vec<String> = free(&taken, "2026-12-24".parse().unwrap()).iter().map(ToString::to_string).collect();
/// assert_eq!(gaps, [
///     "2026-12-24 up to, not including, 2027-01-01",
///     "2027-02-01 up to, not including, 2027-03-01",
/// ]);
/// ```
pub fn free(taken: &[Period], start: Date) -> Vec<Period> {
    let mut taken = taken.to_vec();
    taken.sort_unstable();
    let mut out = Vec::new();
    let mut day = start;
    for period in taken {
        if period.from > day {
            out.extend(Period::new(day, Some(period.from)));
        }
        match period.to {
            Some(to) => day = day.max(to),
            None => return out,
        }
    }
    out.extend(Period::new(day, None));
    out
}

/// What `taken` leaves of a period, in order.
///
/// ```
/// use rillcast::domain::book::periods::{Period, left};
/// let read = |from, to| Period::read(Some(from), to).unwrap();
/// let spring = read("2027-03-01", Some("2027-04-01"));
/// let lost = |whole| left(whole, &[spring]).iter().map(ToString::to_string).collect::<Vec<_>>();
/// assert_eq!(lost(read("2027-03-15", Some("2027-06-01"))), ["2027-04-01 up to, not including, 2027-06-01"]);
/// assert!(lost(spring).is_empty());
/// ```
pub fn left(of: Period, taken: &[Period]) -> Vec<Period> {
    let within = |gap: Period| match of.to {
        Some(to) => gap.ended(to),
        None => Some(gap),
    };
    free(taken, of.from).into_iter().filter_map(within).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(n: i16) -> Date {
        Date::new(2027, 1, 1).unwrap_or(Date::MIN).saturating_add(jiff::Span::new().days(n))
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// Every day from the start on is taken or free, and none is both.
        #[test]
        fn each_day_is_taken_or_free(
            list in prop::collection::vec((0_i16..60, prop::option::of(1_i16..30)), 0..6),
            start in 0_i16..60,
        ) {
            let taken: Vec<Period> = list
                .into_iter()
                .filter_map(|(from, length)| Period::new(day(from), length.map(|l| day(from + l))))
                .collect();
            let gaps = free(&taken, day(start));
            for n in start..100 {
                let in_gap = gaps.iter().filter(|g| g.holds(day(n))).count();
                prop_assert_eq!(in_gap, usize::from(!taken.iter().any(|t| t.holds(day(n)))));
            }
            for pair in gaps.windows(2) {
                prop_assert!(!pair[0].touches(&pair[1]));
            }
        }

        #[test]
        fn overlap_is_a_shared_day(a in 0_i16..30, b in 1_i16..20, c in 0_i16..30, d in prop::option::of(1_i16..20)) {
            let one = Period::new(day(a), Some(day(a + b))).unwrap_or_else(|| unreachable!());
            let two = Period::new(day(c), d.map(|d| day(c + d))).unwrap_or_else(|| unreachable!());
            let shared = (0..80).any(|n| one.holds(day(n)) && two.holds(day(n)));
            prop_assert_eq!(one.overlaps(&two), shared);
            prop_assert_eq!(two.overlaps(&one), shared);
        }
    }

    #[test]
    fn a_period_has_a_day() {
        assert!(Period::new(day(1), Some(day(1))).is_none());
        assert!(Period::read(Some("2027-02-29"), None).is_none());
        assert!(Period::read(None, Some("2027-02-28")).is_none());
        let whole = Period::new(day(0), None);
        assert_eq!(whole.and_then(|p| p.ended(day(0))), None);
        assert_eq!(whole.and_then(|p| p.ended(day(3))), Period::new(day(0), Some(day(3))));
    }
}
