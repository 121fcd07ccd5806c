//! Spoil and rubble: what is dug and lifted, what goes back, what is hauled away.

use super::{check, quantity};
use crate::compute::needs::{Need, Needs};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::exact::div_round;
use crate::units::quantity::Mass;
use crate::units::{Quantity, Unit, UnitSystem, Volume};
use crate::wire::book::ground::SurfaceKind;
use serde::Serialize;
use utoipa::ToSchema;

/// Gathers earth and rubble over the layout.
#[derive(Debug, Clone, Default)]
pub struct Earth {
    dug: Volume,
    back: Volume,
    lifted: Vec<(SurfaceKind, Volume)>,
}

/// Spoil, rubble and loads.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct EarthTakeoff {
    /// The quantities.
    pub quantities: Vec<QuantityLine>,
}

impl Earth {
    /// Notes a bank volume dug.
    pub fn dig(&mut self, bank: Volume) {
        self.dug += bank;
    }

    /// Notes a compacted volume filled back with native soil.
    pub fn fill_back(&mut self, compacted: Volume) {
        self.back += compacted;
    }

    /// Notes a solid volume of surface lifted.
    pub fn lift(&mut self, kind: SurfaceKind, solid: Volume) {
        match self.lifted.iter_mut().find(|(k, _)| *k == kind) {
            Some((_, have)) => *have += solid,
            None => self.lifted.push((kind, solid)),
        }
    }

    /// Turns it into export, loads and fees.
    pub fn close<'a>(
        self,
        layout: &Layout<'a>,
        book: &'a PriceBook,
        measures: &mut Measures,
        needs: &mut Needs<'a>,
        checks: &mut Vec<Check>,
    ) -> EarthTakeoff {
        let show = layout.show;
        let mut q = Vec::new();
        let mut loose_all = Volume::ZERO;
        let mut weight_all = 0_i128;
        let haul = book.doc().haul.as_ref();
        if let Some(soil) = book.soil(layout.soil) {
            // Backfill takes compacted / (compacted over bank) of bank volume; the rest is export.
            let for_back = soil.bank_to_compacted.undo(self.back);
            let export_bank = (self.dug - for_back).at_least_zero();
            let loose = soil.bank_to_loose.of(export_bank);
            if for_back > self.dug {
                checks.push(check(
                    "backfill_from_spoil",
                    "earth",
                    Outcome::Warn,
                    format!(
                        "backfill takes {} of bank soil, more than the {} dug",
                        show.volume(for_back),
                        show.volume(self.dug)
                    ),
                ));
            }
            q.push(quantity(
                "spoil_bank",
                show.volume(self.dug),
                "earth.spoil",
                "excavation of all runs and lines".to_owned(),
            ));
            q.push(quantity(
                "backfill_compacted",
                show.volume(self.back),
                "earth.backfill",
                format!(
                    "takes {} of bank soil at {} compacted over bank",
                    show.volume(for_back),
                    soil.bank_to_compacted
                ),
            ));
            let basis = format!(
                "({} dug - {} back) x {} loose over bank, {}",
                show.volume(self.dug),
                show.volume(for_back),
                soil.bank_to_loose,
                soil.soil
            );
            let weight = weigh(export_bank, soil.weight_per_ft3);
            if let Some(item) = haul.and_then(|h| h.soil_disposal_item.as_ref()) {
                fee(item, loose, weight, book, haul, needs, &basis);
            }
            q.push(quantity("export_loose", show.volume(loose), "earth.export", basis));
            loose_all += loose;
            weight_all += weight.base();
        }
        for (kind, solid) in &self.lifted {
            let Some(rule) = book.surface(*kind) else {
                checks.push(check(
                    "surface_in_book",
                    kind.word(),
                    Outcome::Fail,
                    format!("the price book does not say how `{kind}` is hauled and restored"),
                ));
                continue;
            };
            if rule.reused.0 {
                continue;
            }
            let loose = rule.bulking.of(*solid);
            let weight = weigh(*solid, rule.weight_per_ft3);
            let basis = format!("{} of {kind} x {} bulking", show.volume(*solid), rule.bulking);
            if let Some(item) = &rule.disposal_item {
                fee(item, loose, weight, book, haul, needs, &basis);
            }
            q.push(quantity(format!("rubble_{kind}"), show.volume(loose), "earth.rubble", basis));
            loose_all += loose;
            weight_all += weight.base();
        }
        measures.add_volume(Measure::ExportLoose, loose_all);
        q.push(quantity(
            "export_weight",
            weight_shown(Mass::from_base(weight_all), show.0),
            "earth.weight",
            "spoil and rubble by their weight in the bank".to_owned(),
        ));
        if let Some(haul) = haul {
            let (loads, basis) =
                loads(loose_all, Mass::from_base(weight_all), haul.truck_volume, haul.truck_payload, show);
            measures.add_count(Measure::HaulLoads, loads);
            if let Some(item) = &haul.haul_item {
                needs.add(book, item, Need::Pieces(loads), "earth.loads", &basis);
            }
            q.push(quantity("haul_loads", Quantity::pieces(loads), "earth.loads", basis));
        }
        EarthTakeoff { quantities: q }
    }
}

fn fee<'a>(
    item: &'a crate::wire::Code,
    loose: Volume,
    weight: Mass,
    book: &'a PriceBook,
    haul: Option<&crate::wire::book::ground::HaulRule>,
    needs: &mut Needs<'a>,
    basis: &str,
) {
    let unit = book.item(item).map(|i| i.unit);
    let need = match unit.map(Unit::dimension) {
        Some(crate::units::Dimension::Mass) => {
            let Some(per) = unit.and_then(Unit::factor) else { return };
            let millionths = weight.base().saturating_mul(1_000_000) / per;
            Need::Units(rust_decimal::Decimal::try_from_i128_with_scale(millionths, 6).unwrap_or_default())
        }
        Some(crate::units::Dimension::Count) => {
            let Some(haul) = haul else { return };
            Need::Pieces(by_volume_and_weight(loose, weight, haul.truck_volume, haul.truck_payload).0)
        }
        _ => Need::Volume(loose, None),
    };
    needs.add(book, item, need, "earth.disposal", basis);
}

/// Weight of a volume.
pub fn weigh(volume: Volume, per_ft3: Mass) -> Mass {
    let cubic_foot = Unit::Ft3.factor().unwrap_or(1);
    // Thousandths of a cubic foot keep the product within 128 bits.
    let thousandths = div_round(volume.nm3().saturating_mul(1000), cubic_foot);
    Mass::from_base(div_round(thousandths.saturating_mul(per_ft3.base()), 1000))
}

fn weight_shown(weight: Mass, system: UnitSystem) -> Quantity {
    match system {
        UnitSystem::Us => Quantity::of_base(weight.base(), Unit::ShortTon, 3),
        UnitSystem::Metric => Quantity::of_base(weight.base(), Unit::T, 3),
    }
}

/// Loads by loose volume and by weight, whichever needs more.
///
/// # Formula
/// `max(ceil(volume / truck volume), ceil(weight / payload))`
/// # Units
/// exact
/// # Valid for
/// a truck that takes something; an empty export needs no load
/// # Source
/// common practice, no source; the volume part as in a construction-estimating textbook, ch. 9, ex. 9-2 (read): 1,300 loose yd³ at 7 yd³ is 186 loads
/// # Example
/// ```
/// use rillcast::{compute::takeoff::earth::by_volume_and_weight, units::{Length, Volume, quantity::Mass}};
/// let yard = Length::feet(3) * Length::feet(3) * Length::feet(3);
/// assert_eq!(by_volume_and_weight(yard * 1300, Mass::pounds(0), yard * 7, Mass::pounds(20_000)).0, 186);
/// assert_eq!(by_volume_and_weight(yard * 4, Mass::pounds(16_200), yard * 10, Mass::pounds(8_000)).0, 3);
/// ```
pub fn by_volume_and_weight(loose: Volume, weight: Mass, truck: Volume, payload: Mass) -> (i64, bool) {
    let up = |need: i128, each: i128| if need <= 0 || each <= 0 { 0 } else { (need - 1) / each + 1 };
    let (by_volume, by_weight) = (up(loose.nm3(), truck.nm3()), up(weight.base(), payload.base()));
    (i64::try_from(by_volume.max(by_weight)).unwrap_or(i64::MAX), by_weight > by_volume)
}

fn loads(
    loose: Volume,
    weight: Mass,
    truck: Volume,
    payload: Mass,
    show: crate::units::show::Show,
) -> (i64, String) {
    let (count, heavy) = by_volume_and_weight(loose, weight, truck, payload);
    let basis = format!(
        "{} loose at {} a truck, {} at {} a truck: {} decides",
        show.volume(loose),
        show.volume(truck),
        weight_shown(weight, show.0),
        weight_shown(payload, show.0),
        if heavy { "weight" } else { "volume" }
    );
    (count, basis)
}
