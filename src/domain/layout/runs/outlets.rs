//! Where the outlets of a run lie, and how deep the water leaves.

use super::height::height_at;
use crate::domain::layout::{Chain, RunOutlet};
use crate::units::Length;
use crate::wire::book::systems::{ChannelSystem, OutletFitting};
use crate::wire::notes::{self, LegEnd, Meets, Outlet};
use crate::wire::{At, Code, Faults, Whole};

/// Where an outlet lies.
pub(super) struct Place<'a> {
    /// Number of the outlet in the notes, from 0.
    element: usize,
    id: &'a Code,
    bottom: bool,
    chain: usize,
    /// From the start of the chain.
    at: Length,
}

/// The place of every outlet, whatever the channel system.
pub(super) fn places<'a>(
    run: &'a notes::Run,
    chains: &[Chain],
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<Place<'a>> {
    let list_at = at.member("outlets");
    if run.outlets.is_empty() {
        faults.add(
            &list_at,
            "no_outlet",
            "water must leave the run somewhere: name an end outlet, {\"kind\":\"end\",\"id\":\"a1\",\"at\":\"finish\"}, \
             or a bottom outlet, {\"kind\":\"bottom\",\"id\":\"a1\",\"at\":\"12 ft\"}",
        );
    }
    let mut out: Vec<Place<'a>> = Vec::with_capacity(run.outlets.len());
    for (element, outlet) in run.outlets.iter().enumerate() {
        let here = list_at.element(element);
        let leg = |leg: &Option<Whole<1, 50>>| leg.map(|l| l.get() as usize - 1);
        let (found, bottom) = match outlet {
            Outlet::End { id: _, at: end, leg: of } => {
                (end_at(run, chains, *end, leg(of), &here, faults), false)
            }
            Outlet::Bottom { id: _, at: distance, leg: of } => {
                (bottom_at(run, chains, *distance, leg(of).unwrap_or(0), &here, faults), true)
            }
        };
        let Some((chain, at)) = found else { continue };
        if out.iter().any(|o| o.chain == chain && o.at == at) {
            faults.add(&here, "duplicate_outlet", "there is an outlet at this place already");
        }
        out.push(Place { element, id: outlet.id(), bottom, chain, at });
    }
    out
}

/// The outlets with the fittings of the system; each is noted in its chain.
pub(super) fn fit<'a>(
    run: &'a notes::Run,
    places: Vec<Place<'a>>,
    system: &'a ChannelSystem,
    recess: Length,
    chains: &mut [Chain],
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<RunOutlet<'a>> {
    let list_at = at.member("outlets");
    let mut out: Vec<RunOutlet<'a>> = Vec::with_capacity(places.len());
    for Place { element, id, bottom, chain, at } in places {
        let (fitting, what) = match bottom {
            true => (&system.bottom_outlet, "bottom outlet"),
            false => (&system.end_outlet, "end outlet"),
        };
        if let Some(fitting) = fitted(fitting.as_ref(), what, system, &list_at.element(element), faults) {
            let (surface, invert) = (Length::ZERO, Length::ZERO);
            out.push(RunOutlet { id, fitting, bottom, chain, at, surface, invert });
        }
    }
    for outlet in &out {
        if let Some(chain) = chains.get_mut(outlet.chain) {
            chain.outlets.push(outlet.at);
            chain.outlets.sort();
            chain.outlets.dedup();
        }
    }
    let surface = run.surface_level.unwrap_or_default().0;
    let drops = leg_drops(run);
    for outlet in &mut out {
        let surface =
            surface - chains.get(outlet.chain).map_or(Length::ZERO, |c| drop_at(run, &drops, c, outlet.at));
        // Height where the water leaves: the longest stretch that ends here.
        let stretch = chains.get(outlet.chain).map_or(Length::ZERO, |c| longest_to(c, outlet.at));
        let height = height_at(&system.section, stretch);
        let drop = outlet.fitting.invert_drop.unwrap_or(Length::ZERO);
        outlet.surface = surface;
        outlet.invert = surface - recess - height + system.section.bottom_thickness - drop;
    }
    out
}

/// How far the surface at the start of each leg lies below that at the start of the run.
pub(super) fn leg_drops(run: &notes::Run) -> Vec<Length> {
    let grade = |i: usize| run.legs.get(i).and_then(|l| l.fall_pct).unwrap_or_default();
    let mut drops: Vec<Length> = Vec::with_capacity(run.legs.len());
    for (i, leg) in run.legs.iter().enumerate() {
        let from = |of: usize, distance: Length| {
            drops.get(of).map_or(Length::ZERO, |d| *d + grade(of).over(distance))
        };
        let drop = match &leg.meets {
            None => Length::ZERO,
            Some(Meets::Corner {}) => i
                .checked_sub(1)
                .map_or(Length::ZERO, |b| from(b, run.legs.get(b).map_or(Length::ZERO, |l| l.length))),
            Some(Meets::Tee { leg: of, at }) => from(of.get() as usize - 1, *at),
        };
        drops.push(drop);
    }
    drops
}

/// How far the surface at a distance along a chain lies below that at the start of the run.
fn drop_at(run: &notes::Run, drops: &[Length], chain: &Chain, at: Length) -> Length {
    let mut left = at;
    for (i, leg) in run.legs.iter().enumerate().take(chain.end).skip(chain.first) {
        if left <= leg.length || i + 1 == chain.end {
            return drops.get(i).copied().unwrap_or_default() + leg.fall_pct.unwrap_or_default().over(left);
        }
        left = left - leg.length;
    }
    Length::ZERO
}

fn longest_to(chain: &Chain, at: Length) -> Length {
    let index = chain.outlets.iter().position(|o| *o == at).unwrap_or(0);
    let upstream = match index.checked_sub(1).and_then(|i| chain.outlets.get(i)) {
        Some(previous) => (at - *previous).half(),
        None => at,
    };
    let downstream = match chain.outlets.get(index + 1) {
        Some(next) => (*next - at).half(),
        None => chain.length - at,
    };
    upstream.max(downstream)
}

fn fitted<'a>(
    fitting: Option<&'a OutletFitting>,
    what: &str,
    system: &ChannelSystem,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<&'a OutletFitting> {
    if fitting.is_none() {
        faults.add(
            at,
            "missing_fitting",
            format!("the channel system `{}` has no {what} in the price book", system.code),
        );
    }
    fitting
}

fn end_at(
    run: &notes::Run,
    chains: &[Chain],
    end: LegEnd,
    leg: Option<usize>,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(usize, Length)> {
    let main_end = chains.first().map_or(0, |c| c.end - 1);
    let leg = leg.unwrap_or(if end == LegEnd::Start { 0 } else { main_end });
    let found = chains.iter().enumerate().find_map(|(i, c)| match end {
        LegEnd::Start if c.first == leg && !c.from_tee => Some((i, Length::ZERO)),
        LegEnd::Finish if c.end == leg + 1 => Some((i, c.length)),
        _ => None,
    });
    if found.is_none() {
        let open: Vec<String> = chains
            .iter()
            .flat_map(|c| {
                let start = (!c.from_tee).then(|| format!("start of leg {}", c.first + 1));
                start.into_iter().chain([format!("finish of leg {}", c.end)])
            })
            .collect();
        faults
            .add(
                at,
                "not_an_open_end",
                format!("the {end} of leg {} of `{}` is not an open end of the run", leg + 1, run.id),
            )
            .allow(open);
    }
    found
}

fn bottom_at(
    run: &notes::Run,
    chains: &[Chain],
    distance: Length,
    leg: usize,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(usize, Length)> {
    let Some(length) = run.legs.get(leg).map(|l| l.length) else {
        faults.add(&at.member("leg"), "unknown_leg", format!("the run has legs 1 to {}", run.legs.len()));
        return None;
    };
    if distance > length {
        faults.add(&at.member("at"), "out_of_range", "the outlet lies beyond the end of its leg");
        return None;
    }
    let (index, chain) = chains.iter().enumerate().find(|(_, c)| (c.first..c.end).contains(&leg))?;
    let before: Length = run.legs.iter().take(leg).skip(chain.first).map(|l| l.length).sum();
    Some((index, before + distance))
}
