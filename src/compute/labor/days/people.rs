//! Which of a crew's people does what.
//!
//! Tasks that go on at once are done by different people, as many as the crew has. Of those who are free it is who works the
//! least overtime by it; then who is on site that day already; then who has the fewest minutes in that week.

use super::{DayWork, Strength};
use crate::compute::labor::LaborHours;
use crate::compute::plan::overtime::OvertimeRule;
use jiff::ToSpan;
use jiff::civil::Date;
use smallvec::SmallVec;
use std::collections::BTreeMap;

/// Minutes of one person on each day of work, in the order of the days.
pub(super) type ByDay = Vec<(Date, i64)>;

#[derive(Debug, Clone, Default)]
struct Person {
    by_day: ByDay,
    /// When the last task ends: day and working minute.
    busy_until: Option<(Date, i64)>,
}

impl Person {
    /// Adds a piece of work; no later one is of an earlier day.
    fn work(&mut self, work: &DayWork) {
        match self.by_day.last_mut() {
            Some((day, minutes)) if *day == work.on => *minutes = minutes.saturating_add(work.minutes),
            _ => self.by_day.push((work.on, work.minutes)),
        }
        self.busy_until = Some((work.on, work.from.saturating_add(work.minutes)));
    }

    /// Minutes of the last days, from one on.
    fn since(&self, day: Date) -> i64 {
        self.by_day.iter().rev().take_while(|(on, _)| *on >= day).map(|(_, minutes)| minutes).sum()
    }
}

/// Everybody who works: trade, and minutes by day.
pub(super) fn at_work<'a>(
    labor: &'a LaborHours,
    days: &[DayWork],
    crews: Strength<'_>,
    rule: &OvertimeRule,
) -> Vec<(&'a str, ByDay)> {
    let mut work: Vec<&DayWork> = days.iter().filter(|w| w.minutes > 0).collect();
    work.sort_by_key(|w| (w.on, w.from, w.task));
    let mut people: BTreeMap<(&str, usize), Vec<Person>> = BTreeMap::new();
    for work in work {
        let Some(task) = labor.tasks.get(work.task) else { continue };
        for member in &task.crew {
            let trade = member.trade.as_str();
            let crew = people.entry((trade, work.crew)).or_default();
            let strength = usize::try_from(crews(work.crew, trade).max(member.count)).unwrap_or(0);
            if crew.len() < strength {
                crew.resize_with(strength, Person::default);
            }
            let wanted = usize::try_from(member.count).unwrap_or(0);
            // where everybody is wanted there is nobody to choose
            if crew.len() <= wanted {
                crew.iter_mut().for_each(|person| person.work(work));
                continue;
            }
            for (_, person) in free(crew, work, rule).into_iter().take(wanted) {
                if let Some(person) = crew.get_mut(person) {
                    person.work(work);
                }
            }
        }
    }
    people
        .into_iter()
        .flat_map(|((trade, _), crew)| crew.into_iter().map(move |person| (trade, person.by_day)))
        .filter(|(_, by_day)| !by_day.is_empty())
        .collect()
}

/// What decides between two people: how long one is busy, the overtime, whether another would have to come, minutes of the week.
type Choice = (Option<(Date, i64)>, i64, bool, i64);

/// A crew's people for a piece of work by their places, the first choice first; of like ones the first of the crew.
fn free(crew: &[Person], work: &DayWork, rule: &OvertimeRule) -> SmallVec<[(Choice, usize); 4]> {
    let limit = |hours: Option<f64>| hours.map_or(i64::MAX, |h| (h * 60.0) as i64);
    let beyond =
        |minutes: i64, hours: Option<f64>| minutes.saturating_sub(limit(hours)).clamp(0, work.minutes);
    let into_week = i64::from(work.on.weekday().since(rule.week_starts));
    let week_start = work.on.checked_sub(into_week.days()).unwrap_or(work.on);
    let choice = |person: &Person| {
        let (today, week) = (person.since(work.on), person.since(week_start));
        let over = beyond(today.saturating_add(work.minutes), rule.daily_limit)
            .saturating_add(beyond(week.saturating_add(work.minutes), rule.weekly_limit));
        (person.busy_until.filter(|until| *until > (work.on, work.from)), over, today == 0, week)
    };
    let mut order: SmallVec<[(Choice, usize); 4]> =
        crew.iter().enumerate().map(|(i, person)| (choice(person), i)).collect();
    order.sort_unstable();
    order
}
