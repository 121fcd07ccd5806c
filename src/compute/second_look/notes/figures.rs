//! How a figure of the notes is put into words, and what was probably meant where it lies beyond what jobs have.

use super::super::{End, Figure, Usual};
use crate::units::quantity::{Quantity, Span};
use crate::units::show::{Show, worded};
use crate::units::{
    Area, Distance, Factor, Flow, Length, Percent, RainRate, Speed, Temperature, Unit, UnitSystem, Volume,
};

/// A figure of site notes.
pub(super) trait Noted: Figure {
    /// What lies below its range and what lies above it, in words.
    const WORDS: (&'static str, &'static str) = ("too little", "too much");

    /// As it was read, with all of its digits.
    fn read(self, show: Show) -> String {
        self.shown(show)
    }

    /// What was probably meant instead: a figure within the range that a slip turns into this one.
    fn likely(self, _: &Usual<Self>, _: Show) -> Option<Self> {
        None
    }

    /// How a figure is written in notes, without its quotes.
    fn written(self, show: Show) -> String {
        self.shown(show)
    }

    /// What was probably meant and how that is written, to follow a sentence.
    fn meant_instead(self, usual: &Usual<Self>, show: Show) -> Option<String> {
        let likely = self.likely(usual, show)?;
        let (shown, written) = (likely.shown(show), likely.written(show));
        Some(worded!("; if {shown} was meant, that is written \"{written}\""))
    }
}

/// The figure within a range that so many times this one is, or one so many times smaller: the one nearest to the middle of the
/// range, since a range is wide and a job lies in its midst.
fn moved<T: Figure>(
    base: i128,
    steps: &[i128],
    usual: &Usual<T>,
    make: impl Fn(i128) -> Option<T>,
    of: impl Fn(T) -> i128,
) -> Option<T> {
    let middle = ((of(usual.least) as f64) * (of(usual.most) as f64)).sqrt();
    let apart = |figure: &T| ((of(*figure) as f64) / middle).ln().abs();
    let tries = steps.iter().flat_map(|step| [base.checked_mul(*step), Some(base / step)]);
    let within = tries.flatten().filter_map(make).filter(|f| *f >= usual.least && *f <= usual.most);
    within.min_by(|one, other| apart(one).total_cmp(&apart(other)))
}

/// Millimetres, centimetres and metres for each other; a point that moved.
const METRIC: &[i128] = &[10, 100, 1000];

fn length(nm: i128) -> Option<Length> {
    i64::try_from(nm).ok().map(Length::from_nm)
}

/// A thousandth of an inch in nanometres.
const THOUSANDTH_INCH: i64 = Length::INCH.nm() / 1000;

/// Whether a length is whole sixteenths of an inch, as who measures in inches writes them.
const fn is_on_tape(length: Length) -> bool {
    length.nm() % Length::inches(1, 16).nm() == 0
}

impl Noted for Length {
    fn read(self, show: Show) -> String {
        match show.0 {
            UnitSystem::Us if is_on_tape(self) => self.shown(show),
            UnitSystem::Us if self.nm() % THOUSANDTH_INCH == 0 && self < Length::FOOT => {
                Quantity::of_base(self.nm().into(), Unit::In, 6).to_string()
            }
            _ => {
                let unit = if self < Length::METRE { Unit::Mm } else { Unit::M };
                Quantity::of_base(self.nm().into(), unit, 6).to_string()
            }
        }
    }

    fn likely(self, usual: &Usual<Self>, show: Show) -> Option<Self> {
        let by = |steps| moved(self.nm().into(), steps, usual, length, |l: Length| l.nm().into());
        // inches for feet are the likelier slip where these are used
        let in_feet = (show.0 == UnitSystem::Us && is_on_tape(self)).then(|| by(&[12])).flatten();
        in_feet.or_else(|| by(METRIC))
    }

    fn meant_instead(self, usual: &Usual<Self>, show: Show) -> Option<String> {
        let likely = self.likely(usual, show)?;
        let mut said =
            worded!("; if {likely} was meant, that is written \"{likely}\"", likely = show.length(likely));
        if let Some(thousands) = thousands(self, usual) {
            said.push_str(&thousands);
        }
        Some(said)
    }
}

/// Three digits behind a point, which are thousands in some countries: told where what was read is too little and a thousand times
/// of it is not.
fn thousands(read: Length, usual: &Usual<Length>) -> Option<String> {
    const MICROMETRE: i64 = 1_000;
    let (mm, rest) = (read.nm() / Length::MILLIMETRE.nm(), read.nm() % Length::MILLIMETRE.nm());
    let is_inches = read.nm() % Length::inches(1, 64).nm() == 0;
    let whole = length(i128::from(read.nm()) * 1000)?;
    // 40 mm may have been written as 4 cm
    let is_round = rest == 0 && mm % 10 == 0;
    let told = (1..1000).contains(&mm)
        && !is_round
        && rest % MICROMETRE == 0
        && !is_inches
        && read < usual.least
        && whole >= usual.least
        && whole <= usual.most;
    let behind = rest / MICROMETRE;
    told.then(|| {
        worded!(
            "; a point does not part thousands: {mm}.{behind:03} mm is read as {} mm, and {mm}{behind:03} mm is written \
             \"{mm}{behind:03} mm\"",
            Quantity::of_base(read.nm().into(), Unit::Mm, 3).value()
        )
    })
}

impl Noted for Volume {}

impl Noted for Factor {}

impl Noted for Span {
    const WORDS: (&'static str, &'static str) = ("too short", "too long");

    /// Minutes for hours.
    fn likely(self, usual: &Usual<Self>, _: Show) -> Option<Self> {
        let make = |s: i128| i64::try_from(s).ok().map(Span::from_seconds);
        moved(self.seconds().into(), &[60], usual, make, |span: Span| span.seconds().into())
    }
}

impl Noted for Percent {
    /// A share of 1; a point that is missing.
    fn likely(self, usual: &Usual<Self>, _: Show) -> Option<Self> {
        let millionths = self.millionths();
        let tries =
            if self < usual.least { [millionths * 100, 0] } else { [millionths / 10, millionths / 100] };
        let within = |p: &Percent| *p >= usual.least && *p <= usual.most && *p != Percent::ZERO;
        tries.into_iter().map(Percent::from_millionths).find(within)
    }

    fn written(self, _: Show) -> String {
        self.number().to_string()
    }
}

/// A fall in percent.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct Fall(pub Percent);

impl Figure for Fall {
    fn shown(self, show: Show) -> String {
        self.0.shown(show)
    }
    fn is_nothing(self) -> bool {
        self.0.is_nothing()
    }
}

impl Noted for Fall {
    const WORDS: (&'static str, &'static str) = ("too flat", "too steep");

    fn likely(self, usual: &Usual<Self>, show: Show) -> Option<Self> {
        let Usual { what, least, most, source } = *usual;
        self.0.likely(&Usual { what, least: least.0, most: most.0, source }, show).map(Fall)
    }

    fn written(self, show: Show) -> String {
        self.0.written(show)
    }

    /// Too much: what would be per mille, where lengths are metric.
    fn meant_instead(self, usual: &Usual<Self>, show: Show) -> Option<String> {
        let likely = self.likely(usual, show)?;
        let (shown, written) = (likely.shown(show), likely.written(show));
        if self < usual.least || show.0 == UnitSystem::Us {
            return Some(worded!("; if {shown} was meant, that is written \"{written}\""));
        }
        let per_mille = Percent::from_millionths(likely.0.millionths() * 10).number();
        Some(worded!("; {per_mille} mm in a metre are {shown}, written \"{written}\""))
    }
}

/// Of a figure by its base number: shown in one unit of either system, an end of a range rounded outward.
macro_rules! by_base {
    ($of:ty, $base:expr, $make:expr, $us:expr, $metric:expr, $places:literal) => {
        impl Figure for $of {
            fn shown(self, show: Show) -> String {
                let unit = if show.0 == UnitSystem::Us { $us } else { $metric };
                let base: fn($of) -> i128 = $base;
                Quantity::of_base(base(self), unit, $places).to_string()
            }
            fn is_nothing(self) -> bool {
                let base: fn($of) -> i128 = $base;
                base(self) == 0
            }
            fn metric_end(self, end: End) -> Self {
                let base: fn($of) -> i128 = $base;
                let make: fn(i128) -> Option<$of> = $make;
                make(end.outward(base(self))).unwrap_or(self)
            }
        }
    };
}

by_base!(Area, |a| a.nm2(), |nm2| Some(Area::from_nm2(nm2)), Unit::Ft2, Unit::M2, 3);
by_base!(
    Flow,
    |f| f.base().into(),
    |b| i64::try_from(b).ok().map(Flow::from_base),
    Unit::GalUsPerMin,
    Unit::LPerS,
    4
);
by_base!(
    RainRate,
    |r| r.nm_per_h().into(),
    |b| i64::try_from(b).ok().map(RainRate::from_nm_per_h),
    Unit::InPerHr,
    Unit::MmPerHr,
    2
);
by_base!(
    Speed,
    |s| s.nm_per_h().into(),
    |b| i64::try_from(b).ok().map(Speed::from_nm_per_h),
    Unit::MiPerHr,
    Unit::KmPerHr,
    1
);
by_base!(
    Distance,
    |d| d.nm().into(),
    |b| i64::try_from(b).ok().map(Distance::from_nm),
    Unit::Mi,
    Unit::Km,
    3
);

impl Noted for Area {
    /// Square feet or metres for smaller units, thousands behind a point.
    fn likely(self, usual: &Usual<Self>, _: Show) -> Option<Self> {
        let make = |nm2| Some(Area::from_nm2(nm2));
        moved(self.nm2(), &[100, 144, 1000, 10_000], usual, make, |area: Area| area.nm2())
    }
}

impl Noted for Flow {}

impl Noted for Speed {
    const WORDS: (&'static str, &'static str) = ("too slow", "too fast");
}

impl Noted for Distance {
    const WORDS: (&'static str, &'static str) = ("too near", "too far");

    fn likely(self, usual: &Usual<Self>, _: Show) -> Option<Self> {
        let make = |nm| i64::try_from(nm).ok().map(Distance::from_nm);
        moved(self.nm().into(), METRIC, usual, make, |way: Distance| way.nm().into())
    }
}

impl Noted for RainRate {
    /// Inches for millimetres and the other way round.
    fn likely(self, usual: &Usual<Self>, _: Show) -> Option<Self> {
        let nm = self.nm_per_h();
        let swapped = if self < usual.least { nm.saturating_mul(254) / 10 } else { nm * 10 / 254 };
        Some(RainRate::from_nm_per_h(swapped)).filter(|r| *r >= usual.least && *r <= usual.most)
    }

    /// In the unit that was meant, which need not be the one of the office: its number is the one that was written.
    fn meant_instead(self, usual: &Usual<Self>, show: Show) -> Option<String> {
        let likely = self.likely(usual, show)?;
        let unit = if self < usual.least { Unit::InPerHr } else { Unit::MmPerHr };
        let written = Quantity::of_base(likely.nm_per_h().into(), unit, 2);
        Some(worded!("; if {written} was meant, that is written \"{written}\""))
    }
}

/// An intensity that a formula gives.
#[derive(Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct OfFormula(pub RainRate);

impl Figure for OfFormula {
    fn shown(self, show: Show) -> String {
        self.0.shown(show)
    }
    fn is_nothing(self) -> bool {
        self.0.is_nothing()
    }
    fn metric_end(self, end: End) -> Self {
        OfFormula(self.0.metric_end(end))
    }
}

impl Noted for OfFormula {
    fn meant_instead(self, _: &Usual<Self>, _: Show) -> Option<String> {
        Some("; look at its `unit` and its constants".to_owned())
    }
}

/// A temperature, warmer or colder whatever scale it was written in.
#[derive(Clone, Copy)]
pub(super) struct Degrees(pub Temperature);

impl PartialEq for Degrees {
    fn eq(&self, other: &Self) -> bool {
        self.0.base() == other.0.base()
    }
}

impl PartialOrd for Degrees {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        self.0.base().partial_cmp(&other.0.base())
    }
}

impl Figure for Degrees {
    fn shown(self, show: Show) -> String {
        self.0.shown(show.0).to_string()
    }
    fn is_nothing(self) -> bool {
        false
    }
}

impl Noted for Degrees {
    const WORDS: (&'static str, &'static str) = ("too cold", "too warm");

    /// The same number on the other scale.
    fn likely(self, usual: &Usual<Self>, _: Show) -> Option<Self> {
        Some(Degrees(self.0.on_the_other_scale())).filter(|d| *d >= usual.least && *d <= usual.most)
    }

    /// On the scale that was meant: Celsius where it is too cold, Fahrenheit where it is too warm.
    fn meant_instead(self, usual: &Usual<Self>, show: Show) -> Option<String> {
        let Degrees(likely) = self.likely(usual, show)?;
        let written = likely.on_scale(if self < usual.least { Unit::DegC } else { Unit::DegF });
        Some(worded!("; if {written} was meant, that is written \"{written}\""))
    }
}
