//! Cautions of digging, sawing and placing, raised by quantities alone: by those of a layout, and by those that a calculator is
//! given by hand.

use crate::domain::lines::Caution;
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::show::{Show, counted, worded};
use crate::units::{Length, UnitSystem, Volume};

/// The cautions of quantities given by hand, in the order in which the work meets them.
pub(in crate::compute) fn of_quantities(measures: &Measures, deepest: Length, show: Show) -> Vec<Caution> {
    let digs = [Measure::RunExcavation, Measure::LineExcavation].iter().any(|m| measures.base(*m) > 0);
    let mut out = Vec::new();
    out.extend(digs.then(|| utilities(measures, show)));
    deep(deepest, show, &mut out);
    out.extend(silica(measures, show));
    let placed = Volume::from_nm3(measures.base(Measure::ConcreteOrdered));
    let bags = i64::try_from(measures.base(Measure::BagsMixed)).unwrap_or(i64::MAX);
    out.extend(match wet_concrete(placed, show) {
        None if bags > 0 => Some(wet(worded!("mixing {}", counted(bags, "bag")))),
        placing => placing,
    });
    out
}

/// Rules of the United States are told in their figures, elsewhere in round metric ones.
fn said(show: Show, us: &'static str, metric: &'static str) -> &'static str {
    match show.0 {
        UnitSystem::Us => us,
        UnitSystem::Metric => metric,
    }
}

/// Depths from which the rules of excavations hold, each as it is told: 29 CFR 1926 subpart P (read), elsewhere the round
/// metric figure below it.
struct Depths {
    /// From here on there is a way out.
    way_out: Length,
    /// From here on the sides are held.
    protection: Length,
    /// Beyond it an engineer designs what holds them.
    engineer: Length,
}

impl Depths {
    const US: Self =
        Self { way_out: Length::feet(4), protection: Length::feet(5), engineer: Length::feet(20) };
    const METRIC: Self = Self {
        way_out: Length::millimetres(1_200),
        protection: Length::millimetres(1_500),
        engineer: Length::millimetres(6_000),
    };

    const fn of(show: Show) -> Self {
        match show.0 {
            UnitSystem::Us => Self::US,
            UnitSystem::Metric => Self::METRIC,
        }
    }
}

/// What lies in the ground already.
pub(super) fn utilities(measures: &Measures, show: Show) -> Caution {
    let dug = [(Measure::RunExcavation, "runs"), (Measure::LineExcavation, "drain lines")]
        .into_iter()
        .filter(|(measure, _)| measures.base(*measure) > 0)
        .map(|(measure, what)| worded!("{} for {what}", measures.shown(measure, show.0)));
    let dug = dug.collect::<Vec<_>>().join(" and ");
    Caution {
        name: "utilities",
        raised_by: if dug.is_empty() { "work in the ground".to_owned() } else { worded!("digging {dug}") },
        text: "Have underground utilities located and marked before any digging, and wait out the notice the law of the \
               place sets. Dig by hand near the marks."
            .to_owned(),
        source: "29 CFR 1926.651(b) (from memory)",
    }
}

/// A trench that is so deep at its deepest.
pub(super) fn deep(deepest: Length, show: Show, out: &mut Vec<Caution>) {
    let depths = Depths::of(show);
    let raised_by = || worded!("a trench {} deep", show.length(deepest));
    if deepest >= depths.way_out {
        out.push(Caution {
            name: "way_out",
            raised_by: raised_by(),
            text: worded!(
                "From {} deep there must be a ladder, ramp or stairs within {} of everyone in the trench.",
                show.length(depths.way_out),
                said(show, "25 ft", "7.5 m")
            ),
            source: "29 CFR 1926.651(c)(2) (read)",
        });
    }
    if deepest >= depths.protection {
        out.push(Caution {
            name: "cave_in",
            raised_by: raised_by(),
            text: worded!(
                "From {} deep the sides must be sloped, shored or shielded, unless dug wholly in stable rock; shallower too \
                 where a competent person sees need.",
                show.length(depths.protection)
            ),
            source: "29 CFR 1926.652(a)(1) (read)",
        });
    }
    if deepest > depths.engineer {
        out.push(Caution {
            name: "engineered_protection",
            raised_by: raised_by(),
            text: worded!(
                "Over {} deep the protective system must be designed by a registered professional engineer.",
                show.length(depths.engineer)
            ),
            source: "29 CFR 1926.652(b), (c) (read)",
        });
    }
    if deepest.is_positive() {
        out.push(Caution {
            name: "spoil_set_back",
            raised_by: raised_by(),
            text: worded!(
                "Keep spoil and gear at least {} back from the edge of the trench.",
                said(show, "2 ft", "0.6 m")
            ),
            source: "29 CFR 1926.651(j)(2) (read)",
        });
    }
}

/// Dust of what is sawn or broken.
pub(super) fn silica(measures: &Measures, show: Show) -> Option<Caution> {
    let (cause, what) = [
        (Measure::SawCutLength, "of saw cut"),
        (Measure::SawCutFace, "of sawn face"),
        (Measure::SlabRemoved, "of slab broken out"),
        (Measure::AsphaltRemoved, "of asphalt broken out"),
    ]
    .into_iter()
    .find(|(measure, _)| measures.base(*measure) > 0)?;
    Some(Caution {
        name: "silica",
        raised_by: worded!("{} {what}", measures.shown(cause, show.0)),
        text: worded!(
            "Sawing and breaking concrete or asphalt frees silica dust: cut wet, and wear the respirator that {} for the tool \
             and the hours.",
            said(show, "the table of the silica regulation names", "the rules of the place ask")
        ),
        source: said(show, "29 CFR 1926.1153, Table 1 (read)", "common practice, no source"),
    })
}

/// Wet concrete, where any is placed.
pub(in crate::compute) fn wet_concrete(placed: Volume, show: Show) -> Option<Caution> {
    (placed.nm3() > 0).then(|| wet(worded!("placing {}", show.volume(placed))))
}

fn wet(raised_by: String) -> Caution {
    Caution {
        name: "wet_concrete",
        raised_by,
        text: "Wet cement burns skin and eyes: waterproof gloves and boots, eye protection, wash at once."
            .to_owned(),
        source: "OSHA 3351 (from memory)",
    }
}
