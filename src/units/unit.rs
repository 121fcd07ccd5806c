//! The units of the API, each with its dimension and exact factor.
//!
//! Factors follow NIST SP 811 (2008), appendix B (read): 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, 1 US gallon = 231 in³.
//! The US survey foot is not offered: it was retired at the end of 2022.

use super::exact::CUBIC_METRE;
use super::factors::{
    CUBIC_METRES_PER_CUBIC_FOOT, CUBIC_METRES_PER_GALLON, METRES_PER_FOOT, METRES_PER_INCH,
};
use crate::wire_enum;

wire_enum! {
    /// A unit of measure.
    pub enum Unit {
        /// inch
        In = "in",
        /// foot (international)
        Ft = "ft",
        /// yard
        Yd = "yd",
        /// millimetre
        Mm = "mm",
        /// centimetre
        Cm = "cm",
        /// metre
        M = "m",
        /// mile (international, 5,280 ft)
        Mi = "mi",
        /// kilometre
        Km = "km",
        /// square inch
        In2 = "in2",
        /// square foot
        Ft2 = "ft2",
        /// square yard
        Yd2 = "yd2",
        /// square centimetre
        Cm2 = "cm2",
        /// square metre
        M2 = "m2",
        /// cubic inch
        In3 = "in3",
        /// cubic foot
        Ft3 = "ft3",
        /// cubic yard
        Yd3 = "yd3",
        /// US gallon, 231 cubic inches
        GalUs = "gal_us",
        /// litre
        L = "l",
        /// cubic metre
        M3 = "m3",
        /// pound (avoirdupois)
        Lb = "lb",
        /// short ton, 2,000 lb
        ShortTon = "short_ton",
        /// kilogram
        Kg = "kg",
        /// metric ton, 1,000 kg
        T = "t",
        /// minute
        Min = "min",
        /// hour
        Hr = "hr",
        /// day
        Day = "day",
        /// piece
        Each = "each",
        /// one sum for the whole
        LumpSum = "lump_sum",
        /// cubic foot per second
        Ft3PerS = "ft3_per_s",
        /// US gallon per minute
        GalUsPerMin = "gal_us_per_min",
        /// litre per second
        LPerS = "l_per_s",
        /// foot per second
        FtPerS = "ft_per_s",
        /// metre per second
        MPerS = "m_per_s",
        /// mile per hour
        MiPerHr = "mi_per_hr",
        /// kilometre per hour
        KmPerHr = "km_per_hr",
        /// inch per hour
        InPerHr = "in_per_hr",
        /// millimetre per hour
        MmPerHr = "mm_per_hr",
        /// percent
        Percent = "percent",
        /// kilogram per cubic metre
        KgPerM3 = "kg_per_m3",
        /// pound per cubic foot
        LbPerFt3 = "lb_per_ft3",
        /// degree Fahrenheit
        DegF = "deg_f",
        /// degree Celsius
        DegC = "deg_c",
    }
}

wire_enum! {
    /// What a unit measures.
    pub enum Dimension {
        /// length
        Length = "length",
        /// area
        Area = "area",
        /// volume
        Volume = "volume",
        /// mass
        Mass = "mass",
        /// time
        Time = "time",
        /// pieces and lump sums
        Count = "count",
        /// volume per time
        Flow = "flow",
        /// length per time
        Speed = "speed",
        /// rain depth per time
        RainIntensity = "rain_intensity",
        /// a share of a hundred
        Share = "share",
        /// mass per volume
        Density = "density",
        /// temperature
        Temperature = "temperature",
    }
}

impl Unit {
    /// Whether this is a metric unit of length, area, volume or mass.
    pub const fn is_metric(self) -> bool {
        matches!(
            self,
            Self::Mm
                | Self::Cm
                | Self::M
                | Self::Km
                | Self::Cm2
                | Self::M2
                | Self::L
                | Self::M3
                | Self::Kg
                | Self::T
        )
    }

    /// What the unit measures.
    pub const fn dimension(self) -> Dimension {
        match self {
            Unit::In | Unit::Ft | Unit::Yd | Unit::Mm | Unit::Cm | Unit::M | Unit::Mi | Unit::Km => {
                Dimension::Length
            }
            Unit::In2 | Unit::Ft2 | Unit::Yd2 | Unit::Cm2 | Unit::M2 => Dimension::Area,
            Unit::In3 | Unit::Ft3 | Unit::Yd3 | Unit::GalUs | Unit::L | Unit::M3 => Dimension::Volume,
            Unit::Lb | Unit::ShortTon | Unit::Kg | Unit::T => Dimension::Mass,
            Unit::Min | Unit::Hr | Unit::Day => Dimension::Time,
            Unit::Each | Unit::LumpSum => Dimension::Count,
            Unit::Ft3PerS | Unit::GalUsPerMin | Unit::LPerS => Dimension::Flow,
            Unit::FtPerS | Unit::MPerS | Unit::MiPerHr | Unit::KmPerHr => Dimension::Speed,
            Unit::InPerHr | Unit::MmPerHr => Dimension::RainIntensity,
            Unit::KgPerM3 | Unit::LbPerFt3 => Dimension::Density,
            Unit::Percent => Dimension::Share,
            Unit::DegF | Unit::DegC => Dimension::Temperature,
        }
    }

    /// Nanometres in one unit of length, square nanometres in one of area, cubic nanometres in one of volume,
    /// hundredths of a milligram in one of mass, seconds in one of time, nanolitres a minute in one of flow, nanometres an
    /// hour in one of speed or rain, nanograms a cubic foot in one of density, nine-thousandths of a kelvin in one of
    /// temperature; 1 for counts. `None` for shares.
    pub const fn factor(self) -> Option<i128> {
        const INCH: i128 = 25_400_000;
        const FOOT: i128 = 304_800_000;
        const POUND: i128 = 45_359_237;
        Some(match self {
            Unit::In => INCH,
            Unit::Ft => FOOT,
            Unit::Yd => 3 * FOOT,
            Unit::Mm => 1_000_000,
            Unit::Cm => 10_000_000,
            Unit::M => 1_000_000_000,
            Unit::Mi => 5280 * FOOT,
            Unit::Km => 1_000_000_000_000,
            Unit::In2 => INCH * INCH,
            Unit::Ft2 => FOOT * FOOT,
            Unit::Yd2 => 9 * FOOT * FOOT,
            Unit::Cm2 => 100_000_000_000_000,
            Unit::M2 => 1_000_000_000_000_000_000,
            Unit::In3 => INCH * INCH * INCH,
            Unit::Ft3 => FOOT * FOOT * FOOT,
            Unit::Yd3 => 27 * FOOT * FOOT * FOOT,
            Unit::GalUs => 231 * INCH * INCH * INCH,
            Unit::L => CUBIC_METRE / 1000,
            Unit::M3 => CUBIC_METRE,
            Unit::Lb => POUND,
            Unit::ShortTon => 2000 * POUND,
            Unit::Kg => 100_000_000,
            Unit::T => 100_000_000_000,
            Unit::Min => 60,
            Unit::Hr => 3600,
            Unit::Day => 86_400,
            Unit::Each | Unit::LumpSum => 1,
            Unit::Ft3PerS => 60 * 28_316_846_592,
            Unit::GalUsPerMin => 3_785_411_784,
            Unit::LPerS => 60_000_000_000,
            Unit::InPerHr => INCH,
            Unit::MmPerHr => 1_000_000,
            Unit::FtPerS => 3600 * FOOT,
            Unit::MPerS => 3_600_000_000_000,
            Unit::MiPerHr => 5280 * FOOT,
            Unit::KmPerHr => 1_000_000_000_000,
            // A cubic foot is 0.028 316 846 592 m³.
            Unit::KgPerM3 => 28_316_846_592,
            Unit::LbPerFt3 => 10_000 * POUND,
            Unit::DegF => 5_000,
            Unit::DegC => 9_000,
            Unit::Percent => return None,
        })
    }

    /// The SI value of one unit of a rate: m³/s, m/s, or m/s of rain. 1 for everything else.
    pub fn si_rate(self) -> f64 {
        match self {
            Unit::Ft3PerS => CUBIC_METRES_PER_CUBIC_FOOT,
            Unit::GalUsPerMin => CUBIC_METRES_PER_GALLON / 60.0,
            Unit::LPerS => 0.001,
            Unit::FtPerS => METRES_PER_FOOT,
            Unit::MiPerHr => 0.447_04,
            Unit::KmPerHr => 1.0 / 3.6,
            Unit::InPerHr => METRES_PER_INCH / 3600.0,
            Unit::MmPerHr => 0.001 / 3600.0,
            _ => 1.0,
        }
    }

    /// All units of one dimension.
    pub fn of(dimension: Dimension) -> impl Iterator<Item = Unit> {
        Self::ALL.iter().copied().filter(move |u| u.dimension() == dimension)
    }
}
