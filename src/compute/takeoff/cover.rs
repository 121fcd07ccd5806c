//! What lies over the pipe of a line: the ground, held against the surface over outlets, and slabs.

use super::{check, profile};
use crate::domain::layout::{Layout, Line};
use crate::domain::lines::{Check, Outcome};
use crate::units::Length;
use crate::units::show::worded;
use crate::wire::book::ground::LineRules;

/// Ground that a constant depth has and the surface over an outlet may differ by so much: what a ditch is dug by hand to.
const GROUND_TOLERANCE: Length = Length::millimetres(50);

/// The surface over the outlets that enter a line whose ground is only what its constant depth makes it.
struct Known<'l> {
    /// Name of the outlet, station, level of the surface over it, level of the ground by the depth.
    outlets: Vec<(&'l str, Length, Length, Length)>,
}

impl<'l> Known<'l> {
    fn of(line: &Line<'l>, stations: &[profile::Station], layout: &Layout<'l>) -> Self {
        let entering = line.from.iter().filter(|_| line.depth.is_some());
        let outlets = entering.filter_map(|(run, outlet, at)| {
            let outlet = layout.runs.get(*run)?.outlets.get(*outlet)?;
            let by_depth = stations.iter().find(|s| s.station == *at)?.ground;
            Some((outlet.id.as_str(), *at, outlet.surface, by_depth))
        });
        Self { outlets: outlets.collect() }
    }

    /// How far the ground at a station is known to lie below the one by the depth.
    fn lower_by(&self, station: &profile::Station) -> Length {
        let here = self.outlets.iter().filter(|o| o.1 == station.station);
        here.map(|o| o.3 - o.2).filter(|lower| *lower > GROUND_TOLERANCE).max().unwrap_or_default()
    }

    fn check(&self, line: &Line<'_>, layout: &Layout<'_>) -> Option<Check> {
        let at = |l: Length| layout.show.length(l);
        let far = self.outlets.iter().filter(|o| (o.3 - o.2).abs() > GROUND_TOLERANCE);
        let far = far.map(|(outlet, station, surface, ground)| {
            worded!(
                "at {} the ground would be at {}, but the surface over outlet `{outlet}` is at {}",
                at(*station),
                at(*ground),
                at(*surface)
            )
        });
        let far = far.collect::<Vec<_>>().join("; ");
        if far.is_empty() {
            return None;
        }
        let depth = at(line.depth?);
        let reason = worded!("dug {depth} deep all along: {far}: give ground levels instead of `depth`");
        Some(check("ground_by_depth", worded!("line {}", line.id), Outcome::Warn, reason))
    }
}

/// The least cover over the pipe, the ground against what is known of it, and slabs against the trench.
pub(super) fn checks(
    line: &Line<'_>,
    stations: &[profile::Station],
    section: &profile::Section,
    rules: &LineRules,
    layout: &Layout<'_>,
    checks: &mut Vec<Check>,
) {
    let show = layout.show;
    let subject = || worded!("line {}", line.id);
    let known = Known::of(line, stations, layout);
    checks.extend(known.check(line, layout));
    // Where the ground is known to lie lower than the depth dug has it, there is that much less over the pipe.
    let depth = |s: &profile::Station| s.depth - known.lower_by(s);
    let Some(worst) = stations.iter().min_by_key(|s| depth(s)) else { return };
    let cover = depth(worst) - section.bedding - section.outside;
    let (outcome, reason) = if cover < Length::ZERO {
        (
            Outcome::Fail,
            worded!(
                "at {} the top of the pipe lies {} above the ground",
                show.length(worst.station),
                show.length(cover.abs())
            ),
        )
    } else if cover < rules.least_cover {
        (
            Outcome::Warn,
            worded!(
                "at {} the cover is {}, less than {}: protect the pipe or lay it deeper",
                show.length(worst.station),
                show.length(cover),
                show.length(rules.least_cover)
            ),
        )
    } else {
        (Outcome::Pass, worded!("least cover {} at {}", show.length(cover), show.length(worst.station)))
    };
    checks.push(check("cover", subject(), outcome, reason));
    for part in line.cut_as_one() {
        let Some(top) = line.legs.get(part.first).map(|leg| leg.top) else { continue };
        let least = profile::shallowest(stations, part.from, part.from + part.length);
        if top.thickness > least {
            checks.push(check(
                "slab_against_trench",
                subject(),
                Outcome::Warn,
                worded!(
                    "{part}: the {} is {} thick, deeper than the trench of {}: it is lifted whole and made good whole, and the \
                     pipe would lie in it: lay the pipe deeper, or have the crossing designed",
                    top.kind,
                    show.length(top.thickness),
                    show.length(least)
                ),
            ));
        }
    }
}
