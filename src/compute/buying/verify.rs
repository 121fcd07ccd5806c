//! The independent checker of a purchase plan, from the request and the drawn orders alone.

use super::plan::{BuyingPlan, Order};
use super::request::Request;
use crate::compute::calendar::count::calendar_days_between;
use crate::compute::exact::to_minor;
use rust_decimal::Decimal;
use smallvec::SmallVec;

/// Proves that every need is met at one supplier from usable offers and that every sum adds up.
///
/// # Errors
/// Everything that is wrong, in words.
pub fn verify(plan: &BuyingPlan<'_>, request: &Request<'_>) -> Result<(), Vec<String>> {
    let mut faults = Vec::new();
    let mut met: Vec<Met> = vec![Met::default(); request.needs.len()];
    for (at, order) in plan.orders.iter().enumerate() {
        check_order(order, at, request, &mut met, &mut faults);
    }
    for (need, met) in request.needs.iter().zip(met) {
        if met.quantity != need.quantity {
            faults.push(format!("{} of the need {} are met", met.quantity, need.item));
        }
        if met.at_several {
            faults.push(format!("need {} is met by several suppliers, or twice by one offer", need.item));
        }
    }
    if request.most_suppliers.is_some_and(|m| plan.orders.len() > m as usize) {
        faults.push(format!("{} suppliers are used", plan.orders.len()));
    }
    let goods: Decimal = plan.orders.iter().map(|o| o.goods).sum();
    let delivery: Decimal = plan.orders.iter().map(|o| o.delivery).sum();
    let sums = plan.goods == goods
        && plan.delivery == delivery
        && plan.total == goods + delivery
        && plan.gap == plan.total - plan.lower_bound
        && plan.gap >= Decimal::ZERO
        && plan.proven == plan.gap.is_zero();
    if !sums {
        faults.push("the totals do not follow from the orders".to_owned());
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// What is met of a need.
#[derive(Debug, Clone, Default)]
struct Met {
    quantity: Decimal,
    /// The order it is met in, and the offers that meet it.
    order: Option<usize>,
    offers: SmallVec<[usize; 2]>,
    at_several: bool,
}

fn check_order(
    order: &Order<'_>,
    at: usize,
    request: &Request<'_>,
    met: &mut [Met],
    faults: &mut Vec<String>,
) {
    let Some(supplier) = request.suppliers.iter().find(|s| s.id == order.supplier) else {
        faults.push(format!("supplier {} is not in the request", order.supplier));
        return;
    };
    let days = calendar_days_between(request.as_of, request.needed_by);
    for line in &order.lines {
        let named = request.offers.get(line.place);
        let offer = named.filter(|o| o.id == line.offer && o.supplier == order.supplier);
        let need = request.needs.get(line.need).filter(|n| n.item == line.item);
        let (Some(offer), Some(need), Some(met)) = (offer, need, met.get_mut(line.need)) else {
            faults.push(format!("line {} has no offer or need", line.item));
            continue;
        };
        met.at_several |= met.order.is_some_and(|o| o != at) || met.offers.contains(&line.place);
        met.order = Some(at);
        met.offers.push(line.place);
        met.quantity += line.needed;
        let mut price = offer.price;
        for b in &offer.breaks {
            if line.packs >= b.packs {
                price = b.price;
            }
        }
        let bought = offer.pack.checked_mul(Decimal::from(line.packs)).unwrap_or_default();
        let ok = offer.item == need.item
            && offer.unit == need.unit
            && offer.valid_until.is_none_or(|v| v >= request.as_of)
            && i64::from(offer.lead_days) <= days
            && line.packs >= offer.least_packs.max(1)
            && line.needed > Decimal::ZERO
            && bought >= line.needed
            && line.over == bought - line.needed
            && line.price == price
            && Some(line.cost)
                == price.checked_mul(Decimal::from(line.packs)).map(|c| to_minor(c, request.minor_digits));
        if !ok {
            faults.push(format!("line {} of {} does not follow from its offer", line.item, order.supplier));
        }
    }
    let goods: Decimal = order.lines.iter().map(|l| l.cost).sum();
    let free = supplier.free_from.is_some_and(|f| goods >= to_minor(f, request.minor_digits));
    let delivery = if free { Decimal::ZERO } else { to_minor(supplier.delivery, request.minor_digits) };
    if order.goods != goods || order.delivery != delivery || order.total != goods + delivery {
        faults.push(format!("the order of {} does not add up", order.supplier));
    }
}
