//! All ways beside each other, pours of a day together, and the volumes where the cheapest way changes.

use super::fault::{PourFault, PourWarning};
use super::quantity::with_waste;
use super::request::{Crew, Pour, Way};
use super::{bags, mixer, ready_mix};
use crate::compute::exact::{Nm3, to_minor};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// One cost with its sum in words, rounded once to the minor unit, half up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostLine {
    /// What it is for.
    pub label: &'static str,
    /// How much.
    pub amount: Decimal,
    /// The sum in words.
    pub basis: String,
}

impl CostLine {
    pub(super) fn rounded(label: &'static str, amount: Decimal, basis: String, minor: u32) -> Self {
        Self { label, amount: to_minor(amount, minor), basis }
    }
}

/// Quantities of one way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Figures {
    /// Volume ordered (for bags: what they yield).
    pub ordered: Nm3,
    /// Truck loads or trips.
    pub loads: u32,
    /// Volume of the last load.
    pub last_load: Nm3,
    /// Bags bought.
    pub bags: u32,
    /// Whole pallets among them.
    pub pallets: u32,
    /// Hours from start to end of placing.
    pub hours: Decimal,
    /// Person-hours, fetching included.
    pub crew_hours: Decimal,
}

/// A way as it is being worked out.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    pub lines: Vec<CostLine>,
    pub warnings: Vec<PourWarning>,
    pub figures: Figures,
    pub minor: u32,
}

impl Sheet {
    pub(super) fn new(minor: u32) -> Self {
        Self { lines: Vec::new(), warnings: Vec::new(), figures: Figures::default(), minor }
    }

    pub(super) fn line(&mut self, label: &'static str, amount: Decimal, basis: String) {
        if !amount.is_zero() {
            self.lines.push(CostLine::rounded(label, amount, basis, self.minor));
        }
    }

    pub(super) fn total(&self) -> Option<Decimal> {
        self.lines.iter().try_fold(Decimal::ZERO, |sum, l| sum.checked_add(l.amount))
    }
}

/// One way, all-in.
#[derive(Debug, Clone, PartialEq)]
pub struct WayCost {
    /// Name of the way.
    pub way: String,
    /// Quantities.
    pub figures: Figures,
    /// Costs; their sum is the total.
    pub lines: Vec<CostLine>,
    /// All-in cost.
    pub total: Decimal,
    /// What to know.
    pub warnings: Vec<PourWarning>,
}

/// All ways for one volume, cheapest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Net volume.
    pub net: Nm3,
    /// With waste.
    pub need: Nm3,
    /// Cheapest first; equal costs in the order of the request.
    pub ways: Vec<WayCost>,
    /// The sum in words.
    pub basis: String,
}

/// All ways to get a net volume, all-in, cheapest first.
///
/// # Errors
/// Every fault at once.
///
/// # Example
/// ```
/// # use rillcast::compute::{exact::Nm3, pour::{Bags, Crew, Way, compare}};
/// # use rust_decimal::Decimal;
/// // 2.7 ft3 of 0.45 ft3 bags are exactly 6 bags
/// let foot = Nm3::CUBIC_FOOT.0;
/// let bags = Bags {
///     id: "60 lb".into(), yield_each: Nm3(foot * 45 / 100), price: Decimal::from(5), pallet: None,
///     delivery: Decimal::ZERO, minutes_per_bag: Decimal::from(5), mixers: 1, mixer_per_day: Decimal::from(40),
///     hours_per_day: Decimal::from(8),
/// };
/// let crew = Crew { people: 2, rate_per_hour: Decimal::from(30) };
/// let c = compare(Nm3(foot * 27 / 10), Decimal::ZERO, &[Way::Bags(bags)], &crew, 2)?;
/// let way = &c.ways[0];
/// assert_eq!((way.figures.bags, way.total), (6, Decimal::from(30 + 30 + 40)));
/// # Ok::<(), Vec<rillcast::compute::pour::PourFault>>(())
/// ```
pub fn compare(
    net: Nm3,
    waste: Decimal,
    ways: &[Way],
    crew: &Crew,
    minor_digits: u32,
) -> Result<Comparison, Vec<PourFault>> {
    super::fault::check(&[net], waste, ways, crew, minor_digits)?;
    work_out(net, waste, ways, crew, minor_digits)
        .ok_or_else(|| vec![PourFault::TooLarge { what: "volumes or costs" }])
}

fn work_out(net: Nm3, waste: Decimal, ways: &[Way], crew: &Crew, minor: u32) -> Option<Comparison> {
    let need = with_waste(net, waste)?;
    let mut costs = Vec::with_capacity(ways.len());
    for way in ways {
        costs.push(way_cost(way, need, crew, minor)?);
    }
    costs.sort_by_key(|c| c.total);
    let m3 = Nm3::CUBIC_METRE;
    let basis = format!("{} m3 net x (1 + {waste}) = {} m3", net.in_units(m3), need.in_units(m3));
    Some(Comparison { net, need, ways: costs, basis })
}

pub(super) fn way_cost(way: &Way, need: Nm3, crew: &Crew, minor: u32) -> Option<WayCost> {
    let sheet = match way {
        Way::ReadyMix(w) => ready_mix::cost(w, need, crew, minor)?,
        Way::Bags(w) => bags::cost(w, need, crew, minor)?,
        Way::Mixer(w) => mixer::cost(w, need, crew, minor)?,
    };
    let total = sheet.total()?;
    let Sheet { lines, warnings, figures, .. } = sheet;
    Some(WayCost { way: way.id().to_owned(), figures, lines, total, warnings })
}

/// One day's pours ordered together.
#[derive(Debug, Clone, PartialEq)]
pub struct Day {
    /// Day number.
    pub day: u32,
    /// Names of its pours.
    pub pours: Vec<String>,
    /// All ways for their sum.
    pub comparison: Comparison,
}

/// The pours of a job, by day, beside ordering each alone and all at once.
#[derive(Debug, Clone, PartialEq)]
pub struct Days {
    /// Days in order.
    pub days: Vec<Day>,
    /// Cheapest way of each day, summed.
    pub total: Decimal,
    /// Cheapest way of each pour ordered alone, summed.
    pub each_alone: Decimal,
    /// Cheapest way when everything is poured on one day.
    pub all_together: Decimal,
}

/// Pours of a day ordered together, each day its cheapest way.
///
/// # Errors
/// Every fault at once.
pub fn compare_days(
    pours: &[Pour],
    waste: Decimal,
    ways: &[Way],
    crew: &Crew,
    minor_digits: u32,
) -> Result<Days, Vec<PourFault>> {
    let volumes: Vec<Nm3> = pours.iter().map(|p| p.net).collect();
    super::fault::check(&volumes, waste, ways, crew, minor_digits)?;
    let too_large = || vec![PourFault::TooLarge { what: "volumes or costs" }];
    let mut by_day: BTreeMap<u32, Vec<&Pour>> = BTreeMap::new();
    for p in pours {
        by_day.entry(p.day).or_default().push(p);
    }
    let cheapest = |net: Nm3| -> Option<(Comparison, Decimal)> {
        let c = work_out(net, waste, ways, crew, minor_digits)?;
        let least = c.ways.first()?.total;
        Some((c, least))
    };
    let sum = |pours: &[&Pour]| pours.iter().try_fold(0_i128, |s, p| s.checked_add(p.net.0)).map(Nm3);
    let run = || -> Option<Days> {
        let mut out = Days {
            days: Vec::new(),
            total: Decimal::ZERO,
            each_alone: Decimal::ZERO,
            all_together: Decimal::ZERO,
        };
        for (&day, list) in &by_day {
            let (comparison, least) = cheapest(sum(list)?)?;
            out.total = out.total.checked_add(least)?;
            out.days.push(Day { day, pours: list.iter().map(|p| p.name.clone()).collect(), comparison });
        }
        for p in pours {
            out.each_alone = out.each_alone.checked_add(cheapest(p.net)?.1)?;
        }
        out.all_together = cheapest(sum(&pours.iter().collect::<Vec<_>>())?)?.1;
        Some(out)
    };
    run().ok_or_else(too_large)
}

/// From a volume on, one way is the cheapest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Switch {
    /// Volume needed, waste included.
    pub from: Nm3,
    /// The cheapest way from there to the next switch.
    pub way: String,
    /// Its cost there.
    pub total: Decimal,
}

/// The volumes at which the cheapest way changes, looked at in steps up to a volume.
///
/// Costs jump at every increment and load, so a way can be cheapest more than once. A switch is exact to one
/// step.
///
/// # Errors
/// Every fault at once; more than 20 000 steps are too many.
pub fn break_even(
    ways: &[Way],
    crew: &Crew,
    step: Nm3,
    up_to: Nm3,
    minor_digits: u32,
) -> Result<Vec<Switch>, Vec<PourFault>> {
    super::fault::check(&[up_to], Decimal::ZERO, ways, crew, minor_digits)?;
    if step.0 <= 0 || up_to.0 / step.0 > 20_000 {
        let rule = "more than 0, and no more than 20 000 steps in all";
        return Err(vec![PourFault::Volume { field: "step".to_owned(), value: step, rule }]);
    }
    let mut switches: Vec<Switch> = Vec::new();
    let mut need = step;
    while need <= up_to {
        let costs: Option<Vec<WayCost>> =
            ways.iter().map(|w| way_cost(w, need, crew, minor_digits)).collect();
        let costs = costs.ok_or_else(|| vec![PourFault::TooLarge { what: "volumes or costs" }])?;
        let least = costs.into_iter().reduce(|a, b| if b.total < a.total { b } else { a });
        if let Some(c) = least
            && switches.last().is_none_or(|s| s.way != c.way)
        {
            switches.push(Switch { from: need, way: c.way, total: c.total });
        }
        need = Nm3(need.0 + step.0);
    }
    Ok(switches)
}
