//! The plan as numbers: nodes by index, time as minutes.

use super::request::Lag;
use crate::compute::calendar::{CalendarError, Cure, MarkNotice, Moment, Timeline};

/// The crews' days and the notice days, counted from one first day.
#[derive(Debug, Clone)]
pub(crate) struct Lines<'a> {
    pub(crate) crew: Timeline<'a>,
    pub(crate) notice: Timeline<'a>,
}

/// A lag with its hours in whole minutes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Gap {
    None,
    Minutes(i64),
    WorkingDays(u32),
    CalendarDays(u32),
}

impl Gap {
    pub(crate) fn of(lag: Lag) -> Option<Gap> {
        Some(match lag {
            Lag::None | Lag::WorkingDays(0) | Lag::CalendarDays(0) => Gap::None,
            Lag::WorkingHours(hours) => {
                let minutes = crate::compute::calendar::WorkMinutes::from_hours(hours).ok()?.minutes();
                if minutes == 0 { Gap::None } else { Gap::Minutes(i64::from(minutes)) }
            }
            Lag::WorkingDays(n) => Gap::WorkingDays(n),
            Lag::CalendarDays(n) => Gap::CalendarDays(n),
        })
    }

    /// Earliest arrival at the successor after this finish.
    pub(crate) fn after(self, lines: &mut Lines<'_>, finish: Moment) -> Result<Moment, CalendarError> {
        match self {
            Gap::None => Ok(finish),
            Gap::CalendarDays(n) => Ok(finish.plus_days(i64::from(n))),
            Gap::WorkingDays(n) => lines.crew.plus_working_days(finish, n),
            Gap::Minutes(m) => {
                let worked = lines.crew.worked(finish)?;
                lines.crew.finish_at(worked + m)
            }
        }
    }
}

/// What a node does with time.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Kind {
    /// A crew works for the node's minutes.
    Work { one_day: bool },
    /// Marks.
    Marks(MarkNotice),
    /// Working days of the notice calendar.
    WorkingDays(u32),
    /// Calendar days.
    CalendarDays(u32),
    /// Cure.
    Cure(Cure),
    /// What is left of the day.
    RestOfDay,
    /// Until the morning of a day.
    Until(Moment),
    /// No time.
    Milestone,
    /// Known from reports: finished, or a wait under way.
    Fixed { start: Moment, finish: Moment },
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Predecessor {
    pub(crate) node: usize,
    pub(crate) gap: Gap,
}

/// One way to man a node.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Manning {
    pub(crate) crew: Option<usize>,
    /// Resource and amount: trades of the crew, and machines.
    pub(crate) demands: Vec<(usize, u32)>,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Node {
    pub(crate) kind: Kind,
    /// Minutes of work; 0 for anything else.
    pub(crate) minutes: i64,
    pub(crate) predecessors: Vec<Predecessor>,
    pub(crate) successors: Vec<usize>,
    /// Not before.
    pub(crate) floor: Moment,
    /// When work under way really began.
    pub(crate) began: Option<Moment>,
    /// Whether it is a wait that nobody reported and that what came after it has left behind.
    pub(crate) overtaken: bool,
    /// When a wait under way was to be over, where its end is not reported and that day is past.
    pub(crate) due: Option<Moment>,
    /// Ways to man it; one without demands when it needs nobody.
    pub(crate) mannings: Vec<Manning>,
}

impl Node {
    pub(crate) fn is_fixed(&self) -> bool {
        matches!(self.kind, Kind::Fixed { .. })
    }

    pub(crate) fn is_work(&self) -> bool {
        matches!(self.kind, Kind::Work { .. })
    }

    /// Whether it needs a machine, however it is manned.
    pub(super) fn uses(&self, machine: usize) -> bool {
        self.mannings.first().is_some_and(|m| m.demands.iter().any(|(r, _)| *r == machine))
    }
}

/// Start and finish of a node.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Span {
    pub(crate) arrival: Moment,
    pub(crate) start: Moment,
    pub(crate) finish: Moment,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Network {
    pub(crate) nodes: Vec<Node>,
    /// Node indices, predecessors first.
    pub(crate) order: Vec<usize>,
    /// Limit of each resource.
    pub(crate) limits: Vec<u32>,
    /// Resources that are hired machines.
    pub(crate) hired: Vec<usize>,
    /// Minutes of the longest weekday: work drawn longer than that, though meant for one day, starts on a
    /// full one.
    pub(crate) longest_day: i64,
}

impl Network {
    /// Start and finish of a node that nothing but its arrival holds back.
    pub(crate) fn run(
        &self,
        lines: &mut Lines<'_>,
        node: &Node,
        minutes: i64,
        arrival: Moment,
    ) -> Result<Span, CalendarError> {
        let wait = |finish: Moment| Span { arrival, start: arrival, finish: finish.max(arrival) };
        Ok(match &node.kind {
            Kind::Work { one_day } => {
                let mut worked = lines.crew.worked(arrival)?;
                if *one_day {
                    worked = lines.crew.fit_in_one_day(worked, minutes.min(self.longest_day))?;
                }
                Span {
                    arrival,
                    start: lines.crew.start_at(worked)?,
                    finish: lines.crew.finish_at(worked + minutes)?,
                }
            }
            Kind::Marks(notice) => wait(notice.earliest_dig(&mut lines.notice, arrival)?),
            Kind::WorkingDays(n) => wait(lines.notice.after_working_days(arrival, *n)?),
            Kind::CalendarDays(n) => wait(arrival.plus_days(i64::from(*n))),
            Kind::Cure(cure) => wait(cure.done(arrival)),
            Kind::RestOfDay => wait(Moment::end_of_day(arrival.day())),
            Kind::Until(moment) => wait(*moment),
            Kind::Milestone => wait(arrival),
            Kind::Fixed { start, finish } => Span { arrival: *start, start: *start, finish: *finish },
        })
    }

    /// When the last predecessor lets a node begin, and not before its floor.
    pub(crate) fn arrival(
        &self,
        lines: &mut Lines<'_>,
        node: &Node,
        spans: &[Span],
    ) -> Result<Moment, CalendarError> {
        Ok(self.released(lines, node, spans)?.map_or(node.floor, |at| at.max(node.floor)))
    }

    /// When the last predecessor lets a node begin; `None` without predecessors.
    pub(super) fn released(
        &self,
        lines: &mut Lines<'_>,
        node: &Node,
        spans: &[Span],
    ) -> Result<Option<Moment>, CalendarError> {
        let mut released = None;
        for predecessor in &node.predecessors {
            if let Some(span) = spans.get(predecessor.node) {
                released = released.max(Some(predecessor.gap.after(lines, span.finish)?));
            }
        }
        Ok(released)
    }

    /// Spans to be filled, one per node.
    pub(crate) fn blank(&self) -> Vec<Span> {
        let zero = Moment(0);
        vec![Span { arrival: zero, start: zero, finish: zero }; self.nodes.len()]
    }
}
