//! The concrete of a job: what each pour waits for, and what passes by itself after it.

use super::about::{About, codes, names};
use super::growing::Growing;
use super::pours::{Pour, pours};
use super::tasks::{Done, Poured, Source, id, work_of};
use crate::compute::plan::{HoldKind, Task as PlanTask, TaskId, Wait};
use crate::domain::layout::{Layout, Line};
use crate::wire::notes::PourPlan;

/// Pours, and what passes by itself after each.
pub(super) fn pour_all(source: &Source<'_, '_>, done: &mut Done, all: &mut Growing<'_>) {
    let mode = source.layout.schedule.and_then(|s| s.pours).unwrap_or(PourPlan::Together);
    // Another pour day of the notes is another day of the calendar.
    let mut pour_day: Option<i64> = None;
    let mut day_after: Vec<TaskId> = Vec::new();
    for (n, pour) in pours(source, mode).iter().enumerate() {
        let n = n + 1;
        if pour_day.is_some_and(|d| d != pour.day) {
            let name = format!("Day before pour day {}", pour.day);
            day_after = all.wait(&format!("pour_day.{}", pour.day), &name, Wait::RestOfDay, &done.placed);
        }
        pour_day = Some(pour.day);
        let mut before = day_after.clone();
        before.extend(waited_for(source, pour, done));
        if let Some(placed) = inspect_and_place(source, n, pour, before, all) {
            done.placed.extend(placed.iter().cloned());
            set(source, n, pour, &placed, done, all);
            cure(source, n, pour, &placed, done, all);
        }
    }
}

/// What a pour waits for.
fn waited_for(source: &Source<'_, '_>, pour: &Pour, done: &Done) -> Vec<TaskId> {
    let layout = source.layout;
    let mut before = Vec::new();
    for part in &pour.parts {
        match part.checked_sub(layout.runs.len()) {
            None => {
                before.extend(done.hung.get(*part).into_iter().flatten().cloned());
                let drains = |line: &Line<'_>| line.from.iter().any(|feed| feed.run == *part);
                let lines = layout.lines.iter().enumerate().filter(|(_, line)| drains(line));
                let laid = lines.filter_map(|(l, _)| done.lines.get(&l));
                before.extend(laid.flat_map(|laid| &laid.connected).cloned());
            }
            Some(l) => before.extend(done.lines.get(&l).into_iter().flat_map(|laid| &laid.filled).cloned()),
        }
        // A part poured on several days: one after the other.
        before.extend(done.poured.get(part).into_iter().flat_map(|poured| &poured.placed).cloned());
    }
    before
}

/// The inspection before a pour and the pour itself.
fn inspect_and_place(
    source: &Source<'_, '_>,
    n: usize,
    pour: &Pour,
    mut before: Vec<TaskId>,
    all: &mut Growing<'_>,
) -> Option<Vec<TaskId>> {
    let Source { layout, labor, office, .. } = source;
    let what = names(layout, &pour.parts, pour.piece);
    if office.waits.inspection > 0 {
        before = all.wait(
            &format!("inspection.{n}"),
            &format!("Inspection before the pour: {what}"),
            Wait::WorkingDays(office.waits.inspection),
            &before,
        );
        all.hold(HoldKind::InspectionBeforePour);
    }
    let (key, work) = id(&format!("pour.{n}")).zip(work_of(labor, &pour.made_of))?;
    let name = format!("Place and finish concrete: {what}");
    let about = About { text: what, codes: codes(layout, &pour.parts) };
    let task = PlanTask::work(key, "", work);
    let placed = all.push(&name, task, &before, (pour.made_of.clone(), Some(about)));
    all.pour_day(pour.day);
    Some(placed)
}

/// Concrete sets before its forms are stripped.
fn set(
    source: &Source<'_, '_>,
    n: usize,
    pour: &Pour,
    placed: &[TaskId],
    done: &mut Done,
    all: &mut Growing<'_>,
) {
    let set = match source.office.waits.strip {
        0 => placed.to_vec(),
        days => {
            let name = format!("Set before stripping: {}", names(source.layout, &pour.parts, pour.piece));
            all.wait(&format!("set.{n}"), &name, Wait::CalendarDays(days), placed)
        }
    };
    for part in &pour.parts {
        done.poured.insert(*part, Poured { placed: placed.to_vec(), set: set.clone() });
    }
}

/// Concrete cures before anything crosses it.
fn cure(
    source: &Source<'_, '_>,
    n: usize,
    pour: &Pour,
    placed: &[TaskId],
    done: &mut Done,
    all: &mut Growing<'_>,
) {
    let waits = &source.office.waits;
    for (key, crossed, parts) in crossed_by(source.layout, pour) {
        let what = names(source.layout, &parts, pour.piece);
        let wheels = crossed == CrossedBy::Wheels;
        let (cure, why) = if wheels { &waits.wheels } else { &waits.feet };
        let name = format!("Cure: {what}");
        let cured = all.wait(&format!("cure.{n}{key}"), &name, Wait::Cure(cure.clone()), placed);
        all.why(why.clone());
        let Some(id) = id(&format!("open.{n}{key}")) else { continue };
        let (name, hold) = if wheels {
            ("Open to wheels after this day", HoldKind::WheelsMayCross)
        } else {
            ("Open to people after this day", HoldKind::PeopleMayCross)
        };
        let task = PlanTask::milestone(id, "").holding(hold);
        let open = all.push(&format!("{name}: {what}"), task, &cured, (Vec::new(), None));
        done.open.extend(open.iter().cloned());
        if wheels {
            done.open_to_wheels.extend(open);
        }
    }
}

/// What crosses the concrete of a pour once it has cured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum CrossedBy {
    Wheels,
    People,
}

/// The parts of a pour by what crosses them, with what makes the ids of their cure: where wheels cross one run, the runs that
/// only people cross are open to them before.
fn crossed_by(layout: &Layout<'_>, pour: &Pour) -> Vec<(&'static str, CrossedBy, Vec<usize>)> {
    let of = |wheeled: bool| {
        move |p: &usize| layout.runs.get(*p).is_some_and(|r| r.crossing.is_wheeled() == wheeled)
    };
    if !pour.parts.iter().any(of(true)) {
        return vec![("", CrossedBy::People, pour.parts.clone())];
    }
    let (people, wheels): (Vec<usize>, Vec<usize>) = pour.parts.iter().copied().partition(of(false));
    let mut out = vec![("", CrossedBy::Wheels, wheels)];
    if !people.is_empty() {
        out.push((".people", CrossedBy::People, people));
    }
    out
}
