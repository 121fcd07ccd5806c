//! Soils, surfaces, drain lines, haul and water.

use super::{
    End, Looks, PRACTICE, Usual, YARD, density_unit, hundredths, inches, minutes, tenths_pct, yards,
};
use crate::domain::words::Soil;
use crate::units::quantity::{Density, Mass, Quantity, Span};
use crate::units::show::worded;
use crate::units::{Factor, Length, Percent, Unit, UnitSystem, Volume};
use crate::wire::At;
use crate::wire::book::ground::{HaulRule, LineRules};
use crate::wire::water::WaterRules;

const FM_5_434: &str = "US Army FM 5-434 table 1-1 (read second-hand); the range about it is common practice";
const D2321: &str = "ASTM D2321-05 (read) takes the usual value; the range about it is common practice";
const CODES: &str =
    "a city's code table has least falls of 0.5 to 2 % (read); the range about them is common practice";

const fn growth(what: &'static str, least: i64, most: i64) -> Usual<Factor> {
    Usual { what, least: hundredths(least), most: hundredths(most), source: FM_5_434 }
}

/// Loose over bank: 1.11, 1.25, 1.43 and 1.50 in the table.
const fn loose(soil: Soil) -> Usual<Factor> {
    match soil {
        Soil::SandGravel => growth("loose over bank of sand and gravel", 100, 130),
        Soil::CommonEarth => growth("loose over bank of common earth", 105, 150),
        Soil::Clay => growth("loose over bank of clay", 110, 170),
        Soil::Rock => growth("loose over bank of rock", 125, 200),
    }
}

/// Compacted over bank: 0.95, 0.90, 0.90 and 1.30 in the table.
const fn compacted(soil: Soil) -> Usual<Factor> {
    match soil {
        Soil::SandGravel | Soil::CommonEarth | Soil::Clay => growth("compacted over bank of soil", 70, 110),
        Soil::Rock => growth("compacted over bank of rock", 90, 160),
    }
}

/// Densities in kg/m³.
const SOIL: (i64, i64) = (950, 3050);
const SURFACE: (i64, i64) = (1250, 3050);
const FILL: (i64, i64) = (950, 2250);

const BULKING: Usual<Factor> = Usual {
    what: "loose rubble over solid",
    least: Factor::ONE,
    most: hundredths(200),
    source: "broken concrete has 1.5 to 1.7 (from memory); the range about it is common practice",
};
const OVER_CUT: Usual<Length> =
    Usual { what: "the over-cut of a side", least: Length::ZERO, most: inches(24), source: PRACTICE };

const USUAL_FALL: Usual<Percent> =
    Usual { what: "the fall of a line", least: tenths_pct(3), most: Percent::whole(15), source: CODES };
const LEAST_FALL: Usual<Percent> =
    Usual { what: "the least fall of a pipe", least: tenths_pct(2), most: Percent::whole(5), source: CODES };
const WIDTH_PLUS: Usual<Length> =
    Usual { what: "the trench beside a pipe", least: inches(4), most: inches(48), source: D2321 };
const WIDTH_TIMES: Usual<Factor> =
    Usual { what: "the trench over the diameter", least: Factor::ONE, most: hundredths(300), source: D2321 };
const WIDTH_TIMES_PLUS: Usual<Length> =
    Usual { what: "the trench beside a pipe", least: Length::ZERO, most: inches(48), source: D2321 };
const BEDDING: Usual<Length> =
    Usual { what: "bedding", least: Length::ZERO, most: inches(24), source: PRACTICE };
const ZONE: Usual<Length> =
    Usual { what: "fill over a pipe", least: Length::ZERO, most: inches(36), source: PRACTICE };
const FILL_LOOSE: Usual<Factor> =
    Usual { what: "loose over compacted fill", least: Factor::ONE, most: hundredths(160), source: PRACTICE };
const INTERVAL: Usual<Length> =
    Usual { what: "the step of the dig table", least: inches(12), most: Length::feet(100), source: PRACTICE };
const CLEAN_OUT: Usual<Length> = Usual {
    what: "the distance of clean-outs",
    least: Length::feet(15),
    most: Length::feet(400),
    source: "plumbing codes have about 100 ft (from memory); the range about it is common practice",
};
const COVER: Usual<Length> =
    Usual { what: "the least cover", least: Length::ZERO, most: Length::feet(8), source: PRACTICE };

const TRUCK_VOLUME: Usual<Volume> =
    Usual { what: "what a truck takes", least: YARD.half(), most: yards(30), source: PRACTICE };
const PAYLOAD: Usual<Mass> = Usual {
    what: "the payload of a truck",
    least: Mass::pounds(500),
    most: Mass::pounds(60_000),
    source: PRACTICE,
};
const AT_THE_TRUCK: Usual<Span> =
    Usual { what: "loading or tipping", least: Span::from_seconds(0), most: minutes(120), source: PRACTICE };
/// Of a truck on the road, in nanometres an hour: 5 to 70 miles.
const SPEED: (i64, i64) = (8_046_720_000_000, 112_654_080_000_000);
/// To the tip, in nanometres: 100 miles.
const FARTHEST: i64 = 160_934_400_000_000;

const CLOGGED: Usual<Percent> = Usual {
    what: "the clogged part of a grate",
    least: Percent::whole(5),
    most: Percent::whole(90),
    source: "TxDOT takes 50 % in a sag (read); the range about it is common practice",
};
const FREEBOARD: Usual<Length> = Usual {
    what: "room under or water over a grate",
    least: Length::ZERO,
    most: inches(6),
    source: PRACTICE,
};
const SHEET: Usual<Length> = Usual {
    what: "the longest sheet flow",
    least: Length::feet(10),
    most: Length::feet(300),
    source: PRACTICE,
};
const SLOWEST: Usual<Factor> =
    Usual { what: "the least velocity", least: hundredths(50), most: hundredths(500), source: PRACTICE };
const FASTEST: Usual<Factor> =
    Usual { what: "the greatest velocity", least: hundredths(500), most: hundredths(4000), source: PRACTICE };

pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let root = At::ROOT;
    let list = root.member("soils");
    for (i, soil) in book.soils.iter().enumerate() {
        let here = list.element(i);
        looks.figure(&here.member("bank_to_loose"), soil.bank_to_loose, &loose(soil.soil));
        looks.figure(&here.member("bank_to_compacted"), soil.bank_to_compacted, &compacted(soil.soil));
        density(looks, &here.member("weight_per_ft3"), soil.weight_per_ft3, SOIL);
    }
    let list = root.member("surfaces");
    for (i, surface) in book.surfaces.iter().enumerate() {
        let here = list.element(i);
        looks.figure(&here.member("bulking"), surface.bulking, &BULKING);
        density(looks, &here.member("weight_per_ft3"), surface.weight_per_ft3, SURFACE);
    }
    looks.given(&root.member("over_cut"), book.over_cut, &OVER_CUT);
    if let Some(rules) = &book.line_rules {
        lines(looks, rules, &root.member("line_rules"));
    }
    if let Some(rule) = &book.haul {
        haul(looks, rule, &root.member("haul"));
    }
    if let Some(rules) = &book.water_rules {
        water(looks, rules, &root.member("water_rules"));
    }
}

fn lines(looks: &mut Looks<'_>, rules: &LineRules, at: &At<'_>) {
    looks.figure(&at.member("usual_fall_pct"), rules.usual_fall_pct, &USUAL_FALL);
    let falls = at.member("least_falls");
    for (i, band) in rules.least_falls.iter().enumerate() {
        let here = falls.element(i);
        looks.figure(&here.member("least_pct"), band.least_pct, &LEAST_FALL);
    }
    looks.figure(&at.member("width_plus"), rules.width_plus, &WIDTH_PLUS);
    looks.figure(&at.member("width_times"), rules.width_times, &WIDTH_TIMES);
    looks.figure(&at.member("width_times_plus"), rules.width_times_plus, &WIDTH_TIMES_PLUS);
    looks.figure(&at.member("bedding"), rules.bedding, &BEDDING);
    looks.figure(&at.member("bedding_over_rock"), rules.bedding_over_rock, &BEDDING);
    looks.figure(&at.member("zone_over_pipe"), rules.zone_over_pipe, &ZONE);
    looks.figure(&at.member("fill_loose_to_compacted"), rules.fill_loose_to_compacted, &FILL_LOOSE);
    density(looks, &at.member("fill_weight_per_ft3"), rules.fill_weight_per_ft3, FILL);
    looks.figure(&at.member("dig_table_interval"), rules.dig_table_interval, &INTERVAL);
    looks.figure(&at.member("clean_out_every"), rules.clean_out_every, &CLEAN_OUT);
    looks.figure(&at.member("least_cover"), rules.least_cover, &COVER);
}

fn haul(looks: &mut Looks<'_>, rule: &HaulRule, at: &At<'_>) {
    looks.figure(&at.member("truck_volume"), rule.truck_volume, &TRUCK_VOLUME);
    looks.figure(&at.member("truck_payload"), rule.truck_payload, &PAYLOAD);
    looks.given(&at.member("loading"), rule.loading, &AT_THE_TRUCK);
    looks.given(&at.member("tipping"), rule.tipping, &AT_THE_TRUCK);
    let us = looks.book.unit_system == UnitSystem::Us;
    // a speed is a length an hour
    let end = |base: i64, end: End| looks.end(Length::from_nm(base), end).nm();
    let (slowest, fastest) = (end(SPEED.0, End::Least), end(SPEED.1, End::Most));
    let farthest = end(FARTHEST, End::Most);
    let shown = |base: i64, unit: Unit| Quantity::of_base(i128::from(base), unit, 1).to_string();
    if let Some(speed) = rule.speed.map(|s| s.nm_per_h())
        && !(slowest..=fastest).contains(&speed)
    {
        let unit = if us { Unit::MiPerHr } else { Unit::KmPerHr };
        let usual = worded!("{} to {}", shown(slowest, unit), shown(fastest, unit));
        let detail = worded!("a truck runs at {} here, usually {usual} ({PRACTICE})", shown(speed, unit));
        looks.note(&at.member("speed"), detail, shown(speed, unit), usual, PRACTICE);
    }
    if let Some(way) = rule.distance.map(|d| d.nm()).filter(|d| *d > farthest) {
        let unit = if us { Unit::Mi } else { Unit::Km };
        let usual = worded!("up to {}", shown(farthest, unit));
        let detail = worded!("the tip is {} away here, usually {usual} ({PRACTICE})", shown(way, unit));
        looks.note(&at.member("distance"), detail, shown(way, unit), usual, PRACTICE);
    }
}

fn water(looks: &mut Looks<'_>, rules: &WaterRules, at: &At<'_>) {
    if let Some(clogged) = rules.clogged_pct {
        looks.or_nothing(&at.member("clogged_pct"), clogged, &CLOGGED);
    }
    looks.given(&at.member("least_freeboard"), rules.least_freeboard, &FREEBOARD);
    looks.given(&at.member("ponding"), rules.ponding, &FREEBOARD);
    looks.given(&at.member("longest_sheet_flow"), rules.longest_sheet_flow, &SHEET);
    looks.given(&at.member("least_velocity_ft_per_s"), rules.least_velocity_ft_per_s, &SLOWEST);
    looks.given(&at.member("greatest_velocity_ft_per_s"), rules.greatest_velocity_ft_per_s, &FASTEST);
}

/// A density beyond two in kg/m³.
pub(super) fn density(looks: &mut Looks<'_>, at: &At<'_>, density: Density, (least, most): (i64, i64)) {
    if density.within(least, most) {
        return;
    }
    let unit = density_unit(looks.book.unit_system);
    let one = Unit::KgPerM3.factor().unwrap_or(1);
    let end = |kg: i64| Quantity::of_base(i128::from(kg) * one, unit, 0);
    let usual = worded!("{} to {}", end(least), end(most));
    let value = density.shown(unit).to_string();
    let detail = worded!("the density is {value} here, usually {usual} ({PRACTICE})");
    looks.note(at, detail, value, usual, PRACTICE);
}
