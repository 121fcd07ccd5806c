//! Published rates to seed a price book with and to compare its rates against. They are ranges of other
//! people's work: a rate outside them is not wrong, but worth a second look.

use super::rate_units::{M3_PER_YD3, per_yd3_from_per_m3, reciprocal};

/// A published labor rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PublishedRate {
    /// What it is for.
    pub work: PublishedWork,
    /// Case, as the source states it.
    pub case: &'static str,
    /// Person-hours per unit.
    pub person_hours: f64,
    /// The unit.
    pub unit: &'static str,
    /// Where it was published.
    pub source: &'static str,
}

/// Kinds of work with published rates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PublishedWork {
    /// Digging trenches by hand, to about 1.5 m (5 ft).
    HandDigging,
    /// Digging trenches by hand, deeper.
    HandDiggingDeep,
    /// Ramming backfill by hand.
    HandBackfill,
    /// Breaking out plain slab with powered tools.
    BreakingPowered,
    /// Breaking out reinforced slab with powered tools.
    BreakingReinforced,
    /// Breaking out asphalt with powered tools.
    BreakingAsphalt,
    /// Breaking out slab by hand.
    BreakingByHand,
    /// Wall forms and framing lumber.
    Carpentry,
}

const GUILD_DIG: &str = "Guild of Project Controls, hand excavation of trenches, depth <= 1.5 m (read)";
const GUILD_DEEP: &str = "Guild of Project Controls, hand excavation of trenches, deeper bands (read)";
const GUILD_BREAK: &str = "Guild of Project Controls, breaking out and removing (read)";
const IS_7272: &str = "IS 7272 (Part 1):1974 labour output constants, days of 8 h (read in a copy)";
const OPEN_TABLE: &str = "open labour table, labour-days of 8 h per 10 m3 (read; forum page)";
const FM_5_426: &str = "FM 5-426 App. C Tables C-1, C-2 (read second-hand)";

/// Every published rate that the comparison knows.
pub fn published() -> Vec<PublishedRate> {
    use PublishedWork::{
        BreakingAsphalt, BreakingByHand, BreakingPowered, BreakingReinforced, Carpentry, HandBackfill,
        HandDigging, HandDiggingDeep,
    };
    let mut all = Vec::new();
    let output_m3 = [
        (HandDigging, "loose sand or soil", 0.66, GUILD_DIG),
        (HandDigging, "firm sand or soil", 0.57, GUILD_DIG),
        (HandDigging, "clay, heavy soil", 0.46, GUILD_DIG),
        (HandDigging, "boulder clay", 0.38, GUILD_DIG),
        (HandDiggingDeep, "firm, 1.5 to 3.0 m", 0.38, GUILD_DEEP),
        (HandDiggingDeep, "firm, 3.0 to 4.5 m", 0.28, GUILD_DEEP),
    ];
    for (work, case, m3_per_hour, source) in output_m3 {
        let per_yd3 = reciprocal(m3_per_hour).and_then(per_yd3_from_per_m3);
        all.extend(per_yd3.map(|person_hours| PublishedRate {
            work,
            case,
            person_hours,
            unit: "yd3",
            source,
        }));
    }
    let hours_m3 = [
        (HandDigging, "trench, soft, laborers only", 4.0, IS_7272),
        (HandDigging, "trench, soft, with mate", 4.4, IS_7272),
        (HandDigging, "area, hard and dense, laborers only", 4.96, IS_7272),
        (HandDigging, "area, hard and dense, with mate", 5.44, IS_7272),
        (HandBackfill, "backfill and ram, laborers only", 2.0, IS_7272),
        (BreakingPowered, "plain slab 50 to 100 mm", 3.15, GUILD_BREAK),
        (BreakingPowered, "plain slab 100 to 200 mm", 3.75, GUILD_BREAK),
        (BreakingReinforced, "reinforced slab 50 to 100 mm", 5.52, GUILD_BREAK),
        (BreakingReinforced, "reinforced slab 100 to 200 mm", 5.88, GUILD_BREAK),
        (BreakingAsphalt, "asphalt 50 to 100 mm", 2.08, GUILD_BREAK),
        (BreakingByHand, "plain concrete", 18.4, OPEN_TABLE),
        (BreakingByHand, "reinforced concrete", 26.8, OPEN_TABLE),
    ];
    for (work, case, per_m3, source) in hours_m3 {
        all.push(PublishedRate { work, case, person_hours: per_m3 * M3_PER_YD3, unit: "yd3", source });
    }
    let carpentry = [
        ("joists and sills", 25.0, "1,000 board feet"),
        ("beams", 30.0, "1,000 board feet"),
        ("wall frames", 45.0, "1,000 board feet"),
        ("rafters", 45.0, "1,000 board feet"),
        ("wall plywood", 16.0, "1,000 sf"),
        ("roof decking", 20.0, "1,000 sf"),
    ];
    for (case, person_hours, unit) in carpentry {
        all.push(PublishedRate { work: Carpentry, case, person_hours, unit, source: FM_5_426 });
    }
    all
}

/// How a rate compares with the published ones of its kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandCheck {
    /// Least published rate.
    pub low: f64,
    /// Greatest published rate.
    pub high: f64,
    /// Whether the rate lies between.
    pub within: bool,
}

/// Compares person-hours per unit with the published range of that kind and unit; `None` where nothing is
/// published.
pub fn compare(work: PublishedWork, unit: &str, person_hours: f64) -> Option<BandCheck> {
    let rates = published();
    let same = || rates.iter().filter(|r| r.work == work && r.unit == unit).map(|r| r.person_hours);
    let low = same().reduce(f64::min)?;
    let high = same().reduce(f64::max)?;
    Some(BandCheck { low, high, within: (low..=high).contains(&person_hours) })
}
