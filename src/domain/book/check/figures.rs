//! Figures that nothing can be reckoned with rightly: hire and weights of nothing, densities that are none.

use super::Check;
use crate::units::quantity::Density;
use crate::units::{Amount, Quantity, Unit};
use crate::wire::At;

/// Densities of ground, fill, surfaces and concrete in kg/m³: from lightweight fill to the heaviest aggregate, common practice,
/// no source. A density per cubic metre that was taken for the mass of a cubic foot lies far beyond.
const DENSITIES: (i64, i64) = (300, 4000);

pub(super) fn check(check: &mut Check<'_>) {
    hire(check);
    densities(check);
}

/// A free rate would be taken before every other one.
fn hire(check: &mut Check<'_>) {
    let root = At::ROOT;
    let list = root.member("equipment");
    for (i, machine) in check.doc.equipment.iter().enumerate().filter(|(_, m)| !m.owned.0) {
        let here = list.element(i);
        for (name, rate) in [
            ("half_day", machine.half_day),
            ("day", Some(machine.day)),
            ("week", machine.week),
            ("four_weeks", machine.four_weeks),
        ] {
            if rate == Some(Amount::ZERO) {
                check.faults.value(
                    &here.member(name),
                    "out_of_range",
                    &Amount::ZERO.to_string(),
                    "hire costs more than nothing: leave out a rate that the yard does not have, or set `owned` for a machine that no hire is paid for",
                );
            }
        }
    }
}

fn densities(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let list = root.member("soils");
    for (i, soil) in doc.soils.iter().enumerate() {
        density(check, soil.weight_per_ft3, &list.element(i).member("weight_per_ft3"));
    }
    let list = root.member("surfaces");
    for (i, surface) in doc.surfaces.iter().enumerate() {
        density(check, surface.weight_per_ft3, &list.element(i).member("weight_per_ft3"));
    }
    if let Some(rules) = &doc.line_rules {
        density(check, rules.fill_weight_per_ft3, &root.member("line_rules").member("fill_weight_per_ft3"));
    }
    if let Some(rules) = &doc.concrete_rules {
        density(check, rules.weight_per_ft3, &root.member("concrete_rules").member("weight_per_ft3"));
    }
}

fn density(check: &mut Check<'_>, density: Density, at: &At<'_>) {
    let (least, most) = DENSITIES;
    if density.within(least, most) {
        return;
    }
    let kg_per_m3 = |density: Density| density.shown(Unit::KgPerM3).value();
    let meant = match density.if_of_m3().filter(|meant| meant.within(least, most)) {
        None => String::new(),
        Some(meant) => format!(
            ": a mass alone is the weight of ONE CUBIC FOOT. If {density} is what a cubic metre weighs, write \"{} kg/m3\"; a cubic foot of \
             that weighs {}",
            kg_per_m3(meant),
            Quantity::of_base(meant.per_ft3().base(), Unit::Kg, 1)
        ),
    };
    let detail = format!(
        "this is {} kg/m3{meant}; soil, fill, surfaces and concrete have {least} to {most} kg/m3 (19 to 250 lb/ft3). Write a density with \
         its unit, \"2400 kg/m3\" or \"150 lb/ft3\"; a mass alone is that of a cubic foot, \"150 lb\"",
        kg_per_m3(density)
    );
    check.faults.value(at, "out_of_range", &density.to_string(), detail);
}
