//! The page around a paper.

use crate::compute::contract::moves::PaperState;
use crate::compute::contract::quote::StageShare;
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
    /// The stages of an accepted quote, over what was taken too.
    pub stages: Vec<StageShare>,
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
            stages: Vec::new(),
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
    pub(super) fn stamp(&self) -> Option<String> {
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

/// Which revision an estimate is beside the others of its job: what is dug and ordered by one that no longer stands is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Revision {
    /// Its own.
    pub own: i64,
    /// The one that the contract stands on, or that a mark of acceptance names; none while nothing is agreed.
    pub agreed: Option<i64>,
    /// The newest of the job.
    pub newest: i64,
}

impl Revision {
    /// What is stamped on a sheet or order of it; nothing where it is the one to work by.
    pub(super) fn note(self) -> Option<String> {
        let Self { own, agreed, newest } = self;
        match agreed {
            Some(agreed) if own < agreed => {
                Some(format!("Out of date: this is revision {own}, and revision {agreed} is agreed"))
            }
            Some(agreed) if own > agreed => {
                Some(format!("Not agreed: this is revision {own}, and revision {agreed} is"))
            }
            None if own < newest => {
                Some(format!("Out of date: this is revision {own}, and revision {newest} is the newest"))
            }
            Some(_) | None => None,
        }
    }
}

/// How much of a title stands at the foot of each sheet of paper.
const LONGEST_FOOT: usize = 90;

/// The foot of each sheet of paper: what it is of, and which of how many. What could end the text or the style is written by its number.
fn foot(title: &str) -> String {
    let mut told = String::new();
    for letter in title.chars().take(LONGEST_FOOT) {
        if letter.is_ascii_alphanumeric() || " _-.,".contains(letter) {
            told.push(letter);
        } else {
            told.push_str(&format!("\\{:x} ", u32::from(letter)));
        }
    }
    let more = if title.chars().nth(LONGEST_FOOT).is_some() { "\\2026 " } else { "" };
    format!(
        "@page {{ @bottom-left {{ content: \"{told}{more}\"; }} @bottom-right {{ content: counter(page) \" / \" counter(pages); }} }}"
    )
}

/// A whole page, with what is stamped on it.
pub(super) fn page(title: &str, stamp: Option<String>, head: &Markup, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) (PreEscaped(foot(title))) }
            }
            body {
                (head)
                main {
                    @if let Some(stamp) = stamp { p.stamp { (stamp) } }
                    (body)
                }
            }
        }
    }
    .into_string()
}

#[cfg(test)]
mod tests {
    use super::{Revision, foot};

    #[test]
    fn the_revision_to_work_by_has_no_stamp() {
        for (own, agreed, newest, note) in [
            (1, None, 1, None),
            (2, Some(2), 3, None),
            (1, None, 2, Some("Out of date: this is revision 1, and revision 2 is the newest")),
            (1, Some(2), 2, Some("Out of date: this is revision 1, and revision 2 is agreed")),
            (3, Some(2), 3, Some("Not agreed: this is revision 3, and revision 2 is")),
        ] {
            assert_eq!(Revision { own, agreed, newest }.note().as_deref(), note);
        }
    }

    #[test]
    fn a_title_stays_within_its_text_at_the_foot() {
        let foot = foot(r#"Drive "A" </style> \ é"#);
        assert!(foot.contains(r#"content: "Drive \22 A\22  \3c \2f style\3e  \5c  \e9 ";"#), "{foot}");
        let long = super::foot(&"x".repeat(100));
        assert!(long.contains(&format!("\"{}\\2026 \"", "x".repeat(90))), "{long}");
    }
}
