//! How deep the trench of a run is along it: what the crew digs by, and how the mean height came about.

use crate::domain::layout::Run;
use crate::domain::layout::runs::height::fall_reaches;
use crate::domain::layout::runs::slopes::Slope;
use crate::units::show::{Show, worded};
use crate::units::{Length, Quantity};
use serde::Serialize;
use utoipa::ToSchema;

/// One station of what the crew digs a run by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct RunDigStation {
    /// Number of the leg, the first being 1.
    pub leg: i64,
    /// Distance from the start of the leg.
    pub station: Quantity,
    /// Level of the finished surface.
    pub ground: Quantity,
    /// Bottom of the channel inside.
    pub invert: Quantity,
    /// Depth to dig below the finished surface, to the bottom of the concrete below the channel.
    pub depth: Quantity,
}

/// Both ends of each leg, and wherever the depth begins or ceases to change.
pub(super) fn dig_table(run: &Run<'_>, show: Show) -> Vec<RunDigStation> {
    let (section, detail) = (&run.system.section, run.detail);
    let mut out = Vec::with_capacity(2 * run.legs.len());
    for chain in &run.chains {
        let slopes = chain.slopes(section);
        let mut start = Length::ZERO;
        for (i, leg) in run.legs.iter().enumerate().take(chain.end).skip(chain.first) {
            let end = start + leg.length;
            let mut before = None;
            for slope in slopes.iter().filter(|s| s.to > start && s.from < end) {
                for at in [slope.from.max(start), slope.to.min(end)] {
                    let (station, height) = (at - start, slope.height_at(at));
                    if before.replace((station, height)) == Some((station, height)) {
                        continue;
                    }
                    let ground = leg.surface - leg.fall.over(station);
                    out.push(RunDigStation {
                        leg: i as i64 + 1,
                        station: show.long(station),
                        ground: show.long(ground),
                        invert: show.long(ground - detail.recess - height + section.bottom_thickness),
                        depth: show.long(height + detail.base + detail.recess),
                    });
                }
            }
            start = end;
        }
    }
    out
}

/// Whether the outside height changes along the run.
pub(super) fn changes(run: &Run<'_>) -> bool {
    run.mean_height() != run.system.section.overall_height
}

/// How the mean height came about and where the fall ends; nothing where the height is the same everywhere.
pub(super) fn mean_in_words(run: &Run<'_>, show: Show) -> String {
    if !changes(run) {
        return String::new();
    }
    let at = |l: Length| show.length(l);
    let section = &run.system.section;
    // Parts that are alike, whichever way they fall: length, both heights, how many.
    let mut parts: Vec<(Length, Length, Length, i64)> = Vec::new();
    for slope in run.chains.iter().flat_map(|chain| chain.slopes(section)) {
        let Slope { near, far, .. } = slope;
        let like = (slope.length(), near.min(far), near.max(far));
        match parts.iter_mut().find(|p| (p.0, p.1, p.2) == like) {
            Some(part) => part.3 += 1,
            None => parts.push((like.0, like.1, like.2, 1)),
        }
    }
    let words = parts.iter().map(|(length, low, high, count)| {
        let times = if *count > 1 { worded!("{count} x ") } else { String::new() };
        if low == high {
            worded!("{times}{} x {}", at(*length), at(*low))
        } else {
            worded!("{times}{} x ({} + {}) / 2", at(*length), at(*low), at(*high))
        }
    });
    let words = words.collect::<Vec<_>>().join(" + ");
    let falls = fall_reaches(section);
    let longest = run.chains.iter().flat_map(|c| c.reaches()).map(|r| r.length()).max().unwrap_or_default();
    let ends = if longest > falls {
        worded!(
            "; the fall is built in for {} from a high point, and from there to the outlet the channel lies level at its full height",
            at(falls)
        )
    } else {
        String::new()
    };
    worded!(
        "; {} is the mean height, ({words}) / {}: volumes go by it, the dig table says how deep it is where{ends}",
        at(run.mean_height()),
        at(run.length())
    )
}

#[cfg(test)]
#[expect(clippy::panic, reason = "notes that cannot be read stop a test")]
mod tests {
    use super::*;
    use crate::domain::book::PriceBook;
    use crate::domain::layout::resolve::resolve;
    use crate::units::UnitSystem;
    use crate::wire::notes::SiteNotes;
    use crate::wire::{read_document, read_value};
    use serde_json::{Value, json};

    /// Leg, station and depth of each row, and the mean in words, of a run of the demo book on the ground.
    fn dug(run: &Value) -> (Vec<String>, String) {
        let book = read_document(crate::domain::demo::BOOK.as_bytes()).unwrap_or_else(|e| panic!("{e}"));
        let book = PriceBook::check(book).unwrap_or_else(|e| panic!("{e}"));
        let notes: SiteNotes = read_value(&json!({"runs": [run]})).unwrap_or_else(|e| panic!("{e}"));
        let layout = resolve(&notes, &book).unwrap_or_else(|e| panic!("{e}"));
        let show = Show(UnitSystem::Metric);
        let Some(run) = layout.runs.first() else { panic!("no run") };
        let rows = dig_table(run, show).into_iter().map(|row| {
            let RunDigStation { leg, station, ground, invert, depth } = row;
            format!("{leg}: {station}, {ground}, {invert}, {depth}")
        });
        (rows.collect(), mean_in_words(run, show))
    }

    fn falls(legs: &Value, outlet: &Value) -> (Vec<String>, String) {
        dug(
            &json!({"id": "r", "legs": legs, "channel_system": "channel-8-fall", "crossing": "feet", "outlets": [outlet]}),
        )
    }

    /// 180 mm to 330 mm by 0.5 %, nothing below it; its bottom is 25 mm thick.
    #[test]
    fn a_run_with_fall_tells_where_it_is_shallow_and_where_deep() {
        let (rows, words) =
            falls(&json!([{"length": "60 m"}]), &json!({"kind": "bottom", "id": "o", "at": "30 m"}));
        assert_eq!(
            rows,
            [
                "1: 0 m, 0 m, -0.155 m, 0.18 m",
                "1: 30 m, 0 m, -0.305 m, 0.33 m",
                "1: 60 m, 0 m, -0.155 m, 0.18 m"
            ]
        );
        assert_eq!(
            words,
            "; 255 mm is the mean height, (2 x 30 m x (180 mm + 330 mm) / 2) / 60 m: volumes go by it, the dig table says how deep \
             it is where"
        );
    }

    /// The fall reaches 30 m, and the rest lies level: told by the table and by the working.
    #[test]
    fn where_the_fall_ends_is_told() {
        let end = json!({"kind": "end", "id": "o", "at": "finish"});
        let (rows, words) = falls(&json!([{"length": "60 m"}]), &end);
        assert_eq!(
            rows,
            [
                "1: 0 m, 0 m, -0.155 m, 0.18 m",
                "1: 30 m, 0 m, -0.305 m, 0.33 m",
                "1: 60 m, 0 m, -0.305 m, 0.33 m"
            ]
        );
        assert!(
            words.starts_with(
                "; 292.5 mm is the mean height, (30 m x (180 mm + 330 mm) / 2 + 30 m x 330 mm) / 60 m"
            ),
            "{words}"
        );
        assert!(
            words.contains("; the fall is built in for 30 m from a high point, and from there"),
            "{words}"
        );
    }

    /// Round a corner stations go on from the start of the leg, and levels with the surface; an outlet that is met deeper from one
    /// side than from the other stands twice.
    #[test]
    fn stations_are_those_of_the_legs_and_an_outlet_off_the_middle_stands_twice() {
        let legs =
            json!([{"length": "10 m", "fall_pct": "1"}, {"length": "10 m", "meets": {"kind": "corner"}}]);
        let (rows, _) = falls(&legs, &json!({"kind": "bottom", "id": "o", "leg": 2, "at": "4 m"}));
        assert_eq!(
            rows,
            [
                "1: 0 m, 0 m, -0.155 m, 0.18 m",
                "1: 10 m, -0.1 m, -0.305 m, 0.23 m",
                "2: 0 m, -0.1 m, -0.305 m, 0.23 m",
                "2: 4 m, -0.1 m, -0.325 m, 0.25 m",
                "2: 4 m, -0.1 m, -0.285 m, 0.21 m",
                "2: 10 m, -0.1 m, -0.255 m, 0.18 m"
            ]
        );
    }

    #[test]
    fn a_level_channel_is_dug_to_one_depth() {
        let (rows, words) =
            dug(&json!({"id": "r", "legs": [{"length": "4 m"}], "channel_system": "channel-4-light",
            "crossing": "feet", "outlets": [{"kind": "bottom", "id": "o", "at": "1 m"}]}));
        assert_eq!(rows, ["1: 0 m, 0 m, -0.1207 m, 0.127 m", "1: 4 m, 0 m, -0.1207 m, 0.127 m"]);
        assert_eq!(words, "");
    }
}
