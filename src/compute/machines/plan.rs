//! Each hire with its periods, its transport, and what owning would cost.

use crate::compute::hire::{self, HireFault, Hired, Own, Rates, Stay, Stretch};
use crate::units::Amount;
use crate::units::show::worded;
use crate::wire::book::work::{Equipment, OwnTerms};
use crate::wire::orders::HireRatesIn;
use rust_decimal::Decimal;
use serde::Serialize;
use utoipa::ToSchema;

/// Days of use over which owning is looked at where the book names none.
const HORIZON: u32 = 365;

/// How many of each period are paid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct PeriodCounts {
    /// Four-week periods.
    pub four_weeks: u32,
    /// Weeks.
    pub weeks: u32,
    /// Days.
    pub days: u32,
    /// Half days.
    pub half_days: u32,
}

/// One stay of one machine on site, from delivery to collection.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct StayOut {
    /// First day, the first of the job being 0.
    pub first: u32,
    /// Last day.
    pub last: u32,
    /// Days within it on which the machine is not needed.
    pub idle: u32,
    /// Periods paid.
    pub periods: PeriodCounts,
    /// Their cost.
    pub hire: Amount,
    /// Delivery and collection.
    pub transport: Amount,
}

/// Hire of one machine held against owning it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct OwningOut {
    /// Cost of hiring one for these days: what `per_unit` says, transport included.
    pub hire: Amount,
    /// Cost of owning one for these days: price less resale, plus upkeep, of which half a day takes that of a whole one.
    pub own: Amount,
    /// Whether owning costs less for this job alone.
    pub own_is_cheaper: bool,
    /// Fewest days of use in one stay from which owning costs less for good, the transport of that stay counted; absent when
    /// it never does within the horizon.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub break_even_days: Option<u32>,
    /// The sums in words.
    pub basis: String,
}

/// The hire of one machine.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct HireOut {
    /// Code of the machine; empty for rates given outright.
    pub machine: String,
    /// What it is.
    pub name: String,
    /// How many of it come and go together.
    pub units: u32,
    /// Half days for which each is needed on site.
    pub half_days: u32,
    /// Stays of each on site; one where only half days are known.
    pub stays: Vec<StayOut>,
    /// Hire and transport of all stays of one.
    pub per_unit: Amount,
    /// Hire and transport of all stays, of all units.
    pub total: Amount,
    /// Total when all of them are held from the first day to the last.
    pub held_throughout: Amount,
    /// Hire held against owning; absent where no price to own is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub owning: Option<OwningOut>,
    /// The sum in words.
    pub basis: String,
}

/// What a machine costs to hire, to bring and to own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terms<'b> {
    /// Its code.
    pub machine: &'b str,
    /// What it is.
    pub name: &'b str,
    /// Rates.
    pub rates: Rates,
    /// Delivery and collection of one stay.
    pub transport: Amount,
    /// What owning would cost.
    pub own: Option<&'b OwnTerms>,
}

impl HireOut {
    /// The same for so many machines.
    #[must_use]
    pub fn times(mut self, units: u32) -> Self {
        if units != 1 {
            let all = |one: Amount| Amount::from_minor(one.minor().saturating_mul(i64::from(units)));
            (self.total, self.held_throughout) = (all(self.total), all(self.held_throughout));
            self.basis = worded!("{}; {units} of them = {}", self.basis, self.total);
        }
        self.units = units;
        self
    }
}

/// The working of a hire, with the days that owning is held against where it is kept through others.
fn needed_on(days: u32, stays: &[Stay], basis: &str) -> String {
    let on_site: u32 = stays.iter().map(|s| s.last - s.first + 1).sum();
    if on_site == days {
        return basis.to_owned();
    }
    worded!("{basis}, needed on {days} of these {on_site} days")
}

fn small(n: i64) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

impl<'b> Terms<'b> {
    /// Those of a machine of the book.
    pub fn of(machine: &'b Equipment) -> Self {
        Self {
            machine: machine.code.as_str(),
            name: machine.name.as_str(),
            rates: Rates {
                half_day: machine.half_day.map(Amount::decimal),
                day: Some(machine.day.decimal()),
                week: machine.week.map(Amount::decimal),
                four_weeks: machine.four_weeks.map(Amount::decimal),
                days_per_week: machine.days_per_week.map_or(7, |n| small(n.get())),
                days_per_four_weeks: machine.days_per_four_weeks.map_or(28, |n| small(n.get())),
            },
            transport: machine.transport.unwrap_or(Amount::ZERO),
            own: machine.own.as_ref(),
        }
    }

    /// Rates given outright.
    pub fn given(rates: &HireRatesIn) -> Self {
        Self {
            machine: "",
            name: "rates given",
            rates: Rates {
                half_day: rates.half_day.map(Amount::decimal),
                day: rates.day.map(Amount::decimal),
                week: rates.week.map(Amount::decimal),
                four_weeks: rates.four_weeks.map(Amount::decimal),
                days_per_week: rates.days_per_week.map_or(7, |n| small(n.get())),
                days_per_four_weeks: rates.days_per_four_weeks.map_or(28, |n| small(n.get())),
            },
            transport: Amount::ZERO,
            own: None,
        }
    }

    /// One stay of so many half days.
    ///
    /// # Errors
    /// Every fault of the rates and the days.
    pub fn for_half_days(&self, half_days: u32) -> Result<HireOut, Vec<HireFault>> {
        let charge = hire::charge(&self.rates, half_days)?;
        let last = half_days.div_ceil(2).saturating_sub(1);
        let stay = self.stay(0, last, 0, &charge);
        let total = stay.hire + stay.transport;
        let basis = self.with_transport(charge.basis, total);
        Ok(HireOut {
            machine: self.machine.to_owned(),
            name: self.name.to_owned(),
            units: 1,
            half_days,
            stays: vec![stay],
            per_unit: total,
            total,
            held_throughout: total,
            owning: self.owning(half_days, total, &basis)?,
            basis,
        })
    }

    /// The cheapest stays over several stretches of days; `named` says which days a stay is on.
    ///
    /// # Errors
    /// Every fault of the rates and the stretches.
    pub fn for_stretches(
        &self,
        stretches: &[Stretch],
        named: impl Fn(&Stay) -> String,
    ) -> Result<HireOut, Vec<HireFault>> {
        let plan = hire::plan(&self.rates, self.transport.decimal(), stretches)?;
        let basis = plan.basis(named);
        let days: u32 = stretches.iter().map(|s| s.last - s.first + 1).sum();
        let half_days = days.saturating_mul(2);
        let total = Amount::line(plan.total);
        Ok(HireOut {
            machine: self.machine.to_owned(),
            name: self.name.to_owned(),
            units: 1,
            half_days,
            stays: plan.stays.iter().map(|s| self.stay(s.first, s.last, s.idle, &s.hire)).collect(),
            per_unit: total,
            total,
            held_throughout: Amount::line(plan.held_throughout),
            owning: self.owning(half_days, total, &needed_on(days, &plan.stays, &basis))?,
            basis,
        })
    }

    fn stay(&self, first: u32, last: u32, idle: u32, charge: &hire::HireCharge) -> StayOut {
        let p = charge.periods;
        StayOut {
            first,
            last,
            idle,
            periods: PeriodCounts {
                four_weeks: p.four_weeks,
                weeks: p.weeks,
                days: p.days,
                half_days: p.half_days,
            },
            hire: Amount::line(charge.total),
            transport: self.transport,
        }
    }

    fn with_transport(&self, basis: String, total: Amount) -> String {
        if self.transport == Amount::ZERO {
            basis
        } else {
            worded!("{basis}; with {} for transport {total}", self.transport)
        }
    }

    /// The planned hire against owning; a day begun takes its whole upkeep.
    fn owning(
        &self,
        half_days: u32,
        total: Amount,
        basis: &str,
    ) -> Result<Option<OwningOut>, Vec<HireFault>> {
        let Some(own) = self.own else { return Ok(None) };
        let of = |a: Option<Amount>| a.map_or(Decimal::ZERO, Amount::decimal);
        let terms = Own {
            price: own.price.decimal(),
            resale: of(own.resale),
            upkeep_per_day: of(own.upkeep_per_day),
        };
        let hired = Hired {
            rates: &self.rates,
            transport: self.transport.decimal(),
            days: half_days.div_ceil(2),
            total: total.decimal(),
            basis,
        };
        let horizon = own.horizon_days.map_or(HORIZON, |n| small(n.get()));
        let o = hire::own_or_hire(&hired, &terms, horizon)?;
        Ok(Some(OwningOut {
            hire: total,
            own: Amount::line(o.own),
            own_is_cheaper: o.own_is_cheaper,
            break_even_days: o.break_even_days,
            basis: match half_days % 2 {
                0 => o.basis,
                _ => worded!("upkeep of half a day counts as that of a whole one; {}", o.basis),
            },
        }))
    }
}
