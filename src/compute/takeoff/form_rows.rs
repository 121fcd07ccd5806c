//! Rows of form boards along the trench of a run: as many as it is deep where they stand.

use super::depths;
use super::trench::Trench;
use crate::domain::layout::Run;
use crate::units::Length;
use crate::units::show::{Show, counted, worded};
use crate::wire::book::systems::FormRule;
use smallvec::{SmallVec, smallvec};

/// Boards of one row that stand end to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// `side` or `end`.
    pub place: &'static str,
    /// Number of the side or the end, the first being 1.
    pub number: i64,
    /// Number of the row from the top, the first being 1.
    pub row: i64,
    /// How long.
    pub length: Length,
    /// From where to where along the channel, where they do not stand along the whole trench.
    pub between: Option<(Length, Length)>,
}

/// A row of boards.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Row {
    /// How deep the trench is down to its upper edge.
    from_depth: Length,
    /// Where it stands, from the start of the trench.
    stretches: SmallVec<[(Length, Length); 2]>,
}

impl Row {
    fn is_whole(&self, trench: &Trench) -> bool {
        self.stretches.as_slice() == [(Length::ZERO, trench.length)]
    }
}

/// The rows of a run, the upper first. Each stands wherever the trench is deeper than the rows over it hold, and is no shorter than
/// the shortest piece that is cut.
fn rows(run: &Run<'_>, trench: &Trench, board_width: Length, least: Length) -> Vec<Row> {
    let whole = |row: i64| Row {
        from_depth: board_width * (row - 1),
        stretches: smallvec![(Length::ZERO, trench.length)],
    };
    let detail = run.detail;
    let below = detail.base + detail.recess;
    // A channel that changes its height has no tees: its run is one chain.
    let Some(chain) = run.chains.first().filter(|_| depths::changes(run)) else {
        return (1..=trench.form_rows(board_width)).map(whole).collect();
    };
    let slopes = chain.slopes(&run.system.section);
    let deepest = run.greatest_height() + below;
    // The trench goes on beyond the ends of the channel as deep as it is there.
    let in_trench = |(from, to): (Length, Length)| {
        let start = if from == Length::ZERO { from } else { from + detail.end };
        (start, if to == chain.length { trench.length } else { to + detail.end })
    };
    let long_enough = |(from, to): (Length, Length)| {
        let short = (least - (to - from)).max(Length::ZERO);
        let from = (from - short.half()).min(trench.length - least).max(Length::ZERO);
        (from, to.max(from + least).min(trench.length))
    };
    let in_row = |row: i64| {
        let from_depth = board_width * (row - 1);
        let deeper = slopes.iter().filter_map(|s| s.higher_than(from_depth - below)).map(in_trench);
        let stretches = joined(joined(deeper).into_iter().map(long_enough));
        Row { from_depth, stretches }
    };
    (1..=deepest.steps_up(board_width)).map(in_row).collect()
}

/// Stretches in order, those that meet as one.
fn joined(stretches: impl Iterator<Item = (Length, Length)>) -> SmallVec<[(Length, Length); 2]> {
    let mut out: SmallVec<[(Length, Length); 2]> = SmallVec::new();
    for (from, to) in stretches {
        match out.last_mut().filter(|before| before.1 >= from) {
            Some(before) => before.1 = before.1.max(to),
            None => out.push((from, to)),
        }
    }
    out
}

/// A stretch of the trench as one of the channel, which ends before it.
fn along_channel(run: &Run<'_>, (from, to): (Length, Length)) -> (Length, Length) {
    let at = |place: Length| (place - run.detail.end).max(Length::ZERO).min(run.length());
    (at(from), at(to))
}

/// What stands in the trench of a run, row by row; `least` the shortest piece that is cut.
pub fn standing(run: &Run<'_>, trench: &Trench, rule: &FormRule, least: Length) -> Vec<Standing> {
    let (long, wide) = (trench.length, trench.width);
    let mut out = Vec::new();
    for (row, number) in rows(run, trench, rule.board_width, least).iter().zip(1..) {
        let stands =
            |place, side, length, between| Standing { place, number: side, row: number, length, between };
        if row.is_whole(trench) {
            // a tee opens a side as wide as the trench
            out.push(stands("side", 1, long, None));
            out.push(stands("side", 2, long - wide * run.tees, None));
            out.extend((1..=run.open_ends()).map(|end| stands("end", end, wide, None)));
            continue;
        }
        for side in 1..=2 {
            let along = row.stretches.iter();
            out.extend(along.map(|s| stands("side", side, s.1 - s.0, Some(along_channel(run, *s)))));
        }
        let first = row.stretches.first().is_some_and(|s| s.0 == Length::ZERO);
        let last = row.stretches.last().is_some_and(|s| s.1 == long);
        out.extend(first.then(|| stands("end", 1, wide, None)));
        out.extend(last.then(|| stands("end", 2, wide, None)));
    }
    out.retain(|s| s.length.is_positive());
    out
}

/// How many rows there are where, for the working.
pub(super) fn in_words(run: &Run<'_>, trench: &Trench, rule: &FormRule, least: Length, show: Show) -> String {
    let at = |l: Length| show.length(l);
    let rows = rows(run, trench, rule.board_width, least);
    let whole = rows.iter().filter(|row| row.is_whole(trench)).count();
    if whole == rows.len() {
        let mean = if depths::changes(run) { "a mean " } else { "" };
        return worded!("{mean}{} high: {}", at(trench.depth), counted(whole, "row"));
    }
    let parts = rows.iter().zip(1..).skip(whole).map(|(row, number)| {
        let places = row.stretches.iter().map(|stretch| along_channel(run, *stretch));
        let places = places.map(|(from, to)| worded!("{} to {}", at(from), at(to)));
        let places = places.collect::<Vec<_>>().join(", ");
        worded!("; row {number} where it is deeper than {}: {places}", at(row.from_depth))
    });
    let parts = parts.collect::<String>();
    worded!("{} all along{parts}", counted(whole, "row"))
}

#[cfg(test)]
#[expect(clippy::panic, reason = "notes that cannot be read stop a test")]
mod tests {
    use super::*;
    use crate::domain::book::PriceBook;
    use crate::domain::layout::resolve::resolve;
    use crate::units::UnitSystem;
    use crate::wire::notes::SiteNotes;
    use crate::wire::{read_document, read_value};
    use serde_json::{Value, json};

    /// What stands in a run of the demo book, boards 184.15 mm wide, and the rows in words.
    fn boards(run: &Value, least: i64) -> (Vec<String>, String) {
        let book = read_document(crate::domain::demo::BOOK.as_bytes()).unwrap_or_else(|e| panic!("{e}"));
        let book = PriceBook::check(book).unwrap_or_else(|e| panic!("{e}"));
        let notes: SiteNotes = read_value(&json!({"runs": [run]})).unwrap_or_else(|e| panic!("{e}"));
        let layout = resolve(&notes, &book).unwrap_or_else(|e| panic!("{e}"));
        let (Some(run), Some(rule)) = (layout.runs.first(), &book.doc().forms) else { panic!("no run") };
        let (show, trench, least) = (Show(UnitSystem::Metric), Trench::of(run), Length::millimetres(least));
        let all = standing(run, &trench, rule, least);
        let told = all.iter().map(|s| {
            let between =
                s.between.map(|(from, to)| format!(", {} to {}", show.length(from), show.length(to)));
            let between = between.unwrap_or_default();
            format!("{} {} row {}: {}{between}", s.place, s.number, s.row, show.length(s.length))
        });
        (told.collect(), in_words(run, &trench, rule, least, show))
    }

    fn falls(outlet: &Value) -> (Vec<String>, String) {
        let run = json!({"id": "r", "legs": [{"length": "60 m"}], "channel_system": "channel-8-fall", "crossing": "wheels",
            "outlets": [outlet]});
        boards(&run, 150)
    }

    /// Two rows hold 368.3 mm. The trench, 104.775 mm deeper than the channel is high, is 284.775 mm at both ends and 434.775 mm at
    /// the outlet: it passes 368.3 mm where it is 66.475 mm, at 0.5 % 13.295 m, off it.
    #[test]
    fn a_third_row_stands_where_two_do_not_hold() {
        let (told, words) = falls(&json!({"kind": "bottom", "id": "o", "at": "30 m"}));
        let third: Vec<&String> = told.iter().filter(|s| s.contains("row 3")).collect();
        assert_eq!(
            third,
            ["side 1 row 3: 26.59 m, 16.705 m to 43.295 m", "side 2 row 3: 26.59 m, 16.705 m to 43.295 m"]
        );
        assert_eq!(told.iter().filter(|s| s.contains("row 2")).count(), 4, "{told:?}");
        assert_eq!(words, "2 rows all along; row 3 where it is deeper than 368.3 mm: 16.705 m to 43.295 m");
    }

    /// The end outlet is as deep as it gets: its end has the third row, the other has not.
    #[test]
    fn an_end_has_the_rows_of_its_own_depth() {
        let (told, _) = falls(&json!({"kind": "end", "id": "o", "at": "finish"}));
        let third: Vec<&String> = told.iter().filter(|s| s.contains("row 3")).collect();
        // to the outlet and 101.6 mm beyond it
        assert_eq!(
            third,
            [
                "side 1 row 3: 43.397 m, 16.705 m to 60 m",
                "side 2 row 3: 43.397 m, 16.705 m to 60 m",
                "end 2 row 3: 443.2 mm"
            ]
        );
    }

    /// A stretch shorter than what may be cut is as long as that.
    #[test]
    fn no_stretch_is_shorter_than_the_least_piece() {
        // Deeper than two rows hold from 16.705 m on, up to the outlet at 17 m.
        let third = |least| {
            let run = json!({"id": "r", "legs": [{"length": "34 m"}], "channel_system": "channel-8-fall", "crossing": "wheels",
                "outlets": [{"kind": "bottom", "id": "o", "at": "17 m"}]});
            let (told, _) = boards(&run, least);
            told.into_iter().filter(|s| s.starts_with("side 1 row 3")).collect::<Vec<_>>()
        };
        assert_eq!(third(150), ["side 1 row 3: 590 mm, 16.705 m to 17.295 m"]);
        assert_eq!(third(2_000), ["side 1 row 3: 2 m, 16 m to 18 m"]);
    }

    /// A level channel has the same rows everywhere.
    #[test]
    fn a_level_channel_has_whole_rows() {
        let run = json!({"id": "r", "legs": [{"length": "4 m"}], "channel_system": "channel-6-u", "crossing": "wheels",
            "outlets": [{"kind": "end", "id": "o", "at": "finish"}]});
        let (told, words) = boards(&run, 150);
        let rows = |row: i64| {
            [("side", 1, "4.203 m"), ("side", 2, "4.203 m"), ("end", 1, "406.4 mm"), ("end", 2, "406.4 mm")]
                .map(|(place, number, length)| format!("{place} {number} row {row}: {length}"))
        };
        assert_eq!(told, [rows(1), rows(2)].concat());
        assert_eq!(words, "333.4 mm high: 2 rows");
    }
}
