//! What of a price book or of site notes is not wrong, but worth a second look: figures far from what is usual, or from what stands
//! beside them.
//!
//! Each look has its place, what stands there, what is usual, and who says so. The ranges are as wide as honest practice, so that a
//! look is worth it: what is typed in another unit, a percentage written as a fraction, a point left out lies beyond them. Money is
//! never held against a sum, only against other money of the book: books are in any currency. Ranges end at feet, inches, yards
//! and pounds; in metric books their ends go outward to two figures.
//!
//! | file | subject |
//! |---|---|
//! | this one | the look, a usual range, what a figure is shown as |
//! | `published` | labor rates beside published ones |
//! | `earth` | soils, surfaces, drain lines, haul, water |
//! | `concrete` | waste, cure, the ways to get concrete |
//! | `labor` | factors, days, burden, wages, spreads |
//! | `hours` | work that no labor rate counts |
//! | `setting` | channel, details, hangers, forms, saw cuts, items in two roles |
//! | `money` | markups, taxes, least charge, hire |
//! | `prices` | prices of items beside their like |
//! | `supply` | offers beside the prices of items and the day of the book |
//! | `place` | holidays |
//! | `before` | the version before: currency and units |
//! | [`notes`] | figures of site notes that no job has; they are told as checks |

mod before;
mod concrete;
mod earth;
mod hours;
mod labor;
mod money;
pub mod notes;
mod place;
mod prices;
mod published;
mod setting;
mod supply;
#[cfg(test)]
mod tests;

use crate::units::quantity::{Mass, Quantity, Span, UnitSystem};
use crate::units::show::{Show, worded};
use crate::units::{Factor, Length, Percent, Unit, Volume};
use crate::wire::At;
use crate::wire::book::BookDoc;
use jiff::civil::Date;
pub use published::rates;
use serde::Serialize;
use utoipa::ToSchema;

/// Where a range comes from when nobody has published one.
const PRACTICE: &str = "common practice, no source";

/// Most looks that are listed; one more says how many are not.
const MOST: usize = 100;

/// What of a price book should be looked at again; it stops nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct SecondLook {
    /// JSON pointer to it in the document of the version, in URI-fragment form.
    #[schema(example = "#/concrete_rules/waste_pct")]
    pub pointer: String,
    /// Why it should be looked at again.
    pub detail: String,
    /// What stands there.
    #[schema(example = "0.1 %")]
    pub value: String,
    /// What is usual there.
    #[schema(example = "3 % to 30 %")]
    pub usual: String,
    /// Who says what is usual.
    #[schema(example = "common practice, no source")]
    pub source: &'static str,
}

/// What a book is looked at beside.
#[derive(Debug, Clone, Copy)]
pub struct Beside<'b> {
    /// First day for which the book holds.
    pub day: Date,
    /// The published version of its book that it follows.
    pub before: Option<&'b BookDoc>,
}

/// Everything of a book that should be looked at again, up to 100 of it.
pub fn of(book: &BookDoc, beside: Beside<'_>) -> Vec<SecondLook> {
    let mut looks = Looks { book, found: Vec::new() };
    if let Some(before) = beside.before {
        before::look(&mut looks, before);
    }
    place::look(&mut looks);
    prices::look(&mut looks);
    setting::look(&mut looks);
    earth::look(&mut looks);
    concrete::look(&mut looks);
    supply::look(&mut looks, beside.day);
    labor::look(&mut looks);
    hours::look(&mut looks);
    looks.found.extend(rates(book));
    money::look(&mut looks);
    let more = looks.found.len().saturating_sub(MOST);
    if more > 0 {
        looks.found.truncate(MOST);
        let detail = worded!("{more} more are not listed: look at these first");
        looks.note(&At::ROOT, detail, worded!("{more} more"), worded!("up to {MOST}"), PRACTICE);
    }
    looks.found
}

/// What is usual for a figure, both ends included, and who says so.
struct Usual<T> {
    what: &'static str,
    least: T,
    most: T,
    source: &'static str,
}

/// A figure that has a usual range.
trait Figure: Copy + PartialOrd {
    /// As the office writes it.
    fn shown(self, show: Show) -> String;
    /// Whether it is 0.
    fn is_nothing(self) -> bool;
    /// As the upper or lower end of a range where the office measures in metres.
    fn metric_end(self, _: End) -> Self {
        self
    }
    /// What was probably meant, where a range tells it.
    fn meant(self, _: &Usual<Self>) -> Option<String> {
        None
    }
}

/// An end of a range.
#[derive(Clone, Copy)]
enum End {
    Least,
    Most,
}

impl End {
    /// The end of a range in a system.
    fn of<T: Figure>(self, figure: T, system: UnitSystem) -> T {
        match system {
            UnitSystem::Us => figure,
            UnitSystem::Metric => figure.metric_end(self),
        }
    }

    /// Outward to two figures: ranges are in feet and inches, and what metric books have beside their ends is round in metres.
    fn outward(self, base: i128) -> i128 {
        let mut step = 1;
        while base / step >= 100 {
            step *= 10;
        }
        match self {
            End::Least => base / step * step,
            End::Most => (base + step - 1) / step * step,
        }
    }
}

/// What has been found so far.
struct Looks<'b> {
    book: &'b BookDoc,
    found: Vec<SecondLook>,
}

impl Looks<'_> {
    fn show(&self) -> Show {
        Show(self.book.unit_system)
    }

    /// An end of a range in the system of the office.
    fn end<T: Figure>(&self, figure: T, end: End) -> T {
        end.of(figure, self.book.unit_system)
    }

    /// A range in the system of the office.
    fn for_office<T: Figure>(&self, usual: &Usual<T>) -> Usual<T> {
        usual.shown_in(self.book.unit_system)
    }

    fn note(&mut self, at: &At<'_>, detail: String, value: String, usual: String, source: &'static str) {
        self.found.push(SecondLook { pointer: at.pointer(), detail, value, usual, source });
    }

    /// A figure beyond its usual range.
    fn figure<T: Figure>(&mut self, at: &At<'_>, figure: T, usual: &Usual<T>) {
        let usual = &self.for_office(usual);
        if (usual.least..=usual.most).contains(&figure) {
            return;
        }
        self.beyond(at, figure, usual, usual.range(self.show()));
    }

    /// The same where 0 is a word of its own: there is none of it.
    fn or_nothing<T: Figure>(&mut self, at: &At<'_>, figure: T, usual: &Usual<T>) {
        let usual = &self.for_office(usual);
        if figure.is_nothing() || (usual.least..=usual.most).contains(&figure) {
            return;
        }
        let range = worded!("none or {}", usual.range(self.show()));
        self.beyond(at, figure, usual, range);
    }

    /// The same for what may be left out.
    fn given<T: Figure>(&mut self, at: &At<'_>, figure: Option<T>, usual: &Usual<T>) {
        if let Some(figure) = figure {
            self.figure(at, figure, usual);
        }
    }

    fn beyond<T: Figure>(&mut self, at: &At<'_>, figure: T, usual: &Usual<T>, range: String) {
        let Usual { what, least: _, most: _, source } = *usual;
        let value = figure.shown(self.show());
        let meant = figure.meant(usual).map_or_else(String::new, |meant| format!("; {meant}"));
        let detail = worded!("{what} is {value} here, usually {range}{meant} ({source})");
        self.note(at, detail, value, range, source);
    }
}

impl<T: Figure> Usual<T> {
    /// The range where lengths are shown in a system.
    fn shown_in(&self, system: UnitSystem) -> Self {
        let Usual { what, least, most, source } = *self;
        Usual { what, least: End::Least.of(least, system), most: End::Most.of(most, system), source }
    }

    fn range(&self, show: Show) -> String {
        let most = self.most.shown(show);
        if self.least.is_nothing() {
            worded!("up to {most}")
        } else {
            worded!("{} to {most}", self.least.shown(show))
        }
    }
}

impl Figure for Percent {
    fn shown(self, _: Show) -> String {
        self.to_string()
    }
    fn is_nothing(self) -> bool {
        self == Percent::ZERO
    }
    /// A percentage that was written as a share of 1.
    fn meant(self, usual: &Usual<Self>) -> Option<String> {
        let whole = Percent::from_millionths(self.millionths().saturating_mul(100));
        let is_share = self < Percent::whole(1) && (usual.least..=usual.most).contains(&whole);
        is_share.then(|| worded!("{whole} is written \"{}\"", whole.number()))
    }
}

impl Figure for Factor {
    fn shown(self, _: Show) -> String {
        self.to_string()
    }
    fn is_nothing(self) -> bool {
        self.millionths() == 0
    }
}

impl Figure for Length {
    fn shown(self, show: Show) -> String {
        show.length(self).to_string()
    }
    fn is_nothing(self) -> bool {
        self == Length::ZERO
    }
    fn metric_end(self, end: End) -> Self {
        i64::try_from(end.outward(i128::from(self.nm()))).map_or(self, Length::from_nm)
    }
}

impl Figure for Volume {
    /// Cubic metres have too few decimals for less than ten litres.
    fn shown(self, show: Show) -> String {
        const TEN_LITRES: i128 = match Unit::L.factor() {
            Some(litre) => 10 * litre,
            None => 0,
        };
        if show.0 == UnitSystem::Metric && (1..TEN_LITRES).contains(&self.nm3()) {
            return Quantity::of_base(self.nm3(), Unit::L, 3).to_string();
        }
        show.volume(self).to_string()
    }
    fn is_nothing(self) -> bool {
        self == Volume::ZERO
    }
    fn metric_end(self, end: End) -> Self {
        Volume::from_nm3(end.outward(self.nm3()))
    }
}

impl Figure for Mass {
    fn shown(self, show: Show) -> String {
        Quantity::of_base(self.base(), show.weight_unit(), 1).to_string()
    }
    fn is_nothing(self) -> bool {
        self.base() == 0
    }
    fn metric_end(self, end: End) -> Self {
        Mass::from_base(end.outward(self.base()))
    }
}

impl Figure for Span {
    fn shown(self, _: Show) -> String {
        let short = self < HOUR;
        Quantity::of_base(i128::from(self.seconds()), if short { Unit::Min } else { Unit::Hr }, 2).to_string()
    }
    fn is_nothing(self) -> bool {
        self.seconds() == 0
    }
}

/// Whole numbers: days, pieces.
impl Figure for i64 {
    fn shown(self, _: Show) -> String {
        self.to_string()
    }
    fn is_nothing(self) -> bool {
        self == 0
    }
}

const HOUR: Span = Span::from_seconds(3600);

/// A span of minutes.
const fn minutes(minutes: i64) -> Span {
    Span::from_seconds(60 * minutes)
}

/// A factor in hundredths.
const fn hundredths(hundredths: i64) -> Factor {
    Factor::from_millionths(hundredths * 10_000)
}

/// A percentage in tenths.
const fn tenths_pct(tenths: i64) -> Percent {
    Percent::from_millionths(tenths * 1_000)
}

/// Whole inches.
const fn inches(inches: i64) -> Length {
    Length::inches(inches, 1)
}

/// Whole cubic yards.
const fn yards(yards: i128) -> Volume {
    let one = match Unit::Yd3.factor() {
        Some(one) => one,
        None => 1,
    };
    Volume::from_nm3(yards * one)
}

const YARD: Volume = yards(1);

/// The unit of densities of a system.
const fn density_unit(system: UnitSystem) -> Unit {
    match system {
        UnitSystem::Us => Unit::LbPerFt3,
        UnitSystem::Metric => Unit::KgPerM3,
    }
}
