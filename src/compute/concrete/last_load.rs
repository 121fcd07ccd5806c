//! A short last load: take it as it is, order a little more, or mix bags for the rest.

use super::ways::{self, bags, in_unit, ready_mix, split};
use super::{Setting, WayOrder, crew, increments};
use crate::units::show::{told, worded};
use crate::units::{Amount, Percent, Quantity, Volume};
use crate::wire::book::concrete::{ConcreteWay, ShortLoad};
use crate::wire::notes::ShortLastLoad;
use serde::Serialize;
use utoipa::ToSchema;

/// One way to deal with a short last load, all in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LastLoadChoice {
    /// What is done: `as_is`, `order_more` or `bags`.
    pub what: ShortLastLoad,
    /// Way the bags are bought by; for `bags` only.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub bags_by: Option<String>,
    /// What is ordered by truck.
    pub order: Quantity,
    /// Loads.
    pub loads: i64,
    /// Bags for the rest.
    pub bags: i64,
    /// Everything together.
    pub all_in: Amount,
    /// Whether it is the cheapest.
    pub cheapest: bool,
    /// Whether the order is made so.
    pub chosen: bool,
    /// How it came about.
    pub basis: String,
}

/// A choice with the order it makes.
pub(super) struct Cure {
    what: ShortLastLoad,
    bags_by: Option<String>,
    pub(super) order: WayOrder,
}

/// The choices where the last load of an order is short, the order as it is first; none where it is not short.
///
/// `None` when a volume cannot be reckoned exactly.
pub(super) fn cures(
    way: &ConcreteWay,
    as_is: &WayOrder,
    net: Volume,
    waste: Percent,
    setting: &Setting<'_>,
) -> Option<Vec<Cure>> {
    let Setting { book, show, working, .. } = *setting;
    let ConcreteWay::ReadyMix { increment, least_order, short_load, truck_capacity, .. } = way else {
        return Some(Vec::new());
    };
    let Some(ShortLoad::Flat { below, .. } | ShortLoad::PerMissing { below, .. }) = short_load else {
        return Some(Vec::new());
    };
    // Equal loads may be none of them short.
    if as_is.trucked.iter().all(|l| l >= below) {
        return Some(Vec::new());
    }
    let loads = split(as_is.volume, *truck_capacity)?;
    let Some(last) = loads.last().filter(|l| *l < below) else { return Some(Vec::new()) };
    let unit = book.item(way.item())?.unit;
    let said = |v: Volume| Quantity::decimal(in_unit(v, unit), unit, 4);
    let full = as_is.volume - *last;
    let mut out = vec![Cure { what: ShortLastLoad::AsIs, bags_by: None, order: as_is.clone() }];
    // Raised within the truck.
    let count = increments(full + *below, Percent::ZERO, *increment)?;
    let raised = *increment * count;
    if raised > as_is.volume && raised - full <= *truck_capacity {
        let basis = told!(
            working,
            "{} raised so that the last load is no longer below {}",
            said(as_is.volume),
            said(*below)
        );
        let order = crew::worked(ready_mix::of_order(way, count, basis, setting)?, setting);
        out.push(Cure { what: ShortLastLoad::OrderMore, bags_by: None, order });
    }
    // Full trucks in whole increments; bags for what is left of the need.
    let count = i64::try_from(full.nm3() / increment.nm3().max(1)).ok()?;
    let carried = *increment * count;
    if count > 0 && carried >= *least_order {
        let need = ways::with_waste_up(net, waste)?;
        let rest = need - carried;
        for offer in &book.doc().concrete_ways {
            if !matches!(offer, ConcreteWay::Bags { .. }) || rest.nm3() <= 0 {
                continue;
            }
            let basis = told!(working, "full trucks of {} less bags for {}", said(need), said(rest));
            let trucks = ready_mix::of_order(way, count, basis, setting)?;
            let by_hand = bags::reckon(offer, rest, Percent::ZERO, setting)?;
            let order = crew::worked(trucks.with(by_hand, show), setting);
            out.push(Cure {
                what: ShortLastLoad::Bags,
                bags_by: Some(offer.code().as_str().to_owned()),
                order,
            });
        }
    }
    Some(out)
}

/// Which of the choices the wish asks for: the cheapest, or the cheapest of its kind; as it is where there is none of it.
pub(super) fn pick(cures: &[Cure], wish: ShortLastLoad) -> usize {
    let of_kind = |c: &Cure| wish == ShortLastLoad::Cheapest || c.what == wish;
    let costs = cures.iter().enumerate().filter(|(_, c)| of_kind(c));
    costs.min_by_key(|(i, c)| (c.order.all_in, *i)).map_or(0, |(i, _)| i)
}

/// The choices beside each other.
pub(super) fn choices(cures: &[Cure], chosen: usize) -> Vec<LastLoadChoice> {
    let cheapest = pick(cures, ShortLastLoad::Cheapest);
    cures
        .iter()
        .enumerate()
        .map(|(i, cure)| {
            let order = &cure.order;
            let mut words: Vec<String> =
                order.lines.iter().map(|l| worded!("{} {}", l.description, l.cost)).collect();
            for (what, cost) in [
                ("mixing", order.extra_labor_cost),
                ("mixer", order.extra_hire_cost),
                ("placing", order.placing_cost),
                ("purchase tax", order.purchase_tax),
            ] {
                if cost > Amount::ZERO {
                    words.push(worded!("{what} {cost}"));
                }
            }
            LastLoadChoice {
                what: cure.what,
                bags_by: cure.bags_by.clone(),
                order: order.order,
                loads: order.load_sizes.len() as i64,
                bags: order.bags,
                all_in: order.all_in,
                cheapest: i == cheapest,
                chosen: i == chosen,
                basis: worded!("{} = {}", words.join(" + "), order.all_in),
            }
        })
        .collect()
}

/// The order with its last load dealt with as wished.
pub(super) fn applied(
    way: &ConcreteWay,
    as_is: WayOrder,
    net: Volume,
    waste: Percent,
    wish: ShortLastLoad,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    let cures = cures(way, &as_is, net, waste, setting)?;
    let picked = pick(&cures, wish);
    Some(cures.into_iter().nth(picked).map_or(as_is, |c| c.order))
}
