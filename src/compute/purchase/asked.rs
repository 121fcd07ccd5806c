//! What is asked of the buying: the request for the needs of an estimate, or for needs given outright.

use super::{MOST_NODES, Market, Terms};
use crate::compute::buying::{self, BuyingFault, BuyingPlan, Places, Request};
use crate::compute::exact::times;
use crate::compute::needs::{Gathered, cost, round_up};
use crate::domain::book::Listed;
use crate::units::{Amount, Unit};
use crate::wire::Code;
use crate::wire::book::Item;
use crate::wire::book::supply::{Supplier, SupplierOffer};
use crate::wire::orders::NeedIn;
use jiff::civil::date;
use rust_decimal::Decimal;
use rustc_hash::FxHashMap;

/// A need of the estimate, with its item.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted<'n> {
    /// Place among all needs.
    pub(super) place: usize,
    pub(super) code: &'n Code,
    pub(super) units: Decimal,
    pub(super) listed: Listed<'n>,
}

impl<'n> Wanted<'n> {
    /// A need with what the book knows of its item.
    pub(super) fn of(place: usize, need: &Gathered<'n>, listed: Listed<'n>) -> Self {
        Self { place, code: need.code, units: need.units, listed }
    }

    /// What it costs at the price of its item.
    pub(super) fn cost(&self) -> Amount {
        cost(self.units, self.listed.item)
    }
}

/// A request, with what it was made from.
#[derive(Debug, Clone)]
pub(super) struct Asked<'b> {
    pub(super) request: Request<'b>,
    /// The item of every need, where the book has it.
    pub(super) items: Vec<Option<&'b Item>>,
    /// The offers in the order in which the request names them.
    pub(super) offers: Vec<&'b SupplierOffer>,
    /// Where the offers stand, when they are those of the book.
    places: Option<Places>,
}

impl<'b> Asked<'b> {
    /// The request of an estimate against the offers of the book.
    pub(super) fn of_book(wanted: &[Wanted<'b>], market: Market<'b>, terms: Terms) -> Self {
        let book = market.book;
        let mut asked = Self::nothing(market.suppliers, wanted.len(), terms);
        let mut need_of = vec![None; book.doc().items.len()];
        for (place, w) in wanted.iter().enumerate() {
            let Listed { place: of_item, item, .. } = w.listed;
            asked.need(w.code.as_str(), w.units, item.unit, Some(item));
            if let Some(need) = need_of.get_mut(of_item) {
                *need = Some((place, item, w.units));
            }
        }
        let mut places = Places::with_room(asked.offers.capacity());
        for (o, known) in book.offered() {
            if let Some(&Some((need, item, units))) = need_of.get(known.item) {
                let sold =
                    Sold { unit: o.unit.unwrap_or(item.unit), step: step(o, Some(item)), needed: units };
                asked.offer(o, sold, known.price, terms);
                places.push(need, known.supplier);
            }
        }
        asked.places = Some(places);
        asked
    }

    /// The request of one need of an estimate against those offers of the book that are of its item.
    pub(super) fn of_offers(wanted: &Wanted<'b>, market: Market<'b>, terms: Terms) -> Self {
        let (item, needed) = (wanted.listed.item, wanted.units);
        let mut asked = Self::nothing(market.suppliers, 1, terms);
        asked.need(item.code.as_str(), needed, item.unit, Some(item));
        let mut places = Places::default();
        for o in market.book.offers_of(&item.code) {
            let Some(supplier) = market.suppliers.iter().position(|s| s.code == o.supplier) else { continue };
            let sold = Sold { unit: o.unit.unwrap_or(item.unit), step: step(o, Some(item)), needed };
            asked.offer(o, sold, market.price(o), terms);
            places.push(0, supplier);
        }
        asked.places = Some(places);
        asked
    }

    /// The request of needs given outright, against the offers of a market.
    pub(super) fn given(needs: &'b [NeedIn], market: Market<'b>, terms: Terms) -> Self {
        let mut asked = Self::nothing(market.suppliers, needs.len(), terms);
        let mut units: FxHashMap<&str, (Unit, Decimal)> = FxHashMap::default();
        for n in needs {
            let item = market.book.item(&n.item);
            let unit = n.unit.or(item.map(|i| i.unit)).unwrap_or(Unit::Each);
            asked.need(n.item.as_str(), n.quantity.number(), unit, item);
            units.insert(n.item.as_str(), (unit, n.quantity.number()));
        }
        for o in market.offers {
            if let Some((needed_by, needed)) = units.get(o.item.as_str()) {
                let unit = o.unit.or_else(|| market.unit(&o.item)).unwrap_or(*needed_by);
                let sold = Sold { unit, step: step(o, market.book.item(&o.item)), needed: *needed };
                asked.offer(o, sold, market.price(o), terms);
            }
        }
        asked
    }

    /// A request that asks for nothing yet, with room for so many needs.
    fn nothing(suppliers: &'b [Supplier], needs: usize, terms: Terms) -> Self {
        // Without a day of order nothing can be late or out of date.
        let as_of = terms.order_on.unwrap_or(date(2000, 1, 1));
        let needed_by = terms.needed().unwrap_or(date(2010, 1, 1));
        let suppliers = suppliers.iter().map(|s| buying::Supplier {
            id: s.code.as_str().into(),
            delivery: s.delivery.map_or(Decimal::ZERO, |d| d.decimal()),
            free_from: s.free_delivery_from.map(|d| d.decimal()),
        });
        let request = Request {
            needs: Vec::with_capacity(needs),
            suppliers: suppliers.collect(),
            // mostly two or three suppliers offer an item
            offers: Vec::with_capacity(3 * needs),
            node_budget: MOST_NODES,
            most_suppliers: terms.most_suppliers,
            one_stop: !terms.lines_only,
            ..Request::on(as_of, needed_by)
        };
        Self {
            request,
            items: Vec::with_capacity(needs),
            offers: Vec::with_capacity(3 * needs),
            places: None,
        }
    }

    fn need(&mut self, code: &'b str, quantity: Decimal, unit: Unit, item: Option<&'b Item>) {
        self.request.needs.push(buying::Need::new(code, quantity, unit.word()));
        self.items.push(item);
    }

    fn offer(&mut self, o: &'b SupplierOffer, sold: Sold, price: Decimal, terms: Terms) {
        self.request.offers.push(offer(o, sold, price, terms.order_on.is_some()));
        self.offers.push(o);
    }

    /// What the needs cost at least, delivery left aside; `None` where one of them cannot be bought.
    pub(super) fn least_goods(&self) -> Option<Decimal> {
        buying::least_goods(&self.request, self.places.as_ref()?)
    }

    /// The cheapest way to buy what is asked for.
    pub(super) fn plan(&self) -> Result<BuyingPlan<'b>, Vec<BuyingFault>> {
        match &self.places {
            Some(places) => buying::plan_at(&self.request, places),
            None => buying::plan(&self.request),
        }
    }
}

/// Most steps of an increment that are counted as packs; beyond them the whole amount is one.
const MOST_STEPS: Decimal = Decimal::from_parts(1_000_000_000, 0, 0, false, 0);

/// How an item is sold.
#[derive(Debug, Clone, Copy)]
struct Sold {
    unit: Unit,
    /// Multiples of how many units are sold where the offer names no pack; zero for any amount.
    step: Decimal,
    /// How many units are needed.
    needed: Decimal,
}

/// Multiples of how many units an offer without a pack sells: the increment of its item.
fn step(o: &SupplierOffer, item: Option<&Item>) -> Decimal {
    let same_unit = |i: &&Item| o.unit.is_none_or(|unit| unit == i.unit);
    item.filter(same_unit).and_then(|i| i.increment).map_or(Decimal::ONE, |f| f.number())
}

fn offer(o: &SupplierOffer, sold: Sold, price: Decimal, dated: bool) -> buying::Offer<'_> {
    let least = o.least_packs.map_or(0, |n| count(n.get()));
    let breaks =
        o.breaks.iter().map(|b| buying::Break { packs: count(b.packs.get()), price: b.price.decimal() });
    let packed = match o.pack {
        None if sold.step != Decimal::ONE => by_the_unit(sold, price, breaks, least),
        pack => Packed {
            pack: pack.map_or(Decimal::ONE, |p| p.number()),
            price,
            breaks: breaks.collect(),
            least: least.max(1),
        },
    };
    buying::Offer {
        id: o.order_code.as_str().into(),
        supplier: o.supplier.as_str().into(),
        item: o.item.as_str().into(),
        unit: sold.unit.word().into(),
        pack: packed.pack,
        price: packed.price,
        breaks: packed.breaks,
        least_packs: packed.least,
        valid_until: o.valid_until.filter(|_| dated).map(|d| d.date()),
        lead_days: o.lead_days.filter(|_| dated).map_or(0, |n| count(n.get())),
    }
}

fn count(n: i64) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// An offer in packs.
struct Packed {
    pack: Decimal,
    price: Decimal,
    breaks: Vec<buying::Break>,
    least: u32,
}

/// An offer of units in the packs it is sold by. Its price, its breaks and its least order count units.
fn by_the_unit(
    sold: Sold,
    price: Decimal,
    breaks: impl Iterator<Item = buying::Break> + Clone,
    least: u32,
) -> Packed {
    let in_steps = sold.needed.checked_div(sold.step).filter(|n| *n <= MOST_STEPS);
    if in_steps.is_none() {
        // any amount: what is needed is one pack, or what a break makes cheaper
        let (needed, _) = round_up(sold.needed, sold.step);
        let needed = needed.max(Decimal::from(least));
        let at = |units: Decimal| {
            let reached = breaks.clone().filter(|b| Decimal::from(b.packs) <= units).last();
            times(reached.map_or(price, |b| b.price), units)
        };
        let beyond = breaks.clone().map(|b| Decimal::from(b.packs)).filter(|units| *units > needed);
        let amounts = std::iter::once(needed).chain(beyond).map(|units| (at(units), units));
        let (price, pack) = amounts.min().unwrap_or((price, needed));
        return Packed { pack, price, breaks: Vec::new(), least: 1 };
    }
    let packs = |units: u32| {
        let packs = Decimal::from(units) / sold.step;
        u32::try_from(packs.ceil()).unwrap_or(u32::MAX)
    };
    let mut packed = Packed {
        pack: sold.step,
        price: times(price, sold.step),
        breaks: Vec::new(),
        least: packs(least).max(1),
    };
    for b in breaks {
        let (packs, price) = (packs(b.packs), times(b.price, sold.step));
        if packs < 2 {
            packed.price = price;
            continue;
        }
        packed.breaks.retain(|before| before.packs != packs);
        packed.breaks.push(buying::Break { packs, price });
    }
    packed
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where the book or the needs cannot be read")]

    use super::*;
    use crate::compute::needs::{Need, Needs};
    use crate::domain::book::PriceBook;
    use crate::domain::demo::BOOK;
    use crate::wire::orders::PurchaseRequest;
    use crate::wire::{read_document, read_value};
    use jiff::civil::date;
    use proptest::prelude::*;
    use serde_json::json;

    fn demo() -> PriceBook {
        PriceBook::check(read_document(BOOK.as_bytes()).unwrap()).unwrap()
    }

    /// So many of items that somebody offers, each named once.
    fn offered(book: &PriceBook, chosen: Vec<(prop::sample::Index, i64)>) -> Vec<(&Item, i64)> {
        let offered: Vec<&Item> =
            book.doc().items.iter().filter(|i| book.offers_of(&i.code).next().is_some()).collect();
        let mut wanted: Vec<(&Item, i64)> = Vec::new();
        for (index, count) in chosen {
            let item = *index.get(&offered);
            if wanted.iter().all(|(other, _)| other.code != item.code) {
                wanted.push((item, count));
            }
        }
        wanted
    }

    fn needed<'b>(wanted: &[(&'b Item, i64)], book: &PriceBook) -> Needs<'b> {
        let mut needs = Needs::default();
        for (item, count) in wanted {
            needs.add(book, &item.code, Need::Units(Decimal::from(*count)), "test", "test");
        }
        needs
    }

    fn listed<'n>(needs: &Needs<'n>, book: &'n PriceBook) -> Vec<Wanted<'n>> {
        let known =
            |(place, need): (usize, &Gathered<'n>)| Wanted::of(place, need, book.listed(need.code).unwrap());
        needs.gathered().enumerate().map(known).collect()
    }

    /// Sold in any amount, 1.00 a unit and 0.90 from 100 on: 100 cost 90.00, and so much less than 95 at 1.00 that 100 are bought.
    #[test]
    fn a_break_holds_from_its_own_amount_on() {
        let cost = |needed: i64| {
            let sold = Sold { unit: Unit::Ft, step: Decimal::ZERO, needed: Decimal::from(needed) };
            let breaks = [buying::Break { packs: 100, price: Decimal::new(9, 1) }].into_iter();
            let packed = by_the_unit(sold, Decimal::ONE, breaks, 1);
            (packed.pack.normalize().to_string(), packed.price.normalize().to_string())
        };
        assert_eq!(cost(100), ("100".into(), "90".into()));
        assert_eq!(cost(95), ("100".into(), "90".into()));
        assert_eq!(cost(80), ("80".into(), "80".into()));
    }

    proptest! {
        #[test]
        fn the_book_and_its_lists_give_the_same_plan(chosen in prop::collection::vec((any::<prop::sample::Index>(), 1_i64..200), 1..20), dated: bool) {
            let book = demo();
            let wanted = offered(&book, chosen);
            let needs = needed(&wanted, &book);
            let needs_given: Vec<_> = wanted.iter().map(|(item, count)| json!({"item": item.code, "quantity": count.to_string()})).collect();
            let given: PurchaseRequest = read_value(&json!({"needs": needs_given})).unwrap();
            let terms = Terms { order_on: dated.then(|| date(2026, 5, 4)), ..Terms::default() };
            let listed = listed(&needs, &book);
            let of_book = Asked::of_book(&listed, Market::of(&book), terms);
            let by_name = Asked::given(&given.needs, Market::of(&book), terms);
            prop_assert_eq!(&of_book.request, &by_name.request);
            prop_assert_eq!(&of_book.items, &by_name.items);
            prop_assert_eq!(&of_book.offers, &by_name.offers);
            prop_assert_eq!(of_book.plan(), by_name.plan());
        }

        #[test]
        fn goods_cost_what_they_do_in_a_plan_without_delivery(chosen in prop::collection::vec((any::<prop::sample::Index>(), 1_i64..200), 1..20), dated: bool) {
            let book = demo();
            let wanted = offered(&book, chosen);
            let needs = needed(&wanted, &book);
            let terms = Terms { order_on: dated.then(|| date(2026, 5, 4)), ..Terms::default() };
            let listed = listed(&needs, &book);
            let mut asked = Asked::of_book(&listed, Market::of(&book), terms);
            asked.request.suppliers.iter_mut().for_each(|s| s.delivery = Decimal::ZERO);
            prop_assert_eq!(super::super::goods(&needs, &book, terms), asked.plan().unwrap().total);
        }
    }
}
