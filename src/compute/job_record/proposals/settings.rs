//! What a request sets of learning: percentages outside, deviations and shares inside.

use super::answer::percent;
use crate::compute::learning::{LearnSettings, OutOfRange, Setting};
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
    out.enough_lines = enough_jobs.map_or(out.enough_lines, |n| n.get() as f64);
    for OutOfRange { setting, value, least, most, allowed } in out.faults() {
        // What no request sets stands at the settings as a whole.
        let here = member(setting).map_or_else(|| *at, |name| at.member(name));
        let sent = match setting {
            Setting::Tau => book_pct,
            Setting::OwnSd => line_pct,
            Setting::JobSd => job_pct,
            Setting::ClassShare => class_share_pct,
            Setting::EnoughSd => enough_pct,
            Setting::HalfLifeDays
            | Setting::EnoughLines
            | Setting::OwnSdWorthLines
            | Setting::JobSdWorthJobs
            | Setting::OutlierScore => &None,
        };
        match sent {
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

/// The member by which a request sets it.
const fn member(setting: Setting) -> Option<&'static str> {
    match setting {
        Setting::Tau => Some("book_pct"),
        Setting::OwnSd => Some("line_pct"),
        Setting::JobSd => Some("job_pct"),
        Setting::ClassShare => Some("class_share_pct"),
        Setting::EnoughSd => Some("enough_pct"),
        Setting::HalfLifeDays => Some("half_life_days"),
        // A rate has at most one line of a job.
        Setting::EnoughLines => Some("enough_jobs"),
        Setting::OwnSdWorthLines | Setting::JobSdWorthJobs | Setting::OutlierScore => None,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;
    use crate::wire::read_value;
    use serde_json::json;

    /// Whatever is out of range is told by the name that a request knows: it is read by that name.
    #[test]
    fn a_setting_is_told_by_the_name_it_is_sent_by() {
        for (setting, sent) in [
            (Setting::Tau, json!("12")),
            (Setting::OwnSd, json!("12")),
            (Setting::JobSd, json!("12")),
            (Setting::ClassShare, json!("12")),
            (Setting::EnoughSd, json!("13")),
            (Setting::HalfLifeDays, json!(300)),
            (Setting::EnoughLines, json!(7)),
        ] {
            let given: LearnSettingsIn = read_value(&json!({ member(setting).unwrap(): sent })).unwrap();
            let read = read(Some(&given), &At::ROOT, &mut Faults::new());
            assert_ne!(read, LearnSettings::default(), "{setting}");
        }
        for unset in [Setting::OwnSdWorthLines, Setting::JobSdWorthJobs, Setting::OutlierScore] {
            assert_eq!(member(unset), None);
        }
    }

    #[test]
    fn a_percentage_out_of_range_is_told_where_it_was_sent() {
        let given: LearnSettingsIn = read_value(&json!({"book_pct": "0", "enough_pct": "201"})).unwrap();
        let mut faults = Faults::new();
        read(Some(&given), &At::ROOT.member("settings"), &mut faults);
        let told: Vec<(&str, &str)> =
            faults.list().iter().map(|f| (f.pointer.as_str(), f.detail.as_str())).collect();
        assert_eq!(
            told,
            [
                ("#/settings/book_pct", "a percentage from 0.1 to 200"),
                ("#/settings/enough_pct", "a percentage from 0 to 200")
            ]
        );
    }
}
