//! Which legs there are, from which stock, by which rules.

use super::costs::{Worth, one_more};
use super::{List, Part, Place};
use crate::compute::cutting::{Leg, Problem, Source, Stock, Work};
use crate::compute::exact::Nm;
use crate::compute::purchase::Market;
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Run};
use crate::domain::words::{Climate, Measure};
use crate::units::{Dimension, Length};
use crate::wire::Code;
use crate::wire::book::cutting::CuttingRules;
use crate::wire::book::ground::SurfaceKind;
use rust_decimal::Decimal;

/// Rounded half up to a millionth of the currency unit, as the search counts.
fn to_millionth(exact: Decimal) -> Decimal {
    crate::compute::exact::to_minor(exact, 6)
}

/// Search steps where the book names none.
pub(crate) const MOST_NODES: u64 = 200_000;

/// What all legs of a list have in common.
#[derive(Clone, PartialEq, Eq)]
struct Rules<'a> {
    part: Part,
    code: &'a Code,
    stock: Vec<(&'a Code, Length)>,
    kerf: Length,
    /// Between two pieces: a gap, or a lap when negative.
    gap: Length,
    least: Length,
    longest_setting: Option<Length>,
    joint: Worth,
    cut: Worth,
}

struct Gather<'a, 'l> {
    layout: &'l Layout<'a>,
    book: &'a PriceBook,
    lists: Vec<(Rules<'a>, List<'a>)>,
    /// What one more of a measure costs, once it has been asked for.
    known: Vec<(Measure, Decimal)>,
}

/// Every cut list of the layout, not yet worked out.
pub(super) fn all<'a>(layout: &Layout<'a>, book: &'a PriceBook) -> Vec<List<'a>> {
    let mut gather = Gather { layout, book, lists: Vec::new(), known: Vec::new() };
    for index in 0..layout.runs.len() {
        gather.channel(index);
    }
    for index in 0..layout.runs.len() {
        gather.grates(index);
    }
    gather.pipes();
    for index in 0..layout.runs.len() {
        gather.boards(index);
    }
    for index in 0..layout.runs.len() {
        gather.bars(index);
    }
    gather.lists.into_iter().map(|(_, list)| list).collect()
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

    fn add(&mut self, rules: Rules<'a>, owner: &'a Code, name: String, place: Place) {
        let demand = less_end_gap(place.length, &rules.stock, rules.gap);
        let leg = Leg::new(name, Nm(demand.nm()));
        let found = self.lists.iter().position(|(have, _)| *have == rules);
        let index = found.unwrap_or_else(|| {
            let list = self.open(&rules);
            self.lists.push((rules, list));
            self.lists.len() - 1
        });
        if let Some((_, list)) = self.lists.get_mut(index) {
            list.places.push(place);
            list.owners.push(owner);
            list.problem.legs.push(leg);
        }
    }

    fn open(&self, rules: &Rules<'a>) -> List<'a> {
        let settings = self.settings();
        let mut stock: Vec<Stock> = rules
            .stock
            .iter()
            .map(|(item, length)| Stock::bought(item.as_str(), Nm(length.nm()), self.price(item, *length)))
            .collect();
        for (n, offcut) in self.layout.yard_offcuts.iter().enumerate() {
            if rules.stock.iter().any(|(item, _)| **item == offcut.item) {
                stock.push(Stock {
                    id: format!("{} from the yard, {}", offcut.item, n + 1),
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
            max_joints_per_leg: settings
                .and_then(|s| s.most_joints)
                .and_then(|n| u32::try_from(n.get()).ok()),
            longest_setting: rules.longest_setting.map(|l| Nm(l.nm())),
            joint: work(&rules.joint),
            cut: work(&rules.cut),
            rate_per_hour: Decimal::ZERO,
            keep: Nm(keep.nm()),
            offcut_value_per_metre: Decimal::ZERO,
            node_budget: settings
                .and_then(|s| s.most_nodes)
                .and_then(|n| u64::try_from(n.get()).ok())
                .unwrap_or(MOST_NODES),
        };
        List {
            part: rules.part,
            code: rules.code,
            stock: rules.stock.clone(),
            places: Vec::new(),
            owners: Vec::new(),
            problem,
            joint_basis: rules.joint.words(),
            cut_basis: rules.cut.words(),
            plan: None,
        }
    }

    /// Price of one stock length: the cheapest offered, else the item's own; nothing when the item is priced in a unit that
    /// fits no length.
    fn price(&self, item: &Code, length: Length) -> Decimal {
        let Some(facts) = self.book.item(item) else { return Decimal::ZERO };
        let offers = self.book.doc().offers.iter().filter(|o| o.item == *item);
        let market = Market::of(self.book);
        let offered = offers.map(|o| market.price(o) / o.pack.map_or(Decimal::ONE, |p| p.number()));
        let price = offered.min().unwrap_or(facts.price.decimal());
        match (facts.unit.dimension(), facts.unit.factor()) {
            (Dimension::Length, Some(factor)) => {
                let unit = Decimal::try_from_i128_with_scale(factor, 0).unwrap_or(Decimal::ONE);
                to_millionth(price * (Decimal::from(length.nm()) / unit))
            }
            (Dimension::Count, _) => to_millionth(price),
            _ => Decimal::ZERO,
        }
    }

    fn worth(&mut self, parts: &[(Measure, Decimal)], items: &[(Option<&Code>, Decimal)]) -> Worth {
        let mut worth = Worth::default();
        for (item, times) in items {
            worth.and_item(*item, *times, self.book);
        }
        for (measure, times) in parts {
            let known = self.known.iter().find(|(m, _)| m == measure).map(|k| k.1);
            let cost = known.unwrap_or_else(|| {
                let cost = one_more(*measure, self.layout, self.book);
                self.known.push((*measure, cost));
                cost
            });
            worth.and_measure(*measure, *times, cost);
        }
        worth
    }

    fn channel(&mut self, index: usize) {
        let Some(run) = self.layout.runs.get(index) else { return };
        let system = run.system;
        let one = Decimal::ONE;
        let rules = Rules {
            part: Part::Channel,
            code: &system.code,
            stock: system.stock.iter().map(|s| (&s.item, s.length)).collect(),
            kerf: system.kerf,
            gap: Length::ZERO,
            least: system.least_piece,
            longest_setting: self.settings().and_then(|s| s.longest_setting),
            joint: self.worth(
                &[(Measure::ChannelJoints, one), (Measure::ChannelSections, one)],
                &[(system.coupling.as_ref(), one)],
            ),
            cut: self.worth(&[(Measure::ChannelCuts, one)], &[]),
        };
        for (leg, run_leg) in run.legs.iter().enumerate() {
            for (part, span) in run_leg.spans.iter().enumerate() {
                let part =
                    if run_leg.spans.len() > 1 { format!(", part {}", part + 1) } else { String::new() };
                let name = format!("run {}, leg {}{part}", run.id, leg + 1);
                let place = Place { of: index, leg, from: span.from, length: span.length };
                self.add(rules.clone(), run.id, name, place);
            }
        }
    }

    fn grates(&mut self, index: usize) {
        let Some(run) = self.layout.runs.get(index) else { return };
        let grate = run.grate;
        let screws = Decimal::from(grate.screws.get());
        let rules = Rules {
            part: Part::Grate,
            code: &grate.item,
            stock: vec![(&grate.item, grate.length)],
            kerf: run.system.kerf,
            gap: grate_gap(self.layout, run),
            least: grate.least_piece.unwrap_or(Length::ZERO),
            longest_setting: None,
            joint: self.worth(
                &[(Measure::Grates, Decimal::ONE), (Measure::GrateScrews, screws)],
                &[(run.system.screw.as_ref(), screws)],
            ),
            cut: self.worth(&[(Measure::GrateCuts, Decimal::ONE)], &[]),
        };
        for (leg, run_leg) in run.legs.iter().enumerate() {
            let name = format!("run {}, leg {}", run.id, leg + 1);
            let place = Place { of: index, leg, from: Length::ZERO, length: run_leg.length };
            self.add(rules.clone(), run.id, name, place);
        }
    }

    fn pipes(&mut self) {
        let layout = self.layout;
        for (index, line) in layout.lines.iter().enumerate() {
            let pipe = line.pipe;
            let (kerf, least) = self.loose();
            let rules = Rules {
                part: Part::Pipe,
                code: &pipe.code,
                stock: vec![(&pipe.item, pipe.stock_length)],
                kerf,
                gap: Length::ZERO,
                least,
                longest_setting: None,
                joint: self
                    .worth(&[(Measure::PipeJoints, Decimal::ONE)], &[(pipe.coupling.as_ref(), Decimal::ONE)]),
                cut: Worth::default(),
            };
            for (leg, line_leg) in line.legs.iter().enumerate() {
                let name = format!("line {}, leg {}", line.id, leg + 1);
                let place = Place { of: index, leg, from: Length::ZERO, length: line_leg.length };
                self.add(rules.clone(), line.id, name, place);
            }
        }
    }

    /// Kerf and least piece of what no channel system speaks of.
    fn loose(&self) -> (Length, Length) {
        let settings = self.settings();
        (
            settings.and_then(|s| s.kerf).unwrap_or(Length::ZERO),
            settings.and_then(|s| s.least_piece).unwrap_or(Length::ZERO),
        )
    }

    /// Rows of boards along both sides and both ends of the trench, where there is no slab edge.
    fn boards(&mut self, index: usize) {
        let Some(run) = self.layout.runs.get(index) else { return };
        let Some(form) = self.book.doc().forms.as_ref().filter(|_| run.top.kind != SurfaceKind::ConcreteSlab)
        else {
            return;
        };
        let (kerf, least) = self.loose();
        let rules = Rules {
            part: Part::FormBoard,
            code: &form.item,
            stock: vec![(&form.item, form.board_length)],
            kerf,
            gap: Length::ZERO,
            least,
            longest_setting: None,
            joint: Worth::default(),
            cut: Worth::default(),
        };
        for row in 0..form_rows(run, form.board_width) {
            let sides = [
                ("side 1", run.trench_length()),
                ("side 2", run.trench_length()),
                ("end 1", run.trench_width()),
                ("end 2", run.trench_width()),
            ];
            for (leg, (side, length)) in sides.into_iter().enumerate() {
                let name = format!("run {}, {side}, row {}", run.id, row + 1);
                self.add(rules.clone(), run.id, name, Place { of: index, leg, from: Length::ZERO, length });
            }
        }
    }

    /// Bars side by side along the trench, lapped where they meet.
    fn bars(&mut self, index: usize) {
        let Some(run) = self.layout.runs.get(index) else { return };
        let Some(steel) = &run.detail.reinforcement else { return };
        let (kerf, least) = self.loose();
        let rules = Rules {
            part: Part::Bar,
            code: &steel.item,
            stock: vec![(&steel.item, steel.bar_length)],
            kerf,
            gap: -steel.lap,
            least: least.max(steel.lap + Length::from_nm(1)),
            longest_setting: None,
            joint: Worth::default(),
            cut: Worth::default(),
        };
        for bar in 0..steel.bars.get() {
            let name = format!("run {}, bar {}", run.id, bar + 1);
            let leg = usize::try_from(bar).unwrap_or(0);
            let place = Place { of: index, leg, from: Length::ZERO, length: run.trench_length() };
            self.add(rules.clone(), run.id, name, place);
        }
    }
}

/// Gap between the grates of a run.
pub(crate) fn grate_gap(layout: &Layout<'_>, run: &Run<'_>) -> Length {
    if layout.climate == Climate::Hot {
        run.detail.hot_grate_gap.unwrap_or(Length::ZERO)
    } else {
        Length::ZERO
    }
}

/// Rows of boards over the depth of a run's trench.
pub(crate) fn form_rows(run: &Run<'_>, board_width: Length) -> i64 {
    let depth = run.mean_height() + run.detail.base + run.detail.recess;
    depth.steps_up(board_width)
}
