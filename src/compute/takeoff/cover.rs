//! What lies over the pipe of a line: the ground, held against the surface over outlets, and slabs.

use super::way_out::{self, Point, Thin};
use super::{check, levels, profile};
use crate::domain::layout::{Layout, Line};
use crate::domain::lines::{Check, Outcome};
use crate::units::Length;
use crate::units::show::{Show, worded};
use crate::wire::Code;
use crate::wire::book::ground::LineRules;

/// Ground that a constant depth has and the surface over an outlet may differ by so much: what a ditch is dug by hand to.
const GROUND_TOLERANCE: Length = Length::millimetres(50);

/// The surface over the outlets that enter a line whose ground is only what its constant depth makes it.
struct Known<'l> {
    outlets: Vec<OverOutlet<'l>>,
}

/// The surface over one of these outlets.
struct OverOutlet<'l> {
    id: &'l Code,
    at: Length,
    /// Level of the surface.
    surface: Length,
    /// Level that the ground has by the depth.
    by_depth: Length,
}

impl OverOutlet<'_> {
    /// How far the ground by the depth lies above the surface; below it where negative.
    fn above(&self) -> Length {
        self.by_depth - self.surface
    }
}

impl<'l> Known<'l> {
    fn of(line: &Line<'l>, stations: &[profile::Station], layout: &Layout<'l>) -> Self {
        let entering = line.from.iter().filter(|_| line.depth.is_some());
        let outlets = entering.filter_map(|feed| {
            let outlet = layout.outlet(feed)?;
            let by_depth = stations.iter().find(|s| s.station == feed.at)?.ground;
            Some(OverOutlet { id: outlet.id, at: feed.at, surface: outlet.surface, by_depth })
        });
        Self { outlets: outlets.collect() }
    }

    /// How far the ground at a station is known to lie below the one by the depth.
    fn lower_by(&self, station: &profile::Station) -> Length {
        let here = self.outlets.iter().filter(|outlet| outlet.at == station.station);
        here.map(OverOutlet::above).filter(|lower| *lower > GROUND_TOLERANCE).max().unwrap_or_default()
    }

    fn check(&self, line: &Line<'_>, layout: &Layout<'_>) -> Option<Check> {
        let at = |l: Length| layout.show.length(l);
        let far = self.outlets.iter().filter(|outlet| outlet.above().abs() > GROUND_TOLERANCE);
        let far = far.map(|OverOutlet { id, at: station, surface, by_depth }| {
            worded!(
                "at {} the ground would be at {}, but the surface over outlet `{id}` is at {}",
                at(*station),
                at(*by_depth),
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
    let over = |s: &profile::Station| s.depth - known.lower_by(s) - section.bedding - section.outside;
    let covers: Vec<Point> = stations.iter().map(|s| Point { at: s.station, over: over(s) }).collect();
    checks.extend(over_pipe(line, &covers, section.outside, rules, show));
    for part in line.cut_as_one() {
        let Some(top) = line.legs.get(part.first).map(|leg| leg.top) else { continue };
        let (from, to) = (part.from, part.from + part.length);
        let trench = profile::shallowest(stations, from, to);
        let thick = show.length(top.thickness);
        let within: Vec<Point> = covers.iter().copied().filter(|c| c.at >= from && c.at <= to).collect();
        let into = way_out::thin(&within, top.thickness);
        let worst = into.iter().map(|thin| thin.worst).min_by_key(|worst| worst.over);
        let reason = match (top.thickness > trench, worst.filter(|_| top.thickness.is_positive())) {
            (true, _) => worded!(
                "{part}: {thick} of {} lie on top, deeper than the trench of {}: it is lifted whole and made good whole, and the pipe \
                 would lie in it: {}, or have the crossing designed",
                top.kind,
                show.length(trench),
                deeper(line, &into)
            ),
            (false, Some(Point { at, over })) => worded!(
                "{part}: {thick} of {} lie on top, and at {} only {} over the pipe; {} it reaches into the {}: {}, or have the \
                 crossing designed",
                top.kind,
                show.length(at),
                show.length(over.max(Length::ZERO)),
                stretches(&into, from, to, show),
                top.kind,
                deeper(line, &into)
            ),
            (false, None) => continue,
        };
        checks.push(check("slab_against_trench", subject(), Outcome::Warn, reason));
    }
}

/// Whether the pipe cannot be laid deeper where a stretch begins, because what enters at the upper end sets its level.
fn is_set(line: &Line<'_>, thin: &[Thin]) -> bool {
    levels::fed_at_upper_end(line) && thin.first().is_some_and(|thin| thin.from == Length::ZERO)
}

/// How the pipe gets deeper in such stretches.
fn deeper(line: &Line<'_>, thin: &[Thin]) -> &'static str {
    if is_set(line, thin) {
        "what enters at the upper end sets the level there: take an outlet that lies deeper"
    } else {
        "lay the pipe deeper"
    }
}

/// Stretches in words; of many the first few.
fn stretches(thin: &[Thin], from: Length, to: Length, show: Show) -> String {
    const SAID: usize = 3;
    if let [whole] = thin
        && (whole.from, whole.to) == (from, to)
    {
        return "all along".to_owned();
    }
    let said = thin.iter().take(SAID);
    let said = said.map(|thin| worded!("from {} to {}", show.length(thin.from), show.length(thin.to)));
    let said = said.collect::<Vec<_>>().join(" and ");
    match thin.len().saturating_sub(SAID) {
        0 => said,
        more => worded!("{said} and in {more} more stretches"),
    }
}

/// The least cover over the pipe, up to where it comes out of the ground on the way to an end in the open.
///
/// What the last pipe lacks on its way out belongs to that end and is told, no more; a longer stretch is judged as any other.
fn over_pipe(
    line: &Line<'_>,
    covers: &[Point],
    outside: Length,
    rules: &LineRules,
    show: Show,
) -> Option<Check> {
    let least = rules.least_cover;
    let end = covers.last()?.at;
    let way = way_out::way_out(line, covers);
    let falls_below = |height: Length| way_out::falls_below(way?, height);
    let out = falls_below(Length::ZERO);
    // Of several lengths it is not known here which one comes last: the shortest holds for each.
    let last_pipe = line.pipe.stock().map(|(_, length)| length).min().unwrap_or_default();
    let mut judged: Vec<Point> =
        covers.iter().copied().filter(|c| out.is_none_or(|out| c.at < out)).collect();
    judged.extend(out.map(|out| Point { at: out, over: Length::ZERO }));
    let mut thin = way_out::thin(&judged, least);
    let last = falls_below(least).filter(|from| out.unwrap_or(end) - *from <= last_pipe);
    thin.retain(|thin| last.is_none_or(|from| thin.from < from));
    let judged_to = last.or(out).unwrap_or(end);
    let worst = covers.iter().copied().filter(|c| c.at <= judged_to).min_by_key(|c| c.over)?;
    let (mut outcome, mut reason) = if worst.over < Length::ZERO {
        let (at, above) = (show.length(worst.at), show.length(worst.over.abs()));
        (Outcome::Fail, worded!("at {at} the top of the pipe lies {above} above the ground"))
    } else if thin.is_empty() {
        (Outcome::Pass, worded!("least cover {} at {}", show.length(worst.over), show.length(worst.at)))
    } else {
        let [cover, least] = show.lengths_apart(worst.over, least);
        (
            Outcome::Warn,
            worded!(
                "at {} the cover is {cover}; {} it is less than {least}: {}",
                show.length(worst.at),
                stretches(&thin, Length::ZERO, end, show),
                if is_set(line, &thin) {
                    "what enters at the upper end sets the level there: protect the pipe or take an outlet that lies deeper, and lay \
                     it deeper beyond"
                } else {
                    "protect the pipe or lay it deeper"
                }
            ),
        )
    };
    if let Some(from) = last {
        let (from, least) = (show.length(from), show.length(least));
        reason.push_str(&worded!("; towards its end in the open it is less than {least} from {from} on"));
    }
    if let Some(out) = out {
        let clear = falls_below(-outside).filter(|clear| end - *clear > last_pipe);
        let (stands, words) = standing_out(end - out, clear.map(|clear| end - clear), last_pipe, show);
        outcome = outcome.max(stands);
        reason.push_str(&worded!("; from {} on {words}", show.length(out)));
    }
    Some(check("cover", worded!("line {}", line.id), outcome, reason))
}

/// What a pipe asks for that stands out of the ground so far, and hangs clear of it so far where that is more than one pipe.
fn standing_out(length: Length, clear: Option<Length>, last_pipe: Length, show: Show) -> (Outcome, String) {
    let (stands, one) = (show.length(length), show.length(last_pipe));
    if let Some(clear) = clear {
        let clear = show.length(clear);
        return (
            Outcome::Fail,
            worded!(
                "it stands out of the ground, {stands} in all, and hangs clear of it over the last {clear}, more than one pipe of {one}: \
                 nothing holds it there: let it end sooner or lay it deeper"
            ),
        );
    }
    let words = worded!(
        "it stands out of the ground, {stands} in all: cut it back to the slope, or hold and protect it; a headwall or stone there is \
         the customer's choice and is not counted"
    );
    (if length > last_pipe { Outcome::Warn } else { Outcome::Pass }, words)
}
