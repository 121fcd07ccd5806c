//! Whether the hours of a job hold the driver of its trucks, where no item of the haul pays one.

use super::labor::LaborHours;
use super::takeoff::{Takeoff, check};
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::Task;
use crate::units::show::worded;
use crate::units::{Quantity, Unit};
use rust_decimal::Decimal;

/// The hours of the trucks against those of the task; nothing where an item pays them or nobody times them.
pub(super) fn check_of(taken: &Takeoff<'_>, labor: &LaborHours) -> Option<Check> {
    let driving = Quantity::of_base(i128::from(taken.earth.unpaid_driving?.seconds()), Unit::Hr, 6);
    let haul = labor.tasks.iter().find(|t| t.task == Task::Haul);
    let worked = haul.map_or(Quantity::new(0, 0, Unit::Hr), |t| t.person_hours);
    let short = driving.value() - worked.value();
    let (outcome, reason) = if short <= Decimal::ZERO {
        (
            Outcome::Pass,
            worded!(
                "no item pays truck and driver: the {worked} of `{}` hold the {driving} of the trips",
                Task::Haul
            ),
        )
    } else {
        let short = Quantity::decimal(short, Unit::Hr, 6);
        let reason = worded!(
            "no item pays truck and driver, and `{}` has {worked} for {driving} of trips: {short} of driving are in no cost; give an \
             item by the load or by the hour, or raise the rate of `{}`",
            Task::Haul,
            Task::Haul
        );
        (Outcome::Warn, reason)
    };
    Some(check("haul_driver", Task::Haul.word(), outcome, reason))
}
