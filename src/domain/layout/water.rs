//! The storm, the catchments and where their water reaches the runs.

use super::within::Within;
use super::{Chain, Run};
use crate::domain::book::PriceBook;
use crate::units::{Length, Percent};
use crate::wire::notes::Run as RunNotes;
use crate::wire::water::{Catchment, Inflow, RainNotes, Reaches, Storm};
use crate::wire::{At, Code, Faults};

/// The storm and everything that flows to the runs.
#[derive(Debug, Clone)]
pub struct Demand<'a> {
    /// The storm.
    pub storm: &'a Storm,
    /// Return period in years: that of the storm, else of the price book.
    pub return_period: Option<i64>,
    /// The catchments, in the order of the notes.
    pub catchments: Vec<Shed<'a>>,
    /// What flows in by itself.
    pub inflows: Vec<Entering<'a>>,
}

/// A catchment with the places its water reaches.
#[derive(Debug, Clone)]
pub struct Shed<'a> {
    /// As noted.
    pub notes: &'a Catchment,
    /// Where its water goes, with the share of each.
    pub reaches: Vec<Reach>,
}

/// Where water reaches a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Reach {
    /// Index of the run.
    pub run: usize,
    /// Share of the catchment's water.
    pub share: f64,
    /// Along what: chain, from, to. Several for a whole run with tees. A stretch without length is one place.
    pub stretches: Vec<Stretch>,
}

/// A stretch of a chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// Chain of the run.
    pub chain: usize,
    /// Start, from the start of the chain.
    pub from: Length,
    /// End.
    pub to: Length,
}

/// A known inflow at its place.
#[derive(Debug, Clone)]
pub struct Entering<'a> {
    /// As noted.
    pub notes: &'a Inflow,
    /// Index of the run.
    pub run: usize,
    /// Its place: from and to are the same.
    pub at: Stretch,
}

/// Resolves what the notes say about water; `None` when they say nothing.
pub fn resolve<'a>(
    storm: Option<&'a Storm>,
    catchments: &'a [Catchment],
    inflows: &'a [Inflow],
    notes: &[RunNotes],
    runs: &[Option<Run<'a>>],
    book: &PriceBook,
    faults: &mut Faults,
) -> Option<Demand<'a>> {
    let root = At::ROOT;
    let (catchments_at, inflows_at) = (root.member("catchments"), root.member("inflows"));
    Within::Catchment.each_once(catchments.iter().map(|c| &c.id), &catchments_at, "id", faults);
    Within::Inflow.each_once(inflows.iter().map(|c| &c.id), &inflows_at, "id", faults);
    let sheds: Vec<Shed<'a>> = catchments
        .iter()
        .enumerate()
        .map(|(i, c)| shed(c, notes, runs, &catchments_at.element(i), faults))
        .collect();
    let entering: Vec<Option<Entering<'a>>> = inflows
        .iter()
        .enumerate()
        .map(|(i, inflow)| {
            let at = inflows_at.element(i);
            let run = run_index(&inflow.run, notes, &at, faults)?;
            let leg = leg_index(inflow.leg.map_or(1, |l| l.get()), notes.get(run)?, &at, faults)?;
            let at = place(inflow.at, leg, run, notes, runs, &at.member("at"), faults)?;
            Some(Entering { notes: inflow, run, at })
        })
        .collect();
    let Some(storm) = storm else {
        for (list_at, any) in [(&catchments_at, !catchments.is_empty()), (&inflows_at, !inflows.is_empty())] {
            if any {
                faults.add(
                    list_at,
                    "storm_required",
                    "say in `storm` which rain the drain is made for, for example \
                     {\"return_period_years\":10,\"rain\":{\"kind\":\"intensity\",\"intensity\":\"4 in_per_hr\"}}",
                );
            }
        }
        return None;
    };
    let storm_at = root.member("storm");
    if catchments.is_empty() && inflows.is_empty() {
        faults.add(
            &storm_at,
            "nothing_flows",
            "a storm needs `catchments` or `inflows`: nothing reaches the runs",
        );
    }
    if let RainNotes::Intensity { intensity } = &storm.rain
        && intensity.mm_per_h() <= 0.0
        && !catchments.is_empty()
    {
        faults.add(
            &storm_at.member("rain").member("intensity"),
            "out_of_range",
            "some rain falls on the `catchments`: more than 0; what flows in by itself alone needs none of them",
        );
    }
    let return_period = return_period(storm, book);
    if return_period.is_none() && matches!(storm.rain, RainNotes::Table { .. }) {
        faults.add(
            &storm_at.member("return_period_years"),
            "required",
            "a rain table is read at a return period: name it here or in the price book's water rules",
        );
    }
    Some(Demand {
        storm,
        return_period,
        catchments: sheds,
        inflows: entering.into_iter().flatten().collect(),
    })
}

/// Return period in years: that of the storm, else of the price book.
pub fn return_period(storm: &Storm, book: &PriceBook) -> Option<i64> {
    let rules = book.doc().water_rules.as_ref();
    storm.return_period_years.or(rules.and_then(|r| r.return_period_years)).map(|y| y.get())
}

fn run_index(code: &Code, notes: &[RunNotes], at: &At<'_>, faults: &mut Faults) -> Option<usize> {
    let found = notes.iter().position(|r| r.id == *code);
    if found.is_none() {
        let known: Vec<&str> = notes.iter().map(|r| r.id.as_str()).collect();
        Within::Run.unknown(code, &known, &at.member("run"), faults);
    }
    found
}

fn leg_index(number: i64, run: &RunNotes, at: &At<'_>, faults: &mut Faults) -> Option<usize> {
    let index = number as usize - 1;
    if index >= run.legs.len() {
        faults.value(
            &at.member("leg"),
            "unknown_leg",
            &number.to_string(),
            format!("run `{}` has legs 1 to {}", run.id, run.legs.len()),
        );
        return None;
    }
    Some(index)
}

/// Chain and distance along it of the start of a leg.
fn start_of(leg: usize, run: &RunNotes, chains: &[Chain]) -> Option<(usize, Length)> {
    let (index, chain) = chains.iter().enumerate().find(|(_, c)| (c.first..c.end).contains(&leg))?;
    Some((index, run.legs.iter().take(leg).skip(chain.first).map(|l| l.length).sum()))
}

fn place(
    distance: Length,
    leg: usize,
    run: usize,
    notes: &[RunNotes],
    runs: &[Option<Run<'_>>],
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<Stretch> {
    let noted = notes.get(run)?;
    if distance > noted.legs.get(leg)?.length {
        faults.add(at, "out_of_range", "this lies beyond the end of the leg");
        return None;
    }
    let (chain, before) = start_of(leg, noted, &runs.get(run)?.as_ref()?.chains)?;
    Some(Stretch { chain, from: before + distance, to: before + distance })
}

fn shed<'a>(
    catchment: &'a Catchment,
    notes: &[RunNotes],
    runs: &[Option<Run<'a>>],
    at: &At<'_>,
    faults: &mut Faults,
) -> Shed<'a> {
    let surfaces_at = at.member("surfaces");
    for (i, surface) in catchment.surfaces.iter().enumerate() {
        let here = surfaces_at.element(i);
        if surface.area.nm2() <= 0 {
            faults.add(&here.member("area"), "out_of_range", "a surface has an area of more than 0");
        }
        if surface.coefficient.is_some_and(|c| c.millionths() > 1_000_000) {
            faults.add(
                &here.member("coefficient"),
                "out_of_range",
                "a runoff coefficient is from 0 to 1: no more runs off than falls",
            );
        }
    }
    let list_at = at.member("reaches");
    let given = catchment.reaches.iter().filter(|r| r.share_pct.is_some()).count();
    let total: i64 = catchment.reaches.iter().filter_map(|r| r.share_pct).map(Percent::millionths).sum();
    if given > 0 && (given < catchment.reaches.len() || total != 1_000_000) {
        faults.add(
            &list_at,
            "shares",
            format!(
                "the shares must be given everywhere or nowhere, and add up to 100 %; they add up to {} %",
                total as f64 / 10_000.0
            ),
        );
    }
    let equal = 1.0 / catchment.reaches.len().max(1) as f64;
    let reaches = catchment
        .reaches
        .iter()
        .enumerate()
        .filter_map(|(i, r)| {
            let share = r.share_pct.map_or(equal, |p| p.millionths() as f64 / 1e6);
            reach(r, share, notes, runs, &list_at.element(i), faults)
        })
        .collect();
    Shed { notes: catchment, reaches }
}

fn reach(
    noted: &Reaches,
    share: f64,
    notes: &[RunNotes],
    runs: &[Option<Run<'_>>],
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<Reach> {
    let run = run_index(&noted.run, notes, at, faults)?;
    let run_notes = notes.get(run)?;
    let leg = match noted.leg {
        Some(number) => Some(leg_index(number.get(), run_notes, at, faults)?),
        None => None,
    };
    if let Some(distance) = noted.at {
        if noted.from.is_some() || noted.to.is_some() {
            faults.add(
                &at.member("at"),
                "not_here",
                "give one place in `at`, or a stretch in `from` and `to`, not both",
            );
            return None;
        }
        let stretch = place(distance, leg.unwrap_or(0), run, notes, runs, &at.member("at"), faults)?;
        return Some(Reach { run, share, stretches: vec![stretch] });
    }
    let whole = leg.is_none() && noted.from.is_none() && noted.to.is_none();
    let legs = run_notes.legs.len();
    if leg.is_none() && !whole && legs > 1 {
        faults.add(
            &at.member("leg"),
            "required",
            format!(
                "`from` and `to` are measured along one leg: say which, 1 to {legs}; a stretch over several legs is one entry \
                 for each, and the whole run is one without `from` and `to`"
            ),
        );
        return None;
    }
    let chains = || Some(&runs.get(run)?.as_ref()?.chains);
    if whole {
        let stretches = chains()?
            .iter()
            .enumerate()
            .map(|(chain, c)| Stretch { chain, from: Length::ZERO, to: c.length })
            .collect();
        return Some(Reach { run, share, stretches });
    }
    let leg = leg.unwrap_or(0);
    let length = run_notes.legs.get(leg)?.length;
    let (from, to) = (noted.from.unwrap_or(Length::ZERO), noted.to.unwrap_or(length));
    if to > length || from >= to {
        faults.add(
            &at.member("to"),
            "out_of_range",
            "a stretch lies within its leg and ends after it starts; one place goes into `at`",
        );
        return None;
    }
    let (chain, before) = start_of(leg, run_notes, chains()?)?;
    Some(Reach { run, share, stretches: vec![Stretch { chain, from: before + from, to: before + to }] })
}
