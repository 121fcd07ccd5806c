//! The straight spans of channel between the fittings of a run.

use super::outlets::leg_drops;
use crate::domain::layout::{Chain, RunLeg, RunOutlet, Span, TeeAt};
use crate::units::Length;
use crate::wire::book::systems::{ChannelSystem, OutletFitting, TurnFitting};
use crate::wire::notes::{self, Meets};
use crate::wire::{At, Faults};

/// Cuts each leg at its fittings into straight spans of channel.
pub(super) fn cut(
    run: &notes::Run,
    system: &ChannelSystem,
    chains: &[Chain],
    outlets: &[RunOutlet<'_>],
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<RunLeg> {
    let uses = |turn: Option<&TurnFitting>| turn.and_then(|t| t.uses_length).unwrap_or(Length::ZERO);
    let (corner, tee) = (uses(system.corner.as_ref()), uses(system.tee.as_ref()));
    let used = |fitting: &OutletFitting| fitting.uses_length.unwrap_or(Length::ZERO);
    let level = run.surface_level.unwrap_or_default().0;
    let drops = leg_drops(run);
    let mut out = Vec::with_capacity(run.legs.len());
    for (i, leg) in run.legs.iter().enumerate() {
        let chain = chains.iter().position(|c| (c.first..c.end).contains(&i)).unwrap_or(0);
        let (first, end) = chains.get(chain).map_or((0, 0), |c| (c.first, c.end));
        let before: Length = run.legs.iter().take(i).skip(first).map(|l| l.length).sum();
        // Stretches of the leg taken by fittings: from, to.
        let mut taken: Vec<(Length, Length)> = Vec::new();
        match leg.meets {
            Some(Meets::Corner {}) => taken.push((Length::ZERO, corner)),
            Some(Meets::Tee { .. }) => taken.push((Length::ZERO, tee)),
            None => {}
        }
        if i + 1 < end {
            taken.push((leg.length - corner, leg.length));
        }
        for other in &run.legs {
            if let Some(Meets::Tee { leg: of, at: distance }) = &other.meets
                && of.get() as usize == i + 1
            {
                taken.push((*distance - tee, *distance + tee));
            }
        }
        for outlet in outlets.iter().filter(|o| o.chain == chain) {
            let here = outlet.at - before;
            if here < Length::ZERO || here > leg.length {
                continue;
            }
            let length = used(outlet.fitting);
            if !outlet.bottom {
                taken.push(if here == Length::ZERO {
                    (Length::ZERO, length)
                } else {
                    (leg.length - length, leg.length)
                });
            } else if length.is_positive() && here > Length::ZERO || (here == Length::ZERO && i == first) {
                taken.push((here - length.half(), here + (length - length.half())));
            }
        }
        taken.retain(|(from, to)| to > from);
        taken.sort();
        let mut spans = Vec::with_capacity(taken.len() + 1);
        let mut from = Length::ZERO;
        let mut clash = false;
        for (start, finish) in taken {
            // a fitting that reaches past an end of its leg has no place either
            clash |= start < from || finish > leg.length;
            if start > from {
                spans.push(Span { from, length: start - from });
            }
            from = from.max(finish);
        }
        if leg.length > from {
            spans.push(Span { from, length: leg.length - from });
        }
        if clash {
            faults.add(
                &at.member("legs").element(i).member("length"),
                "fittings_overlap",
                "the fittings of this leg use up more length than there is between them, or one reaches past its end",
            );
        }
        let tee = match &leg.meets {
            Some(Meets::Tee { leg: of, at }) => Some(TeeAt { leg: of.get() as usize - 1, at: *at }),
            _ => None,
        };
        let surface = level - drops.get(i).copied().unwrap_or_default();
        out.push(RunLeg { length: leg.length, surface, fall: leg.fall_pct.unwrap_or_default(), tee, spans });
    }
    out
}
