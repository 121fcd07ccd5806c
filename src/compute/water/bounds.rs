//! Which values an input may take: one table read by the constructors and by the messages.

use std::fmt;

/// One accepted range: what it limits, in which unit, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// What the value is, as a message names it.
    pub label: &'static str,
    /// Unit of `min` and `max`.
    pub unit: &'static str,
    /// Least accepted value.
    pub min: f64,
    /// Greatest accepted value.
    pub max: f64,
    /// Why the range ends where it does.
    pub why: &'static str,
}

macro_rules! bounds {
    ($($name:ident = $label:literal, $unit:literal, $min:expr, $max:expr, $why:literal;)*) => {
        $(#[doc = concat!("Bound of ", $label, " (", $unit, "): ", $why, ".")]
          pub const $name: Bound =
              Bound { label: $label, unit: $unit, min: $min, max: $max, why: $why };)*
        /// Every bound, for documents and generators.
        pub const ALL: &[Bound] = &[$($name),*];
    };
}

bounds! {
    WIDTH = "inside width", "m", 0.005, 100.0, "from a slot drain to a spillway trough";
    SIDE_SLOPE = "side slope, horizontal to vertical", "m/m", 0.0, 10.0, "flatter banks are no channel";
    CHANNEL_DEPTH = "depth to the underside of the grate", "m", 0.001, 100.0, "a channel has some depth";
    LEG_LENGTH = "leg length", "m", 0.001, 5_000.0, "a leg is at least a millimetre long";
    BED_SLOPE = "slope", "m/m", -1.0, 1.0, "45 degrees; above 0.10 the small-slope equations are warned about";
    MANNING_N = "Manning's n", "s/m^(1/3)", 0.0, 0.5, "0 is frictionless; dense brush is 0.2";
    SHEET_N = "Manning's n of sheet flow", "s/m^(1/3)", 0.001, 0.8, "smooth paving is 0.011, woods with dense underbrush 0.80";
    FLOW = "flow", "m3/s", 0.0, 1_000.0, "inflow only; a channel drain carries litres per second";
    LATERAL_FLOW = "inflow per length of run", "m2/s", 0.0, 100.0, "inflow only, spread evenly along the stretch";
    STATION = "station", "m", 0.0, 10_000.0, "distance along the run from its start";
    WATER_DEPTH = "water depth", "m", 0.0, 200.0, "depth above the bed";
    LOSS_COEFFICIENT = "loss coefficient", "velocity heads", 0.0, 20.0, "a sharp right-angle mitre is about 1.2";
    GRAVITY = "gravity", "m/s2", 9.7, 9.9, "the range found on land";
    BORE = "bore", "m", 0.005, 10.0, "inside diameter, not the nominal size";
    COEFFICIENT = "discharge coefficient", "as its formula has it", 0.05, 10.0, "weir and orifice coefficients";
    PERIMETER = "weir length", "m", 0.001, 1_000.0, "edge over which water falls in";
    OPEN_AREA = "open area", "m2", 1e-6, 1_000.0, "area of the openings";
    FRACTION = "fraction", "-", 0.0, 1.0, "a share of the whole";
    CLOGGED = "clogged fraction", "-", 0.0, 0.99, "a grate clogged whole takes nothing";
    RUNOFF_COEFFICIENT = "runoff coefficient", "-", 0.0, 1.0, "no more runs off than falls";
    AREA = "area", "m2", 0.0, 1e8, "the rational method is for small catchments";
    INTENSITY = "rainfall intensity", "mm/h", 0.0, 2_000.0, "the greatest 1-minute rain on record is near 1 900 mm/h";
    DURATION = "duration", "min", 0.01, 1e6, "from a gust to two years";
    FREQUENCY_FACTOR = "frequency factor", "-", 1.0, 2.0, "published tables end at 1.25";
    RETURN_PERIOD = "return period", "years", 1.0, 1e6, "partial-duration series start at one year";
    FLOW_LENGTH = "flow length", "m", 0.0, 1e5, "along the path of the water";
    FLOW_SLOPE = "slope of the flow path", "m/m", 1e-6, 1.0, "water needs some fall to run";
    LEVEL = "level", "m", -1e5, 1e5, "height above the job's datum";
}

impl Bound {
    /// Whether a value is finite and in range.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        value.is_finite() && value >= self.min && value <= self.max
    }

    /// The value when it is finite and in range, otherwise a fault naming `place`.
    ///
    /// # Errors
    /// [`RangeFault`] saying where, the value, the range with its unit, and why.
    pub fn check(&self, place: &str, value: f64) -> Result<f64, RangeFault> {
        if self.holds(value) {
            Ok(value)
        } else {
            Err(RangeFault {
                place: place.to_owned(),
                value: format!("{value}"),
                limit: Some(Box::new(Limit { bound: *self, value })),
                rule: format!(
                    "{} must be a number from {} to {} {} ({})",
                    self.label, self.min, self.max, self.unit, self.why
                ),
            })
        }
    }
}

/// A range that is left, and the number that leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// The range.
    pub bound: Bound,
    /// The number.
    pub value: f64,
}

/// One thing wrong with an input: where, the value, the rule.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{place} is {value}: {rule}")]
pub struct RangeFault {
    /// Path to the value, for example `legs[1].length_m`.
    pub place: String,
    /// The value as given.
    pub value: String,
    /// The rule it breaks, with what is allowed.
    pub rule: String,
    /// The same as numbers, where it is a range: for those who tell it in other units.
    pub limit: Option<Box<Limit>>,
}

/// Everything wrong with an input, collected in one pass.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RangeFaults(Vec<RangeFault>);

impl RangeFaults {
    /// The faults, in the order they were found.
    #[must_use]
    pub fn list(&self) -> &[RangeFault] {
        &self.0
    }

    /// Checks a value against a bound and keeps the fault, if any.
    pub fn check(&mut self, bound: &Bound, place: impl AsRef<str>, value: f64) {
        if let Err(fault) = bound.check(place.as_ref(), value) {
            self.0.push(fault);
        }
    }

    /// The same with a place that is only put into words where it is needed: checks are part of every search.
    pub fn check_at(&mut self, bound: &Bound, place: impl FnOnce() -> String, value: f64) {
        if bound.holds(value) {
            return;
        }
        self.check(bound, place(), value);
    }

    /// Adds a fault that is not a plain range.
    pub fn add(&mut self, place: impl Into<String>, value: impl fmt::Display, rule: impl Into<String>) {
        let (place, value, rule) = (place.into(), value.to_string(), rule.into());
        self.0.push(RangeFault { place, value, rule, limit: None });
    }

    /// Takes over the faults of a part.
    pub fn extend(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// `Ok` when nothing was found.
    ///
    /// # Errors
    /// All the faults found.
    pub fn into_result(self) -> Result<(), Self> {
        if self.0.is_empty() { Ok(()) } else { Err(self) }
    }
}

impl From<RangeFault> for RangeFaults {
    fn from(fault: RangeFault) -> Self {
        Self(vec![fault])
    }
}

impl fmt::Display for RangeFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.0.iter().enumerate() {
            if index > 0 {
                f.write_str("; ")?;
            }
            write!(f, "{fault}")?;
        }
        Ok(())
    }
}

impl std::error::Error for RangeFaults {}
