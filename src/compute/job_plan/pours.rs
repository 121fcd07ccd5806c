//! Which parts are poured together: concrete once begun is placed and finished within the day.

use super::tasks::{Item, Source};
use crate::compute::plan::Plan;
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
    /// Number of this pour and of all, when one part takes several days.
    pub piece: Option<(i64, i64)>,
    /// Pour day of the notes.
    pub day: i64,
}

const TOGETHER: [Task; 3] = [Task::MixConcrete, Task::Pour, Task::Finish];

/// The pours in order: as few as fit a working day each, or every part by itself; a part longer than a day in equal
/// pieces. Parts of different pour days are never in one pour.
pub fn pours(source: &Source<'_, '_>, mode: PourPlan) -> Vec<Pour> {
    let day = i64::from(source.office.calendar.standard_day().minutes()).max(1);
    let parts = source.layout.runs.len() + source.layout.lines.len();
    let places: Vec<(usize, Task)> = TOGETHER
        .iter()
        .filter_map(|task| Some((source.labor.tasks.iter().position(|t| t.task == *task)?, *task)))
        .collect();
    let mut out: Vec<Pour> = Vec::new();
    let minutes = |made: &[(usize, i64)]| made.iter().map(|(_, m)| *m).sum::<i64>();
    let first = vec![1];
    let days_of = |part: usize| source.layout.pour_days.get(part).unwrap_or(&first);
    // Day by day; within a day in the order of the parts.
    let mut shares: Vec<(i64, usize, i64, i64)> = Vec::new();
    for part in 0..parts {
        let days = days_of(part);
        let of = days.len() as i64;
        shares.extend(days.iter().enumerate().map(|(nth, of_day)| (*of_day, part, nth as i64, of)));
    }
    shares.sort_unstable();
    for (of_day, part, nth, of) in shares {
        let made: Vec<(usize, i64)> = places
            .iter()
            .map(|(place, task)| (*place, source.parts.of(*task, part)))
            // What does not divide goes to the first days, a minute each.
            .map(|(place, m)| (place, m / of + i64::from(nth < m % of)))
            .filter(|(_, m)| *m > 0)
            .collect();
        let all = minutes(&made);
        if all == 0 {
            continue;
        }
        if all > day {
            // Shared minutes of three tasks may each add one to a piece; far more pieces than a plan holds are refused there.
            let room = (day - 3).max(1);
            let of = ((all + room - 1) / room).min(2_500);
            for nth in 1..=of {
                // What is left over goes to the first pieces, a minute each.
                let piece = made.iter().map(|(place, m)| (*place, m / of + i64::from(nth <= m % of)));
                let made_of: Vec<_> = piece.filter(|(_, m)| *m > 0).collect();
                out.push(Pour { parts: vec![part], made_of, piece: Some((nth, of)), day: of_day });
            }
            continue;
        }
        let fits = |p: &&mut Pour| {
            mode == PourPlan::Together
                && p.piece.is_none()
                && p.day == of_day
                && minutes(&p.made_of) + all <= day
        };
        match out.last_mut().filter(fits) {
            Some(pour) => {
                pour.parts.push(part);
                for (place, m) in made {
                    match pour.made_of.iter_mut().find(|(p, _)| *p == place) {
                        Some((_, have)) => *have += m,
                        None => pour.made_of.push((place, m)),
                    }
                }
            }
            None => {
                let piece = (of > 1).then_some((nth + 1, of));
                out.push(Pour { parts: vec![part], made_of: made, piece, day: of_day });
            }
        }
    }
    out
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
