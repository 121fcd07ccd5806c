//! What overhead, contingency and profit add: one upon the other, or side by side.

use super::terms::PriceStepName;
use crate::units::money::share_out;
use crate::units::show::worded;
use crate::units::{Amount, Percent};
use crate::wire::book::pricing::{MarkupRate, RateKind};
use rust_decimal::Decimal;

/// The steps that are rates, in their order.
pub(super) const STEPS: [PriceStepName; 3] =
    [PriceStepName::Overhead, PriceStepName::Contingency, PriceStepName::Profit];

/// What a rate adds to a base.
///
/// # Formula
/// markup: `base x p`; margin: `base / (1 - p) - base`; rounded half away from zero to the minor unit
/// # Units
/// currency
/// # Valid for
/// margins below 100 %; a margin of 100 % or more adds nothing and the price book refuses it
/// # Source
/// price = cost (1 + markup) = cost / (1 - margin): common practice, no source
/// # Example
/// ```
/// use rillcast::{compute::pricing::added, units::{Amount, Percent}, wire::book::pricing::RateKind};
/// let cost = Amount::from_minor(100_000);
/// assert_eq!(added(cost, Percent::whole(10), RateKind::Margin).to_string(), "111.11");
/// assert_eq!(added(cost, Percent::whole(25), RateKind::Margin).to_string(), "333.33");
/// assert_eq!(added(cost, Percent::whole(50), RateKind::Markup).to_string(), "500.00");
/// ```
pub fn added(base: Amount, pct: Percent, kind: RateKind) -> Amount {
    let share = pct.share();
    match kind {
        RateKind::Markup => Amount::line(base.decimal() * share),
        RateKind::Margin if share < Decimal::ONE => {
            Amount::line(base.decimal() / (Decimal::ONE - share) - base.decimal())
        }
        RateKind::Margin => Amount::ZERO,
    }
}

/// What rates that are taken side by side add to a cost: markups are shares of the cost, margins are shares of the one price that
/// all of them make.
///
/// # Formula
/// markup: `cost x p`, each rounded half away from zero; `price = (cost + markups) / (1 - sum of margins)`, rounded once; what the
/// price is above cost and markups is shared out by the percentages of the margins, largest remainder
/// # Units
/// currency
/// # Valid for
/// margins below 100 % together; others the price book refuses, and where one of old has them each is taken on the cost alone, as
/// [`added`] has it
/// # Source
/// price = cost / (1 - margin), for what all margins come to: common practice, no source
/// # Example
/// ```
/// use rillcast::{compute::pricing::rates::added_beside, units::Amount, wire::read_document};
/// let margin = |pct: &str| read_document(format!(r#"{{"pct": "{pct}", "as_kind": "margin"}}"#).as_bytes()).expect("a rate");
/// let (overhead, contingency, profit) = (margin("10"), margin("5"), margin("15"));
/// // 7686.54 / 0.70 = 10980.77: 15 % of it are 1647.1155
/// let parts = added_beside(Amount::from_minor(768_654), [&overhead, &contingency, &profit]);
/// assert_eq!(parts.map(|p| p.to_string()), ["1098.08", "549.04", "1647.11"]);
/// assert_eq!(parts.into_iter().sum::<Amount>().to_string(), "3294.23");
/// ```
pub fn added_beside(cost: Amount, rates: [&MarkupRate; 3]) -> [Amount; 3] {
    let alone = rates.map(|r| added(cost, r.pct, r.as_kind));
    let Some(together) = Together::of(cost, rates) else { return alone };
    let weights = rates.map(|r| if r.as_kind == RateKind::Margin { r.pct.millionths() } else { 0 });
    let mut out = alone;
    let shares = share_out(together.price - together.marked, &weights);
    for ((slot, rate), part) in out.iter_mut().zip(rates).zip(shares) {
        if rate.as_kind == RateKind::Margin {
            *slot = part;
        }
    }
    out
}

/// The price that rates side by side make.
struct Together {
    /// Cost and markups.
    marked: Amount,
    /// All margins.
    margins: Percent,
    /// What cost, markups and margins come to.
    price: Amount,
}

impl Together {
    /// `None` where the margins leave nothing of a price.
    fn of(cost: Amount, rates: [&MarkupRate; 3]) -> Option<Together> {
        let of_kind = |kind: RateKind| rates.into_iter().filter(move |r| r.as_kind == kind);
        let margins: i64 = of_kind(RateKind::Margin).map(|r| r.pct.millionths()).sum();
        let margins = Percent::from_millionths(margins);
        let kept = Some(Decimal::ONE - margins.share()).filter(|k| *k > Decimal::ZERO)?;
        let markups: Amount = of_kind(RateKind::Markup).map(|r| added(cost, r.pct, r.as_kind)).sum();
        let marked = cost + markups;
        Some(Together { marked, margins, price: Amount::line(marked.decimal() / kept) })
    }
}

/// What a step adds, and how that can be followed.
pub(super) struct Adding {
    pub(super) amount: Amount,
    pub(super) basis: String,
}

/// A rate taken on a sum by itself.
pub(super) fn upon(base: Amount, rate: &MarkupRate) -> Adding {
    let MarkupRate { pct, as_kind } = rate;
    let basis = match as_kind {
        RateKind::Markup => worded!("{base} x {pct} markup"),
        RateKind::Margin => worded!("{base} / (1 - {pct}) less {base}, margin"),
    };
    Adding { amount: added(base, *pct, *as_kind), basis }
}

/// The rates of a scheme taken side by side on one cost.
pub(super) struct Beside<'s> {
    cost: Amount,
    rates: [&'s MarkupRate; 3],
    amounts: [Amount; 3],
}

impl<'s> Beside<'s> {
    pub(super) fn of(cost: Amount, rates: [&'s MarkupRate; 3]) -> Beside<'s> {
        Beside { cost, rates, amounts: added_beside(cost, rates) }
    }

    /// What one of the steps adds.
    pub(super) fn step(&self, name: PriceStepName) -> Adding {
        let mut steps = STEPS.into_iter().zip(self.rates).zip(self.amounts);
        let Some(((_, rate), amount)) = steps.find(|((step, _), _)| *step == name) else {
            return Adding { amount: Amount::ZERO, basis: String::new() };
        };
        let alone = upon(self.cost, rate);
        if rate.as_kind == RateKind::Markup {
            return alone;
        }
        let Some(Together { marked, margins, price }) = Together::of(self.cost, self.rates) else {
            let why = "; margins that reach 100 % together are each taken on the cost alone";
            return Adding { amount, basis: alone.basis + why };
        };
        if marked == self.cost && margins == rate.pct {
            return Adding { amount, basis: alone.basis };
        }
        let from = if marked == self.cost {
            marked.to_string()
        } else {
            worded!("({} + {} markups)", self.cost, marked - self.cost)
        };
        let mut basis = worded!("{} margin of the price, {price} = {from} / (1 - {margins})", rate.pct);
        if margins != rate.pct {
            let all = price - marked;
            basis.push_str(&worded!("; all margins are {all}, shared out by their percentages"));
        }
        Adding { amount, basis }
    }
}
