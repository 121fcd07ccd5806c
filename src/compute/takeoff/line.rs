//! Trench, bedding, fill and surface of one drain line.

use super::earth::Earth;
use super::levels::{self, Levels, Why};
use super::{check, cover, deep_from, layers, pipe, profile, quantity, surface};
use crate::compute::cut_list::Share;
use crate::compute::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::layout::{Layout, Line};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::{Dug, Measures};
use crate::domain::words::{Measure, Soil};
use crate::units::show::{Show, joined, worded};
use crate::units::{Factor, Length, Quantity, Volume};
use crate::wire::book::ground::{LineRules, SurfaceKind};
use crate::wire::notes::Outfall;
use serde::Serialize;
use utoipa::ToSchema;

/// The quantities of one line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct LineTakeoff {
    /// Name of the line.
    pub line: String,
    /// Pipe it uses.
    pub pipe: String,
    /// What it discharges to; absent where it joins another line.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub discharges_to: Option<Outfall>,
    /// Its quantities.
    pub quantities: Vec<QuantityLine>,
    /// What the crew digs by.
    pub dig_table: Vec<DigStation>,
    /// Concrete to restore slabs, net.
    #[serde(skip)]
    pub concrete_net: Volume,
    /// Depth at the deepest.
    #[serde(skip)]
    pub deepest: Length,
}

/// One station of the dig table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct DigStation {
    /// Distance from the upper end.
    pub station: Quantity,
    /// Level of the ground.
    pub ground: Quantity,
    /// Invert of the pipe.
    pub invert: Quantity,
    /// Depth to dig, to the bottom of the bedding; none where the ground lies below that.
    pub depth: Quantity,
}

/// Least trench width for a pipe.
///
/// # Formula
/// `max(OD + 16 in, 1.25 OD + 12 in)`; the three numbers are settings of the price book
/// # Units
/// exact lengths
/// # Valid for
/// flexible pipe with compacted fill beside it
/// # Source
/// ASTM D2321-05 (read)
/// # Example
/// ```
/// use rillcast::{compute::takeoff::line::least_width, units::{Factor, Length}};
/// let inch = |n| Length::inches(n, 1);
/// // 4.215 in: 20.215 in.  18.701 in: 35.37625 in.  Both rules meet at 16 in.
/// let w = |thousandths| least_width(Length::inches(thousandths, 1000), inch(16), Factor::from_millionths(1_250_000), inch(12));
/// assert_eq!(w(4215), Length::inches(20_215, 1000));
/// assert_eq!(w(18_701).nm(), 898_556_750);
/// assert_eq!(w(16_000), inch(32));
/// ```
pub fn least_width(outside: Length, plus: Length, times: Factor, times_plus: Length) -> Length {
    (outside + plus).max(outside.share(times.millionths(), 1_000_000) + times_plus)
}

/// Takes off one line.
#[expect(clippy::too_many_arguments, reason = "the collectors of the stage")]
pub fn take_off<'a>(
    line: &Line<'a>,
    levels: &Levels,
    share: &Share,
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    earth: &mut Earth,
    checks: &mut Vec<Check>,
) -> LineTakeoff {
    let mut q: Vec<QuantityLine> = Vec::with_capacity(20);
    let Some(rules) = book.doc().line_rules.as_ref() else {
        checks.push(check(
            "line_rules",
            "price book",
            Outcome::Fail,
            "the price book has no rules for drain lines".to_owned(),
        ));
        return LineTakeoff {
            line: line.id.as_str().to_owned(),
            pipe: line.pipe.code.as_str().to_owned(),
            discharges_to: line.ends.outfall(),
            quantities: q,
            dig_table: Vec::new(),
            concrete_net: Volume::ZERO,
            deepest: Length::ZERO,
        };
    };
    let show = layout.show;
    let at = |l: Length| show.length(l);
    let outside = line.pipe.outside_diameter;
    let wall = (outside - line.pipe.inside_diameter).half();
    let bedding = if layout.soil == Soil::Rock { rules.bedding_over_rock } else { rules.bedding };
    let width = width(line, rules, layout, checks);

    measures.add_length(Measure::LineLength, line.length);
    q.push(quantity(
        "line_length",
        show.long(line.length),
        "line.length",
        worded!("{}", joined(line.legs.iter().map(|l| at(l.length)), " + ")),
    ));
    let upper =
        if levels::fed_at_upper_end(line) { "" } else { " as the lowest that enters further down arrives" };
    let joined = line.joins.filter(|_| levels.why == Why::Levels).and_then(|to| layout.lines.get(to.line));
    let lower = joined.map(|other| worded!(", down to that of line {} there", other.id)).unwrap_or_default();
    q.push(quantity(
        "fall",
        Quantity::decimal(levels.fall.number(), crate::units::Unit::Percent, 4),
        "line.fall",
        worded!(
            "invert {} at the upper end{upper}, {} at the lower{lower}",
            at(levels.start),
            at(levels.finish)
        ),
    ));

    let section = profile::Section {
        width,
        side_slope: line.side_slope,
        bedding,
        zone_top: bedding + outside + rules.zone_over_pipe,
        outside,
    };
    let stations = profile::stations(line, levels, wall, bedding, rules.dig_table_interval);
    cover::checks(line, &stations, &section, rules, layout, checks);
    let volumes = profile::volumes(line, &stations, &section);
    let deepest = stations.iter().map(|s| s.depth).max().unwrap_or_default();
    let shallowest = stations.iter().map(|s| s.depth).min().unwrap_or_default().max(Length::ZERO);

    measures.add_volume(Measure::LineExcavation, volumes.dug);
    let mut depths: Vec<Length> = deep_from(book).collect();
    depths.sort_unstable();
    depths.dedup();
    let bands = profile::by_depth(&stations, &section, &depths, volumes.dug);
    for band in &bands {
        let (over, deepest) = (band.over, band.deepest);
        measures.add_dug(Dug { measure: Measure::LineExcavation, over, deepest, volume: band.dug });
    }
    earth.dig(volumes.dug);
    earth.fill_back(volumes.backfill);
    let batter =
        if line.side_slope.is_zero() { String::new() } else { worded!(", sides {} to 1", line.side_slope) };
    // Where the ground lies below the bottom of the trench nothing is dug.
    let deep = if shallowest >= deepest {
        worded!("{} deep", at(shallowest))
    } else {
        worded!("{} to {} deep by the dig table", at(shallowest), at(deepest))
    };
    let lifted = layers::lifted(line, &stations, &section, volumes.dug, show);
    q.push(quantity(
        "excavation",
        show.volume(volumes.dug),
        "line.excavation",
        worded!(
            "{} long, {} wide{batter}, {deep}{lifted}{}",
            at(line.length),
            at(width),
            layers::by_depth(&bands, show)
        ),
    ));
    for (name, measure, volume, rule, basis) in [
        (
            "bedding",
            Measure::Bedding,
            volumes.bedding,
            "line.bedding",
            layers::bedding(line, &section, volumes.bedding, show),
        ),
        (
            "zone_fill",
            Measure::ZoneFill,
            volumes.zone,
            "line.zone_fill",
            layers::zone(line, &section, rules.zone_over_pipe, &volumes, show),
        ),
        (
            "backfill",
            Measure::Backfill,
            volumes.backfill,
            "line.backfill",
            worded!(
                "dug {} = bedding {} + pipe {} + zone fill {} + backfill",
                show.volume(volumes.dug),
                show.volume(volumes.bedding),
                show.volume(volumes.pipe),
                show.volume(volumes.zone)
            ),
        ),
    ] {
        measures.add_volume(measure, volume);
        let item = match measure {
            Measure::Bedding => Some(&rules.bedding_item),
            Measure::ZoneFill => Some(&rules.zone_item),
            _ => None,
        };
        if let Some(item) = item {
            let loose = rules.fill_loose_to_compacted.of(volume);
            needs.add(
                book,
                item,
                Need::Volume(loose, Some(rules.fill_weight_per_ft3.per_ft3())),
                rule,
                format_args!(
                    "line {}: {} compacted x {} loose",
                    line.id,
                    show.volume(volume),
                    rules.fill_loose_to_compacted
                ),
            );
        }
        q.push(quantity(name, show.volume(volume), rule, basis));
    }
    let concrete_net = surfaces(line, width, &stations, layout, book, measures, needs, earth, &mut q, checks);
    pipe::take_off(line, rules, share, layout, book, measures, needs, &mut q, checks);
    let dig_table = stations
        .iter()
        .filter(|s| s.listed)
        .map(|s| DigStation {
            station: show.long(s.station),
            ground: show.long(s.ground),
            invert: show.long(s.invert),
            depth: show.long(s.depth.max(Length::ZERO)),
        })
        .collect();
    LineTakeoff {
        line: line.id.as_str().to_owned(),
        pipe: line.pipe.code.as_str().to_owned(),
        discharges_to: line.ends.outfall(),
        quantities: q,
        dig_table,
        concrete_net,
        deepest,
    }
}

fn width(line: &Line<'_>, rules: &LineRules, layout: &Layout<'_>, checks: &mut Vec<Check>) -> Length {
    let least =
        least_width(line.pipe.outside_diameter, rules.width_plus, rules.width_times, rules.width_times_plus);
    let Some(set) = line.trench_width else { return least };
    let subject = || worded!("line {}", line.id);
    if set < line.pipe.outside_diameter {
        let [trench, pipe] = layout.show.lengths_apart(set, line.pipe.outside_diameter);
        let reason = worded!("a trench of {trench} does not take a pipe of {pipe}");
        checks.push(check("trench_width", subject(), Outcome::Fail, reason));
    } else if set < least {
        let [set, least] = layout.show.lengths_apart(set, least);
        let reason = worded!(
            "{set} is narrower than {least} (ASTM D2321): the fill beside the pipe can hardly be compacted"
        );
        checks.push(check("trench_width", subject(), Outcome::Warn, reason));
    }
    set
}

/// Saw, lift and restore what lies over the line.
#[expect(clippy::too_many_arguments, reason = "the collectors of the stage")]
fn surfaces<'a>(
    line: &Line<'a>,
    width: Length,
    stations: &[profile::Station],
    layout: &Layout<'a>,
    book: &'a PriceBook,
    measures: &mut Measures,
    needs: &mut Needs<'a>,
    earth: &mut Earth,
    q: &mut Vec<QuantityLine>,
    checks: &mut Vec<Check>,
) -> Volume {
    let show = layout.show;
    let at = |l: Length| show.length(l);
    let mut concrete = Volume::ZERO;
    for part in line.cut_as_one() {
        let Some(top) = line.legs.get(part.first).map(|leg| leg.top) else { continue };
        if top.kind == SurfaceKind::BareSoil {
            continue;
        }
        let deep = profile::deepest(stations, part.from, part.from + part.length);
        let over = if top.is_sawn() { book.doc().over_cut.unwrap_or(Length::ZERO) } else { Length::ZERO };
        let cut_width = width + deep.share(line.side_slope.millionths() * 2, 1_000_000) + over * 2;
        let why = cut_width_in_words(line, width, deep, over, show);
        let cut = part.length * cut_width;
        let removed = cut * top.thickness;
        let name = worded!("line {}", line.id);
        if top.is_sawn() {
            let saw = (part.length + cut_width) * 2;
            let thick = top.thickness;
            let basis =
                worded!("{part}: 2 x ({} + {}), {} deep{why}", at(part.length), at(cut_width), at(thick));
            surface::sawn(saw, thick, ("line.saw_cut", basis), show, measures, q);
        }
        surface::count(top.kind, cut, removed, removed, measures, earth);
        let (what, measure) = surface::lifted(top.kind);
        let place = worded!("{part}: {} x {}", at(part.length), at(cut_width));
        let (amount, basis) = match measure {
            Measure::PaversLifted => (show.area(cut), place + &why),
            _ => (show.volume(removed), worded!("{place} x {}{why}", at(top.thickness))),
        };
        q.push(quantity(what, amount, "line.surface_removed", basis));
        if top.kind == SurfaceKind::ConcreteSlab {
            concrete += removed;
            measures.add_area(Measure::FinishArea, cut);
            q.push(quantity(
                "patch_concrete",
                show.volume(removed),
                "line.patch",
                worded!("{part}: the slab is poured back over the whole cut"),
            ));
            let basis = worded!("{part}: {} x {}{why}", at(part.length), at(cut_width));
            q.push(quantity("finish_area", show.area(cut), "line.finish", basis));
        } else {
            let place = worded!("{part}: {} x {}", at(part.length), at(cut_width));
            let unbought = surface::restore(top, cut, &place, &name, layout, book, measures, needs, q);
            checks.extend(unbought.map(|reason| {
                surface::not_on_offer(worded!("line {}", line.id), worded!("{part}: {reason}"))
            }));
        }
    }
    concrete
}

/// How wide the cut is over battered sides: as the trench at its deepest there; nothing for upright sides.
fn cut_width_in_words(line: &Line<'_>, width: Length, deep: Length, over: Length, show: Show) -> String {
    if line.side_slope.is_zero() {
        return String::new();
    }
    let slope = line.side_slope;
    let over =
        if over.is_positive() { worded!(" + 2 x {} over-cut", show.length(over)) } else { String::new() };
    worded!(
        "; as wide as {} + 2 x {slope} x {} at its deepest there{over}",
        show.length(width),
        show.length(deep)
    )
}
