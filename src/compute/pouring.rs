//! What a layout has poured: the order of its concrete, day by day where the notes name days.

use super::concrete::days::Pour;
use super::concrete::{self, ConcreteOrder, Site};
use super::labor::Conditions;
use super::takeoff::Takeoff;
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::Check;
use crate::domain::measures::{Measures, Poured};
use crate::domain::usual;
use crate::domain::words::Measure;
use crate::units::show::worded;
use crate::units::{Percent, Volume};
use crate::wire::Faults;

/// The waste of concrete when nobody says another: the price book's.
pub(super) fn book_waste(book: &PriceBook) -> Percent {
    book.doc().concrete_rules.as_ref().map_or(usual::CONCRETE_WASTE, |r| r.waste_pct)
}

/// The order of a layout: by pour days where the notes say something about pouring.
fn order(
    layout: &Layout<'_>,
    taken: &Takeoff<'_>,
    terms: &concrete::Terms<'_>,
    book: &PriceBook,
) -> Result<ConcreteOrder, Faults> {
    if layout.concrete.is_none() && layout.pour_days.is_empty() {
        return concrete::order_with(taken.concrete_net, terms, book, layout.show);
    }
    concrete::days::by_day(&pours_of(layout, taken), terms, book, layout.show)
}

/// What is poured, on which day: the surround and patches of each run and line, in equal parts on its pour days.
pub(super) fn pours_of(layout: &Layout<'_>, taken: &Takeoff<'_>) -> Vec<Pour> {
    let runs = taken.runs.iter().map(|r| (worded!("run {}", r.run), r.concrete_net));
    let lines =
        taken.lines.iter().zip(&layout.lines).map(|(l, line)| (worded!("line {}", line.id), l.concrete_net));
    let mut out = Vec::new();
    for (part, (of, net)) in runs.chain(lines).enumerate() {
        let days = layout.pour_days.get(part).map_or(&[1][..], |d| d);
        let of_each = i128::try_from(days.len()).unwrap_or(1).max(1);
        for (i, day) in days.iter().enumerate() {
            // The first part takes what does not divide.
            let rest = if i == 0 { net.nm3() % of_each } else { 0 };
            let net = Volume::from_nm3(net.nm3() / of_each + rest);
            let of =
                if days.len() > 1 { worded!("{of}, part {} of {}", i + 1, days.len()) } else { of.clone() };
            out.push(Pour { of, day: *day, net });
        }
    }
    out
}

/// What is asked of the order of a layout.
fn terms_of<'l>(layout: &'l Layout<'_>, taken: &'l Takeoff<'_>, book: &PriceBook) -> concrete::Terms<'l> {
    let waste = layout.waste.unwrap_or_else(|| book_waste(book));
    let site = Site { conditions: Conditions::of(layout, taken), place: layout.place };
    concrete::Terms::of(waste, layout.concrete_way, layout.concrete).on(site)
}

/// The order of a layout, and the measures of the take-off with what it adds: concrete as ordered, bags to mix.
pub(super) fn ordered(
    layout: &Layout<'_>,
    taken: &Takeoff<'_>,
    book: &PriceBook,
) -> Result<(ConcreteOrder, Measures), Faults> {
    let order = order(layout, taken, &terms_of(layout, taken, book), book)?;
    let measures = with_order(taken, &order);
    Ok((order, measures))
}

/// The same measures alone, for those who show no order.
pub(super) fn measures(
    layout: &Layout<'_>,
    taken: &Takeoff<'_>,
    book: &PriceBook,
) -> Result<Measures, Faults> {
    let terms = terms_of(layout, taken, book).figures_only();
    Ok(with_order(taken, &order(layout, taken, &terms, book)?))
}

/// The checks of trucks, where the notes say nothing of pouring and no pour day holds them.
pub(super) fn truck_checks(
    layout: &Layout<'_>,
    taken: &Takeoff<'_>,
    order: &ConcreteOrder,
    book: &PriceBook,
) -> Vec<Check> {
    let chosen = order.chosen_way().filter(|_| order.days.is_empty());
    chosen.map_or_else(Vec::new, |way| concrete::trucks::checks(way, &terms_of(layout, taken, book), book))
}

fn with_order(taken: &Takeoff<'_>, order: &ConcreteOrder) -> Measures {
    let mut measures = taken.measures.clone();
    measures.add_volume(Measure::ConcreteOrdered, order.taken().map(|w| w.volume).sum());
    measures.add_count(Measure::BagsMixed, order.taken().map(|w| w.bags).sum());
    measures
        .set_pours(order.by_day().map(|(day, w)| Poured { day, volume: w.volume, bags: w.bags }).collect());
    measures
}
