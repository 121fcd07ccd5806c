//! One run: chains, spans, ends, outlets.

use super::{Chain, Run, RunLeg, RunOutlet, Span, Top};
use crate::domain::book::PriceBook;
use crate::units::exact::div_round;
use crate::units::{Area, Length};
use crate::wire::book::systems::{ChannelSystem, OutletFitting, Section};
use crate::wire::notes::{self, LegEnd, Meets, Outlet};
use crate::wire::{At, Code, Faults};

/// Outside height at a distance from the high point of a stretch.
pub fn height_at(section: &Section, distance: Length) -> Length {
    let fall = section.built_in_fall_pct.map_or(0, |p| p.millionths());
    let deep = section.overall_height_deep_end.unwrap_or(section.overall_height);
    (section.overall_height + distance.share(fall, 1_000_000)).min(deep)
}

/// Long profile of the outside height over a stretch: the integral of the height from its high point.
///
/// # Formula
/// `H(x) = min(H0 + f x, H1)`; `integral from 0 to d`, in closed form on both sides of `x1 = (H1 - H0) / f`.
/// # Units
/// lengths in, area out, exact to the square nanometre
/// # Valid for
/// `f >= 0`, `H1 >= H0`
/// # Source
/// geometry: a linear height has its mean half-way
/// # Example
/// ```
/// // 100 mm rising by 1 % over 10 m to 200 mm: the mean is 150 mm.
/// # use rillcast::{units::*, wire, domain::layout::runs::height_profile};
/// let section = wire::read_document(br#"{"bottom":"rectangular","inside_width":"100 mm","overall_width":"130 mm",
///   "overall_height":"100 mm","overall_height_deep_end":"200 mm","water_depth":"70 mm","bottom_thickness":"20 mm",
///   "roughness":"0.011","built_in_fall_pct":"1"}"#).expect("a section");
/// let area = height_profile(&section, Length::METRE * 10);
/// assert_eq!(area, (Length::METRE * 10) * Length::millimetres(150));
/// ```
pub fn height_profile(section: &Section, distance: Length) -> Area {
    let fall = i128::from(section.built_in_fall_pct.map_or(0, |p| p.millionths()));
    let low = section.overall_height;
    let deep = section.overall_height_deep_end.unwrap_or(low);
    if fall == 0 {
        return distance * low;
    }
    let rise = i128::from((deep - low).nm()).max(0);
    let reach = Length::from_nm(i64::try_from(rise * 1_000_000 / fall).unwrap_or(i64::MAX));
    let sloped = distance.min(reach);
    let d = i128::from(sloped.nm());
    let wedge = div_round(d * d * fall, 2_000_000);
    Area::from_nm2((sloped * low).nm2() + wedge + ((distance - sloped) * deep).nm2())
}

/// Resolves one run.
pub fn resolve<'a>(
    run: &'a notes::Run,
    book: &'a PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<Run<'a>> {
    let before = faults.len();
    let system = run.channel_system.as_ref().and_then(|code| book.system(code));
    if system.is_none() {
        let here = at.member("channel_system");
        let fault = match &run.channel_system {
            Some(code) => faults.value(
                &here,
                "unknown_code",
                code.as_str(),
                "the price book has no channel system of this code",
            ),
            None => faults.add(
                &here,
                "required",
                "name the channel system; with a `storm` and `catchments` it can be left out and is chosen",
            ),
        };
        fault.allow(book.doc().channel_systems.iter().map(|s| s.code.as_str()));
    }
    let detail = match &run.setting_detail {
        Some(code) => {
            let found = book.detail(code);
            if found.is_none() {
                faults
                    .value(
                        &at.member("setting_detail"),
                        "unknown_code",
                        code.as_str(),
                        "no setting detail of this code",
                    )
                    .allow(book.doc().setting_details.iter().map(|d| d.code.as_str()));
            }
            found
        }
        None => {
            let found = book.detail_for(run.crossing);
            if found.is_none() {
                faults.value(
                    &at.member("crossing"),
                    "no_setting_detail",
                    run.crossing.word(),
                    format!(
                        "the price book has no setting detail for `{}`; such a surround follows the channel system's own \
                         data or a licensed engineer: add the detail to the book or name one in `setting_detail`",
                        run.crossing
                    ),
                );
            }
            found
        }
    };
    let top = top(run.surface.as_ref(), &at.member("surface"), faults);
    for (i, leg) in run.legs.iter().enumerate() {
        if !leg.length.is_positive() {
            faults.add(
                &at.member("legs").element(i).member("length"),
                "out_of_range",
                "a leg must be longer than 0",
            );
        }
    }
    let chains = chains(run, at, faults);
    let system = system?;
    let (corner, tee) = (system.corner.as_ref(), system.tee.as_ref());
    let chains = chains?;
    let corners = run.legs.iter().filter(|l| matches!(l.meets, Some(Meets::Corner { .. }))).count() as i64;
    let tees = chains.iter().filter(|c| c.from_tee).count() as i64;
    for (count, fitting, what) in [(corners, corner, "corner"), (tees, tee, "tee")] {
        if count > 0 && fitting.is_none() {
            faults.value(
                &at.member("channel_system"),
                "missing_fitting",
                system.code.as_str(),
                format!("this channel system has no {what}; add one to the price book or split the run"),
            );
        }
    }
    if tees > 0 && system.section.built_in_fall_pct.is_some() {
        faults.value(
            &at.member("channel_system"),
            "tee_with_built_in_fall",
            system.code.as_str(),
            "a system with built-in fall cannot meet itself at a tee: the heights differ; split the run in two",
        );
    }
    let mut chains = chains;
    let recess = detail.map_or(Length::ZERO, |d| d.recess);
    let outlets = outlets(run, system, recess, &mut chains, at, faults);
    let grate = grate(run, system, book, at, faults);
    let legs = spans(run, system, &chains, &outlets, at, faults);
    let open_ends: i64 = chains.iter().map(|c| if c.from_tee { 1 } else { 2 }).sum();
    let end_outlets = outlets.iter().filter(|o| !o.bottom).count() as i64;
    let (detail, grate, top) = (detail?, grate?, top?);
    (faults.len() == before).then_some(Run {
        id: &run.id,
        system,
        detail,
        grate,
        crossing: run.crossing,
        top,
        over_cut: run.over_cut.or(book.doc().over_cut).unwrap_or(Length::ZERO),
        relief_cuts: run.relief_cuts.unwrap_or(Length::ZERO),
        surface_level: run.surface_level.unwrap_or_default().0,
        legs,
        chains,
        corner,
        tee,
        corners,
        tees,
        caps: open_ends - end_outlets,
        outlets,
    })
}

/// What lies on top, with its thickness.
pub fn top(surface: Option<&notes::Surface>, at: &At<'_>, faults: &mut Faults) -> Option<Top> {
    use crate::wire::book::ground::SurfaceKind;
    let Some(surface) = surface else {
        return Some(Top { kind: SurfaceKind::BareSoil, thickness: Length::ZERO });
    };
    match (surface.kind, surface.thickness) {
        (SurfaceKind::BareSoil, None) => Some(Top { kind: surface.kind, thickness: Length::ZERO }),
        (SurfaceKind::BareSoil, Some(_)) => {
            faults.add(
                &at.member("thickness"),
                "not_here",
                "bare soil has no thickness: leave the member out",
            );
            None
        }
        (kind, Some(thickness)) if thickness.is_positive() => Some(Top { kind, thickness }),
        (kind, _) => {
            faults.add(
                &at.member("thickness"),
                "required",
                format!("`{kind}` needs its thickness, more than 0"),
            );
            None
        }
    }
}

fn chains(run: &notes::Run, at: &At<'_>, faults: &mut Faults) -> Option<Vec<Chain>> {
    let legs_at = at.member("legs");
    let mut chains: Vec<Chain> = Vec::new();
    let mut sound = true;
    for (i, leg) in run.legs.iter().enumerate() {
        let leg_at = legs_at.element(i);
        match (&leg.meets, i) {
            (None, 0) => chains.push(chain(0, false)),
            (Some(_), 0) => {
                faults.add(
                    &leg_at.member("meets"),
                    "not_here",
                    "the first leg meets nothing: leave the member out",
                );
                sound = false;
            }
            (None, _) => {
                faults
                    .add(&leg_at.member("meets"), "required", "say how this leg meets the legs before it")
                    .allow(["{\"kind\":\"corner\"}", "{\"kind\":\"tee\",\"leg\":1,\"at\":\"10 ft\"}"]);
                sound = false;
            }
            (Some(Meets::Corner {}), _) => {}
            (Some(Meets::Tee { leg: of, at: distance }), _) => {
                let of_index = of.get() as usize - 1;
                let meets = leg_at.member("meets");
                if of_index >= i {
                    faults.value(
                        &meets.member("leg"),
                        "unknown_leg",
                        &of.get().to_string(),
                        format!("a tee lies in an earlier leg: 1 to {i}"),
                    );
                    sound = false;
                } else if !distance.is_positive() || *distance >= run.legs[of_index].length {
                    faults.add(
                        &meets.member("at"),
                        "out_of_range",
                        "a tee lies inside its leg: more than 0 and less than the leg's length",
                    );
                    sound = false;
                }
                chains.push(chain(i, true));
            }
        }
        if let Some(last) = chains.last_mut() {
            last.end = i + 1;
            last.length += leg.length;
        }
    }
    sound.then_some(chains)
}

fn chain(first: usize, from_tee: bool) -> Chain {
    let outlets = if from_tee { vec![Length::ZERO] } else { Vec::new() };
    Chain { first, end: first + 1, length: Length::ZERO, from_tee, outlets }
}

fn outlets<'a>(
    run: &'a notes::Run,
    system: &'a ChannelSystem,
    recess: Length,
    chains: &mut [Chain],
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<RunOutlet<'a>> {
    let list_at = at.member("outlets");
    if run.outlets.is_empty() {
        faults.add(
            &list_at,
            "no_outlet",
            "water must leave the run somewhere: name an end outlet, {\"kind\":\"end\",\"id\":\"a1\",\"at\":\"finish\"}, \
             or a bottom outlet, {\"kind\":\"bottom\",\"id\":\"a1\",\"at\":\"12 ft\"}",
        );
    }
    let mut out: Vec<RunOutlet<'a>> = Vec::with_capacity(run.outlets.len());
    for (i, outlet) in run.outlets.iter().enumerate() {
        let here = list_at.element(i);
        let placed = match outlet {
            Outlet::End { id, at: end, leg } => {
                place_end(run, chains, *end, leg.map(|l| l.get() as usize - 1), &here, faults).and_then(
                    |(chain, at)| {
                        fitted(system.end_outlet.as_ref(), "end outlet", system, &here, faults)
                            .map(|f| (id, f, false, chain, at))
                    },
                )
            }
            Outlet::Bottom { id, at: distance, leg } => {
                place_bottom(run, chains, *distance, leg.map_or(0, |l| l.get() as usize - 1), &here, faults)
                    .and_then(|(chain, at)| {
                        fitted(system.bottom_outlet.as_ref(), "bottom outlet", system, &here, faults)
                            .map(|f| (id, f, true, chain, at))
                    })
            }
        };
        if let Some((id, fitting, bottom, chain, at)) = placed {
            if out.iter().any(|o| o.chain == chain && o.at == at && o.bottom == bottom) {
                faults.add(&here, "duplicate_outlet", "there is an outlet at this place already");
            }
            out.push(RunOutlet { id, fitting, bottom, chain, at, invert: Length::ZERO });
        }
    }
    for outlet in &out {
        if let Some(chain) = chains.get_mut(outlet.chain) {
            chain.outlets.push(outlet.at);
            chain.outlets.sort();
            chain.outlets.dedup();
        }
    }
    let surface = run.surface_level.unwrap_or_default().0;
    let drops = leg_drops(run);
    for outlet in &mut out {
        let surface =
            surface - chains.get(outlet.chain).map_or(Length::ZERO, |c| drop_at(run, &drops, c, outlet.at));
        // Height where the water leaves: the longest stretch that ends here.
        let stretch = chains.get(outlet.chain).map_or(Length::ZERO, |c| longest_to(c, outlet.at));
        let height = height_at(&system.section, stretch);
        let drop = outlet.fitting.invert_drop.unwrap_or(Length::ZERO);
        outlet.invert = surface - recess - height + system.section.bottom_thickness - drop;
    }
    out
}

/// How far the surface at the start of each leg lies below that at the start of the run.
fn leg_drops(run: &notes::Run) -> Vec<Length> {
    let grade = |i: usize| run.legs.get(i).and_then(|l| l.fall_pct).unwrap_or_default();
    let mut drops: Vec<Length> = Vec::with_capacity(run.legs.len());
    for (i, leg) in run.legs.iter().enumerate() {
        let from = |of: usize, distance: Length| {
            drops.get(of).map_or(Length::ZERO, |d| *d + grade(of).over(distance))
        };
        let drop = match &leg.meets {
            None => Length::ZERO,
            Some(Meets::Corner {}) => i
                .checked_sub(1)
                .map_or(Length::ZERO, |b| from(b, run.legs.get(b).map_or(Length::ZERO, |l| l.length))),
            Some(Meets::Tee { leg: of, at }) => from(of.get() as usize - 1, *at),
        };
        drops.push(drop);
    }
    drops
}

/// How far the surface at a distance along a chain lies below that at the start of the run.
fn drop_at(run: &notes::Run, drops: &[Length], chain: &Chain, at: Length) -> Length {
    let mut left = at;
    for (i, leg) in run.legs.iter().enumerate().take(chain.end).skip(chain.first) {
        if left <= leg.length || i + 1 == chain.end {
            return drops.get(i).copied().unwrap_or_default() + leg.fall_pct.unwrap_or_default().over(left);
        }
        left = left - leg.length;
    }
    Length::ZERO
}

fn longest_to(chain: &Chain, at: Length) -> Length {
    let index = chain.outlets.iter().position(|o| *o == at).unwrap_or(0);
    let upstream = match index.checked_sub(1).and_then(|i| chain.outlets.get(i)) {
        Some(previous) => (at - *previous).half(),
        None => at,
    };
    let downstream = match chain.outlets.get(index + 1) {
        Some(next) => (*next - at).half(),
        None => chain.length - at,
    };
    upstream.max(downstream)
}

fn fitted<'a>(
    fitting: Option<&'a OutletFitting>,
    what: &str,
    system: &ChannelSystem,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<&'a OutletFitting> {
    if fitting.is_none() {
        faults.add(
            at,
            "missing_fitting",
            format!("the channel system `{}` has no {what} in the price book", system.code),
        );
    }
    fitting
}

fn place_end(
    run: &notes::Run,
    chains: &[Chain],
    end: LegEnd,
    leg: Option<usize>,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(usize, Length)> {
    let main_end = chains.first().map_or(0, |c| c.end - 1);
    let leg = leg.unwrap_or(if end == LegEnd::Start { 0 } else { main_end });
    let found = chains.iter().enumerate().find_map(|(i, c)| match end {
        LegEnd::Start if c.first == leg && !c.from_tee => Some((i, Length::ZERO)),
        LegEnd::Finish if c.end == leg + 1 => Some((i, c.length)),
        _ => None,
    });
    if found.is_none() {
        let open: Vec<String> = chains
            .iter()
            .flat_map(|c| {
                let start = (!c.from_tee).then(|| format!("start of leg {}", c.first + 1));
                start.into_iter().chain([format!("finish of leg {}", c.end)])
            })
            .collect();
        faults
            .add(
                at,
                "not_an_open_end",
                format!("the {end} of leg {} of `{}` is not an open end of the run", leg + 1, run.id),
            )
            .allow(open);
    }
    found
}

fn place_bottom(
    run: &notes::Run,
    chains: &[Chain],
    distance: Length,
    leg: usize,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(usize, Length)> {
    let Some(length) = run.legs.get(leg).map(|l| l.length) else {
        faults.add(&at.member("leg"), "unknown_leg", format!("the run has legs 1 to {}", run.legs.len()));
        return None;
    };
    if distance > length {
        faults.add(&at.member("at"), "out_of_range", "the outlet lies beyond the end of its leg");
        return None;
    }
    let (index, chain) = chains.iter().enumerate().find(|(_, c)| (c.first..c.end).contains(&leg))?;
    let before: Length = run.legs.iter().take(leg).skip(chain.first).map(|l| l.length).sum();
    Some((index, before + distance))
}

fn grate<'a>(
    run: &notes::Run,
    system: &'a ChannelSystem,
    book: &PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<&'a crate::wire::book::systems::Grate> {
    match &run.grate {
        Some(code) => {
            let found = system.grates.iter().find(|g| g.item == *code);
            if found.is_none() {
                faults
                    .value(
                        &at.member("grate"),
                        "unknown_code",
                        code.as_str(),
                        format!("no grate of this item code fits `{}`", system.code),
                    )
                    .allow(system.grates.iter().map(|g| g.item.as_str()));
            }
            found
        }
        // The first that carries the load; when none does, the strongest, and the check of the load class fails.
        None => {
            let carries = |g: &&crate::wire::book::systems::Grate| {
                g.load_class.is_some_and(|c| {
                    book.least_class(run.crossing, c).is_some_and(|need| c.carries(need) == Some(true))
                })
            };
            let found = system
                .grates
                .iter()
                .find(carries)
                .or_else(|| system.grates.iter().max_by_key(|g| g.load_class));
            if found.is_none() {
                faults.add(
                    &at.member("channel_system"),
                    "missing_fitting",
                    "no grate fits this channel system",
                );
            }
            found
        }
    }
}

/// Cuts each leg at its fittings into straight spans of channel.
fn spans(
    run: &notes::Run,
    system: &ChannelSystem,
    chains: &[Chain],
    outlets: &[RunOutlet<'_>],
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<RunLeg> {
    let uses = |turn: Option<&crate::wire::book::systems::TurnFitting>| {
        turn.and_then(|t| t.uses_length).unwrap_or(Length::ZERO)
    };
    let (corner, tee) = (uses(system.corner.as_ref()), uses(system.tee.as_ref()));
    let used = |fitting: &OutletFitting| fitting.uses_length.unwrap_or(Length::ZERO);
    let mut out = Vec::with_capacity(run.legs.len());
    for (i, leg) in run.legs.iter().enumerate() {
        let chain = chains.iter().position(|c| (c.first..c.end).contains(&i)).unwrap_or(0);
        let (first, end) = chains.get(chain).map_or((0, 0), |c| (c.first, c.end));
        let before: Length = run.legs.iter().take(i).skip(first).map(|l| l.length).sum();
        // Stretches of the leg taken by fittings: from, to.
        let mut taken: Vec<(Length, Length)> = Vec::new();
        match leg.meets {
            Some(Meets::Corner {}) => taken.push((Length::ZERO, corner)),
            Some(Meets::Tee { .. }) => taken.push((Length::ZERO, tee)),
            None => {}
        }
        if i + 1 < end {
            taken.push((leg.length - corner, leg.length));
        }
        for other in &run.legs {
            if let Some(Meets::Tee { leg: of, at: distance }) = &other.meets
                && of.get() as usize == i + 1
            {
                taken.push((*distance - tee, *distance + tee));
            }
        }
        for outlet in outlets.iter().filter(|o| o.chain == chain) {
            let here = outlet.at - before;
            if here < Length::ZERO || here > leg.length {
                continue;
            }
            let length = used(outlet.fitting);
            if !outlet.bottom {
                taken.push(if here == Length::ZERO {
                    (Length::ZERO, length)
                } else {
                    (leg.length - length, leg.length)
                });
            } else if length.is_positive() && here > Length::ZERO || (here == Length::ZERO && i == first) {
                taken.push((here - length.half(), here + (length - length.half())));
            }
        }
        taken.retain(|(from, to)| to > from);
        taken.sort();
        let mut spans = Vec::with_capacity(taken.len() + 1);
        let mut from = Length::ZERO;
        let mut clash = false;
        for (start, finish) in taken {
            let (start, finish) = (start.max(Length::ZERO), finish.min(leg.length));
            clash |= start < from;
            if start > from {
                spans.push(Span { from, length: start - from });
            }
            from = from.max(finish);
        }
        if leg.length > from {
            spans.push(Span { from, length: leg.length - from });
        }
        if clash {
            faults.add(
                &at.member("legs").element(i).member("length"),
                "fittings_overlap",
                "the fittings of this leg use up more length than there is between them",
            );
        }
        let tee = match &leg.meets {
            Some(Meets::Tee { leg: of, at }) => Some((of.get() as usize - 1, *at)),
            _ => None,
        };
        out.push(RunLeg { length: leg.length, fall: leg.fall_pct.unwrap_or_default(), tee, spans });
    }
    out
}

/// Whether two codes name the same thing twice in one list.
pub fn duplicates<'a>(codes: impl Iterator<Item = &'a Code>) -> Vec<usize> {
    let mut seen = std::collections::HashSet::new();
    codes.enumerate().filter_map(|(i, code)| (!seen.insert(code)).then_some(i)).collect()
}
