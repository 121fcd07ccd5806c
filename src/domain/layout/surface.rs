//! What lies on top of a run or a line.

use super::Top;
use crate::units::Length;
use crate::wire::book::ground::SurfaceKind;
use crate::wire::notes;
use crate::wire::{At, Faults};

/// What lies on top, with its thickness.
pub fn top(surface: Option<&notes::Surface>, at: &At<'_>, faults: &mut Faults) -> Option<Top> {
    let Some(surface) = surface else {
        return Some(Top { kind: SurfaceKind::BareSoil, thickness: Length::ZERO });
    };
    match (surface.kind, surface.thickness) {
        (SurfaceKind::BareSoil, None) => Some(Top { kind: surface.kind, thickness: Length::ZERO }),
        (SurfaceKind::BareSoil, Some(_)) => {
            faults.add(
                &at.member("thickness"),
                "not_here",
                "bare soil has no thickness: leave the member out",
            );
            None
        }
        (kind, Some(thickness)) if thickness.is_positive() => Some(Top { kind, thickness }),
        (kind, _) => {
            faults.add(
                &at.member("thickness"),
                "required",
                format!("`{kind}` needs its thickness, more than 0"),
            );
            None
        }
    }
}
