//! Lists that the exact search does not settle: they are improved as long lists are, so that sharing stock over a job never
//! costs more than cutting its parts apart.

use crate::random::Dice;
use rillcast::compute::cutting::{self, CutPlan, Leg, Problem, Stock, Work};
use rillcast::compute::exact::Nm;
use rust_decimal::Decimal;

/// Sections of four feet at 68.50 with a least piece of a foot, joints at 21.42 and cuts at 12.78; legs in eighths of an inch.
fn sections(legs: &[i64], nodes: u64) -> CutPlan {
    const EIGHTH: i64 = 3_175_000;
    let work = |minor: i64| Work { parts: Decimal::new(minor, 2), minutes: Decimal::ZERO };
    let legs = legs.iter().enumerate().map(|(n, leg)| Leg::new(format!("leg {n}"), Nm(leg * EIGHTH)));
    let problem = Problem {
        legs: legs.collect(),
        stock: vec![Stock::bought("section", Nm(48 * 8 * EIGHTH), Decimal::new(6_850, 2))],
        kerf: Nm(EIGHTH),
        least_piece: Nm(12 * 8 * EIGHTH),
        joint: work(2_142),
        cut: work(1_278),
        node_budget: nodes,
        ..Problem::default()
    };
    cutting::plan(&problem).unwrap()
}

/// Search steps of a list of few legs where nobody names them.
const USUAL: u64 = 400_000;

#[test]
fn a_list_that_is_not_settled_is_improved_beyond_the_plain_one() {
    let five = [238 * 8, 147 * 8 + 3, 50 * 8 + 1, 329 * 8 + 6, 338 * 8];
    let found = sections(&five, USUAL);
    assert!(found.totals.total <= Decimal::new(217_050, 2), "{:?}", found.totals);
    assert_eq!(found.simple.unwrap().total, Decimal::new(233_306, 2));
    let eight = [238 * 8, 147 * 8 + 3, 364 * 8, 50 * 8 + 1, 329 * 8 + 6, 338 * 8, 485 * 8, 346 * 8];
    let found = sections(&eight, USUAL);
    assert!(found.totals.total <= Decimal::new(438_834, 2), "{:?}", found.totals);
}

#[test]
fn all_legs_together_cost_no_more_than_two_halves() {
    let mut dice = Dice::new(12_345);
    let mut hard = 0;
    for _ in 0..60 {
        let count = dice.within(4, 12);
        let legs: Vec<i64> = (0..count).map(|_| dice.within(104, 3_943)).collect();
        let whole = sections(&legs, USUAL);
        hard += i32::from(!whole.proven);
        let (left, right) = legs.split_at(legs.len() / 2);
        let apart = sections(left, USUAL).totals.total + sections(right, USUAL).totals.total;
        assert!(whole.totals.total <= apart, "{legs:?}: {} against {apart}", whole.totals.total);
    }
    assert!(hard > 0, "every list was settled");
}
