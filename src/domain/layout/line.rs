//! A drain line of a resolved layout: what enters it and where, its legs, the ground over it.

use super::{Layout, RunOutlet, Top};
use crate::units::{Factor, Length, Percent};
use crate::wire::book::systems::Pipe;
use crate::wire::notes::LineEnd;
use crate::wire::{Code, Whole};
use std::fmt;
use std::ops::{AddAssign, Sub};

/// A drain line.
#[derive(Debug, Clone)]
pub struct Line<'a> {
    /// Its name.
    pub id: &'a Code,
    /// Pipe.
    pub pipe: &'a Pipe,
    /// Outlets that drain into it.
    pub from: Vec<Feed>,
    /// Lines that join it, and where on this one.
    pub joined_by: Vec<Junction>,
    /// The legs.
    pub legs: Vec<Leg>,
    /// Length in all.
    pub length: Length,
    /// Ground levels by station; empty when a constant depth is given.
    pub ground: Vec<GroundPoint>,
    /// Constant depth to dig.
    pub depth: Option<Length>,
    /// Fall set in the notes.
    pub fall: Option<Percent>,
    /// Trench width set in the notes.
    pub trench_width: Option<Length>,
    /// Batter of the sides, horizontal for vertical; zero where they stand upright.
    pub side_slope: Factor,
    /// Where it ends, as the notes say it.
    pub ends: &'a LineEnd,
    /// The line it joins, and where on that one.
    pub joins: Option<Junction>,
}

impl Line<'_> {
    /// Stations at which something enters: outlets first, then lines.
    pub fn entries(&self) -> impl Iterator<Item = Length> + Clone {
        self.from.iter().map(|feed| feed.at).chain(self.joined_by.iter().map(|junction| junction.at))
    }
}

/// An outlet that drains into a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Feed {
    /// Index of the run.
    pub run: usize,
    /// Index of the outlet among those of the run.
    pub outlet: usize,
    /// Station on the line.
    pub at: Length,
}

impl<'a> Layout<'a> {
    /// The outlet that drains there.
    pub fn outlet(&self, feed: &Feed) -> Option<&RunOutlet<'a>> {
        self.runs.get(feed.run)?.outlets.get(feed.outlet)
    }
}

/// Where one line meets another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Junction {
    /// Index of the other line.
    pub line: usize,
    /// Station on the line that is joined.
    pub at: Length,
}

/// A ground level along a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GroundPoint {
    /// Station.
    pub at: Length,
    /// Level of the ground there.
    pub level: Length,
}

/// A straight piece of a line.
#[derive(Debug, Clone, Copy)]
pub struct Leg {
    /// Length.
    pub length: Length,
    /// Turn at its lower end, where it turns.
    pub bend: Option<Degrees>,
    /// What lies on top.
    pub top: Top,
}

/// A turn in whole degrees.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Degrees(i64);

impl Degrees {
    /// None at all.
    pub const ZERO: Degrees = Degrees(0);

    /// A turn that notes or book name.
    pub const fn of<const LEAST: i64, const MOST: i64>(noted: Whole<LEAST, MOST>) -> Self {
        Degrees(noted.get())
    }
}

impl AddAssign for Degrees {
    fn add_assign(&mut self, more: Self) {
        self.0 += more.0;
    }
}

impl Sub for Degrees {
    type Output = Self;

    fn sub(self, less: Self) -> Self {
        Degrees(self.0 - less.0)
    }
}

impl fmt::Display for Degrees {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}°", self.0)
    }
}
