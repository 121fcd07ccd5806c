//! Cautions of what is opened: where wheels pass, and what may lie in slabs and under paving.

use crate::domain::layout::Layout;
use crate::domain::lines::Caution;
use crate::units::show::worded;
use crate::wire::book::ground::SurfaceKind;

/// An open trench where wheels pass: a run that they cross, a line below asphalt.
pub(super) fn entrance(layout: &Layout<'_>) -> Option<Caution> {
    let driven_on = |line: &&crate::domain::layout::Line<'_>| {
        line.legs.iter().any(|leg| leg.top.kind == SurfaceKind::Asphalt)
    };
    let lines: Vec<String> =
        layout.lines.iter().filter(driven_on).map(|line| worded!("line {}", line.id)).collect();
    let mut causes = Vec::new();
    let mut until = Vec::new();
    if layout.runs.iter().any(|run| run.crossing.is_wheeled()) {
        causes.push("a drain that wheels cross".to_owned());
        until.push("the concrete has cured");
    }
    if !lines.is_empty() {
        causes.push(worded!("{} across asphalt", lines.join(", ")));
        until.push("the trench is filled and paved");
    }
    (!causes.is_empty()).then(|| Caution {
        name: "entrance",
        raised_by: causes.join("; "),
        text: worded!(
            "An open trench in an entrance: barriers, a way round or plates, and no wheels before {}.",
            until.join(" and ")
        ),
        source: "common practice, no source",
    })
}

/// What a slab may hold.
pub(super) fn buried_in_slab(layout: &Layout<'_>) -> Option<Caution> {
    layout.tops().any(|top| top.kind == SurfaceKind::ConcreteSlab).then(|| Caution {
        name: "buried_services_in_slab",
        raised_by: "cutting a slab".to_owned(),
        text: "A slab at a garage, a pool or a house may hold electrical lines, gas, heating pipes or tensioned steel: \
               find out before sawing."
            .to_owned(),
        source: "common practice, no source",
    })
}

/// What may lie under other paving.
pub(super) fn buried_under_paving(layout: &Layout<'_>) -> Option<Caution> {
    let paving = [SurfaceKind::Asphalt, SurfaceKind::Pavers];
    let opened: Vec<&str> = paving
        .into_iter()
        .filter(|kind| layout.tops().any(|top| top.kind == *kind))
        .map(SurfaceKind::word)
        .collect();
    (!opened.is_empty()).then(|| Caution {
        name: "buried_services_under_paving",
        raised_by: worded!("taking up {}", opened.join(" and ")),
        text: "Electrical lines, gas and heating pipes of the house itself may lie shallow under paving at a garage, a pool or \
               a house, and no utility marks them: find out before sawing, lifting or digging."
            .to_owned(),
        source: "common practice, no source",
    })
}
