//! Cautions, each raised by the quantity that causes it.
//!
//! They are reminders, not a safety plan. Local codes, the authority that permits the discharge, the competent person on
//! site and licensed practice go before them.
//!
//! | file | subject |
//! |---|---|
//! | this one | those of a layout |
//! | `ground` | those of what is opened: an entrance, what lies under slabs and paving |
//! | `work` | those of digging, sawing and placing, by quantities alone |

mod ground;
mod work;

use super::concrete::ConcreteOrder;
use super::takeoff::Takeoff;
use crate::domain::layout::Layout;
use crate::domain::lines::Caution;
use crate::domain::measures::Measures;
use crate::units::Length;
use crate::units::show::{Show, worded};
use crate::wire::notes::{LineEnd, Outfall};
pub(super) use work::{of_quantities, wet_concrete};

/// From here on what is set at once is long to lift (common practice, no source).
const LONG_TO_LIFT: Length = Length::feet(12);

/// All cautions for a layout, in the order in which the work meets them, in the units of the answer.
pub fn all(layout: &Layout<'_>, takeoff: &Takeoff<'_>, measures: &Measures, show: Show) -> Vec<Caution> {
    let mut out = vec![work::utilities(measures, show)];
    work::deep(takeoff.deepest_run.max(takeoff.deepest_line), show, &mut out);
    out.extend(work::silica(measures, show));
    if layout.water.is_some() {
        out.push(Caution {
            name: "storm",
            raised_by: "a drain made for a storm".to_owned(),
            text: crate::compute::water::warning::CAUTION.to_owned(),
            source: "common practice, no source",
        });
    }
    out.extend(work::wet_concrete(takeoff.concrete_net, show));
    // Where no concrete gets below a channel nothing lifts it.
    if takeoff.runs.iter().any(|run| run.displaced.nm3() > 0) {
        out.push(Caution {
            name: "channel_floats",
            raised_by: worded!("placing {}", show.volume(takeoff.concrete_net)),
            text: "An empty channel floats in wet concrete: hold it down at every hanger and pour in lifts on both sides at \
                   once."
                .to_owned(),
            source: "buoyancy; common practice, no source",
        });
    }
    let lifted = takeoff.cuts.longest_setting().filter(|lifted| *lifted >= LONG_TO_LIFT);
    out.extend(lifted.map(|lifted| {
        Caution {
            name: "lifting",
            raised_by: worded!("{} of channel set at once", show.length(lifted)),
            text:
                "A long assembled run is heavy and bends: lift it with enough people or in shorter settings."
                    .to_owned(),
            source: "common practice, no source",
        }
    }));
    out.extend(ground::entrance(layout));
    if layout.runs.iter().any(|r| r.crossing.is_heavier_than_wheels()) {
        out.push(Caution {
            name: "structural_surround",
            raised_by: "a load class heavier than a car's wheels".to_owned(),
            text: "A surround for heavy classes is structural: it follows the channel system's own data or a licensed \
                   engineer."
                .to_owned(),
            source: "common practice, no source",
        });
    }
    out.extend(ground::buried_in_slab(layout));
    out.extend(ground::buried_under_paving(layout));
    out.extend(outfalls(layout));
    if layout.lines.iter().any(|l| matches!(l.ends, LineEnd::Discharges { .. })) || layout.lines.is_empty() {
        out.push(Caution {
            name: "discharge",
            raised_by: "water leaves the site".to_owned(),
            text: "Discharge only where the authority permits it; the design storm follows local rules, and where a failed \
                   drain can flood a building or a road a licensed engineer decides."
                .to_owned(),
            source: "common practice, no source",
        });
    }
    out
}

/// What each kind of outfall asks for, once for all lines that end there.
fn outfalls(layout: &Layout<'_>) -> Vec<Caution> {
    let caution = |to: &Outfall| {
        let lines = layout.lines.iter().filter(|l| l.ends.outfall() == Some(*to));
        let lines: Vec<String> = lines.map(|l| worded!("line {}", l.id)).collect();
        if lines.is_empty() {
            return None;
        }
        let (to, text) = at_outfall(*to);
        let ends = if lines.len() > 1 { "end" } else { "ends" };
        Some(Caution {
            name: "outfall",
            raised_by: worded!("{} {ends} at {to}", lines.join(", ")),
            text: text.to_owned(),
            source: "common practice, no source",
        })
    };
    Outfall::ALL.iter().filter_map(caution).collect()
}

/// An outfall in words and what to mind there.
const fn at_outfall(to: Outfall) -> (&'static str, &'static str) {
    match to {
        Outfall::Daylight => (
            "daylight",
            "Water that leaves in the open washes out the slope: protect the ground below the end, keep animals out of the pipe, \
             and lead no more water onto a neighbor's land than the law of the place allows.",
        ),
        Outfall::StormSewer => (
            "a storm sewer",
            "Connect to a storm sewer only by permit of its owner and by the fitting its rules name, never to a sanitary sewer; \
             where it runs full in a storm it backs up into the line: give its water level.",
        ),
        Outfall::ExistingPipe => (
            "an existing pipe",
            "Find out whose the existing pipe is, where it leads, and whether it is sound; whether it carries this flow beside \
             its own is not checked here.",
        ),
        Outfall::Street => (
            "the gutter of a street",
            "Leading water to a street, and cutting its curb, takes the permit of whoever keeps the street; it must not run or \
             freeze across a walk.",
        ),
        Outfall::Swale => (
            "a swale",
            "Protect the bed of the swale where the water comes in and keep the end clear of growth and silt; whether the swale \
             carries the flow on is not checked here.",
        ),
        Outfall::DryWell => (
            "a dry well",
            "A dry well empties no faster than the soil takes the water: its volume, the test of the soil and the distance from \
             buildings, wells and slopes are not reckoned here.",
        ),
        Outfall::Pond => (
            "a pond",
            "A pond rises in the storm and may back up into the line: give its water level there; its owner and the authority that \
             keeps it must agree.",
        ),
    }
}

/// What to mind where a pour day's weather was checked.
pub fn pour_weather(order: &ConcreteOrder) -> Option<Caution> {
    let days: Vec<String> =
        order.days.iter().filter(|d| d.weather.is_some()).map(|d| d.day.to_string()).collect();
    (!days.is_empty()).then(|| Caution {
        name: "pour_weather",
        raised_by: worded!("the weather of pour day {}", days.join(", ")),
        text: "Weather checks are reminders for the days told, not a curing plan: measure air, concrete and surface on \
               site, and follow the job's specification, the producer of the mix and local codes; frozen or heaved ground is \
               a matter for the engineer."
            .to_owned(),
        source: "UFGS 03300N for the limits (read); common practice, no source",
    })
}
