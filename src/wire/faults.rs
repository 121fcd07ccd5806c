//! The collector of everything that is wrong with one body.
//!
//! A reader never stops at the first fault: it notes it here with the JSON pointer of the member, what was sent,
//! the rule and what is allowed, and reads on. The HTTP edge answers the whole list at once.

use super::read::{Extreme, Wire};
use std::fmt::{self, Write as _};

/// At most this many faults are kept; an answer says so when more were found.
pub const MOST_FAULTS: usize = 100;

/// One thing that is wrong, and how to put it right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// JSON pointer in URI-fragment form, for example `#/runs/0/legs/1/length`.
    pub pointer: String,
    /// Stable snake_case code a program can branch on.
    pub code: &'static str,
    /// The rule and how to meet it, for a person.
    pub detail: String,
    /// What was sent, shortened, when it was a scalar.
    pub value: Option<String>,
    /// The values or forms that are accepted, when they can be listed.
    pub allowed: Vec<String>,
}

/// All faults of one body, in the order in which they were met.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Faults {
    list: Vec<Fault>,
    truncated: bool,
    /// The last one found beyond those that are kept: whoever notes it may still add to it.
    beyond: Option<Box<Fault>>,
    stand_in: Option<Extreme>,
}

impl Faults {
    /// An empty collector.
    pub fn new() -> Self {
        Self::default()
    }

    /// A collector that lets something stand for what cannot be read, so that the rest can be looked at.
    pub fn standing_in(extreme: Extreme) -> Self {
        Self { stand_in: Some(extreme), ..Self::default() }
    }

    /// What stands for a value that cannot be read, if anything does.
    pub fn stand_in<T: Wire>(&self) -> Option<T> {
        self.stand_in.and_then(T::stand_in)
    }

    /// Whether something may stand for what cannot be read.
    pub fn stands_in(&self) -> bool {
        self.stand_in.is_some()
    }

    /// Notes a fault at `at`.
    pub fn add(&mut self, at: &At<'_>, code: &'static str, detail: impl Into<String>) -> &mut Fault {
        self.push(Fault {
            pointer: at.pointer(),
            code,
            detail: detail.into(),
            value: None,
            allowed: Vec::new(),
        })
    }

    /// Notes a fault that names the value sent.
    pub fn value(
        &mut self,
        at: &At<'_>,
        code: &'static str,
        sent: &str,
        detail: impl Into<String>,
    ) -> &mut Fault {
        let fault = self.add(at, code, detail);
        fault.value = Some(shorten(sent));
        fault
    }

    /// Adds a fault.
    pub fn push(&mut self, fault: Fault) -> &mut Fault {
        if self.list.len() >= MOST_FAULTS {
            self.truncated = true;
            return self.beyond.insert(Box::new(fault));
        }
        self.list.push(fault);
        let last = self.list.len() - 1;
        &mut self.list[last]
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// How many faults are noted.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Whether more faults were found than are kept.
    pub fn truncated(&self) -> bool {
        self.truncated
    }

    /// The faults.
    pub fn list(&self) -> &[Fault] {
        &self.list
    }

    /// The first fault that is so.
    pub fn find(&mut self, so: impl Fn(&Fault) -> bool) -> Option<&mut Fault> {
        self.list.iter_mut().find(|fault| so(fault))
    }

    /// The same faults for a document that is the member `name` of a larger one.
    #[must_use]
    pub fn under(self, name: &str) -> Faults {
        self.moved("#", &At::ROOT.member(name).pointer())
    }

    /// The same faults where what stood at the pointer `from` stands at `to`.
    #[must_use]
    pub fn moved(mut self, from: &str, to: &str) -> Faults {
        for fault in &mut self.list {
            if let Some(rest) = below(&fault.pointer, from) {
                fault.pointer = [to, rest].concat();
            }
        }
        self
    }

    /// The faults that are not so.
    #[must_use]
    pub fn without(mut self, so: impl Fn(&Fault) -> bool) -> Faults {
        self.list.retain(|fault| !so(fault));
        self
    }

    /// These faults, and those of something else that was tried.
    #[must_use]
    pub fn and<T>(mut self, other: &Result<T, Faults>) -> Faults {
        if let Err(others) = other {
            self.extend(others.list.iter().cloned());
        }
        self
    }

    /// `Ok(value)` when nothing is wrong, else the faults.
    pub fn finish<T>(self, value: Option<T>) -> Result<T, Faults> {
        match value {
            Some(value) if self.is_empty() => Ok(value),
            _ => Err(self),
        }
    }
}

/// What a pointer says below another; `None` where it does not lead to it or to a part of it.
pub fn below<'p>(pointer: &'p str, from: &str) -> Option<&'p str> {
    pointer.strip_prefix(from).filter(|rest| rest.is_empty() || rest.starts_with('/'))
}

impl Fault {
    /// Adds the list of accepted values or forms.
    pub fn allow<I: IntoIterator<Item = S>, S: Into<String>>(&mut self, allowed: I) -> &mut Self {
        self.allowed = allowed.into_iter().map(Into::into).collect();
        self
    }
}

impl Extend<Fault> for Faults {
    fn extend<I: IntoIterator<Item = Fault>>(&mut self, more: I) {
        for fault in more {
            self.push(fault);
        }
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, fault) in self.list.iter().enumerate() {
            if i > 0 {
                f.write_str("; ")?;
            }
            write!(f, "{} ({}): {}", fault.pointer, fault.code, fault.detail)?;
        }
        Ok(())
    }
}

/// A value as a fault shows it: its first 80 characters.
pub fn shorten(text: &str) -> String {
    const MOST: usize = 80;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    let mut out: String = text.chars().take(MOST).collect();
    out.push('…');
    out
}

/// A place in a JSON document, kept as a chain on the stack so that nothing is allocated until a fault is noted.
#[derive(Debug, Clone, Copy)]
pub struct At<'a> {
    parent: Option<&'a At<'a>>,
    segment: Segment<'a>,
}

#[derive(Debug, Clone, Copy)]
enum Segment<'a> {
    Root,
    Name(&'a str),
    Index(usize),
}

impl<'a> At<'a> {
    /// The whole document, `#`.
    pub const ROOT: At<'static> = At { parent: None, segment: Segment::Root };

    /// The member `name` of the object at this place.
    pub fn member(&'a self, name: &'a str) -> At<'a> {
        At { parent: Some(self), segment: Segment::Name(name) }
    }

    /// The element `index` of the list at this place.
    pub fn element(&'a self, index: usize) -> At<'a> {
        At { parent: Some(self), segment: Segment::Index(index) }
    }

    /// RFC 6901 pointer in URI-fragment form.
    ///
    /// ```
    /// use rillcast::wire::At;
    /// let root = At::ROOT;
    /// let runs = root.member("runs");
    /// let first = runs.element(0);
    /// assert_eq!(first.member("a/b c").pointer(), "#/runs/0/a~1b%20c");
    /// ```
    pub fn pointer(&self) -> String {
        let mut out = String::new();
        self.write(&mut out);
        out
    }

    fn write(&self, out: &mut String) {
        match self.segment {
            Segment::Root => out.push('#'),
            Segment::Name(name) => {
                if let Some(parent) = self.parent {
                    parent.write(out);
                }
                out.push('/');
                for byte in name.bytes() {
                    match byte {
                        b'~' => out.push_str("~0"),
                        b'/' => out.push_str("~1"),
                        b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'_' | b'-' | b'.' => {
                            out.push(byte as char)
                        }
                        other => {
                            let _ = write!(out, "%{other:02X}");
                        }
                    }
                }
            }
            Segment::Index(index) => {
                if let Some(parent) = self.parent {
                    parent.write(out);
                }
                let _ = write!(out, "/{index}");
            }
        }
    }
}
