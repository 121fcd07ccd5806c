//! Depth along a line and the volumes of its trench.

use super::levels::Levels;
use crate::domain::layout::{GroundPoint, Line};
use crate::units::exact::div_round;
use crate::units::{Area, Factor, Length, Volume};

/// A station of the long profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Station {
    /// Distance from the upper end.
    pub station: Length,
    /// Level of the ground.
    pub ground: Length,
    /// Invert of the pipe.
    pub invert: Length,
    /// Depth to the bottom of the bedding.
    pub depth: Length,
    /// What lies on top just below this station, not counted as excavation.
    pub thickness: Length,
    /// Whether the dig table lists it.
    pub listed: bool,
}

/// The cross-section of the trench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Section {
    /// Width at the bottom.
    pub width: Length,
    /// Batter of the sides, horizontal for vertical.
    pub side_slope: Factor,
    /// Bedding thickness.
    pub bedding: Length,
    /// Height of the top of the zone fill over the trench bottom.
    pub zone_top: Length,
    /// Outside diameter of the pipe.
    pub outside: Length,
}

/// Volumes that close: dug = bedding + pipe + zone + backfill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Volumes {
    /// Excavation, without what lies on top.
    pub dug: Volume,
    /// Bedding.
    pub bedding: Volume,
    /// The pipe itself, as far as it lies in what is dug.
    pub pipe: Volume,
    /// The part of the pipe above that, where the trench is shallower than the pipe.
    pub pipe_above: Volume,
    /// Fill around and over the pipe.
    pub zone: Volume,
    /// Native backfill.
    pub backfill: Volume,
}

/// Ground, invert and depth at every interval and every change.
pub fn stations(
    line: &Line<'_>,
    levels: &Levels,
    wall: Length,
    bedding: Length,
    interval: Length,
) -> Vec<Station> {
    let noted = line.ground.len() + line.from.len() + line.joined_by.len() + line.legs.len();
    let mut at: Vec<Length> = Vec::with_capacity(2 + noted);
    at.extend([Length::ZERO, line.length]);
    if interval.is_positive() {
        // An interval far shorter than the line would list nothing a crew could use: at most 500 stations.
        let step = interval.max(Length::from_nm(line.length.nm() / 500 + 1));
        at.extend((1..line.length.steps_up(step)).map(|i| step * i));
    }
    at.extend(line.ground.iter().map(|point| point.at));
    at.extend(line.entries());
    let mut tops: Vec<(Length, Length)> = Vec::with_capacity(line.legs.len());
    let mut from = Length::ZERO;
    for leg in &line.legs {
        tops.push((from, leg.top.thickness));
        from += leg.length;
        at.push(from);
    }
    at.sort_unstable();
    at.dedup();
    at.retain(|s| *s >= Length::ZERO && *s <= line.length);
    at.into_iter()
        .map(|station| {
            let invert = levels.invert(station, line.length);
            let (ground, depth) = match line.depth {
                Some(depth) => (invert - wall - bedding + depth, depth),
                None => {
                    let ground = ground_at(&line.ground, station);
                    (ground, ground - (invert - wall - bedding))
                }
            };
            let thickness = tops.iter().rev().find(|t| t.0 <= station).map_or(Length::ZERO, |t| t.1);
            Station { station, ground, invert, depth, thickness, listed: true }
        })
        .collect()
}

/// Depth at the deepest between two stations that are both listed; nothing where the ground lies below the trench bottom.
pub fn deepest(stations: &[Station], from: Length, to: Length) -> Length {
    depths(stations, from, to).max().unwrap_or_default().max(Length::ZERO)
}

/// Depth at the shallowest between two stations that are both listed; nothing where there is none.
pub fn shallowest(stations: &[Station], from: Length, to: Length) -> Length {
    depths(stations, from, to).min().unwrap_or_default().max(Length::ZERO)
}

fn depths(stations: &[Station], from: Length, to: Length) -> impl Iterator<Item = Length> {
    stations.iter().filter(move |s| s.station >= from && s.station <= to).map(|s| s.depth)
}

/// Ground level at a station: linear between points, level beyond the first and last.
pub fn ground_at(points: &[GroundPoint], station: Length) -> Length {
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return Length::ZERO };
    if station <= first.at {
        return first.level;
    }
    if station >= last.at {
        return last.level;
    }
    for pair in points.windows(2) {
        let (near, far) = (pair[0], pair[1]);
        if station <= far.at {
            let rise = far.level - near.level;
            return near.level + rise.share((station - near.at).nm(), (far.at - near.at).nm());
        }
    }
    last.level
}

/// Area of the trench up to a height over its bottom.
///
/// # Formula
/// `A = h (b + s h)`; `b` bottom width, `s` batter, horizontal for vertical
/// # Units
/// exact
/// # Valid for
/// `h >= 0`; below the bottom there is nothing
/// # Source
/// geometry of a trapezium
/// # Example
/// ```
/// use rillcast::{compute::takeoff::profile::area_to, units::{Factor, Length}};
/// // 2 ft wide, 6 ft deep, 1.5 to 1: 66 ft² (29 CFR 1926 subpart P, type C slope).
/// let a = area_to(Length::feet(6), Length::feet(2), Factor::from_millionths(1_500_000));
/// assert_eq!(a.nm2(), (Length::feet(66) * Length::feet(1)).nm2());
/// ```
pub fn area_to(height: Length, width: Length, side_slope: Factor) -> Area {
    if !height.is_positive() {
        return Area::ZERO;
    }
    let h = i128::from(height.nm());
    let batter = i128::from(side_slope.millionths());
    let spread = if batter == 0 { 0 } else { div_round(h * h * batter, 1_000_000) };
    Area::from_nm2(h * i128::from(width.nm()) + spread)
}

/// Volume between two sections whose depth changes linearly: the prismoidal rule.
///
/// # Formula
/// `V = L (A1 + 4 Am + A2) / 6`, `Am` at the mean depth. With vertical sides it equals the average end area; with battered
/// sides the average end area overstates by `L s (d1 - d2)^2 / 6`.
/// # Units
/// exact to the cubic nanometre
/// # Valid for
/// depth linear between the sections
/// # Source
/// prismoidal formula, as in surveying handbooks (from memory); the correction derived
/// # Example
/// ```
/// use rillcast::{compute::takeoff::profile::prismoid, units::{Factor, Length}};
/// // 2 ft wide, 1 to 1, 4 ft to 8 ft deep over 100 ft: 4,933 1/3 ft³, where end areas give 5,200.
/// let v = prismoid(Length::feet(100), Length::feet(4), Length::feet(8), Length::feet(2), Factor::ONE);
/// let cubic_feet = v.nm3() as f64 / (304_800_000.0_f64).powi(3);
/// assert!((cubic_feet - 4_933.333_333).abs() < 1e-3);
/// ```
pub fn prismoid(length: Length, d1: Length, d2: Length, width: Length, side_slope: Factor) -> Volume {
    let middle = (d1 + d2).half();
    let sum = area_to(d1, width, side_slope).nm2()
        + 4 * area_to(middle, width, side_slope).nm2()
        + area_to(d2, width, side_slope).nm2();
    Volume::from_nm3(div_round(sum.saturating_mul(i128::from(length.nm())), 6))
}

/// The volumes of a line's trench.
pub fn volumes(line: &Line<'_>, stations: &[Station], section: &Section) -> Volumes {
    let mut dug = Volume::ZERO;
    let mut to_bedding = Volume::ZERO;
    let mut to_zone = Volume::ZERO;
    let (mut above, radius) = (0.0, section.outside.metres_f64() / 2.0);
    let cross_section = std::f64::consts::PI * radius * radius;
    for pair in stations.windows(2) {
        let (near, far) = (&pair[0], &pair[1]);
        let d1 = near.depth - near.thickness;
        let d2 = far.depth - near.thickness;
        let length = far.station - near.station;
        dug += up_to(length, d1, d2, Length::LONGEST, section);
        to_bedding += up_to(length, d1, d2, section.bedding, section);
        to_zone += up_to(length, d1, d2, section.zone_top, section);
        if d1.min(d2) < section.bedding + section.outside {
            let (length, over) =
                (length.metres_f64(), |depth: Length| (depth - section.bedding).metres_f64());
            above += cross_section * length - pipe_up_to(length, over(d1), over(d2), radius);
        }
    }
    let whole = Volume::from_cubic_metres_f64(cross_section * line.length.metres_f64());
    let around = (to_zone - to_bedding).at_least_zero();
    let pipe = (whole - Volume::from_cubic_metres_f64(above).at_least_zero()).at_least_zero().min(around);
    Volumes {
        dug,
        bedding: to_bedding,
        pipe,
        pipe_above: whole - pipe,
        zone: around - pipe,
        backfill: (dug - to_zone).at_least_zero(),
    }
}

/// Volume of a pipe that lies below a surface whose height over the bottom of the pipe changes linearly along it, in m³.
///
/// # Formula
/// `V = L (F(h2) - F(h1)) / (h2 - h1)`, `F(h) = r³ (sin t - t cos t - sin³ t / 3)`, `cos t = 1 - h / r`, the area of a circular
/// segment summed over its height; `F = 0` below the pipe, `F = pi r³ + pi r² (h - 2 r)` above it; for a level surface
/// `V = L r² (t - sin t cos t)`
/// # Units
/// m, m³
/// # Valid for
/// any heights; the pipe is measured along its length, its slope against the surface small
/// # Source
/// geometry of a circular segment; the sum derived
/// # Example
/// ```
/// use rillcast::compute::takeoff::profile::pipe_up_to;
/// // 2 m of a pipe of 1 m: half of it below its middle, and half where the surface rises from its bottom to its top.
/// let half = std::f64::consts::PI * 0.25;
/// assert!((pipe_up_to(2.0, 0.5, 0.5, 0.5) - half).abs() < 1e-12);
/// assert!((pipe_up_to(2.0, 0.0, 1.0, 0.5) - half).abs() < 1e-12);
/// // From as far below as above it: half again. Nothing below it, all of it above.
/// assert!((pipe_up_to(2.0, 3.0, -2.0, 0.5) - half).abs() < 1e-12);
/// assert_eq!(pipe_up_to(2.0, -1.0, 0.0, 0.5), 0.0);
/// assert!((pipe_up_to(2.0, 1.0, 4.0, 0.5) - 2.0 * half).abs() < 1e-12);
/// ```
pub fn pipe_up_to(length: f64, h1: f64, h2: f64, radius: f64) -> f64 {
    let angle = |height: f64| (1.0 - height / radius).clamp(-1.0, 1.0).acos();
    let area = |height: f64| {
        let t = angle(height);
        radius * radius * (t - t.sin() * t.cos())
    };
    // Heights that differ by less than a micrometre are one: their quotient would be made of rounding.
    if (h2 - h1).abs() < 1e-6 {
        return length * area(f64::midpoint(h1, h2));
    }
    let summed = |height: f64| {
        let t = angle(height);
        let within = radius.powi(3) * (t.sin() - t * t.cos() - t.sin().powi(3) / 3.0);
        within + std::f64::consts::PI * radius * radius * (height - 2.0 * radius).max(0.0)
    };
    length * (summed(h2) - summed(h1)) / (h2 - h1)
}

/// A part of what is dug, by how deep the trench is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    /// The trench is deeper than this there; zero for what is no deeper than any of the depths asked for.
    pub over: Length,
    /// The trench at its deepest there.
    pub deepest: Length,
    /// What is dug there, without what lies on top.
    pub dug: Volume,
}

/// What is dug of a line by how deep its trench is, the shallowest first; parts without anything left out. `depths` in order.
///
/// The depth is that of the dig table, down to the bottom of the bedding, and linear between its stations; they foot to `dug`.
pub fn by_depth(stations: &[Station], section: &Section, depths: &[Length], dug: Volume) -> Vec<Band> {
    let deeper = |over: Length| -> Volume {
        stations.windows(2).map(|pair| deeper_than(&pair[0], &pair[1], over, section)).sum()
    };
    let deepest = stations.iter().map(|s| s.depth).max().unwrap_or_default();
    let mut out = Vec::with_capacity(depths.len() + 1);
    let (mut over, mut from_here) = (Length::ZERO, dug);
    for next in depths.iter().copied().filter(|d| *d > Length::ZERO && *d < deepest).chain([deepest]) {
        let below = if next < deepest { deeper(next).min(from_here) } else { Volume::ZERO };
        let here = stations.iter().map(|s| s.depth).filter(|d| *d > over && *d <= next).max();
        // Where the trench goes on deeper it reaches the next depth.
        let reached = if next < deepest && below.nm3() > 0 { next } else { here.unwrap_or(next) };
        out.push(Band { over, deepest: reached, dug: from_here - below });
        (over, from_here) = (next, below);
    }
    out.retain(|b| b.dug.nm3() > 0);
    out
}

/// What is dug between two stations where the trench is deeper than `over`.
fn deeper_than(near: &Station, far: &Station, over: Length, section: &Section) -> Volume {
    let length = far.station - near.station;
    let top = near.thickness;
    if near.depth <= over && far.depth <= over {
        return Volume::ZERO;
    }
    // Where it passes that depth, from the shallower end.
    let at = |shallow: Length, deep: Length| {
        length.share((over - shallow).nm().max(0), (deep - shallow).nm().max(1))
    };
    let (d1, d2) = (near.depth.max(over) - top, far.depth.max(over) - top);
    let part = if near.depth < over {
        length - at(near.depth, far.depth)
    } else if far.depth < over {
        length - at(far.depth, near.depth)
    } else {
        length
    };
    up_to(part, d1, d2, Length::LONGEST, section)
}

/// Volume of a segment filled up to `limit` over its bottom; split where the depth passes the limit or the bottom.
fn up_to(length: Length, d1: Length, d2: Length, limit: Length, section: &Section) -> Volume {
    let mut total = Volume::ZERO;
    let crossing = |level: Length| {
        let crossed = (d1 - level).nm().signum() * (d2 - level).nm().signum() < 0;
        if crossed { length.share((level - d1).nm(), (d2 - d1).nm()) } else { Length::ZERO }
    };
    let (bottom, top) = (crossing(Length::ZERO), crossing(limit));
    let cuts = [Length::ZERO, bottom.min(top), bottom.max(top), length];
    let depth = |x: Length| (d1 + (d2 - d1).share(x.nm(), length.nm().max(1))).max(Length::ZERO).min(limit);
    for pair in cuts.windows(2) {
        if pair[0] < pair[1] {
            let (near, far) = (depth(pair[0]), depth(pair[1]));
            total += prismoid(pair[1] - pair[0], near, far, section.width, section.side_slope);
        }
    }
    total
}
