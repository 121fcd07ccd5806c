//! What one more joint, piece or cut costs, by the rates and consumables of the book.

use crate::compute::labor::{hour_with_burden, rate::measures_of};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::words::{Measure, Task};
use crate::units::decimal::{Plain, plain};
use crate::units::show::LINE;
use crate::units::{Dimension, Unit};
use crate::wire::Code;
use crate::wire::book::work::LaborRate;
use rust_decimal::{Decimal, RoundingStrategy};
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
        self.add(cost.round_dp(6), shown(cost), measure.word());
    }

    /// One more of an item.
    pub fn and_item(&mut self, item: Option<&Code>, times: Decimal, book: &PriceBook) {
        if let Some(item) = item.and_then(|c| book.item(c)) {
            let cost = (item.price.decimal() * times).round_dp(6);
            self.add(cost, shown(cost), item.code.as_str());
        }
    }

    /// The sum in words, or that nothing is charged.
    pub fn words(&self) -> String {
        if self.basis.is_empty() {
            return "nothing".to_owned();
        }
        let mut words = String::with_capacity(LINE);
        words.push_str(&self.basis);
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

/// What one more piece of a measure costs.
///
/// # Formula
/// `sum of unit hours x difficulty x mean wage of the crew with burden + sum of item price x times / coverage`
/// # Units
/// currency for one piece
/// # Valid for
/// measures counted in pieces; setup, rounding up of crew-hours and of packs are left out: they do not grow with each one
/// # Source
/// marginal cost by the price book's own rates; common practice, no source
/// # Example
/// ```
/// use rillcast::compute::cut_list::costs::mean_wage;
/// use rust_decimal::Decimal;
/// // an installer at 47.61 and a laborer at 34.155 with burden: 40.8825 for a person-hour
/// let crew = [(1, Decimal::new(4_761, 2)), (1, Decimal::new(34_155, 3))];
/// assert_eq!(mean_wage(&crew), Decimal::new(408_825, 4));
/// ```
pub fn one_more<'a>(
    measure: Measure,
    layout: &Layout<'_>,
    book: &'a PriceBook,
    crews: &mut Crews<'a>,
) -> Decimal {
    let mut cost = Decimal::ZERO;
    if measure.dimension() != Dimension::Count {
        return cost;
    }
    for task in Task::ALL.iter().filter(|t| measures_of(**t).contains(&measure)) {
        let Some((rate, wage)) = crews.of(*task, layout, book) else { continue };
        let hours: Decimal = rate
            .rates
            .iter()
            .filter(|r| r.measure == measure && r.unit == Unit::Each)
            .filter(|r| r.soils.is_empty() || r.soils.contains(&layout.soil))
            .map(|r| r.hours.number())
            .sum();
        cost += hours * difficulty(layout, book) * wage;
    }
    for rule in
        book.doc().consumables.iter().filter(|c| c.measure == measure && !c.coverage.number().is_zero())
    {
        let times = rule.times.map_or(Decimal::ONE, |t| t.number());
        let price = book.item(&rule.item).map_or(Decimal::ZERO, |i| i.price.decimal());
        cost += price * times / rule.coverage.number();
    }
    cost.round_dp_with_strategy(6, RoundingStrategy::MidpointAwayFromZero)
}

fn difficulty(layout: &Layout<'_>, book: &PriceBook) -> Decimal {
    let rules = book.doc().labor_rules.as_ref();
    rules
        .and_then(|r| r.difficulty.iter().find(|d| d.difficulty == layout.difficulty))
        .map_or(Decimal::ONE, |d| d.factor.number())
}

/// Mean cost of a person-hour of a crew: people and their hour with burden.
pub fn mean_wage(crew: &[(i64, Decimal)]) -> Decimal {
    let people: i64 = crew.iter().map(|c| c.0).sum();
    let all: Decimal = crew.iter().map(|(n, wage)| Decimal::from(*n) * *wage).sum();
    all / Decimal::from(people.max(1))
}
