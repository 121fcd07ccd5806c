//! What notes name and must hold themselves: one rule and one wording for each, wherever it is named.

use crate::wire::scalar::UNREAD;
use crate::wire::{At, Code, Faults, nearest};
use std::collections::HashSet;

/// What a name within the notes belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Within {
    /// A run.
    Run,
    /// An outlet of a run.
    Outlet,
    /// A drain line.
    Line,
    /// A catchment.
    Catchment,
    /// A known inflow.
    Inflow,
    /// An allowance.
    Allowance,
    /// An optional line.
    Optional,
    /// Another way to do the work.
    Alternate,
    /// An optional line or an alternate.
    Choice,
    /// A run or a drain line.
    Part,
}

impl Within {
    /// Notes that the notes have nothing of this name, unless there are names that could not be read.
    pub(crate) fn unknown(self, name: &Code, known: &[&str], at: &At<'_>, faults: &mut Faults) {
        if known.contains(&UNREAD) {
            return;
        }
        let near = nearest(name.as_str(), known).map(|n| format!("; did you mean `{n}`?"));
        let rule = format!("no {} has this name{}", self.word(), near.unwrap_or_default());
        let mut seen = HashSet::new();
        let once = known.iter().copied().filter(|name| seen.insert(*name));
        faults.value(at, self.code(), name.as_str(), rule).allow(once);
    }

    /// Notes that something else has this name.
    pub(crate) fn twice(self, name: &Code, at: &At<'_>, faults: &mut Faults) {
        let over_all = if self == Self::Outlet { "; outlet names are unique over all runs" } else { "" };
        let rule = format!("another {} has this name{over_all}", self.word());
        faults.value(at, "duplicate", name.as_str(), rule);
    }

    /// Notes every name of a list that stands in it before; `member` is where an entry has its name.
    pub(crate) fn each_once<'c>(
        self,
        names: impl Iterator<Item = &'c Code>,
        list: &At<'_>,
        member: &'static str,
        faults: &mut Faults,
    ) {
        let mut seen = HashSet::new();
        for (i, name) in names.enumerate() {
            if !seen.insert(name) {
                self.twice(name, &list.element(i).member(member), faults);
            }
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Run => "run",
            Self::Outlet => "outlet",
            Self::Line => "line",
            Self::Catchment => "catchment",
            Self::Inflow => "inflow",
            Self::Allowance => "allowance",
            Self::Optional => "optional line",
            Self::Alternate => "alternate",
            Self::Choice => "optional line or alternate",
            Self::Part => "run or drain line",
        }
    }

    const fn code(self) -> &'static str {
        match self {
            Self::Run => "unknown_run",
            Self::Outlet => "unknown_outlet",
            Self::Line => "unknown_line",
            _ => "unknown_code",
        }
    }
}
