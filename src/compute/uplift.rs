//! Whether the empty channel stays down in wet concrete.

use super::needs::weigh;
use super::takeoff::run::RunTakeoff;
use super::takeoff::{self, Takeoff};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome};
use crate::units::Quantity;
use crate::units::show::{counted, worded};
use rust_decimal::Decimal;

/// Decimals beyond which a weight says no more.
const MOST_PLACES: u8 = 6;

/// Uplift on the empty channel in wet concrete against what the hangers hold; nothing of runs without concrete below the channel.
pub(super) fn checks(layout: &Layout<'_>, taken: &Takeoff<'_>, book: &PriceBook) -> Vec<Check> {
    let Some(rules) = &book.doc().concrete_rules else { return Vec::new() };
    let hangers = book.doc().hangers.as_ref();
    let mut out = Vec::new();
    let lifted = |quantities: &RunTakeoff| quantities.displaced.nm3() > 0;
    for (run, quantities) in layout.runs.iter().zip(&taken.runs).filter(|(_, taken)| lifted(taken)) {
        let lift = weigh(quantities.displaced, rules.weight_per_ft3.per_ft3());
        let weight = |base: i128, places| Quantity::of_base(base, layout.show.weight_unit(), places);
        let Some((hangers, holds)) = hangers.and_then(|h| Some((h, h.holds?))) else {
            out.push(takeoff::check(
                "uplift",
                worded!("run {}", run.id),
                Outcome::Warn,
                worded!(
                    "the empty channel displaces {} and is pushed up with {}; the price book does not say what a hanger holds: \
                     weigh it down or brace it for that",
                    layout.show.volume(quantities.displaced),
                    weight(lift.base(), 0)
                ),
            ));
            continue;
        };
        let count = run.hangers(hangers.spacing);
        let held = i128::from(count) * holds.base();
        // with as many decimals as bear out which of the two is more
        let holds_by = |[lift, holds]: &[Quantity; 2]| holds.value() * Decimal::from(count) >= lift.value();
        let mut shown = (0..=MOST_PLACES).map(|places| [lift, holds].map(|w| weight(w.base(), places)));
        let [pushed, one] = shown
            .find(|shown| holds_by(shown) == (held >= lift.base()))
            .unwrap_or_else(|| [lift, holds].map(|w| weight(w.base(), MOST_PLACES)));
        let (outcome, word) = match (held >= lift.base(), count == 1) {
            (true, true) => (Outcome::Pass, "holds"),
            (true, false) => (Outcome::Pass, "hold"),
            (false, true) => (Outcome::Warn, "does not hold"),
            (false, false) => (Outcome::Warn, "do not hold"),
        };
        out.push(takeoff::check(
            "uplift",
            worded!("run {}", run.id),
            outcome,
            worded!(
                "the empty channel displaces {} and is pushed up with {pushed}; {} of {one} {word} it{}",
                layout.show.volume(quantities.displaced),
                counted(count, "hanger"),
                if outcome == Outcome::Warn { ": weigh it down or set hangers closer" } else { "" }
            ),
        ));
    }
    out
}
