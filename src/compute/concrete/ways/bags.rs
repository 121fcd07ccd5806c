//! Bags mixed on site.

use super::super::{BAGS, Setting, WayOrder, increments};
use super::{charge, item_of, line, minutes, rounded_basis};
use crate::compute::labor::Conditions;
use crate::compute::labor::place::PlaceAndWeather;
use crate::domain::lines::CostLine;
use crate::units::decimal::plain;
use crate::units::quantity::Span;
use crate::units::show::{Working, counted, told};
use crate::units::{Amount, Percent, Quantity, Unit, Volume};
use crate::wire::book::Item;
use crate::wire::book::concrete::ConcreteWay;
use rust_decimal::Decimal;

/// Bags for a net volume.
pub(in crate::compute::concrete) fn reckon(
    way: &ConcreteWay,
    net: Volume,
    waste: Percent,
    setting: &Setting<'_>,
) -> Option<WayOrder> {
    let Setting { book, show, working, .. } = *setting;
    let ConcreteWay::Bags {
        code,
        name: _,
        item: _,
        bag_weight: _,
        bag_yield,
        bags_per_pallet,
        mixing_per_bag,
        trade: _,
        pallet_price: _,
        whole_pallets: _,
        delivery,
        delivery_per_pallet,
    } = way
    else {
        return None;
    };
    let item = item_of(way, book)?;
    let count = increments(net, waste, *bag_yield)?;
    let volume = *bag_yield * count;
    let unit = if show.volume_unit() == Unit::Yd3 { Unit::Ft3 } else { Unit::L };
    let each = format_args!("{} a bag", Quantity::volume(*bag_yield, unit));
    let basis = rounded_basis(net, waste, count, each, setting);
    let (bought, mut lines) = purchase(way, item, count, basis, working);
    let pallets = bags_per_pallet.map_or(0, |p| (bought + p.get() - 1) / p.get());
    if let Some(each) = delivery {
        let basis = told!(working, "delivery of the order");
        lines.push(charge(code, "Delivery", item.category, *each, 1, "concrete.delivery", basis));
    }
    if let Some(each) = delivery_per_pallet.filter(|_| pallets > 0) {
        let basis = told!(working, "{} begun", counted(pallets, "pallet"));
        let what = "Delivery of pallets";
        lines.push(charge(code, what, item.category, each, pallets, "concrete.delivery", basis));
    }
    let warnings = too_long_for_one(count, *mixing_per_bag, setting).into_iter().collect();
    let bought = Quantity::decimal(Decimal::from(bought), item.unit, 6);
    let order = WayOrder::of(way, bought, volume, lines, show);
    Some(WayOrder { loads: pallets, warnings, bags: count, ..order })
}

/// That one person does not mix so many bags within the time limit: it takes as much longer in a hard place and in bad weather as
/// the hours of mixing do.
fn too_long_for_one(count: i64, per_bag: Span, setting: &Setting<'_>) -> Option<String> {
    let Setting { book, site, working, .. } = *setting;
    let limit = book.doc().concrete_rules.as_ref()?.time_limit.hours();
    let conditions = site.map_or(Conditions::PLAIN, |s| s.conditions);
    let rules = book.doc().labor_rules.as_ref();
    let around = PlaceAndWeather::of(conditions.difficulty, conditions.weather, rules);
    let plainly = Span::from_seconds(per_bag.seconds().saturating_mul(count)).hours();
    let hours = plainly * around.place.number() * around.weather.number();
    let people = (hours / limit.max(Decimal::new(1, 2))).ceil();
    if people <= Decimal::ONE {
        return None;
    }
    Some(told!(
        working,
        "mixing takes {count} x {} min{around} = {} person-hours; the mix is to be placed within {} h of \
         mixing, so pour in parts or let {people} mix at once",
        minutes(per_bag.seconds()),
        plain(hours, 2),
        plain(limit, 2)
    ))
}

/// Bags bought and their lines: single bags, whole pallets and the rest singly, or whole pallets only, whichever is
/// cheapest; of equal costs the fewest bags.
fn purchase(
    way: &ConcreteWay,
    item: &Item,
    count: i64,
    basis: String,
    working: Working,
) -> (i64, Vec<CostLine>) {
    let singly = |n: i64, basis: String| {
        line(item, item.category, Decimal::from(n), item.unit, item.price, BAGS, basis)
    };
    let ConcreteWay::Bags { bags_per_pallet: Some(per), pallet_price, whole_pallets, .. } = way else {
        return (count, vec![singly(count, basis)]);
    };
    let per = per.get();
    if pallet_price.is_none() && !whole_pallets.0 {
        return (count, vec![singly(count, basis)]);
    }
    let each = pallet_price.unwrap_or_else(|| item.price.times(Decimal::from(per)));
    let loose = (0, count);
    let full = ((count + per - 1) / per, 0);
    let cost = |(pallets, rest): &(i64, i64)| {
        Amount::from_minor(each.minor().saturating_mul(*pallets)) + item.price.times(Decimal::from(*rest))
    };
    let bought = |(pallets, rest): &(i64, i64)| pallets * per + rest;
    let cheapest = [loose, (count / per, count % per), full].into_iter().min_by_key(|o| (cost(o), bought(o)));
    let (pallets, rest) = if whole_pallets.0 { full } else { cheapest.unwrap_or(loose) };
    if (pallets, rest) == loose {
        return (count, vec![singly(count, basis)]);
    }
    let mut lines = Vec::with_capacity(2);
    if pallets > 0 {
        let basis = told!(working, "{basis}; {} of {per}", counted(pallets, "whole pallet"));
        // Under the item's code, so that the order goes to the item's supplier.
        let what = "Pallet of bags";
        lines.push(charge(&item.code, what, item.category, each, pallets, BAGS, basis));
    }
    if rest > 0 {
        lines.push(singly(rest, told!(working, "{basis}; {rest} singly")));
    }
    (bought(&(pallets, rest)), lines)
}
