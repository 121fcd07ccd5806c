//! The layers of a line's trench in words, so that each can be reckoned by hand.

use super::profile::{self, Section, Station, Volumes};
use crate::domain::layout::Line;
use crate::units::show::{Show, worded};
use crate::units::{Length, UnitSystem, Volume};

/// What lies on top and is no excavation; nothing where there is none.
pub(super) fn lifted(
    line: &Line<'_>,
    stations: &[Station],
    section: &Section,
    dug: Volume,
    show: Show,
) -> String {
    if stations.iter().all(|s| s.thickness == Length::ZERO) {
        return String::new();
    }
    let bare: Vec<Station> = stations.iter().map(|s| Station { thickness: Length::ZERO, ..*s }).collect();
    let whole = profile::volumes(line, &bare, section).dug;
    worded!(": {} less {} of what lies on top", show.volume(whole), show.volume(whole - dug))
}

/// The width of the trench, as a tape shows it too where no tape has a mark for it.
pub(super) fn wide(width: Length, show: Show) -> String {
    let (reckoned, marked) = (show.length(width).to_string(), show.nearest(width).to_string());
    let is_on_tape = show.0 == UnitSystem::Metric || reckoned == marked;
    if is_on_tape { reckoned } else { worded!("{reckoned} ({marked} on a tape)") }
}

/// The bedding.
pub(super) fn bedding(line: &Line<'_>, section: &Section, have: Volume, show: Show) -> String {
    worded!(
        "{} x {}{}",
        show.length(line.length),
        layer(section, section.bedding, "thick", show),
        lack(up_to(line, section, section.bedding) - have, show)
    )
}

/// The fill around and over the pipe.
pub(super) fn zone(
    line: &Line<'_>,
    section: &Section,
    over_pipe: Length,
    have: &Volumes,
    show: Show,
) -> String {
    let at = |l: Length| show.length(l);
    let nominal = up_to(line, section, section.zone_top) - up_to(line, section, section.bedding);
    let lack = lack(nominal - have.zone - have.pipe, show);
    let pipe = pipe(have, show);
    if section.side_slope.is_zero() {
        return worded!(
            "{} x {} x ({} pipe + {} over it) less the pipe, {pipe}{lack}",
            at(line.length),
            at(section.width),
            at(section.outside),
            at(over_pipe)
        );
    }
    worded!(
        "{} x ({} - {}) less the pipe, {pipe}{lack}",
        at(line.length),
        layer(section, section.zone_top, "of bedding and zone", show),
        layer(section, section.bedding, "of bedding", show)
    )
}

/// The native soil that goes back.
pub(super) fn backfill(have: &Volumes, show: Show) -> String {
    worded!(
        "dug {} = bedding {} + pipe {} + zone fill {} + backfill",
        show.volume(have.dug),
        show.volume(have.bedding),
        show.volume(have.pipe),
        show.volume(have.zone)
    )
}

/// The pipe, and that it is only a part of it where the trench is shallower than it is high.
fn pipe(have: &Volumes, show: Show) -> String {
    let (within, above) = (show.volume(have.pipe), show.volume(have.pipe_above));
    if above.value().is_zero() {
        return within.to_string();
    }
    worded!("{within} of it in the trench and {above} above")
}

/// What the trench holds up to a height over its bottom, were it deeper everywhere.
fn up_to(line: &Line<'_>, section: &Section, height: Length) -> Volume {
    profile::prismoid(line.length, height, height, section.width, section.side_slope)
}

/// Width and height of a layer on the bottom; with battered sides its mean width.
fn layer(section: &Section, height: Length, what: &str, show: Show) -> String {
    let at = |l: Length| show.length(l);
    if section.side_slope.is_zero() {
        return worded!("{} x {} {what}", at(section.width), at(height));
    }
    let slope = section.side_slope;
    worded!("({} + {slope} x {}) x {} {what}", at(section.width), at(height), at(height))
}

/// What the layer lacks where the trench is not as deep.
fn lack(volume: Volume, show: Show) -> String {
    let shown = show.volume(volume.at_least_zero());
    if shown.value().is_zero() {
        return String::new();
    }
    worded!(", less {shown} where the trench below what lies on top is shallower")
}

/// How much of it is how deep, where a part of it takes longer to dig.
pub(super) fn by_depth(bands: &[profile::Band], show: Show) -> String {
    if bands.len() < 2 {
        return String::new();
    }
    let parts = bands.iter().map(|band| {
        let (dug, deepest) = (show.volume(band.dug), show.length(band.deepest));
        if band.over.is_positive() {
            worded!("{dug} where it is {} to {deepest} deep", show.length(band.over))
        } else {
            worded!("{dug} where it is to {deepest} deep")
        }
    });
    worded!("; {}", parts.collect::<Vec<_>>().join(", "))
}
