//! The cut-list calculator.

use crate::compute::answers::BookUsed;
use crate::compute::cut_list::answer::{About, CutListOut, write as write_cut};
use crate::compute::cut_list::{Part, usual_nodes};
use crate::compute::cutting::{self, CuttingFault, Leg, Problem, Source, Stock, Work};
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::exact::Nm;
use crate::compute::{ENGINE, fields, pipeline};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::layout::named::Named;
use crate::domain::lines::Check;
use crate::units::show::Show;
use crate::units::{Amount, Currency, Length, UnitSystem};
use crate::wire::orders::CutListRequest;
use crate::wire::{At, Faults};
use rust_decimal::Decimal;
use serde::Serialize;
use utoipa::ToSchema;

/// Answer of the cut-list calculator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct CutListAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// Units of the answer.
    pub unit_system: UnitSystem,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// Checks, failed ones first.
    pub checks: Vec<Check>,
    /// The cut lists.
    pub cut_lists: Vec<CutListOut>,
    /// What all of them save against their plain lists.
    pub saving: Amount,
}

/// The cut lists of a request.
///
/// # Errors
/// Every fault of the request.
pub fn cut_list(
    request: &CutListRequest,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<CutListAnswer, Faults> {
    let mut faults = Faults::new();
    if request.notes.is_some() != request.legs.is_empty() {
        faults.add(&At::ROOT, "one_of", "say what is cut in exactly one way").allow(["notes", "legs"]);
        return Err(faults);
    }
    let show = Show(request.unit_system.unwrap_or(book.doc().unit_system));
    let (show, checks, cut_lists) = if let Some(notes) = &request.notes {
        let estimate = pipeline::estimate(notes, book, used, rains).map_err(|f| f.under("notes"))?;
        let told = |c: &Check| matches!(c.name, "least_piece" | "cut_list" | "noted_figure");
        let checks = estimate.checks.into_iter().filter(told);
        (Show(estimate.unit_system), checks.collect(), estimate.layout.cut_lists)
    } else {
        let problem = problem(request, book, &mut faults);
        if !faults.is_empty() {
            return Err(faults);
        }
        let plan = cutting::plan(&problem).map_err(|list| cut_faults(&list, request, show))?;
        let about = About {
            part: Part::Channel,
            code: request.channel_system.as_ref().map_or("given", |c| c.as_str()),
            joint_basis: "as given".to_owned(),
            cut_basis: "as given".to_owned(),
        };
        (show, Vec::new(), vec![write_cut(&plan, &problem, about, show)])
    };
    let saving = cut_lists.iter().filter_map(|l| l.saving).sum();
    Ok(CutListAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        unit_system: show.0,
        currency: book.currency(),
        checks,
        cut_lists,
        saving,
    })
}

fn problem(r: &CutListRequest, book: &PriceBook, faults: &mut Faults) -> Problem {
    let system = r.channel_system.as_ref().and_then(|code| {
        let found = book.system(code);
        if found.is_none() {
            Named::System.unknown(code, book, &At::ROOT.member("channel_system"), faults);
        }
        found
    });
    if r.gap.is_some() && r.lap.is_some() {
        faults.add(&At::ROOT.member("lap"), "one_of", "pieces have a gap or a lap between them, not both");
    }
    let nm = |l: Length| Nm(l.nm());
    let mut stock: Vec<Stock> = r
        .stock
        .iter()
        .map(|s| Stock {
            id: s.id.to_string(),
            length: nm(s.length),
            price: s.price.map_or(Decimal::ZERO, |p| p.decimal()),
            available: s.available.and_then(|n| u32::try_from(n.get()).ok()),
            source: if s.yard.0 { Source::Yard } else { Source::Bought },
        })
        .collect();
    if let Some(system) = system.filter(|_| r.stock.iter().all(|s| s.yard.0)) {
        stock.extend(system.stock.iter().map(|s| {
            let price = book.item(&s.item).map_or(Decimal::ZERO, |i| i.price.decimal());
            Stock::bought(s.item.as_str(), nm(s.length), price)
        }));
    }
    let work = |p: Option<crate::units::Price>| Work {
        parts: p.map_or(Decimal::ZERO, |p| p.decimal()),
        minutes: Decimal::ZERO,
    };
    let least = r.least_piece.or(system.map(|s| s.least_piece)).unwrap_or(Length::ZERO);
    Problem {
        legs: r.legs.iter().map(|l| Leg::new(l.id.as_str(), nm(l.length))).collect(),
        stock,
        kerf: nm(r.kerf.or(system.map(|s| s.kerf)).unwrap_or(Length::ZERO)),
        gap: nm(r.gap.or(r.lap.map(|l| -l)).unwrap_or(Length::ZERO)),
        least_piece: nm(least),
        short_legs_whole: false,
        max_joints_per_leg: r.most_joints.and_then(|n| u32::try_from(n.get()).ok()),
        longest_setting: r.longest_setting.map(nm),
        joint: work(r.joint_cost),
        cut: work(r.cut_cost),
        rate_per_hour: Decimal::ZERO,
        keep: nm(r.keep_offcut.unwrap_or(least)),
        offcut_value_per_metre: Decimal::ZERO,
        node_budget: r
            .most_nodes
            .and_then(|n| u64::try_from(n.get()).ok())
            .unwrap_or_else(|| usual_nodes(r.legs.len())),
    }
}

/// Faults of the search at their places in the request, in the units of the answer.
fn cut_faults(list: &[CuttingFault], r: &CutListRequest, show: Show) -> Faults {
    let mut faults = Faults::new();
    let legs_at = At::ROOT.member("legs");
    let stock_at = At::ROOT.member("stock");
    let at = |nm: Nm| show.length(Length::from_nm(nm.0)).to_string();
    let leg = |id: &str| r.legs.iter().position(|l| l.id.as_str() == id).unwrap_or(0);
    let place = |list: &str, id: &str| match list {
        "legs" => r.legs.iter().position(|l| l.id.as_str() == id),
        _ => r.stock.iter().position(|s| s.id.as_str() == id),
    };
    for fault in list {
        match fault {
            CuttingFault::LeastPieceLongerThanLeg { leg: id, length, least } => {
                faults.value(
                    &legs_at.element(leg(id)).member("length"),
                    "least_piece",
                    &at(*length),
                    format!(
                        "shorter than the least piece of {}: allow a shorter piece, or let a fitting take up the leg",
                        at(*least)
                    ),
                );
            }
            CuttingFault::ShorterThanLap { leg: id, length, lap } => {
                faults.value(
                    &legs_at.element(leg(id)).member("length"),
                    "shorter_than_lap",
                    &at(*length),
                    format!(
                        "no longer than the lap of {}, so that its pieces cannot lap: a single piece needs no lap, cut such \
                         legs in a list without `lap`",
                        at(*lap)
                    ),
                );
            }
            CuttingFault::LegImpossible { leg: id, length, longest, fewest, most, fix } => {
                faults.value(
                    &legs_at.element(leg(id)).member("length"),
                    "leg_impossible",
                    &at(*length),
                    format!(
                        "takes at least {fewest} pieces of the longest stock, {}, but at most {most} are possible by the \
                         least piece and the joints: {fix}",
                        at(*longest)
                    ),
                );
            }
            CuttingFault::NoStock => {
                faults.add(
                    &stock_at,
                    "no_stock",
                    "no usable stock length: give one that is no shorter than the least piece and no longer than the \
                     longest setting",
                );
            }
            CuttingFault::StockRunsOut { needed, available } => {
                faults.add(
                    &stock_at,
                    "stock_runs_out",
                    format!(
                        "{} are needed and {} available, and no plan was found within the quantities given: allow more of \
                         a stock length or add one without a limit",
                        at(*needed),
                        at(*available)
                    ),
                );
            }
            CuttingFault::Twice { kind, id } => {
                let here = if *kind == "leg" { &legs_at } else { &stock_at };
                faults.value(here, "duplicate", id, format!("this {kind} is given twice: names must differ"));
            }
            CuttingFault::Length { field, value, rule } => {
                fields::add(&mut faults, field, Some(at(*value)), rule, place);
            }
            CuttingFault::Amount { field, value, rule } => {
                fields::add(&mut faults, field, Some(value.normalize().to_string()), rule, place);
            }
            CuttingFault::NoLegs | CuttingFault::TooLarge { .. } | CuttingFault::PlanRejected { .. } => {
                faults.add(&At::ROOT, "cut_list", fault.to_string());
            }
        }
    }
    faults
}
