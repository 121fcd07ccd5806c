//! Hangers, forms, consumables, labor, the load-out, pricing.

use super::Check;
use super::rates::no_rate;
use crate::domain::words::{Measure, Soil, Task};
use crate::units::{Dimension as D, Factor, Length, Percent};
use crate::wire::At;
use crate::wire::book::pricing::{CategoryMarkup, Compounding, MarkupRate, MarkupScheme, RateKind};
use crate::wire::book::work::LaborRate;

/// Boards narrower than this, an inch in metric books, are none: forms of them would be rows without end.
const LEAST_BOARD: Length = Length::millimetres(25);

pub(super) fn check(check: &mut Check<'_>) {
    work(check);
    labor_rules(check);
    labor(check);
    load_out(check);
    pricing(check);
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
            if rule.board_width < LEAST_BOARD {
                let rule = "a board is at least 1 in (25 mm) wide";
                check.add(&here.member("board_width"), "out_of_range", rule);
            }
            for (name, nominal, other) in [
                ("nominal_thickness", rule.nominal_thickness, rule.nominal_width),
                ("nominal_width", rule.nominal_width, rule.nominal_thickness),
            ] {
                match nominal {
                    Some(size) => check.positive(size, "a board", &here.member(name)),
                    None if other.is_some() => {
                        check.add(
                            &here.member(name),
                            "required",
                            "board feet need the nominal thickness and width",
                        );
                    }
                    None => {}
                }
            }
        }
    }
    let consumables = root.member("consumables");
    for (i, rule) in doc.consumables.iter().enumerate() {
        let here = consumables.element(i);
        check.item(&rule.item, &[D::Count], "a consumable", &here.member("item"));
        if rule.coverage.millionths() == 0 {
            check.add(&here.member("coverage"), "out_of_range", "a pack serves more than nothing");
        }
        if rule.times.is_some_and(|t| t.millionths() == 0) {
            check.add(
                &here.member("times"),
                "out_of_range",
                "used up 0 times is not used up at all; leave the entry out, or give how often",
            );
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

fn labor_rules(check: &mut Check<'_>) {
    let root = At::ROOT;
    let here = root.member("labor_rules");
    let Some(rules) = &check.doc.labor_rules else {
        check.add(&here, "required", "say the hours of a day and the factors");
        return;
    };
    if rules.day.seconds() == 0 || rules.day.seconds() > 86_400 {
        check.add(&here.member("day"), "out_of_range", "a working day has more than 0 and at most 24 hours");
    }
    if rules.step > rules.day {
        check.add(&here.member("step"), "contradiction", "hours are rounded up to less than a day");
    }
    let list = here.member("difficulty");
    for (i, entry) in rules.difficulty.iter().enumerate() {
        let place = list.element(i);
        factor(check, entry.factor, &place.member("factor"));
        if rules.difficulty.iter().take(i).any(|d| d.difficulty == entry.difficulty) {
            check.twice(&place.member("difficulty"), entry.difficulty.word());
        }
    }
    let list = here.member("depth");
    for (i, entry) in rules.depth.iter().enumerate() {
        let place = list.element(i);
        factor(check, entry.factor, &place.member("factor"));
        if rules.depth.iter().take(i).any(|d| d.deeper_than == entry.deeper_than) {
            check.twice(&place.member("deeper_than"), "this depth");
        }
    }
}

pub(super) fn factor(check: &mut Check<'_>, factor: Factor, at: &At<'_>) {
    if factor.millionths() == 0 {
        check.add(
            at,
            "out_of_range",
            "a factor of 0 would make the work take no time; use 1 to change nothing",
        );
    }
}

fn labor(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let list = root.member("labor");
    for task in Task::ALL.iter().copied() {
        if let Some(detail) = no_rate(task, doc) {
            check.add(&list, "missing_rate", detail);
        }
    }
    let counts_bars = doc.labor.iter().flat_map(|r| r.rates.iter()).any(|r| r.measure == Measure::BarLength);
    if !counts_bars && doc.setting_details.iter().any(|d| d.reinforcement.is_some()) {
        check.add(
            &list,
            "missing_rate",
            "a setting detail has bars, but no rate counts `bar_length`; add one, for example to `hang_and_brace`",
        );
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
        let methods = || doc.labor.iter().filter(|r| r.task == rate.task);
        let is_first = doc.labor.iter().take(i).all(|r| r.task != rate.task);
        if is_first && methods().count() > 1 && !methods().any(|r| r.usual.0) {
            let names: Vec<&str> = methods().map(|r| r.method.as_str()).collect();
            check
                .faults
                .add(
                    &here.member("usual"),
                    "required",
                    format!(
                        "`{}` has {} methods and none is usual: set `usual` on the one that is taken where the notes name none",
                        rate.task,
                        names.len()
                    ),
                )
                .allow(names);
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
            check.trade(&member.trade, &place.member("trade"));
        }
        let rates = here.member("rates");
        for (r, unit_rate) in rate.rates.iter().enumerate() {
            if unit_rate.hours.millionths() == 0 {
                let place = rates.element(r);
                check.add(
                    &place.member("hours"),
                    "out_of_range",
                    "work that takes no time need not be listed; give the person-hours of one unit",
                );
            }
            if unit_rate.unit.dimension() != unit_rate.measure.dimension() {
                let place = rates.element(r);
                check.add(
                    &place.member("unit"),
                    "unit_does_not_fit",
                    format!("`{}` is measured as {}", unit_rate.measure, unit_rate.measure.dimension()),
                );
            }
        }
        once(check, rate, &here);
        soils(check, rate, &here);
        if rate.greatest_depth.is_some_and(|d| !d.is_positive()) {
            check.add(&here.member("greatest_depth"), "out_of_range", "must be more than 0, or left out");
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

/// Hours of one measure add up: in one soil they are counted once.
fn once(check: &mut Check<'_>, rate: &LaborRate, at: &At<'_>) {
    let list = at.member("rates");
    for (r, this) in rate.rates.iter().enumerate() {
        let here = list.element(r);
        let measure = this.measure;
        let before = || rate.rates.iter().take(r).filter(move |b| b.measure == measure);
        if this.soils.is_empty() && before().any(|b| b.soils.is_empty()) {
            check.faults.value(
                &here.member("measure"),
                "duplicate",
                measure.word(),
                format!(
                    "`{measure}` has a rate already, and hours add up: keep one, or add the two together"
                ),
            );
        }
        for (s, soil) in this.soils.iter().enumerate() {
            if this.soils.iter().take(s).any(|b| b == soil) || before().any(|b| b.soils.contains(soil)) {
                let soils = here.member("soils");
                check.faults.value(
                    &soils.element(s),
                    "duplicate",
                    soil.word(),
                    format!("`{measure}` has a rate for `{soil}` already, and hours add up: keep one"),
                );
            }
        }
    }
}

/// A rate that names soils must hold in every soil the method works in, or hours would be missing there.
fn soils(check: &mut Check<'_>, rate: &LaborRate, at: &At<'_>) {
    let mut seen: Vec<Measure> = Vec::new();
    for unit_rate in &rate.rates {
        let measure = unit_rate.measure;
        if seen.contains(&measure) {
            continue;
        }
        seen.push(measure);
        let of_measure = || rate.rates.iter().filter(|r| r.measure == measure);
        if of_measure().any(|r| r.soils.is_empty()) {
            continue;
        }
        for soil in Soil::ALL.iter().filter(|s| !rate.not_in.contains(s)) {
            if !of_measure().any(|r| r.soils.contains(soil)) {
                check.add(
                    &at.member("rates"),
                    "missing_soil",
                    format!("no rate of `{measure}` for `{soil}`; add one, or name the soil in `not_in`"),
                );
            }
        }
    }
}

fn load_out(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let list = root.member("load_out");
    for (i, rule) in doc.load_out.iter().enumerate() {
        let Some(method) = &rule.method else { continue };
        let here = list.element(i);
        match rule.task {
            None => check.add(&here.member("task"), "required", "a method belongs to a task; name it"),
            Some(task) if !doc.labor.iter().any(|r| r.task == task && r.method == *method) => {
                let known = doc.labor.iter().filter(|r| r.task == task).map(|r| r.method.as_str());
                check
                    .faults
                    .value(
                        &here.member("method"),
                        "unknown_code",
                        method.as_str(),
                        format!("no rate of `{task}` by this method; name one that is listed in `labor`"),
                    )
                    .allow(known);
            }
            Some(_) => {}
        }
    }
}

fn by_category(check: &mut Check<'_>, scheme: &MarkupScheme, list: &At<'_>) {
    for (i, own) in scheme.by_category.iter().enumerate() {
        let here = list.element(i);
        let CategoryMarkup { category, overhead, contingency, profit } = own;
        if scheme.by_category.iter().take(i).any(|have| have.category == *category) {
            check.twice(&here.member("category"), category.word());
        }
        for (name, rate) in [("overhead", overhead), ("contingency", contingency), ("profit", profit)] {
            if rate.as_ref().is_some_and(|r| r.as_kind == RateKind::Margin && r.pct >= Percent::whole(100)) {
                let place = here.member(name);
                check.add(&place.member("pct"), "out_of_range", "a margin on the price is less than 100 %");
            }
        }
        let own = [overhead, contingency, profit];
        if own.iter().any(|rate| rate.as_ref().is_some_and(|r| r.as_kind == RateKind::Margin)) {
            let mut rates = [&scheme.overhead, &scheme.contingency, &scheme.profit];
            for (rate, own) in rates.iter_mut().zip(own) {
                *rate = own.as_ref().unwrap_or(*rate);
            }
            margins(check, scheme, rates, &here);
        }
    }
}

/// Margins side by side are shares of one price: some of it must be left for the cost.
fn margins(check: &mut Check<'_>, scheme: &MarkupScheme, rates: [&MarkupRate; 3], at: &At<'_>) {
    let whole = Percent::whole(100);
    let margins = rates.into_iter().filter(|r| r.as_kind == RateKind::Margin);
    let list: Vec<Percent> = margins.map(|r| r.pct).filter(|p| *p > Percent::ZERO).collect();
    let sum = Percent::from_millionths(list.iter().map(|p| p.millionths()).sum());
    // One that is too much by itself is told at its place.
    if scheme.compounding == Compounding::Additive && sum >= whole && list.iter().all(|p| *p < whole) {
        let parts: Vec<String> = list.iter().map(ToString::to_string).collect();
        let rule = format!(
            "margins that are taken side by side are shares of one price: together less than 100 %, not {} = {sum}",
            parts.join(" + ")
        );
        check.add(at, "out_of_range", rule);
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
        margins(check, scheme, [&scheme.overhead, &scheme.contingency, &scheme.profit], &here);
        by_category(check, scheme, &here.member("by_category"));
    }
    let list = root.member("taxes");
    for (i, tax) in doc.taxes.iter().enumerate() {
        let here = list.element(i);
        let categories = here.member("categories");
        for (c, category) in tax.categories.iter().enumerate() {
            if tax.categories.iter().take(c).any(|have| have == category) {
                check.twice(&categories.element(c), category.word());
            }
        }
        let places = here.member("places");
        for (p, place) in tax.places.iter().enumerate() {
            if tax.places.iter().take(p).any(|have| have == place) {
                check.twice(&places.element(p), place.as_str());
            }
        }
    }
}
