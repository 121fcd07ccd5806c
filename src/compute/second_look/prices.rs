//! Prices of items beside their like: what things cost for their size. Sums are compared with sums of the same book alone.

use super::{Looks, PRACTICE};
use crate::domain::book::label_yield;
use crate::units::show::worded;
use crate::units::{Amount, Length, Volume};
use crate::wire::book::Item;
use crate::wire::book::concrete::ConcreteWay;
use crate::wire::{At, Code};
use rust_decimal::Decimal;
use std::collections::{HashMap, HashSet};

/// How far the price of a part lies from its like for its size, either way: materials and makes differ by ten.
const PART_TIMES: Decimal = Decimal::from_parts(25, 0, 0, false, 0);
/// How far the price of concrete lies from that of the other ways, either way: bags of fast mixes cost six times ready-mix.
const CONCRETE_TIMES: Decimal = Decimal::from_parts(10, 0, 0, false, 0);

/// The middle one by size, the lower of two; `None` of nothing.
pub(super) fn middle(values: impl Iterator<Item = Decimal>) -> Option<Decimal> {
    let mut values: Vec<Decimal> = values.collect();
    values.sort_unstable();
    values.get(values.len().checked_sub(1)? / 2).copied()
}

/// A sum as it is told.
pub(super) fn sum(value: Decimal) -> Amount {
    Amount::line(value)
}

/// Notes a sum that is more than so many times another, or less than that part of it; `detail` is given the usual range.
pub(super) fn far(
    looks: &mut Looks<'_>,
    at: &At<'_>,
    value: Decimal,
    (beside, times): (Decimal, Decimal),
    shown: String,
    detail: impl FnOnce(&str) -> String,
) {
    let (Some(least), Some(most)) = (beside.checked_div(times), beside.checked_mul(times)) else { return };
    if (least..=most).contains(&value) {
        return;
    }
    let usual = worded!("{} to {}", sum(least), sum(most));
    looks.note(at, detail(&usual), shown, usual, PRACTICE);
}

/// An item among its like, and how large it is among them.
struct Part<'b> {
    item: &'b Code,
    size: Decimal,
}

/// Like parts of the book.
struct Like<'b> {
    what: &'static str,
    times: Decimal,
    parts: Vec<Part<'b>>,
    named: HashSet<&'b Code>,
}

impl<'b> Like<'b> {
    fn new(what: &'static str) -> Self {
        Self { what, times: PART_TIMES, parts: Vec::new(), named: HashSet::new() }
    }

    /// Each item once, where it has a size.
    fn add(&mut self, item: Option<&'b Code>, size: Decimal) {
        if let Some(item) = item
            && size > Decimal::ZERO
            && self.named.insert(item)
        {
            self.parts.push(Part { item, size });
        }
    }
}

pub(super) fn look(looks: &mut Looks<'_>) {
    free(looks);
    let items: HashMap<&Code, (usize, &Item)> =
        looks.book.items.iter().enumerate().map(|(i, item)| (&item.code, (i, item))).collect();
    for like in channel(looks).into_iter().chain(pipes(looks)).chain([concrete(looks)]) {
        compare(looks, &items, &like);
    }
}

/// Items for nothing.
fn free(looks: &mut Looks<'_>) {
    let list = At::ROOT.member("items");
    for (i, item) in looks.book.items.iter().enumerate().filter(|(_, i)| i.price.decimal().is_zero()) {
        let here = list.element(i);
        let detail = worded!("`{}` costs nothing; right for what is in stock and paid for", item.code);
        looks.note(
            &here.member("price"),
            detail,
            item.price.to_string(),
            "more than nothing".to_owned(),
            PRACTICE,
        );
    }
}

/// Items whose price for their size lies far from that of their like.
fn compare(looks: &mut Looks<'_>, items: &HashMap<&Code, (usize, &Item)>, like: &Like<'_>) {
    let mut priced: Vec<Priced<'_>> = like.parts.iter().filter_map(|part| Priced::of(part, items)).collect();
    priced.sort_by_key(|p| (p.each, p.place));
    let list = At::ROOT.member("items");
    for (n, Priced { place, item, size, each: _ }) in priced.iter().enumerate() {
        // the middle one of the others, see `middle`
        let Some(at) = priced.len().checked_sub(2).map(|others| others / 2) else { return };
        let middle = priced.get(if at < n { at } else { at + 1 }).map(|p| p.each);
        let Some(beside) = middle.and_then(|each| each.checked_mul(*size)) else { continue };
        let here = list.element(*place);
        let detail = |usual: &str| {
            worded!(
                "`{}` costs {} here; {} of this book costs {} for that size, usually {usual} ({PRACTICE})",
                item.code,
                item.price,
                like.what,
                sum(beside)
            )
        };
        let shown = item.price.to_string();
        far(looks, &here.member("price"), item.price.decimal(), (beside, like.times), shown, detail);
    }
}

/// A part with its item and what it costs for its size.
struct Priced<'b> {
    place: usize,
    item: &'b Item,
    size: Decimal,
    each: Decimal,
}

impl<'b> Priced<'b> {
    /// `None` where it costs nothing.
    fn of(part: &Part<'b>, items: &HashMap<&Code, (usize, &'b Item)>) -> Option<Self> {
        let (place, item) = *items.get(part.item)?;
        let price = Some(item.price.decimal()).filter(|p| !p.is_zero())?;
        Some(Self { place, item, size: part.size, each: price.checked_div(part.size)? })
    }
}

/// A length in millimetres.
fn size(length: Length) -> Decimal {
    Decimal::new(length.nm(), 6)
}

/// Channel and grates by length and width, fittings by width.
fn channel<'b>(looks: &Looks<'b>) -> Vec<Like<'b>> {
    let mut channel = Like::new("other channel");
    let mut grates = Like::new("other grates");
    let fittings = ["couplings", "end caps", "end outlets", "bottom outlets", "corners", "tees"];
    let mut fittings = fittings.map(Like::new);
    for system in &looks.book.channel_systems {
        let width = size(system.section.overall_width);
        for stock in &system.stock {
            channel.add(Some(&stock.item), size(stock.length) * width);
        }
        for grate in &system.grates {
            grates.add(Some(&grate.item), size(grate.length) * width);
        }
        let parts = [
            system.coupling.as_ref(),
            system.end_cap.as_ref(),
            system.end_outlet.as_ref().map(|f| &f.item),
            system.bottom_outlet.as_ref().map(|f| &f.item),
            system.corner.as_ref().map(|f| &f.item),
            system.tee.as_ref().map(|f| &f.item),
        ];
        for (like, item) in fittings.iter_mut().zip(parts) {
            like.add(item, width);
        }
    }
    [channel, grates].into_iter().chain(fittings).collect()
}

/// Pipe by length and the square of its diameter, fittings by that square.
fn pipes<'b>(looks: &Looks<'b>) -> Vec<Like<'b>> {
    let mut pipes = Like::new("other pipe");
    let fittings = ["couplings of pipe", "bends", "branches", "clean-outs", "adapters"];
    let mut fittings = fittings.map(Like::new);
    for pipe in &looks.book.pipes {
        let round = size(pipe.outside_diameter) * size(pipe.outside_diameter);
        for (item, length) in pipe.stock() {
            pipes.add(Some(item), size(length) * round);
        }
        let [couplings, bends, branches, clean_outs, adapters] = &mut fittings;
        couplings.add(pipe.coupling.as_ref(), round);
        for bend in &pipe.bends {
            bends.add(Some(&bend.item), round);
        }
        branches.add(pipe.branch.as_ref(), round);
        for branch in &pipe.reducing_branches {
            branches.add(Some(&branch.item), round);
        }
        clean_outs.add(pipe.clean_out.as_ref(), round);
        adapters.add(pipe.adapter.as_ref(), round);
    }
    [pipes].into_iter().chain(fittings).collect()
}

/// Concrete by volume, bags by what their label says they yield.
fn concrete<'b>(looks: &Looks<'b>) -> Like<'b> {
    let mut like = Like { times: CONCRETE_TIMES, ..Like::new("concrete of the other ways") };
    for way in &looks.book.concrete_ways {
        let one = match way {
            ConcreteWay::Bags { bag_weight, .. } => label_yield(*bag_weight),
            ConcreteWay::ReadyMix { item, .. } | ConcreteWay::Trailer { item, .. } => {
                let unit = looks.book.items.iter().find(|i| i.code == *item).map(|i| i.unit);
                Volume::from_nm3(unit.and_then(crate::units::Unit::factor).unwrap_or_default())
            }
        };
        // In whole cubic millimetres: a bag has millions of them.
        let size = i64::try_from(one.nm3() / 1_000_000_000_000_000_000).unwrap_or_default();
        like.add(Some(way.item()), Decimal::from(size));
    }
    like
}
