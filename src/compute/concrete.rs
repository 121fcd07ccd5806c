//! Stage: the concrete order, every way of the book compared.

mod ways;

use crate::domain::book::PriceBook;
use crate::domain::lines::CostLine;
use crate::units::show::Show;
use crate::units::{Amount, Factor, Percent, Quantity, Volume};
use crate::wire::{At, Code, Faults};
use serde::Serialize;
use utoipa::ToSchema;

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
    /// Code of the way chosen; absent when no concrete is needed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub chosen: Option<String>,
    /// Why.
    pub because: String,
    /// Every way of the book, cheapest first.
    pub ways: Vec<WayOrder>,
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
    /// What those hours cost with burden. In an estimate the hours of mixing are in the labor, not here.
    pub extra_labor_cost: Amount,
    /// Cost lines: concrete, charges, hire.
    pub lines: Vec<CostLine>,
    /// Everything together, for the comparison.
    pub all_in: Amount,
    /// What to mind.
    pub warnings: Vec<String>,
    /// Volume that arrives; for the stages that follow.
    #[serde(skip)]
    pub volume: Volume,
    /// Bags mixed on site.
    #[serde(skip)]
    pub bags: i64,
}

impl ConcreteOrder {
    /// The way chosen.
    pub fn chosen_way(&self) -> Option<&WayOrder> {
        let code = self.chosen.as_deref()?;
        self.ways.iter().find(|w| w.code == code)
    }

    /// Cost lines of the way chosen.
    pub fn chosen_lines(&self) -> &[CostLine] {
        self.chosen_way().map_or(&[], |w| &w.lines)
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

/// Orders concrete for a net volume.
///
/// # Errors
/// When the volume is too large to be reckoned exactly.
pub fn order(
    net: Volume,
    waste: Percent,
    wish: Option<&Code>,
    book: &PriceBook,
    show: Show,
) -> Result<ConcreteOrder, Faults> {
    let factor: Factor = waste.on_top();
    let with_waste = factor.of(net);
    let basis = format!("{} x (1 + {waste}) = {}", show.volume(net), show.volume(with_waste));
    let mut answer = ConcreteOrder {
        net: show.volume(net),
        waste_pct: waste,
        with_waste: show.volume(with_waste),
        basis,
        chosen: None,
        because: "no concrete is needed".to_owned(),
        ways: Vec::new(),
    };
    if net.nm3() <= 0 {
        return Ok(answer);
    }
    for way in &book.doc().concrete_ways {
        match ways::reckon(way, net, waste, book, show) {
            Some(order) => answer.ways.push(order),
            None => {
                let mut faults = Faults::new();
                faults.add(
                    &At::ROOT,
                    "out_of_range",
                    "the volume and waste are too large to be reckoned exactly",
                );
                return Err(faults);
            }
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
                    "asked for in the notes; no other way is cheaper".to_owned()
                } else {
                    format!("asked for in the notes; `{code}` would be {more} cheaper")
                };
                answer.chosen = Some(wished.as_str().to_owned());
            }
            None => {
                let next = answer
                    .ways
                    .get(1)
                    .map_or(String::new(), |w| format!(", {} less than `{}`", w.all_in - cost, w.code));
                answer.because = format!("cheapest with everything that comes with it: {cost}{next}");
                answer.chosen = Some(code);
            }
        }
    }
    Ok(answer)
}
