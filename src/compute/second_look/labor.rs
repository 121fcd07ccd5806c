//! Factors on hours, days, burden, wages and spreads.

use super::{Looks, PRACTICE, Usual, hundredths, minutes, prices};
use crate::units::quantity::Span;
use crate::units::show::worded;
use crate::units::{Factor, Percent};
use crate::wire::At;
use crate::wire::book::planning::HoursSpread;
use crate::wire::book::work::LaborRules;
use rust_decimal::Decimal;

const BURDEN: Usual<Percent> =
    Usual { what: "burden on a wage", least: Percent::whole(4), most: Percent::whole(150), source: PRACTICE };
const DIFFICULTY: Usual<Factor> = Usual {
    what: "the factor of a difficulty",
    least: hundredths(40),
    most: hundredths(400),
    source: PRACTICE,
};
const DEPTH: Usual<Factor> =
    Usual { what: "the factor of a depth", least: Factor::ONE, most: hundredths(500), source: PRACTICE };
const WEATHER: Usual<Factor> =
    Usual { what: "the factor of a weather", least: hundredths(50), most: hundredths(300), source: PRACTICE };
const DAY: Usual<Span> =
    Usual { what: "a working day", least: minutes(240), most: minutes(14 * 60), source: PRACTICE };
const TRAVEL: Usual<Span> =
    Usual { what: "paid travel of a day", least: minutes(0), most: minutes(6 * 60), source: PRACTICE };
const STEP: Usual<Span> =
    Usual { what: "the step hours are rounded to", least: minutes(0), most: minutes(240), source: PRACTICE };
const OVERTIME: Usual<Factor> = Usual {
    what: "pay of overtime",
    least: hundredths(110),
    most: hundredths(300),
    source: "29 U.S.C. 207 has 1.5 (from memory); the range about it is common practice",
};
const SPREAD: Usual<Percent> = Usual {
    what: "a spread of hours",
    least: Percent::whole(1),
    most: Percent::whole(100),
    source: PRACTICE,
};
const MEDIAN: Usual<Factor> = Usual {
    what: "the median of actual over estimated hours",
    least: hundredths(30),
    most: hundredths(300),
    source: PRACTICE,
};

/// How far a wage lies from those of the other trades, either way.
const WAGE_TIMES: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let root = At::ROOT;
    let trades = root.member("trades");
    for (i, trade) in book.trades.iter().enumerate() {
        let here = trades.element(i);
        looks.or_nothing(&here.member("burden_pct"), trade.burden_pct, &BURDEN);
        wage(looks, i, &here.member("wage"));
    }
    let labor = root.member("labor");
    for (i, rate) in book.labor.iter().enumerate() {
        let here = labor.element(i);
        if let Some(spread) = &rate.spread {
            spread_of(looks, spread, &here.member("spread"));
        }
    }
    if let Some(rules) = &book.labor_rules {
        factors(looks, rules, &root.member("labor_rules"));
    }
    if let Some(rules) = &book.plan_rules {
        let here = root.member("plan_rules");
        if let Some(spread) = &rules.spread {
            spread_of(looks, spread, &here.member("spread"));
        }
        if let Some(spread) = rules.job_spread_pct {
            looks.or_nothing(&here.member("job_spread_pct"), spread, &SPREAD);
        }
    }
}

fn spread_of(looks: &mut Looks<'_>, spread: &HoursSpread, at: &At<'_>) {
    looks.or_nothing(&at.member("task_pct"), spread.task_pct, &SPREAD);
    looks.or_nothing(&at.member("rate_pct"), spread.rate_pct, &SPREAD);
    looks.given(&at.member("median_ratio"), spread.median_ratio, &MEDIAN);
}

/// A wage of nothing, or far from those of the other trades.
fn wage(looks: &mut Looks<'_>, place: usize, at: &At<'_>) {
    let trades = &looks.book.trades;
    let Some(wage) = trades.get(place).map(|t| t.wage) else { return };
    if wage.decimal().is_zero() {
        let detail = "an hour of this trade costs nothing; right for an owner who takes no wage".to_owned();
        looks.note(at, detail, wage.to_string(), "more than nothing".to_owned(), PRACTICE);
        return;
    }
    let others = trades.iter().enumerate().filter(|(i, t)| *i != place && !t.wage.decimal().is_zero());
    let Some(middle) = prices::middle(others.map(|(_, t)| t.wage.decimal())) else { return };
    let detail = |usual: &str| {
        worded!(
            "an hour costs {wage} here, and {} in the middle of the other trades: usually a fifth to five times of that, {usual} ({PRACTICE})",
            prices::sum(middle)
        )
    };
    prices::far(looks, at, wage.decimal(), (middle, WAGE_TIMES), wage.to_string(), detail);
}

fn factors(looks: &mut Looks<'_>, rules: &LaborRules, at: &At<'_>) {
    looks.figure(&at.member("day"), rules.day, &DAY);
    looks.given(&at.member("travel"), rules.travel, &TRAVEL);
    looks.figure(&at.member("step"), rules.step, &STEP);
    let list = at.member("difficulty");
    for (i, entry) in rules.difficulty.iter().enumerate() {
        let here = list.element(i);
        let here = here.member("factor");
        looks.figure(&here, entry.factor, &DIFFICULTY);
        let easier = rules.difficulty.iter().filter(|e| e.difficulty < entry.difficulty);
        if let Some(easier) = easier.max_by_key(|e| e.difficulty).filter(|e| e.factor > entry.factor) {
            let usual = worded!("{} or more", easier.factor);
            let detail = worded!(
                "`{}` takes {} of the hours here, less than `{}` with {} ({PRACTICE})",
                entry.difficulty,
                entry.factor,
                easier.difficulty,
                easier.factor
            );
            looks.note(&here, detail, entry.factor.to_string(), usual, PRACTICE);
        }
    }
    let show = looks.show();
    let list = at.member("depth");
    for (i, entry) in rules.depth.iter().enumerate() {
        let here = list.element(i);
        let here = here.member("factor");
        looks.figure(&here, entry.factor, &DEPTH);
        let higher = rules.depth.iter().filter(|e| e.deeper_than < entry.deeper_than);
        if let Some(higher) = higher.max_by_key(|e| e.deeper_than).filter(|e| e.factor > entry.factor) {
            let usual = worded!("{} or more", higher.factor);
            let detail = worded!(
                "digging below {} takes {} of the hours here, less than below {} with {} ({PRACTICE})",
                show.length(entry.deeper_than),
                entry.factor,
                show.length(higher.deeper_than),
                higher.factor
            );
            looks.note(&here, detail, entry.factor.to_string(), usual, PRACTICE);
        }
    }
    let list = at.member("weather");
    for (i, entry) in rules.weather.iter().enumerate() {
        let here = list.element(i);
        looks.figure(&here.member("factor"), entry.factor, &WEATHER);
    }
    if let Some(overtime) = &rules.overtime {
        let here = at.member("overtime");
        looks.given(&here.member("multiplier"), overtime.multiplier, &OVERTIME);
        looks.given(&here.member("double_multiplier"), overtime.double_multiplier, &OVERTIME);
    }
}
