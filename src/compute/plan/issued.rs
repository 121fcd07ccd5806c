//! Plans handed out: ids stay, sequence numbers rise.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{
    ids::TaskId,
    request::HoldKind,
    result::{HoldPoint, Nature, Plan, PlannedTask, Status},
};

/// A task or a hold point as it was handed out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IssuedItem {
    /// What people call it.
    pub name: String,
    /// More in words, where there is more to say.
    pub note: Option<String>,
    /// Work, wait or milestone.
    pub nature: Nature,
    /// First day.
    pub start: Date,
    /// Last day.
    pub finish: Date,
    /// Where it stands.
    pub status: Status,
    /// 0 when first handed out; one more with each change of its days or its standing, and when it is
    /// withdrawn or comes back.
    pub sequence: u32,
    /// Withdrawn: no longer in the plan, but still told to those who were told of it.
    pub withdrawn: bool,
}

/// A plan as it was handed out, with its version.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IssuedPlan {
    /// 1 for the first; one more for each revision in which anything changed.
    pub version: u32,
    /// Every task ever handed out, by id.
    pub tasks: BTreeMap<TaskId, IssuedItem>,
    /// Every hold point ever handed out, by the id of its task.
    pub holds: BTreeMap<TaskId, IssuedItem>,
}

/// What changed, by task.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Changes {
    /// Changes of tasks.
    pub tasks: BTreeMap<TaskId, Change>,
    /// Changes of hold points, by the id of their task.
    pub holds: BTreeMap<TaskId, Change>,
}

/// What a revision changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// New in the plan.
    Added,
    /// Other days.
    Moved {
        /// Days before.
        from: (Date, Date),
        /// Days now.
        to: (Date, Date),
    },
    /// Begun or finished, days unchanged.
    Progressed,
    /// Other words, days unchanged: its sequence stays.
    Reworded,
    /// No longer in the plan.
    Withdrawn,
    /// Back after having been withdrawn.
    Restored,
}

impl IssuedPlan {
    /// The first time a plan is handed out: version 1, every sequence 0.
    pub fn first(plan: &Plan) -> Self {
        IssuedPlan { version: 1, tasks: tasks_of(plan), holds: holds_of(plan) }
    }

    /// The next version: ids stay, the sequence of a task rises by one when its days or its standing changed,
    /// when it was withdrawn, or when it came back. Without any change the version stays too.
    ///
    /// Returns the revision and what changed, by task.
    ///
    /// # Example
    /// ```
    /// # use jiff::civil::date;
    /// # use rillcast::compute::{calendar::*, plan::*};
    /// # use rillcast::compute::plan::issued::{Change, IssuedPlan};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// # let laborer = TradeId::new("laborer")?;
    /// # let mut request = PlanRequest {
    /// #     calendar: WorkingCalendar::new(CalendarDraft::us_office()).map_err(|all| all[0].clone())?,
    /// #     notice_calendar: None,
    /// #     tasks: vec![Task::work(TaskId::new("dig")?, "Dig", Work::new(6.0, laborer.clone(), 2))],
    /// #     crews: vec![Crew { id: CrewId::new("crew-1")?, people: [(laborer, 2)].into() }],
    /// #     machines: vec![],
    /// #     anchor: Anchor::Start(date(2026, 3, 9)),
    /// #     status_date: None,
    /// #     settings: PlanSettings::default(),
    /// # };
    /// let issued = IssuedPlan::first(&schedule(&request)?);
    /// request.anchor = Anchor::Start(date(2026, 3, 10));
    /// let (revised, changes) = issued.revise(&schedule(&request)?);
    /// let dig = TaskId::new("dig")?;
    /// assert_eq!((revised.version, revised.tasks[&dig].sequence), (2, 1));
    /// assert!(matches!(changes.tasks[&dig], Change::Moved { .. }));
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn revise(&self, plan: &Plan) -> (IssuedPlan, Changes) {
        let (tasks, task_changes) = carry(&self.tasks, tasks_of(plan));
        let (holds, hold_changes) = carry(&self.holds, holds_of(plan));
        let changed = !(task_changes.is_empty() && hold_changes.is_empty());
        let version = self.version.saturating_add(u32::from(changed));
        (IssuedPlan { version, tasks, holds }, Changes { tasks: task_changes, holds: hold_changes })
    }
}

fn tasks_of(plan: &Plan) -> BTreeMap<TaskId, IssuedItem> {
    let item = |t: &PlannedTask| IssuedItem {
        name: t.name.clone(),
        note: Some(t.basis.clone()),
        nature: t.nature,
        start: t.planned.start.date,
        finish: t.planned.finish.date,
        status: t.status,
        sequence: 0,
        withdrawn: false,
    };
    plan.tasks.iter().map(|t| (t.id.clone(), item(t))).collect()
}

fn holds_of(plan: &Plan) -> BTreeMap<TaskId, IssuedItem> {
    // wheels and people may cross after the day that is handed out, though the concrete was cured before
    let day = |hold: &HoldPoint| match (&hold.kind, hold.then_from.yesterday()) {
        (HoldKind::WheelsMayCross | HoldKind::PeopleMayCross, Ok(last)) => last.max(hold.on),
        _ => hold.on,
    };
    let item = |hold: &HoldPoint| IssuedItem {
        name: hold_name(&hold.kind).into(),
        note: Some(hold.text.clone()),
        nature: Nature::Milestone,
        start: day(hold),
        finish: day(hold),
        status: plan.task(&hold.task).map_or(Status::Planned, |t| t.status),
        sequence: 0,
        withdrawn: false,
    };
    plan.hold_points.iter().map(|h| (h.task.clone(), item(h))).collect()
}

fn hold_name(kind: &HoldKind) -> &'static str {
    match kind {
        HoldKind::CallBeforeDigging => "Hold: call for utility marks",
        HoldKind::InspectionBeforePour => "Hold: inspection before the pour",
        HoldKind::WheelsMayCross => "Hold: wheels may cross after this day",
        HoldKind::PeopleMayCross => "Hold: people may walk on it after this day",
    }
}

fn carry(
    old: &BTreeMap<TaskId, IssuedItem>,
    new: BTreeMap<TaskId, IssuedItem>,
) -> (BTreeMap<TaskId, IssuedItem>, BTreeMap<TaskId, Change>) {
    let mut items = BTreeMap::new();
    let mut changes = BTreeMap::new();
    for (id, before) in old.iter().filter(|(id, _)| !new.contains_key(*id)) {
        let mut gone = before.clone();
        if !before.withdrawn {
            gone.withdrawn = true;
            gone.sequence = gone.sequence.saturating_add(1);
            changes.insert(id.clone(), Change::Withdrawn);
        }
        items.insert(id.clone(), gone);
    }
    for (id, mut item) in new {
        let change = match old.get(&id) {
            None => Some(Change::Added),
            Some(before) => {
                let change = before.change_to(&item);
                let rises = change.as_ref().is_some_and(|c| *c != Change::Reworded);
                item.sequence = before.sequence.saturating_add(u32::from(rises));
                change
            }
        };
        changes.extend(change.map(|c| (id.clone(), c)));
        items.insert(id, item);
    }
    (items, changes)
}

impl IssuedItem {
    fn change_to(&self, new: &IssuedItem) -> Option<Change> {
        let (from, to) = ((self.start, self.finish), (new.start, new.finish));
        if self.withdrawn {
            Some(Change::Restored)
        } else if from != to {
            Some(Change::Moved { from, to })
        } else if self.status != new.status {
            Some(Change::Progressed)
        } else if self.name != new.name || self.note != new.note || self.nature != new.nature {
            Some(Change::Reworded)
        } else {
            None
        }
    }
}
