//! Channel, the details it is set in, hangers, forms, saw cuts, and items in two roles.

use super::{Looks, PRACTICE, Usual, inches, tenths_pct};
use crate::units::quantity::Mass;
use crate::units::show::worded;
use crate::units::{Length, Percent, UnitSystem};
use crate::wire::book::BookDoc;
use crate::wire::book::systems::{ChannelSystem, SettingDetail};
use crate::wire::{At, Code};
use std::collections::HashMap;

const KERF: Usual<Length> =
    Usual { what: "a saw cut", least: Length::ZERO, most: Length::inches(1, 2), source: PRACTICE };
const LEAST_PIECE: Usual<Length> =
    Usual { what: "the shortest piece", least: Length::ZERO, most: Length::feet(4), source: PRACTICE };
const PART_OF_A_LEG: Usual<Length> =
    Usual { what: "what a fitting uses up", least: Length::ZERO, most: Length::feet(3), source: PRACTICE };
const DROP: Usual<Length> =
    Usual { what: "the drop of an outlet", least: Length::ZERO, most: Length::feet(5), source: PRACTICE };
const BUILT_IN: Usual<Percent> =
    Usual { what: "a built-in fall", least: tenths_pct(1), most: Percent::whole(5), source: PRACTICE };
const SURROUND: Usual<Length> =
    Usual { what: "the surround", least: inches(2), most: inches(24), source: PRACTICE };
const RECESS: Usual<Length> = Usual {
    what: "the recess of a grate",
    least: Length::ZERO,
    most: inches(1),
    source: "1/8 to 1/4 in is common practice, no source",
};
const HOT_GAP: Usual<Length> = Usual {
    what: "the gap between grates",
    least: Length::ZERO,
    most: Length::inches(1, 2),
    source: "1/8 in is common practice, no source",
};
const LAP: Usual<Length> =
    Usual { what: "the lap of bars", least: inches(4), most: Length::feet(8), source: PRACTICE };
const HANGERS: Usual<Length> = Usual {
    what: "the distance of hangers",
    least: Length::feet(1),
    most: Length::feet(10),
    source: "4 ft is from memory; the range about it is common practice",
};
const HOLDS: Usual<Mass> = Usual {
    what: "what a hanger holds",
    least: Mass::pounds(40),
    most: Mass::pounds(5_000),
    source: PRACTICE,
};
const BOARD_LENGTH: Usual<Length> =
    Usual { what: "a board", least: Length::feet(2), most: Length::feet(30), source: PRACTICE };
const BOARD_WIDTH: Usual<Length> =
    Usual { what: "the width of a board", least: inches(2), most: Length::feet(5), source: PRACTICE };
const PIPE_LENGTH: Usual<Length> =
    Usual { what: "a length of pipe", least: Length::feet(2), most: Length::feet(50), source: PRACTICE };

pub(super) fn look(looks: &mut Looks<'_>) {
    let book = looks.book;
    let root = At::ROOT;
    let list = root.member("channel_systems");
    for (i, system) in book.channel_systems.iter().enumerate() {
        one_system(looks, system, &list.element(i));
    }
    let list = root.member("setting_details");
    for (i, detail) in book.setting_details.iter().enumerate() {
        one_detail(looks, detail, &list.element(i));
    }
    if let Some(rule) = &book.hangers {
        let here = root.member("hangers");
        looks.figure(&here.member("spacing"), rule.spacing, &HANGERS);
        looks.given(&here.member("holds"), rule.holds, &HOLDS);
    }
    if let Some(rule) = &book.forms {
        let here = root.member("forms");
        looks.figure(&here.member("board_length"), rule.board_length, &BOARD_LENGTH);
        looks.figure(&here.member("board_width"), rule.board_width, &BOARD_WIDTH);
    }
    let list = root.member("pipes");
    for (i, pipe) in book.pipes.iter().enumerate() {
        let here = list.element(i);
        looks.figure(&here.member("stock_length"), pipe.stock_length, &PIPE_LENGTH);
        let further = here.member("further_stock");
        for (s, stock) in pipe.further_stock.iter().enumerate() {
            let place = further.element(s);
            looks.figure(&place.member("length"), stock.length, &PIPE_LENGTH);
        }
    }
    if let Some(rules) = &book.cutting {
        let here = root.member("cutting");
        looks.given(&here.member("kerf"), rules.kerf, &KERF);
        looks.given(&here.member("least_piece"), rules.least_piece, &LEAST_PIECE);
    }
    two_roles(looks);
}

fn one_system(looks: &mut Looks<'_>, system: &ChannelSystem, at: &At<'_>) {
    looks.figure(&at.member("kerf"), system.kerf, &KERF);
    let section = at.member("section");
    looks.given(&section.member("built_in_fall_pct"), system.section.built_in_fall_pct, &BUILT_IN);
    let longest = system.stock.iter().map(|s| s.length).max();
    half(looks, &at.member("least_piece"), system.least_piece, longest, "the longest stock");
    let grates = at.member("grates");
    for (i, grate) in system.grates.iter().enumerate() {
        let here = grates.element(i);
        let least = grate.least_piece.unwrap_or(Length::ZERO);
        half(looks, &here.member("least_piece"), least, Some(grate.length), "the grate");
    }
    for (name, outlet) in [("end_outlet", &system.end_outlet), ("bottom_outlet", &system.bottom_outlet)] {
        if let Some(outlet) = outlet {
            let here = at.member(name);
            looks.given(&here.member("uses_length"), outlet.uses_length, &PART_OF_A_LEG);
            looks.given(&here.member("invert_drop"), outlet.invert_drop, &DROP);
        }
    }
    for (name, turn) in [("corner", &system.corner), ("tee", &system.tee)] {
        if let Some(turn) = turn {
            let here = at.member(name);
            looks.given(&here.member("uses_length"), turn.uses_length, &PART_OF_A_LEG);
        }
    }
}

/// A least piece of more than half of what it is cut from leaves one piece of each.
fn half(looks: &mut Looks<'_>, at: &At<'_>, least: Length, of: Option<Length>, what: &str) {
    let Some(of) = of.filter(|of| least > of.half()) else { return };
    let show = looks.show();
    let (value, usual) = (show.length(least).to_string(), worded!("up to {}", show.length(of.half())));
    let detail = worded!("the shortest piece is {value} here, usually {usual}, half of {what} ({PRACTICE})");
    looks.note(at, detail, value, usual, PRACTICE);
}

fn one_detail(looks: &mut Looks<'_>, detail: &SettingDetail, at: &At<'_>) {
    for (name, thickness) in [("side", detail.side), ("base", detail.base), ("end", detail.end)] {
        looks.or_nothing(&at.member(name), thickness, &SURROUND);
    }
    looks.figure(&at.member("recess"), detail.recess, &RECESS);
    looks.given(&at.member("hot_grate_gap"), detail.hot_grate_gap, &HOT_GAP);
    if let Some(steel) = &detail.reinforcement {
        let here = at.member("reinforcement");
        looks.figure(&here.member("lap"), steel.lap, &LAP);
        bar(looks, steel.bar_number.get(), &here.member("bar_number"));
    }
}

/// Most bars of a surround are up to three quarters of an inch, in metric books up to 20 mm; a metric number that is typed for the
/// diameter is a thicker bar.
fn bar(looks: &mut Looks<'_>, number: i64, at: &At<'_>) {
    let metric = looks.book.unit_system == UnitSystem::Metric;
    let most = if metric { 6 } else { 8 };
    if number <= most {
        return;
    }
    // an eighth of an inch is 3.175 mm
    let (thick, meant) = if metric {
        let nearest = ((number * 1000 + 1587) / 3175).max(3);
        let thick = worded!("{} mm", (number * 3175 + 500) / 1000);
        (thick, worded!("; a bar of {number} mm is nearest to number {nearest}"))
    } else {
        (looks.show().length(Length::inches(number, 8)).to_string(), String::new())
    };
    let usual = worded!("3 to {most}");
    let detail = worded!(
        "bars of the surround are of number {number} here, usually {usual}: numbers count eighths of an inch, so these are some {thick} \
         thick{meant} ({PRACTICE})"
    );
    looks.note(at, detail, number.to_string(), usual, PRACTICE);
}

/// What an item is used as. Fittings, stone and fees may serve in several places; what is of one kind is of no other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Channel,
    Grate,
    Fitting,
    Screw,
    Hanger,
    Board,
    Bar,
    Pipe,
}

impl Role {
    /// Whether one item may be both: bars driven as stakes hold channel as well.
    fn goes_with(self, other: Role) -> bool {
        self == other || matches!((self, other), (Role::Bar, Role::Hanger) | (Role::Hanger, Role::Bar))
    }

    const fn word(self) -> &'static str {
        match self {
            Role::Channel => "channel",
            Role::Grate => "a grate",
            Role::Fitting => "a fitting",
            Role::Screw => "a screw",
            Role::Hanger => "a hanger",
            Role::Board => "a board",
            Role::Bar => "a bar",
            Role::Pipe => "pipe",
        }
    }
}

/// An item that is one thing here and another there.
fn two_roles(looks: &mut Looks<'_>) {
    let mut told: HashMap<&Code, (Role, String)> = HashMap::new();
    for (item, role, pointer) in roles(looks.book) {
        let Some((before, place)) = told.get(item) else {
            told.insert(item, (role, pointer));
            continue;
        };
        if before.goes_with(role) {
            continue;
        }
        let detail =
            worded!("`{item}` is {} here and {} at `{place}` ({PRACTICE})", role.word(), before.word());
        let usual = "one item for one thing".to_owned();
        looks.found.push(super::SecondLook {
            pointer,
            detail,
            value: item.to_string(),
            usual,
            source: PRACTICE,
        });
    }
}

/// Every item that is of one kind, where the book names it: stock first.
fn roles(book: &BookDoc) -> Vec<(&Code, Role, String)> {
    let root = At::ROOT;
    let mut out: Vec<(&Code, Role, String)> = Vec::new();
    let mut name = |code, role, at: &At<'_>| out.push((code, role, at.pointer()));
    let systems = root.member("channel_systems");
    for (i, system) in book.channel_systems.iter().enumerate() {
        let here = systems.element(i);
        let (stock, grates) = (here.member("stock"), here.member("grates"));
        for (s, length) in system.stock.iter().enumerate() {
            let place = stock.element(s);
            name(&length.item, Role::Channel, &place.member("item"));
        }
        for (g, grate) in system.grates.iter().enumerate() {
            let place = grates.element(g);
            name(&grate.item, Role::Grate, &place.member("item"));
        }
    }
    let pipes = root.member("pipes");
    for (i, pipe) in book.pipes.iter().enumerate() {
        let here = pipes.element(i);
        name(&pipe.item, Role::Pipe, &here.member("item"));
        let further = here.member("further_stock");
        for (s, stock) in pipe.further_stock.iter().enumerate() {
            let place = further.element(s);
            name(&stock.item, Role::Pipe, &place.member("item"));
        }
    }
    if let Some(form) = &book.forms {
        let here = root.member("forms");
        name(&form.item, Role::Board, &here.member("item"));
    }
    let details = root.member("setting_details");
    for (i, steel) in
        book.setting_details.iter().enumerate().filter_map(|(i, d)| Some((i, d.reinforcement.as_ref()?)))
    {
        let here = details.element(i);
        let here = here.member("reinforcement");
        name(&steel.item, Role::Bar, &here.member("item"));
    }
    if let Some(rule) = &book.hangers {
        let here = root.member("hangers");
        name(&rule.item, Role::Hanger, &here.member("item"));
    }
    for (i, system) in book.channel_systems.iter().enumerate() {
        let here = systems.element(i);
        for (member, part, role) in [
            ("screw", &system.screw, Role::Screw),
            ("coupling", &system.coupling, Role::Fitting),
            ("end_cap", &system.end_cap, Role::Fitting),
        ] {
            if let Some(code) = part {
                name(code, role, &here.member(member));
            }
        }
        for (member, part) in [
            ("end_outlet", system.end_outlet.as_ref().map(|f| &f.item)),
            ("bottom_outlet", system.bottom_outlet.as_ref().map(|f| &f.item)),
            ("corner", system.corner.as_ref().map(|f| &f.item)),
            ("tee", system.tee.as_ref().map(|f| &f.item)),
        ] {
            if let Some(code) = part {
                let place = here.member(member);
                name(code, Role::Fitting, &place.member("item"));
            }
        }
    }
    for (i, pipe) in book.pipes.iter().enumerate() {
        let here = pipes.element(i);
        for (member, part) in [
            ("coupling", &pipe.coupling),
            ("branch", &pipe.branch),
            ("clean_out", &pipe.clean_out),
            ("adapter", &pipe.adapter),
        ] {
            if let Some(code) = part {
                name(code, Role::Fitting, &here.member(member));
            }
        }
        let (bends, branches) = (here.member("bends"), here.member("reducing_branches"));
        for (n, bend) in pipe.bends.iter().enumerate() {
            let place = bends.element(n);
            name(&bend.item, Role::Fitting, &place.member("item"));
        }
        for (n, branch) in pipe.reducing_branches.iter().enumerate() {
            let place = branches.element(n);
            name(&branch.item, Role::Fitting, &place.member("item"));
        }
    }
    out
}
