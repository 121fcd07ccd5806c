//! The shorter ways against the long ones.

#![expect(clippy::unwrap_used, reason = "a test stops where a request cannot be planned")]

use super::places::Places;
use super::table::Table;
use super::{Need, Offer, Request, Supplier, plan, plan_at};
use jiff::civil::date;
use proptest::prelude::*;
use rust_decimal::Decimal;

/// A few needs at up to three suppliers: whole amounts near the thresholds, so that dearer offers now and then gain.
fn requests() -> impl Strategy<Value = Request<'static>> {
    let supplier = (0_i64..60, prop::option::of(1_i64..400));
    let offers = prop::collection::vec((0_usize..3, 1_i64..200), 1..5);
    (prop::collection::vec(supplier, 3), prop::collection::vec(offers, 1..6)).prop_map(
        |(suppliers, needs)| {
            let mut r = Request::on(date(2026, 5, 4), date(2026, 5, 18));
            for (s, (delivery, free_from)) in suppliers.into_iter().enumerate() {
                r.suppliers.push(Supplier {
                    id: format!("s{s}").into(),
                    delivery: Decimal::from(delivery),
                    free_from: free_from.map(Decimal::from),
                });
            }
            for (n, offers) in needs.into_iter().enumerate() {
                r.needs.push(Need::new(format!("n{n}"), Decimal::ONE, "each"));
                for (k, (supplier, price)) in offers.into_iter().enumerate() {
                    r.offers.push(Offer {
                        id: format!("{n}-{k}").into(),
                        supplier: format!("s{supplier}").into(),
                        item: format!("n{n}").into(),
                        unit: "each".into(),
                        pack: Decimal::ONE,
                        price: Decimal::from(price),
                        ..Offer::default()
                    });
                }
            }
            r
        },
    )
}

/// The least total of one supplier, by trying every choice of its offers.
fn alone(t: &Table, supplier: usize) -> i64 {
    let mut goods = vec![0_i64];
    let mut sells = false;
    for row in t.choices.rows().filter(|row| row.iter().any(|c| c.supplier == supplier)) {
        sells = true;
        let costs: Vec<i64> = row.iter().filter(|c| c.supplier == supplier).map(|c| c.cost).collect();
        goods = goods.iter().flat_map(|sum| costs.iter().map(move |cost| sum + cost)).collect();
    }
    let total = |goods: &i64| goods + if sells { t.delivery(supplier, *goods) } else { 0 };
    goods.iter().map(total).min().unwrap_or(0)
}

proptest! {
    #[test]
    fn one_stop_costs_what_trying_every_choice_finds(r in requests()) {
        let table = Table::of(&r, &Places::find(&r).unwrap()).unwrap();
        let plan = plan(&r).unwrap();
        for (s, one) in plan.one_stop.iter().enumerate() {
            prop_assert_eq!(one.total, Decimal::new(alone(&table, s), 2), "{}", &one.supplier);
        }
    }

    #[test]
    fn places_that_are_known_give_the_plan_that_the_names_give(r in requests()) {
        let mut places = Places::default();
        for o in &r.offers {
            let need = r.needs.iter().position(|n| n.item == o.item).unwrap();
            places.push(need, r.suppliers.iter().position(|s| s.id == o.supplier).unwrap());
        }
        prop_assert_eq!(plan_at(&r, &places), plan(&r));
    }

    #[test]
    fn figures_out_of_range_are_told_whether_the_names_are_known_or_not(mut r in requests(), mantissa in any::<i64>(), scale in 0_u32..12, which in 0_usize..4) {
        let value = Decimal::new(mantissa, scale);
        let zero = match which {
            0 => { r.needs[0].quantity = value; false }
            1 => { r.suppliers[0].delivery = value; true }
            2 => { r.offers[0].pack = value; false }
            _ => { r.offers[0].price = value; true }
        };
        let mut places = Places::default();
        r.offers.iter().for_each(|_| places.push(0, 0));
        let allowed = value <= Decimal::from(1_000_000_000) && (value > Decimal::ZERO || zero && value.is_zero());
        prop_assert_eq!(places.figures(&r).is_ok(), allowed);
        prop_assert_eq!(places.figures(&r).err(), Places::find(&r).err());
    }
}
