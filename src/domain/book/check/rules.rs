//! Ground and concrete.

use super::Check;
use crate::domain::book::bags::{label_yield, told_yield};
use crate::domain::words::Soil;
use crate::units::show::Show;
use crate::units::{Amount, Dimension as D, Factor, Length, Volume};
use crate::wire::At;
use crate::wire::book::concrete::{ConcreteWay, ShortLoad};
use crate::wire::book::ground::{LineRules, SurfaceKind};
use crate::wire::water::FrequencyStep;

pub(super) fn check(check: &mut Check<'_>) {
    ground(check);
    concrete(check);
}

fn ground(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let soils = root.member("soils");
    for soil in Soil::ALL {
        if !doc.soils.iter().any(|s| s.soil == *soil) {
            check.add(
                &soils,
                "missing_soil",
                format!("the factors of `{soil}` are missing; FM 5-434 table 1-1 has them"),
            );
        }
    }
    for (i, soil) in doc.soils.iter().enumerate() {
        let here = soils.element(i);
        if doc.soils.iter().take(i).any(|s| s.soil == soil.soil) {
            check.twice(&here.member("soil"), soil.soil.word());
        }
        if soil.bank_to_loose < Factor::ONE {
            check.faults.value(
                &here.member("bank_to_loose"),
                "out_of_range",
                &soil.bank_to_loose.to_string(),
                "soil grows when dug: loose over bank is at least 1",
            );
        }
        if soil.bank_to_compacted.millionths() == 0 {
            check.faults.value(
                &here.member("bank_to_compacted"),
                "out_of_range",
                &soil.bank_to_compacted.to_string(),
                "compacted soil takes some room: compacted over bank is more than 0",
            );
        } else if soil.bank_to_compacted > soil.bank_to_loose && soil.bank_to_loose >= Factor::ONE {
            check.faults.value(
                &here.member("bank_to_compacted"),
                "contradiction",
                &soil.bank_to_compacted.to_string(),
                format!("compacted soil takes no more room than loose: at most {}", soil.bank_to_loose),
            );
        }
    }
    let surfaces = root.member("surfaces");
    for kind in SurfaceKind::ALL.iter().filter(|k| **k != SurfaceKind::BareSoil) {
        if !doc.surfaces.iter().any(|s| s.surface == *kind) {
            check.add(
                &surfaces,
                "missing_surface",
                format!("say how `{kind}` is weighed, bulked and restored"),
            );
        }
    }
    for (i, surface) in doc.surfaces.iter().enumerate() {
        let here = surfaces.element(i);
        if doc.surfaces.iter().take(i).any(|s| s.surface == surface.surface) {
            check.twice(&here.member("surface"), surface.surface.word());
        }
        if surface.bulking.millionths() < 1_000_000 {
            check.add(
                &here.member("bulking"),
                "out_of_range",
                "rubble takes at least the room it took before: loose over solid is at least 1",
            );
        }
        check.optional(
            surface.restore_item.as_ref(),
            &[D::Area, D::Volume, D::Mass],
            "a restored surface",
            &here.member("restore_item"),
        );
        check.optional(
            surface.disposal_item.as_ref(),
            &[D::Volume, D::Mass, D::Count],
            "a tipping fee",
            &here.member("disposal_item"),
        );
    }
    match &doc.haul {
        None => check.add(&root.member("haul"), "required", "say what a truck takes and what hauling costs"),
        Some(haul) => {
            let here = root.member("haul");
            for (name, is_nothing) in [
                ("truck_volume", haul.truck_volume == Volume::ZERO),
                ("truck_payload", haul.truck_payload.base() == 0),
            ] {
                if is_nothing {
                    check.add(&here.member(name), "out_of_range", "a truck takes more than nothing");
                }
            }
            check.optional(haul.haul_item.as_ref(), &[D::Count], "a load hauled", &here.member("haul_item"));
            check.optional(
                haul.soil_disposal_item.as_ref(),
                &[D::Volume, D::Mass, D::Count],
                "a tipping fee",
                &here.member("soil_disposal_item"),
            );
            check.optional(
                haul.truck_hour_item.as_ref(),
                &[D::Time],
                "an hour of truck and driver",
                &here.member("truck_hour_item"),
            );
            if haul.speed.is_some_and(|s| s.nm_per_h() == 0) {
                check.add(&here.member("speed"), "out_of_range", "a truck moves: more than 0");
            }
        }
    }
    lines(check);
    water(check);
}

fn lines(check: &mut Check<'_>) {
    let root = At::ROOT;
    let here = root.member("line_rules");
    match &check.doc.line_rules {
        None if check.doc.pipes.is_empty() => {}
        None => check.add(&here, "required", "a book with pipes needs rules for trench, bedding and fall"),
        Some(rules) => {
            check.item(&rules.bedding_item, &[D::Volume, D::Mass], "bedding", &here.member("bedding_item"));
            check.item(&rules.zone_item, &[D::Volume, D::Mass], "zone fill", &here.member("zone_item"));
            check.positive(rules.dig_table_interval, "the interval", &here.member("dig_table_interval"));
            check.positive(rules.clean_out_every, "the distance", &here.member("clean_out_every"));
            if rules.fill_loose_to_compacted.millionths() < 1_000_000 {
                check.add(
                    &here.member("fill_loose_to_compacted"),
                    "out_of_range",
                    "fill is ordered loose: at least 1",
                );
            }
            let falls = here.member("least_falls");
            for (i, pair) in rules.least_falls.windows(2).enumerate() {
                if pair[1].bore_up_to <= pair[0].bore_up_to {
                    check.add(&falls.element(i + 1), "not_ascending", "list the bores from the smallest up");
                }
            }
            widest(check, rules, &falls);
        }
    }
}

/// The last band reaches the widest pipe: what a book does not say of a bore is not taken from a smaller one.
fn widest(check: &mut Check<'_>, rules: &LineRules, falls: &At<'_>) {
    let widest = check.doc.pipes.iter().max_by_key(|p| p.inside_diameter);
    let (Some(last), Some(pipe)) = (rules.least_falls.iter().map(|b| b.bore_up_to).max(), widest) else {
        return;
    };
    if pipe.inside_diameter <= last {
        return;
    }
    let show = Show(check.doc.unit_system);
    let here = falls.element(rules.least_falls.len().saturating_sub(1));
    check.faults.value(
        &here.member("bore_up_to"),
        "missing_band",
        &show.length(last).to_string(),
        format!(
            "`{}` has a bore of {}, for which no least fall is given: add a band that reaches it",
            pipe.code,
            show.length(pipe.inside_diameter)
        ),
    );
}

/// Rules for water: what the hydraulics cannot compute with.
fn water(check: &mut Check<'_>) {
    let Some(rules) = &check.doc.water_rules else { return };
    let root = At::ROOT;
    let here = root.member("water_rules");
    if rules.clogged_pct.is_some_and(|p| p.millionths() > 990_000) {
        check.add(
            &here.member("clogged_pct"),
            "out_of_range",
            "a grate clogged whole takes nothing: at most 99",
        );
    }
    for (name, loss) in [
        ("corner_loss", rules.corner_loss),
        ("bend_loss", rules.bend_loss),
        ("junction_loss", rules.junction_loss),
    ] {
        if loss.is_some_and(|l| l.millionths() > 20_000_000) {
            check.add(&here.member(name), "out_of_range", "a loss is at most 20 velocity heads");
        }
    }
    if rules.least_concentration.is_some_and(|s| s.seconds() < 60) {
        check.add(&here.member("least_concentration"), "out_of_range", "at least 1 min");
    }
    frequency_factors(check, &rules.frequency_factors, &here.member("frequency_factors"));
    for (name, length) in [
        ("longest_sheet_flow", rules.longest_sheet_flow),
        ("longest_overland_flow", rules.longest_overland_flow),
    ] {
        if length.is_some_and(|l| l <= Length::ZERO) {
            check.add(&here.member(name), "out_of_range", "water runs some way: more than 0");
        }
    }
}

/// A rarer storm is told behind the others, and sheds no less for it.
fn frequency_factors(check: &mut Check<'_>, steps: &[FrequencyStep], list: &At<'_>) {
    for (i, step) in steps.iter().enumerate() {
        let here = list.element(i);
        if !(1_000_000..=2_000_000).contains(&step.factor.millionths()) {
            let (factor, rule) = (step.factor.to_string(), "a frequency factor is from 1 to 2");
            check.faults.value(&here.member("factor"), "out_of_range", &factor, rule);
        }
    }
    for (i, pair) in steps.windows(2).enumerate() {
        let [before, step] = pair else { continue };
        let here = list.element(i + 1);
        if step.up_to_years <= before.up_to_years {
            let rule = "list the return periods from the shortest up";
            check.add(&here.member("up_to_years"), "not_ascending", rule);
        }
        if step.factor < before.factor {
            let rule = format!("a rarer storm sheds no less: at least {}, as before it", before.factor);
            check.faults.value(&here.member("factor"), "contradiction", &step.factor.to_string(), rule);
        }
    }
}

fn concrete(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    match &doc.concrete_rules {
        None => {
            check.add(
                &root.member("concrete_rules"),
                "required",
                "say the waste, the cure and the time limit",
            );
        }
        Some(rules) => {
            if let Some(hot) = rules.time_limit_hot.filter(|hot| *hot > rules.time_limit) {
                let here = root.member("concrete_rules");
                check.faults.value(
                    &here.member("time_limit_hot"),
                    "contradiction",
                    &hot.to_string(),
                    format!("hot concrete sets no later: at most the time limit, {}", rules.time_limit),
                );
            }
        }
    }
    let ways = root.member("concrete_ways");
    if doc.concrete_ways.is_empty() {
        check.add(&ways, "required", "name at least one way to get concrete");
    }
    for (i, way) in doc.concrete_ways.iter().enumerate() {
        let here = ways.element(i);
        match way {
            ConcreteWay::ReadyMix {
                code: _,
                name: _,
                item,
                increment,
                least_order: _,
                short_load,
                truck_capacity,
                delivery_per_load: _,
                free_unloading: _,
                waiting_per_hour,
                unloading_per_unit,
                batching: _,
                travel: _,
            } => {
                check.item(item, &[D::Volume], "ready-mix", &here.member("item"));
                volume(check, *increment, &here.member("increment"));
                fills(check, *truck_capacity, *increment, &here.member("truck_capacity"));
                if let Some(ShortLoad::Flat { below, .. } | ShortLoad::PerMissing { below, .. }) = short_load
                    && *below > *truck_capacity
                {
                    let rule = here.member("short_load");
                    check.add(
                        &rule.member("below"),
                        "contradiction",
                        "even a full truck would be a short load; lower it or enlarge `truck_capacity`",
                    );
                }
                if waiting_per_hour.is_some() && unloading_per_unit.is_none() {
                    check.add(
                        &here.member("unloading_per_unit"),
                        "required",
                        "waiting is charged, so say how long one unit takes to place",
                    );
                }
            }
            ConcreteWay::Bags {
                item,
                bag_weight,
                bag_yield,
                trade,
                bags_per_pallet,
                pallet_price,
                whole_pallets,
                delivery_per_pallet,
                ..
            } => {
                let by_pallet = pallet_price.is_some() || delivery_per_pallet.is_some() || whole_pallets.0;
                if by_pallet && bags_per_pallet.is_none() {
                    check.add(
                        &here.member("bags_per_pallet"),
                        "required",
                        "pallets are priced or delivered, so say how many bags are on one",
                    );
                }
                if *pallet_price == Some(Amount::ZERO) {
                    check.faults.value(
                        &here.member("pallet_price"),
                        "out_of_range",
                        &Amount::ZERO.to_string(),
                        "a pallet costs more than nothing; leave it out where it costs what its bags cost",
                    );
                }
                check.item(item, &[D::Count], "a bag", &here.member("item"));
                volume(check, *bag_yield, &here.member("bag_yield"));
                // Twice the yield of the label is a mistake.
                if bag_yield.nm3() > 2 * label_yield(*bag_weight).nm3() {
                    check.add(
                        &here.member("bag_yield"),
                        "implausible",
                        told_yield(*bag_weight, doc.unit_system),
                    );
                }
                check.trade(trade, &here.member("trade"));
            }
            ConcreteWay::Trailer { item, increment, capacity, trade, .. } => {
                check.item(item, &[D::Volume], "trailer concrete", &here.member("item"));
                volume(check, *increment, &here.member("increment"));
                fills(check, *capacity, *increment, &here.member("capacity"));
                check.trade(trade, &here.member("trade"));
            }
        }
    }
}

fn volume(check: &mut Check<'_>, volume: Volume, at: &At<'_>) {
    if volume == Volume::ZERO {
        check.add(at, "out_of_range", "must be more than 0");
    }
}

/// What is filled by increments must take one of them.
fn fills(check: &mut Check<'_>, capacity: Volume, increment: Volume, at: &At<'_>) {
    if capacity < increment || capacity == Volume::ZERO {
        check.add(at, "contradiction", "one load must take at least the increment; enlarge it");
    }
}
