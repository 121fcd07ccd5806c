//! What figures of site notes have on jobs, and who says so: the one table of them.
//!
//! Each end has its reason. An end lies where no job lies, not where jobs become rare: hand-dug grooves and sewers, thin toppings and
//! runways, deserts and the far north are all within. Where a figure only makes sense beside another, `levels` says so.

use super::super::{PRACTICE, Usual, inches, minutes, tenths_pct};
use super::figures::{Degrees, Fall, OfFormula};
use crate::units::quantity::Span;
use crate::units::{
    Area, Distance, Factor, Flow, Length, Percent, RainRate, Speed, Temperature, Unit, Volume,
};

const fn usual<T: Copy>(what: &'static str, least: T, most: T) -> Usual<T> {
    Usual { what, least, most, source: PRACTICE }
}

const fn feet(feet: i64) -> Length {
    Length::feet(feet)
}

/// Base units in whole units; all of these have a factor.
const fn base(count: i128, unit: Unit) -> i128 {
    match unit.factor() {
        Some(one) => count * one,
        None => count,
    }
}

const fn hundredths_pct(hundredths: i64) -> Percent {
    Percent::from_millionths(hundredths * 100)
}

/// A shorter piece of channel is no leg but a part of a fitting; the longest run straight on beside a runway.
pub(super) const LEG: Usual<Length> = usual("a leg of a run", inches(2), feet(6_000));
/// Between two bends there are a few inches of pipe at least.
pub(super) const PIPE_LEG: Usual<Length> = usual("a leg of a line", inches(2), feet(6_000));
/// A tape on site finds no place less than an inch from where it starts; what lies there is noted as 0.
pub(super) const PLACE: Usual<Length> = usual("a place along it", inches(1), feet(6_000));

/// A topping of an inch is the thinnest that is sawn as a slab; a yard and more is a foundation of a machine.
pub(super) const SLAB: Usual<Length> = usual("a slab", inches(1), inches(40));
/// The thinnest layers are as thick as their largest stone; full-depth asphalt of a runway has some 20 in.
pub(super) const ASPHALT: Usual<Length> = usual("asphalt", Length::inches(3, 8), inches(24));
/// From slate and porcelain tiles to rough setts and their bed.
pub(super) const PAVERS: Usual<Length> = usual("pavers", Length::inches(3, 8), inches(16));
/// From a dressing of chippings to a platform for cranes.
pub(super) const GRAVEL: Usual<Length> = usual("gravel", Length::inches(3, 8), feet(5));

/// A blade is some 1/8 in wide and its cut wanders as much: less is no over-cut; pavers are relaid a few feet wide at most.
pub(super) const OVER_CUT: Usual<Length> = usual("an over-cut", Length::inches(1, 4), feet(6));
/// The shortest cut that a saw makes is about its blade's depth.
pub(super) const RELIEF_CUTS: Usual<Length> = usual("relief cuts", inches(2), feet(6_000));

/// The smallest pipe with a little ground over it; sewers of 30 ft and deeper are tunnelled.
pub(super) const DEPTH: Usual<Length> = usual("the depth of a drain", inches(4), feet(30));
/// From the chain of a trencher to a pit of a main sewer.
pub(super) const TRENCH_WIDTH: Usual<Length> = usual("a trench", inches(3), feet(16));
/// Steeper than 20 to 1 is upright; loose sand lies at less than 2 to 1. Degrees and percent lie far above.
pub(super) const SIDE_SLOPE: Usual<Factor> = usual(
    "a batter, horizontal for 1 vertical, 45° being 1",
    Factor::from_millionths(50_000),
    Factor::from_millionths(5_000_000),
);
/// Less than 5 mm in 10 m is not set out on site; drains steeper than 1 in 10 are anchored or stepped, and are told only where
/// no level bears them out.
pub(super) const LINE_FALL: Usual<Fall> = usual(
    "a drain that no level in the notes shows to lie so",
    Fall(hundredths_pct(5)),
    Fall(Percent::whole(10)),
);
/// A pipe along which one walks down more than one goes forward is a downpipe.
pub(super) const STEEPEST: Usual<Fall> =
    usual("a drain in the ground", Fall(hundredths_pct(5)), Fall(Percent::whole(100)));
/// Garage ramps reach 20 % and a little more.
pub(super) const SURFACE_FALL: Usual<Fall> =
    usual("a finished surface", Fall(hundredths_pct(5)), Fall(Percent::whole(25)));

/// Orders of concrete have 3 to 30 % in books; rough rock under a thin surround takes more, never as much again.
pub(super) const WASTE: Usual<Percent> = usual("waste of concrete", Percent::whole(1), Percent::whole(80));
/// A discount below half a percent is lost in the rounding of a quote; how far it may go is for the office to say.
pub(super) const DISCOUNT: Usual<Percent> = usual("a discount", tenths_pct(5), Percent::whole(100));
/// Travel of less than two minutes is not paid; beyond ten hours there and back nobody works that day.
pub(super) const TRAVEL: Usual<Span> = usual("paid travel of a day", minutes(2), minutes(600));
/// With every retarder concrete has set after six hours.
pub(super) const PLANT_TRAVEL: Usual<Span> = usual("the way from the plant", minutes(1), minutes(360));

/// A truck is not loaded for less than its own length a few times over; spoil goes no further than to the one tip of a country
/// that takes it.
pub(super) const HAUL_DISTANCE: Usual<Distance> = usual(
    "the way to the tip",
    Distance::from_nm(feet(60).nm()),
    Distance::from_nm(base(400, Unit::Mi) as i64),
);
/// From a walk across the site to a motorway, there and back.
pub(super) const HAUL_SPEED: Usual<Speed> = usual("a truck", mph(2), mph(75));
/// A wheelbarrow holds some 3 ft³, and a thousand trucks 10 000 yd³; how much can be kept another check says.
pub(super) const SPOIL_KEPT: Usual<Volume> = usual(
    "spoil kept on site",
    Volume::from_nm3(base(1, Unit::Ft3) / 4),
    Volume::from_nm3(base(10_000, Unit::Yd3)),
);

/// From the cold of the far north to the hottest day of a desert.
pub(super) const AIR: Usual<Degrees> = usual("the air of a pour", degrees(-40), degrees(50));
/// Mixes against frost leave the plant a little below freezing; beyond 50 °C nothing is placed.
pub(super) const FRESH_CONCRETE: Usual<Degrees> = usual("fresh concrete", degrees(-10), degrees(50));
/// The driest air of a desert has a few percent.
pub(super) const HUMIDITY: Usual<Percent> =
    usual("the humidity of the air", Percent::whole(2), Percent::whole(100));
/// A hurricane begins there.
pub(super) const WIND: Usual<Speed> = Usual {
    what: "the wind over a pour",
    least: mph(0),
    most: mph(75),
    source: "a hurricane has 74 mph (from memory); common practice, no source",
};

/// No drain is made for a drizzle, nor for more than what has been measured in the hardest minutes of the wettest places.
pub(super) const INTENSITY: Usual<RainRate> = Usual {
    what: "the rain of a storm",
    least: RainRate::from_nm_per_h(base(2, Unit::InPerHr) as i64 / 10),
    most: RainRate::from_nm_per_h(base(24, Unit::InPerHr) as i64),
    source: "the hardest rains over a few minutes had 600 to 900 mm an hour (from memory); common practice, no source",
};
/// The same of what a formula gives for ten minutes.
pub(super) const BY_FORMULA: Usual<OfFormula> = Usual {
    what: INTENSITY.what,
    least: OfFormula(INTENSITY.least),
    most: OfFormula(INTENSITY.most),
    source: INTENSITY.source,
};
/// A square foot of roof; the formula is not used for more than 200 acres.
pub(super) const AREA: Usual<Area> = Usual {
    what: "a part of a catchment",
    least: Area::from_nm2(base(1, Unit::Ft2)),
    most: Area::from_nm2(base(200 * 43_560, Unit::Ft2)),
    source: "the rational method is used up to 200 acres (from memory); common practice, no source",
};
/// Flat sandy lawn has 0.05 in the tables.
pub(super) const COEFFICIENT: Usual<Factor> = Usual {
    what: "a runoff coefficient",
    least: Factor::from_millionths(20_000),
    most: Factor::ONE,
    source: "the published ones begin at 0.05; common practice, no source",
};
/// A way of water shorter than a hand is none.
pub(super) const WAY_OF_WATER: Usual<Length> = usual("a way of water", inches(4), feet(10_000));
/// Paving is not laid flatter than 5 mm in 10 m.
pub(super) const SHEET_FALL: Usual<Fall> =
    usual("a plane that water runs off", Fall(hundredths_pct(5)), Fall(Percent::whole(100)));
/// Ditches of flat country fall a centimetre in 100 m.
pub(super) const WAY_FALL: Usual<Fall> =
    usual("a way of water", Fall(hundredths_pct(1)), Fall(Percent::whole(100)));
/// The smoothest surface of the tables has 0.01.
pub(super) const ROUGHNESS: Usual<Factor> = Usual {
    what: "Manning's n of a sheet",
    least: Factor::from_millionths(8_000),
    most: Factor::ONE,
    source: "the published ones begin at 0.01 (from memory); common practice, no source",
};
/// Forest litter has 2.5 ft/s, paved gutters 20.3 and more.
pub(super) const VELOCITY_FACTOR: Usual<Factor> = Usual {
    what: "a velocity factor in feet a second",
    least: Factor::ONE,
    most: Factor::from_millionths(60_000_000),
    source: "the published ones go from 2.5 to 46 (from memory); common practice, no source",
};
/// From a dripping condenser to a pump of a fire brigade, and as much again.
pub(super) const INFLOW: Usual<Flow> = usual(
    "what flows in",
    Flow::from_base(base(3, Unit::LPerS) as i64 / 1000),
    Flow::from_base(base(300, Unit::LPerS) as i64),
);
/// An offcut is worth a place on the truck from a hand's width on; nothing is sold longer than 50 ft.
pub(super) const OFFCUT: Usual<Length> = usual("an offcut", inches(2), feet(50));

/// What one level of a job may lie from another that belongs to the same place or to the end of the same pipe, beyond what the
/// length of the pipe explains.
pub(super) const LEVELS_APART: Length = DEPTH.most;
/// What a run may lie above or below the ground of the line that takes its water, where it is on a deck: some floors.
pub(super) const RUN_ABOVE_LINE: Length = feet(50);
/// What a line may fall beyond what levels show, where it ends in the open or in a sewer and where it joins another line.
pub(super) const DROP_UNSHOWN: (Length, Length) = (feet(2), feet(6));

const fn mph(miles: i128) -> Speed {
    Speed::from_nm_per_h(base(miles, Unit::MiPerHr) as i64)
}

const fn degrees(celsius: i64) -> Degrees {
    Degrees(Temperature::whole_celsius(celsius))
}
