//! The rules that answers name, each with its formula and where it comes from.
//!
//! | file | subject |
//! |---|---|
//! | this one | lines of quantities and cost |
//! | `figures` | water, the tasks of a plan, learned rates |
//! | `checks` | checks, by their names |

mod checks;
mod figures;

use serde::Serialize;
use utoipa::ToSchema;

/// A rule that a quantity, a cost, a figure or a check follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct Rule {
    /// Name, as lines and figures carry it in `rule`; of a check its own `name`.
    pub name: &'static str,
    /// The rule.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

const PRACTICE: &str = "common practice, no source";
const GEOMETRY: &str = "geometry";
const BOOK: &str = "price book";

const fn rule(name: &'static str, formula: &'static str, source: &'static str) -> Rule {
    Rule { name, formula, source }
}

/// Every rule: those of lines, of figures, of checks.
pub const ALL: &[Rule] = &joined();

const fn joined() -> [Rule; LINES.len() + figures::LIST.len() + checks::LIST.len()] {
    let mut all = [LINES[0]; LINES.len() + figures::LIST.len() + checks::LIST.len()];
    let (first_figure, first_check) = (LINES.len(), LINES.len() + figures::LIST.len());
    let mut i = 0;
    while i < all.len() {
        all[i] = if i < first_figure {
            LINES[i]
        } else if i < first_check {
            figures::LIST[i - first_figure]
        } else {
            checks::LIST[i - first_check]
        };
        i += 1;
    }
    all
}

/// Those of lines, by what they are of.
const LINES: &[Rule] = &[
    rule(
        "buying.delivery",
        "the supplier's charge for an order, nothing from its free-delivery threshold on",
        "price book",
    ),
    rule(
        "concrete.order",
        "net x (1 + waste), rounded up to the supplier's increment, not below the least order",
        "NAVEDTRA 14070 ch. 5 (read): waste 10 %",
    ),
    rule(
        "concrete.bags",
        "net x (1 + waste) / yield of a bag, rounded up to whole bags",
        "ASTM C387 label yield, 0.15 ft3 per 20 lb (from memory)",
    ),
    rule("concrete.trips", "net x (1 + waste), rounded up to the increment; trips by capacity", PRACTICE),
    rule(
        "concrete.delivery",
        "charge x loads; loads = order / truck capacity, rounded up; all full but the last, or all alike where that costs less",
        PRACTICE,
    ),
    rule(
        "concrete.short_load",
        "flat charge, or charge x missing volume, for a load below the size",
        PRACTICE,
    ),
    rule("concrete.waiting", "(unloading time - free time) x rate per hour, load by load", PRACTICE),
    rule("concrete.hire", "hire per trip x trips", PRACTICE),
    rule("concrete.labor", "mixing or fetching time x wage with burden", PRACTICE),
    rule("consumables.coverage", "measure x times / coverage, rounded up once per purchase", PRACTICE),
    rule("earth.backfill", "native backfill of all lines, compacted", GEOMETRY),
    rule("earth.disposal", "loose volume, weight or loads x fee", PRACTICE),
    rule(
        "earth.export",
        "(dug - compacted backfill / compacted over bank) x loose over bank",
        "US Army FM 5-434 table 1-1 (read second-hand)",
    ),
    rule("earth.kept", "bank volume kept on site, at most what backfill leaves", "the notes"),
    rule(
        "earth.trip",
        "loading + 2 x distance / mean speed + tipping; all trips = loads x trip; elapsed = trips by truck, rounded up, x trip",
        PRACTICE,
    ),
    rule("earth.loads", "by loose volume and by weight, whichever needs more loads", PRACTICE),
    rule("earth.rubble", "solid volume x bulking", "from memory: broken concrete bulks 1.5 to 1.7"),
    rule("earth.spoil", "excavation of runs and lines, bank volume", GEOMETRY),
    rule("earth.weight", "bank or solid volume x weight per ft3", PRACTICE),
    rule("allowance", "a sum for what is not known yet, as written in the notes", "the notes"),
    rule("extra", "as written in the notes", "the notes"),
    rule(
        "hire.periods",
        "cheapest mix of half days, days, weeks and four weeks for the days on site",
        PRACTICE,
    ),
    rule("hire.transport", "delivery and collection of each stay", "price book"),
    rule(
        "labor.hours",
        "setup + quantity x unit hours x difficulty x weather x depth, by the parts of a trench; crew-hours rounded up to the step; mixing and placing on each \
         pour day",
        "price book",
    ),
    rule(
        "labor.overtime",
        "hours of a person beyond the day, then plain hours beyond the week, x (multiplier - 1)",
        "29 U.S.C. 207 for the week (from memory); the day by state law; rates are the price book's",
    ),
    rule("labor.travel", "days worked, person by person, x travel of a day", PRACTICE),
    rule("line.backfill", "dug - bedding - pipe - zone fill", GEOMETRY),
    rule(
        "line.bedding",
        "line x trench width, the mean where sides are battered, x bedding thickness",
        PRACTICE,
    ),
    rule("line.bends", "one bend for each turn, or two or three that make it", PRACTICE),
    rule("line.branches", "one for everything that enters but the first at the upper end", PRACTICE),
    rule(
        "line.clean_outs",
        "where the line has turned more than 135° in all, and every 100 ft; both are settings",
        "plumbing-code habit (from memory)",
    ),
    rule("line.connections", "each outlet and the discharge", PRACTICE),
    rule(
        "line.excavation",
        "trench width x depth by stations, prismoidal; without what lies on top",
        "geometry; trench width by ASTM D2321-05 (read)",
    ),
    rule(
        "line.fall",
        "set by the notes, by the levels of what enters and of the discharge or the line it joins, or the book's usual fall",
        "1 % common practice; least falls by bore from a city's code table (read)",
    ),
    rule("line.finish", "cut length x cut width, where a slab is poured back", GEOMETRY),
    rule(
        "line.joints",
        "lengths - 1 in each straight stretch of legs, 2 at a bend or clean-out, 3 at a branch, 1 at an outlet",
        PRACTICE,
    ),
    rule("line.length", "sum of the legs", GEOMETRY),
    rule("line.patch", "slab thickness x cut", GEOMETRY),
    rule("line.pipe", "least stock + joints over all lines of a pipe", "cut list with a lower bound"),
    rule("line.saw_cut", "2 (length + width) of each closed cut", GEOMETRY),
    rule("line.surface_removed", "cut x thickness", GEOMETRY),
    rule("line.zone_fill", "to the zone height over the pipe, less bedding and pipe", PRACTICE),
    rule("run.bars", "bars along the trench, lapped where they meet", "ASTM A615 bar numbers (read)"),
    rule(
        "run.channel_stock",
        "least stock + joints + cuts over all runs of a system; a leg may be joined anywhere, no piece below the least",
        "cut list with a lower bound; checked piece by piece",
    ),
    rule("run.ends", "every open end is an end outlet or an end cap", PRACTICE),
    rule("run.excavation", "trench less what lies on top within it", GEOMETRY),
    rule("run.fill", "plan of the trench x what a sawn slab goes deeper than the trench", GEOMETRY),
    rule(
        "run.finish",
        "what is poured at the top, the cut in a slab and else the trench, less the channel",
        GEOMETRY,
    ),
    rule("run.fittings", "corners and tees of the legs", PRACTICE),
    rule(
        "run.forms",
        "both sides and every open end of the trench, by its depth, where there is no slab edge; rows of boards by the depth where \
         they stand",
        PRACTICE,
    ),
    rule(
        "run.grates",
        "n grates of length G with gap g cover n G + (n - 1) g; cut grates by the cut list; the leg of a tee from the edge of the \
         channel it meets",
        "common practice: gap 1/8 in in a hot climate",
    ),
    rule("run.hangers", "both ends of a leg and each 4 ft between; the spacing is a setting", "from memory"),
    rule(
        "run.joints",
        "sections - 1 in each span, plus those of corners, tees and outlets in the channel",
        PRACTICE,
    ),
    rule("run.length", "sum of the legs", GEOMETRY),
    rule("run.net_channel", "legs less the length fittings use up", GEOMETRY),
    rule("run.patch", "slab thickness x (cut area - trench area)", GEOMETRY),
    rule("run.recess_strip", "a strip as thick as the recess along all grates, for wheels", PRACTICE),
    rule(
        "run.saw_cut",
        "2 (length + width) of the closed cut, over-cut at both sides and every open end, less the half width that each tee \
         shares, plus relief cuts",
        GEOMETRY,
    ),
    rule("run.screws", "grates laid x screws per grate", PRACTICE),
    rule(
        "run.surface_removed",
        "cut x thickness; what is not sawn is lifted over the trench no deeper than the trench",
        GEOMETRY,
    ),
    rule("run.surround", "trench less (L - n W / 2) x W x (H + r), n tees", GEOMETRY),
    rule(
        "run.trench",
        "(L + (2 + n) e - n (W + 2 s) / 2) x (W + 2 s) x (H + t + r), n tees; H the mean where fall is built in",
        "geometry; s, t, e, r common practice, no source",
    ),
    rule("surface.restored", "cut less the trench of the concrete; over a line the whole cut", GEOMETRY),
    rule(
        "tax",
        "rate x what it falls on, carried to the third decimal, up when that is above 4",
        "SSUTA sec. 324 (read)",
    ),
    rule("total", "sum over all runs and lines", GEOMETRY),
];

/// The rule of a name.
pub fn find(name: &str) -> Option<&'static Rule> {
    ALL.iter().find(|r| r.name == name)
}
