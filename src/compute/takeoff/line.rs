//! Trench, bedding and fill of one drain line.

use super::collect::Collect;
use super::levels::{self, Levels, Why};
use super::profile::{self, Section, Station, Volumes};
use super::{check, cover, layers, line_top, pipe};
use crate::compute::cut_list::Share;
use crate::compute::needs::Need;
use crate::domain::layout::{Layout, Line};
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Dug;
use crate::domain::words::{Measure, Soil};
use crate::units::show::{Show, joined, worded};
use crate::units::{Factor, Length, Quantity, Unit, Volume};
use crate::wire::Code;
use crate::wire::book::ground::LineRules;
use crate::wire::notes::Outfall;
use serde::Serialize;
use std::fmt;
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
pub(super) fn take_off<'a>(
    line: &Line<'a>,
    levels: &Levels,
    share: &Share,
    collect: &mut Collect<'_, 'a>,
) -> LineTakeoff {
    collect.begin(20);
    let Some(rules) = collect.book.doc().line_rules.as_ref() else {
        collect.checks.push(check(
            "line_rules",
            "price book",
            Outcome::Fail,
            "the price book has no rules for drain lines".to_owned(),
        ));
        return taken(line, collect);
    };
    let width = width(line, rules, collect.layout, &mut collect.checks);
    length(line, collect);
    fall(line, levels, collect);
    let trench = LineTrench::of(line, levels, rules, width, collect.layout.soil);
    let LineTrench { section, stations, deepest, .. } = &trench;
    cover::checks(line, stations, section, rules, collect.layout, &mut collect.checks);
    trench.excavation(collect);
    trench.fill(collect);
    let concrete_net = line_top::take_off(line, width, stations, collect);
    pipe::take_off(line, rules, share, collect);
    let dig_table = trench.dig_table(collect.show);
    LineTakeoff { dig_table, concrete_net, deepest: *deepest, ..taken(line, collect) }
}

/// What was taken off of a line, without its trench.
fn taken(line: &Line<'_>, collect: &mut Collect<'_, '_>) -> LineTakeoff {
    LineTakeoff {
        line: line.id.as_str().to_owned(),
        pipe: line.pipe.code.as_str().to_owned(),
        discharges_to: line.ends.outfall(),
        quantities: collect.end(),
        dig_table: Vec::new(),
        concrete_net: Volume::ZERO,
        deepest: Length::ZERO,
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

/// Length along the pipe, leg by leg.
fn length(line: &Line<'_>, collect: &mut Collect<'_, '_>) {
    let show = collect.show;
    collect.measures.add_length(Measure::LineLength, line.length);
    let basis = worded!("{}", joined(line.legs.iter().map(|leg| show.length(leg.length)), " + "));
    collect.quantity("line_length", show.long(line.length), "line.length", basis);
}

/// Its fall, and the levels that make it.
fn fall(line: &Line<'_>, levels: &Levels, collect: &mut Collect<'_, '_>) {
    let show = collect.show;
    let upper =
        if levels::fed_at_upper_end(line) { "" } else { " as the lowest that enters further down arrives" };
    let joined = line.joins.filter(|_| levels.why == Why::Levels);
    let joined = joined.and_then(|to| collect.layout.lines.get(to.line));
    let lower = fmt::from_fn(|f| match joined {
        Some(other) => write!(f, ", down to that of line {} there", other.id),
        None => Ok(()),
    });
    let basis = worded!(
        "invert {} at the upper end{upper}, {} at the lower{lower}",
        show.length(levels.start),
        show.length(levels.finish)
    );
    let percent = Quantity::decimal(levels.fall.number(), Unit::Percent, 4);
    collect.quantity("fall", percent, "line.fall", basis);
}

/// The trench of a line.
struct LineTrench<'r, 'a> {
    line: &'r Line<'a>,
    rules: &'a LineRules,
    section: Section,
    stations: Vec<Station>,
    volumes: Volumes,
    deepest: Length,
}

/// A layer of what a trench is filled with.
struct Layer<'a> {
    name: &'static str,
    measure: Measure,
    volume: Volume,
    /// What it is bought as; native soil is not bought.
    item: Option<&'a Code>,
    rule: &'static str,
    basis: String,
}

impl<'r, 'a> LineTrench<'r, 'a> {
    fn of(line: &'r Line<'a>, levels: &Levels, rules: &'a LineRules, width: Length, soil: Soil) -> Self {
        let outside = line.pipe.outside_diameter;
        let wall = (outside - line.pipe.inside_diameter).half();
        let bedding = if soil == Soil::Rock { rules.bedding_over_rock } else { rules.bedding };
        let zone_top = bedding + outside + rules.zone_over_pipe;
        let section = Section { width, side_slope: line.side_slope, bedding, zone_top, outside };
        let stations = profile::stations(line, levels, wall, bedding, rules.dig_table_interval);
        let volumes = profile::volumes(line, &stations, &section);
        let deepest = stations.iter().map(|s| s.depth).max().unwrap_or_default();
        Self { line, rules, section, stations, volumes, deepest }
    }

    /// What is dug, by how deep the trench is.
    fn excavation(&self, collect: &mut Collect<'_, 'a>) {
        let Self { line, section, stations, volumes, deepest, .. } = self;
        let dug = volumes.dug;
        collect.measures.add_volume(Measure::LineExcavation, dug);
        let bands = profile::by_depth(stations, section, &collect.depths, dug);
        for profile::Band { over, deepest, dug } in bands.iter().copied() {
            collect.measures.add_dug(Dug { measure: Measure::LineExcavation, over, deepest, volume: dug });
        }
        collect.earth.dig(dug);
        collect.earth.fill_back(volumes.backfill);
        let show = collect.show;
        let batter = fmt::from_fn(|f| {
            if line.side_slope.is_zero() { Ok(()) } else { write!(f, ", sides {} to 1", line.side_slope) }
        });
        // Where the ground lies below the bottom of the trench nothing is dug.
        let shallowest = stations.iter().map(|s| s.depth).min().unwrap_or_default().max(Length::ZERO);
        let deep = fmt::from_fn(|f| {
            if shallowest >= *deepest {
                return write!(f, "{} deep", show.length(shallowest));
            }
            write!(f, "{} to {} deep by the dig table", show.length(shallowest), show.length(*deepest))
        });
        let basis = worded!(
            "{} long, {} wide{batter}, {deep}{}{}",
            show.length(line.length),
            layers::wide(section.width, show),
            layers::lifted(line, stations, section, dug, show),
            layers::by_depth(&bands, show)
        );
        collect.quantity("excavation", show.volume(dug), "line.excavation", basis);
    }

    /// Bedding, the fill round the pipe and the soil that goes back over it.
    fn fill(&self, collect: &mut Collect<'_, 'a>) {
        let Self { line, rules, section, volumes, .. } = self;
        let show = collect.show;
        for layer in [
            Layer {
                name: "bedding",
                measure: Measure::Bedding,
                volume: volumes.bedding,
                item: Some(&rules.bedding_item),
                rule: "line.bedding",
                basis: layers::bedding(line, section, volumes.bedding, show),
            },
            Layer {
                name: "zone_fill",
                measure: Measure::ZoneFill,
                volume: volumes.zone,
                item: Some(&rules.zone_item),
                rule: "line.zone_fill",
                basis: layers::zone(line, section, rules.zone_over_pipe, volumes, show),
            },
            Layer {
                name: "backfill",
                measure: Measure::Backfill,
                volume: volumes.backfill,
                item: None,
                rule: "line.backfill",
                basis: layers::backfill(volumes, show),
            },
        ] {
            self.layer(layer, collect);
        }
    }

    fn layer(&self, layer: Layer<'a>, collect: &mut Collect<'_, 'a>) {
        let Layer { name, measure, volume, item, rule, basis } = layer;
        let shown = collect.show.volume(volume);
        collect.measures.add_volume(measure, volume);
        if let Some(item) = item {
            let bulking = self.rules.fill_loose_to_compacted;
            let weight = self.rules.fill_weight_per_ft3.per_ft3();
            let basis = format_args!("line {}: {shown} compacted x {bulking} loose", self.line.id);
            collect.need(item, Need::Volume(bulking.of(volume), Some(weight)), rule, basis);
        }
        collect.quantity(name, shown, rule, basis);
    }

    /// The stations that the crew digs by.
    fn dig_table(&self, show: Show) -> Vec<DigStation> {
        let listed = self.stations.iter().filter(|s| s.listed);
        let row = |s: &Station| DigStation {
            station: show.long(s.station),
            ground: show.long(s.ground),
            invert: show.long(s.invert),
            depth: show.long(s.depth.max(Length::ZERO)),
        };
        listed.map(row).collect()
    }
}
