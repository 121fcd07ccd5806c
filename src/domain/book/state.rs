//! Where a version of a price book stands, and what that allows.

use crate::wire_enum;

wire_enum! {
    /// Where a price-book version stands.
    pub enum VersionState {
        /// being edited; nothing is computed from it
        Draft = "draft",
        /// frozen, and computed from
        Published = "published",
        /// no longer chosen by itself; what was computed from it stands. Without `published_at` a draft that was withdrawn
        Retired = "retired",
    }
}

impl VersionState {
    /// Takes an `action` that needs a version in a state, as `edited`.
    ///
    /// # Errors
    /// What the state it is in allows instead.
    pub fn allows(self, needed: VersionState, action: &str) -> Result<(), String> {
        if self == needed {
            return Ok(());
        }
        let instead = match self {
            VersionState::Draft => "a draft may be edited, checked, published, or retired for good",
            VersionState::Published => {
                "a published version is frozen; it may be retired, or copied into a new draft"
            }
            VersionState::Retired => "a retired version is frozen; it may be copied into a new draft",
        };
        Err(format!("this version is {self} and cannot be {action}: {instead}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_state_does_not_allow_is_refused_with_what_it_does() {
        for state in VersionState::ALL {
            for needed in VersionState::ALL {
                match state.allows(*needed, "edited") {
                    Ok(()) => assert_eq!(state, needed),
                    Err(told) => {
                        assert_ne!(state, needed);
                        let begins = format!("this version is {} and cannot be edited: a ", state.word());
                        assert!(told.starts_with(&begins), "{told}");
                    }
                }
            }
        }
        assert_eq!(
            VersionState::Retired.allows(VersionState::Draft, "edited"),
            Err("this version is retired and cannot be edited: a retired version is frozen; it may be copied into a new draft"
                .to_owned())
        );
    }
}
