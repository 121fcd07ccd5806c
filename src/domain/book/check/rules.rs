//! Ground, concrete, work and pricing.

use super::Check;
use crate::domain::words::{Soil, Task};
use crate::units::{Dimension as D, Percent, Volume};
use crate::wire::book::concrete::ConcreteWay;
use crate::wire::book::ground::SurfaceKind;
use crate::wire::book::pricing::{MarkupRate, RateKind};
use crate::wire::{At, Code};

pub(super) fn check(check: &mut Check<'_>) {
    ground(check);
    concrete(check);
    work(check);
    labor(check);
    pricing(check);
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
        if soil.bank_to_compacted.millionths() == 0 || soil.bank_to_loose.millionths() < 1_000_000 {
            check.add(
                &here.member("bank_to_loose"),
                "out_of_range",
                "soil grows when dug: loose over bank is at least 1, compacted over bank more than 0",
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
            if haul.truck_volume == Volume::ZERO || haul.truck_payload.base() == 0 {
                check.add(&here.member("truck_volume"), "out_of_range", "a truck takes more than nothing");
            }
            check.optional(haul.haul_item.as_ref(), &[D::Count], "a load hauled", &here.member("haul_item"));
            check.optional(
                haul.soil_disposal_item.as_ref(),
                &[D::Volume, D::Mass, D::Count],
                "a tipping fee",
                &here.member("soil_disposal_item"),
            );
        }
    }
    lines(check);
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
        }
    }
}

fn concrete(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    if doc.concrete_rules.is_none() {
        check.add(&root.member("concrete_rules"), "required", "say the waste, the cure and the time limit");
    }
    let ways = root.member("concrete_ways");
    if doc.concrete_ways.is_empty() {
        check.add(&ways, "required", "name at least one way to get concrete");
    }
    for (i, way) in doc.concrete_ways.iter().enumerate() {
        let here = ways.element(i);
        match way {
            ConcreteWay::ReadyMix { item, increment, truck_capacity, .. } => {
                check.item(item, &[D::Volume], "ready-mix", &here.member("item"));
                volume(check, *increment, &here.member("increment"));
                volume(check, *truck_capacity, &here.member("truck_capacity"));
            }
            ConcreteWay::Bags { item, bag_weight, bag_yield, trade, .. } => {
                check.item(item, &[D::Count], "a bag", &here.member("item"));
                volume(check, *bag_yield, &here.member("bag_yield"));
                // Label yield is 0.15 ft³ for 20 lb; twice that is a mistake.
                let cubic_foot = crate::units::Unit::Ft3.factor().unwrap_or(1);
                let label = bag_weight.base() / 45_359_237 * cubic_foot * 15 / 2000;
                if bag_yield.nm3() > 2 * label {
                    check.add(
                        &here.member("bag_yield"),
                        "implausible",
                        "a bag yields about 0.15 ft3 for each 20 lb (0.45 ft3 for 60 lb, 0.60 ft3 for 80 lb)",
                    );
                }
                trade_exists(check, trade, &here.member("trade"));
            }
            ConcreteWay::Trailer { item, increment, capacity, trade, .. } => {
                check.item(item, &[D::Volume], "trailer concrete", &here.member("item"));
                volume(check, *increment, &here.member("increment"));
                volume(check, *capacity, &here.member("capacity"));
                trade_exists(check, trade, &here.member("trade"));
            }
        }
    }
}

fn volume(check: &mut Check<'_>, volume: Volume, at: &At<'_>) {
    if volume == Volume::ZERO {
        check.add(at, "out_of_range", "must be more than 0");
    }
}

fn trade_exists(check: &mut Check<'_>, trade: &Code, at: &At<'_>) {
    if !check.doc.trades.iter().any(|t| t.code == *trade) {
        check
            .faults
            .value(at, "unknown_code", trade.as_str(), "no trade of this code")
            .allow(check.doc.trades.iter().map(|t| t.code.as_str()));
    }
}

fn work(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    match &doc.hangers {
        None => check.add(&root.member("hangers"), "required", "say what holds the channel at level"),
        Some(rule) => {
            let here = root.member("hangers");
            check.item(&rule.item, &[D::Count], "a hanger", &here.member("item"));
            check.positive(rule.spacing, "the spacing", &here.member("spacing"));
        }
    }
    match &doc.forms {
        None => check.add(&root.member("forms"), "required", "say which boards forms are made of"),
        Some(rule) => {
            let here = root.member("forms");
            check.item(&rule.item, &[D::Count], "a board", &here.member("item"));
            check.positive(rule.board_length, "a board", &here.member("board_length"));
            check.positive(rule.board_width, "a board", &here.member("board_width"));
        }
    }
    let consumables = root.member("consumables");
    for (i, rule) in doc.consumables.iter().enumerate() {
        let here = consumables.element(i);
        check.item(&rule.item, &[D::Count], "a consumable", &here.member("item"));
        if rule.coverage.millionths() == 0 {
            check.add(&here.member("coverage"), "out_of_range", "a pack serves more than nothing");
        }
        if rule.coverage_unit.dimension() != rule.measure.dimension() {
            check.add(
                &here.member("coverage_unit"),
                "unit_does_not_fit",
                format!("`{}` is measured as {}", rule.measure, rule.measure.dimension()),
            );
        }
    }
}

/// Tasks that some layout calls for; `mix_concrete` only where bags are a way.
fn needed(task: Task, check: &Check<'_>) -> bool {
    task != Task::MixConcrete || check.doc.concrete_ways.iter().any(|w| matches!(w, ConcreteWay::Bags { .. }))
}

fn labor(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    match &doc.labor_rules {
        None => check.add(&root.member("labor_rules"), "required", "say the hours of a day and the factors"),
        Some(rules) => {
            let here = root.member("labor_rules");
            if rules.day.seconds() == 0 {
                check.add(&here.member("day"), "out_of_range", "a day has more than 0 hours");
            }
        }
    }
    let list = root.member("labor");
    for task in Task::ALL.iter().copied() {
        if needed(task, check) && !doc.labor.iter().any(|r| r.task == task) {
            check.add(
                &list,
                "missing_rate",
                format!("no rate for `{task}`; without it its hours would be missing"),
            );
        }
    }
    for (i, rate) in doc.labor.iter().enumerate() {
        let here = list.element(i);
        if doc.labor.iter().take(i).any(|r| r.task == rate.task && r.method == rate.method) {
            check.add(
                &here.member("method"),
                "duplicate_code",
                format!("`{}` by `{}` is listed already", rate.task, rate.method),
            );
        }
        if rate.usual.0 && doc.labor.iter().take(i).any(|r| r.task == rate.task && r.usual.0) {
            check.add(
                &here.member("usual"),
                "contradiction",
                format!("`{}` has two usual methods; keep one", rate.task),
            );
        }
        let crew = here.member("crew");
        for (c, member) in rate.crew.iter().enumerate() {
            let place = crew.element(c);
            trade_exists(check, &member.trade, &place.member("trade"));
        }
        let rates = here.member("rates");
        for (r, unit_rate) in rate.rates.iter().enumerate() {
            if unit_rate.unit.dimension() != unit_rate.measure.dimension() {
                let place = rates.element(r);
                check.add(
                    &place.member("unit"),
                    "unit_does_not_fit",
                    format!("`{}` is measured as {}", unit_rate.measure, unit_rate.measure.dimension()),
                );
            }
        }
        let machines = here.member("equipment");
        for (e, code) in rate.equipment.iter().enumerate() {
            if !doc.equipment.iter().any(|m| m.code == *code) {
                check.faults.value(
                    &machines.element(e),
                    "unknown_code",
                    code.as_str(),
                    "no machine of this code; add it to `equipment`",
                );
            }
        }
    }
}

fn pricing(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let list = root.member("markup_schemes");
    if doc.markup_schemes.is_empty() {
        check.add(&list, "required", "say how cost becomes price: name at least one markup scheme");
    }
    for (i, scheme) in doc.markup_schemes.iter().enumerate() {
        let here = list.element(i);
        for (name, rate) in
            [("overhead", &scheme.overhead), ("contingency", &scheme.contingency), ("profit", &scheme.profit)]
        {
            let MarkupRate { pct, as_kind } = rate;
            if *as_kind == RateKind::Margin && *pct >= Percent::whole(100) {
                let place = here.member(name);
                check.add(&place.member("pct"), "out_of_range", "a margin on the price is less than 100 %");
            }
        }
    }
}
