//! A purchase plan for needs given outright.

use super::answer::{PurchasePlan, write};
use super::asked::Asked;
use super::{Market, Terms};
use crate::compute::buying::BuyingFault;
use crate::compute::fields;
use crate::domain::book::PriceBook;
use crate::domain::book::check::supply::breaks;
use crate::wire::orders::PurchaseRequest;
use crate::wire::{At, Faults};

/// Plans the needs of a request by its own offers, or by those of the book.
pub(crate) fn given(r: &PurchaseRequest, book: &PriceBook) -> Result<PurchasePlan, Faults> {
    let mut faults = Faults::new();
    if r.suppliers.is_empty() != r.offers.is_empty() {
        faults.add(
            &At::ROOT,
            "one_of",
            "suppliers and offers go together: send both, or neither to use those of the book",
        );
    }
    let own = !r.offers.is_empty();
    let market =
        if own { Market { suppliers: &r.suppliers, offers: &r.offers, book } } else { Market::of(book) };
    for (i, offer) in r.offers.iter().enumerate().filter(|(_, o)| o.price.is_none()) {
        if book.item(&offer.item).is_none() {
            let offers = At::ROOT.member("offers");
            faults.add(
                &offers.element(i).member("price"),
                "required",
                "the price book has no item of this code to take the price from: give the price of one pack",
            );
        }
    }
    for (i, offer) in r.offers.iter().enumerate() {
        let known = offer.price.is_some() || book.item(&offer.item).is_some();
        let asked = known.then(|| market.price(offer));
        breaks(offer, asked, &At::ROOT.member("offers").element(i), &mut faults);
    }
    let terms = Terms {
        order_on: r.order_on.map(|d| d.date()),
        needed_by: r.needed_by.map(|d| d.date()),
        most_suppliers: r.most_suppliers.and_then(|n| u32::try_from(n.get()).ok()),
        lines_only: false,
    };
    if terms.order_on.is_none() && terms.needed_by.is_some() {
        faults.add(
            &At::ROOT.member("needed_by"),
            "needs_order_on",
            "a day of need goes with `order_on`, the day the orders go out",
        );
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let asked = Asked::given(&r.needs, market, terms);
    match asked.plan() {
        Ok(plan) => Ok(write(plan, &asked, market, terms, None)),
        Err(list) => Err(at_their_places(&list, r)),
    }
}

fn at_their_places(list: &[BuyingFault], r: &PurchaseRequest) -> Faults {
    let mut faults = Faults::new();
    let needs = At::ROOT.member("needs");
    let need = |item: &str| r.needs.iter().position(|n| n.item.as_str() == item).unwrap_or(0);
    let place = |list: &str, name: &str| match list {
        "needs" => r.needs.iter().position(|n| n.item.as_str() == name),
        "suppliers" => r.suppliers.iter().position(|s| s.code.as_str() == name),
        _ => r.offers.iter().position(|o| o.order_code.as_str() == name),
    };
    for fault in list {
        let text = fault.to_string();
        match fault {
            BuyingFault::NobodySells { item } => {
                faults.value(&needs.element(need(item)).member("item"), "nobody_sells", item, text)
            }
            BuyingFault::NoUsableOffer { item, .. } => {
                faults.value(&needs.element(need(item)).member("item"), "no_usable_offer", item, text)
            }
            BuyingFault::Twice { kind: "need", id } => {
                let last = r.needs.iter().rposition(|n| n.item.as_str() == id).unwrap_or(0);
                faults.value(&needs.element(last).member("item"), "duplicate", id, text)
            }
            BuyingFault::Twice { kind, id } => {
                let list = if *kind == "supplier" { "suppliers" } else { "offers" };
                faults.value(&At::ROOT.member(list), "duplicate", id, text)
            }
            BuyingFault::NoSuchSupplier { supplier, .. } => {
                let at = r.offers.iter().position(|o| o.supplier.as_str() == supplier).unwrap_or(0);
                let offers = At::ROOT.member("offers");
                faults.value(&offers.element(at).member("supplier"), "unknown_code", supplier, text)
            }
            BuyingFault::Dates { needed_by, .. } => {
                faults.value(&At::ROOT.member("needed_by"), "before_order", &needed_by.to_string(), text)
            }
            BuyingFault::TooFewSuppliers { most, .. } => {
                faults.value(&At::ROOT.member("most_suppliers"), "too_few_suppliers", &most.to_string(), text)
            }
            BuyingFault::Amount { field, value, rule } => {
                fields::add(&mut faults, field, Some(value.normalize().to_string()), rule, place);
                continue;
            }
            BuyingFault::Breaks { .. } => faults.add(&At::ROOT.member("offers"), "order", text),
            BuyingFault::NoNeeds | BuyingFault::TooLarge { .. } | BuyingFault::PlanRejected { .. } => {
                faults.add(&At::ROOT, "purchase_plan", text)
            }
        };
    }
    faults
}
