//! What a request sets of learning: percentages outside, deviations and shares inside.

use super::answer::percent;
use crate::compute::learning::{LearnSettings, OutOfRange};
use crate::wire::records::LearnSettingsIn;
use crate::wire::{At, Faults};

/// The usual settings with what a request sets in their place. What is out of its range is told in percent, at its member.
pub(super) fn read(given: Option<&LearnSettingsIn>, at: &At<'_>, faults: &mut Faults) -> LearnSettings {
    let mut out = LearnSettings::default();
    let Some(given) = given else { return out };
    let LearnSettingsIn {
        book_pct,
        line_pct,
        job_pct,
        class_share_pct,
        fixed_spread,
        half_life_days,
        enough_jobs,
        enough_pct,
    } = given;
    for (slot, given) in [
        (&mut out.tau, book_pct),
        (&mut out.own_sd, line_pct),
        (&mut out.job_sd, job_pct),
        (&mut out.class_share, class_share_pct),
        (&mut out.enough_sd, enough_pct),
    ] {
        if let Some(pct) = given {
            *slot = pct.millionths() as f64 / 1e6;
        }
    }
    out.learn_spread = !fixed_spread.0;
    out.half_life_days = half_life_days.map(|d| d.get() as f64).or(out.half_life_days);
    out.enough_jobs = enough_jobs.map_or(out.enough_jobs, |n| n.get() as f64);
    for OutOfRange { name, value, least, most, allowed } in out.faults() {
        let (member, pct) = match name {
            "tau" => ("book_pct", book_pct),
            "own_sd" => ("line_pct", line_pct),
            "job_sd" => ("job_pct", job_pct),
            "class_share" => ("class_share_pct", class_share_pct),
            "enough_sd" => ("enough_pct", enough_pct),
            other => (other, &None),
        };
        let here = at.member(member);
        match pct {
            Some(pct) => {
                let [least, most] = [least, most].map(|limit| percent(limit).number());
                let sent = pct.number().to_string();
                faults.value(&here, "out_of_range", &sent, format!("a percentage from {least} to {most}"));
            }
            None => {
                faults.value(&here, "out_of_range", &value.to_string(), allowed);
            }
        }
    }
    out
}
