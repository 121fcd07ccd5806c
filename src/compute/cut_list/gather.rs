//! Which legs there are, from which stock, by which rules.

mod parts;
mod uncut;

use super::costs::{Crews, OneMore, Worth, one_more_of};
use super::prices::Prices;
use super::{FromYard, List, Part, Place};
use crate::compute::cutting::{Leg, Problem, Source, Stock, Work};
use crate::compute::exact::Nm;
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::domain::words::{Climate, Measure};
use crate::units::Length;
use crate::units::decimal::Plain;
use crate::units::show::LINE;
use crate::wire::Code;
use crate::wire::book::cutting::CuttingRules;
use rust_decimal::Decimal;
use smallvec::SmallVec;
use std::fmt::{self, Write as _};
pub(crate) use uncut::uncut;

/// Search steps of a few legs where the book names none.
pub(crate) const MOST_NODES: u64 = 400_000;
/// Room for the lists of most layouts, each of which is large.
const MOST_USUAL: usize = 8;
/// Search steps that each leg is worth, where there are more than a few.
const NODES_OF_A_LEG: u64 = 20_000;
/// Search steps of any number of legs where nobody names them.
const MOST_NODES_OF_MANY: u64 = 2_000_000;

/// Search steps of so many legs where nobody names them: enough to come within one percent.
pub(crate) fn usual_nodes(legs: usize) -> u64 {
    (legs as u64).saturating_mul(NODES_OF_A_LEG).clamp(MOST_NODES, MOST_NODES_OF_MANY)
}

/// What all legs of a list have in common.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Rules<'a> {
    pub(super) part: Part,
    /// Code of the channel system, the grate, the pipe, the board or the bar.
    pub(super) code: &'a Code,
    /// Stock lengths on offer.
    pub(super) stock: SmallVec<[(&'a Code, Length); 2]>,
    kerf: Length,
    /// Between two pieces: a gap, or a lap when negative.
    gap: Length,
    least: Length,
    longest_setting: Option<Length>,
    most_joints: Option<u32>,
    pub(super) joint: Worth,
    pub(super) cut: Worth,
}

struct Gather<'a, 'l> {
    layout: &'l Layout<'a>,
    book: &'a PriceBook,
    lists: Vec<List<'a>>,
    /// What one more of a measure costs, once it has been asked for.
    known: Vec<(Measure, OneMore)>,
    crews: Crews<'a>,
    /// Name of the leg at hand.
    name: String,
}

/// A part of the name of a leg.
#[derive(Clone, Copy)]
enum Word<'n> {
    Text(&'n str),
    Number(i64),
    Shown(&'n dyn fmt::Display),
}

impl Word<'_> {
    fn put(self, name: &mut String) {
        match self {
            Self::Text(text) => name.push_str(text),
            Self::Number(number) => Plain::Small(number, 0).put(name),
            // writing to a string does not fail
            Self::Shown(it) => _ = write!(name, "{it}"),
        }
    }
}

/// Every cut list of the layout, not yet worked out.
pub(super) fn all<'a>(layout: &Layout<'a>, book: &'a PriceBook) -> Vec<List<'a>> {
    let (lists, known, crews) = (Vec::with_capacity(MOST_USUAL), Vec::new(), Crews::default());
    let mut gather = Gather { layout, book, lists, known, crews, name: String::with_capacity(LINE) };
    gather.channels();
    gather.grates();
    gather.pipes();
    gather.boards();
    gather.bars();
    let nodes = gather.settings().and_then(|s| s.most_nodes).and_then(|n| u64::try_from(n.get()).ok());
    let mut lists = gather.lists;
    for list in &mut lists {
        list.problem.node_budget = nodes.unwrap_or_else(|| usual_nodes(list.problem.legs.len()));
        list.price_stock();
    }
    lists
}

/// What covers a leg from end to end when the pieces may end one gap short.
///
/// A leg that whole pieces and their gaps cover up to less than one more gap is covered by them.
fn less_end_gap(leg: Length, stock: &[(&Code, Length)], gap: Length) -> Length {
    if !gap.is_positive() {
        return leg;
    }
    let over = stock
        .iter()
        .map(|(_, whole)| (leg.nm() + gap.nm()) % (whole.nm() + gap.nm()))
        .filter(|rest| *rest > 0 && *rest < gap.nm())
        .min();
    Length::from_nm(leg.nm() - over.unwrap_or(0))
}

impl<'a> Gather<'a, '_> {
    fn settings(&self) -> Option<&'a CuttingRules> {
        self.book.doc().cutting.as_ref()
    }

    /// The list of these rules, opened where it is the first of them.
    fn list(&mut self, rules: Rules<'a>) -> usize {
        let found = self.lists.iter().position(|have| have.rules == rules);
        found.unwrap_or_else(|| {
            let list = self.open(rules);
            self.lists.push(list);
            self.lists.len() - 1
        })
    }

    /// Adds a leg of that name to a list.
    fn add(&mut self, index: usize, name: &[Word<'_>], place: Place<'a>) {
        let Some(list) = self.lists.get_mut(index) else { return };
        let demand = less_end_gap(place.length, &list.rules.stock, list.rules.gap);
        self.name.clear();
        name.iter().for_each(|word| word.put(&mut self.name));
        list.problem.legs.push(Leg::new(self.name.as_str(), Nm(demand.nm())));
        list.places.push(place);
    }

    fn open(&self, rules: Rules<'a>) -> List<'a> {
        let settings = self.settings();
        let mut stock: Vec<Stock> = rules
            .stock
            .iter()
            // priced once all legs are known
            .map(|(item, length)| Stock::bought(item.as_str(), Nm(length.nm()), Decimal::ZERO))
            .collect();
        let mut yard = Vec::new();
        for (n, offcut) in self.layout.yard_offcuts.iter().enumerate() {
            // an offcut is cut up once: by the first list of its item
            let is_taken = self.lists.iter().any(|list| list.yard.iter().any(|y| y.number == n));
            let item = rules.stock.iter().map(|(item, _)| *item).find(|item| **item == offcut.item);
            if !is_taken && let Some(item) = item {
                let id = format!("{} from the yard, {}", offcut.item, n + 1);
                yard.push(FromYard { number: n, name: id.clone(), item });
                stock.push(Stock {
                    id,
                    length: Nm(offcut.length.nm()),
                    price: Decimal::ZERO,
                    available: Some(offcut.count.map_or(1, |c| u32::try_from(c.get()).unwrap_or(1))),
                    source: Source::Yard,
                });
            }
        }
        let keep = settings.and_then(|s| s.keep_offcut).unwrap_or(rules.least);
        let work = |worth: &Worth| Work { parts: worth.cost, minutes: Decimal::ZERO };
        let problem = Problem {
            legs: Vec::new(),
            stock,
            kerf: Nm(rules.kerf.nm()),
            gap: Nm(rules.gap.nm()),
            least_piece: Nm(rules.least.nm()),
            short_legs_whole: rules.part.is_whole_when_short(),
            max_joints_per_leg: rules.most_joints,
            longest_setting: rules.longest_setting.map(|l| Nm(l.nm())),
            joint: work(&rules.joint),
            cut: work(&rules.cut),
            rate_per_hour: Decimal::ZERO,
            keep: Nm(keep.nm()),
            offcut_value_per_metre: Decimal::ZERO,
            node_budget: MOST_NODES,
        };
        List {
            prices: rules
                .stock
                .iter()
                .map(|(item, length)| Prices::of(item, *length, self.layout, self.book))
                .collect(),
            weighed: SmallVec::new(),
            paid: None,
            yard,
            places: Vec::new(),
            problem,
            plan: None,
            rules,
        }
    }

    fn worth(&mut self, parts: &[(Measure, Decimal)], items: &[(Option<&Code>, Decimal)]) -> Worth {
        let mut worth = Worth::default();
        for (item, times) in items {
            worth.and_item(*item, *times, self.book);
        }
        for (measure, times) in parts {
            if let Some((_, one)) = self.known.iter().find(|(m, _)| m == measure) {
                worth.and_measure(*measure, *times, one);
                continue;
            }
            let one = one_more_of(*measure, self.layout, self.book, &mut self.crews);
            worth.and_measure(*measure, *times, &one);
            self.known.push((*measure, one));
        }
        worth
    }
}

/// Gap between grates in a hot climate where the setting detail names none (common practice, no source).
const HOT_GRATE_GAP: Length = Length::inches(1, 8);

/// Gap between the grates of a run.
pub(crate) fn grate_gap(climate: Climate, run: &Run<'_>) -> Length {
    if climate == Climate::Hot { run.detail.hot_grate_gap.unwrap_or(HOT_GRATE_GAP) } else { Length::ZERO }
}

#[cfg(test)]
mod tests {
    use super::{less_end_gap, usual_nodes};
    use crate::units::Length;
    use crate::wire::Code;

    /// Grates of 24 in with a gap of 1/8 in: one and less than one gap more is one, a whole gap more is longer than it.
    #[test]
    fn less_than_a_gap_at_the_end_is_covered() {
        let eighths = |n: i64| Length::inches(n, 8);
        let grate = Code::new("grate");
        let covered = |leg: Length| {
            let stock: Vec<_> = grate.iter().map(|code| (code, eighths(192))).collect();
            less_end_gap(leg, &stock, eighths(1))
        };
        assert_eq!(covered(eighths(192)), eighths(192));
        assert_eq!(covered(Length::inches(24 * 16 + 1, 16)), eighths(192));
        assert_eq!(covered(eighths(193)), eighths(193));
        assert_eq!(covered(eighths(191)), eighths(191));
    }

    #[test]
    fn many_legs_are_searched_for_longer() {
        let nodes = [1, 20, 21, 60, 100, 5_000].map(usual_nodes);
        assert_eq!(nodes, [400_000, 400_000, 420_000, 1_200_000, 2_000_000, 2_000_000]);
    }
}
