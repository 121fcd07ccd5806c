//! What one more joint, piece or cut costs, by the rates and consumables of the book.

use crate::compute::labor::{hour_with_burden, rate::measures_of};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::words::{Measure, Task};
use crate::units::decimal::{Plain, plain, rounded};
use crate::units::show::LINE;
use crate::units::{Dimension, Unit};
use crate::wire::Code;
use crate::wire::book::work::LaborRate;
use rust_decimal::Decimal;
use smallvec::SmallVec;

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
    pub fn and_measure(&mut self, measure: Measure, times: Decimal, one: Decimal) {
        let cost = one * times;
        self.add(rounded(cost, 6), shown(cost), measure.word());
    }

    /// One more of an item.
    pub fn and_item(&mut self, item: Option<&Code>, times: Decimal, book: &PriceBook) {
        if let Some(item) = item.and_then(|c| book.item(c)) {
            let cost = rounded(item.price.decimal() * times, 6);
            self.add(cost, shown(cost), item.code.as_str());
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

/// A cost as working shows it.
pub(super) fn shown(cost: Decimal) -> Plain {
    plain(cost, 4)
}

/// What one more piece of a measure costs: of each task that counts it the hours by the piece and the mean wage of its crew, of
/// each consumable its price, times and coverage.
///
/// # Formula
/// `sum of unit hours x difficulty x mean wage of the crew with burden + sum of item price x times / coverage`
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
/// assert_eq!(one_more(&hours, Decimal::new(125, 2), &cans), Decimal::new(5_410_313, 6));
/// ```
pub fn one_more(
    hours: &[(Decimal, Decimal)],
    difficulty: Decimal,
    consumables: &[(Decimal, Decimal, Decimal)],
) -> Decimal {
    let labor: Decimal = hours.iter().map(|(hours, wage)| *hours * difficulty * *wage).sum();
    let used: Decimal = consumables.iter().map(|(price, times, coverage)| *price * *times / *coverage).sum();
    rounded(labor + used, 6)
}

/// What one more piece of a measure costs on a layout; nothing for what is not counted in pieces.
pub fn one_more_of<'a>(
    measure: Measure,
    layout: &Layout<'_>,
    book: &'a PriceBook,
    crews: &mut Crews<'a>,
) -> Decimal {
    if measure.dimension() != Dimension::Count {
        return Decimal::ZERO;
    }
    let mut hours: SmallVec<[(Decimal, Decimal); 4]> = SmallVec::new();
    for task in Task::ALL.iter().filter(|t| measures_of(**t).contains(&measure)) {
        let Some((rate, wage)) = crews.of(*task, layout, book) else { continue };
        let by_piece = rate
            .rates
            .iter()
            .filter(|r| r.measure == measure && r.unit == Unit::Each)
            .filter(|r| r.soils.is_empty() || r.soils.contains(&layout.soil));
        hours.push((by_piece.map(|r| r.hours.number()).sum(), wage));
    }
    let counted =
        book.doc().consumables.iter().filter(|c| c.measure == measure && !c.coverage.number().is_zero());
    let consumables: SmallVec<[(Decimal, Decimal, Decimal); 4]> = counted
        .map(|rule| {
            let price = book.item(&rule.item).map_or(Decimal::ZERO, |i| i.price.decimal());
            (price, rule.times.map_or(Decimal::ONE, |t| t.number()), rule.coverage.number())
        })
        .collect();
    one_more(&hours, difficulty(layout, book), &consumables)
}

fn difficulty(layout: &Layout<'_>, book: &PriceBook) -> Decimal {
    let rules = book.doc().labor_rules.as_ref();
    rules
        .and_then(|r| r.difficulty.iter().find(|d| d.difficulty == layout.difficulty))
        .map_or(Decimal::ONE, |d| d.factor.number())
}

/// Mean cost of a person-hour of a crew: people and their hour with burden.
fn mean_wage(crew: &[(i64, Decimal)]) -> Decimal {
    let people: i64 = crew.iter().map(|c| c.0).sum();
    let all: Decimal = crew.iter().map(|(n, wage)| Decimal::from(*n) * *wage).sum();
    all / Decimal::from(people.max(1))
}
