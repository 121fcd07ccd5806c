//! Outlets whose water no drain line takes.

use super::takeoff;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};

/// One warning for each outlet that drains into no line: either a line was forgotten, with its pipe, trench and hours, or the
/// water comes out where the run ends.
pub(super) fn checks(layout: &Layout<'_>) -> Vec<Check> {
    let mut out = Vec::new();
    for (r, run) in layout.runs.iter().enumerate() {
        for (o, outlet) in run.outlets.iter().enumerate() {
            let taken =
                layout.lines.iter().any(|l| l.from.iter().any(|feed| (feed.run, feed.outlet) == (r, o)));
            if !taken {
                let reason = format!(
                    "no drain line takes the water of outlet `{}`: name the outlet in `from` of a line, or see to it that \
                     the water may come out there",
                    outlet.id
                );
                out.push(takeoff::check(
                    "outlet_connected",
                    format!("run {}", run.id),
                    Outcome::Warn,
                    reason,
                ));
            }
        }
    }
    out
}
