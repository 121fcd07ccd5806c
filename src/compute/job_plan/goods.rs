//! The day on which the plan first needs goods, against the day by which they are ordered.

use super::Planned;
use crate::compute::answers::PouredOn;
use crate::compute::labor::LaborHours;
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Task;
use crate::units::show::worded;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Tasks that build in what is bought.
const BUILD_IN: [Task; 8] = [
    Task::Form,
    Task::AssembleChannel,
    Task::FitGrates,
    Task::HangAndBrace,
    Task::LayPipe,
    Task::Connect,
    Task::MixConcrete,
    Task::Pour,
];

impl Planned {
    /// The first day of every pour day: of those the notes number, or of the one.
    pub fn pour_days(&self) -> Vec<PouredOn> {
        let mut days: BTreeMap<i64, Date> = BTreeMap::new();
        for item in &self.prepared.items {
            let planned = self.plan.task(&item.task.id).map(|t| t.planned.start.date);
            if let (Some(day), Some(on)) = (item.pour_day, planned) {
                let first = days.entry(day).or_insert(on);
                *first = on.min(*first);
            }
        }
        days.into_iter().map(|(day, on)| PouredOn { day, on: on.to_string() }).collect()
    }

    /// A warning where the plan builds goods in before the day by which the orders have them there.
    pub fn goods_before(&self, needed_by: Date, labor: &LaborHours) -> Option<Check> {
        let builds_in = |place: &usize| labor.tasks.get(*place).is_some_and(|t| BUILD_IN.contains(&t.task));
        let first = self
            .prepared
            .items
            .iter()
            .filter(|item| item.made_of.iter().any(|(place, _)| builds_in(place)))
            .filter_map(|item| Some((self.plan.task(&item.task.id)?.planned.start.date, item)))
            .min_by_key(|(day, _)| *day);
        let (day, item) = first.filter(|(day, _)| *day < needed_by)?;
        let reason = worded!(
            "the plan needs goods on {day} (`{}`), the orders have them there by {needed_by}: name that day as `needed_by`, \
             with an `order_on` before it, so that offers which come later are set aside, or start later",
            item.task.id
        );
        Some(Check {
            name: "goods_before_the_plan",
            subject: "purchase".to_owned(),
            outcome: Outcome::Warn,
            reason,
        })
    }
}
