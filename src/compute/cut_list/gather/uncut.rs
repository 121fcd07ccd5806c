//! What a run's channel and grates cannot be cut to, before any list is made.

use super::parts::{channel_cuts, grate_cuts};
use super::{Rules, less_end_gap};
use crate::compute::cut_list::of_leg;
use crate::compute::cutting::{self, Leg, Problem, Stock};
use crate::compute::exact::Nm;
use crate::domain::book::PriceBook;
use crate::domain::layout::Run;
use crate::domain::words::Climate;
use crate::units::Length;
use crate::units::show::Show;
use rust_decimal::Decimal;

/// Why legs of a run cannot be made of the stock lengths of its system or its grate: what the cut lists of the whole job would fail
/// for, whatever a piece costs. Offcuts in the yard are left out of account.
pub(crate) fn uncut(run: &Run<'_>, climate: Climate, show: Show, book: &PriceBook) -> Vec<String> {
    let named = |leg: usize| format!("leg {}", leg + 1);
    let spans = run.legs.iter().enumerate().flat_map(|(leg, of)| {
        let one = of.spans.len() == 1;
        let part =
            move |part: usize| if one { named(leg) } else { format!("{}, part {}", named(leg), part + 1) };
        of.spans.iter().enumerate().map(move |(i, span)| (part(i), span.length))
    });
    let width = run.system.section.overall_width;
    let legs = run.legs.iter().enumerate();
    let legs = legs.filter_map(|(leg, of)| Some((named(leg), of.covered(width)?.length)));
    let channel = impossible(&channel_cuts(run, book.doc().cutting.as_ref()), spans, show);
    channel.into_iter().chain(impossible(&grate_cuts(run, climate), legs, show)).collect()
}

fn impossible(rules: &Rules<'_>, legs: impl Iterator<Item = (String, Length)>, show: Show) -> Vec<String> {
    let demand = |length: Length| Nm(less_end_gap(length, &rules.stock, rules.gap).nm());
    let stock = rules.stock.iter();
    let problem = Problem {
        legs: legs.map(|(name, length)| Leg::new(name, demand(length))).collect(),
        stock: stock
            .map(|(item, length)| Stock::bought(item.as_str(), Nm(length.nm()), Decimal::ZERO))
            .collect(),
        kerf: Nm(rules.kerf.nm()),
        gap: Nm(rules.gap.nm()),
        least_piece: Nm(rules.least.nm()),
        short_legs_whole: rules.part.is_whole_when_short(),
        max_joints_per_leg: rules.most_joints,
        longest_setting: rules.longest_setting.map(|l| Nm(l.nm())),
        ..Problem::default()
    };
    let faults = cutting::faults(&problem);
    faults.iter().filter_map(|fault| of_leg(fault, rules.part, show)).map(|(_, reason)| reason).collect()
}
