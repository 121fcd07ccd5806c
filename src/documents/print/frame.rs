//! The page around a paper.

use crate::compute::contract::moves::PaperState;
use crate::units::Amount;
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
    /// Codes of what was taken of an accepted quote: an alternate, additions.
    pub taken: Vec<String>,
    /// What an accepted quote comes to with what was taken.
    pub contract: Option<Amount>,
    /// Paid of an invoice so far.
    pub paid: Amount,
    /// Given back of an invoice by credit notes.
    pub credited: Amount,
    /// The day at the office on which the page is made, where time decides whether a paper may still be agreed to.
    pub today: Option<Day>,
}

impl Standing {
    /// A paper in this state, of which no more is known.
    pub const fn of(state: PaperState) -> Self {
        Self {
            state,
            on: None,
            by: None,
            taken: Vec::new(),
            contract: None,
            paid: Amount::ZERO,
            credited: Amount::ZERO,
            today: None,
        }
    }

    /// Whether it may still be agreed to.
    pub(super) fn is_open(&self) -> bool {
        self.state == PaperState::Issued
    }

    /// The same once the last day has passed on which it could be agreed to.
    pub(super) fn until(&self, last: Day) -> Self {
        let lapsed = self.is_open() && self.today.is_some_and(|today| today > last);
        if lapsed {
            Self { state: PaperState::Expired, on: Some(last), ..self.clone() }
        } else {
            self.clone()
        }
    }

    /// What is stamped on it; nothing on what is out and stands.
    fn stamp(&self) -> Option<String> {
        let word = match self.state {
            PaperState::Draft => "Draft, not sent: nobody can agree to this",
            PaperState::Issued | PaperState::PartPaid => return None,
            PaperState::Paid => "Paid",
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
