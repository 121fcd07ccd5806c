//! Hours of calendars, pay of overtime, and crews that suffice for the rates.

use super::Check;
use crate::units::Factor;
use crate::units::quantity::Span;
use crate::wire::At;
use crate::wire::book::planning::{ClosedDays, CrewOf, WorkCalendar};
use crate::wire::book::work::{CrewMember, OvertimeRates};

/// Longest working day, 23.5 hours, so that the end of work is before the end of the date.
const LONGEST_DAY: Span = Span::from_seconds(47 * 1800);

/// Shortest time of a day that is opened on purpose.
const SHORTEST_OPEN: Span = Span::from_seconds(60);

/// Pay of an overtime hour where the book is silent.
const ONCE: Factor = Factor::from_millionths(1_500_000);

/// Pay of an hour at the double rate where the book is silent.
const TWICE: Factor = Factor::from_millionths(2_000_000);

/// Hours of the week and of the days worked besides, each where it stands.
pub(super) fn of_calendar(check: &mut Check<'_>, given: &WorkCalendar, at: &At<'_>) {
    let w = &given.week;
    let week = at.member("week");
    for (name, hours) in [
        ("monday", w.monday),
        ("tuesday", w.tuesday),
        ("wednesday", w.wednesday),
        ("thursday", w.thursday),
        ("friday", w.friday),
        ("saturday", w.saturday),
        ("sunday", w.sunday),
    ] {
        if let Some(hours) = hours.filter(|h| *h > LONGEST_DAY) {
            told(check, hours, "a day has at most 23.5 working hours", &week.member(name));
        }
    }
    let list = at.member("open");
    for (i, open) in given.open.iter().enumerate() {
        let here = list.element(i);
        if !(SHORTEST_OPEN..=LONGEST_DAY).contains(&open.hours) {
            let rule = "a day that is worked besides has from 1 min to 23.5 hours";
            told(check, open.hours, rule, &here.member("hours"));
        }
        let day = open.on.date();
        let closes = |(_, c): &(usize, &ClosedDays)| {
            (c.from.date()..=c.to.map_or(c.from.date(), |to| to.date())).contains(&day)
        };
        if let Some((c, closed)) = given.closed.iter().enumerate().find(closes) {
            let detail = format!(
                "`closed/{c}`, {}, closes this day; keep it in one of `open` and `closed`",
                closed.reason
            );
            check.faults.value(&here.member("on"), "contradiction", &open.on.to_string(), detail);
        }
    }
}

fn told(check: &mut Check<'_>, hours: Span, rule: &str, at: &At<'_>) {
    check.faults.value(at, "out_of_range", &hours.to_string(), rule);
}

/// What is due beyond the double limit is no less than what is due before it.
pub(super) fn double(check: &mut Check<'_>, overtime: &OvertimeRates, at: &At<'_>) {
    let once = overtime.multiplier.unwrap_or(ONCE);
    let twice = overtime.double_multiplier.unwrap_or(TWICE);
    if twice < once {
        check.faults.value(
            &at.member("double_multiplier"),
            "contradiction",
            &twice.to_string(),
            format!("the double rate is at least the overtime rate, {once}"),
        );
    }
}

/// Every crew of a rate must be found within one crew of the plans: work of a crew that nobody has cannot be planned.
pub(super) fn crews(check: &mut Check<'_>) {
    let doc = check.doc;
    let crews: &[CrewOf] = doc.plan_rules.as_ref().map_or(&[], |r| &r.crews);
    if crews.is_empty() {
        return;
    }
    let root = At::ROOT;
    let list = root.member("labor");
    for (i, rate) in doc.labor.iter().enumerate() {
        let suffices =
            |people: &[CrewMember]| rate.crew.iter().all(|m| of_trade(people, m) >= of_trade(&rate.crew, m));
        // a trade that is not listed is a fault of its own
        let known = rate.crew.iter().all(|m| doc.trades.iter().any(|t| t.code == m.trade));
        if !known || crews.iter().any(|c| suffices(&c.people)) {
            continue;
        }
        let asked: Vec<String> = rate.crew.iter().map(|m| format!("{} {}", m.count.get(), m.trade)).collect();
        check.faults.value(
            &list.element(i).member("crew"),
            "crew_lacks_trade",
            &asked.join(", "),
            "no crew of `plan_rules.crews` has these people, so no job with this work could be planned; ask for fewer or enlarge a crew",
        );
    }
}

/// People of the trade of `like`.
fn of_trade(people: &[CrewMember], like: &CrewMember) -> i64 {
    people.iter().filter(|m| m.trade == like.trade).map(|m| m.count.get()).sum()
}
