//! Proposed rates as they are shown.

use crate::compute::answers::BookUsed;
use crate::compute::job_record::draft::{scaled, scaled_setup};
use crate::compute::learning::RateEvidence;
use crate::compute::learning::propose::Proposal;
use crate::domain::words::{Measure, Soil, Task};
use crate::units::{Percent, Quantity, Unit};
use crate::wire::book::planning::HoursSpread;
use crate::wire::book::work::LaborRate;
use crate::wire::records::RateNumber;
use serde::Serialize;
use utoipa::ToSchema;

/// Rates proposed from finished jobs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct RateProposals {
    /// Version whose rates were judged.
    pub price_book: BookUsed,
    /// The day from which the age of jobs was counted.
    #[schema(format = Date)]
    pub as_of: String,
    /// Which number became the rate.
    pub number: RateNumber,
    /// Jobs that counted.
    pub jobs: usize,
    /// Whether there are more finished jobs than were looked at; the newest were. Absent in proposals of old.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub more_jobs: Option<bool>,
    /// Spread of one line about its rate, in percent of the logarithm.
    pub line_spread_pct: Percent,
    /// Spread that the lines of a job share.
    pub job_spread_pct: Percent,
    /// Rates with lines of their own, in the order of the book.
    pub rates: Vec<RateProposal>,
    /// What the proposed rates would have done to a past job.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub effect: Option<EffectOut>,
    /// Jobs and lines that were not used, those whose hours are in the rates already among them; each with its reason. A line is a
    /// task of a job.
    pub left_out: Vec<String>,
    /// Rule they follow; `GET /v1/rules` lists them all. Absent in proposals of old.
    #[schema(required = false)]
    pub rule: &'static str,
    /// How it was found.
    pub basis: String,
}

/// One proposed rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct RateProposal {
    /// The task.
    pub task: Task,
    /// The method.
    pub method: String,
    /// Class of tasks that it learns with, for example `earth`: rates of one class share what jobs tell of each.
    pub class: String,
    /// Lines that counted; those that are in the rate already are not among them.
    pub lines: usize,
    /// Setup and rates in the book and as proposed.
    pub hours: Vec<UnitHours>,
    /// New over old.
    pub ratio: String,
    /// Whether there is enough data to act on.
    pub enough: bool,
    /// Why, or why not.
    pub enough_basis: String,
    /// Whether it is in the draft.
    pub taken: bool,
    /// Why it is what it is, to check by hand.
    pub evidence: String,
    /// Actual hours of the next job over those of the rate in the book, before rounding, with their whole spread.
    pub next_job: NextJob,
    /// Spread of the hours at the proposed rate.
    pub spread: HoursSpread,
    /// Lines that stand far off and still count: leave them out by a person's word, or let them stand.
    pub flagged: Vec<FlaggedLine>,
    /// New over old if every flagged line were left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub ratio_without_flagged: Option<String>,
    /// Lines left out by a person's word.
    pub left_out: Vec<LeftOutLine>,
}

/// Hours of a rate, old and new.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct UnitHours {
    /// What is measured; absent for setup.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub measure: Option<Measure>,
    /// The unit the hours are for; absent for setup.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub unit: Option<Unit>,
    /// Soils it holds for; all when empty.
    pub soils: Vec<Soil>,
    /// Person-hours in the book.
    pub old: String,
    /// Person-hours as proposed.
    pub new: String,
}

/// Percentiles of the actual hours of the next job over those of the rate in the book, before rounding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct NextJob {
    /// In one job of ten the ratio is no more than this.
    pub p10: String,
    /// In one job of two the ratio is no more than this.
    pub p50: String,
    /// In eight jobs of ten the ratio is no more than this.
    pub p80: String,
    /// In nine jobs of ten the ratio is no more than this.
    pub p90: String,
    /// Mean: what the cost of many jobs goes by.
    pub mean: String,
}

/// A line that stands far off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct FlaggedLine {
    /// Job, `job_…`.
    pub job_id: String,
    /// Actual hours over those of the rate, before rounding.
    pub ratio: String,
    /// How many deviations off.
    pub score: String,
}

/// A line left out by a person's word.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LeftOutLine {
    /// Job, `job_…`.
    pub job_id: String,
    /// Actual hours over those of the rate, before rounding.
    pub ratio: String,
    /// Who said so.
    pub by: String,
    /// Why.
    pub reason: String,
}

/// What the proposed rates would have done to a past job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct EffectOut {
    /// Job, `job_…`.
    pub job_id: String,
    /// Person-hours that an estimate by the old rates has for the quantities done, rounded as they are paid.
    pub old: Quantity,
    /// The same by the rates of the draft.
    pub new: Quantity,
    /// All person-hours it took, those on tasks that were not estimated as well; absent where a task that was estimated has no
    /// hours recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub actual: Option<Quantity>,
}

/// To a hundredth of a percent, as people read it.
pub(super) fn percent(sd: f64) -> Percent {
    Percent::from_millionths(((sd * 10_000.0).round() as i64 * 100).clamp(0, 2_000_000))
}

pub(super) fn number(value: f64, places: u8) -> String {
    Quantity::computed(value, Unit::Each, places).to_string()
}

/// One rate with its evidence.
pub(super) fn rate_out(
    rate: &LaborRate,
    known: &RateEvidence,
    proposal: &Proposal,
    spread: HoursSpread,
    taken: bool,
) -> RateProposal {
    let mut hours = Vec::new();
    if let Some(setup) = rate.setup {
        hours.push(UnitHours {
            measure: None,
            unit: None,
            soils: Vec::new(),
            old: number(setup.seconds() as f64 / 3600.0, 6),
            new: number(scaled_setup(setup.seconds(), proposal.ratio) as f64 / 3600.0, 6),
        });
    }
    for unit in &rate.rates {
        hours.push(UnitHours {
            measure: Some(unit.measure),
            unit: Some(unit.unit),
            soils: unit.soils.to_vec(),
            old: unit.hours.to_string(),
            new: scaled(unit.hours, proposal.ratio).to_string(),
        });
    }
    let next = known.next_job;
    RateProposal {
        task: rate.task,
        method: rate.method.to_string(),
        class: known.class.to_string(),
        lines: known.lines,
        hours,
        ratio: number(proposal.ratio, 4),
        enough: proposal.enough.yes,
        enough_basis: proposal.enough.why.clone(),
        taken,
        evidence: proposal.evidence.clone(),
        next_job: NextJob {
            p10: number(next.p10, 4),
            p50: number(next.p50, 4),
            p80: number(next.p80, 4),
            p90: number(next.p90, 4),
            mean: number(known.mean_ratio, 4),
        },
        spread,
        flagged: known
            .flagged
            .iter()
            .map(|f| FlaggedLine {
                job_id: f.job.to_string(),
                ratio: number(f.ratio, 4),
                score: number(f.score, 2),
            })
            .collect(),
        ratio_without_flagged: known.median_ratio_without_flagged.map(|r| number(r, 4)),
        left_out: known
            .left_out
            .iter()
            .map(|l| LeftOutLine {
                job_id: l.job.to_string(),
                ratio: number(l.ratio, 4),
                by: l.exclusion.by.clone(),
                reason: l.exclusion.reason.clone(),
            })
            .collect(),
    }
}
