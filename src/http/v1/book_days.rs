//! The days of published versions: what the request asks for, room among the others, gaps, and what takes days over.

use super::book_life::PublishIn;
use super::missing;
use super::versions::{row, state_of};
use crate::app::AppState;
use crate::domain::book::VersionState;
use crate::domain::book::periods::{Period, free, left};
use crate::http::problem::{self, Problem};
use crate::http::reply::Session;
use crate::store::price_books::VersionRow;
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{At, Faults};
use jiff::civil::Date;

pub(super) fn period_of(row: &VersionRow) -> Option<Period> {
    Period::read(row.effective_from.as_deref(), row.effective_to.as_deref())
}

/// Days from today on for which none of the versions holds; an undated one holds wherever no dated one does.
pub(super) fn gaps(rows: &[VersionRow], today: Date) -> Vec<Period> {
    let periods: Vec<Period> = rows.iter().filter_map(period_of).collect();
    if periods.len() < rows.len() { Vec::new() } else { free(&periods, today) }
}

/// The version that holds on a day.
pub(super) fn in_effect(rows: &[VersionRow], day: Date) -> Option<&VersionRow> {
    rows.iter()
        .find(|r| period_of(r).is_some_and(|p| p.holds(day)))
        .or_else(|| rows.iter().find(|r| r.effective_from.is_none()))
}

/// A word on a version that was named for new work though it was retired.
pub(super) async fn retired(state: &AppState, id: &str) -> Result<Option<String>, Problem> {
    let store = &state.inner.store;
    let Some(named) = store.version(id).await? else { return Ok(None) };
    if state_of(&named)? != VersionState::Retired {
        return Ok(None);
    }
    let published = store.published_versions(&named.book_id).await?;
    let instead = match in_effect(&published, state.today()) {
        Some(version) => format!("version {} holds today", version.number),
        None => "no version of this book holds today".to_owned(),
    };
    Ok(Some(format!(
        "version {} of `{}` was retired: its prices hold on no day; {instead}",
        named.number, named.name
    )))
}

/// Of versions that were ever published the one that holds on a day, else the one published last; one that was retired only where
/// there is no other.
pub(super) fn holding_or_last(rows: Vec<VersionRow>, day: Date) -> Option<VersionRow> {
    let stands = |row: &VersionRow| row.state == VersionState::Published.word();
    let (standing, retired): (Vec<_>, Vec<_>) = rows.into_iter().partition(stands);
    if let Some(holding) = in_effect(&standing, day) {
        return Some(holding.clone());
    }
    let last = |rows: Vec<VersionRow>| rows.into_iter().max_by_key(|row| (row.published_at, row.number));
    last(standing).or_else(|| last(retired))
}

/// The version that another one of its book follows on a day: of those published before it the one that holds then, else the one
/// published last. A draft follows whatever is published by now.
pub(super) fn followed(row: &VersionRow, mut rows: Vec<VersionRow>, day: Date) -> Option<VersionRow> {
    let at = |row: &VersionRow| (row.published_at, row.number);
    rows.retain(|other| other.id != row.id && (row.published_at.is_none() || at(other) < at(row)));
    holding_or_last(rows, day)
}

/// The version of a book that a new draft is made from where none is named: the one that holds today, else the one published
/// last, else the newest draft, else the last one made. A draft beside what was ever published, and one that was withdrawn beside
/// any other, are taken by name only.
pub(super) async fn usual_base(state: &AppState, book: &str) -> Result<VersionRow, Problem> {
    let store = &state.inner.store;
    let id = match holding_or_last(store.ever_published(book).await?, state.today()) {
        Some(version) => version.id,
        None => {
            let draft = store.drafts(book, 0).await?.into_iter().next();
            let made = match draft {
                None => store.versions(book, None, 1).await?.into_iter().next(),
                draft => draft,
            };
            made.ok_or_else(|| missing("price-book version"))?.id
        }
    };
    row(state, &id).await
}

pub(super) fn list(periods: &[Period]) -> Vec<String> {
    periods.iter().map(ToString::to_string).collect()
}

/// The days of the request, checked by themselves.
pub(super) fn asked_period(body: &PublishIn) -> Result<Option<Period>, Faults> {
    let PublishIn { effective_from, effective_to, ends_previous, allow_gap } = body;
    let mut faults = Faults::new();
    let root = At::ROOT;
    match (effective_from, effective_to) {
        (Some(from), to) => match Period::new(from.date(), to.map(Day::date)) {
            Some(period) => return Ok(Some(period)),
            None => {
                let sent = to.map_or_else(String::new, |d| d.to_string());
                faults
                    .value(
                        &root.member("effective_to"),
                        "before_effective_from",
                        &sent,
                        "the version holds up to, but not including, this day: it must lie after `effective_from`",
                    )
                    .allow([format!("a day after {from}")]);
            }
        },
        (None, to) => {
            let dated = [
                ("effective_to", to.is_some()),
                ("ends_previous", ends_previous.0),
                ("allow_gap", allow_gap.0),
            ];
            for (name, _) in dated.iter().filter(|(_, sent)| *sent) {
                faults.add(&root.member(name), "not_here", "goes with `effective_from` only");
            }
        }
    }
    if faults.is_empty() { Ok(None) } else { Err(faults) }
}

/// Finds a place for the period among the other published versions; ends the one before it when told to. Says what should be
/// looked at.
pub(super) async fn make_room(
    session: &mut Session,
    row: &VersionRow,
    period: Period,
    body: &PublishIn,
    today: Date,
) -> Result<Vec<String>, Problem> {
    let others = session.write.published_versions(&row.book_id).await?;
    let mut ended = None;
    let mut faults = Faults::new();
    let root = At::ROOT;
    let mut kept = Vec::new();
    for other in &others {
        let Some(theirs) = period_of(other) else { continue };
        let shortened = theirs.ended(period.from());
        match shortened {
            _ if !theirs.overlaps(&period) => kept.push(theirs),
            Some(shorter) if body.ends_previous.0 => {
                ended = Some(other);
                kept.push(shorter);
            }
            _ => {
                let help = if shortened.is_some() {
                    "; `ends_previous: true` lets it end where this one begins"
                } else {
                    "; retire it first, or name other days"
                };
                faults.value(
                    &root.member("effective_from"),
                    "overlap",
                    &period.to_string(),
                    format!("version {} holds from {theirs}{help}", other.number),
                );
            }
        }
    }
    if !faults.is_empty() {
        let all: Vec<Period> = others.iter().filter_map(period_of).collect();
        let free_days = list(&free(&all, today.min(period.from())));
        let mut listed = Faults::new();
        for fault in faults.list() {
            let at = root.member("effective_from");
            listed
                .value(&at, fault.code, fault.value.as_deref().unwrap_or_default(), fault.detail.clone())
                .allow(free_days.iter().cloned());
        }
        return Err(Problem::with_faults(
            problem::PERIOD_OVERLAP,
            format!(
                "free days of this book: {}",
                if free_days.is_empty() { "none".to_owned() } else { free_days.join("; ") }
            ),
            &listed,
        ));
    }
    kept.push(period);
    let undated = others.iter().find(|o| o.effective_from.is_none());
    let had = ended.and_then(period_of);
    let gaps = match undated {
        Some(_) => Vec::new(),
        // Days gone by count where the version that ends had them.
        None => free(&kept, had.map_or(today, |_| today.min(period.from()))),
    };
    let touched: Vec<Period> = gaps
        .into_iter()
        .filter_map(|gap| match had {
            Some(had) if had.overlaps(&gap) => Some(gap),
            _ => gap.since(today).filter(|gap| gap.touches(&period)),
        })
        .collect();
    refuse_gap(&touched, body.allow_gap, "effective_from")?;
    if let Some(other) = ended {
        session.write.end_version(other, &period.from().to_string()).await?;
    }
    let (Some(ended), Some(had), Some(undated)) = (ended, had, undated) else { return Ok(Vec::new()) };
    let lost = left(had, &kept);
    let told = format!(
        "version {} held on these days as well; from now on version {}, undated, does: {}",
        ended.number,
        undated.number,
        list(&lost).join("; ")
    );
    Ok(if lost.is_empty() { Vec::new() } else { vec![told] })
}

/// What to look at where an undated version is published that the dated ones leave no day from today on.
pub(super) fn on_no_day(row: &VersionRow, others: &[VersionRow], today: Date) -> Vec<String> {
    let dated: Vec<(i64, Period)> = others.iter().filter_map(|o| Some((o.number, period_of(o)?))).collect();
    let periods: Vec<Period> = dated.iter().map(|(_, period)| *period).collect();
    if !free(&periods, today).is_empty() {
        return Vec::new();
    }
    let theirs: Vec<String> = dated
        .iter()
        .filter(|(_, period)| period.to().is_none_or(|to| today < to))
        .map(|(number, period)| format!("version {number} from {period}"))
        .collect();
    vec![format!(
        "version {} has no days of its own, and from {today} on it holds on none: dated versions of this book have them all ({}); \
         publish a copy of it with `effective_from`, or retire what it is to follow",
        row.number,
        theirs.join("; ")
    )]
}

/// What to look at where a version is retired: which undated one takes its days from today on, and which version ends where it
/// began. `first_undated` says that it is the one that holds wherever no dated version does.
pub(super) fn taken_over(
    (row, first_undated): (&VersionRow, bool),
    others: &[VersionRow],
    today: Date,
) -> Vec<String> {
    let Some(undated) = others.iter().find(|o| o.effective_from.is_none()) else { return Vec::new() };
    let dated: Vec<Period> = others.iter().filter_map(period_of).collect();
    let had = period_of(row);
    let days: Vec<Period> = match had {
        Some(had) => had.since(today).into_iter().collect(),
        None if first_undated => free(&dated, today),
        None => Vec::new(),
    };
    if days.is_empty() {
        return Vec::new();
    }
    let mut told =
        format!("version {}, undated, holds on its days now: {}", undated.number, list(&days).join("; "));
    let before =
        others.iter().find(|o| had.is_some_and(|had| period_of(o).and_then(|p| p.to()) == Some(had.from())));
    if let (Some(before), Some(had)) = (before, had) {
        told += &format!("; version {} still ends on {}, where this one began", before.number, had.from());
    }
    vec![told]
}

pub(super) fn refuse_gap(gaps: &[Period], allow_gap: Flag, member: &str) -> Result<(), Problem> {
    if gaps.is_empty() || allow_gap.0 {
        return Ok(());
    }
    let mut faults = Faults::new();
    for gap in gaps {
        faults
            .value(
                &At::ROOT.member(member),
                "gap",
                &gap.to_string(),
                "no version of this book would hold on these days",
            )
            .allow(["days that leave no gap".to_owned(), "`allow_gap: true`, to accept it".to_owned()]);
    }
    Err(Problem::with_faults(
        problem::PERIOD_GAP,
        format!("left without a price book: {}", list(gaps).join("; ")),
        &faults,
    ))
}
