//! Proposed rates.

use std::collections::BTreeMap;

use thiserror::Error;

use super::{evidence::Enough, observation::RateId, rates::Learned};
use crate::units::show::counted;

/// Which number of a skewed spread becomes the rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Quote {
    /// The typical job: as many take longer as shorter.
    #[default]
    Median,
    /// The mean: what many jobs cost on average.
    Mean,
}

/// A proposed rate. It changes nothing until a person puts it into a book.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Hours per unit in the present book.
    pub old: f64,
    /// Hours per unit as proposed.
    pub new: f64,
    /// New over old.
    pub ratio: f64,
    /// Whether there is enough data to act on.
    pub enough: Enough,
    /// Why, to check by hand.
    pub evidence: String,
}

/// A book's hours per unit that are none.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("rate `{rate}`: {value} hours per unit is not allowed; give a number from 0 to 1e6")]
pub struct ProposeError {
    /// The rate.
    pub rate: RateId,
    /// As given.
    pub value: f64,
}

/// Proposes a rate for each rate of the book about which something was learned.
///
/// # Formula
/// `new = old x ratio`, the ratio being the median or the mean of the next job's
/// # Units
/// hours per unit
/// # Valid for
/// rates whose setup is small or learned along: the ratio is of whole hours
/// # Source
/// median for the typical job, mean for cost (properties of the log-normal distribution, from memory);
/// example as in `learn`
/// # Example
/// ```
/// # use jiff::civil::date;
/// # use rillcast::compute::learning::*;
/// use rillcast::compute::learning::propose::{Quote, propose};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// # let dig = RateId::new("dig-hand")?;
/// # let observations = [1.10, 0.95, 1.25, 1.40].iter().enumerate().map(|(n, ratio)| {
/// #     Ok(Observation { job: JobId::new(format!("job-{n}"))?, finished_on: date(2026, 3, 1), rate: dig.clone(),
/// #         estimated_hours: 10.0, actual_hours: 10.0 * ratio, excluded: None })
/// # });
/// # let request = LearnRequest {
/// #     rates: [(dig.clone(), ClassId::new("dig")?)].into(),
/// #     known: Default::default(),
/// #     observations: observations.collect::<Result<_, Box<dyn std::error::Error>>>()?,
/// #     as_of: date(2026, 3, 1),
/// #     settings: LearnSettings { own_sd: 0.25, job_sd: 0.0, class_share: 0.0, learn_spread: false, ..Default::default() },
/// # };
/// # let learned = learn(&request).map_err(|all| all[0].clone())?;
/// let proposals = propose(&[(dig.clone(), 1.5)].into(), &learned, Quote::Median).map_err(|all| all[0].clone())?;
/// assert!((proposals[&dig].new - 1.5 * 1.114_625_231_773_724_9).abs() < 1e-12);
/// assert!(!proposals[&dig].enough.yes); // four lines are not yet enough
/// # Ok(())
/// # }
/// ```
/// # Errors
/// Every [`ProposeError`] of the book at once.
pub fn propose(
    book: &BTreeMap<RateId, f64>,
    learned: &Learned,
    quote: Quote,
) -> Result<BTreeMap<RateId, Proposal>, Vec<ProposeError>> {
    let faults: Vec<ProposeError> = book
        .iter()
        .filter(|(_, hours)| !(0.0..=1e6).contains(*hours))
        .map(|(rate, hours)| ProposeError { rate: rate.clone(), value: *hours })
        .collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut proposals = BTreeMap::new();
    for (rate, old) in book {
        let Some(known) = learned.rates.get(rate) else {
            continue;
        };
        let (ratio, word) = match quote {
            Quote::Median => (known.median_ratio, "median"),
            Quote::Mean => (known.mean_ratio, "mean"),
        };
        let prior = match (known.sd_before, known.class_mean_log) {
            (Some(sd), 0.0) => format!("the rate as it was learned before (known to {sd:.4})"),
            (Some(sd), left) => {
                format!("the rate as it was learned before (median {:.3}, known to {sd:.4})", libm::exp(left))
            }
            (None, 0.0) => "the book".to_owned(),
            (None, class) => format!("class `{}` at {:.3}", known.class, libm::exp(class)),
        };
        let data = match known.data_mean_log {
            Some(mean) => {
                let lines = counted(known.lines, "line");
                let (faded, own) = (known.faded_lines, 100.0 * known.weight_on_lines);
                let took = format!(
                    "{lines} ({faded:.1} after fading) took {:.3} of what the rate gives",
                    libm::exp(mean)
                );
                let took = match known.job_mean_log {
                    0.0 => took,
                    job => format!(
                        "{took}, their jobs as a whole {:.3}: {:.3} without that",
                        libm::exp(job),
                        libm::exp(mean - job)
                    ),
                };
                format!("{took}; these lines weigh {own:.1} %, {prior} the rest")
            }
            None => format!("no lines of its own: {prior}"),
        };
        let typical = match quote {
            Quote::Median => String::new(),
            Quote::Mean => format!("median {:.3}, ", known.median_ratio),
        };
        // six places of the ratio, so that the product comes out as it stands here
        let evidence = format!(
            "{data}: {typical}{word} {ratio:.3}; {old} h x {ratio:.6} = {:.4} h per unit; {} flagged, {} left out by a person",
            old * ratio,
            known.flagged.len(),
            known.left_out.len()
        );
        let proposal =
            Proposal { old: *old, new: old * ratio, ratio, enough: known.enough.clone(), evidence };
        proposals.insert(rate.clone(), proposal);
    }
    Ok(proposals)
}
