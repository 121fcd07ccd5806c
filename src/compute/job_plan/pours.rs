//! Which parts are poured together: concrete once begun is placed and finished within the day.

use super::tasks::Source;
use crate::domain::words::Task;
use crate::wire::notes::PourPlan;

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
