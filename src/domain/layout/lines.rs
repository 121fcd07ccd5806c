//! Drain lines: what enters where, what joins what, and the order in which water passes.

use super::named::Named;
use super::{Leg, Line, Run, surface};
use crate::domain::book::PriceBook;
use crate::domain::codes::duplicates;
use crate::units::Length;
use crate::wire::notes::{self, LineEnd};
use crate::wire::{At, Faults};

/// Resolves all lines; gives them in the order of the notes and the order of the flow.
pub fn resolve<'a>(
    notes: &'a [notes::DrainLine],
    runs: &[Option<Run<'a>>],
    book: &'a PriceBook,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<(Vec<Line<'a>>, Vec<usize>)> {
    let before = faults.len();
    for i in duplicates(notes.iter().map(|l| &l.id)) {
        faults.value(
            &at.element(i).member("id"),
            "duplicate",
            notes[i].id.as_str(),
            "another line has this name",
        );
    }
    let mut taken: Vec<&str> = Vec::new();
    let lines: Vec<Option<Line<'a>>> = notes
        .iter()
        .enumerate()
        .map(|(i, line)| one(line, notes, runs, book, &mut taken, &at.element(i), faults))
        .collect();
    for (i, line) in notes.iter().enumerate() {
        let joined = notes
            .iter()
            .any(|other| matches!(&other.ends, LineEnd::Joins { line: to, .. } if *to == line.id));
        if line.from.is_empty() && !joined {
            faults.add(
                &at.element(i).member("from"),
                "nothing_enters",
                "nothing drains into this line: name an outlet in `from`, or let another line join it",
            );
        }
    }
    if faults.len() != before {
        return None;
    }
    let mut lines: Vec<Line<'a>> = lines.into_iter().collect::<Option<_>>()?;
    let joins: Vec<Option<(usize, Length)>> = lines.iter().map(|l| l.joins).collect();
    for (i, joined) in joins.iter().enumerate() {
        if let Some((to, station)) = joined
            && let Some(line) = lines.get_mut(*to)
        {
            line.joined_by.push((i, *station));
        }
    }
    let order = flow_order(&joins);
    if order.len() != lines.len() {
        for (i, _) in joins.iter().enumerate().filter(|(i, _)| !order.contains(i)) {
            faults.value(
                &at.element(i).member("ends"),
                "line_cycle",
                notes[i].id.as_str(),
                "the lines join each other in a circle; one of them must reach the discharge",
            );
        }
        return None;
    }
    Some((lines, order))
}

fn one<'a>(
    line: &'a notes::DrainLine,
    all: &'a [notes::DrainLine],
    runs: &[Option<Run<'a>>],
    book: &'a PriceBook,
    taken: &mut Vec<&'a str>,
    at: &At<'_>,
    faults: &mut Faults,
) -> Option<Line<'a>> {
    let before = faults.len();
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
    let length: Length = line.legs.iter().map(|l| l.length).sum();
    let mut legs = Vec::with_capacity(line.legs.len());
    let (legs_at, from_at) = (at.member("legs"), at.member("from"));
    for (i, leg) in line.legs.iter().enumerate() {
        let here = legs_at.element(i);
        if !leg.length.is_positive() {
            faults.add(&here.member("length"), "out_of_range", "a leg must be longer than 0");
        }
        if let Some(top) = surface::top(leg.surface.as_ref(), &here.member("surface"), faults) {
            legs.push(Leg { length: leg.length, bend: leg.bend.map_or(0, |b| b.get()), top });
        }
    }
    let mut from = Vec::with_capacity(line.from.len());
    for (i, entry) in line.from.iter().enumerate() {
        let here = from_at.element(i);
        let found = runs.iter().enumerate().find_map(|(r, run)| {
            let outlets = &run.as_ref()?.outlets;
            outlets.iter().position(|o| *o.id == entry.outlet).map(|o| (r, o))
        });
        let station = entry.at.unwrap_or(Length::ZERO);
        if station > length {
            faults.add(&here.member("at"), "out_of_range", "this lies beyond the lower end of the line");
        }
        match found {
            Some((run, outlet)) => {
                if taken.contains(&entry.outlet.as_str()) {
                    faults.value(
                        &here.member("outlet"),
                        "duplicate",
                        entry.outlet.as_str(),
                        "this outlet drains into a line already",
                    );
                }
                taken.push(entry.outlet.as_str());
                from.push((run, outlet, station));
            }
            // A run that is faulty itself has no outlets yet; its own faults are enough.
            None if runs.iter().any(Option::is_none) => {}
            None => {
                let known = runs.iter().flatten().flat_map(|r| &r.outlets).map(|o| o.id.as_str());
                faults
                    .value(
                        &here.member("outlet"),
                        "unknown_outlet",
                        entry.outlet.as_str(),
                        "no run has an outlet of this name",
                    )
                    .allow(known);
            }
        }
    }
    let ground = ground(line, length, at, faults);
    let joins = match &line.ends {
        LineEnd::Joins { line: to, at: station } => {
            let here = at.member("ends");
            let found = all.iter().position(|l| l.id == *to);
            match found {
                None => {
                    faults
                        .value(&here.member("line"), "unknown_line", to.as_str(), "no line has this name")
                        .allow(all.iter().map(|l| l.id.as_str()));
                }
                Some(index) => {
                    let other: Length = all[index].legs.iter().map(|l| l.length).sum();
                    if *station > other {
                        faults.add(
                            &here.member("at"),
                            "out_of_range",
                            "this lies beyond the lower end of that line",
                        );
                    }
                }
            }
            found.map(|index| (index, *station))
        }
        LineEnd::Discharges { .. } => None,
    };
    let pipe = pipe?;
    (faults.len() == before).then_some(Line {
        id: &line.id,
        pipe,
        from,
        joined_by: Vec::new(),
        legs,
        length,
        ground,
        depth: line.depth,
        fall: line.fall_pct,
        trench_width: line.trench_width,
        side_slope: line.side_slope.map_or(0, |s| s.millionths()),
        ends: &line.ends,
        joins,
    })
}

fn ground(
    line: &notes::DrainLine,
    length: Length,
    at: &At<'_>,
    faults: &mut Faults,
) -> Vec<(Length, Length)> {
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
    let mut points: Vec<(Length, Length)> = Vec::with_capacity(line.ground.len());
    for (i, point) in line.ground.iter().enumerate() {
        let station = here.element(i);
        let station_at = station.member("at");
        if point.at > length {
            faults.add(&station_at, "out_of_range", "this lies beyond the lower end of the line");
        }
        if points.last().is_some_and(|(last, _)| *last >= point.at) {
            faults.add(&station_at, "not_ascending", "stations must rise from the upper end down");
        }
        points.push((point.at, point.level.0));
    }
    points
}

/// Upstream before downstream; lines in a circle are left out.
fn flow_order(joins: &[Option<(usize, Length)>]) -> Vec<usize> {
    let mut waiting: Vec<usize> = vec![0; joins.len()];
    for (to, _) in joins.iter().flatten() {
        waiting[*to] += 1;
    }
    let mut order: Vec<usize> = (0..joins.len()).filter(|i| waiting[*i] == 0).collect();
    let mut next = 0;
    while next < order.len() {
        if let Some((to, _)) = joins[order[next]] {
            waiting[to] -= 1;
            if waiting[to] == 0 {
                order.push(to);
            }
        }
        next += 1;
    }
    order
}
