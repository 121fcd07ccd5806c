//! The plan made of hours, and what rates of hours are held against.
//!
//! ```text
//! Task (hours from `compute::labor`) ─▶ check ─▶ Network ─▶ critical (early, late, floats)
//!                                                  └────▶ level (crews, machines) ─▶ Plan ─▶ issued
//! ```
//!
//! | module | holds |
//! |---|---|
//! | [`ids`] | names of tasks, crews, trades, machines |
//! | [`request`] | what is planned: tasks, links, waits, crews, machines, progress |
//! | [`error`] | what can be wrong with a request, every fault at once |
//! | `check` | the check of a request, which turns it into a network |
//! | `network`, `order` | the plan as numbers; predecessors first, or the circle that forbids it |
//! | `times` | rules, floors and reported progress of each task |
//! | `critical` | early and late dates without limits on crews and machines |
//! | `resources`, `profile` | crews and machines as numbers, and their use over working time |
//! | `level` | the plan with crews and machines limited |
//! | `together` | the same with the tasks of one hired machine after each other |
//! | [`mod@schedule`] | [`schedule::schedule`]: the whole plan for a start or a wished finish |
//! | [`result`] | the plan: dates, floats, loading, machine windows, hold points |
//! | `loading` | who is at work each day, and how long each machine is on site |
//! | `closures`, `holds`, `overtaken` | closures that moved something; hold points; waits that nobody reported |
//! | [`issued`] | plans handed out: stable ids, rising sequence numbers |
//! | [`overtime`] | hours beyond the day and the week |
//! | [`rate_units`] | published rates in hours per unit: from output per hour, from hours per cubic metre |
//! | [`bands`] | published rates to compare a rate with |
//!
//! # How hours become dates
//! A task's crew-hours are rounded up to the minute once and laid on the calendar's working minutes, starting
//! at the hour at which its last predecessor ended. A working day has the calendar's hours; what does not fit
//! runs on into the next working day, unless the task must not stand overnight: then it waits for a day with
//! enough hours left. A wait uses no crew and runs by its own rule (cure: calendar days). A milestone takes
//! no time.

pub mod bands;
mod check;
mod closures;
mod critical;
pub mod error;
mod holds;
pub mod ids;
pub mod issued;
mod level;
mod loading;
mod network;
mod order;
mod overtaken;
pub mod overtime;
mod profile;
pub mod rate_units;
pub mod request;
mod resources;
pub mod result;
pub mod schedule;
mod times;
mod together;

pub(crate) use check::compile;
pub(crate) use level::{Leveller, network_order};
pub(crate) use network::{Lines, Network, Span};

pub use error::{PlanError, PlanErrors};
pub use ids::{CrewId, LabelError, MachineId, TaskId, TradeId};
pub use request::{
    Anchor, Crew, HoldKind, Lag, Link, Machine, MachineNeed, PlanRequest, PlanSettings, Progress, Task,
    TaskKind, TradeNeed, Wait, Work,
};
pub use result::Plan;
pub use schedule::schedule;
