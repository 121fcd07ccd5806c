//! Rates learned from finished jobs, and what they would have done to one of them. Nothing changes by itself.
//!
//! | file | subject |
//! |---|---|
//! | this one | from finished jobs to proposed rates |
//! | `lines` | the lines of a job that are learned from, and why others are left out |
//! | `held` | whose hours are in a rate already, and how well it is known by them |
//! | `settings` | what a request sets of learning, in percent |
//! | `effect` | what the proposed rates would have done to a past job |
//! | `answer` | the proposals as they are shown |

mod answer;
mod effect;
mod held;
mod lines;
mod settings;

pub use answer::{EffectOut, FlaggedLine, LeftOutLine, NextJob, RateProposal, RateProposals, UnitHours};
use answer::{percent, rate_out};
pub use effect::Past;
use held::Held;
pub use held::{Earlier, LearnedFrom};
use lines::lines;

use super::draft::with_taken;
use super::many::Finished;
use crate::compute::answers::BookUsed;
use crate::compute::learning::propose::{Quote, propose};
use crate::compute::learning::{
    ClassId, Exclusion, JobId, LearnRequest, Learned, Observation, RateEvidence, RateId, learn,
};
use crate::domain::book::PriceBook;
use crate::domain::words::Task;
use crate::units::{Factor, Percent};
use crate::wire::book::planning::HoursSpread;
use crate::wire::records::{ProposalIn, RateNumber, RatesTaken};
use crate::wire::{At, Faults};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Classes of tasks whose rates tend to be off together.
fn class(task: Task) -> &'static str {
    match task {
        Task::DigRun | Task::DigLine | Task::Backfill | Task::Haul => "earth",
        Task::SawCut | Task::BreakOut | Task::Restore => "surface",
        Task::AssembleChannel | Task::FitGrates | Task::HangAndBrace => "channel",
        Task::LayPipe | Task::Connect => "pipe",
        Task::Form | Task::MixConcrete | Task::Pour | Task::Finish | Task::StripAndClean => "concrete",
        Task::Mobilize | Task::MarkAndProtect | Task::ClearUp => "site",
    }
}

/// The name of a rate in a run: its place in the book.
fn rate_id(place: usize) -> Option<RateId> {
    RateId::new(format!("rate-{place:03}")).ok()
}

/// What was found, with the new rate of each place of the book that goes into the draft.
#[derive(Debug)]
pub struct Found {
    /// What is shown.
    pub proposals: RateProposals,
    /// Ratio and spread by place in the book.
    pub taken: BTreeMap<usize, (f64, HoursSpread)>,
    /// Spread that the lines of a job share.
    pub job_spread: Percent,
    /// Whose hours moved the taken rates: kept beside the proposals, so that they move no rate twice.
    pub learned_from: Vec<LearnedFrom>,
}

/// What rates are proposed from, beside the finished jobs and what is asked for.
#[derive(Debug)]
pub struct Grounds<'a> {
    /// The day from which the age of jobs is counted.
    pub as_of: Date,
    /// The book whose rates are judged.
    pub book: &'a PriceBook,
    /// Which version that is.
    pub used: BookUsed,
    /// Proposals of old for this book.
    pub earlier: &'a [Earlier],
    /// Jobs that could not be reckoned; each with its reason.
    pub left_out: Vec<String>,
    /// Whether there are more finished jobs than were looked at.
    pub more_jobs: bool,
    /// The past job on which the effect is shown, where one is asked for.
    pub past: Option<Past<'a>>,
}

/// Learns from finished jobs and proposes rates for the book. The hours of the jobs are those of this very book, by the
/// methods and quantities as done. Hours that are in a rate already move it no more; new ones weigh against them.
///
/// # Errors
/// Words on lines that are not there, settings out of range.
pub fn proposals(jobs: &[Finished], ask: &ProposalIn, grounds: Grounds<'_>) -> Result<Found, Faults> {
    let Grounds { as_of, book, used, earlier, mut left_out, more_jobs, past } = grounds;
    let held: Vec<Held<'_>> =
        book.doc().labor.iter().map(|rate| Held::of(rate, used.number, earlier)).collect();
    let mut faults = Faults::new();
    let mut observations = Vec::new();
    let mut lines_held: BTreeMap<usize, usize> = BTreeMap::new();
    let mut learned_jobs: Vec<&Finished> = Vec::new();
    for finished in jobs {
        let Some(finished_on) = finished.actuals.finished_on else { continue };
        if finished_on > as_of {
            left_out.push(format!("{}: finished on {finished_on}, after {as_of}", finished.job));
            continue;
        }
        let lines = lines(finished, book, &held, &mut left_out);
        for line in &lines {
            if line.since.is_some() {
                *lines_held.entry(line.place).or_default() += 1;
                continue;
            }
            let (Ok(job), Some(rate)) = (JobId::new(finished.job.as_str()), rate_id(line.place)) else {
                continue;
            };
            let word =
                ask.leave_out.iter().find(|l| l.job_id.as_str() == finished.job && l.task == line.task);
            observations.push(Observation {
                job,
                finished_on,
                rate,
                estimated_hours: line.estimated,
                actual_hours: line.actual,
                excluded: word.map(|w| Exclusion { by: w.by.to_string(), reason: w.reason.to_string() }),
            });
        }
        learned_jobs.push(finished);
    }
    let root = At::ROOT;
    let list = root.member("leave_out");
    for (i, word) in ask.leave_out.iter().enumerate() {
        // A word on a line that is left out anyway is kept.
        let there = |f: &Finished| f.job == word.job_id.as_str() && f.actuals.hours_of(word.task) > 0.0;
        if !learned_jobs.iter().copied().any(there) {
            let here = list.element(i);
            faults.value(
                &here,
                "unknown_line",
                word.job_id.as_str(),
                format!("no finished job of this id has hours of `{}` to leave out", word.task),
            );
        }
    }
    let mut settings = settings::read(ask.settings.as_ref(), &root.member("settings"), &mut faults);
    let effect_job = match &ask.effect_on_job {
        None => None,
        Some(id) => {
            let found = learned_jobs.iter().find(|f| f.job == id.as_str());
            if found.is_none() {
                faults.value(
                    &root.member("effect_on_job"),
                    "unknown_job",
                    id.as_str(),
                    "no finished job of this id is among those learned from",
                );
            }
            found
        }
    };
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut rates = BTreeMap::new();
    let mut known = BTreeMap::new();
    let mut old = BTreeMap::new();
    for (place, rate) in book.doc().labor.iter().enumerate() {
        let (Some(id), Ok(class)) = (rate_id(place), ClassId::new(class(rate.task))) else { continue };
        rates.insert(id.clone(), class);
        let lines = lines_held.get(&place).copied().unwrap_or_default();
        if let Some(left) = held.get(place).and_then(|h| h.known(rate, lines)) {
            known.insert(id.clone(), left);
        }
        // The evidence shows the first unit; every hour of the rate takes the same ratio.
        let first = rate.rates.first().map_or(1.0, |r| r.hours.millionths() as f64 / 1e6);
        old.insert(id, first);
    }
    settings.most_rates = settings.most_rates.max(rates.len());
    // Lines that a person left out moved nothing and may count later.
    let counted: Vec<(RateId, String)> = observations
        .iter()
        .filter(|o| o.excluded.is_none())
        .map(|o| (o.rate.clone(), o.job.to_string()))
        .collect();
    let of_rate =
        |id: &RateId| counted.iter().filter(|(r, _)| r == id).map(|(_, job)| job.clone()).collect::<Vec<_>>();
    let learned =
        learn(&LearnRequest { rates, known, observations, as_of, settings }).map_err(|all| beyond(&all))?;
    let number = ask.number.unwrap_or(RateNumber::Median);
    let quote = match number {
        RateNumber::Median => Quote::Median,
        RateNumber::Mean => Quote::Mean,
    };
    let proposed = propose(&old, &learned, quote).map_err(|all| beyond(&all))?;
    let take = ask.take.unwrap_or(RatesTaken::Enough);
    let mut out = Vec::new();
    let mut taken = BTreeMap::new();
    let mut learned_from = Vec::new();
    for (place, rate) in book.doc().labor.iter().enumerate() {
        let Some(id) = rate_id(place) else { continue };
        let (Some(known), Some(proposal)) = (learned.rates.get(&id), proposed.get(&id)) else { continue };
        if known.lines == 0 && known.left_out.is_empty() {
            continue;
        }
        let goes = known.lines > 0 && (take == RatesTaken::All || proposal.enough.yes);
        let spread = spread(known, &id, proposal.ratio);
        if goes {
            taken.insert(place, (proposal.ratio, spread.clone()));
            learned_from.push(LearnedFrom {
                task: rate.task.to_string(),
                method: rate.method.to_string(),
                jobs: of_rate(&id),
            });
        }
        out.push(rate_out(rate, known, proposal, spread, goes));
    }
    let job_spread = percent(learned.job_sd);
    let effect = match effect_job.zip(past) {
        Some((finished, past)) => {
            let draft = PriceBook::published(with_taken(book.doc(), &taken, job_spread));
            Some(effect::effect(finished, &past, &draft)?)
        }
        None => None,
    };
    Ok(Found {
        proposals: RateProposals {
            price_book: used,
            as_of: as_of.to_string(),
            number,
            jobs: learned.jobs,
            more_jobs: Some(more_jobs),
            line_spread_pct: percent(learned.own_sd),
            job_spread_pct: job_spread,
            rates: out,
            effect,
            left_out,
            rule: "learning.rates",
            basis: basis(&learned),
        },
        taken,
        job_spread,
        learned_from,
    })
}

/// What cannot be learned from, or no rate proposed for.
fn beyond(errors: &[impl ToString]) -> Faults {
    let mut faults = Faults::new();
    for error in errors {
        faults.add(&At::ROOT, "out_of_range", error.to_string());
    }
    faults
}

fn basis(learned: &Learned) -> String {
    format!(
        "{}; setup and hours per unit of a rate take one ratio; hours are those of people, those of the book before a crew's are \
         rounded up",
        learned.basis
    )
}

fn spread(known: &RateEvidence, id: &RateId, ratio: f64) -> HoursSpread {
    let spread = known.spread(id, ratio);
    let median = Factor::from_millionths((libm::exp(spread.median_log) * 1e6).round() as i64);
    HoursSpread {
        task_pct: percent(spread.own_sd),
        rate_pct: percent(spread.rate.map_or(0.0, |(_, sd)| sd)),
        // a rate that is the mean is no median: its hours must not be drawn about it
        median_ratio: (median != Factor::ONE).then_some(median),
    }
}
