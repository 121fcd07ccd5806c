/// Published range of the runoff coefficient of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceRange {
    /// Key by which requests name it.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// Low end of the published range.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Value taken when none is given: the high end, which is on the safe side for a drain.
    pub default: f64,
    /// Where the range is published, and how it was seen.
    pub source: &'static str,
}

const READ: &str = "ASCE Manual 37 range as reprinted by NRCS (read)";
const MEMORY: &str = "ASCE Manual 37 range (from memory)";

const fn range(
    key: &'static str,
    label: &'static str,
    low: f64,
    high: f64,
    source: &'static str,
) -> SurfaceRange {
    SurfaceRange { key, label, low, high, default: high, source }
}

/// Surfaces with their published ranges, for storms up to ten years.
pub const SURFACES: &[SurfaceRange] = &[
    range("concrete", "concrete", 0.80, 0.95, READ),
    range("asphalt", "asphalt", 0.70, 0.95, READ),
    range("brick", "brick paving", 0.70, 0.85, READ),
    range("drives_and_walks", "drives and walks", 0.75, 0.85, READ),
    range("roof", "roof", 0.75, 0.95, READ),
    range("lawn_sandy_flat", "lawn, sandy soil, flat (to 2 %)", 0.05, 0.10, READ),
    range("lawn_sandy_average", "lawn, sandy soil, average (2 to 7 %)", 0.10, 0.15, MEMORY),
    range("lawn_sandy_steep", "lawn, sandy soil, steep (from 7 %)", 0.15, 0.20, MEMORY),
    range("lawn_heavy_flat", "lawn, heavy soil, flat (to 2 %)", 0.13, 0.17, MEMORY),
    range("lawn_heavy_average", "lawn, heavy soil, average (2 to 7 %)", 0.18, 0.22, MEMORY),
    range("lawn_heavy_steep", "lawn, heavy soil, steep (from 7 %)", 0.25, 0.35, READ),
];
