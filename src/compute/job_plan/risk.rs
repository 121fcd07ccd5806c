//! How sure the hours, the cost and the finish of a job are.

use super::tasks::Item;
use crate::compute::answers::BookUsed;
use crate::compute::labor::{LaborHours, hour_with_burden};
use crate::compute::plan::PlanRequest;
use crate::compute::risk::{Percentiles, RiskError, RiskRequest, RiskTask, Spread, simulate};
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, Outcome};
use crate::units::{Amount, Currency, Percent, Quantity, Unit};
use crate::wire::book::planning::HoursSpread;
use crate::wire::{At, Code, Faults};
use rust_decimal::prelude::ToPrimitive as _;
use serde::Serialize;
use utoipa::ToSchema;

/// How sure an estimate is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = RiskAnswer)]
pub struct RiskAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// How many draws.
    pub draws: u32,
    /// Of which seed: the same seed gives the same answer.
    pub seed: u64,
    /// Crew-hours as estimated.
    pub estimated_crew_hours: Quantity,
    /// Direct cost as estimated.
    pub estimated_cost: Amount,
    /// Crew-hours.
    pub crew_hours: HoursPercentiles,
    /// Direct cost: labor by its draws, everything else as estimated, hire as well.
    pub cost: CostPercentiles,
    /// Last day; only with a start.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub finish: Option<FinishDays>,
    /// What drives the spread, the largest share of the hours first.
    pub drivers: Vec<DriverOut>,
    /// What the wished confidence costs.
    pub contingency: ContingencyOut,
    /// Failed checks of the estimate: what they say is missing is in none of these hours and costs.
    pub checks: Vec<Check>,
    /// How it was found.
    pub basis: String,
}

/// Percentiles of hours.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct HoursPercentiles {
    /// In one job of ten it is no more than this.
    pub p10: Quantity,
    /// In one job of two it is no more than this.
    pub p50: Quantity,
    /// In eight jobs of ten it is no more than this.
    pub p80: Quantity,
    /// In nine jobs of ten it is no more than this.
    pub p90: Quantity,
    /// Mean.
    pub mean: Quantity,
    /// Standard deviation.
    pub standard_deviation: Quantity,
}

/// Percentiles of cost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CostPercentiles {
    /// In one job of ten it is no more than this.
    pub p10: Amount,
    /// In one job of two it is no more than this.
    pub p50: Amount,
    /// In eight jobs of ten it is no more than this.
    pub p80: Amount,
    /// In nine jobs of ten it is no more than this.
    pub p90: Amount,
    /// Mean.
    pub mean: Amount,
    /// Standard deviation.
    pub standard_deviation: Amount,
}

/// Percentiles of the last day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct FinishDays {
    /// In one job of ten the last day is no later than this.
    #[schema(format = Date)]
    pub p10: String,
    /// In one job of two the last day is no later than this.
    #[schema(format = Date)]
    pub p50: String,
    /// In eight jobs of ten the last day is no later than this.
    #[schema(format = Date)]
    pub p80: String,
    /// In nine jobs of ten the last day is no later than this.
    #[schema(format = Date)]
    pub p90: String,
}

/// A task's part in the spread.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = RiskDriver)]
pub struct DriverOut {
    /// Id of the task in the plan.
    pub task: String,
    /// Its share of the variance of the hours, in percent; shares add to 100.
    pub of_hours_pct: String,
    /// Its share of the variance of the cost, in percent.
    pub of_cost_pct: String,
    /// Its part in the spread of the finish, in percent; only with a start, and when the finish moves at all.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub of_finish_pct: Option<String>,
}

/// What a wished confidence costs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = RiskContingency)]
pub struct ContingencyOut {
    /// The wished confidence, in percent.
    pub confidence_pct: Percent,
    /// Crew-hours at that confidence.
    pub crew_hours: Quantity,
    /// Crew-hours above the estimate; 0 when the estimate is that sure already.
    pub extra_crew_hours: Quantity,
    /// Cost at that confidence.
    pub cost: Amount,
    /// Cost above the estimate: the contingency.
    pub extra_cost: Amount,
    /// The same in percent of the estimated cost.
    pub extra_cost_pct: String,
    /// Last day at that confidence; only with a start.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, format = Date)]
    pub finish: Option<String>,
    /// How sure the estimated hours are, in percent.
    pub confidence_of_estimated_hours_pct: String,
    /// How sure the estimated cost is, in percent.
    pub confidence_of_estimated_cost_pct: String,
}

/// How the draws are to be made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draws {
    /// How many.
    pub count: u32,
    /// The seed.
    pub seed: u64,
    /// Wished confidence.
    pub confidence: Percent,
}

/// Spread of hours where the book states none: 20 % of a task about its rate, 20 % of the rate itself, 15 % of the job
/// (common practice, no source).
const USUAL: HoursSpread =
    HoursSpread { task_pct: Percent::whole(20), rate_pct: Percent::whole(20), median_ratio: None };
const USUAL_JOB: Percent = Percent::whole(15);

fn share(pct: Percent) -> f64 {
    pct.millionths() as f64 / 1e6
}

/// Deviation that all tasks of a job share.
pub fn job_sd(book: &PriceBook) -> f64 {
    share(book.doc().plan_rules.as_ref().and_then(|r| r.job_spread_pct).unwrap_or(USUAL_JOB))
}

/// The spread of a rate: its own, that of the book, or the usual one.
fn spread(task: &crate::compute::labor::TaskHours, book: &PriceBook) -> Spread {
    let rate = Code::new(&task.method).and_then(|m| book.labor(task.task, Some(&m)));
    let stated = rate
        .and_then(|r| r.spread.as_ref())
        .or_else(|| book.doc().plan_rules.as_ref().and_then(|r| r.spread.as_ref()))
        .unwrap_or(&USUAL);
    Spread {
        median_log: stated.median_ratio.map_or(0.0, |m| libm::log(m.millionths() as f64 / 1e6)),
        own_sd: share(stated.task_pct),
        rate: Some((format!("{}.{}", task.task, task.method), share(stated.rate_pct))),
    }
}

/// The uncertain tasks of a job. Work done together takes the spread of the task with the most minutes.
pub fn tasks(items: &[Item], labor: &LaborHours, book: &PriceBook) -> Vec<RiskTask> {
    let mut out = Vec::new();
    for item in items.iter().filter(|i| !i.made_of.is_empty()) {
        let minutes: i64 = item.made_of.iter().map(|(_, m)| *m).sum();
        let most = item.made_of.iter().max_by_key(|(place, m)| (*m, std::cmp::Reverse(*place)));
        let Some(main) = most.and_then(|(place, _)| labor.tasks.get(*place)) else { continue };
        let money: f64 = item
            .made_of
            .iter()
            .filter_map(|(place, m)| Some((labor.tasks.get(*place)?, *m)))
            .map(|(task, m)| m as f64 / 60.0 * crew_hour(task, book))
            .sum();
        let crew_hours = minutes as f64 / 60.0;
        out.push(RiskTask {
            id: item.task.id.clone(),
            crew_hours,
            spread: spread(main, book),
            cost_per_crew_hour: if crew_hours > 0.0 { money / crew_hours } else { 0.0 },
        });
    }
    out
}

fn crew_hour(task: &crate::compute::labor::TaskHours, book: &PriceBook) -> f64 {
    task.crew
        .iter()
        .filter_map(|c| {
            let trade = book.trade(&Code::new(&c.trade)?)?;
            Some(hour_with_burden(trade).decimal().to_f64()? * c.count as f64)
        })
        .sum()
}

fn pct(share: f64) -> String {
    Quantity::computed(share * 100.0, Unit::Each, 2).to_string()
}

fn hours_of(p: &Percentiles) -> HoursPercentiles {
    let q = |v: f64| Quantity::computed(v, Unit::Hr, 3);
    HoursPercentiles {
        p10: q(p.p10),
        p50: q(p.p50),
        p80: q(p.p80),
        p90: q(p.p90),
        mean: q(p.mean),
        standard_deviation: q(p.sd),
    }
}

fn cost_of(p: &Percentiles) -> CostPercentiles {
    CostPercentiles {
        p10: Amount::simulated(p.p10),
        p50: Amount::simulated(p.p50),
        p80: Amount::simulated(p.p80),
        p90: Amount::simulated(p.p90),
        mean: Amount::simulated(p.mean),
        standard_deviation: Amount::simulated(p.sd),
    }
}

/// What a simulation is made of.
#[derive(Debug)]
pub struct Uncertain<'a> {
    /// The tasks.
    pub tasks: Vec<RiskTask>,
    /// Deviation that they share.
    pub job_sd: f64,
    /// Cost as estimated, in all.
    pub estimated: Amount,
    /// Checks of the estimate.
    pub checks: &'a [Check],
    /// The plan, anchored at a start, where there is one.
    pub plan: Option<&'a PlanRequest>,
}

/// Draws the job again and again.
///
/// # Errors
/// Numbers out of range, or more work than one run may take.
pub fn risk(
    job: &Uncertain<'_>,
    draws: Draws,
    price_book: BookUsed,
    currency: Currency,
) -> Result<RiskAnswer, Faults> {
    let drawn: f64 = job.tasks.iter().map(|t| t.crew_hours * t.cost_per_crew_hour).sum();
    let request = RiskRequest {
        tasks: job.tasks.clone(),
        job_sd: job.job_sd,
        // All but the hours that are drawn: with these as they are estimated a draw costs the estimate, unless
        // they alone cost more.
        fixed_cost: (job.estimated.decimal().to_f64().unwrap_or(0.0) - drawn).max(0.0),
        plan: job.plan,
        draws: draws.count,
        seed: draws.seed,
        confidence: share(draws.confidence),
    };
    let found = simulate(&request).map_err(|errors| faults(&errors))?;
    let c = &found.contingency;
    let q = |v: f64| Quantity::computed(v, Unit::Hr, 3);
    // Differences of the figures as they are shown, so that they foot.
    let shown = |hours: f64| (hours * 1_000.0).round() / 1_000.0;
    let extra_hours = (shown(c.hours) - shown(found.estimated_hours)).max(0.0);
    let cost = Amount::simulated(c.cost);
    let extra_cost = (cost - job.estimated).max(Amount::ZERO);
    let part = extra_cost.minor() as f64 / (job.estimated.minor().max(1)) as f64;
    Ok(RiskAnswer {
        engine: crate::compute::ENGINE,
        price_book,
        currency,
        draws: found.draws,
        seed: found.seed,
        estimated_crew_hours: q(found.estimated_hours),
        estimated_cost: job.estimated,
        crew_hours: hours_of(&found.hours),
        cost: cost_of(&found.cost),
        finish: found.finish.map(|f| FinishDays {
            p10: f.p10.to_string(),
            p50: f.p50.to_string(),
            p80: f.p80.to_string(),
            p90: f.p90.to_string(),
        }),
        drivers: found
            .drivers
            .iter()
            .map(|d| DriverOut {
                task: d.task.to_string(),
                of_hours_pct: pct(d.of_hours),
                of_cost_pct: pct(d.of_cost),
                of_finish_pct: d.of_finish.map(pct),
            })
            .collect(),
        contingency: ContingencyOut {
            confidence_pct: draws.confidence,
            crew_hours: q(c.hours),
            extra_crew_hours: q(extra_hours),
            cost,
            extra_cost,
            extra_cost_pct: pct(part),
            finish: c.finish.map(|d| d.to_string()),
            confidence_of_estimated_hours_pct: pct(c.confidence_of_estimated_hours),
            confidence_of_estimated_cost_pct: pct(c.confidence_of_estimated_cost),
        },
        checks: job.checks.iter().filter(|c| c.outcome == Outcome::Fail).cloned().collect(),
        basis: format!(
            "{}; the cost moves with the hours of labor alone: hire and all else stay as estimated, also where the job takes more \
             days",
            found.basis
        ),
    })
}

fn faults(errors: &[RiskError]) -> Faults {
    let mut faults = Faults::new();
    let root = At::ROOT;
    for error in errors {
        let text = error.to_string();
        match error {
            RiskError::TooMuch { .. } => faults.add(&root.member("draws"), "out_of_range", text),
            RiskError::Number { field, .. } if field == "confidence" => faults.add(
                &root.member("confidence_pct"),
                "out_of_range",
                "a confidence from 1 to 99 percent",
            ),
            _ => faults.add(&root, "cannot_be_simulated", text),
        };
    }
    faults
}
