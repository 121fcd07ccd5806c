//! Stage: the concrete order, every way of the book compared.
//!
//! | file | subject |
//! |---|---|
//! | this one | the order for a volume |
//! | `ways` | what one way orders and costs |
//! | `crew` | what mixing and placing it takes, as the labor stage reckons them, and the tax on what is bought |
//! | [`days`] | what is poured on one day ordered together |
//! | [`last_load`] | a short last truck: take it, order more, or bags for the rest |
//! | [`mod@break_even`] | from which volume on which way is the cheapest |
//! | [`trucks`] | truck sequence, interval, time limit |
//! | [`weather`] | cold, hot, evaporation |

pub mod break_even;
mod crew;
pub mod days;
pub mod last_load;
#[cfg(test)]
mod tests;
pub mod trucks;
mod ways;
pub mod weather;

use crate::compute::labor::Conditions;
use crate::domain::book::PriceBook;
use crate::domain::layout::choices;
use crate::domain::lines::CostLine;
use crate::units::quantity::Span;
use crate::units::show::{Show, Working, told, worded};
use crate::units::{Amount, Factor, Percent, Quantity, Unit, Volume};
use crate::wire::book::concrete::ConcreteWay;
use crate::wire::notes::{ConcreteNotes, PourWeather, ShortLastLoad};
use crate::wire::{At, Code, Faults};
use break_even::BreakEven;
pub use break_even::break_even;
use days::{PourDay, PoursCompared};
use serde::Serialize;
use utoipa::ToSchema;

/// Rule of the lines for bags.
pub(crate) const BAGS: &str = "concrete.bags";

/// The order with all ways beside each other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ConcreteOrder {
    /// Net volume.
    pub net: Quantity,
    /// Waste added.
    pub waste_pct: Percent,
    /// Net with waste: what must be there at least.
    pub with_waste: Quantity,
    /// How that came about.
    pub basis: String,
    /// Code of the way chosen; absent when no concrete is needed, or when pour days take different ways.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub chosen: Option<String>,
    /// Why.
    pub because: String,
    /// Every way of the book, cheapest first; on several pour days, each way on all of them.
    pub ways: Vec<WayOrder>,
    /// The pour days; in an estimate only where its notes say something about pouring.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub days: Vec<PourDay>,
    /// The pours as planned, each alone, and all together; where there are several.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub compared: Option<PoursCompared>,
    /// From which volume on which way is the cheapest; in the calculator, where it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub break_even: Option<BreakEven>,
    /// What is ordered day by day, where there are several pour days.
    #[serde(skip)]
    taken: Vec<(i64, WayOrder)>,
}

/// What is asked of an order beside its volume.
#[derive(Debug, Clone, Copy)]
pub struct Terms<'a> {
    /// Waste.
    pub waste: Percent,
    /// Way wished for.
    pub wish: Option<&'a Code>,
    /// What is done about a short last truck.
    pub last_load: ShortLastLoad,
    /// From the plant to the site, where it is not the book's.
    pub travel: Option<Span>,
    /// Weather by pour day.
    pub weather: &'a [PourWeather],
    /// The site, where it is known.
    pub site: Option<Site<'a>>,
    working: Working,
}

/// What decides the hours of mixing and placing, and the taxes that are due.
#[derive(Debug, Clone, Copy)]
pub struct Site<'a> {
    /// Conditions of the hours.
    pub conditions: Conditions<'a>,
    /// Where the sale takes place, as taxes name it.
    pub place: Option<&'a Code>,
}

/// What a way is reckoned by: the book, the site, the units of the answer.
#[derive(Debug, Clone, Copy)]
struct Setting<'a> {
    book: &'a PriceBook,
    site: Option<Site<'a>>,
    show: Show,
    /// Whether lines, hours and warnings say how they came about.
    working: Working,
}

impl<'a> Terms<'a> {
    /// The terms of notes; those of the book where they say nothing.
    pub fn of(waste: Percent, wish: Option<&'a Code>, notes: Option<&'a ConcreteNotes>) -> Self {
        Self {
            waste,
            wish,
            last_load: notes.and_then(|n| n.short_last_load).unwrap_or(ShortLastLoad::AsIs),
            travel: notes.and_then(|n| n.plant_travel),
            weather: notes.map_or(&[], |n| &n.weather),
            site: None,
            working: Working::Written,
        }
    }

    /// The same on a site.
    #[must_use]
    pub fn on(self, site: Site<'a>) -> Self {
        Self { site: Some(site), ..self }
    }

    /// The same for an order of which only figures are used: what its lines and hours come from is not written.
    #[must_use]
    pub(super) fn figures_only(self) -> Self {
        Self { working: Working::Left, ..self }
    }

    const fn setting<'s>(&self, book: &'s PriceBook, show: Show) -> Setting<'s>
    where
        'a: 's,
    {
        Setting { book, site: self.site, show, working: self.working }
    }

    /// The weather of a pour day.
    pub fn weather_of(&self, day: i64) -> Option<&'a PourWeather> {
        self.weather.iter().find(|w| w.day.map_or(1, |d| d.get()) == day)
    }
}

/// One way with what it would order and cost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct WayOrder {
    /// Code of the way.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Whether it is the cheapest, all in.
    pub cheapest: bool,
    /// What is ordered: a volume, or bags.
    pub order: Quantity,
    /// Volume that arrives.
    pub volume_ordered: Quantity,
    /// Loads or trips; pallets for bags.
    pub loads: i64,
    /// The volume of each load, in order.
    pub load_sizes: Vec<Quantity>,
    /// Person-hours that this way takes and others do not: mixing, fetching.
    pub extra_hours: Quantity,
    /// Code of the trade that works them; absent where there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub extra_trade: Option<String>,
    /// What those hours cost with burden. Mixing takes its setup, the factors of the site and the rounding of the crew's hours; in
    /// an estimate it is in the labor.
    pub extra_labor_cost: Amount,
    /// Hire of the machines that mix, by the hours, with transport. In an estimate it is in the hire.
    pub extra_hire_cost: Amount,
    /// Person-hours that placing what arrives takes, after rounding.
    pub placing_hours: Quantity,
    /// What placing costs with burden and with machines of its own. In an estimate it is in the labor and the hire.
    pub placing_cost: Amount,
    /// Taxes on what is bought, by themselves. In an estimate they are in the direct cost.
    pub purchase_tax: Amount,
    /// Where the hours, the hire and the tax come from.
    pub work_basis: String,
    /// Cost lines: concrete, charges, hire.
    pub lines: Vec<CostLine>,
    /// Everything together, for the comparison: the lines, mixing, placing and purchase tax, as an estimate charges them, to some
    /// cents, for it rounds the hours of a trade and a tax once over the whole job. A machine is counted as if it came for this
    /// alone; overtime, travel and hire by the days of a plan are those of the whole job and not compared.
    pub all_in: Amount,
    /// What to mind.
    pub warnings: Vec<String>,
    /// Volume that arrives; for the stages that follow.
    #[serde(skip)]
    pub volume: Volume,
    /// What of it comes by truck, load by load.
    #[serde(skip)]
    pub trucked: Vec<Volume>,
    /// Bags mixed on site.
    #[serde(skip)]
    pub bags: i64,
}

impl WayOrder {
    /// The order of a way that is these lines and nothing else: no loads, no hours of the crew, no bags.
    fn of(way: &ConcreteWay, order: Quantity, volume: Volume, lines: Vec<CostLine>, show: Show) -> Self {
        Self {
            code: way.code().as_str().to_owned(),
            name: way.name().as_str().to_owned(),
            cheapest: false,
            order,
            volume_ordered: show.volume(volume),
            loads: 0,
            load_sizes: Vec::new(),
            extra_hours: Quantity::new(0, 0, Unit::Hr),
            extra_trade: None,
            extra_labor_cost: Amount::ZERO,
            extra_hire_cost: Amount::ZERO,
            placing_hours: Quantity::new(0, 0, Unit::Hr),
            placing_cost: Amount::ZERO,
            purchase_tax: Amount::ZERO,
            work_basis: String::new(),
            all_in: lines.iter().map(|l| l.cost).sum(),
            lines,
            warnings: Vec::new(),
            volume,
            trucked: Vec::new(),
            bags: 0,
        }
    }
}

impl ConcreteOrder {
    /// The way chosen.
    pub fn chosen_way(&self) -> Option<&WayOrder> {
        let code = self.chosen.as_deref()?;
        self.ways.iter().find(|w| w.code == code)
    }
}

/// How many whole increments cover a net volume with waste, exactly.
///
/// # Formula
/// `ceil(net x (1 + waste) / increment)` in whole numbers: no binary fraction can add an increment
/// # Units
/// cubic nanometres and millionths
/// # Valid for
/// volumes up to 100,000 m³; `None` when the exact product would not fit 128 bits or the increment is nothing
/// # Source
/// arithmetic; the example of 25 ft x 36 in x 9 in with 8 % waste is exactly 2.25 yd³ where binary gives 2.2500000000000004
/// # Example
/// ```
/// use rillcast::{compute::concrete::increments, units::{Length, Percent}};
/// let quarter_yard = { let y = Length::feet(3); rillcast::units::Volume::from_nm3((y * y * y).nm3() / 4) };
/// let net = Length::feet(25) * Length::inches(36, 1) * Length::inches(9, 1);
/// assert_eq!(increments(net, Percent::whole(8), quarter_yard), Some(9)); // 2.25 yd³
/// // NAVEDTRA 14070 ch. 5: 527.40 ft³ with 10 % is 21.487 yd³, an order of 21.50.
/// let cubic_foot = Length::FOOT * Length::FOOT * Length::FOOT;
/// let net = rillcast::units::Volume::from_nm3(cubic_foot.nm3() * 52_740 / 100);
/// assert_eq!(increments(net, Percent::whole(10), quarter_yard), Some(86));
/// ```
pub fn increments(net: Volume, waste: Percent, increment: Volume) -> Option<i64> {
    let (above, below) = waste.on_top().reduced();
    let need = net.nm3().checked_mul(above)?;
    let step = increment.nm3().checked_mul(below)?;
    if step <= 0 {
        return None;
    }
    i64::try_from(if need <= 0 { 0 } else { (need - 1) / step + 1 }).ok()
}

/// How many increments are ordered where a least order holds: those needed, and no fewer than cover it, exactly.
///
/// # Formula
/// `max(increments needed, ceil(least order / increment))`
/// # Units
/// whole increments; cubic nanometres
/// # Valid for
/// as [`increments`]
/// # Source
/// definition of a least order
/// # Example
/// ```
/// use rillcast::{compute::concrete::at_least_order, units::{Length, Volume}};
/// let yard = { let y = Length::feet(3); y * y * y };
/// let quarter_yard = Volume::from_nm3(yard.nm3() / 4);
/// assert_eq!(at_least_order(3, yard, quarter_yard), Some(4)); // 0.75 yd³ needed, 1 yd³ is the least
/// assert_eq!(at_least_order(9, yard, quarter_yard), Some(9));
/// ```
pub fn at_least_order(needed: i64, least: Volume, increment: Volume) -> Option<i64> {
    increments(least, Percent::ZERO, increment).map(|fewest| needed.max(fewest))
}

/// Orders concrete for a net volume under plain conditions; a short last truck comes as it is.
///
/// # Errors
/// When the volume is too large to be reckoned exactly, or the way wished for is not in the book.
pub fn order(
    net: Volume,
    waste: Percent,
    wish: Option<&Code>,
    book: &PriceBook,
    show: Show,
) -> Result<ConcreteOrder, Faults> {
    order_with(net, &Terms::of(waste, wish, None), book, show)
}

/// The fault of a volume that a way cannot be reckoned for; whoever asked knows at which member.
fn too_much(way: &ConcreteWay, net: Volume, waste: Percent, show: Show) -> Faults {
    let most = ways::Most::of(way, waste, show.volume_unit());
    let why = if most.by_loads {
        worded!("takes more than {} loads", ways::MOST_LOADS)
    } else {
        "is too large to be reckoned exactly".to_owned()
    };
    let (code, largest) = (way.code(), show.volume(most.net));
    let rule =
        worded!("{} with {waste} waste {why} by `{code}`: at most {largest} before waste", show.volume(net));
    let mut faults = Faults::new();
    faults.add(&At::ROOT, "out_of_range", rule).allow([worded!("at most {largest}")]);
    faults
}

pub(super) fn order_with(
    net: Volume,
    terms: &Terms<'_>,
    book: &PriceBook,
    show: Show,
) -> Result<ConcreteOrder, Faults> {
    let Terms { waste, wish, last_load, working, .. } = *terms;
    let setting = terms.setting(book, show);
    let factor: Factor = waste.on_top();
    let with_waste = factor.of(net);
    let basis = told!(working, "{} x (1 + {waste}) = {}", show.volume(net), show.volume(with_waste));
    let mut answer = ConcreteOrder {
        net: show.volume(net),
        waste_pct: waste,
        with_waste: show.volume(with_waste),
        basis,
        chosen: None,
        because: "no concrete is needed".to_owned(),
        ways: Vec::new(),
        days: Vec::new(),
        compared: None,
        break_even: None,
        taken: Vec::new(),
    };
    let mut faults = Faults::new();
    choices::concrete_way(wish, book, &At::ROOT, &mut faults);
    if !faults.is_empty() {
        return Err(faults);
    }
    if net.nm3() <= 0 {
        return Ok(answer);
    }
    for way in &book.doc().concrete_ways {
        let as_is = crew::reckon(way, net, waste, &setting);
        let order = match last_load {
            ShortLastLoad::AsIs => as_is,
            wish => as_is.and_then(|o| last_load::applied(way, o, net, waste, wish, &setting)),
        };
        match order {
            Some(order) => answer.ways.push(order),
            None => return Err(too_much(way, net, waste, show)),
        }
    }
    answer.ways.sort_by_key(|w| w.all_in);
    if let Some(first) = answer.ways.first_mut() {
        first.cheapest = true;
    }
    let cheapest = answer.ways.first().map(|w| (w.code.clone(), w.all_in));
    if let Some((code, cost)) = cheapest {
        match wish {
            Some(wished) => {
                let more = answer
                    .ways
                    .iter()
                    .find(|w| w.code == wished.as_str())
                    .map_or(Amount::ZERO, |w| w.all_in - cost);
                answer.because = if more == Amount::ZERO {
                    told!(working, "asked for in the notes; no other way is cheaper")
                } else {
                    told!(working, "asked for in the notes; `{code}` would be {more} cheaper")
                };
                answer.chosen = Some(wished.as_str().to_owned());
            }
            None => {
                let next = answer.ways.get(1).map_or(String::new(), |w| {
                    told!(working, ", {} less than `{}`", w.all_in - cost, w.code)
                });
                answer.because = told!(working, "cheapest with everything that comes with it: {cost}{next}");
                answer.chosen = Some(code);
            }
        }
    }
    Ok(answer)
}
