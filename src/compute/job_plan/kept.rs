//! Issued plans as JSON, so that ids and sequence numbers outlive the process.

use super::words::{PlanChangeKind, PlanItem};
use crate::compute::plan::TaskId;
use crate::compute::plan::issued::{Change, Changes, IssuedItem, IssuedPlan};
use crate::compute::plan::result::{Nature, Status};
use serde::Serialize;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// What a version changed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanChange)]
pub struct ChangeOut {
    /// Id of the task.
    pub task: String,
    /// Whether that task or its hold point is meant.
    pub of: PlanItem,
    /// What changed.
    pub change: PlanChangeKind,
    /// Days before, where it moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub from: Option<DaysOut>,
    /// Days now, where it moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub to: Option<DaysOut>,
}

/// First and last day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanDays)]
pub struct DaysOut {
    /// First day.
    #[schema(format = Date)]
    pub start: String,
    /// Last day.
    #[schema(format = Date)]
    pub finish: String,
}

/// The changes in order of their task.
pub fn changes(changes: &Changes) -> Vec<ChangeOut> {
    let out = |of: PlanItem| {
        move |(task, change): (&TaskId, &Change)| {
            let days = |d: &(jiff::civil::Date, jiff::civil::Date)| DaysOut {
                start: d.0.to_string(),
                finish: d.1.to_string(),
            };
            let (from, to) = match change {
                Change::Moved { from, to } => (Some(days(from)), Some(days(to))),
                Change::Added
                | Change::Progressed
                | Change::Reworded
                | Change::Withdrawn
                | Change::Restored => (None, None),
            };
            ChangeOut { task: task.to_string(), of, change: change.into(), from, to }
        }
    };
    changes
        .tasks
        .iter()
        .map(out(PlanItem::Task))
        .chain(changes.holds.iter().map(out(PlanItem::HoldPoint)))
        .collect()
}

fn item(item: &IssuedItem) -> Value {
    json!({
        "name": item.name, "note": item.note, "start": item.start.to_string(), "finish": item.finish.to_string(),
        "nature": match item.nature { Nature::Work => "work", Nature::Wait => "wait", Nature::Milestone => "milestone" },
        "status": match item.status { Status::Planned => "planned", Status::UnderWay => "under_way", Status::Finished => "finished" },
        "sequence": item.sequence, "withdrawn": item.withdrawn,
    })
}

/// A task or hold point that is no longer in the plan; those who were told of it take it out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(as = PlanWithdrawn)]
pub struct WithdrawnOut {
    /// Id of the task.
    pub task: String,
    /// Whether that task or its hold point is meant.
    pub of: PlanItem,
    /// Its sequence number.
    pub sequence: u32,
}

/// What is withdrawn, in order of its task.
pub fn withdrawn(issued: &IssuedPlan) -> Vec<WithdrawnOut> {
    let of = |items: &BTreeMap<TaskId, IssuedItem>, of: PlanItem| -> Vec<WithdrawnOut> {
        let gone = items.iter().filter(|(_, i)| i.withdrawn);
        gone.map(|(id, i)| WithdrawnOut { task: id.to_string(), of, sequence: i.sequence }).collect()
    };
    let mut out = of(&issued.tasks, PlanItem::Task);
    out.extend(of(&issued.holds, PlanItem::HoldPoint));
    out
}

/// An issued plan as JSON text.
pub fn write(issued: &IssuedPlan) -> String {
    let all = |items: &BTreeMap<TaskId, IssuedItem>| -> Map<String, Value> {
        items.iter().map(|(id, i)| (id.to_string(), item(i))).collect()
    };
    json!({"version": issued.version, "tasks": all(&issued.tasks), "holds": all(&issued.holds)}).to_string()
}

fn read_items(value: &Value) -> Option<BTreeMap<TaskId, IssuedItem>> {
    let mut out = BTreeMap::new();
    for (id, v) in value.as_object()? {
        let item = IssuedItem {
            name: v["name"].as_str()?.to_owned(),
            note: v["note"].as_str().map(ToOwned::to_owned),
            nature: match v["nature"].as_str()? {
                "work" => Nature::Work,
                "wait" => Nature::Wait,
                _ => Nature::Milestone,
            },
            start: v["start"].as_str()?.parse().ok()?,
            finish: v["finish"].as_str()?.parse().ok()?,
            status: match v["status"].as_str()? {
                "finished" => Status::Finished,
                "under_way" => Status::UnderWay,
                _ => Status::Planned,
            },
            sequence: u32::try_from(v["sequence"].as_u64()?).ok()?,
            withdrawn: v["withdrawn"].as_bool()?,
        };
        out.insert(TaskId::new(id.as_str()).ok()?, item);
    }
    Some(out)
}

/// Reads what [`write()`] wrote; `None` for anything else.
pub fn read(text: &str) -> Option<IssuedPlan> {
    let value: Value = serde_json::from_str(text).ok()?;
    Some(IssuedPlan {
        version: u32::try_from(value["version"].as_u64()?).ok()?,
        tasks: read_items(&value["tasks"])?,
        holds: read_items(&value["holds"])?,
    })
}
