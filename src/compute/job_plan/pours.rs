//! Which parts are poured together: concrete once begun is placed and finished within the day.

use super::parts::Parts;
use super::tasks::{Item, Source};
use crate::compute::plan::Plan;
use crate::domain::layout::Layout;
use crate::domain::words::Task;
use crate::units::show::counted;
use crate::wire::notes::PourPlan;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// One pour: mixing where there is any, placing, finishing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pour {
    /// Parts poured: runs first, then lines.
    pub parts: Vec<usize>,
    /// Tasks of the hours with their minutes.
    pub made_of: Vec<(usize, i64)>,
    /// Which one it is, when one part takes several days.
    pub piece: Option<Piece>,
    /// Pour day of the notes.
    pub day: i64,
}

/// One of several pours of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// Number of this pour, from 1.
    pub nth: i64,
    /// How many there are.
    pub of: i64,
}

const TOGETHER: [Task; 3] = [Task::MixConcrete, Task::Pour, Task::Finish];

/// The pours in order: as few as fit a working day each, or every part by itself; a part longer than a day in equal
/// pieces. Parts of different pour days are never in one pour.
pub fn pours(source: &Source<'_, '_>, mode: PourPlan) -> Vec<Pour> {
    let day = i64::from(source.office.calendar.standard_day().minutes()).max(1);
    let place_of = |task: &Task| source.labor.tasks.iter().position(|t| t.task == *task);
    let places: Vec<(usize, Task)> =
        TOGETHER.iter().filter_map(|task| Some((place_of(task)?, *task))).collect();
    let mut out: Vec<Pour> = Vec::new();
    for due in day_by_day(source.layout) {
        let made_of = due.made_of(&places, source.parts);
        let all = minutes(&made_of);
        if all == 0 {
            continue;
        }
        if all > day {
            out.extend(due.in_pieces(&made_of, day));
            continue;
        }
        let fits = |pour: &&mut Pour| {
            mode == PourPlan::Together
                && pour.piece.is_none()
                && pour.day == due.day
                && minutes(&pour.made_of) + all <= day
        };
        match out.last_mut().filter(fits) {
            Some(pour) => pour.take_in(due.part, made_of),
            None => {
                let piece = (due.of > 1).then_some(Piece { nth: due.nth + 1, of: due.of });
                out.push(Pour { parts: vec![due.part], made_of, piece, day: due.day });
            }
        }
    }
    out
}

fn minutes(made_of: &[(usize, i64)]) -> i64 {
    made_of.iter().map(|(_, minutes)| *minutes).sum()
}

/// What of a part is due on a pour day; the earlier day is the smaller, then the part that stands before.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Due {
    day: i64,
    part: usize,
    /// Which of the days of this part it is, counted from 0.
    nth: i64,
    /// How many days the part has.
    of: i64,
}

/// Day by day; within a day in the order of the parts.
fn day_by_day(layout: &Layout<'_>) -> Vec<Due> {
    let first = vec![1];
    let parts = layout.runs.len() + layout.lines.len();
    let mut out: Vec<Due> = Vec::with_capacity(parts);
    for part in 0..parts {
        let days = layout.pour_days.get(part).unwrap_or(&first);
        let of = days.len() as i64;
        out.extend(days.iter().zip(0..).map(|(day, nth)| Due { day: *day, part, nth, of }));
    }
    out.sort_unstable();
    out
}

impl Due {
    /// Its minutes of each task. What does not divide goes to the first days, a minute each.
    fn made_of(&self, places: &[(usize, Task)], parts: &Parts) -> Vec<(usize, i64)> {
        let Self { part, nth, of, .. } = *self;
        places
            .iter()
            .map(|(place, task)| (*place, parts.of(*task, part)))
            .map(|(place, m)| (place, m / of + i64::from(nth < m % of)))
            .filter(|(_, m)| *m > 0)
            .collect()
    }

    /// In equal pieces that fit a day each. What is left over goes to the first pieces, a minute each.
    fn in_pieces(&self, made_of: &[(usize, i64)], day: i64) -> impl Iterator<Item = Pour> {
        // Shared minutes of three tasks may each add one to a piece; far more pieces than a plan holds are refused there.
        let room = (day - 3).max(1);
        let of = ((minutes(made_of) + room - 1) / room).min(2_500);
        (1..=of).map(move |nth| {
            let piece = made_of.iter().map(|(place, m)| (*place, m / of + i64::from(nth <= m % of)));
            let made_of = piece.filter(|(_, m)| *m > 0).collect();
            Pour { parts: vec![self.part], made_of, piece: Some(Piece { nth, of }), day: self.day }
        })
    }
}

impl Pour {
    /// Pours another part along.
    fn take_in(&mut self, part: usize, made_of: Vec<(usize, i64)>) {
        self.parts.push(part);
        for (place, minutes) in made_of {
            match self.made_of.iter_mut().find(|(p, _)| *p == place) {
                Some((_, have)) => *have += minutes,
                None => self.made_of.push((place, minutes)),
            }
        }
    }
}

/// Where the plan pours one order of concrete several times. The concrete of a pour day is ordered as one quantity; where the
/// notes have no pour days (`by_day`), that of the whole job is.
pub(super) fn one_order_each(plan: &Plan, items: &[Item], by_day: bool) -> Vec<String> {
    let mut orders: BTreeMap<i64, Vec<Date>> = BTreeMap::new();
    for item in items {
        if let (Some(day), Some(planned)) = (item.pour_day, plan.task(&item.task.id)) {
            orders.entry(day).or_default().push(planned.planned.start.date);
        }
    }
    let told = |(day, mut dates): (i64, Vec<Date>)| {
        let pours = dates.len();
        dates.sort_unstable();
        dates.dedup();
        let concrete =
            if by_day { format!("the concrete of pour day {day}") } else { "the concrete".to_owned() };
        let dear = "each delivery of its own may bring a charge for a small load";
        match dates.as_slice() {
            _ if pours < 2 => None,
            [date] => Some(format!(
                "{concrete} is ordered as one quantity for {} on {date}: {dear}",
                counted(pours, "pour")
            )),
            [before @ .., last] => {
                let before: Vec<String> = before.iter().map(ToString::to_string).collect();
                Some(format!(
                    "{concrete} is ordered as one quantity, but the plan has {} on {} and {last}: give what is poured on each date \
                     a pour day of its own in `pour_days`; {dear}",
                    counted(pours, "pour"),
                    before.join(", ")
                ))
            }
            [] => None,
        }
    };
    orders.into_iter().filter_map(told).collect()
}
