//! The words of a plan as it is handed out.

use crate::compute::plan::HoldKind;
use crate::compute::plan::issued::Change;
use crate::compute::plan::result::{Nature, Status};
use crate::wire_enum;

wire_enum! {
    /// What a task is.
    pub enum PlanTaskKind {
        /// a crew is at it
        Work = "work",
        /// time passes by itself
        Wait = "wait",
        /// a moment
        Milestone = "milestone",
    }
}

wire_enum! {
    /// How a task goes before another.
    pub enum PlanLinkKind {
        /// the other begins when it is finished
        FinishToStart = "finish_to_start",
    }
}

wire_enum! {
    /// How far a task is.
    pub enum PlanTaskStatus {
        /// not begun
        Planned = "planned",
        /// begun and not finished
        UnderWay = "under_way",
        /// finished
        Finished = "finished",
    }
}

wire_enum! {
    /// What a hold point waits for.
    pub enum PlanHoldKind {
        /// utility marks are called for before anybody digs
        CallBeforeDigging = "call_before_digging",
        /// somebody looks at it before the pour
        InspectionBeforePour = "inspection_before_pour",
        /// the concrete has cured for wheels
        WheelsMayCross = "wheels_may_cross",
        /// the concrete has cured for feet
        PeopleMayCross = "people_may_cross",
    }
}

wire_enum! {
    /// What of a plan is meant.
    pub enum PlanItem {
        /// the task
        Task = "task",
        /// the hold point of the task
        HoldPoint = "hold_point",
    }
}

wire_enum! {
    /// What a state of a plan changed.
    pub enum PlanChangeKind {
        /// was not there before
        Added = "added",
        /// has other days
        Moved = "moved",
        /// is further than before, on the same days
        Progressed = "progressed",
        /// has another name or note
        Reworded = "reworded",
        /// is no longer in the plan
        Withdrawn = "withdrawn",
        /// is in the plan again
        Restored = "restored",
    }
}

impl From<Nature> for PlanTaskKind {
    fn from(nature: Nature) -> Self {
        match nature {
            Nature::Work => Self::Work,
            Nature::Wait => Self::Wait,
            Nature::Milestone => Self::Milestone,
        }
    }
}

impl From<Status> for PlanTaskStatus {
    fn from(status: Status) -> Self {
        match status {
            Status::Planned => Self::Planned,
            Status::UnderWay => Self::UnderWay,
            Status::Finished => Self::Finished,
        }
    }
}

impl From<&HoldKind> for PlanHoldKind {
    fn from(kind: &HoldKind) -> Self {
        match kind {
            HoldKind::CallBeforeDigging => Self::CallBeforeDigging,
            HoldKind::InspectionBeforePour => Self::InspectionBeforePour,
            HoldKind::WheelsMayCross => Self::WheelsMayCross,
            HoldKind::PeopleMayCross => Self::PeopleMayCross,
        }
    }
}

impl From<&Change> for PlanChangeKind {
    fn from(change: &Change) -> Self {
        match change {
            Change::Added => Self::Added,
            Change::Moved { .. } => Self::Moved,
            Change::Progressed => Self::Progressed,
            Change::Reworded => Self::Reworded,
            Change::Withdrawn => Self::Withdrawn,
            Change::Restored => Self::Restored,
        }
    }
}
