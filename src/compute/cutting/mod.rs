//! Cut lists: legs that may be joined anywhere, covered from stock lengths for the least total.
//!
//! The demand is not the textbook one. A leg may be made of several pieces at the price of a joint, and what
//! is left of a stock piece may finish another leg. What is minimised is
//!
//! `stock + joint cost x (pieces - legs) + cut cost x cuts`
//!
//! | file | subject |
//! |---|---|
//! | [`problem`] | the request: legs, stock, kerf, gap, least piece, prices, budget |
//! | [`fault`] | what can be wrong with a request, and what would fix it |
//! | `name` | names, shared by request, plan and answer |
//! | [`mod@plan`] | the answer: the cutting sheet row by row, every leg, totals, bound |
//! | [`mod@verify`] | the independent checker: proves a plan against its request |
//! | `simple` | the plain list, leg by leg, that every plan is compared with |
//! | `model` | the request in whole search units |
//! | `menu` | the least stock that yields a length: bound and choice |
//! | `component`, `chain`, `choices` | legs that share stock pieces, realised piece by piece, over the stock worth trying |
//! | `least_cut` | how many pieces must be cut, and what that costs at least |
//! | `support`, `flow` | which piece serves which leg, when the least piece or the joints bind |
//! | `few`, `states` | few legs: exact, by dynamic programming over sets of legs and limited stock |
//! | `many`, `improve` | many legs: start, and exact re-planning of small unions of groups |
//! | `matching`, `master`, `bound` | many legs: bounds from pairs of legs and from the linear programme over groups |
//! | `unjoined` | a start where no joints are allowed |
//! | `draw` | from pieces to the drawn plan |
//!
//! How it is exact: a plan falls apart into groups of legs connected by shared stock pieces. A group of `a`
//! legs and `b` stock pieces has at least `a + b - 1` pieces, so its cost is bounded below by a covering
//! problem in one number, the length needed, and a chain of cuts reaches that bound unless the least piece or
//! the joint limit forbids it; then the pieces are searched. The best partition of the legs into groups is
//! the optimum. A leg takes at most one piece out of one stock piece: only where the gap of a joint is wider than the
//! kerf could a second one gain anything.

mod bound;
mod chain;
mod choices;
mod component;
mod draw;
pub mod fault;
mod few;
mod flow;
mod improve;
mod least_cut;
mod many;
mod master;
mod matching;
mod menu;
mod model;
mod name;
pub mod plan;
pub mod problem;
mod simple;
mod states;
mod support;
mod unjoined;
pub mod verify;

pub use fault::CuttingFault;
pub use name::Name;
pub use plan::{CutPlan, LeftOut, LegPlan, Offcut, Piece, Row, Totals, WhyLeftOut};
pub use problem::{Leg, Problem, Source, Stock, Work};
pub use verify::{PlanFault, verify};

/// The cheapest cut list, its lower bound, and the plain list beside it.
///
/// The same request gives the same plan; the order of the legs changes no total. When the node budget ends
/// first, the best plan found is returned with `proven: false` and its gap.
///
/// # Errors
/// Every fault of the request at once, see [`CuttingFault`].
///
/// # Example
/// ```
/// # use rillcast::compute::{cutting::{self, Leg, Problem, Stock}, exact::Nm};
/// # use rust_decimal::Decimal;
/// // two legs of 1.5 m from 1 m lengths: one length is shared, so three are bought instead of four
/// let problem = Problem {
///     legs: vec![Leg::new("north", Nm::mm(1_500)), Leg::new("south", Nm::mm(1_500))],
///     stock: vec![Stock::bought("metre", Nm::mm(1_000), Decimal::from(60))],
///     ..Problem::default()
/// };
/// let plan = cutting::plan(&problem)?;
/// assert_eq!(plan.totals.total, Decimal::from(180));
/// assert!(plan.proven);
/// assert_eq!(plan.simple.map(|s| s.total), Some(Decimal::from(240)));
/// # Ok::<(), Vec<cutting::CuttingFault>>(())
/// ```
pub fn plan(problem: &Problem) -> Result<CutPlan, Vec<CuttingFault>> {
    let model = model::Model::build(problem)?;
    let simple = simple::list(&model);
    let found = many::solve(&model, simple.as_deref(), problem.node_budget)
        .ok_or_else(|| vec![simple::runs_out(&model)])?;
    let plan = draw::draw(problem, &model, simple.as_deref(), &found);
    match verify::verify(&plan, problem) {
        Ok(()) => Ok(plan),
        Err(faults) => Err(vec![CuttingFault::PlanRejected {
            first: faults.first().map(ToString::to_string).unwrap_or_default(),
        }]),
    }
}

/// What keeps a request from being cut at all, found without looking for a plan: a leg that its pieces cannot make up is among
/// it, whatever they cost.
#[must_use]
pub fn faults(problem: &Problem) -> Vec<CuttingFault> {
    model::Model::build(problem).err().unwrap_or_default()
}
