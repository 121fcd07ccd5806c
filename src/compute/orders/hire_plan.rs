//! The hire calculator.

use crate::compute::answers::BookUsed;
use crate::compute::drainage::shelf::RainShelf;
use crate::compute::hire::{HireFault, Stay, Stretch};
use crate::compute::machines::plan::{HireOut, Terms};
use crate::compute::{ENGINE, pipeline};
use crate::domain::book::{BookRef, PriceBook};
use crate::domain::layout::named::Named;
use crate::units::{Amount, Currency};
use crate::wire::orders::HireRequest;
use crate::wire::{At, Fault, Faults};
use serde::Serialize;
use utoipa::ToSchema;

/// Answer of the hire calculator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct HireAnswer {
    /// Version of the engine.
    pub engine: &'static str,
    /// Price book used.
    pub price_book: BookUsed,
    /// ISO 4217 code of every amount.
    pub currency: Currency,
    /// The machines.
    pub hires: Vec<HireOut>,
    /// Hire and transport of all.
    pub total: Amount,
}

/// The hire plan of a request.
///
/// # Errors
/// Every fault of the request.
pub fn hire_plan(
    request: &HireRequest,
    book: &PriceBook,
    used: &BookRef,
    rains: &RainShelf,
) -> Result<HireAnswer, Faults> {
    let mut faults = Faults::new();
    let ways = [request.notes.is_some(), request.machine.is_some(), request.rates.is_some()];
    if ways.iter().filter(|w| **w).count() != 1 {
        faults
            .add(&At::ROOT, "one_of", "say what is hired in exactly one way")
            .allow(["notes", "machine", "rates"]);
    }
    let times = usize::from(request.half_days.is_some()) + usize::from(!request.stretches.is_empty());
    if times != usize::from(request.notes.is_none()) {
        let detail = if request.notes.is_some() {
            "with `notes` the time on site comes from the hours"
        } else {
            "say how long in exactly one way"
        };
        faults.add(&At::ROOT, "one_of", detail).allow(["half_days", "stretches"]);
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let hires = if let Some(notes) = &request.notes {
        pipeline::estimate(notes, book, used, rains).map_err(|f| f.under("notes"))?.hires
    } else {
        vec![one_hire(request, book)?]
    };
    let total = hires.iter().map(|h| h.total).sum();
    Ok(HireAnswer {
        engine: ENGINE,
        price_book: BookUsed::from(used),
        currency: book.currency(),
        hires,
        total,
    })
}

fn one_hire(request: &HireRequest, book: &PriceBook) -> Result<HireOut, Faults> {
    let mut faults = Faults::new();
    let mut terms = match (&request.machine, &request.rates) {
        (Some(code), _) => {
            let Some(machine) = book.equipment(code) else {
                Named::Machine.unknown(code, book, &At::ROOT.member("machine"), &mut faults);
                return Err(faults);
            };
            Terms::of(machine)
        }
        (None, Some(rates)) => Terms::given(rates),
        (None, None) => {
            faults.add(&At::ROOT, "required", "name a `machine` or its `rates`");
            return Err(faults);
        }
    };
    if let Some(transport) = request.transport {
        terms.transport = transport;
    }
    if let Some(own) = &request.own {
        terms.own = Some(own);
    }
    let small = |n: i64| u32::try_from(n).unwrap_or(u32::MAX);
    let found = match request.half_days {
        Some(n) => terms.for_half_days(small(n.get())),
        None => {
            let stretches: Vec<Stretch> = request
                .stretches
                .iter()
                .map(|s| Stretch { first: small(s.first.get()), last: small(s.last.get()) })
                .collect();
            terms.for_stretches(&stretches, Stay::by_number)
        }
    };
    found.map_err(|list| {
        for fault in &list {
            match fault {
                HireFault::NoRates => faults.add(&At::ROOT.member("rates"), "required", fault.to_string()),
                HireFault::Order { at, .. } => {
                    let stretches = At::ROOT.member("stretches");
                    faults.add(&stretches.element(*at), "order", fault.to_string())
                }
                HireFault::Amount { field, value, rule } => faults.push(Fault {
                    // A field is a member of the request, or a member of one.
                    pointer: format!("#/{}", field.replace('.', "/")),
                    code: "out_of_range",
                    detail: (*rule).to_owned(),
                    value: Some(value.to_string()),
                    allowed: Vec::new(),
                }),
            };
        }
        faults
    })
}
