//! The search for the system of one run or the pipe of one line: candidates in order, and why each before is not taken.

use super::answer::{Chosen, PassedOver};
use crate::wire::Code;

/// Something that may be chosen.
#[derive(Debug)]
pub(super) struct Candidate<'b> {
    pub(super) code: &'b Code,
    /// Why it is never taken, whatever water comes.
    pub(super) unfit: Vec<String>,
    /// Whether it can be built in at all.
    pub(super) buildable: bool,
}

/// The search for one run or line.
#[derive(Debug)]
pub(super) struct Search<'b> {
    pub(super) index: usize,
    pub(super) subject: String,
    candidates: Vec<Candidate<'b>>,
    /// By what they are in order.
    by: &'static str,
    at: usize,
    passed_over: Vec<PassedOver>,
    exhausted: bool,
}

impl<'b> Search<'b> {
    pub(super) fn new(
        index: usize,
        subject: String,
        candidates: Vec<Candidate<'b>>,
        by: &'static str,
    ) -> Self {
        let mut search =
            Self { index, subject, candidates, by, at: 0, passed_over: Vec::new(), exhausted: false };
        search.restart();
        search
    }

    /// Back to the first that can be taken; where none can, the last that can be built in stands.
    pub(super) fn restart(&mut self) {
        self.passed_over.clear();
        self.exhausted = false;
        if !self.take_from(0) {
            self.at = self.candidates.iter().rposition(|c| c.buildable).unwrap_or(0);
        }
    }

    /// How many rounds of moving on there can be.
    pub(super) fn len(&self) -> usize {
        self.candidates.len()
    }

    pub(super) fn code(&self) -> Option<&'b Code> {
        self.candidates.get(self.at).map(|c| c.code)
    }

    /// Goes on to the next candidate that can be taken; false when there is none, and the one at hand stays.
    pub(super) fn pass_over(&mut self, reasons: Vec<String>) -> bool {
        let Some(code) = self.code().filter(|_| !self.exhausted) else { return false };
        self.passed_over.push(PassedOver { code: code.as_str().to_owned(), reasons });
        self.take_from(self.at + 1)
    }

    /// Takes the first from here on that can be taken.
    fn take_from(&mut self, first: usize) -> bool {
        for (i, candidate) in self.candidates.iter().enumerate().skip(first) {
            if candidate.unfit.is_empty() {
                self.at = i;
                return true;
            }
            let (code, reasons) = (candidate.code.as_str().to_owned(), candidate.unfit.clone());
            self.passed_over.push(PassedOver { code, reasons });
        }
        self.exhausted = true;
        false
    }

    pub(super) fn told(self) -> Chosen {
        let because = if self.exhausted {
            "none that may be taken does; the last one tried is shown".to_owned()
        } else if self.passed_over.is_empty() {
            format!("the first in order of {}, and it does", self.by)
        } else {
            let before = self.passed_over.len();
            let do_not = if before == 1 { "does not" } else { "do not" };
            format!("the first in order of {} that does; {before} before it {do_not}", self.by)
        };
        Chosen {
            code: self.code().map_or_else(String::new, |c| c.as_str().to_owned()),
            subject: self.subject,
            because,
            passed_over: self.passed_over,
        }
    }
}
