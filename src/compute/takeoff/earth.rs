//! Spoil and rubble: what is dug and lifted, what goes back, what is hauled away.

use super::check;
use super::collect::Collect;
use super::trips::trips;
use crate::compute::haul::by_volume_and_weight;
use crate::compute::needs::{Need, density, weigh};
use crate::domain::lines::{Outcome, QuantityLine};
use crate::domain::words::Measure;
use crate::units::quantity::{Mass, Span};
use crate::units::show::{Show, counted, joined, worded};
use crate::units::{Dimension, Quantity, Unit, UnitSystem, Volume};
use crate::wire::Code;
use crate::wire::book::ground::{HaulRule, SurfaceKind};
use serde::Serialize;
use smallvec::SmallVec;
use std::cmp::Ordering;
use std::fmt;
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
}

/// What is hauled away of one kind of soil or surface.
struct Hauled<'a> {
    /// What it is.
    of: &'static str,
    /// What tipping it is paid by.
    tipped_by: Option<&'a Code>,
    loose: Volume,
    weight: Mass,
    /// Weight of a cubic foot before it was loose.
    per_ft3: Mass,
}

/// Each kind by itself.
type Export<'a> = SmallVec<[Hauled<'a>; 4]>;

/// Turns what was dug, filled back and lifted into export, loads and fees.
pub(super) fn take_off(collect: &mut Collect<'_, '_>) -> EarthTakeoff {
    collect.begin(8);
    let Earth { dug, back, lifted } = std::mem::take(&mut collect.earth);
    let mut export = Export::new();
    export.extend(spoil(dug, back, collect));
    export.extend(lifted.iter().filter_map(|lifted| rubble(lifted, collect)));
    let loose = export.iter().map(|hauled| hauled.loose).sum();
    collect.measures.add_volume(Measure::ExportLoose, loose);
    let weight = export_weight(&export, collect);
    let haul = collect.book.doc().haul.as_ref();
    let unpaid_driving = haul.and_then(|haul| {
        let loads = haul_loads(&export, (loose, weight), haul, collect);
        trips(loads, haul, collect)
    });
    EarthTakeoff { quantities: collect.end(), unpaid_driving }
}

/// The soil that backfill leaves over.
fn spoil<'a>(dug: Volume, back: Volume, collect: &mut Collect<'_, 'a>) -> Option<Hauled<'a>> {
    let show = collect.show;
    let soil = collect.book.soil(collect.layout.soil)?;
    // Backfill takes compacted / (compacted over bank) of bank volume; the rest is export.
    let for_back = soil.bank_to_compacted.undo(back);
    let left_over = (dug - for_back).at_least_zero();
    let kept = kept(left_over, collect);
    let loose = soil.bank_to_loose.of(left_over - kept);
    let (dug_shown, for_back_shown) = (show.volume(dug), show.volume(for_back));
    if for_back > dug {
        collect.checks.push(check(
            "backfill_from_spoil",
            "earth",
            Outcome::Warn,
            worded!(
                "backfill takes {for_back_shown} of bank soil, more than the {dug_shown} dug: {} is to be brought, which nothing \
                 here counts",
                show.volume(for_back - dug)
            ),
        ));
    }
    collect.quantity("spoil_bank", dug_shown, "earth.spoil", "excavation of all runs and lines");
    let basis =
        worded!("takes {for_back_shown} of bank soil at {} compacted over bank", soil.bank_to_compacted);
    collect.quantity("backfill_compacted", show.volume(back), "earth.backfill", basis);
    let left = fmt::from_fn(|f| {
        write!(f, "({dug_shown} dug - {for_back_shown} back")?;
        if kept.nm3() > 0 {
            write!(f, " - {} kept", show.volume(kept))?;
        }
        f.write_str(")")
    });
    let basis = if for_back > dug {
        worded!("nothing: {dug_shown} dug, backfill takes {for_back_shown}")
    } else {
        worded!("{left} x {} loose over bank, {}", soil.bank_to_loose, soil.soil)
    };
    let per_ft3 = soil.weight_per_ft3.per_ft3();
    let hauled = Hauled {
        of: soil.soil.word(),
        tipped_by: collect.book.doc().haul.as_ref().and_then(|haul| haul.soil_disposal_item.as_ref()),
        loose,
        weight: weigh(left_over - kept, per_ft3),
        per_ft3,
    };
    fee(&hauled, &basis, &left, collect);
    collect.quantity("spoil_loose", show.volume(loose), "earth.export", basis);
    Some(hauled)
}

/// A surface that was lifted, without what of it goes back; nothing where all of it does.
fn rubble<'a>(lifted: &Lifted, collect: &mut Collect<'_, 'a>) -> Option<Hauled<'a>> {
    let Lifted { kind, solid, again } = *lifted;
    let show = collect.show;
    let Some(rule) = collect.book.surface(kind) else {
        collect.checks.push(check(
            "surface_in_book",
            kind.word(),
            Outcome::Fail,
            worded!("the price book does not say how `{kind}` is hauled and restored"),
        ));
        return None;
    };
    // What goes back leaves what stood where the channel stands now.
    let (solid, back) = if rule.reused.0 { (solid - again, again) } else { (solid, Volume::ZERO) };
    if solid.nm3() <= 0 {
        return None;
    }
    let loose = rule.bulking.of(solid);
    let laid_again = fmt::from_fn(|f| {
        if back.nm3() > 0 { write!(f, "; {} more laid again", show.volume(back)) } else { Ok(()) }
    });
    let what = fmt::from_fn(|f| write!(f, "{} of {kind}", show.volume(solid)));
    let basis = worded!("{what} x {} bulking{laid_again}", rule.bulking);
    let per_ft3 = rule.weight_per_ft3.per_ft3();
    let hauled = Hauled {
        of: kind.word(),
        tipped_by: rule.disposal_item.as_ref(),
        loose,
        weight: weigh(solid, per_ft3),
        per_ft3,
    };
    fee(&hauled, &basis, &what, collect);
    collect.quantity(worded!("rubble_{kind}"), show.volume(loose), "earth.rubble", basis);
    Some(hauled)
}

/// What all of it weighs.
fn export_weight(export: &[Hauled<'_>], collect: &mut Collect<'_, '_>) -> Mass {
    let system = collect.show.0;
    let all = Mass::from_base(export.iter().map(|hauled| hauled.weight.base()).sum());
    let of_each = export.iter().map(|hauled| {
        fmt::from_fn(move |f| write!(f, "{} of {}", weight_shown(hauled.weight, system), hauled.of))
    });
    let basis = if export.is_empty() { "nothing".to_owned() } else { worded!("{}", joined(of_each, " + ")) };
    collect.quantity("export_weight", weight_shown(all, system), "earth.weight", basis);
    all
}

/// Truck loads of it.
fn haul_loads<'a>(
    export: &[Hauled<'_>],
    (loose, weight): (Volume, Mass),
    haul: &'a HaulRule,
    collect: &mut Collect<'_, 'a>,
) -> i64 {
    let (loads, mut basis) = loads(loose, weight, haul.truck_volume, haul.truck_payload, collect.show);
    let apart = loads_apart(export, haul);
    if apart > loads {
        basis.push_str(&worded!(
            "; kinds that are tipped at other fees make {apart} apart: ask the tip whether it takes them in one load"
        ));
    }
    collect.measures.add_count(Measure::HaulLoads, loads);
    if let Some(item) = &haul.haul_item {
        collect.need(item, Need::Pieces(loads), "earth.loads", &basis);
    }
    collect.quantity("haul_loads", Quantity::pieces(loads), "earth.loads", basis);
    loads
}

/// Loads where kinds that are tipped at other fees do not share a truck.
fn loads_apart(export: &[Hauled<'_>], haul: &HaulRule) -> i64 {
    let mut by_fee: SmallVec<[(Option<&Code>, Volume, Mass); 4]> = SmallVec::new();
    for &Hauled { tipped_by, loose, weight, .. } in export {
        match by_fee.iter_mut().find(|(fee, ..)| *fee == tipped_by) {
            Some((_, volume, mass)) => {
                *volume += loose;
                *mass = Mass::from_base(mass.base() + weight.base());
            }
            None => by_fee.push((tipped_by, loose, weight)),
        }
    }
    let of = |&(_, loose, weight): &(_, Volume, Mass)| {
        by_volume_and_weight(loose, weight, haul.truck_volume, haul.truck_payload).0
    };
    by_fee.iter().map(of).sum()
}

/// What the notes keep on site of the soil that backfill leaves over, in the bank.
fn kept(left_over: Volume, collect: &mut Collect<'_, '_>) -> Volume {
    let Some(notes) = collect.layout.haul else { return Volume::ZERO };
    let wish = if notes.keep_all_spoil.0 { Some(left_over) } else { notes.spoil_kept };
    let Some(wish) = wish else { return Volume::ZERO };
    let show = collect.show;
    let kept = wish.min(left_over);
    if wish > left_over {
        collect.checks.push(check(
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
    collect.quantity("spoil_kept", show.volume(kept), "earth.kept", basis);
    kept
}

/// The fee for tipping it, if it is paid by an item: by weight, by the load, or by loose volume, as that is sold. `basis` says how
/// the loose volume came about, `solid` what is weighed.
fn fee<'a>(hauled: &Hauled<'a>, basis: &str, solid: &dyn fmt::Display, collect: &mut Collect<'_, 'a>) {
    let Hauled { tipped_by: Some(item), loose, weight, per_ft3, .. } = *hauled else { return };
    let unit = collect.book.item(item).map(|i| i.unit);
    let need = match unit.map(Unit::dimension) {
        Some(Dimension::Mass) => {
            let density = density(per_ft3, unit.unwrap_or(Unit::Lb));
            let basis = format_args!("{solid} at {density}");
            collect.need(item, Need::Weight(weight), "earth.disposal", basis);
            return;
        }
        Some(Dimension::Count) => {
            let Some(haul) = collect.book.doc().haul.as_ref() else { return };
            Need::Pieces(by_volume_and_weight(loose, weight, haul.truck_volume, haul.truck_payload).0)
        }
        _ => Need::Volume(loose, None),
    };
    collect.need(item, need, "earth.disposal", basis);
}

fn weight_shown(weight: Mass, system: UnitSystem) -> Quantity {
    match system {
        UnitSystem::Us => Quantity::of_base(weight.base(), Unit::ShortTon, 3),
        UnitSystem::Metric => Quantity::of_base(weight.base(), Unit::T, 3),
    }
}

fn loads(loose: Volume, weight: Mass, truck: Volume, payload: Mass, show: Show) -> (i64, String) {
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
