//! Whether the bores of bottom outlets lie in plain channel: inside a leg, off its fittings, its joints and each other.

use super::check;
use crate::compute::cut_list::Laid;
use crate::domain::layout::{Run, RunOutlet};
use crate::domain::lines::{Check, Outcome};
use crate::units::Length;
use crate::units::show::{Show, worded};

/// A bore in a leg.
struct Bore<'r> {
    outlet: &'r RunOutlet<'r>,
    leg: usize,
    /// Distance of its middle from the start of the leg.
    at: Length,
}

impl Bore<'_> {
    fn from(&self) -> Length {
        self.at - self.outlet.fitting.bore.half()
    }

    fn to(&self) -> Length {
        self.at + self.outlet.fitting.bore.half()
    }
}

/// The bores of outlets that are no section of their own.
fn bores_of<'r>(run: &'r Run<'r>) -> Vec<Bore<'r>> {
    let plain = |o: &&RunOutlet<'_>| o.bottom && o.fitting.uses_length.is_none_or(|l| !l.is_positive());
    let place = |outlet: &'r RunOutlet<'r>| {
        let chain = run.chains.get(outlet.chain)?;
        let mut before = Length::ZERO;
        for leg in chain.first..chain.end {
            let length = run.legs.get(leg)?.length;
            if outlet.at <= before + length {
                return Some(Bore { outlet, leg, at: outlet.at - before });
            }
            before += length;
        }
        None
    };
    run.outlets.iter().filter(plain).filter_map(place).collect()
}

/// A warning for each bottom outlet whose bore meets something else.
pub(super) fn bores(run: &Run<'_>, laid: &[Laid], show: Show) -> Vec<Check> {
    let bores = bores_of(run);
    let mut out = Vec::new();
    for (n, bore) in bores.iter().enumerate() {
        let (from, to) = (bore.from(), bore.to());
        let inside = |start: Length, end: Length| start <= from && to <= end;
        let spans = run.legs.get(bore.leg).map_or(&[][..], |leg| &leg.spans);
        let joint = || {
            let own = laid.iter().filter(|l| l.leg == bore.leg);
            own.flat_map(|l| l.ends()).find(|joint| from < *joint && *joint < to)
        };
        let other = || {
            let mut before = bores.iter().take(n).filter(|o| o.leg == bore.leg);
            before.find(|o| o.from() < to && from < o.to())
        };
        let clash = if !spans.iter().any(|s| inside(s.from, s.from + s.length)) {
            "reaches past the end of the leg or into a fitting of it: move the outlet".to_owned()
        } else if let Some(other) = other() {
            worded!("reaches into that of outlet {}: move one of them", other.outlet.id)
        } else if let Some(joint) = joint() {
            worded!(
                "lies over the joint of two sections at {}: move the outlet, or set the sections so that no joint falls there",
                show.length(joint)
            )
        } else {
            continue;
        };
        let reason = worded!(
            "at {} of leg {} the bore of {} {clash}",
            show.length(bore.at),
            bore.leg + 1,
            show.length(bore.outlet.fitting.bore)
        );
        out.push(check("outlet_bore", worded!("outlet {}", bore.outlet.id), Outcome::Warn, reason));
    }
    out
}
