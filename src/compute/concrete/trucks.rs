//! Truck sequence, interval and age of the concrete.

use super::ways::in_unit;
use super::{Terms, WayOrder, weather};
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::{Measure, Task};
use crate::units::decimal::{rounded, trim};
use crate::units::exact::div_round;
use crate::units::quantity::Span;
use crate::units::show::{counted, worded};
use crate::units::{Quantity, Unit, Volume};
use crate::wire::book::concrete::ConcreteWay;
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use utoipa::ToSchema;

/// More trucks than this are not listed one by one.
const MOST_TRUCKS: usize = 200;

/// One truck. Minutes count from the arrival of the first, to two decimals.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Truck {
    /// Its number, from 1.
    pub number: i64,
    /// What it brings.
    pub load: Quantity,
    /// When its batching starts.
    pub batched_at: Quantity,
    /// When it arrives and begins to unload.
    pub arrives_at: Quantity,
    /// When it is empty.
    pub empty_at: Quantity,
    /// Age of its concrete when it is empty, from the start of batching.
    pub age: Quantity,
    /// Whether that keeps the time limit.
    pub within_limit: bool,
}

/// The trucks of a pour day, one after the other without a pause in the pour.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct TruckSequence {
    /// The trucks in order.
    pub trucks: Vec<Truck>,
    /// Time between full trucks; what unloading takes where a single one comes.
    pub interval: Quantity,
    /// Trucks on the road at once, so that none is waited for.
    pub trucks_at_once: i64,
    /// From the start of batching to the end of discharge.
    pub time_limit: Quantity,
    /// Whether every truck keeps it.
    pub within_limit: bool,
    /// Largest load that keeps it at this pour rate; absent when none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub largest_load: Option<Quantity>,
    /// How it came about.
    pub basis: String,
    /// What to mind; where the crew cannot place as fast as the way reckons, that stands last.
    #[schema(value_type = Vec<String>)]
    pub warnings: TruckWarnings,
}

/// What is to be minded of a day's trucks: each is a check of its own, and they are written as one list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TruckWarnings {
    /// About the time limit.
    of_limit: Vec<String>,
    /// That the crew cannot place as fast as the way reckons.
    of_crew: Option<String>,
}

impl Serialize for TruckWarnings {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_seq(self.of_limit.iter().chain(&self.of_crew))
    }
}

impl TruckSequence {
    /// The time limit as a check.
    fn check(&self, day: i64) -> Check {
        let outcome = if self.within_limit { Outcome::Pass } else { Outcome::Warn };
        let mut reason = self.warnings.of_limit.join("; ");
        if self.within_limit {
            let rest = if reason.is_empty() { String::new() } else { worded!("; {reason}") };
            reason = worded!("every truck is empty within {} of batching{rest}", self.time_limit);
        }
        Check { name: "concrete_time_limit", subject: worded!("pour day {day}"), outcome, reason }
    }

    /// The time limit, and whether the crew keeps up with the trucks.
    pub(super) fn checks(&self, day: i64) -> impl Iterator<Item = Check> + use<> {
        let slower = self.warnings.of_crew.as_ref().map(|reason| Check {
            name: "placing_rate",
            subject: worded!("pour day {day}"),
            outcome: Outcome::Warn,
            reason: reason.clone(),
        });
        std::iter::once(self.check(day)).chain(slower)
    }
}

/// Minutes it takes to place a volume, in hundredths, half up; `None` beyond 128 bits.
///
/// # Formula
/// `volume x seconds a unit / unit / 60`
/// # Units
/// cubic nanometres and seconds in, hundredths of a minute out
/// # Valid for
/// a unit of volume
/// # Source
/// definition
/// # Example
/// ```
/// use rillcast::{compute::concrete::trucks::placing_minutes, units::{Length, Unit, quantity::Span}};
/// let yard = Length::feet(3) * Length::feet(3) * Length::feet(3);
/// assert_eq!(placing_minutes(yard * 10, Span::from_seconds(450), Unit::Yd3), Some(7_500)); // 75 min
/// ```
pub fn placing_minutes(volume: Volume, per_unit: Span, unit: Unit) -> Option<i64> {
    let scaled = volume.nm3().checked_mul(i128::from(per_unit.seconds()))?.checked_mul(100)?;
    i64::try_from(div_round(scaled, unit.factor()?.checked_mul(60)?)).ok()
}

/// Ages of the concrete of trucks that stand in line, each when it is empty; `None` beyond 64 bits.
///
/// # Formula
/// `empty = max(arrives, empty of the one ahead) + placing`, `age = empty - arrives + before`
/// # Units
/// hundredths of a minute: `trucks` as arrival and time to place, in order; `before` from batching to arrival
/// # Valid for
/// one place to unload, where each truck comes when it was ordered for and waits its turn
/// # Source
/// definition
/// # Example
/// ```
/// use rillcast::compute::concrete::trucks::ages_in_line;
/// // every half hour, 50, 50 and 43.75 min to place, 25 min on the way
/// let ages = ages_in_line(&[(0, 5_000), (3_000, 5_000), (6_000, 4_375)], 2_500);
/// assert_eq!(ages, Some(vec![7_500, 9_500, 10_875]));
/// ```
pub fn ages_in_line(trucks: &[(i64, i64)], before: i64) -> Option<Vec<i64>> {
    let mut free = i64::MIN;
    let aged = trucks.iter().map(|(arrives, placing)| {
        free = free.max(*arrives).checked_add(*placing)?;
        free.checked_sub(*arrives)?.checked_add(before)
    });
    aged.collect()
}

/// Hundredths of a minute as minutes.
fn minutes(hundredths: i64) -> Quantity {
    let (mantissa, places) = trim(hundredths, 2);
    Quantity::new(mantissa, places as u8, Unit::Min)
}

/// How long the crew takes to place one unit: the way's own figure, else the book's usual rate of placing.
fn per_unit(way: &ConcreteWay, unit: Unit, book: &PriceBook) -> Option<(Span, &'static str)> {
    let ConcreteWay::ReadyMix { unloading_per_unit, .. } = way else { return None };
    if let Some(span) = unloading_per_unit.filter(|s| s.seconds() > 0) {
        return Some((span, "by the way's own rate"));
    }
    Some((by_crew(unit, book)?, "by the crew's rate of placing"))
}

/// How long the crew takes to place one unit by the book's usual rate of placing.
fn by_crew(unit: Unit, book: &PriceBook) -> Option<Span> {
    let rate = book.labor(Task::Pour, None)?;
    let people: i64 = rate.crew.iter().map(|c| c.count.get()).sum();
    let of = rate.rates.iter().find(|r| r.measure == Measure::ConcreteOrdered)?;
    let share = Decimal::from_i128_with_scale(unit.factor()? / 1_000_000_000_000, 0)
        / Decimal::from_i128_with_scale(of.unit.factor()? / 1_000_000_000_000, 0);
    let seconds = of.hours.number() * share * Decimal::from(3_600) / Decimal::from(people.max(1));
    let seconds = i64::try_from(rounded(seconds, 0).mantissa()).ok().filter(|s| *s > 0)?;
    Some(Span::from_seconds(seconds))
}

/// The checks of trucks where all is poured on one day; none where no truck comes.
pub(in crate::compute) fn checks(order: &WayOrder, terms: &Terms<'_>, book: &PriceBook) -> Vec<Check> {
    let way = book.doc().concrete_ways.iter().find(|w| w.code() == order.code.as_str());
    let trucks = way.and_then(|way| sequence(1, order, way, terms, book));
    trucks.iter().flat_map(|t| t.checks(1)).collect()
}

/// The trucks of an order; `None` where nothing comes by truck or the book gives no pour rate.
pub(super) fn sequence(
    day: i64,
    order: &WayOrder,
    way: &ConcreteWay,
    terms: &Terms<'_>,
    book: &PriceBook,
) -> Option<TruckSequence> {
    let ConcreteWay::ReadyMix { truck_capacity, batching, travel, increment, .. } = way else { return None };
    let unit = book.item(way.item())?.unit;
    let (per_unit, whose) = per_unit(way, unit, book)?;
    let loads = Some(&order.trucked).filter(|l| !l.is_empty() && l.len() <= MOST_TRUCKS)?;
    let limit = weather::time_limit(day, terms, book)?;
    let travel = terms.travel.or(*travel);
    let hundredths = |s: Option<Span>| s.map_or(0, |s| s.seconds().saturating_mul(100) / 60);
    let (batch, road) = (hundredths(*batching), hundredths(travel));
    // Several are as full as the first.
    let full = *loads.first()?;
    let interval = placing_minutes(full, per_unit, unit)?.max(1);
    let limit_h = hundredths(Some(limit));
    let (mut trucks, mut late, mut in_line) = (Vec::new(), Vec::new(), Vec::new());
    let mut arrives = 0_i64;
    for (i, load) in loads.iter().enumerate() {
        let unloads = placing_minutes(*load, per_unit, unit)?;
        let age = batch.checked_add(road)?.checked_add(unloads)?;
        let number = i as i64 + 1;
        if age > limit_h {
            late.push((number, age));
        }
        let empty = arrives.checked_add(unloads)?;
        in_line.push(arrives);
        trucks.push(Truck {
            number,
            load: Quantity::volume(*load, unit),
            batched_at: minutes(arrives - batch - road),
            arrives_at: minutes(arrives),
            empty_at: minutes(empty),
            age: minutes(age),
            within_limit: age <= limit_h,
        });
        arrives = empty;
    }
    let round = batch + road * 2 + interval;
    let at_once = ((round + interval - 1) / interval).min(trucks.len() as i64);
    // Whole increments that are placed in what is left of the limit.
    let seconds = |s: Option<Span>| s.map_or(0, |s| s.seconds());
    let left = limit.seconds().saturating_sub(seconds(*batching)).saturating_sub(seconds(travel));
    let each = increment.nm3().checked_mul(i128::from(per_unit.seconds()))?.max(1);
    let fits = i64::try_from(i128::from(left.max(0)).checked_mul(unit.factor()?)? / each).ok()?;
    let largest = (*increment * fits).min(*truck_capacity);
    let largest_load = (fits > 0).then(|| Quantity::volume(largest, unit));
    let mut of_limit = Vec::new();
    if let Some((number, age)) = late.first() {
        let advice = match &largest_load {
            Some(load) => worded!("order loads of {load} or less, place faster, or agree another limit"),
            None => "place faster or agree another limit with the producer".to_owned(),
        };
        of_limit.push(worded!(
            "truck {number} is empty {} after batching began, the limit is {}{}: {advice}",
            minutes(*age),
            minutes(limit_h),
            if late.len() > 1 { worded!(" ({} trucks in all)", late.len()) } else { String::new() },
        ));
    }
    if travel.is_none() {
        of_limit.push("no travel time from the plant is known: ages count without it".to_owned());
    }
    let slower = by_crew(unit, book).filter(|crew| crew.seconds() > per_unit.seconds());
    let slower = slower.and_then(|crew| {
        let line = in_line.into_iter().zip(loads);
        let line = line.map(|(arrives, load)| Some((arrives, placing_minutes(*load, crew, unit)?)));
        let aged = ages_in_line(&line.collect::<Option<Vec<_>>>()?, batch.checked_add(road)?)?;
        let beyond = aged.iter().filter(|age| **age > limit_h).count();
        // the first of the oldest
        let oldest = aged.into_iter().zip(1_i64..).max_by_key(|(age, number)| (*age, -number));
        let told = oldest.filter(|_| beyond > 0).map_or_else(String::new, |(age, number)| {
            let several = if beyond > 1 { worded!(" ({} trucks beyond it)", beyond) } else { String::new() };
            worded!(
                "; by it truck {number} is empty {} after batching began, the limit is {}{several}",
                minutes(age),
                minutes(limit_h)
            )
        });
        Some(worded!(
            "a {unit} is to be placed in {} min {whose}, but by the rate of `{}` the crew takes {} min: trucks wait, and their \
             concrete ages, longer than reckoned{told}",
            super::ways::minutes(per_unit.seconds()),
            Task::Pour,
            super::ways::minutes(crew.seconds())
        ))
    });
    let carried = Quantity::decimal(in_unit(full, unit), unit, 4);
    let rate = super::ways::minutes(per_unit.seconds());
    let [batching, travel, unloading, round] = [batch, road, interval, round].map(minutes);
    let basis = if let [truck] = trucks.as_slice() {
        worded!(
            "one truck of {carried} at {rate} min a {unit} {whose}: {batching} batching + {travel} travel + {unloading} \
             unloading = {}",
            truck.age
        )
    } else {
        worded!(
            "{carried} a truck at {rate} min a {unit} {whose}: a truck every {unloading}; a round of {batching} batching + \
             2 x {travel} travel + {unloading} unloading = {round}, so {} at once",
            counted(at_once, "truck"),
        )
    };
    Some(TruckSequence {
        trucks,
        interval: minutes(interval),
        trucks_at_once: at_once,
        time_limit: minutes(limit_h),
        within_limit: late.is_empty(),
        largest_load,
        basis,
        warnings: TruckWarnings { of_limit, of_crew: slower },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// However many there are of the other kind: each check says its own, and the list has all, that about the crew last.
    #[test]
    fn each_check_says_its_own_warnings() {
        let told = |of_limit: &[&str], of_crew: Option<&str>| {
            let sequence = TruckSequence {
                trucks: Vec::new(),
                interval: minutes(0),
                trucks_at_once: 1,
                time_limit: minutes(9_000),
                within_limit: of_limit.is_empty(),
                largest_load: None,
                basis: String::new(),
                warnings: TruckWarnings {
                    of_limit: of_limit.iter().map(|w| (*w).to_owned()).collect(),
                    of_crew: of_crew.map(str::to_owned),
                },
            };
            let checks = sequence.checks(1).map(|c| format!("{}: {}", c.name, c.reason)).collect::<Vec<_>>();
            (checks, serde_json::json!(sequence)["warnings"].clone())
        };
        let (checks, list) = told(&["late", "no travel"], Some("slow"));
        assert_eq!(checks, ["concrete_time_limit: late; no travel", "placing_rate: slow"]);
        assert_eq!(list, serde_json::json!(["late", "no travel", "slow"]));
        let (checks, list) = told(&["late", "no travel"], None);
        assert_eq!(checks, ["concrete_time_limit: late; no travel"]);
        assert_eq!(list, serde_json::json!(["late", "no travel"]));
        let (checks, list) = told(&[], Some("slow"));
        assert_eq!(
            checks,
            ["concrete_time_limit: every truck is empty within 90 min of batching", "placing_rate: slow"]
        );
        assert_eq!(list, serde_json::json!(["slow"]));
    }
}
