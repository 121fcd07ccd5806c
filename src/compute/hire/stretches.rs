//! Several stretches on site: hold the machine through a gap, or return it and hire again.

use super::HireFault;
use super::periods::{Charges, HireCharge, Rates, check};
use crate::compute::exact::plus;
use crate::units::decimal::kept;
use crate::units::show::{joined, worded};
use rust_decimal::Decimal;

/// Days on site without a break, both included, counted from any day that is the same for all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// First day.
    pub first: u32,
    /// Last day.
    pub last: u32,
}

/// One stay of the machine on site, from delivery to collection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// First day.
    pub first: u32,
    /// Last day.
    pub last: u32,
    /// Idle days within it.
    pub idle: u32,
    /// The hire of the stay.
    pub hire: HireCharge,
    /// Delivery and collection.
    pub transport: Decimal,
}

/// The cheapest stays over all stretches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HirePlan {
    /// Stays in order.
    pub stays: Vec<Stay>,
    /// Hire and transport of all stays.
    pub total: Decimal,
    /// Total when the machine is held from the first day to the last.
    pub held_throughout: Decimal,
}

impl Stay {
    /// Its days by their numbers.
    pub fn by_number(&self) -> String {
        let Stay { first, last, .. } = self;
        if first == last { worded!("day {first}") } else { worded!("days {first} to {last}") }
    }
}

impl HirePlan {
    /// The sum in words; `days` are those of a stay as whoever reads it knows them.
    pub fn basis(&self, days: impl Fn(&Stay) -> String) -> String {
        let words = |s: &Stay| worded!("{}: {} + transport {}", days(s), s.hire.basis, kept(s.transport));
        worded!("{} = {}", joined(self.stays.iter().map(words), "; "), kept(self.total))
    }
}

/// The cheapest way to have a machine on site during every stretch.
///
/// # Formula
/// `least sum over stays of (hire of its days + transport)`, where a stay runs over neighbouring stretches and the gaps
/// between them
/// # Units
/// days; currency
/// # Valid for
/// stretches in order, within twenty years
/// # Source
/// definition
/// # Example
/// ```
/// # use rillcast::compute::hire::{Rates, Stretch, plan};
/// # use rust_decimal::Decimal;
/// let rates = Rates { day: Some(Decimal::from(100)), ..Rates::default() };
/// let stretches = [Stretch { first: 0, last: 1 }, Stretch { first: 10, last: 11 }];
/// // held: 12 days = 1200 and 80 of transport; returned: 2 x (200 + 80)
/// let p = plan(&rates, Decimal::from(80), &stretches)?;
/// assert_eq!((p.total, p.held_throughout), (Decimal::from(560), Decimal::from(1280)));
/// # Ok::<(), Vec<rillcast::compute::hire::HireFault>>(())
/// ```
///
/// # Errors
/// Every fault of the rates and stretches at once.
pub fn plan(rates: &Rates, transport: Decimal, stretches: &[Stretch]) -> Result<HirePlan, Vec<HireFault>> {
    check_stretches(rates, transport, stretches)?;
    let days = stretches.iter().map(|s| s.last + 1).max().unwrap_or(0);
    let table = Charges::up_to(rates, 2 * days);
    let span = |from: usize, to: usize| match (stretches.get(from), stretches.get(to)) {
        (Some(a), Some(b)) => b.last - a.first + 1,
        _ => 0,
    };
    // best[n]: least total of the first n stretches, and where its last stay begins
    let mut best: Vec<(Decimal, usize)> = vec![(Decimal::ZERO, 0)];
    for to in 0..stretches.len() {
        let total = |from: usize| {
            let before = best.get(from).map_or(Decimal::MAX, |b| b.0);
            (plus(plus(before, table.total(2 * span(from, to))), transport), from)
        };
        best.extend((0..=to).map(total).min());
    }
    let mut stays = Vec::new();
    let mut end = stretches.len();
    while let Some(to) = end.checked_sub(1) {
        let from = best.get(end).map_or(to, |b| b.1.min(to));
        if let (Some(a), Some(b)) = (stretches.get(from), stretches.get(to)) {
            let busy: u32 = stretches.iter().take(end).skip(from).map(|s| s.last - s.first + 1).sum();
            let hire = table.charge(2 * span(from, to));
            stays.push(Stay { first: a.first, last: b.last, idle: span(from, to) - busy, hire, transport });
        }
        end = from;
    }
    stays.reverse();
    // as many decimals as what it is the sum of
    let total = stays.iter().fold(Decimal::ZERO, |sum, s| plus(sum, plus(s.hire.total, s.transport)));
    let held = match stretches.len().checked_sub(1) {
        Some(last) => plus(table.total(2 * span(0, last)), transport),
        None => Decimal::ZERO,
    };
    Ok(HirePlan { stays, total, held_throughout: held })
}

fn check_stretches(rates: &Rates, transport: Decimal, stretches: &[Stretch]) -> Result<(), Vec<HireFault>> {
    let days = stretches.iter().map(|s| s.last).max().map_or(0, |l| l.saturating_add(1));
    let mut faults = check(rates, days.saturating_mul(2)).err().unwrap_or_default();
    if transport.is_sign_negative() && !transport.is_zero() || transport > Decimal::from(1_000_000_000) {
        let (field, rule) = ("transport".to_owned(), "0 or more, at most 1 000 000 000");
        faults.push(HireFault::Amount { field, value: transport, rule });
    }
    if stretches.len() > 200 {
        let (field, value) = ("stretches".to_owned(), Decimal::from(stretches.len()));
        faults.push(HireFault::Amount { field, value, rule: "at most 200" });
    }
    let mut free = 0_u32;
    for (at, s) in stretches.iter().enumerate() {
        if s.last < s.first || at > 0 && s.first < free {
            faults.push(HireFault::Order { at, first: s.first, last: s.last });
        }
        free = s.last.saturating_add(1);
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
