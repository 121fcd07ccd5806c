//! Whether a request may take long to compute, told from its size before anything is computed.
//!
//! # Source
//! Measured on one core of the machine this was written on, release build: an estimate of one leg takes half a millisecond,
//! and a unit of effort some 30 µs more. Changing threads costs 10 to 20 µs.

use super::cut_list::searches_long;
use crate::domain::book::PriceBook;
use crate::wire::notes::SiteNotes;

/// Most that is surely short, in units of effort: a millisecond or two. So long a pause no other request minds, and below it a
/// change of threads would cost a small calculator a twentieth of its time. The demo job, with a storm on two runs and two
/// lines, is at 36.
const SHORT: usize = 40;

/// What one pour given outright, ordered alone and with its day, takes.
pub const POUR: usize = 2;
/// What one stretch of hire takes.
pub const STRETCH: usize = 1;
/// The search for the volumes from which on another way of getting concrete is the cheapest: ten milliseconds.
pub const BREAK_EVEN: usize = 400;

/// Whether computing may take so long that it belongs on a thread of its own: for `notes`, where the request has some, with
/// `beside` for what it gives outright.
pub fn is_long(notes: Option<&SiteNotes>, beside: usize, book: &PriceBook) -> bool {
    searches_long(book, notes)
        || notes.map_or(0, |notes| of_notes(notes, book)).saturating_add(beside) > SHORT
}

fn of_notes(notes: &SiteNotes, book: &PriceBook) -> usize {
    let legs = run_legs(notes) + line_legs(notes);
    // Where a leg is cut may be searched together with every other leg and offcut.
    let cuts = legs * legs / 4 + 3 * notes.yard_offcuts.len();
    let ground: usize = notes.drain_lines.iter().map(|l| l.ground.len()).sum();
    let days: usize = notes.runs.iter().map(|r| r.pour_days.len()).sum::<usize>()
        + notes.drain_lines.iter().map(|l| l.pour_days.len()).sum::<usize>();
    let once = cuts + ground / 8 + POUR * days + notes.extras.len() / 8 + water(notes, book);
    // Every option is the whole estimate once more.
    let options = notes.pricing.as_ref().map_or(0, |p| p.optional.len() + p.alternates.len());
    once * (1 + options) + 3 * options
}

/// The water of a storm. Whatever is left open is tried with one system or pipe of the book after the other; so is what is named
/// and does not pass, to say what would.
fn water(notes: &SiteNotes, book: &PriceBook) -> usize {
    if notes.storm.is_none() {
        return 0;
    }
    // Where a run parts between outlets is searched, and nothing bounds that by the size of the notes.
    if notes.runs.iter().any(|r| r.outlets.len() > 1) {
        return SHORT + 1;
    }
    let reaches: usize = notes.catchments.iter().map(|c| c.reaches.len()).sum();
    let along = run_legs(notes) + reaches + notes.inflows.len();
    along * book.doc().channel_systems.len() + line_legs(notes) * book.doc().pipes.len()
}

fn run_legs(notes: &SiteNotes) -> usize {
    notes.runs.iter().map(|r| r.legs.len()).sum()
}

fn line_legs(notes: &SiteNotes) -> usize {
    notes.drain_lines.iter().map(|l| l.legs.len()).sum()
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, reason = "a test stops where its notes cannot be read")]

    use super::*;
    use crate::domain::demo::{BOOK, NOTES};
    use crate::wire::{read_document, read_value};
    use serde_json::{Value, json};

    fn long(change: impl FnOnce(&mut Value)) -> bool {
        let book = PriceBook::check(read_document(BOOK.as_bytes()).unwrap()).unwrap();
        let mut notes: Value = serde_json::from_str(NOTES).unwrap();
        change(&mut notes);
        is_long(Some(&read_value(&notes).unwrap()), 0, &book)
    }

    #[test]
    fn the_demo_job_is_short_and_what_makes_it_large_is_not() {
        assert!(!long(|_| {}));
        assert!(long(|n| n["runs"][0]["legs"] = Value::Array(vec![json!({"length": "8 ft"}); 12])));
        assert!(long(|n| n["drain_lines"][0]["legs"] = Value::Array(vec![json!({"length": "8 ft"}); 12])));
        let more = json!({"kind": "end", "id": "more", "at": "start"});
        assert!(long(|n| n["runs"][0]["outlets"].as_array_mut().unwrap().push(more.clone())));
        // Without a storm nothing is searched for the water.
        assert!(!long(|n| {
            n["runs"][0]["outlets"].as_array_mut().unwrap().push(more.clone());
            n.as_object_mut().unwrap().remove("storm");
        }));
        assert!(long(|n| n["yard_offcuts"] = Value::Array(vec![json!({"item": "a", "length": "3 ft"}); 20])));
        let line = json!({"code": "a", "name": "A", "extras": [{"item": "grate-screw", "quantity": "1"}]});
        assert!(long(|n| n["pricing"] = json!({"optional": [line]})));
        let inflow = json!({"id": "a", "run": "drive", "at": "1 ft", "flow": "1 gal_us_per_min"});
        assert!(long(|n| n["inflows"] = Value::Array(vec![inflow; 20])));
    }

    #[test]
    fn what_is_given_outright_counts_and_so_does_a_book_that_searches_long() {
        let mut doc: Value = serde_json::from_str(BOOK).unwrap();
        let book = |doc: &Value| PriceBook::check(read_value(doc).unwrap()).unwrap();
        let usual = book(&doc);
        assert!(!is_long(None, 0, &usual) && !is_long(None, 10 * POUR, &usual));
        assert!(is_long(None, 200 * POUR, &usual) && is_long(None, BREAK_EVEN, &usual));
        doc["cutting"]["most_nodes"] = json!(1_000_000);
        assert!(is_long(None, 0, &book(&doc)));
    }
}
