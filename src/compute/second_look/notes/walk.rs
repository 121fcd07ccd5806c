//! Every figure of the notes in turn. What is a name, a day or a whole number within narrow bounds is passed over, and so is money,
//! since notes are in any currency, how many of an item are wanted, since items are sold by anything, and the share of a catchment
//! that comes to a reach, which may be any.

use super::figures::{Degrees, Fall, OfFormula};
use super::{Looks, Part, levels, ranges};
use crate::units::{Grade, Percent, RainRate};
use crate::wire::book::ground::SurfaceKind;
use crate::wire::notes::{
    ConcreteNotes, Discount, DrainLine, FromOutlet, GroundPoint, HaulNotes, Leg, LineEnd, LineLeg, Meets,
    Options, Outlet, PourWeather, PricingNotes, Run, SiteNotes, Surface, YardOffcut,
};
use crate::wire::water::{
    Catchment, CatchmentSurface, FlowPath, Inflow, RainFormulaUnit, RainNotes, Reaches, Storm,
};
use std::fmt;

pub(super) fn all<'n>(looks: &mut Looks<'n>, notes: &'n SiteNotes) {
    let SiteNotes {
        title: _,
        customer: _,
        site: _,
        unit_system: _,
        climate: _,
        soil: _,
        difficulty: _,
        weather: _,
        schedule: _,
        concrete,
        haul,
        runs,
        drain_lines,
        storm,
        catchments,
        inflows,
        extras: _,
        yard_offcuts,
        excluded: _,
        by_others: _,
        notes_to_customer: _,
        options,
        pricing,
    } = notes;
    for (i, run) in runs.iter().enumerate() {
        one_run(looks, run, Part::Run(i, &run.id));
    }
    for (i, line) in drain_lines.iter().enumerate() {
        let part = Part::Line(i, &line.id);
        one_line(looks, line, part);
        levels::of_line(looks, line, runs, part);
    }
    if let Some(storm) = storm {
        rain(looks, storm);
    }
    for (i, catchment) in catchments.iter().enumerate() {
        one_catchment(looks, catchment, Part::Catchment(i, &catchment.id));
    }
    for (i, inflow) in inflows.iter().enumerate() {
        let Inflow { id, run: _, leg: _, at, flow } = inflow;
        let part = Part::Inflow(i, id);
        looks.or_nothing(part, format_args!("its place on the run"), *at, &ranges::PLACE);
        looks.or_nothing(part, format_args!("its flow"), *flow, &ranges::INFLOW);
    }
    if let Some(concrete_notes) = concrete {
        concrete_of(looks, concrete_notes);
    }
    if let Some(haul_notes) = haul {
        haul_of(looks, haul_notes);
    }
    for offcut in yard_offcuts.iter() {
        let YardOffcut { item, length, count: _ } = offcut;
        looks.figure(Part::Job, format_args!("the offcut of `{item}`"), *length, &ranges::OFFCUT);
    }
    if let Some(options) = options {
        let Options {
            concrete_way: _,
            waste_pct,
            markup_scheme: _,
            methods: _,
            visits: _,
            order_on: _,
            needed_by: _,
            most_suppliers: _,
            travel,
        } = options;
        waste(looks, *waste_pct);
        if let Some(travel) = travel {
            looks.or_nothing(Part::Job, format_args!("`travel`"), travel.span(), &ranges::TRAVEL);
        }
    }
    if let Some(pricing) = pricing {
        discounts(looks, pricing);
    }
}

/// Waste of concrete, of notes or of a request.
pub(super) fn waste(looks: &mut Looks<'_>, waste: Option<Percent>) {
    if let Some(waste) = waste {
        looks.or_nothing(Part::Job, format_args!("`waste_pct`"), waste, &ranges::WASTE);
    }
}

/// The way from the plant and the weather, of notes or of a request.
pub(super) fn concrete_of(looks: &mut Looks<'_>, concrete: &ConcreteNotes) {
    let ConcreteNotes { short_last_load: _, plant_travel, weather } = concrete;
    if let Some(travel) = plant_travel {
        looks.or_nothing(Part::Job, format_args!("`plant_travel`"), *travel, &ranges::PLANT_TRAVEL);
    }
    for pour in weather.iter() {
        let PourWeather { day, air, coldest, concrete, humidity_pct, wind, sun: _ } = pour;
        let day = day.map_or(1, |d| d.get());
        looks.figure(Part::Job, format_args!("the air of pour day {day}"), Degrees(*air), &ranges::AIR);
        if let Some(coldest) = coldest {
            let place = format_args!("the coldest air of pour day {day}");
            looks.figure(Part::Job, place, Degrees(*coldest), &ranges::AIR);
        }
        let place = format_args!("the concrete of pour day {day}");
        looks.figure(Part::Job, place, Degrees(*concrete), &ranges::FRESH_CONCRETE);
        let place = format_args!("the humidity of pour day {day}");
        looks.figure(Part::Job, place, *humidity_pct, &ranges::HUMIDITY);
        looks.figure(Part::Job, format_args!("the wind of pour day {day}"), *wind, &ranges::WIND);
    }
}

fn one_run<'n>(looks: &mut Looks<'n>, run: &'n Run, part: Part<'n>) {
    let Run {
        id: _,
        legs,
        channel_system: _,
        channel_systems: _,
        grate: _,
        crossing: _,
        surface,
        over_cut,
        relief_cuts,
        outlets,
        surface_level: _,
        setting_detail: _,
        pour_days: _,
    } = run;
    for (i, leg) in legs.iter().enumerate() {
        let number = i + 1;
        let Leg { length, meets, fall_pct } = leg;
        looks.but_nothing(part, format_args!("the length of leg {number}"), *length, &ranges::LEG);
        if let Some(Meets::Tee { leg: _, at }) = meets {
            looks.but_nothing(
                part,
                format_args!("the place of the tee of leg {number}"),
                *at,
                &ranges::PLACE,
            );
        }
        if let Some(fall) = fall_pct {
            let place = format_args!("the fall of the surface of leg {number}");
            looks.or_nothing(part, place, size(*fall), &ranges::SURFACE_FALL);
        }
    }
    if let Some(surface) = surface {
        on_top(looks, part, surface, format_args!(""));
    }
    if let Some(over_cut) = over_cut {
        looks.or_nothing(part, format_args!("`over_cut`"), *over_cut, &ranges::OVER_CUT);
    }
    if let Some(cuts) = relief_cuts {
        looks.or_nothing(part, format_args!("`relief_cuts`"), *cuts, &ranges::RELIEF_CUTS);
    }
    for outlet in outlets.iter() {
        match outlet {
            Outlet::End { id: _, at: _, leg: _ } => {}
            Outlet::Bottom { id, at, leg: _ } => {
                looks.or_nothing(part, format_args!("the place of outlet `{id}`"), *at, &ranges::PLACE);
            }
        }
    }
}

/// How steep a surface is, whichever way it falls.
const fn size(fall: Grade) -> Fall {
    Fall(Percent::from_millionths(fall.millionths().abs()))
}

/// What lies on top; bare soil has no thickness, and nothing else is 0 thick.
fn on_top<'n>(looks: &mut Looks<'n>, part: Part<'n>, surface: &Surface, of: fmt::Arguments<'_>) {
    let Surface { kind, thickness } = surface;
    let (what, usual) = match kind {
        SurfaceKind::BareSoil => return,
        SurfaceKind::ConcreteSlab => ("concrete slab", &ranges::SLAB),
        SurfaceKind::Asphalt => ("asphalt", &ranges::ASPHALT),
        SurfaceKind::Pavers => ("pavers", &ranges::PAVERS),
        SurfaceKind::Gravel => ("gravel", &ranges::GRAVEL),
    };
    if let Some(thickness) = thickness {
        looks.but_nothing(part, format_args!("the thickness of the {what}{of}"), *thickness, usual);
    }
}

fn one_line<'n>(looks: &mut Looks<'n>, line: &'n DrainLine, part: Part<'n>) {
    let DrainLine {
        id: _,
        from,
        pipe: _,
        pipes: _,
        legs,
        ground,
        depth,
        fall_pct: _,
        trench_width,
        side_slope,
        ends,
        pour_days: _,
    } = line;
    for entry in from.iter() {
        let FromOutlet { outlet, at } = entry;
        if let Some(at) = at {
            looks.or_nothing(part, format_args!("where outlet `{outlet}` enters"), *at, &ranges::PLACE);
        }
    }
    for (i, leg) in legs.iter().enumerate() {
        let number = i + 1;
        let LineLeg { length, bend: _, surface } = leg;
        looks.but_nothing(part, format_args!("the length of leg {number}"), *length, &ranges::PIPE_LEG);
        if let Some(surface) = surface {
            on_top(looks, part, surface, format_args!(" on leg {number}"));
        }
    }
    for (i, point) in ground.iter().enumerate() {
        let GroundPoint { at, level: _ } = point;
        looks.or_nothing(part, format_args!("the place of ground level {}", i + 1), *at, &ranges::PLACE);
    }
    if let Some(depth) = depth {
        looks.figure(part, format_args!("the depth"), *depth, &ranges::DEPTH);
    }
    if let Some(width) = trench_width {
        looks.figure(part, format_args!("`trench_width`"), *width, &ranges::TRENCH_WIDTH);
    }
    if let Some(slope) = side_slope {
        looks.or_nothing(part, format_args!("`side_slope`"), *slope, &ranges::SIDE_SLOPE);
    }
    match ends {
        LineEnd::Joins { line, at } => {
            looks.or_nothing(part, format_args!("where it joins line {line}"), *at, &ranges::PLACE);
        }
        LineEnd::Discharges { to: _, invert_level: _, water_level: _ } => {}
    }
}

fn rain(looks: &mut Looks<'_>, storm: &Storm) {
    /// How long the rain lasts that a formula is asked for.
    const MINUTES: f64 = 10.0;
    let Storm { return_period_years: _, rain } = storm;
    match rain {
        RainNotes::Intensity { intensity } => {
            looks.or_nothing(
                Part::Job,
                format_args!("the rain of the storm"),
                *intensity,
                &ranges::INTENSITY,
            );
        }
        RainNotes::Formula { a, b, c, unit } => {
            let number = |f: &crate::units::Factor| f.millionths() as f64 / 1e6;
            let nm = match unit {
                RainFormulaUnit::InPerHr => 25.4e6,
                RainFormulaUnit::MmPerHr => 1e6,
            };
            // what is no intensity at all is a fault of the notes, or as good as beyond any
            let given = a.number_f64() / (MINUTES + number(b)).powf(number(c)) * nm;
            let intensity = OfFormula(RainRate::from_nm_per_h(given as i64));
            let place = format_args!("the rain of 10 minutes by the formula of the storm");
            looks.or_nothing(Part::Job, place, intensity, &ranges::BY_FORMULA);
        }
        RainNotes::Table { table: _ } => {}
    }
}

fn one_catchment<'n>(looks: &mut Looks<'n>, catchment: &'n Catchment, part: Part<'n>) {
    let Catchment { id: _, surfaces, path, reaches } = catchment;
    for (i, surface) in surfaces.iter().enumerate() {
        let number = i + 1;
        let CatchmentSurface { cover: _, area, coefficient } = surface;
        looks.but_nothing(part, format_args!("the area of surface {number}"), *area, &ranges::AREA);
        if let Some(coefficient) = coefficient {
            let place = format_args!("the coefficient of surface {number}");
            looks.or_nothing(part, place, *coefficient, &ranges::COEFFICIENT);
        }
    }
    for (i, way) in path.iter().enumerate() {
        let number = i + 1;
        let (length, fall, flattest) = match way {
            FlowPath::Sheet { length, fall_pct, roughness } => {
                let place = format_args!("the roughness of part {number} of the way");
                looks.but_nothing(part, place, *roughness, &ranges::ROUGHNESS);
                (length, fall_pct, &ranges::SHEET_FALL)
            }
            FlowPath::Overland { length, fall_pct, coefficient } => {
                let place = format_args!("the coefficient of part {number} of the way");
                looks.or_nothing(part, place, *coefficient, &ranges::COEFFICIENT);
                (length, fall_pct, &ranges::WAY_FALL)
            }
            FlowPath::Shallow { length, fall_pct, velocity_factor } => {
                let place = format_args!("the velocity factor of part {number} of the way");
                looks.but_nothing(part, place, *velocity_factor, &ranges::VELOCITY_FACTOR);
                (length, fall_pct, &ranges::WAY_FALL)
            }
        };
        let place = format_args!("the length of part {number} of the way");
        looks.but_nothing(part, place, *length, &ranges::WAY_OF_WATER);
        looks.but_nothing(part, format_args!("the fall of part {number} of the way"), Fall(*fall), flattest);
    }
    for reached in reaches.iter() {
        let Reaches { run, leg: _, from, to, at, share_pct: _ } = reached;
        for (word, place) in [("from", from), ("to", to), ("at", at)] {
            if let Some(place) = place {
                looks.or_nothing(part, format_args!("`{word}` on run {run}"), *place, &ranges::PLACE);
            }
        }
    }
}

fn haul_of(looks: &mut Looks<'_>, haul: &HaulNotes) {
    let HaulNotes { spoil_kept, keep_all_spoil: _, distance, speed } = haul;
    if let Some(kept) = spoil_kept {
        looks.or_nothing(Part::Job, format_args!("`spoil_kept`"), *kept, &ranges::SPOIL_KEPT);
    }
    if let Some(distance) = distance {
        let place = format_args!("the distance to the tip");
        looks.or_nothing(Part::Job, place, *distance, &ranges::HAUL_DISTANCE);
    }
    if let Some(speed) = speed {
        looks.or_nothing(Part::Job, format_args!("the speed of the truck"), *speed, &ranges::HAUL_SPEED);
    }
}

fn discounts(looks: &mut Looks<'_>, pricing: &PricingNotes) {
    let PricingNotes { place: _, allowances: _, discounts, optional: _, alternates: _, chosen: _ } = pricing;
    for discount in discounts.iter() {
        match discount {
            Discount::Percent { name, pct, category: _ } => {
                looks.or_nothing(Part::Job, format_args!("the discount `{name}`"), *pct, &ranges::DISCOUNT);
            }
            Discount::Amount { name: _, amount: _, category: _ } => {}
        }
    }
}
