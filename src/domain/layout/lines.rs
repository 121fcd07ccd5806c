//! Drain lines: what enters where, what joins what, and the order in which water passes.

use super::named::Named;
use super::within::Within;
use super::{Degrees, Feed, GroundPoint, Junction, Leg, Line, Run, surface};
use crate::domain::book::PriceBook;
use crate::units::{Factor, Length};
use crate::wire::notes::{self, LineEnd};
use crate::wire::{At, Faults};

/// Resolves all lines; gives them in the order of the notes and the order of the flow. A run that is at fault itself is `None` in
/// `runs`: its outlets are known by name only.
pub fn resolve<'a>(
    notes: &'a [notes::DrainLine],
    run_notes: &'a [notes::Run],
    runs: &[Option<Run<'a>>],
    book: &'a PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(Vec<Line<'a>>, Vec<usize>)> {
    let before = faults.len();
    Within::Line.each_once(notes.iter().map(|l| &l.id), at, "id", faults);
    let outlets: Vec<&str> =
        run_notes.iter().flat_map(|r| r.outlets.iter()).map(|o| o.id().as_str()).collect();
    let mut taken: Vec<&str> = Vec::new();
    let lines: Vec<Option<Line<'a>>> = notes
        .iter()
        .enumerate()
        .map(|(i, line)| {
            let at = at.element(i);
            let before = faults.len();
            let from = entering(line, runs, &outlets, &mut taken, &at, faults);
            let resolved = one(line, from, notes, book, &at, faults);
            resolved.filter(|_| faults.len() == before)
        })
        .collect();
    for (i, line) in notes.iter().enumerate() {
        let joined = notes
            .iter()
            .any(|other| matches!(&other.ends, LineEnd::Joins { line: to, .. } if *to == line.id || to.is_unread()));
        if line.from.is_empty() && !joined {
            faults.add(
                &at.element(i).member("from"),
                "nothing_enters",
                "nothing drains into this line: name an outlet in `from`, or let another line join it",
            );
        }
    }
    let joins: Vec<Option<Junction>> = notes.iter().map(|line| joined(line, notes)).collect();
    let order = flow_order(&joins);
    for (i, line) in notes.iter().enumerate().filter(|(i, _)| !order.contains(i)) {
        faults.value(
            &at.element(i).member("ends"),
            "line_cycle",
            line.id.as_str(),
            "the lines join each other in a circle; one of them must reach the discharge",
        );
    }
    if faults.len() != before {
        return None;
    }
    let mut lines: Vec<Line<'a>> = lines.into_iter().collect::<Option<_>>()?;
    for (i, joined) in joins.iter().enumerate() {
        if let Some(Junction { line: to, at }) = *joined
            && let Some(line) = lines.get_mut(to)
        {
            line.joined_by.push(Junction { line: i, at });
        }
    }
    Some((lines, order))
}

/// The line that this one joins, if there is one of that name, and where.
fn joined(line: &notes::DrainLine, all: &[notes::DrainLine]) -> Option<Junction> {
    match &line.ends {
        LineEnd::Joins { line: to, at } => {
            Some(Junction { line: all.iter().position(|l| l.id == *to)?, at: *at })
        }
        LineEnd::Discharges { .. } => None,
    }
}

/// What enters the line, and where. `outlets` are the names of all, `taken` those that enter a line.
fn entering<'a>(
    line: &'a notes::DrainLine,
    runs: &[Option<Run<'a>>],
    outlets: &[&str],
    taken: &mut Vec<&'a str>,
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<Feed> {
    let from_at = at.member("from");
    let length = length_of(line);
    let mut from = Vec::with_capacity(line.from.len());
    for (i, entry) in line.from.iter().enumerate() {
        let here = from_at.element(i);
        let name = entry.outlet.as_str();
        let station = entry.at.unwrap_or(Length::ZERO);
        if station > length {
            faults.add(&here.member("at"), "out_of_range", "this lies beyond the lower end of the line");
        }
        if !outlets.contains(&name) {
            Within::Outlet.unknown(&entry.outlet, outlets, &here.member("outlet"), faults);
            continue;
        }
        if taken.contains(&name) {
            let rule = "this outlet drains into a line already";
            faults.value(&here.member("outlet"), "duplicate", name, rule);
        }
        taken.push(name);
        let found = runs.iter().enumerate().find_map(|(r, run)| {
            let outlets = &run.as_ref()?.outlets;
            outlets.iter().position(|o| *o.id == entry.outlet).map(|o| (r, o))
        });
        from.extend(found.map(|(run, outlet)| Feed { run, outlet, at: station }));
    }
    from
}

fn length_of(line: &notes::DrainLine) -> Length {
    line.legs.iter().map(|l| l.length).sum()
}

fn one<'a>(
    line: &'a notes::DrainLine,
    from: Vec<Feed>,
    all: &'a [notes::DrainLine],
    book: &'a PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<Line<'a>> {
    let pipe = line.pipe.as_ref().and_then(|code| book.pipe(code));
    if pipe.is_none() {
        let here = at.member("pipe");
        match &line.pipe {
            Some(code) => Named::Pipe.unknown(code, book, &here, faults),
            None => {
                let rule = "name the pipe; with a `storm` and `catchments` it can be left out and is chosen";
                faults.add(&here, "required", rule).allow(book.doc().pipes.iter().map(|p| p.code.as_str()));
            }
        }
    }
    let length = length_of(line);
    let mut legs = Vec::with_capacity(line.legs.len());
    let legs_at = at.member("legs");
    for (i, leg) in line.legs.iter().enumerate() {
        let here = legs_at.element(i);
        if !leg.length.is_positive() {
            faults.add(&here.member("length"), "out_of_range", "a leg must be longer than 0");
        }
        if let Some(top) = surface::top(leg.surface.as_ref(), &here.member("surface"), faults) {
            legs.push(Leg { length: leg.length, bend: leg.bend.map(Degrees::of), top });
        }
    }
    let ground = ground(line, length, at, faults);
    let joins = joined(line, all);
    if let LineEnd::Joins { line: to, at: station } = &line.ends {
        let here = at.member("ends");
        match joins.and_then(|to| all.get(to.line)) {
            None => {
                let known: Vec<&str> = all.iter().map(|l| l.id.as_str()).collect();
                Within::Line.unknown(to, &known, &here.member("line"), faults);
            }
            Some(other) if *station > length_of(other) => {
                let rule = "this lies beyond the lower end of that line";
                faults.add(&here.member("at"), "out_of_range", rule);
            }
            Some(_) => {}
        }
    }
    Some(Line {
        id: &line.id,
        pipe: pipe?,
        from,
        joined_by: Vec::new(),
        legs,
        length,
        ground,
        depth: line.depth,
        fall: line.fall_pct,
        trench_width: line.trench_width,
        side_slope: line.side_slope.unwrap_or(Factor::ZERO),
        ends: &line.ends,
        joins,
    })
}

fn ground(line: &notes::DrainLine, length: Length, at: &At<'_>, faults: &mut Faults) -> Vec<GroundPoint> {
    let here = at.member("ground");
    match (line.depth, line.ground.is_empty()) {
        (None, true) => {
            faults.add(
                &here,
                "required",
                "give ground levels along the line, [{\"at\":\"0 ft\",\"level\":\"0 ft\"}], or a constant `depth`",
            );
        }
        (Some(_), false) => {
            faults.add(
                &at.member("depth"),
                "not_here",
                "give either ground levels or a constant depth, not both",
            );
        }
        _ => {}
    }
    let mut points: Vec<GroundPoint> = Vec::with_capacity(line.ground.len());
    for (i, point) in line.ground.iter().enumerate() {
        let station = here.element(i);
        let station_at = station.member("at");
        if point.at > length {
            faults.add(&station_at, "out_of_range", "this lies beyond the lower end of the line");
        }
        if points.last().is_some_and(|last| last.at >= point.at) {
            faults.add(&station_at, "not_ascending", "stations must rise from the upper end down");
        }
        points.push(GroundPoint { at: point.at, level: point.level.0 });
    }
    points
}

/// Upstream before downstream; lines in a circle are left out.
fn flow_order(joins: &[Option<Junction>]) -> Vec<usize> {
    let mut waiting: Vec<usize> = vec![0; joins.len()];
    for to in joins.iter().flatten() {
        waiting[to.line] += 1;
    }
    let mut order: Vec<usize> = (0..joins.len()).filter(|i| waiting[*i] == 0).collect();
    let mut next = 0;
    while next < order.len() {
        if let Some(Junction { line: to, .. }) = joins[order[next]] {
            waiting[to] -= 1;
            if waiting[to] == 0 {
                order.push(to);
            }
        }
        next += 1;
    }
    order
}
