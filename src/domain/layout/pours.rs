//! On which day what is poured, and in which weather; where the spoil goes.

use crate::units::Percent;
use crate::wire::notes::{ConcreteNotes, DrainLine, HaulNotes, Run};
use crate::wire::{At, Faults, Whole};

/// Pour days of each run, then of each line, in order; empty when the notes name none at all.
pub fn days(runs: &[Run], lines: &[DrainLine], faults: &mut Faults) -> Vec<Vec<i64>> {
    let parts = || {
        let of_runs = runs.iter().enumerate().map(|(i, r)| ("runs", i, &r.pour_days));
        of_runs.chain(lines.iter().enumerate().map(|(i, l)| ("drain_lines", i, &l.pour_days)))
    };
    if parts().all(|(_, _, days)| days.is_empty()) {
        return Vec::new();
    }
    parts()
        .map(|(list, part, days)| {
            let lists = At::ROOT.member(list);
            let here = lists.element(part);
            one(days, &here.member("pour_days"), faults)
        })
        .collect()
}

fn one(days: &[Whole<1, 60>], at: &At<'_>, faults: &mut Faults) -> Vec<i64> {
    let mut out: Vec<i64> = Vec::with_capacity(days.len().max(1));
    for (i, day) in days.iter().enumerate() {
        if out.contains(&day.get()) {
            faults.value(&at.element(i), "duplicate", &day.get().to_string(), "this day is named already");
        }
        out.push(day.get());
    }
    if out.is_empty() {
        out.push(1);
    }
    out.sort_unstable();
    out
}

/// The weather must belong to days on which something is poured, once each.
pub fn check(notes: &ConcreteNotes, poured: impl Fn(i64) -> bool, at: &At<'_>, faults: &mut Faults) {
    let list = at.member("weather");
    for (i, weather) in notes.weather.iter().enumerate() {
        let here = list.element(i);
        let of = |w: &crate::wire::notes::PourWeather| w.day.map_or(1, |d| d.get());
        let day = of(weather);
        if !poured(day) {
            faults.value(&here.member("day"), "no_pour", &day.to_string(), "nothing is poured on this day");
        }
        if notes.weather.iter().take(i).any(|w| of(w) == day) {
            let rule = "the weather of this day is told already";
            faults.value(&here.member("day"), "duplicate", &day.to_string(), rule);
        }
        if weather.humidity_pct > Percent::whole(100) {
            let sent = weather.humidity_pct.number().to_string();
            faults.value(
                &here.member("humidity_pct"),
                "out_of_range",
                &sent,
                "relative humidity is at most 100 %",
            );
        }
    }
}

/// Soil is kept by volume or all of it; a truck moves.
pub fn check_haul(notes: &HaulNotes, at: &At<'_>, faults: &mut Faults) {
    if notes.keep_all_spoil.0 && notes.spoil_kept.is_some() {
        let rule = "say how much soil is kept, or that all of it is: leave one of them out";
        faults.add(&at.member("spoil_kept"), "contradiction", rule);
    }
    if notes.speed.is_some_and(|s| s.nm_per_h() == 0) {
        faults.add(&at.member("speed"), "out_of_range", "a truck moves: more than 0");
    }
}
