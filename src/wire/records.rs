//! Bodies about what happened on accepted jobs, and about the rates that follow from it.

use crate::domain::words::{Category, Measure, Task};
use crate::units::quantity::{AnyQuantity, WorkTime};
use crate::units::{Amount, ItemQuantity, Percent, Volume};
use crate::wire::contract::Signed;
use crate::wire::day::Day;
use crate::wire::scalar::Flag;
use crate::wire::{Code, Label, List};
use crate::{wire_enum, wire_object, wire_union};

wire_object! {
    /// The mark that a job was accepted.
    pub struct AcceptanceIn {
        /// Estimate that was accepted, `est_…`; the newest of this job when left out.
        pub estimate_id: Option<Label>,
        /// The day.
        pub accepted_on: Day,
    }
    example = serde_json::json!({"accepted_on": "2026-03-02"});
}

wire_union! {
    /// One thing that happened on an accepted job. A later entry that `corrects` an earlier one of the same kind stands in
    /// its place; a `void` takes it out.
    pub enum ActualEntry {
        /// hours that people worked
        Hours as HoursWorked = "hours" {
            /// The day: not after that on which the job is finished. It may be before the acceptance, since work begins on a word
            /// that the office puts down later.
            on: Day,
            /// What they did.
            task: Task,
            /// How; as estimated when left out.
            method: Option<Code>,
            /// Code of the run or drain line it was done on, as `part_codes` of a task of the plan lists it. Work on several is
            /// recorded on each of them, or on none.
            part: Option<Code>,
            /// Whose crew.
            crew: Option<Code>,
            /// Trade.
            trade: Code,
            /// Hours of all its people together.
            hours: WorkTime,
            /// Remarks.
            note: Option<Label>,
            /// The record this stands in place of.
            corrects: Option<Label>,
        }
        /// a quantity that was done
        Quantity as QuantityDone = "quantity" {
            /// The day.
            on: Day,
            /// What is measured.
            measure: Measure,
            /// How much, added to what was recorded before.
            quantity: AnyQuantity,
            /// Remarks.
            note: Option<Label>,
            /// The record this stands in place of.
            corrects: Option<Label>,
        }
        /// a concrete ticket
        Concrete as ConcreteTicket = "concrete" {
            /// The day.
            on: Day,
            /// Number on the ticket.
            ticket: Label,
            /// Whose ticket it is, where two suppliers have tickets of one number.
            supplier: Option<Label>,
            /// Volume delivered.
            volume: Volume,
            /// Remarks.
            note: Option<Label>,
            /// The record this stands in place of.
            corrects: Option<Label>,
        }
        /// something delivered
        Delivery as ItemDelivered = "delivery" {
            /// The day.
            on: Day,
            /// Item code.
            item: Code,
            /// How many of the item's unit.
            quantity: ItemQuantity,
            /// Remarks.
            note: Option<Label>,
            /// The record this stands in place of.
            corrects: Option<Label>,
        }
        /// a purchase order that was placed
        Ordered as OrderPlaced = "order" {
            /// The day it was placed.
            on: Day,
            /// Its number, as the purchase orders of the estimate give it.
            order: Label,
            /// What the supplier confirmed for all of it, before tax; when left out, what the purchase order comes to when it is
            /// recorded.
            total: Option<Amount>,
            /// Remarks.
            note: Option<Label>,
            /// The record this stands in place of.
            corrects: Option<Label>,
        }
        /// the job is finished
        Finished as JobFinished = "finished" {
            /// The day: that of the last hours or a later one.
            on: Day,
            /// The record this stands in place of.
            corrects: Option<Label>,
        }
        /// an earlier record was wrong and nothing stands in its place
        Void as RecordVoided = "void" {
            /// The day on which that was found.
            on: Day,
            /// The record.
            corrects: Label,
            /// Why.
            reason: Label,
        }
    }
}

wire_object! {
    /// A purchase order as the record of placing it keeps it: additions that the customer takes later are not in it.
    pub struct OrderKept {
        /// What was reported.
        pub entry: ActualEntry,
        /// What the order held when it was recorded, by category, before tax.
        pub held: List<OrderedSum, 0, 6>,
    }
}

wire_object! {
    /// What a purchase order holds of a category.
    pub struct OrderedSum {
        /// The category.
        pub category: Category,
        /// Goods and delivery, before tax.
        pub amount: Signed,
    }
}

impl ActualEntry {
    /// The day it is about.
    pub const fn on(&self) -> Day {
        match self {
            ActualEntry::Hours { on, .. }
            | ActualEntry::Quantity { on, .. }
            | ActualEntry::Concrete { on, .. }
            | ActualEntry::Delivery { on, .. }
            | ActualEntry::Ordered { on, .. }
            | ActualEntry::Finished { on, .. }
            | ActualEntry::Void { on, .. } => *on,
        }
    }

    /// The record it stands in place of.
    pub const fn corrects(&self) -> Option<&Label> {
        match self {
            ActualEntry::Hours { corrects, .. }
            | ActualEntry::Quantity { corrects, .. }
            | ActualEntry::Concrete { corrects, .. }
            | ActualEntry::Delivery { corrects, .. }
            | ActualEntry::Ordered { corrects, .. }
            | ActualEntry::Finished { corrects, .. } => corrects.as_ref(),
            ActualEntry::Void { corrects, .. } => Some(corrects),
        }
    }
}

wire_object! {
    /// Records to be added.
    pub struct ActualsIn {
        /// What happened; all are written or none.
        pub entries: List<ActualEntry, 1, 500>,
    }
    example = serde_json::json!({"entries": [{"kind": "hours", "on": "2026-03-09", "task": "dig_run", "trade": "laborer", "hours": "6.5 hr"}]});
}

wire_enum! {
    /// Which number of a skewed spread becomes the rate.
    pub enum RateNumber {
        /// the typical job: as many take longer as shorter
        Median = "median",
        /// what jobs take on average
        Mean = "mean",
    }
}

wire_enum! {
    /// Which rates go into the draft.
    pub enum RatesTaken {
        /// those with enough data
        Enough = "enough",
        /// all with any data
        All = "all",
    }
}

wire_object! {
    /// A person's word to leave a line of a job out.
    pub struct LeftOutIn {
        /// The job, `job_…`.
        pub job_id: Label,
        /// The task.
        pub task: Task,
        /// Who says so.
        pub by: Label,
        /// Why.
        pub reason: Label,
    }
}

wire_object! {
    /// How strongly the book holds, how fast jobs fade, when data is enough. Percentages are of the logarithm of actual over
    /// estimated hours.
    pub struct LearnSettingsIn {
        /// How far a rate of the book may be off before any job is seen, from 0.1 to 200; 20 when left out. One that was learned
        /// before is known as well as its spread in the book says, less by its age.
        pub book_pct: Option<Percent>,
        /// Spread of one line about its rate, from 0.1 to 200; 20 when left out.
        pub line_pct: Option<Percent>,
        /// Spread that the lines of a job share, from 0 to 200; 15 when left out.
        pub job_pct: Option<Percent>,
        /// Share of what may be off in the book that the rates of a class share, from 0 to 95; 50 when left out. A rate that was
        /// learned before stands apart: what its class told is in it.
        pub class_share_pct: Option<Percent>,
        /// Whether the two spreads stay as given instead of being learned along.
        pub fixed_spread: Flag,
        /// Days after which a job counts half; 730 when left out.
        pub half_life_days: Option<crate::wire::Whole<1, 36500>>,
        /// Jobs from which a rate has enough data, whatever their age, those that are in the rate already among them; 5 when left
        /// out. Old ones count for less in how well the rate is known.
        pub enough_jobs: Option<crate::wire::Whole<1, 1000>>,
        /// How well a rate must be known to have enough data, from 0 to 200; 12 when left out.
        pub enough_pct: Option<Percent>,
    }
}

wire_object! {
    /// Rates to be proposed from finished jobs.
    pub struct ProposalIn {
        /// Version whose rates are judged and copied; the one of the book published last when left out.
        pub price_book_version: Option<Label>,
        /// The day from which the age of jobs is counted; today when left out.
        pub as_of: Option<Day>,
        /// Which number becomes the rate; `median` when left out.
        pub number: Option<RateNumber>,
        /// Which rates go into the draft; `enough` when left out.
        pub take: Option<RatesTaken>,
        /// Lines left out by a person's word. Outliers are flagged, never left out by themselves.
        pub leave_out: List<LeftOutIn, 0, 500>,
        /// A past job on which the effect of the proposed rates is shown.
        pub effect_on_job: Option<Label>,
        /// How strongly the book holds, how fast jobs fade, when data is enough.
        pub settings: Option<LearnSettingsIn>,
    }
}
