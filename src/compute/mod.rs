//! The stages: numbers in, numbers out. Pure.
//!
//! | stage | in | out |
//! |---|---|---|
//! | [`ready`] | notes | what is left open is chosen, every name found: the layout |
//! | [`besides`] | a request at fault in its form | what else is wrong with it |
//! | [`cut_list`] | layout | what is cut from each stock length, and where it goes |
//! | [`takeoff`] | layout | quantities, measures, needs, checks |
//! | [`drainage`] | layout, storm, rain tables | flows, water surfaces, grade lines, checks; the system and pipe that pass |
//! | [`concrete`] | net volume | every way compared, the cheapest marked |
//! | [`consumables`] | measures | needs by coverage |
//! | [`labor`] | measures, soil, depth | hours by task and trade |
//! | [`machines`] | hours | machines on site and the cheapest mix of periods |
//! | [`needs`] | needs | cost lines rounded up to what is sold |
//! | [`purchase`] | needs, offers | who supplies what in which packs |
//! | [`pricing`] | cost lines | the quoted figure and taxes |
//! | [`options`] | notes with options and alternates | each with its own totals |
//! | [`customer_view`] | a stored estimate | what the customer sees of it |
//! | [`repricing`] | two estimates | what another price book changed |
//! | [`cautions`], [`load_out`] | all of it | what to mind, what to put on the truck |
//!
//! | beside the stages | holds |
//! |---|---|
//! | [`pipeline`] | the stages in order: read it to see how an estimate comes about |
//! | `pouring` | the order of a layout's concrete, day by day where the notes name days |
//! | `uplift`, `unconnected`, `unpaid_driver` | whether the channel stays down; outlets without a line; hours of trucks that nothing pays |
//! | `short_forms` | requests that say less than whole notes |
//! | `fields` | fields of a computing core at their places in a request |
//! | `summary` | what stands at the top of an answer |
//! | [`answers`] | what the service answers and keeps: estimate, plan, take-off |
//! | [`rules`] | the table that lines, figures and checks refer to |
//! | [`cutting`], [`buying`] | stock lengths and how to cut them; which supplier sells which need |
//! | [`hire`], [`haul`] | periods of a hire; loads and trips |
//! | [`exact`] | the numbers that orders share |
//! | [`orders`], [`order_concrete`] | the answers of the order calculators and of the concrete calculator |
//! | [`contract`] | what an estimate becomes: quote, change orders, invoices, ledger |
//! | [`calendar`], [`plan`], [`risk`], [`learning`] | working days; tasks and their dates; spread of hours and cost; rates from finished jobs: nothing of drains |
//! | [`job_plan`], [`job_record`] | what knows the trade on top of them: the tasks of a job from its layout; what happened against the estimate, and rates from it |
//! | [`rain`], [`water`] | the hydraulics by themselves, in SI units |
//! | [`rain_tables`] | a stored table turned into the one of [`rain`] |
//! | [`second_look`] | figures of a book or of notes far from what is usual or from what stands beside them |
//! | [`effort`], [`wanted`] | what may take long to compute; the end of what nobody waits for |

/// Version of the engine: changes whenever the same input may give another answer.
pub const ENGINE: &str = "1.17.0";

pub mod answers;
pub mod besides;
pub mod buying;
pub mod calendar;
pub mod cautions;
pub mod concrete;
pub mod consumables;
pub mod contract;
pub mod customer_view;
pub mod cut_list;
pub mod cutting;
pub mod drainage;
pub mod effort;
pub mod exact;
mod fields;
pub mod haul;
pub mod hire;
pub mod job_plan;
pub mod job_record;
pub mod labor;
pub mod learning;
pub mod load_out;
pub mod machines;
pub mod needs;
pub mod options;
pub mod order_concrete;
pub mod orders;
pub mod pipeline;
pub mod plan;
mod pouring;
pub mod pricing;
pub mod purchase;
pub mod rain;
pub mod rain_tables;
pub mod ready;
pub mod repricing;
pub mod risk;
pub mod rules;
pub mod second_look;
mod short_forms;
mod summary;
pub mod takeoff;
mod unconnected;
mod unpaid_driver;
mod uplift;
pub mod wanted;
pub mod water;
