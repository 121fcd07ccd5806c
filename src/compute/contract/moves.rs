//! What may be done with a paper in its state; everything else is refused with what is allowed.

use crate::units::Amount;
use crate::wire_enum;
use std::fmt;

wire_enum! {
    /// A paper of the record.
    pub enum PaperKind {
        /// a promise to the customer
        Quote = "quote",
        /// a change of the contract
        ChangeOrder = "change_order",
        /// a demand for payment
        Invoice = "invoice",
        /// gives back what an invoice asked for
        CreditNote = "credit_note",
    }
}

wire_enum! {
    /// Where a paper stands.
    pub enum PaperState {
        /// being written; nobody outside has seen it
        Draft = "draft",
        /// out, and frozen
        Issued = "issued",
        /// the customer said yes
        Accepted = "accepted",
        /// the customer said no
        Declined = "declined",
        /// its time ran out
        Expired = "expired",
        /// the office took it back
        Withdrawn = "withdrawn",
        /// another took its place
        Superseded = "superseded",
        /// some of it has been paid
        PartPaid = "part_paid",
        /// paid
        Paid = "paid",
        /// given back in full by credit notes
        Credited = "credited",
        /// voided in the accounting system
        Voided = "voided",
    }
}

wire_enum! {
    /// What is done with a paper.
    pub enum Move {
        /// change a draft
        Edit = "edit",
        /// send it out
        Issue = "issue",
        /// the customer says yes
        Accept = "accept",
        /// the customer says no
        Decline = "decline",
        /// its time is over
        Expire = "expire",
        /// take it back
        Withdraw = "withdraw",
        /// put another in its place
        Supersede = "supersede",
        /// report a payment
        Pay = "pay",
        /// give back by a credit note
        Credit = "credit",
        /// report a void
        Void = "void",
    }
}

/// A move that the state does not allow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// The paper.
    pub kind: PaperKind,
    /// Its state.
    pub state: PaperState,
    /// What was asked for.
    pub asked: Move,
    /// What is allowed.
    pub allowed: Vec<Move>,
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { kind, state, asked, allowed } = self;
        let kind = kind.word().replace('_', " ");
        write!(f, "`{asked}` is not possible: the {kind} is `{state}`, which allows ")?;
        if allowed.is_empty() {
            return f.write_str("nothing more");
        }
        let words: Vec<String> = allowed.iter().map(|m| format!("`{m}`")).collect();
        f.write_str(&words.join(", "))
    }
}

/// The moves a state allows, with the state each leads to. What a payment or a credit note leads to depends on the sums:
/// see [`Settlement`].
pub fn moves(kind: PaperKind, state: PaperState) -> &'static [(Move, PaperState)] {
    use {Move as M, PaperKind as K, PaperState as S};
    match (kind, state) {
        (K::Quote, S::Draft) => &[(M::Edit, S::Draft), (M::Issue, S::Issued), (M::Withdraw, S::Withdrawn)],
        (K::Quote, S::Issued) => &[
            (M::Accept, S::Accepted),
            (M::Decline, S::Declined),
            (M::Expire, S::Expired),
            (M::Withdraw, S::Withdrawn),
            (M::Supersede, S::Superseded),
        ],
        (K::Quote, S::Declined | S::Expired) => &[(M::Supersede, S::Superseded)],
        (K::ChangeOrder, S::Draft) => &[(M::Issue, S::Issued), (M::Withdraw, S::Withdrawn)],
        (K::ChangeOrder, S::Issued) => {
            &[(M::Accept, S::Accepted), (M::Decline, S::Declined), (M::Withdraw, S::Withdrawn)]
        }
        (K::Invoice, S::Issued) => &[(M::Pay, S::PartPaid), (M::Credit, S::Issued), (M::Void, S::Voided)],
        (K::Invoice, S::PartPaid) => &[(M::Pay, S::PartPaid), (M::Credit, S::PartPaid)],
        (K::Invoice, S::Paid) => &[(M::Pay, S::Paid), (M::Credit, S::Paid)],
        (K::Invoice, S::Credited) => &[(M::Pay, S::Credited)],
        _ => &[],
    }
}

/// The state a move leads to.
///
/// # Errors
/// What the state allows, when the move is none of it.
pub fn next(kind: PaperKind, state: PaperState, asked: Move) -> Result<PaperState, Refused> {
    let list = moves(kind, state);
    list.iter().find(|(m, _)| *m == asked).map(|(_, to)| *to).ok_or_else(|| Refused {
        kind,
        state,
        asked,
        allowed: list.iter().map(|(m, _)| *m).collect(),
    })
}

/// What is still owed on an invoice: `payable` as issued, `credited` what credit notes took off it, `paid` the sum of payments less money
/// that went back. Below nothing it goes back to the customer.
pub fn owed(payable: Amount, credited: Amount, paid: Amount) -> Amount {
    payable - credited - paid
}

/// What an invoice asks for, and what payments and credit notes have made of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settlement {
    /// Asked for, as issued.
    pub payable: Amount,
    /// What credit notes took off it.
    pub credited: Amount,
    /// Whether they gave back every line.
    pub credited_whole: bool,
    /// The sum of payments less money that went back.
    pub paid: Amount,
}

impl Settlement {
    /// That of an invoice as it is issued.
    pub const fn issued(payable: Amount) -> Self {
        Self { payable, credited: Amount::ZERO, credited_whole: false, paid: Amount::ZERO }
    }

    /// What is payable less what was credited, paid or not.
    pub fn due(self) -> Amount {
        self.payable - self.credited
    }

    /// Where the invoice stands.
    pub fn state(self) -> PaperState {
        let Self { payable: _, credited: _, credited_whole, paid } = self;
        let due = self.due();
        // Money that is due to the customer is paid when it has gone out.
        let (towards, reached) = if due < Amount::ZERO {
            (paid < Amount::ZERO, paid <= due)
        } else {
            (paid > Amount::ZERO, paid >= due)
        };
        if credited_whole {
            PaperState::Credited
        } else if due == Amount::ZERO || towards && reached {
            PaperState::Paid
        } else if towards {
            PaperState::PartPaid
        } else {
            PaperState::Issued
        }
    }
}

/// Why a payment cannot be, if it cannot: more goes back than came in, or more than an invoice that owes the customer money
/// owes. `due` is what is payable less what was credited; `before` and `after` are the sums paid without and with it.
pub(super) fn beyond(due: Amount, before: Amount, after: Amount) -> Option<String> {
    let least = due.min(Amount::ZERO);
    (after < least && after < before).then(|| {
        if least < Amount::ZERO {
            format!(
                "{} go back by this invoice, {} of them are paid back; no more can go back",
                -least, -before
            )
        } else {
            format!("{before} were paid; no more can go back")
        }
    })
}

/// Why a payment is recorded only once it is confirmed, if so: more comes in by it than is owed. `due`, `before` and `after` as in
/// [`beyond`]; what is owed to the customer is owed by nobody else.
pub(super) fn over(due: Amount, before: Amount, after: Amount) -> Option<String> {
    let most = due.max(Amount::ZERO);
    (after > most && after > before).then(|| {
        let left = (most - before).max(Amount::ZERO);
        format!(
            "{before} of {due} are paid and {left} are left to pay: this is {} more; report what was paid for another invoice there, or \
             send `over_paid: true` to record it nevertheless",
            after - before - left
        )
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;
    use crate::wire::query::{InvoiceState, QuoteState};

    /// Whether papers of a kind are ever in a state: where they begin, where a move leads, where a move is allowed. The last are
    /// those that the sums of payments and credit notes lead to.
    fn is_of(kind: PaperKind, state: PaperState) -> bool {
        let begins = match kind {
            PaperKind::Quote | PaperKind::ChangeOrder => PaperState::Draft,
            PaperKind::Invoice | PaperKind::CreditNote => PaperState::Issued,
        };
        let leads_there = |from: &PaperState| moves(kind, *from).iter().any(|(_, to)| *to == state);
        state == begins || !moves(kind, state).is_empty() || PaperState::ALL.iter().any(leads_there)
    }

    #[test]
    fn lists_of_papers_offer_the_states_that_those_papers_can_be_in() {
        let of = |kinds: [PaperKind; 2]| {
            let states = PaperState::ALL.iter().filter(move |s| kinds.iter().any(|kind| is_of(*kind, **s)));
            states.map(|s| s.word()).collect::<Vec<_>>()
        };
        let invoices: Vec<_> = InvoiceState::ALL.iter().map(|s| s.word()).collect();
        assert_eq!(invoices, of([PaperKind::Invoice, PaperKind::CreditNote]));
        let quotes: Vec<_> = QuoteState::ALL.iter().map(|s| s.word()).collect();
        assert_eq!(quotes, of([PaperKind::Quote, PaperKind::ChangeOrder]));
        // Of quotes alone, as the words say.
        for state in [PaperState::Expired, PaperState::Superseded] {
            assert!(!is_of(PaperKind::ChangeOrder, state), "{state}");
        }
    }

    #[test]
    fn every_move_that_is_not_listed_is_refused_and_names_those_that_are() {
        let mut refused = 0;
        for kind in PaperKind::ALL {
            for state in PaperState::ALL {
                for asked in Move::ALL {
                    let listed = moves(*kind, *state);
                    match next(*kind, *state, *asked) {
                        Ok(to) => assert!(listed.contains(&(*asked, to))),
                        Err(problem) => {
                            refused += 1;
                            assert!(listed.iter().all(|(m, _)| m != asked));
                            let text = problem.to_string();
                            assert!(text.contains(state.word()) && text.contains(asked.word()), "{text}");
                            for (m, _) in listed {
                                assert!(text.contains(&format!("`{m}`")), "{text}");
                            }
                        }
                    }
                }
            }
        }
        assert!(refused > 300);
    }

    #[test]
    fn what_is_over_stays_over() {
        for state in [PaperState::Accepted, PaperState::Withdrawn, PaperState::Superseded, PaperState::Voided]
        {
            for kind in PaperKind::ALL {
                assert!(moves(*kind, state).is_empty(), "{kind} {state}");
            }
        }
        let text = next(PaperKind::Quote, PaperState::Accepted, Move::Decline).unwrap_err().to_string();
        assert_eq!(text, "`decline` is not possible: the quote is `accepted`, which allows nothing more");
    }

    #[test]
    fn no_more_goes_back_than_came_in_or_is_owed() {
        let cents = Amount::from_minor;
        for (payable, before, after, refused) in [
            (1000, 400, 0, false),
            (1000, 400, -1, true),
            (1000, 0, 1200, false),
            (-500, 0, -500, false),
            (-500, -200, -600, true),
            (-500, -600, -550, false),
        ] {
            let said = beyond(cents(payable), cents(before), cents(after));
            assert_eq!(said.is_some(), refused, "{payable} {before} {after}: {said:?}");
        }
    }

    #[test]
    fn more_than_is_owed_is_told_with_what_is_left() {
        let cents = Amount::from_minor;
        for (payable, before, after, told) in [
            (1000, 0, 1000, None),
            (1000, 0, 1001, Some("0.00 of 10.00 are paid and 10.00 are left to pay: this is 0.01 more;")),
            (1000, 400, 1200, Some("4.00 of 10.00 are paid and 6.00 are left to pay: this is 2.00 more;")),
            (1000, 1200, 1300, Some("12.00 of 10.00 are paid and 0.00 are left to pay: this is 1.00 more;")),
            // What goes back is less, however much is left then.
            (1000, 1500, 1200, None),
            (-500, -500, 0, None),
            (-500, 0, 1, Some("0.00 of -5.00 are paid and 0.00 are left to pay: this is 0.01 more;")),
            (-500, -200, 1, Some("-2.00 of -5.00 are paid and 2.00 are left to pay: this is 0.01 more;")),
        ] {
            let said = over(cents(payable), cents(before), cents(after));
            assert_eq!(said.is_some(), told.is_some(), "{payable} {before} {after}: {said:?}");
            assert!(
                said.unwrap_or_default().starts_with(told.unwrap_or_default()),
                "{payable} {before} {after}"
            );
        }
    }

    #[test]
    fn an_invoice_stands_where_its_sums_put_it() {
        let cents = Amount::from_minor;
        for (payable, credited, credited_whole, paid, state) in [
            (1000, 0, false, 0, PaperState::Issued),
            (1000, 0, false, 1, PaperState::PartPaid),
            (1000, 0, false, 1000, PaperState::Paid),
            (1000, 0, false, 1200, PaperState::Paid),
            (1000, 400, false, 600, PaperState::Paid),
            (1000, 400, false, 500, PaperState::PartPaid),
            (1000, 1000, true, 0, PaperState::Credited),
            (-500, 0, false, 0, PaperState::Issued),
            (-500, 0, false, -500, PaperState::Paid),
            (-500, 0, false, -200, PaperState::PartPaid),
            (-500, 0, false, 300, PaperState::Issued),
            (-500, 0, false, -600, PaperState::Paid),
            (0, 0, false, 0, PaperState::Paid),
        ] {
            let sums = Settlement {
                payable: cents(payable),
                credited: cents(credited),
                credited_whole,
                paid: cents(paid),
            };
            assert_eq!(sums.state(), state, "{sums:?}");
            if credited == 0 && paid == 0 {
                assert_eq!(Settlement::issued(cents(payable)).state(), state, "{payable}");
            }
        }
    }
}
