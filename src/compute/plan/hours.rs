//! Hours of one task: setup, quantity, unit hours, named factors, a named rounding.

use std::collections::BTreeMap;

use thiserror::Error;

use super::ids::TradeId;

/// What a rate's hours count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RateBasis {
    /// Hours of the whole crew.
    CrewHours,
    /// Hours of one person; shared among the people of the crew.
    PersonHours,
}

/// The rate of a task.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskRate {
    /// What it is a rate for, as the reader knows it.
    pub name: String,
    /// The unit of quantity, such as `yd3` or `joint`.
    pub unit: String,
    /// Hours per unit.
    pub unit_hours: f64,
    /// Whose hours these are.
    pub basis: RateBasis,
    /// Crew-hours before the first unit is done.
    pub setup_crew_hours: f64,
}

/// What a factor stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FactorKind {
    /// How it is done.
    Method,
    /// What is dug or cut.
    Soil,
    /// How deep.
    DepthBand,
    /// How awkward.
    Difficulty,
    /// Heat, cold, rain.
    Weather,
    /// Anything else, named.
    Other(String),
}

/// A named factor on the hours of the quantity; 1 changes nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// What it stands for.
    pub kind: FactorKind,
    /// Which case of it, such as `clay` or `3 to 5 ft`.
    pub label: String,
    /// The factor.
    pub value: f64,
}

/// How hours are rounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rounding {
    /// Not at all.
    Exact,
    /// Up to a multiple of a step, in hours.
    UpTo(f64),
    /// To the nearest multiple of a step, in hours; halves go up.
    NearestTo(f64),
}

impl Default for Rounding {
    /// Up to the quarter hour (common practice, no source).
    fn default() -> Self {
        Rounding::UpTo(0.25)
    }
}

/// One task's hours to be found.
#[derive(Debug, Clone, PartialEq)]
pub struct HoursRequest {
    /// The rate.
    pub rate: TaskRate,
    /// How much there is, in the rate's unit.
    pub quantity: f64,
    /// People of the crew by trade.
    pub crew: BTreeMap<TradeId, u32>,
    /// Factors; each is shown.
    pub factors: Vec<Factor>,
    /// Rounding of the crew-hours.
    pub rounding: Rounding,
}

/// The hours found.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskHours {
    /// Crew-hours before rounding.
    pub crew_hours_exact: f64,
    /// Crew-hours as rounded: what is planned and paid.
    pub crew_hours: f64,
    /// Hours of people by trade: rounded crew-hours times people.
    pub person_hours: BTreeMap<TradeId, f64>,
    /// Product of the factors.
    pub factor: f64,
    /// The sum in words, to check by hand.
    pub basis: String,
}

/// A fault in a request for hours.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum HoursError {
    /// A number out of its range.
    #[error("{field}: {value} is not allowed; give a number {allowed}")]
    Number {
        /// Where it stands.
        field: String,
        /// As given.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// Nobody in the crew.
    #[error("crew: nobody is in it; give at least one person of one trade")]
    EmptyCrew,
    /// No depth band reaches that deep.
    #[error(
        "depth: {depth_nm} nm is deeper than the last band ({deepest_nm} nm); add a deeper band with its factor"
    )]
    NoDepthBand {
        /// The depth, in nanometres.
        depth_nm: i64,
        /// The deepest band's end, in nanometres.
        deepest_nm: i64,
    },
}

/// Largest number a quantity or a rate may be: far above any job, and small enough that no product overflows.
const LARGEST: f64 = 1e9;
/// Least rounding step, in hours: a minute.
const LEAST_STEP: f64 = 1.0 / 60.0;
/// A fraction of a step below this is noise of binary fractions.
const STEP_NOISE: f64 = 1e-9;

/// Hours of one task.
///
/// # Formula
/// `crew-hours = setup + quantity x unit hours x factor 1 x factor 2 ...`; unit hours in person-hours are
/// divided by the people of the crew; then rounded as named. No quantity, no hours, no setup.
/// # Units
/// hours; quantity in the rate's unit; factors dimensionless
/// # Valid for
/// rates that are proportional to the quantity; factors that act independently of each other
/// # Source
/// unit-rate estimating with multipliers (common practice); proportional part as NAVEDTRA 14045 (read): 448
/// sf of block at 160 man-hours per 1,000 sf is 71.68 man-hours
/// # Example
/// ```
/// use rillcast::compute::plan::{TradeId, hours::*};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let request = HoursRequest {
///     rate: TaskRate {
///         name: "Lay block".into(),
///         unit: "1,000 sf".into(),
///         unit_hours: 160.0,
///         basis: RateBasis::PersonHours,
///         setup_crew_hours: 0.0,
///     },
///     quantity: 0.448,
///     crew: [(TradeId::new("mason")?, 1)].into(),
///     factors: vec![],
///     rounding: Rounding::UpTo(1.0),
/// };
/// let hours = hours(&request).map_err(|all| all[0].clone())?;
/// assert!((hours.crew_hours_exact - 71.68).abs() < 1e-9);
/// assert_eq!(hours.crew_hours, 72.0);
/// # Ok(())
/// # }
/// ```
/// # Errors
/// Every [`HoursError`] of the request at once.
pub fn hours(request: &HoursRequest) -> Result<TaskHours, Vec<HoursError>> {
    check(request)?;
    let rate = &request.rate;
    let people: u64 = request.crew.values().map(|n| u64::from(*n)).sum();
    let factor: f64 = request.factors.iter().map(|f| f.value).product();
    let share = match rate.basis {
        RateBasis::CrewHours => 1.0,
        RateBasis::PersonHours => people as f64,
    };
    let exact = if request.quantity == 0.0 {
        0.0
    } else {
        rate.setup_crew_hours + request.quantity * rate.unit_hours * factor / share
    };
    if exact > LARGEST {
        return Err(vec![HoursError::Number {
            field: "crew-hours".into(),
            value: exact,
            allowed: "of hours below 1e9: lower the quantity, the rate or a factor",
        }]);
    }
    let crew_hours = request.rounding.apply(exact);
    let person_hours = request.crew.iter().map(|(t, n)| (t.clone(), crew_hours * f64::from(*n))).collect();
    let basis = basis(request, people, exact, crew_hours);
    Ok(TaskHours { crew_hours_exact: exact, crew_hours, person_hours, factor, basis })
}

fn check(request: &HoursRequest) -> Result<(), Vec<HoursError>> {
    let mut faults = Vec::new();
    let mut number = |field: String, value: f64, fits: bool, allowed: &'static str| {
        if !fits {
            faults.push(HoursError::Number { field, value, allowed });
        }
    };
    let up_to = |value: f64| (0.0..=LARGEST).contains(&value);
    number("quantity".into(), request.quantity, up_to(request.quantity), "from 0 to 1e9");
    number(
        "rate.unit_hours".into(),
        request.rate.unit_hours,
        up_to(request.rate.unit_hours),
        "from 0 to 1e9",
    );
    let setup = request.rate.setup_crew_hours;
    number("rate.setup_crew_hours".into(), setup, up_to(setup), "from 0 to 1e9");
    for (index, factor) in request.factors.iter().enumerate() {
        let fits = factor.value > 0.0 && factor.value <= MOST_FACTOR;
        number(format!("factors[{index}] `{}`", factor.label), factor.value, fits, "above 0 and at most 100");
    }
    if let Rounding::UpTo(step) | Rounding::NearestTo(step) = request.rounding {
        number(
            "rounding.step".into(),
            step,
            (LEAST_STEP..=24.0).contains(&step),
            "from a minute (1/60) to 24",
        );
    }
    if request.crew.values().all(|n| *n == 0) {
        faults.push(HoursError::EmptyCrew);
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// Largest single factor.
const MOST_FACTOR: f64 = 100.0;

impl Rounding {
    /// The hours after rounding; a step below a minute rounds nothing.
    pub fn apply(self, hours: f64) -> f64 {
        match self {
            Rounding::Exact => hours,
            Rounding::UpTo(step) | Rounding::NearestTo(step) if step.is_nan() || step < LEAST_STEP => hours,
            Rounding::UpTo(step) => (hours / step - STEP_NOISE).ceil().max(0.0) * step,
            Rounding::NearestTo(step) => (hours / step + 0.5 + STEP_NOISE).floor() * step,
        }
    }

    /// The rounding in words.
    pub fn words(self) -> String {
        match self {
            Rounding::Exact => "not rounded".into(),
            Rounding::UpTo(step) => format!("rounded up to the next {step} h"),
            Rounding::NearestTo(step) => format!("rounded to the nearest {step} h"),
        }
    }
}

fn basis(request: &HoursRequest, people: u64, exact: f64, rounded: f64) -> String {
    let rate = &request.rate;
    if request.quantity == 0.0 {
        return format!("{}: no quantity, no hours", rate.name);
    }
    let mut text = format!(
        "{}: {} h setup + {} {} x {} {} per {}",
        rate.name,
        rate.setup_crew_hours,
        request.quantity,
        rate.unit,
        rate.unit_hours,
        match rate.basis {
            RateBasis::CrewHours => "crew-hours",
            RateBasis::PersonHours => "person-hours",
        },
        rate.unit
    );
    for factor in &request.factors {
        let kind = match &factor.kind {
            FactorKind::Method => "method",
            FactorKind::Soil => "soil",
            FactorKind::DepthBand => "depth",
            FactorKind::Difficulty => "difficulty",
            FactorKind::Weather => "weather",
            FactorKind::Other(name) => name,
        };
        text.push_str(&format!(" x {} ({kind}: {})", factor.value, factor.label));
    }
    if rate.basis == RateBasis::PersonHours {
        text.push_str(&format!(" / {people} people"));
    }
    text.push_str(&format!(" = {exact:.4} crew-hours, {}: {rounded}", request.rounding.words()));
    text
}

/// A factor for everything down to a depth.
#[derive(Debug, Clone, PartialEq)]
pub struct DepthBand {
    /// Where the band ends, in nanometres below the surface (the end belongs to the band).
    pub to_nm: i64,
    /// What it is called.
    pub label: String,
    /// Its factor.
    pub factor: f64,
}

/// The depth factor: that of the shallowest band that reaches the depth. The bands may be in any order.
///
/// # Errors
/// [`HoursError::NoDepthBand`] when no band reaches that deep.
pub fn depth_factor(bands: &[DepthBand], depth_nm: i64) -> Result<Factor, HoursError> {
    let band = bands.iter().filter(|b| b.to_nm >= depth_nm).min_by_key(|b| b.to_nm);
    match band {
        Some(band) => {
            Ok(Factor { kind: FactorKind::DepthBand, label: band.label.clone(), value: band.factor })
        }
        None => Err(HoursError::NoDepthBand {
            depth_nm,
            deepest_nm: bands.iter().map(|b| b.to_nm).max().unwrap_or(0),
        }),
    }
}

/// Mean of several multipliers, for sources that average their factors instead of multiplying them.
///
/// # Formula
/// `mean = sum / n`
/// # Units
/// dimensionless
/// # Valid for
/// at least one factor
/// # Source
/// Plumbing, Heating and Piping estimating text (read): eight multipliers sum to 7.8, mean 0.975
/// # Example
/// ```
/// use rillcast::compute::plan::hours::mean_factor;
/// let mean = mean_factor(&[0.9, 1.3, 1.0, 0.8, 0.7, 0.8, 1.3, 1.0]);
/// assert!(mean.is_some_and(|m| (m - 0.975).abs() < 1e-12));
/// assert_eq!(mean_factor(&[]), None);
/// ```
pub fn mean_factor(factors: &[f64]) -> Option<f64> {
    let sum: f64 = factors.iter().sum();
    (!factors.is_empty() && sum.is_finite()).then(|| sum / factors.len() as f64)
}
