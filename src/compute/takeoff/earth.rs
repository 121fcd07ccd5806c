//! Spoil and rubble: what is dug and lifted, what goes back, what is hauled away.

use super::trips::trips;
use super::{check, quantity};
use crate::compute::haul::by_volume_and_weight;
use crate::compute::needs::{Need, Needs, density, weigh};
use crate::domain::book::PriceBook;
use crate::domain::layout::Layout;
use crate::domain::lines::{Check, Outcome, QuantityLine};
use crate::domain::measures::Measures;
use crate::domain::words::Measure;
use crate::units::quantity::{Mass, Span};
use crate::units::show::{counted, worded};
use crate::units::{Quantity, Unit, UnitSystem, Volume};
use crate::wire::Code;
use crate::wire::book::ground::{HaulRule, SurfaceKind};
use serde::Serialize;
use smallvec::SmallVec;
use std::cmp::Ordering;
use utoipa::ToSchema;

/// Gathers earth and rubble over the layout.
#[derive(Debug, Clone, Default)]
pub struct Earth {
    dug: Volume,
    back: Volume,
    lifted: Vec<Lifted>,
}

/// Solid volume of one kind of surface.
#[derive(Debug, Clone)]
struct Lifted {
    kind: SurfaceKind,
    solid: Volume,
    /// What of it has its place again, if the surface goes back at all.
    again: Volume,
}

/// Spoil, rubble and loads.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct EarthTakeoff {
    /// The quantities.
    pub quantities: Vec<QuantityLine>,
    /// Hours of trucks and drivers on all trips, where they are timed and no item of the haul pays them.
    #[serde(skip)]
    pub unpaid_driving: Option<Span>,
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

    /// Notes a solid volume of surface lifted, and how much of it has its place again.
    pub fn lift(&mut self, kind: SurfaceKind, solid: Volume, again: Volume) {
        match self.lifted.iter_mut().find(|l| l.kind == kind) {
            Some(have) => {
                have.solid += solid;
                have.again += again;
            }
            None => self.lifted.push(Lifted { kind, solid, again }),
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
        let mut weights: Vec<String> = Vec::new();
        // Each kind by itself, with what tipping it is paid by.
        let mut kinds: SmallVec<[(Option<&Code>, Volume, Mass); 4]> = SmallVec::new();
        let haul = book.doc().haul.as_ref();
        if let Some(soil) = book.soil(layout.soil) {
            // Backfill takes compacted / (compacted over bank) of bank volume; the rest is export.
            let for_back = soil.bank_to_compacted.undo(self.back);
            let left_over = (self.dug - for_back).at_least_zero();
            let kept = kept(left_over, layout, &mut q, checks);
            let export_bank = left_over - kept;
            let loose = soil.bank_to_loose.of(export_bank);
            let kept_words =
                if kept.nm3() > 0 { worded!(" - {} kept", show.volume(kept)) } else { String::new() };
            if for_back > self.dug {
                checks.push(check(
                    "backfill_from_spoil",
                    "earth",
                    Outcome::Warn,
                    worded!(
                        "backfill takes {} of bank soil, more than the {} dug: {} is to be brought, which nothing here \
                         counts",
                        show.volume(for_back),
                        show.volume(self.dug),
                        show.volume(for_back - self.dug)
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
                worded!(
                    "takes {} of bank soil at {} compacted over bank",
                    show.volume(for_back),
                    soil.bank_to_compacted
                ),
            ));
            let left =
                worded!("({} dug - {} back{kept_words})", show.volume(self.dug), show.volume(for_back));
            let basis = if for_back > self.dug {
                worded!("nothing: {} dug, backfill takes {}", show.volume(self.dug), show.volume(for_back))
            } else {
                worded!("{left} x {} loose over bank, {}", soil.bank_to_loose, soil.soil)
            };
            let weight = weigh(export_bank, soil.weight_per_ft3.per_ft3());
            let tipped_by = haul.and_then(|h| h.soil_disposal_item.as_ref());
            kinds.push((tipped_by, loose, weight));
            if let Some(item) = tipped_by {
                let what = format_args!("{left} of {}", soil.soil);
                let hauled = Hauled {
                    loose,
                    weight,
                    basis: &basis,
                    solid: what,
                    per_ft3: soil.weight_per_ft3.per_ft3(),
                };
                fee(item, &hauled, book, haul, needs);
            }
            weights.push(worded!("{} of {}", weight_shown(weight, show.0), soil.soil));
            q.push(quantity("spoil_loose", show.volume(loose), "earth.export", basis));
        }
        for Lifted { kind, solid, again } in &self.lifted {
            let Some(rule) = book.surface(*kind) else {
                checks.push(check(
                    "surface_in_book",
                    kind.word(),
                    Outcome::Fail,
                    worded!("the price book does not say how `{kind}` is hauled and restored"),
                ));
                continue;
            };
            // What goes back leaves what stood where the channel stands now.
            let (solid, back) =
                if rule.reused.0 { (*solid - *again, *again) } else { (*solid, Volume::ZERO) };
            if solid.nm3() <= 0 {
                continue;
            }
            let laid_again = if back.nm3() > 0 {
                worded!("; {} more laid again", show.volume(back))
            } else {
                String::new()
            };
            let loose = rule.bulking.of(solid);
            let weight = weigh(solid, rule.weight_per_ft3.per_ft3());
            let basis = worded!("{} of {kind} x {} bulking{laid_again}", show.volume(solid), rule.bulking);
            kinds.push((rule.disposal_item.as_ref(), loose, weight));
            if let Some(item) = &rule.disposal_item {
                let what = format_args!("{} of {kind}", show.volume(solid));
                let hauled = Hauled {
                    loose,
                    weight,
                    basis: &basis,
                    solid: what,
                    per_ft3: rule.weight_per_ft3.per_ft3(),
                };
                fee(item, &hauled, book, haul, needs);
            }
            weights.push(worded!("{} of {kind}", weight_shown(weight, show.0)));
            q.push(quantity(worded!("rubble_{kind}"), show.volume(loose), "earth.rubble", basis));
        }
        let loose_all: Volume = kinds.iter().map(|kind| kind.1).sum();
        let weight_all: i128 = kinds.iter().map(|kind| kind.2.base()).sum();
        measures.add_volume(Measure::ExportLoose, loose_all);
        q.push(quantity(
            "export_weight",
            weight_shown(Mass::from_base(weight_all), show.0),
            "earth.weight",
            if weights.is_empty() { "nothing".to_owned() } else { weights.join(" + ") },
        ));
        let mut unpaid_driving = None;
        if let Some(haul) = haul {
            let (loads, mut basis) =
                loads(loose_all, Mass::from_base(weight_all), haul.truck_volume, haul.truck_payload, show);
            let apart = loads_apart(&kinds, haul);
            if apart > loads {
                basis.push_str(&worded!(
                    "; kinds that are tipped at other fees make {apart} apart: ask the tip whether it takes them in one load"
                ));
            }
            measures.add_count(Measure::HaulLoads, loads);
            if let Some(item) = &haul.haul_item {
                needs.add(book, item, Need::Pieces(loads), "earth.loads", &basis);
            }
            q.push(quantity("haul_loads", Quantity::pieces(loads), "earth.loads", basis));
            unpaid_driving = trips(loads, haul, layout, book, needs, &mut q, checks);
        }
        EarthTakeoff { quantities: q, unpaid_driving }
    }
}

/// Loads where kinds that are tipped at other fees do not share a truck.
fn loads_apart(kinds: &[(Option<&Code>, Volume, Mass)], haul: &HaulRule) -> i64 {
    let mut by_fee: SmallVec<[(Option<&Code>, Volume, Mass); 4]> = SmallVec::new();
    for &(fee, loose, weight) in kinds {
        match by_fee.iter_mut().find(|known| known.0 == fee) {
            Some(known) => *known = (fee, known.1 + loose, Mass::from_base(known.2.base() + weight.base())),
            None => by_fee.push((fee, loose, weight)),
        }
    }
    let of = |&(_, loose, weight): &(_, Volume, Mass)| {
        by_volume_and_weight(loose, weight, haul.truck_volume, haul.truck_payload).0
    };
    by_fee.iter().map(of).sum()
}

/// What the notes keep on site of the soil that backfill leaves over, in the bank.
fn kept(
    left_over: Volume,
    layout: &Layout<'_>,
    q: &mut Vec<QuantityLine>,
    checks: &mut Vec<Check>,
) -> Volume {
    let Some(notes) = layout.haul else { return Volume::ZERO };
    let wish = if notes.keep_all_spoil.0 { Some(left_over) } else { notes.spoil_kept };
    let Some(wish) = wish else { return Volume::ZERO };
    let show = layout.show;
    let kept = wish.min(left_over);
    if wish > left_over {
        checks.push(check(
            "spoil_kept",
            "earth",
            Outcome::Warn,
            worded!(
                "the notes keep {} on site, but backfill leaves only {}",
                show.volume(wish),
                show.volume(left_over)
            ),
        ));
    }
    let basis = worded!("kept on site of {} that backfill leaves, in the bank", show.volume(left_over));
    q.push(quantity("spoil_kept", show.volume(kept), "earth.kept", basis));
    kept
}

/// What is hauled away of one kind.
struct Hauled<'h> {
    loose: Volume,
    weight: Mass,
    /// How the loose volume came about.
    basis: &'h str,
    /// What is weighed.
    solid: std::fmt::Arguments<'h>,
    per_ft3: Mass,
}

/// The fee for tipping it: by weight, by the load, or by loose volume, as its item is sold.
fn fee<'a>(
    item: &'a Code,
    hauled: &Hauled<'_>,
    book: &'a PriceBook,
    haul: Option<&HaulRule>,
    needs: &mut Needs<'a>,
) {
    let Hauled { loose, weight, basis, solid, per_ft3 } = *hauled;
    let unit = book.item(item).map(|i| i.unit);
    let need = match unit.map(Unit::dimension) {
        Some(crate::units::Dimension::Mass) => {
            let density = density(per_ft3, unit.unwrap_or(Unit::Lb));
            let basis = format_args!("{solid} at {density}");
            needs.add(book, item, Need::Weight(weight), "earth.disposal", basis);
            return;
        }
        Some(crate::units::Dimension::Count) => {
            let Some(haul) = haul else { return };
            Need::Pieces(by_volume_and_weight(loose, weight, haul.truck_volume, haul.truck_payload).0)
        }
        _ => Need::Volume(loose, None),
    };
    needs.add(book, item, need, "earth.disposal", basis);
}

fn weight_shown(weight: Mass, system: UnitSystem) -> Quantity {
    match system {
        UnitSystem::Us => Quantity::of_base(weight.base(), Unit::ShortTon, 3),
        UnitSystem::Metric => Quantity::of_base(weight.base(), Unit::T, 3),
    }
}

fn loads(
    loose: Volume,
    weight: Mass,
    truck: Volume,
    payload: Mass,
    show: crate::units::show::Show,
) -> (i64, String) {
    let (count, by_weight) = by_volume_and_weight(loose, weight, truck, payload);
    let decides = match by_weight {
        Ordering::Greater => "weight decides".to_owned(),
        Ordering::Less => "volume decides".to_owned(),
        Ordering::Equal if count == 0 => "nothing is hauled".to_owned(),
        Ordering::Equal => worded!("both come to {}", counted(count, "load")),
    };
    let basis = worded!(
        "{} loose at {} a truck, {} at {} a truck: {decides}",
        show.volume(loose),
        show.volume(truck),
        weight_shown(weight, show.0),
        weight_shown(payload, show.0),
    );
    (count, basis)
}
