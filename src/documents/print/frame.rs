//! The page around a paper.

use crate::compute::contract::moves::PaperState;
use crate::wire::day::Day;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The style of every page.
const STYLE: &str = include_str!("style.css");

/// What a page may load: nothing but the style that stands in it.
pub const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Where a paper stands while it is printed: a page in a drawer must not pass for an offer that was taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// Its state.
    pub state: PaperState,
    /// The day of what was decided, where that is known.
    pub on: Option<Day>,
    /// Who decided, where that is known.
    pub by: Option<String>,
}

impl Standing {
    /// A paper in this state, of which no more is known.
    pub const fn of(state: PaperState) -> Self {
        Self { state, on: None, by: None }
    }

    /// Whether it may still be agreed to.
    pub(super) fn is_open(&self) -> bool {
        self.state == PaperState::Issued
    }

    /// What is stamped on it; nothing on what is out and stands.
    fn stamp(&self) -> Option<String> {
        let word = match self.state {
            PaperState::Draft => "Draft, not sent: nobody can agree to this",
            PaperState::Issued | PaperState::PartPaid | PaperState::Paid => return None,
            PaperState::Accepted => "Accepted",
            PaperState::Declined => "Declined",
            PaperState::Expired => "Expired",
            PaperState::Withdrawn => "Withdrawn",
            PaperState::Superseded => "Another has taken its place",
            PaperState::Credited => "Given back in full",
            PaperState::Voided => "Void",
        };
        let on = self.on.map(|on| format!(" on {on}")).unwrap_or_default();
        let by = self.by.as_ref().map(|by| format!(" by {by}")).unwrap_or_default();
        Some(format!("{word}{on}{by}"))
    }
}

/// A whole page.
pub(super) fn page(title: &str, standing: Option<&Standing>, head: &Markup, body: &Markup) -> String {
    let stamp = standing.and_then(Standing::stamp);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (head)
                @if let Some(stamp) = stamp { p.stamp { (stamp) } }
                main { (body) }
            }
        }
    }
    .into_string()
}
