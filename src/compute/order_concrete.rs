//! The concrete calculator: for site notes, for pours, for a volume, or for bare dimensions.

use super::concrete::days::{Pour, by_day};
use super::concrete::{self, ConcreteOrder, Site, Terms};
use super::drainage::shelf::RainShelf;
use super::labor::Conditions;
use super::pouring::{book_waste, pours_of};
use super::ready::Ready;
use super::second_look;
use super::{ENGINE, cautions, takeoff};
use crate::compute::answers::{BookUsed, ConcreteAnswer};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::layout::{choices, pours};
use crate::domain::lines::Caution;
use crate::domain::words::{Difficulty, Soil, Task, Weather};
use crate::units::show::Show;
use crate::units::show::counted;
use crate::units::{Percent, Volume};
use crate::wire::calc::ConcreteRequest;
use crate::wire::notes::{ConcreteNotes, SiteNotes};
use crate::wire::{At, Code, Fault, Faults};
use std::borrow::Cow;

/// What is poured, and what was said about it.
struct Asked<'r> {
    pours: Vec<Pour>,
    basis: String,
    show: Show,
    waste: Option<Percent>,
    way: Option<Code>,
    notes: Option<Cow<'r, ConcreteNotes>>,
    /// Those of the notes; without notes, that of the concrete alone.
    cautions: Vec<Caution>,
    site: Option<SiteOfNotes>,
}

/// What the notes say of the site, kept beyond their layout.
struct SiteOfNotes {
    soil: Soil,
    difficulty: Difficulty,
    weather: Option<Weather>,
    methods: Vec<(Task, Code)>,
    place: Option<Code>,
}

/// The concrete order only.
///
/// # Errors
/// Every fault of the request.
pub fn concrete(
    request: &ConcreteRequest,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<ConcreteAnswer, Faults> {
    let ConcreteRequest {
        price_book_version: _,
        notes: sent,
        pours: given_pours,
        volume,
        length,
        width,
        depth,
        waste_pct,
        concrete_way,
        concrete: about,
        break_even_up_to,
        unit_system,
    } = request;
    let mut faults = Faults::new();
    let dimensions = [length, width, depth];
    let given = usize::from(sent.is_some())
        + usize::from(!given_pours.is_empty())
        + usize::from(volume.is_some())
        + usize::from(dimensions.iter().any(|d| d.is_some()));
    if given != 1 {
        faults.add(&At::ROOT, "one_of", "say what the concrete is for in exactly one way").allow([
            "notes",
            "pours",
            "volume",
            "length, width and depth together",
        ]);
        return Err(faults);
    }
    let show = Show(unit_system.unwrap_or(book.doc().unit_system));
    let plain = |pours: Vec<Pour>, basis: String| Asked {
        basis,
        show,
        waste: None,
        way: None,
        notes: None,
        cautions: cautions::wet_concrete(pours.iter().map(|p| p.net).sum(), show).into_iter().collect(),
        site: None,
        pours,
    };
    let one = |net: Volume| vec![Pour { of: "the volume given".to_owned(), day: 1, net }];
    let asked = match (sent, volume, length, width, depth) {
        (Some(notes), ..) => {
            of_notes(notes, unit_system.map(Show), book, rains).map_err(|f| f.under("notes"))?
        }
        (None, Some(volume), ..) => plain(one(*volume), format!("as given, {}", show.volume(*volume))),
        (None, None, Some(length), Some(width), Some(depth)) => {
            let net = *length * *width * *depth;
            let basis =
                format!("{} x {} x {}", show.length(*length), show.length(*width), show.length(*depth));
            if net > Volume::LARGEST {
                // Any of the three may be the one that is wrong.
                let rule = format!("{basis} is {}, beyond 100,000 m³", show.volume(net));
                faults
                    .add(&At::ROOT, "out_of_range", rule)
                    .allow([format!("length x width x depth of at most {}", show.volume(Volume::LARGEST))]);
            }
            plain(one(net), basis)
        }
        _ if !given_pours.is_empty() => {
            let pours: Vec<Pour> = given_pours
                .iter()
                .map(|p| Pour {
                    of: p.name.as_str().to_owned(),
                    day: p.day.map_or(1, |d| d.get()),
                    net: p.volume,
                })
                .collect();
            let net = pours.iter().map(|p| p.net).sum::<Volume>();
            if net > Volume::LARGEST {
                let rule = format!("the pours together are {}, beyond 100,000 m³", show.volume(net));
                faults
                    .add(&At::ROOT.member("pours"), "out_of_range", rule)
                    .allow([format!("pours of at most {} together", show.volume(Volume::LARGEST))]);
            }
            let basis = format!("{} as given", counted(pours.len(), "pour"));
            plain(pours, basis)
        }
        _ => {
            for (name, missing) in
                [("length", length.is_none()), ("width", width.is_none()), ("depth", depth.is_none())]
            {
                if missing {
                    faults.add(
                        &At::ROOT.member(name),
                        "required",
                        "dimensions need length, width and depth together",
                    );
                }
            }
            return Err(faults);
        }
    };
    choices::concrete_way(concrete_way.as_ref(), book, &At::ROOT.member("concrete_way"), &mut faults);
    if let Some(about) = about {
        let poured = |day| asked.pours.iter().any(|p| p.day == day);
        pours::check(about, poured, &At::ROOT.member("concrete"), &mut faults);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    // What the request says goes before what its notes say.
    let waste = waste_pct.or(asked.waste).unwrap_or_else(|| book_waste(book));
    let notes = about.as_ref().or(asked.notes.as_deref());
    let mut terms = Terms::of(waste, concrete_way.as_ref().or(asked.way.as_ref()), notes);
    let methods: Vec<(Task, &Code)> =
        asked.site.iter().flat_map(|s| &s.methods).map(|(task, method)| (*task, method)).collect();
    if let Some(site) = &asked.site {
        let SiteOfNotes { soil, difficulty, weather, methods: _, place } = site;
        // Neither mixing nor placing asks how deep it is.
        let conditions = Conditions {
            soil: *soil,
            difficulty: *difficulty,
            weather: *weather,
            methods: &methods,
            ..Conditions::PLAIN
        };
        terms = terms.on(Site { conditions, place: place.as_ref() });
    }
    let mut order = by_day(&asked.pours, &terms, book, asked.show).map_err(|faults| {
        where_sent(faults, request, asked.show, |net| concrete::order_with(net, &terms, book, asked.show))
    })?;
    if let Some(reach) = break_even_up_to.filter(|r| r.nm3() > 0) {
        order.break_even = concrete::break_even(reach, &terms, book, asked.show);
    }
    let mut checks = second_look::notes::of_concrete(*waste_pct, about.as_ref(), asked.show);
    checks.extend(sent.iter().flat_map(|notes| second_look::notes::checks(notes, asked.show)));
    let mut cautions = asked.cautions;
    cautions.extend(cautions::pour_weather(&order));
    Ok(ConcreteAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        unit_system: asked.show.0,
        currency: book.currency(),
        net_basis: asked.basis,
        checks,
        concrete: order,
        cautions,
    })
}

/// The faults of an order at what was sent: the volume, each pour that is too much by itself, all pours, the notes. Of bare
/// dimensions any may be the one that is wrong: theirs stay with the whole request.
fn where_sent(
    faults: Faults,
    request: &ConcreteRequest,
    show: Show,
    order: impl Fn(Volume) -> Result<ConcreteOrder, Faults>,
) -> Faults {
    if request.notes.is_some() {
        return faults.under("notes");
    }
    let mut told = Faults::new();
    let mut tell = |faults: &Faults, at: &At<'_>, sent: Volume| {
        told.extend(faults.list().iter().map(|fault| Fault {
            pointer: at.pointer(),
            value: Some(show.volume(sent).to_string()),
            ..fault.clone()
        }));
    };
    if let Some(volume) = request.volume {
        tell(&faults, &At::ROOT.member("volume"), volume);
        return told;
    }
    if request.pours.is_empty() {
        return faults;
    }
    let list = At::ROOT.member("pours");
    for (i, pour) in request.pours.iter().enumerate() {
        if let Err(own) = order(pour.volume) {
            tell(&own, &list.element(i).member("volume"), pour.volume);
        }
    }
    if told.is_empty() { faults.under("pours") } else { told }
}

/// What the notes pour, with the options that are chosen in them.
fn of_notes<'r>(
    notes: &'r SiteNotes,
    show: Option<Show>,
    book: &PriceBook,
    rains: &RainShelf,
) -> Result<Asked<'r>, Faults> {
    let ready = Ready::of(notes, book, rains)?;
    let layout = ready.layout(book, rains)?;
    let taken = takeoff::take_off(&layout, book);
    let show = show.unwrap_or(layout.show);
    Ok(Asked {
        pours: pours_of(&layout, &taken),
        basis: format!(
            "surround and patches of {} and {}",
            counted(layout.runs.len(), "run"),
            counted(layout.lines.len(), "line")
        ),
        show,
        waste: layout.waste,
        way: layout.concrete_way.cloned(),
        notes: notes.concrete.as_ref().map(Cow::Borrowed),
        cautions: cautions::all(&layout, &taken, &taken.measures, show),
        site: Some(SiteOfNotes {
            soil: layout.soil,
            difficulty: layout.difficulty,
            weather: layout.weather,
            methods: layout.methods.iter().map(|(task, method)| (*task, (*method).clone())).collect(),
            place: layout.place.cloned(),
        }),
    })
}
