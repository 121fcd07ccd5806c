//! What one more joint, piece or cut costs, by the rates and consumables of the book.

use crate::compute::labor::hour_with_burden;
use crate::compute::labor::place::PlaceAndWeather;
use crate::compute::labor::rate::holds;
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::words::{Measure, Task};
use crate::domain::work::measures_of;
use crate::units::decimal::{Plain, plain, rounded, whole};
use crate::units::show::LINE;
use crate::units::{Dimension, Unit};
use crate::wire::Code;
use crate::wire::book::work::LaborRate;
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::fmt::Write as _;

/// A cost with its working.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Worth {
    /// In currency units, to a millionth.
    pub cost: Decimal,
    /// The sum in words.
    pub basis: String,
}

impl Worth {
    /// Adds a cost to a millionth, put into words as `shown` of `what`.
    fn add(&mut self, cost: Decimal, shown: Plain, what: &str) {
        if cost.is_zero() {
            return;
        }
        self.cost += cost;
        if self.basis.is_empty() {
            self.basis.reserve(LINE);
        } else {
            self.basis.push_str(" + ");
        }
        shown.put(&mut self.basis);
        self.basis.push(' ');
        self.basis.push_str(what);
    }

    /// More of a measure, at what one of it costs: hours and consumables.
    pub fn and_measure(&mut self, measure: Measure, times: Decimal, one: &OneMore) {
        let cost = rounded(one.cost * times, 6);
        self.add(cost, shown(cost), measure.word());
        // writing to a string does not fail
        _ = match (cost.is_zero(), times == Decimal::ONE) {
            (true, _) => Ok(()),
            (false, true) => write!(self.basis, " ({})", one.working),
            (false, false) => write!(self.basis, " ({} x ({}))", whole(times), one.working),
        };
    }

    /// One more of an item.
    pub fn and_item(&mut self, item: Option<&Code>, times: Decimal, book: &PriceBook) {
        if let Some(item) = item.and_then(|c| book.item(c)) {
            let cost = rounded(item.price.decimal() * times, 6);
            self.add(cost, shown(cost), item.code.as_str());
            if !cost.is_zero() && times != Decimal::ONE {
                // writing to a string does not fail
                let _ = write!(self.basis, " ({} x {})", whole(times), whole(item.price.decimal()));
            }
        }
    }

    /// The sum in words, or that nothing is charged.
    pub fn words(self) -> String {
        if self.basis.is_empty() {
            return "nothing".to_owned();
        }
        let mut words = self.basis;
        words.push_str(" = ");
        shown(self.cost).put(&mut words);
        words
    }
}

/// What one more piece of a measure costs, with its working.
#[derive(Debug, Clone, Default)]
pub struct OneMore {
    cost: Decimal,
    working: String,
}

/// The rates of each task by the methods of the layout, and the mean wage of its crew, once they have been asked for.
#[derive(Debug, Default)]
pub struct Crews<'a>(SmallVec<[(Task, Option<Paid<'a>>); 4]>);

/// The rates of a task, and the mean wage of its crew.
type Paid<'a> = (&'a LaborRate, Decimal);

impl<'a> Crews<'a> {
    fn of(&mut self, task: Task, layout: &Layout<'_>, book: &'a PriceBook) -> Option<Paid<'a>> {
        if let Some((_, known)) = self.0.iter().find(|(of, _)| *of == task) {
            return *known;
        }
        let method = layout.methods.iter().find(|(t, _)| *t == task).map(|(_, m)| *m);
        let found = book.labor(task, method).map(|rate| {
            let wage = |trade| book.trade(trade).map_or(Decimal::ZERO, |t| hour_with_burden(t).decimal());
            let crew: SmallVec<[(i64, Decimal); 4]> =
                rate.crew.iter().map(|c| (c.count.get(), wage(&c.trade))).collect();
            (rate, mean_wage(&crew))
        });
        self.0.push((task, found));
        found
    }
}

/// A cost as working shows it: to the millionth that it is reckoned to.
pub(super) fn shown(cost: Decimal) -> Plain {
    plain(cost, 6)
}

/// What one more piece of a measure costs: of each task that counts it the hours by the piece and the mean wage of its crew, of
/// each consumable its price, times and coverage.
///
/// # Formula
/// `sum of unit hours x difficulty x weather x mean wage of the crew with burden + sum of item price x times / coverage`
/// # Units
/// currency for one piece, to a millionth
/// # Valid for
/// measures counted in pieces; setup, rounding up of crew-hours and of packs are left out: they do not grow with each one
/// # Source
/// marginal cost by the price book's own rates; common practice, no source
/// # Example
/// ```
/// use rillcast::compute::cut_list::costs::one_more;
/// use rust_decimal::Decimal;
/// // a tenth of an hour at 40.8825 in a hard place (1.25), and a thirtieth of a can at 9.00
/// let hours = [(Decimal::new(1, 1), Decimal::new(408_825, 4))];
/// let cans = [(Decimal::from(9), Decimal::ONE, Decimal::from(30))];
/// assert_eq!(one_more(&hours, Decimal::new(125, 2), Decimal::ONE, &cans), Decimal::new(5_410_313, 6));
/// // wet weather (1.2) makes the work longer, not the can smaller
/// assert_eq!(one_more(&hours, Decimal::new(125, 2), Decimal::new(12, 1), &cans), Decimal::new(6_432_375, 6));
/// ```
pub fn one_more(
    hours: &[(Decimal, Decimal)],
    difficulty: Decimal,
    weather: Decimal,
    consumables: &[(Decimal, Decimal, Decimal)],
) -> Decimal {
    let labor: Decimal = hours.iter().map(|(hours, wage)| *hours * difficulty * weather * *wage).sum();
    let used: Decimal = consumables.iter().map(|(price, times, coverage)| *price * *times / *coverage).sum();
    rounded(labor + used, 6)
}

/// What one more piece of a measure costs on a layout; nothing for what is not counted in pieces.
pub fn one_more_of<'a>(
    measure: Measure,
    layout: &Layout<'_>,
    book: &'a PriceBook,
    crews: &mut Crews<'a>,
) -> OneMore {
    if measure.dimension() != Dimension::Count {
        return OneMore::default();
    }
    let rules = book.doc().labor_rules.as_ref();
    let around = PlaceAndWeather::of(layout.difficulty, layout.weather, rules);
    let mut working = String::with_capacity(LINE);
    let mut hours: SmallVec<[(Decimal, Decimal); 4]> = SmallVec::new();
    for task in Task::ALL.iter().filter(|t| measures_of(**t).contains(&measure)) {
        let Some((rate, wage)) = crews.of(*task, layout, book) else { continue };
        let by_piece = rate
            .rates
            .iter()
            .filter(|r| r.measure == measure && r.unit == Unit::Each)
            .filter(|r| holds(r, rate, layout.soil));
        let each: Decimal = by_piece.map(|r| r.hours.number()).sum();
        if each.is_zero() {
            continue;
        }
        hours.push((each, wage));
        // writing to a string does not fail
        let _ = write!(
            working,
            "{}{} h of {task}{around} x {} an hour",
            next(&working),
            whole(each),
            shown(wage)
        );
    }
    let counted =
        book.doc().consumables.iter().filter(|c| c.measure == measure && !c.coverage.number().is_zero());
    let mut consumables: SmallVec<[(Decimal, Decimal, Decimal); 4]> = SmallVec::new();
    for rule in counted {
        let price = book.item(&rule.item).map_or(Decimal::ZERO, |i| i.price.decimal());
        let coverage = rule.coverage.number();
        let _ = write!(working, "{}{}", next(&working), whole(price));
        if let Some(times) = rule.times {
            let _ = write!(working, " x {}", whole(times.number()));
        }
        let _ = write!(working, " / {} {}", whole(coverage), rule.item);
        consumables.push((price, rule.times.map_or(Decimal::ONE, |t| t.number()), coverage));
    }
    OneMore { cost: one_more(&hours, around.place.number(), around.weather.number(), &consumables), working }
}

/// What stands before the next part of a sum.
const fn next(sum: &str) -> &'static str {
    if sum.is_empty() { "" } else { " + " }
}

/// Mean cost of a person-hour of a crew: people and their hour with burden.
fn mean_wage(crew: &[(i64, Decimal)]) -> Decimal {
    let people: i64 = crew.iter().map(|c| c.0).sum();
    let all: Decimal = crew.iter().map(|(n, wage)| Decimal::from(*n) * *wage).sum();
    all / Decimal::from(people.max(1))
}
