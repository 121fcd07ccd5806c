//! Channel systems, the details they are set in, pipes.

use super::Check;
use crate::domain::words::Crossing;
use crate::units::show::Show;
use crate::units::{Dimension as D, Length};
use crate::wire::At;
use crate::wire::book::systems::{Bottom, ChannelSystem, OutletFitting, Pipe, SettingDetail};

pub(super) fn check(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let systems = root.member("channel_systems");
    if doc.channel_systems.is_empty() {
        check.add(&systems, "required", "a book needs at least one channel system");
    }
    for (i, system) in doc.channel_systems.iter().enumerate() {
        one_system(check, system, &systems.element(i));
    }
    details(check);
    super::classes::check(check);
    let pipes = root.member("pipes");
    for (i, pipe) in doc.pipes.iter().enumerate() {
        one_pipe(check, pipe, &pipes.element(i));
    }
}

fn one_system(check: &mut Check<'_>, system: &ChannelSystem, at: &At<'_>) {
    section(check, system, at);
    let stock = at.member("stock");
    for (i, length) in system.stock.iter().enumerate() {
        let here = stock.element(i);
        check.item(&length.item, &[D::Count], "a stock length of channel", &here.member("item"));
        check.positive(length.length, "a stock length", &here.member("length"));
        if system.stock.iter().take(i).any(|s| s.length == length.length) {
            check.twice(&here.member("length"), "this length");
        }
    }
    if system.stock.iter().all(|s| s.length < system.least_piece) {
        check.add(
            &at.member("least_piece"),
            "stock_too_short",
            "the least piece is longer than every stock length; shorten it or add a longer stock",
        );
    }
    check.optional(system.coupling.as_ref(), &[D::Count], "a coupling", &at.member("coupling"));
    match &system.end_cap {
        None => check.add(
            &at.member("end_cap"),
            "required",
            "every end that is no outlet needs a cap; name its item",
        ),
        Some(cap) => check.item(cap, &[D::Count], "an end cap", &at.member("end_cap")),
    }
    if system.end_outlet.is_none() && system.bottom_outlet.is_none() {
        check.add(
            &at.member("end_outlet"),
            "no_outlet_fitting",
            "water must leave the channel: name an `end_outlet`, a `bottom_outlet`, or both",
        );
    }
    for (name, fitting) in [("end_outlet", &system.end_outlet), ("bottom_outlet", &system.bottom_outlet)] {
        if let Some(OutletFitting { item, bore, uses_length: _, invert_drop: _ }) = fitting {
            let here = at.member(name);
            check.item(item, &[D::Count], "an outlet", &here.member("item"));
            check.positive(*bore, "a bore", &here.member("bore"));
        }
    }
    for (name, turn) in [("corner", &system.corner), ("tee", &system.tee)] {
        if let Some(turn) = turn {
            let here = at.member(name);
            check.item(&turn.item, &[D::Count], "a fitting", &here.member("item"));
        }
    }
    let grates = at.member("grates");
    if system.grates.is_empty() {
        check.add(&grates, "required", "a channel without a grate cannot be crossed: name at least one");
    }
    for (i, grate) in system.grates.iter().enumerate() {
        let here = grates.element(i);
        check.item(&grate.item, &[D::Count], "a grate", &here.member("item"));
        check.positive(grate.length, "a grate", &here.member("length"));
        if grate.least_piece.is_some_and(|least| least > grate.length) {
            check.add(
                &here.member("least_piece"),
                "stock_too_short",
                "the least piece is longer than the grate; shorten it",
            );
        }
        if let Some(open) = grate.open_area
            && open > grate.length * system.section.overall_width
        {
            let show = Show(check.doc.unit_system);
            let whole = show.area(grate.length * system.section.overall_width);
            check.faults.value(
                &here.member("open_area"),
                "contradiction",
                &show.area(open).to_string(),
                format!("the openings of a grate are less than the grate itself, {whole}"),
            );
        }
        if grate.load_class.is_none() {
            check.add(
                &here.member("load_class"),
                "required",
                "a grate needs its load class, for example `B125`",
            );
        }
        if grate.screws.get() > 0 && system.screw.is_none() {
            check.add(
                &at.member("screw"),
                "required",
                "the grates are screwed down: name the item of the screw",
            );
        }
    }
    check.optional(system.screw.as_ref(), &[D::Count], "a screw", &at.member("screw"));
}

fn section(check: &mut Check<'_>, system: &ChannelSystem, at: &At<'_>) {
    let here = at.member("section");
    let s = &system.section;
    check.positive(s.inside_width, "the inside width", &here.member("inside_width"));
    check.positive(s.water_depth, "the water depth", &here.member("water_depth"));
    if s.bottom == Bottom::U && s.water_depth.is_positive() && s.water_depth + s.water_depth < s.inside_width
    {
        let show = Show(check.doc.unit_system);
        check.faults.value(
            &here.member("water_depth"),
            "contradiction",
            &show.length(s.water_depth).to_string(),
            "a semicircular bottom alone is half the inside width deep: give at least that depth, or a `rectangular` bottom",
        );
    }
    if s.inside_width >= s.overall_width {
        check.add(
            &here.member("inside_width"),
            "contradiction",
            "the inside width must be less than the overall width",
        );
    }
    if s.water_depth + s.bottom_thickness > s.overall_height {
        check.add(
            &here.member("water_depth"),
            "contradiction",
            "water depth and bottom thickness together are more than the overall height",
        );
    }
    if let (Some(depth), Some(height)) = (s.water_depth_deep_end, s.overall_height_deep_end)
        && depth + s.bottom_thickness > height
    {
        check.add(
            &here.member("water_depth_deep_end"),
            "contradiction",
            "at the deep end water depth and bottom thickness together are more than the overall height",
        );
    }
    let deep = s.overall_height_deep_end.is_some() && s.water_depth_deep_end.is_some();
    let any_deep = s.overall_height_deep_end.is_some() || s.water_depth_deep_end.is_some();
    match s.built_in_fall_pct {
        Some(fall) if fall.millionths() == 0 => {
            check.add(
                &here.member("built_in_fall_pct"),
                "out_of_range",
                "a built-in fall is more than 0; leave it out",
            );
        }
        Some(_) if !deep => check.add(
            &here.member("built_in_fall_pct"),
            "contradiction",
            "a built-in fall needs `overall_height_deep_end` and `water_depth_deep_end`",
        ),
        None if any_deep => check.add(
            &here.member("overall_height_deep_end"),
            "contradiction",
            "heights at a deep end need `built_in_fall_pct`",
        ),
        _ => {}
    }
    if s.overall_height_deep_end.is_some_and(|h| h < s.overall_height) {
        check.add(
            &here.member("overall_height_deep_end"),
            "contradiction",
            "the deep end must be at least as high as the shallow end",
        );
    }
    if s.water_depth_deep_end.is_some_and(|d| d < s.water_depth) {
        check.add(
            &here.member("water_depth_deep_end"),
            "contradiction",
            "the channel must be at least as deep at the deep end as at the shallow end",
        );
    }
    roughness(check, s.roughness.millionths(), &here.member("roughness"));
}

fn roughness(check: &mut Check<'_>, millionths: i64, at: &At<'_>) {
    if !(8_000..=30_000).contains(&millionths) {
        check.add(
            at,
            "out_of_range",
            "Manning's n of channel and pipe lies between 0.008 and 0.030 (smooth plastic 0.009 to 0.011, concrete 0.013)",
        );
    }
}

fn details(check: &mut Check<'_>) {
    let root = At::ROOT;
    let doc = check.doc;
    let list = root.member("setting_details");
    let mut taken: Vec<Crossing> = Vec::new();
    for (i, detail) in doc.setting_details.iter().enumerate() {
        let here = list.element(i);
        one_detail(check, detail, &here);
        let crossings = here.member("crossings");
        for (c, crossing) in detail.crossings.iter().enumerate() {
            if detail.crossings.iter().take(c).any(|before| before == crossing) {
                check.twice(&crossings.element(c), crossing.word());
            } else if taken.contains(crossing) {
                check.add(
                    &crossings.element(c),
                    "contradiction",
                    format!("another setting detail serves `{crossing}` already; keep one"),
                );
            }
            taken.push(*crossing);
        }
    }
    for needed in [Crossing::Feet, Crossing::Wheels] {
        if !taken.contains(&needed) {
            check.add(&list, "missing_detail", format!("no setting detail serves `{needed}`; add one"));
        }
    }
}

/// Grates stand apart by a small part of their length; what is more leaves holes to step into.
fn gap(check: &mut Check<'_>, gap: Length, at: &At<'_>) {
    let grates = check.doc.channel_systems.iter().flat_map(|s| s.grates.iter().map(|g| g.length));
    let Some(most) = grates.min().map(|length| length.share(1, 4)).filter(|most| gap > *most) else { return };
    let show = Show(check.doc.unit_system);
    let rule = format!(
        "at most a quarter of the shortest grate, {}; 1/8 in is common practice in a hot climate",
        show.length(most)
    );
    check.faults.value(at, "out_of_range", &show.length(gap).to_string(), rule);
}

fn one_detail(check: &mut Check<'_>, detail: &SettingDetail, at: &At<'_>) {
    if let Some(wide) = detail.hot_grate_gap {
        gap(check, wide, &at.member("hot_grate_gap"));
    }
    if detail.crossings.iter().any(|c| c.is_wheeled()) && !detail.base.is_positive() {
        check.add(
            &at.member("base"),
            "base_under_wheels",
            "where wheels cross there must be concrete below the channel; give the base a thickness",
        );
    }
    check.optional(detail.recess_strip.as_ref(), &[D::Length], "a recess strip", &at.member("recess_strip"));
    if let Some(steel) = &detail.reinforcement {
        let here = at.member("reinforcement");
        check.item(&steel.item, &[D::Count, D::Length], "a bar", &here.member("item"));
        if steel.lap >= steel.bar_length {
            check.add(&here.member("lap"), "contradiction", "the lap must be shorter than the bar");
        }
    }
}

fn one_pipe(check: &mut Check<'_>, pipe: &Pipe, at: &At<'_>) {
    check.item(&pipe.item, &[D::Count], "a length of pipe", &at.member("item"));
    check.positive(pipe.stock_length, "a length of pipe", &at.member("stock_length"));
    let further = at.member("further_stock");
    for (i, stock) in pipe.further_stock.iter().enumerate() {
        let here = further.element(i);
        check.item(&stock.item, &[D::Count], "a length of pipe", &here.member("item"));
        check.positive(stock.length, "a length of pipe", &here.member("length"));
        if pipe.stock().take(i + 1).any(|(_, length)| length == stock.length) {
            check.twice(&here.member("length"), "this length");
        }
    }
    check.positive(pipe.inside_diameter, "the bore", &at.member("inside_diameter"));
    if pipe.inside_diameter >= pipe.outside_diameter {
        check.add(
            &at.member("inside_diameter"),
            "contradiction",
            "the inside diameter must be less than the outside diameter",
        );
    }
    roughness(check, pipe.roughness.millionths(), &at.member("roughness"));
    let bends = at.member("bends");
    for (i, bend) in pipe.bends.iter().enumerate() {
        let here = bends.element(i);
        check.item(&bend.item, &[D::Count], "a bend", &here.member("item"));
        if pipe.bends.iter().take(i).any(|b| b.degrees == bend.degrees) {
            check.twice(&here.member("degrees"), &format!("{} degrees", bend.degrees.get()));
        }
    }
    for (name, code) in [
        ("coupling", &pipe.coupling),
        ("branch", &pipe.branch),
        ("clean_out", &pipe.clean_out),
        ("adapter", &pipe.adapter),
    ] {
        check.optional(code.as_ref(), &[D::Count], "a fitting", &at.member(name));
    }
    let reducing = at.member("reducing_branches");
    for (i, branch) in pipe.reducing_branches.iter().enumerate() {
        let here = reducing.element(i);
        check.item(&branch.item, &[D::Count], "a fitting", &here.member("item"));
        let (member, code) = (here.member("pipe"), branch.pipe.as_str());
        if branch.pipe == pipe.code {
            check.add(&member, "contradiction", "a line of the same pipe joins by `branch`");
        } else if !check.doc.pipes.iter().any(|p| p.code == branch.pipe) {
            check.add(&member, "unknown_code", format!("no pipe of this book has the code `{code}`"));
        } else if pipe.reducing_branches.iter().take(i).any(|b| b.pipe == branch.pipe) {
            check.twice(&member, code);
        }
    }
    if pipe.outside_diameter > Length::METRE * 3 {
        check.add(
            &at.member("outside_diameter"),
            "out_of_range",
            "a pipe of more than 3 m is not a site drain",
        );
    }
}
