//! Machines by the days the plan has them on site: through which gaps between its uses each is held.

use super::plan::{HireOut, Terms};
use super::{Hire, Periods, Stay, half_days};
use crate::compute::calendar::count::calendar_days_between;
use crate::compute::hire::{self, Stretch};
use crate::compute::plan::result::MachineWindow;
use crate::units::decimal::plain;
use crate::units::quantity::Span;
use crate::units::show::{counted, worded};
use crate::wire::book::work::Equipment;
use jiff::civil::Date;
use smallvec::SmallVec;

/// Adds the hire of a machine over its windows. Where more are needed in some windows than in others, those beyond come for
/// these windows only. A single day of use is half a day where no more than that lies between its first use and its last.
pub(super) fn add<'b>(
    machine: &'b Equipment,
    windows: &[&MachineWindow],
    day: Span,
    start: Date,
    out: &mut Vec<Hire<'b>>,
) {
    let mut levels: SmallVec<[u32; 2]> = windows.iter().map(|w| w.units).collect();
    levels.sort_unstable();
    levels.dedup();
    let mut below = 0;
    for level in levels.into_iter().filter(|n| *n > 0) {
        let units = level - below;
        below = level;
        let own: SmallVec<[&MachineWindow; 4]> =
            windows.iter().filter(|w| w.units >= level).copied().collect();
        match held(machine, units, &own, start) {
            Some(hire) => out.push(hire),
            None => out.extend(own.iter().map(|window| {
                let whole = i64::from(window.calendar_days) * 2;
                let single = windows.len() == 1 && whole == 2;
                let on_site = i64::from(window.longest_day.minutes()) * 60;
                let half_days = if single { half_days(on_site, day).clamp(1, 2) } else { whole };
                alone(machine, units, window, half_days, start)
            })),
        }
    }
}

/// One stay for one window.
fn alone<'b>(
    machine: &'b Equipment,
    units: u32,
    window: &MachineWindow,
    half_days: i64,
    start: Date,
) -> Hire<'b> {
    let mut words = basis(units, &[window], half_days);
    if half_days == 1 {
        let on_site = plain(Span::from_seconds(i64::from(window.longest_day.minutes()) * 60).hours(), 2);
        words.push_str(&worded!(", {on_site} h from its first use to its last"));
    }
    let mut hire = Hire::of_half_days(machine, units, half_days, words);
    for stay in hire.shown.iter_mut().flat_map(|h| &mut h.stays) {
        let first = day_of(window.from, start);
        (stay.first, stay.last) = (stay.first.saturating_add(first), stay.last.saturating_add(first));
        stay.idle = window.calendar_days.saturating_sub(window.used_days);
    }
    hire
}

/// The stays over several windows that cost least: held through a gap, or returned and hired again. None for a single window,
/// and for windows beyond what can be weighed, which are hired one by one.
fn held<'b>(machine: &'b Equipment, units: u32, windows: &[&MachineWindow], start: Date) -> Option<Hire<'b>> {
    if windows.len() < 2 {
        return None;
    }
    let stretches: Vec<Stretch> =
        windows.iter().map(|w| Stretch { first: day_of(w.from, start), last: day_of(w.to, start) }).collect();
    let date =
        |day: u32| windows.iter().flat_map(|w| [w.from, w.to]).find(|date| day_of(*date, start) == day);
    let dates = |stay: &hire::Stay| match (date(stay.first), date(stay.last)) {
        (Some(first), Some(last)) if first == last => worded!("on {first}"),
        (Some(first), Some(last)) => worded!("from {first} to {last}"),
        _ => stay.by_number(),
    };
    let mut shown: HireOut = Terms::of(machine).for_stretches(&stretches, dates).ok()?;
    let mut stays = SmallVec::new();
    for stay in &mut shown.stays {
        let within = |s: &Stretch| stay.first <= s.first && s.last <= stay.last;
        let own: SmallVec<[&MachineWindow; 4]> =
            windows.iter().zip(&stretches).filter(|(_, s)| within(s)).map(|(w, _)| *w).collect();
        let half_days = (i64::from(stay.last) - i64::from(stay.first) + 1) * 2;
        stays.push(Stay { periods: Periods::of(stay), basis: basis(units, &own, half_days) });
        // days without use within a window count as well
        stay.idle = (stay.last - stay.first + 1).saturating_sub(own.iter().map(|w| w.used_days).sum());
    }
    Some(Hire { machine, units, stays, shown: Some(shown.times(units)) })
}

/// How many days after the first of the job.
fn day_of(day: Date, start: Date) -> u32 {
    u32::try_from(calendar_days_between(start, day)).unwrap_or(0)
}

fn basis(units: u32, windows: &[&MachineWindow], half_days: i64) -> String {
    let (Some(first), Some(last)) = (windows.first(), windows.last()) else { return String::new() };
    let days = calendar_days_between(first.from, last.to) + 1;
    let needed: i64 = windows.iter().map(|w| i64::from(w.calendar_days)).sum();
    let through = match days - needed {
        0 => String::new(),
        idle => worded!(
            "; kept through {} between its uses, which costs no more than collecting it and hiring again",
            counted(idle, "calendar day")
        ),
    };
    worded!(
        "{units} on site by the plan from {} to {}, {}, used on {}: {}{through}",
        first.from,
        last.to,
        counted(days, "calendar day"),
        windows.iter().map(|w| w.used_days).sum::<u32>(),
        counted(half_days, "half day")
    )
}
