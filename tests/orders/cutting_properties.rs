//! What must hold of every cut list, whatever the figures.

use crate::cutting_solver::Small;
use crate::random::Dice;
use proptest::prelude::*;
use rillcast::compute::{
    cutting::{self, CutPlan, Leg, Problem, Stock, Work},
    exact::Nm,
};
use rust_decimal::Decimal;

fn plan(p: &Problem) -> CutPlan {
    cutting::plan(p).unwrap()
}

/// What must hold holds of a search that ends early too; some lists would be searched for minutes.
fn problem(s: &Small) -> Problem {
    Problem { node_budget: 200_000, ..s.problem() }
}

fn small() -> impl Strategy<Value = Small> {
    (any::<u64>(), 1_usize..6).prop_map(|(seed, legs)| {
        let mut s = Small::random(seed);
        let longest = s.stock.iter().filter(|k| k.2.is_none()).map(|k| k.0).max().unwrap();
        let mut d = Dice::new(seed ^ 0xABCD);
        s.legs = (0..legs).map(|_| d.within(5, 3 * longest)).collect();
        s.max_joints = None;
        s
    })
}

/// Legs in 64ths of an inch from three stock lengths, as a job has them.
pub fn job(legs: usize, longest_mm: i64, seed: u64) -> Problem {
    let mut d = Dice::new(seed);
    let cost =
        |parts: i64, minutes: i64| Work { parts: Decimal::from(parts), minutes: Decimal::from(minutes) };
    Problem {
        legs: (0..legs)
            .map(|i| Leg::new(format!("leg {i}"), Nm::in_64ths(d.within(800, longest_mm) * 640 / 254)))
            .collect(),
        stock: vec![
            Stock::bought("1 m", Nm::mm(1_000), Decimal::from(60)),
            Stock::bought("2 m", Nm::mm(2_000), Decimal::from(112)),
            Stock::bought("3 m", Nm::mm(3_000), Decimal::from(165)),
        ],
        kerf: Nm::in_64ths(8),
        least_piece: Nm::mm(150),
        joint: cost(3, 5),
        cut: cost(1, 4),
        rate_per_hour: Decimal::from(60),
        keep: Nm::mm(300),
        ..Problem::default()
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn the_order_of_the_legs_changes_no_total(s in small(), turn in 0_usize..6) {
        let Ok(a) = cutting::plan(&problem(&s)) else { return Ok(()) };
        let mut t = s.clone();
        let n = t.legs.len();
        t.legs.rotate_left(turn % n);
        let b = plan(&problem(&t));
        prop_assert_eq!(&a.totals, &b.totals);
        prop_assert_eq!((a.lower_bound, a.proven, a.nodes), (b.lower_bound, b.proven, b.nodes));
    }

    #[test]
    fn the_same_request_gives_the_same_plan(s in small()) {
        prop_assert_eq!(cutting::plan(&problem(&s)), cutting::plan(&problem(&s)));
    }

    #[test]
    fn dearer_stock_never_lowers_the_cost(s in small(), kind in 0_usize..3, more in 1_i64..30) {
        let Ok(a) = cutting::plan(&problem(&s)) else { return Ok(()) };
        let mut t = s.clone();
        let k = kind % t.stock.len();
        t.stock[k].1 += more;
        let b = plan(&problem(&t));
        prop_assume!(a.proven && b.proven);
        prop_assert!(a.totals.total <= b.totals.total);
    }

    /// With cuts free: a leg that grows to just a whole stock length saves a cut, and may cost less for it.
    /// The least piece and gaps aside, as they can force a split.
    #[test]
    fn a_longer_leg_never_costs_less(mut s in small(), leg in 0_usize..6, more in 1_i64..20) {
        (s.least, s.gap, s.cut) = (1, 0, 0);
        let Ok(a) = cutting::plan(&problem(&s)) else { return Ok(()) };
        let mut t = s.clone();
        let n = t.legs.len();
        t.legs[leg % n] += more;
        let Ok(b) = cutting::plan(&problem(&t)) else { return Ok(()) };
        prop_assume!(a.proven && b.proven);
        prop_assert!(a.totals.total <= b.totals.total);
    }

    /// With cuts free: a kerf can make a stock piece come out even and save its last cut.
    #[test]
    fn no_kerf_is_never_worse(mut s in small()) {
        s.cut = 0;
        let Ok(a) = cutting::plan(&problem(&s)) else { return Ok(()) };
        s.kerf = 0;
        let b = plan(&problem(&s));
        prop_assume!(a.proven && b.proven);
        prop_assert!(b.totals.total <= a.totals.total);
    }

    #[test]
    fn two_jobs_together_never_cost_more_than_apart(s in small(), split in 1_usize..5) {
        let mut s = s;
        s.stock.retain(|k| k.2.is_none());
        let at = split.min(s.legs.len());
        let part = |legs: &[i64]| Small { legs: legs.to_vec(), ..s.clone() };
        let (Ok(a), Ok(b)) = (cutting::plan(&problem(&part(&s.legs[..at]))), cutting::plan(&problem(&part(&s.legs[at..])))) else {
            return Ok(());
        };
        let both = plan(&problem(&s));
        prop_assume!(both.proven);
        prop_assert!(both.totals.total <= a.totals.total + b.totals.total);
    }

    #[test]
    fn never_dearer_than_the_plain_list(s in small()) {
        if let Ok(p) = cutting::plan(&problem(&s)) {
            prop_assert!(p.saving.is_none_or(|x| x >= Decimal::ZERO));
        }
    }
}

#[test]
fn a_usual_job_is_proven_and_beats_the_plain_list() {
    let mut saved = Decimal::ZERO;
    for seed in 0..20 {
        let p = plan(&job(10, 9_000, seed));
        assert!(p.proven, "seed {seed}");
        saved += p.saving.unwrap();
    }
    assert!(saved > Decimal::ZERO);
}

#[test]
fn two_hundred_legs_stay_within_one_percent_of_the_bound() {
    for (seed, longest) in [(1, 9_000), (2, 3_000)] {
        let request = job(200, longest, seed);
        let p = plan(&request);
        assert!(p.gap_share <= Decimal::new(1, 2), "gap {}", p.gap_share);
        assert!(p.nodes <= request.node_budget);
        assert!(p.saving.unwrap() > Decimal::ZERO);
    }
}

#[test]
fn a_small_budget_still_gives_a_checked_plan_and_a_bound() {
    for nodes in [0, 1, 10, 100, 1_000, 10_000, 100_000] {
        let mut request = job(60, 6_000, 3);
        request.stock.push(Stock::yard("offcut", Nm::mm(1_234)));
        request.node_budget = nodes;
        let p = plan(&request);
        assert!(p.lower_bound > Decimal::ZERO && p.lower_bound <= p.totals.total);
        assert!(p.nodes <= nodes.max(1));
    }
}

#[test]
fn permuting_many_legs_changes_no_total() {
    let a = job(80, 5_000, 9);
    let mut b = a.clone();
    b.legs.reverse();
    let (pa, pb) = (plan(&a), plan(&b));
    assert_eq!((pa.totals, pa.lower_bound), (pb.totals, pb.lower_bound));
}

#[test]
fn a_yard_offcut_is_used_when_no_dearer() {
    let mut request = job(1, 900, 1);
    request.legs = vec![Leg::new("a", Nm::mm(700))];
    request.stock.push(Stock { price: Decimal::from(60), ..Stock::yard("offcut", Nm::mm(1_000)) });
    let p = plan(&request);
    // the same price as new: the yard wins the tie
    assert_eq!(p.sheet[0].stock, "offcut");
    assert_eq!(p.totals.total, Decimal::from(65));
}

#[test]
fn kept_offcuts_are_listed_and_valued_beside_the_total() {
    let mut request = job(1, 900, 1);
    request.legs = vec![Leg::new("a", Nm::mm(500))];
    request.kerf = Nm::mm(2);
    request.offcut_value_per_metre = Decimal::from(10);
    let p = plan(&request);
    assert_eq!(p.offcuts.len(), 1);
    assert_eq!(p.offcuts[0].length, Nm::mm(498));
    assert_eq!(p.offcut_value, Decimal::new(498, 2));
    assert_eq!(p.totals.total, Decimal::from(65));
}

#[test]
fn grates_with_gaps_and_bars_with_laps_cover_end_to_end() {
    // three grates of 1 m and two gaps of 5 mm cover 3.010 m
    let mut request = job(1, 900, 1);
    request.stock = vec![Stock::bought("grate", Nm::mm(1_000), Decimal::from(40))];
    request.gap = Nm::mm(5);
    request.legs = vec![Leg::new("a", Nm::mm(3_010))];
    let p = plan(&request);
    assert_eq!((p.totals.stock_pieces, p.totals.cuts), (3, 0));
    let [row] = p.sheet.as_slice() else { panic!("one row: {:?}", p.sheet) };
    assert_eq!((row.number, row.count, row.pieces[0].length), (1, 3, Nm::mm(1_000)));
    assert_eq!((row.pieces[0].from, row.pieces[0].to), (Nm(0), Nm::mm(3_010)));
    // three bars of 6 m lapped by 0.5 m cover 17 m
    request.stock = vec![Stock::bought("bar", Nm::mm(6_000), Decimal::from(9))];
    request.gap = Nm::mm(-500);
    request.legs = vec![Leg::new("a", Nm::mm(17_000))];
    let p = plan(&request);
    assert_eq!((p.totals.stock_pieces, p.totals.cuts), (3, 0));
    let [row] = p.sheet.as_slice() else { panic!("one row: {:?}", p.sheet) };
    assert_eq!((row.count, row.pieces[0].to), (3, Nm::mm(17_000)));
}

#[test]
fn settings_are_as_few_as_the_crew_can_lift() {
    let mut request = job(1, 900, 1);
    request.stock.truncate(1);
    request.legs = vec![Leg::new("a", Nm::mm(7_000))];
    request.longest_setting = Some(Nm::mm(3_000));
    let p = plan(&request);
    let lengths: Vec<i64> = p.legs[0].settings.iter().map(|s| (s.to.0 - s.from.0) / 1_000_000).collect();
    assert_eq!(lengths, [3_000, 3_000, 1_000]);
}
