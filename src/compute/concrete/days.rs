//! What is poured on one day ordered together, beside each pour alone and all of them at once.

use super::last_load::{LastLoadChoice, choices, cures, pick};
use super::trucks::{TruckSequence, sequence};
use super::weather::{self, PourWeatherAnswer};
use super::{ConcreteOrder, Terms, WayOrder, crew, order_with};
use crate::domain::book::PriceBook;
use crate::domain::lines::{Check, CostLine};
use crate::units::show::{Show, counted, worded};
use crate::units::{Amount, Quantity, Volume};
use crate::wire::Faults;
use crate::wire::book::concrete::ConcreteWay;
use crate::wire::notes::ShortLastLoad;
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A volume poured in one go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pour {
    /// What is poured.
    pub of: String,
    /// Pour day, from 1.
    pub day: i64,
    /// Net volume.
    pub net: Volume,
}

/// A pour of a day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PourPart {
    /// What is poured.
    pub of: String,
    /// Net volume.
    pub net: Quantity,
}

/// One way on a pour day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PourDayWay {
    /// Code of the way.
    pub code: String,
    /// What is ordered: a volume, or bags.
    pub order: Quantity,
    /// Loads or trips; pallets for bags.
    pub loads: i64,
    /// Everything together.
    pub all_in: Amount,
}

/// One day's pours, ordered together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PourDay {
    /// Number of the pour day, from 1.
    pub day: i64,
    /// What is poured on it.
    pub pours: Vec<PourPart>,
    /// Net volume of the day.
    pub net: Quantity,
    /// Net with waste.
    pub with_waste: Quantity,
    /// Code of the way chosen.
    pub chosen: String,
    /// Why.
    pub because: String,
    /// What the day costs by it, all in.
    pub all_in: Amount,
    /// Every way of the book, cheapest first.
    pub ways: Vec<PourDayWay>,
    /// What can be done about a short last truck; empty where none is short.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub last_load: Vec<LastLoadChoice>,
    /// The trucks; absent where none come or the book tells no pour rate.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub trucks: Option<TruckSequence>,
    /// The weather, where it is given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub weather: Option<PourWeatherAnswer>,
}

/// A pour ordered by itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PourAlone {
    /// What is poured.
    pub of: String,
    /// Code of the way it would come by.
    pub way: String,
    /// What it would cost, all in.
    pub all_in: Amount,
}

/// The pours as planned beside other ways to share them among days.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PoursCompared {
    /// Ordered by the day, as planned.
    pub as_planned: Amount,
    /// Every pour ordered and placed by itself.
    pub each_alone: Amount,
    /// Pour by pour.
    pub pours: Vec<PourAlone>,
    /// All on one day.
    pub all_together: Amount,
    /// In words.
    pub basis: String,
}

impl PourDay {
    /// The checks of the day: time limit, whether the crew keeps up, weather.
    pub fn checks(&self) -> impl Iterator<Item = Check> {
        let trucks = self.trucks.iter().flat_map(|t| t.checks(self.day));
        let weather = self.weather.iter().flat_map(|w| w.checks.iter().cloned());
        trucks.chain(weather)
    }
}

/// Orders the pours of a job by the day.
///
/// # Errors
/// As [`super::order`].
pub fn by_day(
    pours: &[Pour],
    terms: &Terms<'_>,
    book: &PriceBook,
    show: Show,
) -> Result<ConcreteOrder, Faults> {
    let pours: Vec<&Pour> = pours.iter().filter(|p| p.net.nm3() > 0).collect();
    let mut days: BTreeMap<i64, Vec<&Pour>> = BTreeMap::new();
    for pour in &pours {
        days.entry(pour.day).or_default().push(pour);
    }
    let sum = |pours: &[&Pour]| pours.iter().map(|p| p.net).sum::<Volume>();
    let all = order_with(sum(&pours), terms, book, show)?;
    let cost = |o: &ConcreteOrder| o.chosen_way().map_or(Amount::ZERO, |w| w.all_in);
    let all_together = cost(&all);
    // A single day orders all of it.
    let mut orders: Vec<(i64, ConcreteOrder)> = Vec::new();
    let mut answers = Vec::with_capacity(days.len());
    for (day, list) in &days {
        let net = sum(list);
        if days.len() > 1 {
            orders.push((*day, order_with(net, terms, book, show)?));
        }
        let order = orders.last().map_or(&all, |(_, order)| order);
        answers.extend(answer(*day, list, net, order, terms, book, show));
    }
    let as_planned = if orders.is_empty() { all_together } else { orders.iter().map(|(_, o)| cost(o)).sum() };
    let mut alone = Vec::new();
    for pour in pours.iter().filter(|_| pours.len() > 1) {
        let order = order_with(pour.net, terms, book, show)?;
        alone.push(PourAlone {
            of: pour.of.clone(),
            way: order.chosen.clone().unwrap_or_default(),
            all_in: cost(&order),
        });
    }
    let mut whole_job = if orders.is_empty() { all } else { joined(all, &orders, show) };
    if pours.len() > 1 {
        let each_alone = alone.iter().map(|a| a.all_in).sum();
        whole_job.compared = Some(PoursCompared {
            as_planned,
            each_alone,
            pours: alone,
            all_together,
            basis: worded!(
                "{} on {}: {as_planned} as planned, {each_alone} each ordered and placed by itself, {all_together} all on \
                 one day; mixing, placing and purchase tax included",
                counted(pours.len(), "pour"),
                counted(days.len(), "day")
            ),
        });
    }
    whole_job.days = answers;
    Ok(whole_job)
}

fn answer(
    day: i64,
    pours: &[&Pour],
    net: Volume,
    order: &ConcreteOrder,
    terms: &Terms<'_>,
    book: &PriceBook,
    show: Show,
) -> Option<PourDay> {
    let chosen = order.chosen_way()?;
    let way: &ConcreteWay = book.doc().concrete_ways.iter().find(|w| w.code() == chosen.code.as_str())?;
    let setting = terms.setting(book, show);
    let as_is = match terms.last_load {
        ShortLastLoad::AsIs => Cow::Borrowed(chosen),
        _ => Cow::Owned(crew::reckon(way, net, terms.waste, &setting)?),
    };
    let cures = cures(way, &as_is, net, terms.waste, &setting)?;
    let picked = pick(&cures, terms.last_load);
    let limit = weather::time_limit(day, terms, book);
    Some(PourDay {
        day,
        pours: pours.iter().map(|p| PourPart { of: p.of.clone(), net: show.volume(p.net) }).collect(),
        net: order.net,
        with_waste: order.with_waste,
        chosen: chosen.code.clone(),
        because: order.because.clone(),
        all_in: chosen.all_in,
        ways: order
            .ways
            .iter()
            .map(|w| PourDayWay { code: w.code.clone(), order: w.order, loads: w.loads, all_in: w.all_in })
            .collect(),
        last_load: choices(&cures, picked),
        trucks: sequence(day, chosen, way, terms, book),
        weather: terms.weather_of(day).zip(limit).map(|(w, limit)| weather::check(day, w, limit, book, show)),
    })
}

/// The orders of several days as one: every way on all days, and what is chosen day by day.
fn joined(all: ConcreteOrder, orders: &[(i64, ConcreteOrder)], show: Show) -> ConcreteOrder {
    let find = |order: &ConcreteOrder, code: &str| order.ways.iter().find(|w| w.code == code).cloned();
    let mut ways: Vec<WayOrder> = all
        .ways
        .iter()
        .filter_map(|way| {
            let of_days = orders.iter().map(|(day, o)| Some((*day, find(o, &way.code)?)));
            of_days.collect::<Option<Vec<_>>>().and_then(|list| on_all_days(list, show))
        })
        .collect();
    ways.sort_by_key(|w| w.all_in);
    if let Some(first) = ways.first_mut() {
        first.cheapest = true;
    }
    let codes: Vec<&str> = orders.iter().filter_map(|(_, o)| o.chosen.as_deref()).collect();
    let same = codes.windows(2).all(|w| w[0] == w[1]);
    let each = |text: fn(&ConcreteOrder) -> &str| {
        orders.iter().map(|(day, o)| worded!("pour day {day}: {}", text(o))).collect::<Vec<_>>().join("; ")
    };
    ConcreteOrder {
        basis: each(|o| &o.basis),
        chosen: codes.first().filter(|_| same).map(|c| (*c).to_owned()),
        because: each(|o| &o.because),
        ways,
        taken: orders
            .iter()
            .filter_map(|(day, o)| Some((*day, of_day(*day, o.chosen_way()?.clone()))))
            .collect(),
        ..all
    }
}

/// The working of a line says which day it is for.
fn of_day(day: i64, mut order: WayOrder) -> WayOrder {
    for line in &mut order.lines {
        line.basis = worded!("pour day {day}: {}", line.basis);
    }
    if !order.work_basis.is_empty() {
        order.work_basis = worded!("pour day {day}: {}", order.work_basis);
    }
    for warning in &mut order.warnings {
        *warning = worded!("pour day {day}: {warning}");
    }
    order
}

/// One way on every day.
fn on_all_days(orders: Vec<(i64, WayOrder)>, show: Show) -> Option<WayOrder> {
    let mut list = orders.into_iter().map(|(day, order)| of_day(day, order));
    let first = list.next()?;
    Some(list.fold(first, |mut sum, next| {
        let mut trucked = std::mem::take(&mut sum.trucked);
        trucked.extend_from_slice(&next.trucked);
        let order = Quantity::decimal(sum.order.value() + next.order.value(), sum.order.unit(), 6);
        let loads = sum.loads + next.loads;
        WayOrder { order, loads, trucked, ..sum.with(next, show) }
    }))
}

impl WayOrder {
    /// This order and another beside it; what is ordered and the loads stay those of this one.
    pub(super) fn with(mut self, other: WayOrder, show: Show) -> WayOrder {
        let hours = self.extra_hours.value() + other.extra_hours.value();
        self.volume += other.volume;
        self.volume_ordered = show.volume(self.volume);
        self.load_sizes.extend(other.load_sizes);
        self.extra_hours = Quantity::decimal(hours, self.extra_hours.unit(), 6);
        self.extra_trade = self.extra_trade.or(other.extra_trade);
        self.extra_labor_cost += other.extra_labor_cost;
        self.extra_hire_cost += other.extra_hire_cost;
        let placing = self.placing_hours.value() + other.placing_hours.value();
        self.placing_hours = Quantity::decimal(placing, self.placing_hours.unit(), 6);
        self.placing_cost += other.placing_cost;
        self.purchase_tax += other.purchase_tax;
        if !other.work_basis.is_empty() {
            let joined = if self.work_basis.is_empty() { "" } else { "; " };
            self.work_basis = worded!("{}{joined}{}", self.work_basis, other.work_basis);
        }
        self.lines.extend(other.lines);
        self.all_in += other.all_in;
        self.warnings.extend(other.warnings);
        self.bags += other.bags;
        self
    }
}

impl ConcreteOrder {
    /// The orders that are made: one, or one for each pour day.
    pub fn taken(&self) -> impl Iterator<Item = &WayOrder> {
        self.by_day().map(|(_, w)| w).chain(self.chosen_way().filter(|_| self.taken.is_empty()))
    }

    /// The orders by pour day, where there are several days.
    pub fn by_day(&self) -> impl Iterator<Item = (i64, &WayOrder)> {
        self.taken.iter().map(|(day, w)| (*day, w))
    }

    /// Cost lines of what is ordered.
    pub fn chosen_lines(&self) -> impl Iterator<Item = &CostLine> {
        self.taken().flat_map(|w| &w.lines)
    }

    /// Cost lines of bags, with their pour day where there are several.
    pub fn bags(&self) -> impl Iterator<Item = (Option<i64>, &CostLine)> {
        let by_day = self.by_day().flat_map(|(day, w)| w.lines.iter().map(move |line| (Some(day), line)));
        let at_once = self.chosen_way().filter(|_| self.taken.is_empty());
        let all = by_day.chain(at_once.into_iter().flat_map(|w| w.lines.iter().map(|line| (None, line))));
        all.filter(|(_, line)| line.rule == super::BAGS)
    }

    /// Codes of the ways taken, each once, in the order of the days.
    pub fn ways_taken(&self) -> String {
        let mut codes: Vec<&str> = Vec::new();
        for way in self.taken() {
            if !codes.contains(&way.code.as_str()) {
                codes.push(&way.code);
            }
        }
        codes.join(", ")
    }
}
