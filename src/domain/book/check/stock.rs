//! One item is one thing: one length, one size, one class. Stock that the settings for cutting leave no use for.

use super::Check;
use crate::domain::words::LoadClass;
use crate::units::Length;
use crate::units::show::Show;
use crate::wire::book::systems::Pipe;
use crate::wire::{At, Code};

/// What an item is bought as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Piece {
    /// Channel, by its inside and overall width.
    Channel(Length, Length),
    /// A grate, by its class.
    Grate(Option<LoadClass>),
    /// Pipe, by its outside and inside diameter.
    Pipe(Length, Length),
    /// A board, by its width.
    Board(Length),
    /// A bar, by its number.
    Bar(i64),
}

impl Piece {
    fn told(self, show: Show) -> String {
        match self {
            Piece::Channel(inside, _) => format!("channel {} wide inside", show.length(inside)),
            Piece::Grate(class) => format!("a grate of class {}", class.map_or("none", LoadClass::word)),
            Piece::Pipe(outside, _) => format!("pipe of {} outside", show.length(outside)),
            Piece::Board(width) => format!("a board {} wide", show.length(width)),
            Piece::Bar(number) => format!("a bar number {number}"),
        }
    }
}

/// An item where the book names it as stock.
struct Named<'b> {
    item: &'b Code,
    piece: Piece,
    length: Length,
    pointer: String,
}

pub(super) fn check(check: &mut Check<'_>) {
    one_thing(check);
    cutting(check);
}

fn named<'b>(check: &Check<'b>) -> Vec<Named<'b>> {
    let root = At::ROOT;
    let doc = check.doc;
    let mut out = Vec::new();
    let list = root.member("channel_systems");
    for (i, system) in doc.channel_systems.iter().enumerate() {
        let here = list.element(i);
        let section = &system.section;
        for (s, stock) in system.stock.iter().enumerate() {
            let pointer = here.member("stock").element(s).member("item").pointer();
            let piece = Piece::Channel(section.inside_width, section.overall_width);
            out.push(Named { item: &stock.item, piece, length: stock.length, pointer });
        }
        for (g, grate) in system.grates.iter().enumerate() {
            let pointer = here.member("grates").element(g).member("item").pointer();
            let piece = Piece::Grate(grate.load_class);
            out.push(Named { item: &grate.item, piece, length: grate.length, pointer });
        }
    }
    let list = root.member("pipes");
    for (i, pipe) in doc.pipes.iter().enumerate() {
        let here = list.element(i);
        let pointer = here.member("item").pointer();
        let piece = Piece::Pipe(pipe.outside_diameter, pipe.inside_diameter);
        out.push(Named { item: &pipe.item, piece, length: pipe.stock_length, pointer });
        for (s, stock) in pipe.further_stock.iter().enumerate() {
            let pointer = here.member("further_stock").element(s).member("item").pointer();
            out.push(Named { item: &stock.item, piece, length: stock.length, pointer });
        }
    }
    if let Some(form) = &doc.forms {
        let pointer = root.member("forms").member("item").pointer();
        let piece = Piece::Board(form.board_width);
        out.push(Named { item: &form.item, piece, length: form.board_length, pointer });
    }
    let list = root.member("setting_details");
    for (i, detail) in doc.setting_details.iter().enumerate() {
        let Some(steel) = &detail.reinforcement else { continue };
        let pointer = list.element(i).member("reinforcement").member("item").pointer();
        let piece = Piece::Bar(steel.bar_number.get());
        out.push(Named { item: &steel.item, piece, length: steel.bar_length, pointer });
    }
    out
}

fn one_thing(check: &mut Check<'_>) {
    let show = Show(check.doc.unit_system);
    let all = named(check);
    for (i, this) in all.iter().enumerate() {
        let unlike = |before: &&Named<'_>| {
            before.item == this.item && (before.length != this.length || before.piece != this.piece)
        };
        let Some(before) = all.iter().take(i).find(unlike) else { continue };
        let other = if before.piece == this.piece {
            format!("{} long", show.length(before.length))
        } else {
            before.piece.told(show)
        };
        let detail = format!(
            "at `{}` this item is {other}: an item has one length, one size and one class, so give each an item of its own",
            before.pointer
        );
        let sent = this.item.as_str();
        check.faults.push(crate::wire::Fault {
            pointer: this.pointer.clone(),
            code: "contradiction",
            detail,
            value: Some(sent.to_owned()),
            allowed: Vec::new(),
        });
    }
}

/// Lengths that leave nothing to cut from.
fn cutting(check: &mut Check<'_>) {
    let doc = check.doc;
    let Some(rules) = &doc.cutting else { return };
    let show = Show(doc.unit_system);
    let root = At::ROOT;
    let here = root.member("cutting");
    if let Some(most) = rules.longest_setting {
        let systems = doc.channel_systems.iter();
        for system in systems.filter(|s| s.stock.iter().all(|l| l.length > most)) {
            check.faults.value(
                &here.member("longest_setting"),
                "stock_too_long",
                &show.length(most).to_string(),
                format!(
                    "every stock length of `{}` is longer, and what is longer is not used; lengthen it or add a shorter stock",
                    system.code
                ),
            );
        }
    }
    if let Some(least) = rules.least_piece {
        // of several lengths one that is long enough will do
        let too_short = |pipe: &&Pipe| pipe.stock().all(|(_, length)| length < least);
        let pipes = doc.pipes.iter().filter(too_short).flat_map(Pipe::stock);
        let boards = doc.forms.iter().map(|f| (&f.item, f.board_length));
        let bars = doc.setting_details.iter().filter_map(|d| d.reinforcement.as_ref());
        let bars = bars.map(|r| (&r.item, r.bar_length));
        let mut told: Vec<&Code> = Vec::new();
        for (item, length) in pipes.chain(boards).chain(bars).filter(|(_, length)| *length < least) {
            if told.contains(&item) {
                continue;
            }
            told.push(item);
            check.faults.value(
                &here.member("least_piece"),
                "stock_too_short",
                &show.length(least).to_string(),
                format!("`{item}` is only {} long: shorten the least piece", show.length(length)),
            );
        }
    }
}
