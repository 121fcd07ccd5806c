//! Which hours are in a rate already: those of the proposals that it came from. Learned from once more, they would move it again
//! and again though no job was added.
//!
//! Versions of a book do not say what they were made from. A rate tells it: one that stands as proposals made it, or as it was
//! before them, came from there. One that somebody has changed by hand since came from the last proposals whose draft was
//! published.
//!
//! A rate that holds hours stands where they left it, and is as well known as they made it: new hours weigh against all of them,
//! not against a book of which nothing is known.

use super::answer::number;
use crate::compute::job_record::entries::EndRecord;
use crate::compute::learning::Known;
use crate::domain::words::Task;
use crate::wire::book::planning::HoursSpread;
use crate::wire::book::work::LaborRate;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Jobs whose hours moved a rate, as they are kept beside the proposals.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LearnedFrom {
    /// The task.
    pub task: String,
    /// The method.
    pub method: String,
    /// Jobs, `job_…`.
    pub jobs: Vec<String>,
}

/// Proposals of old whose rates went into a draft.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Earlier {
    /// Number of the version that the draft was made as.
    draft: i64,
    /// Whether it was published.
    published: bool,
    /// Number of the version whose rates were judged.
    judged: i64,
    /// The day from which the age of jobs was counted.
    as_of: Date,
    /// The rates that went into the draft.
    rates: Vec<TakenRate>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct TakenRate {
    task: String,
    method: String,
    /// Setup and hours per unit before, as they are shown.
    old: Vec<String>,
    /// As proposed.
    new: Vec<String>,
    /// How well it was known then.
    spread: Option<HoursSpread>,
    lines: Lines,
}

/// The lines that moved a rate.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Lines {
    /// Those of these jobs.
    Of(BTreeSet<String>),
    /// Proposals of old do not say it.
    Until {
        /// Those of all jobs that were finished by this day,
        day: Date,
        /// as the records said when the proposals were made: of what was recorded later they could not know;
        made_at: i64,
        /// but these, which a person left out.
        but: BTreeSet<String>,
    },
}

impl Lines {
    fn hold(&self, job: &str, ends: &[EndRecord]) -> bool {
        match self {
            Lines::Of(jobs) => jobs.contains(job),
            Lines::Until { day, made_at, but } => {
                !but.contains(job) && ends.iter().any(|end| end.on <= *day && end.stood_before(*made_at))
            }
        }
    }
}

#[derive(Deserialize)]
struct Kept {
    draft_version_id: Option<String>,
    proposals: KeptProposals,
    #[serde(default)]
    learned_from: Vec<LearnedFrom>,
}

#[derive(Deserialize)]
struct KeptProposals {
    as_of: String,
    price_book: KeptBook,
    rates: Vec<KeptRate>,
}

#[derive(Deserialize)]
struct KeptBook {
    number: i64,
}

#[derive(Deserialize)]
struct KeptRate {
    task: String,
    method: String,
    taken: bool,
    hours: Vec<KeptHours>,
    spread: Option<serde_json::Value>,
    left_out: Vec<KeptWord>,
}

#[derive(Deserialize)]
struct KeptHours {
    old: String,
    new: String,
}

#[derive(Deserialize)]
struct KeptWord {
    job_id: String,
}

impl Earlier {
    /// Kept proposals read back, made at `made_at` by the clock of the records; none where no rate went into a draft. `version` tells
    /// number and publication of a draft.
    ///
    /// # Errors
    /// When the text is none of kept proposals.
    pub fn read(
        document: &str,
        made_at: i64,
        version: impl Fn(&str) -> Option<(i64, bool)>,
    ) -> Result<Option<Self>, serde_json::Error> {
        let Kept { draft_version_id, proposals, learned_from } = serde_json::from_str(document)?;
        let Some((draft, published)) = draft_version_id.and_then(|id| version(&id)) else { return Ok(None) };
        let KeptProposals { as_of, price_book, rates } = proposals;
        let as_of: Date = as_of.parse().map_err(serde::de::Error::custom)?;
        let taken = |rate: KeptRate| {
            let KeptRate { task, method, taken: _, hours, spread, left_out } = rate;
            let known = learned_from.iter().find(|l| l.task == task && l.method == method);
            let lines = match known {
                Some(known) => Lines::Of(known.jobs.iter().cloned().collect()),
                None => Lines::Until {
                    day: as_of,
                    made_at,
                    but: left_out.into_iter().map(|l| l.job_id).collect(),
                },
            };
            let (old, new) = hours.into_iter().map(|h| (h.old, h.new)).unzip();
            let spread = spread.and_then(|s| crate::wire::read_value(&s).ok());
            TakenRate { task, method, old, new, spread, lines }
        };
        let rates = rates.into_iter().filter(|r| r.taken).map(taken).collect();
        Ok(Some(Self { draft, published, judged: price_book.number, as_of, rates }))
    }

    fn rate(&self, task: Task, method: &str) -> Option<&TakenRate> {
        self.rates.iter().find(|r| r.task == task.word() && r.method == method)
    }
}

/// Setup and hours per unit of a rate, as proposals show them.
fn shown(rate: &LaborRate) -> Vec<String> {
    let setup = rate.setup.iter().map(|s| number(s.seconds() as f64 / 3600.0, 6));
    setup.chain(rate.rates.iter().map(|r| r.hours.to_string())).collect()
}

/// The proposals that a rate came from, the last first.
#[derive(Debug, Default)]
pub(super) struct Held<'a> {
    from: Vec<(&'a Earlier, &'a TakenRate)>,
    /// Whether the rate was set back to what it was before later proposals. Its spread in the book may still be that of those.
    set_back: bool,
}

impl<'a> Held<'a> {
    /// Of a rate in the version of this number.
    pub(super) fn of(rate: &LaborRate, version: i64, earlier: &'a [Earlier]) -> Self {
        let mut out = Self::default();
        let (mut version, mut hours) = (version, shown(rate));
        loop {
            let mut before: Vec<(&Earlier, &TakenRate)> = earlier
                .iter()
                .filter(|e| e.draft <= version)
                .filter_map(|e| Some((e, e.rate(rate.task, rate.method.as_str())?)))
                .collect();
            before.sort_by_key(|(e, _)| std::cmp::Reverse(e.draft));
            let made = before.iter().find(|(_, r)| r.new == hours);
            let unmade = || before.iter().find(|(_, r)| r.old == hours);
            let last = || before.iter().find(|(e, _)| e.published);
            let (from, is_in) = match (made, unmade()) {
                (Some(made), _) => (made, true),
                (None, Some(unmade)) => (unmade, false),
                (None, None) => match last() {
                    Some(last) => (last, true),
                    None => return out,
                },
            };
            let (proposals, taken) = *from;
            if out.from.is_empty() {
                let later = |e: &Earlier| e.published && e.draft > proposals.draft;
                out.set_back |= !is_in || before.iter().any(|(e, _)| later(e));
            }
            if is_in {
                out.from.push((proposals, taken));
            }
            // What the judged version held is held on. It came before the draft, so this comes to an end.
            (version, hours) = (proposals.judged.min(proposals.draft - 1), taken.old.clone());
        }
    }

    /// The number of the version since which the hours of a job are in the rate.
    pub(super) fn since(&self, job: &str, ends: &[EndRecord]) -> Option<i64> {
        self.from.iter().find(|(_, rate)| rate.lines.hold(job, ends)).map(|(e, _)| e.draft)
    }

    /// How well a rate is known by what it holds, `lines` of it seen: as the book says beside the rate, else as it was proposed.
    pub(super) fn known(&self, rate: &LaborRate, lines: usize) -> Option<Known> {
        let (last, taken) = self.from.first()?;
        let of_book = rate.spread.as_ref().filter(|_| !self.set_back);
        let HoursSpread { task_pct: _, rate_pct, median_ratio } = of_book.or(taken.spread.as_ref())?;
        Some(Known {
            lines,
            median_log: median_ratio.map_or(0.0, |m| libm::log(m.millionths() as f64 / 1e6)),
            sd: rate_pct.millionths() as f64 / 1e6,
            as_of: last.as_of,
        })
    }
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "a test that cannot read its rates must stop")]
mod tests {
    use super::*;
    use jiff::civil::date;

    const MARCH: Date = date(2026, 3, 1);
    const MADE_AT: i64 = 1_000;

    /// A job finished on this day, which was recorded then and not changed since.
    fn end(on: Date, recorded_at: i64) -> [EndRecord; 1] {
        [EndRecord { on, recorded_at, replaced_at: None }]
    }

    /// A rate of digging with these hours a unit.
    fn rate(hours: &str) -> LaborRate {
        let rate = serde_json::json!({"task": "dig_run", "method": "hand", "crew": [{"trade": "laborer", "count": 2}],
            "setup": "30 min", "rates": [{"measure": "run_excavation", "unit": "yd3", "hours": hours}]});
        crate::wire::read_value(&rate).unwrap()
    }

    /// Proposals that judged a version, made a draft and moved the rate by these jobs.
    fn proposals(
        judged: i64,
        draft: i64,
        published: bool,
        hours: [&str; 2],
        jobs: Option<&[&str]>,
    ) -> Earlier {
        let [old, new] = hours;
        let mut kept = serde_json::json!({"draft_version_id": "pbv_x", "proposals": {"as_of": "2026-03-01",
            "price_book": {"version_id": "pbv_y", "name": "Book", "number": judged}, "rates": [
                {"task": "dig_run", "method": "hand", "taken": true, "hours": [{"old": "0.5", "new": "0.5"},
                    {"measure": "run_excavation", "old": old, "new": new}],
                 "spread": {"task_pct": "20", "rate_pct": format!("{}", 12 - draft)},
                 "left_out": [{"job_id": "job_no", "ratio": "6", "by": "Office", "reason": "a rock"}]},
                {"task": "pour", "method": "hand", "taken": false, "hours": [], "left_out": []}]}});
        if let Some(jobs) = jobs {
            kept["learned_from"] = serde_json::json!([{"task": "dig_run", "method": "hand", "jobs": jobs}]);
        }
        Earlier::read(&kept.to_string(), MADE_AT, |_| Some((draft, published))).unwrap().unwrap()
    }

    fn since(hours: &str, version: i64, earlier: &[Earlier], job: &str) -> Option<i64> {
        Held::of(&rate(hours), version, earlier).since(job, &end(MARCH, MADE_AT - 1))
    }

    #[test]
    fn a_rate_holds_the_hours_of_all_proposals_that_it_came_from() {
        let all = [
            proposals(1, 2, true, ["0.4", "0.5"], Some(&["job_a"])),
            proposals(2, 4, true, ["0.5", "0.6"], Some(&["job_b"])),
        ];
        let of = |hours: &str, version: i64| ["job_a", "job_b"].map(|job| since(hours, version, &all, job));
        assert_eq!(of("0.4", 1), [None, None], "before both");
        assert_eq!(of("0.5", 2), [Some(2), None]);
        assert_eq!(of("0.5", 3), [Some(2), None], "a copy of it");
        assert_eq!(of("0.6", 4), [Some(2), Some(4)]);
        assert_eq!(of("0.6", 9), [Some(2), Some(4)]);
        // Set back to what it was before the second, or before both.
        assert_eq!(of("0.5", 9), [Some(2), None]);
        assert_eq!(of("0.4", 9), [None, None]);
        // Rounded by hand: it came from the last that was published.
        assert_eq!(of("0.61", 9), [Some(2), Some(4)]);
        assert_eq!(of("0.51", 3), [Some(2), None]);
        // Of other rates nothing is said.
        assert_eq!(
            Held::of(&LaborRate { task: Task::Pour, ..rate("0.6") }, 9, &all).since("job_a", &end(MARCH, 1)),
            None
        );
    }

    #[test]
    fn a_draft_that_nobody_published_holds_nothing_unless_it_was_copied() {
        let all = [proposals(1, 2, false, ["0.4", "0.5"], Some(&["job_a"]))];
        assert_eq!(since("0.45", 3, &all, "job_a"), None, "set by hand");
        assert_eq!(since("0.5", 3, &all, "job_a"), Some(2), "copied");
        // A draft that is gone, and proposals that made none.
        let kept = r#"{"draft_version_id": null, "proposals": {"as_of": "2026-03-01", "price_book": {"number": 1}, "rates": []}}"#;
        assert_eq!(Earlier::read(kept, MADE_AT, |_| Some((2, true))).unwrap(), None);
        assert_eq!(Earlier::read(&kept.replace("null", "\"pbv_x\""), MADE_AT, |_| None).unwrap(), None);
    }

    /// As well as the last proposals left it that are in it, unless the book says otherwise.
    #[test]
    fn a_rate_is_as_well_known_as_what_it_holds_left_it() {
        let all = [
            proposals(1, 2, true, ["0.4", "0.5"], Some(&["job_a"])),
            proposals(2, 4, true, ["0.5", "0.6"], Some(&["job_b"])),
        ];
        let spread = |rate_pct: &str| -> HoursSpread {
            let spread = serde_json::json!({"task_pct": "20", "rate_pct": rate_pct, "median_ratio": "0.9"});
            crate::wire::read_value(&spread).unwrap()
        };
        let known = |hours: &str, version: i64, spread: Option<HoursSpread>| {
            let rate = LaborRate { spread, ..rate(hours) };
            Held::of(&rate, version, &all).known(&rate, 7)
        };
        let left =
            |sd: f64, median: f64| Some(Known { lines: 7, median_log: libm::log(median), sd, as_of: MARCH });
        assert_eq!(known("0.4", 1, Some(spread("9"))), None, "nothing is in it");
        assert_eq!(known("0.5", 2, None), left(0.10, 1.0));
        assert_eq!(known("0.6", 4, None), left(0.08, 1.0));
        assert_eq!(known("0.61", 9, None), left(0.08, 1.0), "rounded by hand");
        // A person may have said in the book how well it is known.
        assert_eq!(known("0.6", 4, Some(spread("15"))), left(0.15, 0.9));
        // Set back to before the second: the spread beside it is of what it holds no more.
        assert_eq!(known("0.5", 9, Some(spread("8"))), left(0.10, 1.0));
        assert_eq!(known("0.4", 9, Some(spread("8"))), None);
    }

    /// They say how many lines counted, not of which jobs: all that were finished by their day as far as was recorded then, but those
    /// left out by a person.
    #[test]
    fn proposals_of_old_hold_what_was_finished_by_their_day() {
        let all = [proposals(1, 2, true, ["0.4", "0.5"], None)];
        let held = Held::of(&rate("0.5"), 2, &all);
        let before = MADE_AT - 1;
        assert_eq!(held.since("job_a", &end(MARCH, before)), Some(2));
        assert_eq!(held.since("job_a", &end(date(2026, 3, 2), before)), None);
        assert_eq!(held.since("job_no", &end(MARCH, before)), None);
        // Recorded after they were made: they could not know of it.
        assert_eq!(held.since("job_a", &end(date(2026, 2, 1), MADE_AT)), None);
        // What was said of its end in between counts as it stood then.
        let first = |on, replaced_at| EndRecord { on, recorded_at: 1, replaced_at: Some(replaced_at) };
        let second = |on| EndRecord { on, recorded_at: 2_000, replaced_at: None };
        assert_eq!(held.since("job_a", &[first(MARCH, 2_000), second(date(2026, 4, 1))]), Some(2));
        assert_eq!(held.since("job_a", &[first(date(2026, 4, 1), 2_000), second(MARCH)]), None);
        assert_eq!(held.since("job_a", &[first(MARCH, 500), second(MARCH)]), None, "taken out before");
    }
}
