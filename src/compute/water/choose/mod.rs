//! Choosing the cheapest system, or the smallest pipe, that passes, and saying why the ones before it do not.

use super::bounds::Faults;
use super::pipe::{PipeCheck, PipeSettings, check_pipe};
use super::run::{Run, RunError};
use std::fmt;

/// Why a candidate was passed over.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// A run stands above the freeboard asked for.
    TooLittleFreeboard {
        /// Index of the run.
        run: usize,
        /// Where it is worst, m from the run's start.
        station_m: f64,
        /// Freeboard there, m; negative where it overtops.
        freeboard_m: f64,
        /// Freeboard asked for, m.
        asked_m: f64,
    },
    /// A run has no steady water surface.
    NoSurface {
        /// Index of the run.
        run: usize,
        /// Why.
        error: RunError,
    },
    /// The full bore carries less than the flow.
    PipeTooSmall {
        /// Flow of the full bore, m³/s.
        full_flow_m3_per_s: f64,
        /// Flow to carry, m³/s.
        flow_m3_per_s: f64,
    },
    /// The pipe is smaller than the outlet it takes water from.
    SmallerThanOutlet {
        /// Bore, m.
        bore_m: f64,
        /// Bore of the outlet, m.
        outlet_bore_m: f64,
    },
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLittleFreeboard { run, station_m, freeboard_m, asked_m } if *freeboard_m < 0.0 => {
                write!(
                    f,
                    "run {} overtops at {station_m:.2} m by {:.4} m (freeboard asked: {asked_m:.4} m)",
                    run + 1,
                    -freeboard_m
                )
            }
            Self::TooLittleFreeboard { run, station_m, freeboard_m, asked_m } => write!(
                f,
                "run {} keeps only {freeboard_m:.4} m of freeboard at {station_m:.2} m, {asked_m:.4} m is asked for",
                run + 1
            ),
            Self::NoSurface { run, error } => write!(f, "run {}: {error}", run + 1),
            Self::PipeTooSmall { full_flow_m3_per_s, flow_m3_per_s } => write!(
                f,
                "the full bore carries {:.3} L/s, less than the {:.3} L/s that come",
                1e3 * full_flow_m3_per_s,
                1e3 * flow_m3_per_s
            ),
            Self::SmallerThanOutlet { bore_m, outlet_bore_m } => write!(
                f,
                "a bore of {:.1} mm is smaller than the outlet's {:.1} mm",
                1e3 * bore_m,
                1e3 * outlet_bore_m
            ),
        }
    }
}

/// The chosen candidate and what was passed over for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice<T> {
    /// Index of the candidate that passes, and what its check found; `None` when none does.
    pub chosen: Option<(usize, T)>,
    /// Candidates that come before it (or all of them), in order, with every reason they do not pass.
    pub passed_over: Vec<(usize, Vec<Reason>)>,
}

/// Takes the first candidate, in the order of their keys, that passes. Equal keys keep the order given.
///
/// `check` gives what it found, or every reason the candidate does not pass. Candidates after the chosen one are not checked.
pub fn first_that_passes<C, K: Ord, T>(
    candidates: &[C],
    key: impl Fn(&C) -> K,
    mut check: impl FnMut(&C) -> Result<T, Vec<Reason>>,
) -> Choice<T> {
    let mut order: Vec<(usize, &C)> = candidates.iter().enumerate().collect();
    order.sort_by_key(|(_, candidate)| key(candidate));
    let mut passed_over = Vec::new();
    for (index, candidate) in order {
        match check(candidate) {
            Ok(found) => {
                return Choice { chosen: Some((index, found)), passed_over };
            }
            Err(reasons) => passed_over.push((index, reasons)),
        }
    }
    Choice { chosen: None, passed_over }
}

/// A channel system as a candidate: what it costs, and the runs of the layout set in it.
#[derive(Debug, Clone, PartialEq)]
pub struct SystemCandidate {
    /// Cost in the smallest unit of the currency; only the order counts.
    pub cost: i64,
    /// Every run of the layout in this system.
    pub runs: Vec<Run>,
}

/// The cheapest system in which every run keeps its freeboard. Gives the least freeboard of each run, m.
#[must_use]
pub fn choose_system(candidates: &[SystemCandidate]) -> Choice<Vec<f64>> {
    first_that_passes(
        candidates,
        |candidate| candidate.cost,
        |candidate| {
            let mut reasons = Vec::new();
            let mut freeboards = Vec::with_capacity(candidate.runs.len());
            for (index, run) in candidate.runs.iter().enumerate() {
                let asked_m = run.input().settings.least_freeboard_m;
                match run.least_freeboard() {
                    Ok(least) if least.value >= asked_m => freeboards.push(least.value),
                    Ok(least) => reasons.push(Reason::TooLittleFreeboard {
                        run: index,
                        station_m: least.station_m,
                        freeboard_m: least.value,
                        asked_m,
                    }),
                    Err(error) => reasons.push(Reason::NoSurface { run: index, error }),
                }
            }
            if reasons.is_empty() { Ok(freeboards) } else { Err(reasons) }
        },
    )
}

/// A pipe as a candidate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PipeCandidate {
    /// Inside diameter, m.
    pub bore_m: f64,
    /// Manning's n, s/m^(1/3).
    pub n: f64,
}

/// The smallest pipe whose full bore carries a flow on a slope and that is no smaller than the outlet above it.
///
/// The 7.6 % that a pipe carries above its full flow when almost full are never counted on.
///
/// # Errors
/// Numbers out of bounds.
pub fn choose_pipe(
    candidates: &[PipeCandidate],
    flow_m3_per_s: f64,
    slope: f64,
    outlet_bore_m: f64,
    settings: &PipeSettings,
) -> Result<Choice<PipeCheck>, Faults> {
    let mut faults = Faults::default();
    for (i, candidate) in candidates.iter().enumerate() {
        if let Err(found) = check_pipe(candidate.bore_m, slope, candidate.n, flow_m3_per_s, settings) {
            found.list().iter().for_each(|fault| {
                faults.add(format!("pipes[{i}].{}", fault.place), &fault.value, fault.rule.clone());
            });
        }
    }
    faults.into_result()?;
    let key = |candidate: &PipeCandidate| candidate.bore_m.to_bits();
    Ok(first_that_passes(candidates, key, |candidate| {
        let mut reasons = Vec::new();
        if candidate.bore_m < outlet_bore_m - 1e-9 {
            reasons.push(Reason::SmallerThanOutlet { bore_m: candidate.bore_m, outlet_bore_m });
        }
        match check_pipe(candidate.bore_m, slope, candidate.n, flow_m3_per_s, settings) {
            Ok(check) if check.carries && reasons.is_empty() => Ok(check),
            Ok(check) => {
                if !check.carries {
                    let full_flow_m3_per_s = check.full_flow_m3_per_s;
                    reasons.push(Reason::PipeTooSmall { full_flow_m3_per_s, flow_m3_per_s });
                }
                Err(reasons)
            }
            Err(_) => Err(reasons),
        }
    }))
}
