//! Buying against a general-purpose mixed-integer solver on an independently written model.

use crate::random::Dice;
use good_lp::{Expression, ProblemVariables, Solution, SolverModel, constraint, microlp, variable};
use jiff::civil::date;
use rillcast::compute::buying::{self, Break, Need, Offer, Request, Supplier};
use rust_decimal::Decimal;

/// A random request in whole cents.
pub fn request(seed: u64, needs: i64, suppliers: i64) -> Request<'static> {
    let mut d = Dice::new(seed);
    let mut r = Request::on(date(2026, 5, 4), date(2026, 5, 18));
    for s in 0..suppliers {
        let delivery = [0, 25, 60, 90][usize::try_from(d.roll(4)).unwrap()];
        let free_from = (d.roll(3) > 0).then(|| Decimal::from(d.within(50, 120 * needs / 2)));
        r.suppliers.push(Supplier {
            id: format!("s{s}").into(),
            delivery: Decimal::from(delivery),
            free_from,
        });
    }
    for n in 0..needs {
        let quantity = Decimal::from(d.within(1, 60));
        let worth = d.within(100, 900);
        r.needs.push(Need::new(format!("n{n}"), quantity, "each"));
        for s in 0..suppliers {
            for k in 0..d.within(0, 2) {
                let pack = [1, 5, 10, 25][usize::try_from(d.roll(4)).unwrap()];
                let price = Decimal::new(pack * worth * d.within(80, 130) / 100, 2);
                let breaks = if d.roll(3) == 0 {
                    vec![Break {
                        packs: u32::try_from(d.within(2, 8)).unwrap(),
                        price: price * Decimal::new(85, 2),
                    }]
                } else {
                    Vec::new()
                };
                r.offers.push(Offer {
                    id: format!("n{n} s{s} {k}").into(),
                    supplier: format!("s{s}").into(),
                    item: format!("n{n}").into(),
                    unit: "each".into(),
                    pack: Decimal::from(pack),
                    price,
                    breaks,
                    least_packs: u32::try_from(d.within(0, 3)).unwrap(),
                    valid_until: None,
                    lead_days: 3,
                });
            }
        }
    }
    r.most_suppliers = [None, None, Some(1), Some(2)][usize::try_from(d.roll(4)).unwrap()];
    r
}

/// What a line can cost, by plain trial, in cents: the fewest packs, or the first packs of a break that cost less than these.
fn line_costs(o: &Offer<'_>, quantity: Decimal) -> Vec<i64> {
    let cost = |n: u32| {
        let price = o.breaks.iter().filter(|b| b.packs <= n).map(|b| b.price).next_back().unwrap_or(o.price);
        let cents = (price * Decimal::from(n) * Decimal::from(100))
            .round_dp_with_strategy(0, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
        i64::try_from(cents).unwrap()
    };
    let fewest =
        (1..=2_000_u32).find(|n| Decimal::from(*n) * o.pack >= quantity && *n >= o.least_packs).unwrap();
    let asked = cost(fewest);
    let breaks = o.breaks.iter().filter(|b| b.packs > fewest).map(|b| cost(b.packs)).filter(|c| *c < asked);
    std::iter::once(asked).chain(breaks).collect()
}

/// What the cheapest packs of all the offers of a supplier cost together, by trying every number of each, in cents.
fn together(offers: &[&Offer<'_>], quantity: Decimal) -> i64 {
    let Some((first, behind)) = offers.split_first() else {
        return if quantity <= Decimal::ZERO { 0 } else { i64::MAX / 4 };
    };
    let allowed = (0..=70_u32).filter(|n| *n == 0 || *n >= first.least_packs);
    let cost = |n: u32| {
        let price =
            first.breaks.iter().filter(|b| b.packs <= n).map(|b| b.price).next_back().unwrap_or(first.price);
        let cents = (price * Decimal::from(n) * Decimal::from(100))
            .round_dp_with_strategy(0, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
        i64::try_from(cents).unwrap()
    };
    allowed.map(|n| cost(n) + together(behind, quantity - first.pack * Decimal::from(n))).min().unwrap()
}

/// The cheapest mix of a supplier's offers of each need, where it costs less than each of them by itself.
fn mixes<'r, 'a>(r: &'r Request<'a>) -> Vec<(&'r Offer<'a>, i64)> {
    let mut out = Vec::new();
    for need in &r.needs {
        for supplier in &r.suppliers {
            let of = |o: &&Offer<'_>| o.item == need.item && o.supplier == supplier.id;
            let offers: Vec<&Offer<'a>> = r.offers.iter().filter(of).collect();
            let alone = offers.iter().flat_map(|o| line_costs(o, need.quantity)).min();
            if let Some(alone) = alone.filter(|_| offers.len() > 1) {
                let cost = together(&offers, need.quantity);
                out.extend(Some((offers[0], cost)).filter(|_| cost < alone));
            }
        }
    }
    out
}

/// The model: `z` assigns a need to a way to buy from an offer, `u` uses a supplier, `f` has its delivery free, which asks for
/// goods.
pub fn solve(r: &Request<'_>) -> Option<i64> {
    let mut vars = ProblemVariables::new();
    let cents = |d: Decimal| i64::try_from((d * Decimal::from(100)).round()).unwrap() as f64;
    let ways: Vec<(&Offer<'_>, i64)> = r
        .offers
        .iter()
        .flat_map(|o| {
            let quantity = r.needs.iter().find(|n| n.item == o.item).unwrap().quantity;
            line_costs(o, quantity).into_iter().map(move |cost| (o, cost))
        })
        .chain(mixes(r))
        .collect();
    let z: Vec<_> = ways.iter().map(|_| vars.add(variable().binary())).collect();
    let u: Vec<_> = r.suppliers.iter().map(|_| vars.add(variable().binary())).collect();
    let free: Vec<_> = r.suppliers.iter().map(|_| vars.add(variable().binary())).collect();
    let mut cost = Expression::from(0.0);
    for (zi, (_, c)) in z.iter().zip(&ways) {
        cost += *c as f64 * *zi;
    }
    for (s, supplier) in r.suppliers.iter().enumerate() {
        cost += cents(supplier.delivery) * (u[s] - free[s]);
    }
    let mut model = vars.minimise(cost.clone()).using(microlp);
    for need in &r.needs {
        let mut sum = Expression::from(0.0);
        for (o, zi) in ways.iter().map(|(o, _)| o).zip(&z).filter(|(o, _)| o.item == need.item) {
            assert_eq!(o.unit, need.unit);
            sum += *zi;
        }
        model.add_constraint(constraint!(sum == 1.0));
    }
    let mut used = Expression::from(0.0);
    for (s, supplier) in r.suppliers.iter().enumerate() {
        used += u[s];
        let mut goods = Expression::from(0.0);
        for ((o, c), zi) in ways.iter().zip(&z).filter(|((o, _), _)| o.supplier == supplier.id) {
            assert!(!o.id.is_empty());
            model.add_constraint(constraint!(*zi <= u[s]));
            goods += *c as f64 * *zi;
        }
        model.add_constraint(constraint!(free[s] <= u[s]));
        match supplier.free_from {
            Some(f) => model.add_constraint(constraint!(goods >= cents(f) * free[s])),
            None => model.add_constraint(constraint!(free[s] <= 0.0)),
        };
    }
    if let Some(m) = r.most_suppliers {
        model.add_constraint(constraint!(used <= f64::from(m)));
    }
    let solution = model.solve().ok()?;
    Some(solution.eval(&cost).round() as i64)
}

#[test]
fn optimum_equals_the_solver_on_small_requests() {
    let n = 400_u64;
    let (mut plans, mut impossible, mut mixed) = (0, 0, 0);
    for seed in 0..n {
        let mut d = Dice::new(seed + 77);
        let r = request(seed, d.within(1, 7), d.within(1, 4));
        let sold = r.needs.iter().all(|n| r.offers.iter().any(|o| o.item == n.item));
        let reference = if sold { solve(&r) } else { None };
        match (buying::plan(&r), reference) {
            (Ok(p), Some(c)) => {
                assert_eq!(p.total, Decimal::new(c, 2), "seed {seed}");
                assert!(p.proven, "seed {seed}");
                plans += 1;
                let lines = p.orders.iter().map(|o| o.lines.len()).sum::<usize>();
                mixed += u32::from(lines > r.needs.len());
            }
            (Err(_), None) => impossible += 1,
            (ours, c) => panic!("seed {seed}: {ours:?} {c:?}"),
        }
    }
    assert!(plans > n / 3 && impossible > 0, "{plans} plans, {impossible} impossible");
    assert!(mixed > 10, "{mixed}");
}

#[test]
fn breaks_just_beyond_the_need_are_weighed_against_free_deliveries_as_the_solver_does() {
    let mut left = 0;
    for seed in 0..200_u64 {
        let mut d = Dice::new(seed + 9_000);
        let (needs, suppliers) = (d.within(1, 5), d.within(1, 3));
        let mut r = request(seed + 5_000, needs, suppliers);
        r.most_suppliers = None;
        r.needs.retain(|n| r.offers.iter().any(|o| o.item == n.item));
        r.offers.retain(|o| r.needs.iter().any(|n| n.item == o.item));
        if r.needs.is_empty() {
            continue;
        }
        for o in &mut r.offers {
            let quantity = r.needs.iter().find(|n| n.item == o.item).unwrap().quantity;
            o.least_packs = 1;
            let asked = u32::try_from((quantity / o.pack).ceil().mantissa()).unwrap();
            // one pack more for a few percent less in all, and two for a few more
            let at = |packs: u32, percent: i64| Break {
                packs,
                price: (o.price * Decimal::from(asked) * Decimal::new(percent, 2) / Decimal::from(packs))
                    .round_dp(2),
            };
            o.breaks = vec![at(asked + 1, d.within(90, 99)), at(asked + 2, d.within(80, 89))];
        }
        let goods: i64 = r
            .offers
            .iter()
            .map(|o| line_costs(o, r.needs.iter().find(|n| n.item == o.item).unwrap().quantity)[0])
            .sum();
        for s in &mut r.suppliers {
            s.delivery = Decimal::from(d.within(20, 90));
            s.free_from = Some(Decimal::new(d.within(goods / 8, goods), 2));
        }
        let p = buying::plan(&r).unwrap();
        assert_eq!((p.total, p.proven), (Decimal::new(solve(&r).unwrap(), 2), true), "seed {seed}");
        let dearer = |l: &buying::Line<'_>| {
            let o = &r.offers[l.place];
            o.breaks.iter().any(|b| b.packs > l.packs && b.price * Decimal::from(b.packs) < l.cost)
        };
        left += u32::from(p.orders.iter().flat_map(|o| &o.lines).any(dearer));
    }
    assert!(left > 10, "{left}");
}
