//! The cut list against committed optima of a solver from outside, and textbook examples.

use crate::cases::read;
use crate::cutting_solver::Small;
use rillcast::compute::{
    cutting::{self, Leg, Problem, Stock},
    exact::Nm,
};
use rust_decimal::Decimal;
use serde_json::Value;

fn small(c: &Value) -> Small {
    let int = |v: &Value| v.as_i64().unwrap();
    let count = |v: &Value| v.as_u64().map(|n| u32::try_from(n).unwrap());
    Small {
        legs: c["legs"].as_array().unwrap().iter().map(int).collect(),
        stock: c["stock"]
            .as_array()
            .unwrap()
            .iter()
            .map(|s| (int(&s[0]), int(&s[1]), count(&s[2])))
            .collect(),
        kerf: int(&c["kerf"]),
        gap: int(&c["gap"]),
        least: int(&c["least"]),
        whole: false,
        max_joints: count(&c["max_joints"]),
        joint: int(&c["joint"]),
        cut: int(&c["cut"]),
    }
}

/// Optima by HiGHS on the model of `tests/outside/cutting_cases.py`.
#[test]
fn committed_optima_are_met_and_proven() {
    let cases = read("cutting");
    let mut plans = 0;
    for c in &cases {
        match (cutting::plan(&small(c).problem()), c["total"].as_i64()) {
            (Ok(p), Some(total)) => {
                assert_eq!(p.totals.total, Decimal::from(total), "{c}");
                assert!(p.proven, "{c}");
                plans += 1;
            }
            (Err(_), None) => {}
            (ours, _) => panic!("{c}: {ours:?}"),
        }
    }
    assert!(plans >= 150, "{plans}");
}

fn pieces(stock: i64, demand: &[(i64, usize)]) -> Problem {
    let legs = demand
        .iter()
        .flat_map(|&(len, n)| (0..n).map(move |i| Leg::new(format!("{len} no. {i}"), Nm::mm(len))))
        .collect();
    let stock = vec![Stock::bought("stock", Nm::mm(stock), Decimal::ONE)];
    Problem { legs, stock, max_joints_per_leg: Some(0), ..Problem::default() }
}

/// Winston, Operations Research, section on solving linear programmes by column generation (the lumber yard
/// that cuts 17 ft boards into 25 of 3 ft, 20 of 5 ft and 15 of 9 ft); from memory. By hand: 310 ft of demand
/// need at least 19 boards, and 15 of 9 + 5 + 3 with 4 for the rest (5 + 4 x 3 and 3 of at most 17) are 19.
#[test]
fn textbook_boards_without_joints() {
    let p = cutting::plan(&pieces(17, &[(3, 25), (5, 20), (9, 15)])).unwrap();
    assert_eq!(p.totals.stock_pieces, 19);
    assert!(p.proven);
}

/// The classic three-width trim problem of Gilmore and Gomory's kind: 20 of 9, 12 of 7 and 8 of 6 from rolls
/// of 20; sizes are ours, the optimum is by hand: 312 of width need at least 16 rolls, and no roll holds
/// three of 9 or 7, so at most two of those 32 pieces share one, which makes 16 rolls of them; the eight of 6
/// go on with 7 + 7 (two of 7 and one of 6 fill 20), six of them, and two are left for one roll more.
#[test]
fn rolls_without_joints_by_hand() {
    let p = cutting::plan(&pieces(20, &[(9, 20), (7, 12), (6, 8)])).unwrap();
    assert_eq!(p.totals.stock_pieces, 17);
    assert!(p.proven);
}

/// Legs that may be joined anywhere need no more stock than their length when joints are free.
#[test]
fn free_joints_leave_only_the_last_offcut() {
    let mut p = pieces(20, &[(9, 20), (7, 12), (6, 8)]);
    p.max_joints_per_leg = None;
    let plan = cutting::plan(&p).unwrap();
    assert_eq!((plan.totals.stock_pieces, plan.proven), (16, true));
}

/// 4 mm are left of 10: kept where so much is worth keeping, and not where more is asked for.
#[test]
fn an_offcut_of_just_the_length_that_is_kept_is_kept() {
    let kept = |keep: i64| {
        let p = Problem { keep: Nm::mm(keep), ..pieces(10, &[(6, 1)]) };
        cutting::plan(&p).unwrap().offcuts.len()
    };
    assert_eq!([kept(4), kept(5)], [1, 0]);
}
