//! The quotes of a CSV list: which line breaks end a row, which blanks are no part of a cell, and where the reader of
//! cells would guess.

use std::collections::HashMap;

/// Where in a cell a byte stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Within {
    /// At its begin.
    Start,
    /// In the blanks that it begins with.
    Before,
    /// In a cell without quotes around it; a quote there is a quote.
    Plain,
    /// Between the quotes around it.
    Quoted,
    /// Behind a quote that closes it, or is the first of two that stand for one.
    Closed,
    /// In the blanks behind the quote that closed it.
    Behind,
}

/// A list as the reader takes it.
pub(super) struct Counted {
    /// Without the blanks behind a quote that closes a cell, and with a blank in each empty line, which the reader would pass over
    /// without counting it. Blanks of a cell without quotes are a part of it (RFC 4180, section 2).
    pub(super) bytes: Vec<u8>,
    /// What is wrong with the quotes of a row. The reader would guess what is meant.
    pub(super) misquoted: HashMap<usize, &'static str>,
}

impl Counted {
    /// Looks at the quotes, the blanks behind them and the lines of a list.
    pub(super) fn of(bytes: &[u8]) -> Self {
        let mut out = Vec::with_capacity(bytes.len());
        let mut misquoted = HashMap::new();
        let (mut within, mut row, mut opened) = (Within::Start, 1, 1);
        let (mut at_start, mut before) = (true, b' ');
        for byte in bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).iter().copied() {
            let ends = matches!(byte, b'\n' | b'\r') && within != Within::Quoted;
            let of_pair = at_start && (before, byte) == (b'\r', b'\n');
            if ends && !of_pair {
                if at_start {
                    out.push(b' ');
                }
                (within, at_start) = (Within::Start, true);
                row += 1;
            } else if !ends {
                within = match (within, byte) {
                    (Within::Start, b'"') => {
                        opened = row;
                        Within::Quoted
                    }
                    (Within::Before, b'"') => {
                        misquoted.entry(row).or_insert(BEFORE_A_QUOTE);
                        Within::Plain
                    }
                    (Within::Quoted, b'"') => Within::Closed,
                    (Within::Quoted, _) | (Within::Closed, b'"') => Within::Quoted,
                    (_, b',') => Within::Start,
                    (Within::Start | Within::Before, b' ' | b'\t') => Within::Before,
                    (Within::Closed | Within::Behind, b' ' | b'\t') => {
                        (within, before) = (Within::Behind, byte);
                        continue;
                    }
                    (Within::Closed | Within::Behind, _) => {
                        misquoted.entry(row).or_insert(BEHIND_A_QUOTE);
                        if within == Within::Behind {
                            // The reader is left a blank: without it a quote here would be half of a pair to it.
                            out.push(b' ');
                        }
                        Within::Plain
                    }
                    (Within::Start | Within::Before | Within::Plain, _) => Within::Plain,
                };
                at_start = false;
            }
            out.push(byte);
            before = byte;
        }
        if within == Within::Quoted {
            misquoted.entry(opened).or_insert(NOT_CLOSED);
        }
        Self { bytes: out, misquoted }
    }
}

const BEFORE_A_QUOTE: &str = "a quote stands behind the blanks that a cell begins with: take the blanks out, so that the cell begins with its quote";
const BEHIND_A_QUOTE: &str = "a cell goes on behind the quote that closes it: a quote within quotes is written twice, as \"4\"\" channel\"";
const NOT_CLOSED: &str = "a quote is opened here and never closed: everything behind it would be one cell";
