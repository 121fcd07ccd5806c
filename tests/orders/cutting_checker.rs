//! The checker finds what is wrong: plans are broken in every way a plan can be, and each is rejected.

use crate::cutting_properties::job;
use rillcast::compute::{
    cutting::{self, CutPlan, Leg, PlanFault, Problem, Row, Stock, verify},
    exact::Nm,
};
use rust_decimal::Decimal;

fn good() -> (Problem, CutPlan) {
    let mut p = job(6, 6_000, 4);
    p.max_joints_per_leg = Some(8);
    p.stock.push(Stock::yard("offcut", Nm::mm(1_750)));
    // of several whole stock pieces
    p.legs.push(Leg::new("long", Nm::mm(14_000)));
    let plan = cutting::plan(&p).unwrap();
    assert_eq!(verify(&plan, &p), Ok(()));
    (p, plan)
}

#[track_caller]
fn rejected(change: impl Fn(&mut CutPlan, &mut Problem), expected: impl Fn(&PlanFault) -> bool) {
    let (mut p, mut plan) = good();
    change(&mut plan, &mut p);
    let faults = verify(&plan, &p).unwrap_err();
    assert!(faults.iter().any(expected), "{faults:?}");
}

#[test]
fn a_piece_too_long_for_its_stock() {
    rejected(|_, p| p.kerf = Nm::mm(900), |f| matches!(f, PlanFault::Overfull { .. }));
    rejected(
        |plan, _| {
            let s = plan.sheet.iter_mut().find(|s| s.left.0 > 0).unwrap();
            s.left = Nm(s.left.0 + 1);
        },
        |f| matches!(f, PlanFault::Overfull { .. }),
    );
}

#[test]
fn a_leg_not_covered_or_covered_twice() {
    rejected(
        |plan, _| {
            plan.sheet.pop();
        },
        |f| matches!(f, PlanFault::Cover { .. }),
    );
    rejected(
        |plan, _| {
            let again = plan.sheet[0].clone();
            plan.sheet.push(again);
        },
        |f| matches!(f, PlanFault::Cover { .. }),
    );
    rejected(|plan, _| several(plan).pieces[0].to.0 += 1, |f| matches!(f, PlanFault::Cover { .. }));
    rejected(|_, p| p.gap = Nm(1), |f| matches!(f, PlanFault::Cover { .. }));
    rejected(|_, p| p.legs[2].length = Nm(p.legs[2].length.0 + 1), |f| matches!(f, PlanFault::Cover { .. }));
    rejected(
        |plan, _| plan.sheet[0].pieces[0].leg = "nowhere".into(),
        |f| matches!(f, PlanFault::Unknown { .. }),
    );
}

/// A row of several whole stock pieces.
fn several(plan: &mut CutPlan) -> &mut Row {
    plan.sheet.iter_mut().find(|s| s.count > 1).unwrap()
}

#[test]
fn a_row_that_is_not_of_whole_pieces_or_does_not_follow_on() {
    let row = |f: &PlanFault| matches!(f, PlanFault::Row { .. });
    rejected(|plan, _| several(plan).count = 0, row);
    rejected(|plan, _| several(plan).count += 1, row);
    rejected(|plan, _| plan.sheet.iter_mut().find(|s| s.cuts > 0).unwrap().count = 2, row);
    rejected(|plan, _| plan.sheet[0].number = 2, row);
    rejected(|plan, _| several(plan).count += 1, |f| matches!(f, PlanFault::Figure { .. }));
}

#[test]
fn rules_of_the_request_broken() {
    rejected(|_, p| p.least_piece = Nm::mm(2_999), |f| matches!(f, PlanFault::PieceLength { .. }));
    rejected(|_, p| p.longest_setting = Some(Nm::mm(1_000)), |f| matches!(f, PlanFault::PieceLength { .. }));
    rejected(|_, p| p.max_joints_per_leg = Some(0), |f| matches!(f, PlanFault::Joints { .. }));
    rejected(|_, p| p.stock[2].available = Some(1), |f| matches!(f, PlanFault::TooMany { .. }));
    rejected(|_, p| p.stock[2].price = Decimal::from(164), |f| matches!(f, PlanFault::Unknown { .. }));
}

#[test]
fn figures_that_do_not_follow() {
    let figure = |f: &PlanFault| matches!(f, PlanFault::Figure { .. });
    rejected(|plan, _| plan.totals.total -= Decimal::new(1, 6), figure);
    rejected(|plan, _| plan.totals.joints += 1, figure);
    rejected(|plan, _| plan.lower_bound += Decimal::from(1), figure);
    rejected(|plan, _| plan.proven = !plan.proven, figure);
    rejected(|plan, _| plan.saving = Some(Decimal::ONE_HUNDRED), figure);
    rejected(|plan, _| plan.totals.left = Nm(0), figure);
    rejected(|_, p| p.rate_per_hour += Decimal::ONE, figure);
    rejected(|plan, _| plan.offcuts.clear(), |f| matches!(f, PlanFault::Offcuts));
}

#[test]
fn the_leg_list_must_tell_the_same_story() {
    let long = |plan: &CutPlan| plan.legs.iter().position(|l| l.pieces.len() > 1).unwrap();
    rejected(
        |plan, _| {
            let at = long(plan);
            plan.legs[at].pieces.reverse();
        },
        |f| matches!(f, PlanFault::LegList { .. }),
    );
    rejected(|plan, _| plan.legs[1].pieces[0].place += 1, |f| matches!(f, PlanFault::LegList { .. }));
    rejected(|plan, _| plan.legs[1].settings.clear(), |f| matches!(f, PlanFault::LegList { .. }));
    rejected(|plan, _| plan.legs.swap(0, 1), |f| matches!(f, PlanFault::LegList { .. }));
}
