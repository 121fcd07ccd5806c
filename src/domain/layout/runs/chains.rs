//! Legs that follow each other without a tee.

use crate::domain::layout::Chain;
use crate::units::Length;
use crate::wire::notes::{self, Meets};
use crate::wire::{At, Faults};

/// The chains of a run; `None` when its legs do not meet as they say.
pub(super) fn of(run: &notes::Run, at: &At<'_>, faults: &mut Faults) -> Option<Vec<Chain>> {
    let legs_at = at.member("legs");
    let mut chains: Vec<Chain> = Vec::new();
    let mut sound = true;
    for (i, leg) in run.legs.iter().enumerate() {
        let leg_at = legs_at.element(i);
        match (&leg.meets, i) {
            (None, 0) => chains.push(chain(0, false)),
            (Some(_), 0) => {
                faults.add(
                    &leg_at.member("meets"),
                    "not_here",
                    "the first leg meets nothing: leave the member out",
                );
                sound = false;
            }
            (None, _) => {
                faults
                    .add(&leg_at.member("meets"), "required", "say how this leg meets the legs before it")
                    .allow(["{\"kind\":\"corner\"}", "{\"kind\":\"tee\",\"leg\":1,\"at\":\"10 ft\"}"]);
                sound = false;
            }
            (Some(Meets::Corner {}), _) => {}
            (Some(Meets::Tee { leg: of, at: distance }), _) => {
                let of_index = of.get() as usize - 1;
                let meets = leg_at.member("meets");
                if of_index >= i {
                    faults.value(
                        &meets.member("leg"),
                        "unknown_leg",
                        &of.get().to_string(),
                        format!("a tee lies in an earlier leg: 1 to {i}"),
                    );
                    sound = false;
                } else if !distance.is_positive() || *distance >= run.legs[of_index].length {
                    faults.add(
                        &meets.member("at"),
                        "out_of_range",
                        "a tee lies inside its leg: more than 0 and less than the leg's length",
                    );
                    sound = false;
                }
                chains.push(chain(i, true));
            }
        }
        if let Some(last) = chains.last_mut() {
            last.end = i + 1;
            last.length += leg.length;
        }
    }
    sound.then_some(chains)
}

fn chain(first: usize, from_tee: bool) -> Chain {
    let outlets = if from_tee { vec![Length::ZERO] } else { Vec::new() };
    Chain { first, end: first + 1, length: Length::ZERO, from_tee, outlets }
}
