//! Markups, taxes, what a job costs at least, hire. Sums are told beside hours of the middle wage of the book.

use super::{Looks, PRACTICE, Usual, prices, tenths_pct};
use crate::units::show::worded;
use crate::units::{Amount, Percent};
use crate::wire::At;
use crate::wire::book::pricing::{MarkupRate, MarkupScheme, RateKind, Tax};
use crate::wire::book::work::Equipment;
use rust_decimal::Decimal;

const fn share(what: &'static str, most: i64) -> Usual<Percent> {
    Usual { what, least: Percent::whole(1), most: Percent::whole(most), source: PRACTICE }
}

/// A step from cost to price, as a markup on the cost and as a margin on the price.
struct Step {
    member: &'static str,
    markup: Usual<Percent>,
    margin: Usual<Percent>,
}

const STEPS: [Step; 3] = [
    Step {
        member: "overhead",
        markup: share("overhead on the cost", 100),
        margin: share("overhead on the price", 50),
    },
    Step {
        member: "contingency",
        markup: share("contingency on the cost", 50),
        margin: share("contingency on the price", 35),
    },
    Step {
        member: "profit",
        markup: share("profit on the cost", 150),
        margin: share("profit on the price", 60),
    },
];

const TAX: Usual<Percent> =
    Usual { what: "the rate of a tax", least: tenths_pct(5), most: Percent::whole(30), source: PRACTICE };
/// What a district or a city adds to the tax of a state may be as little as this.
const ADDED_TAX: Usual<Percent> = Usual { least: Percent::from_millionths(500), ..TAX };

/// Hours of the middle wage that the least charge, a step of the quoted figure and a least order come to at most.
const LEAST_CHARGE_HOURS: i64 = 1000;
const ROUND_TO_HOURS: i64 = 40;
pub(super) const LEAST_ORDER_HOURS: i64 = 400;

pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let root = At::ROOT;
    let list = root.member("markup_schemes");
    for (i, scheme) in book.markup_schemes.iter().enumerate() {
        one_scheme(looks, scheme, &list.element(i));
    }
    let list = root.member("taxes");
    for (i, tax) in book.taxes.iter().enumerate() {
        let here = list.element(i);
        let added = book.taxes.iter().enumerate().any(|(n, other)| n != i && adds_to(tax, other));
        looks.or_nothing(&here.member("rate_pct"), tax.rate_pct, if added { &ADDED_TAX } else { &TAX });
    }
    let list = root.member("equipment");
    for (i, machine) in book.equipment.iter().enumerate().filter(|(_, m)| !m.owned.0) {
        hire(looks, machine, &list.element(i));
    }
}

/// Whether a tax comes on top of another: one of a usual rate that falls on the same in the same place.
fn adds_to(tax: &Tax, other: &Tax) -> bool {
    let anywhere = tax.places.is_empty() || other.places.is_empty();
    other.rate_pct >= TAX.least
        && tax.categories.iter().any(|category| other.categories.contains(category))
        && (anywhere || tax.places.iter().any(|place| other.places.contains(place)))
}

fn one_scheme(looks: &mut Looks<'_>, scheme: &MarkupScheme, at: &At<'_>) {
    let rates = [&scheme.overhead, &scheme.contingency, &scheme.profit];
    for (step, rate) in STEPS.iter().zip(rates) {
        markup(looks, step, rate, at);
    }
    let list = at.member("by_category");
    for (i, own) in scheme.by_category.iter().enumerate() {
        let here = list.element(i);
        let rates = [&own.overhead, &own.contingency, &own.profit];
        for (step, rate) in STEPS.iter().zip(rates) {
            if let Some(rate) = rate {
                markup(looks, step, rate, &here);
            }
        }
    }
    for (member, what, sum, hours) in [
        ("least_charge", "no job costs less than", scheme.least_charge, LEAST_CHARGE_HOURS),
        ("round_to", "the quoted figure goes by steps of", scheme.round_to, ROUND_TO_HOURS),
    ] {
        if let Some(sum) = sum {
            beyond_hours(looks, &at.member(member), what, sum.decimal(), (sum.to_string(), hours));
        }
    }
}

fn markup(looks: &mut Looks<'_>, step: &Step, rate: &MarkupRate, at: &At<'_>) {
    let here = at.member(step.member);
    let usual = match rate.as_kind {
        RateKind::Markup => &step.markup,
        RateKind::Margin => &step.margin,
    };
    looks.or_nothing(&here.member("pct"), rate.pct, usual);
}

/// A sum of more than so many hours of the middle wage; `value` is what stands there.
pub(super) fn beyond_hours(
    looks: &mut Looks<'_>,
    at: &At<'_>,
    what: &str,
    sum: Decimal,
    (value, hours): (String, i64),
) {
    let wages = looks.book.trades.iter().map(|t| t.wage.decimal()).filter(|w| !w.is_zero());
    let Some(wage) = prices::middle(wages) else { return };
    let Some(most) = wage.checked_mul(Decimal::from(hours)).filter(|most| sum > *most) else { return };
    let usual = worded!("up to {}", prices::sum(most));
    let detail = worded!(
        "{what} {} here, usually {usual}: {hours} hours at {}, the middle wage of this book ({PRACTICE})",
        prices::sum(sum),
        prices::sum(wage)
    );
    looks.note(at, detail, value, usual, PRACTICE);
}

/// A longer time of hire that costs less than a shorter one, or more than the shorter one as often as it fits in.
fn hire(looks: &mut Looks<'_>, machine: &Equipment, at: &At<'_>) {
    let days = |given: Option<i64>, usual: i64| given.unwrap_or(usual);
    let week = days(machine.days_per_week.map(|d| d.get()), 7);
    let four = days(machine.days_per_four_weeks.map(|d| d.get()), 28);
    let times = [
        ("half_day", machine.half_day, 1),
        ("day", Some(machine.day), 2),
        ("week", machine.week, 2 * week),
        ("four_weeks", machine.four_weeks, 2 * four),
    ];
    // Halves of a day: nothing of a shorter time is lost by counting in them.
    let given: Vec<(&str, Amount, i64)> =
        times.into_iter().filter_map(|(member, sum, halves)| Some((member, sum?, halves))).collect();
    for pair in given.windows(2) {
        let [(shorter, less, few), (longer, more, many)] = pair else { continue };
        let fits = many.div_euclid((*few).max(1)) + i64::from(many % (*few).max(1) != 0);
        let most = Amount::from_minor(less.minor().saturating_mul(fits));
        if (*less..=most).contains(more) {
            continue;
        }
        let usual = worded!("{less} to {most}");
        let detail = worded!(
            "`{longer}` of `{}` costs {more} here; a `{shorter}` costs {less} and fits in {fits} times, so usually {usual} ({PRACTICE})",
            machine.code
        );
        looks.note(&at.member(longer), detail, more.to_string(), usual, PRACTICE);
    }
}
