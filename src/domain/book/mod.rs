//! A price book that has passed the check of its day: every code it names exists, every part that a system needs is there.
//!
//! | file | subject |
//! |---|---|
//! | [`check`] | what stops a price book from being published |
//! | `state` | where a version stands: draft, published, retired |
//! | `bags` | bags of concrete |
//! | `offered` | what is known of its offers, so that no estimate looks it up again |
//! | [`periods`] | the days for which versions of one book hold |
//! | [`difference`], [`price_moves`] | what differs between two versions, and how far prices move |

mod bags;
pub mod check;
pub mod difference;
mod offered;
pub mod periods;
pub mod price_moves;
mod state;

use super::words::{Crossing, LoadClass, Soil, Task};
use crate::units::{Currency, Length};
use crate::wire::book::ground::{SoilFacts, SurfaceKind, SurfaceRule};
use crate::wire::book::supply::SupplierOffer;
use crate::wire::book::systems::{ChannelSystem, Pipe, SettingDetail};
use crate::wire::book::work::{Equipment, LaborRate, Trade};
use crate::wire::book::{BookDoc, Item};
use crate::wire::{Code, Faults};
pub use bags::label_yield;
pub use offered::{Listed, Offered, price_of_pack};
use rustc_hash::FxHashMap;
pub use state::VersionState;

/// A checked price book.
#[derive(Debug, Clone)]
pub struct PriceBook {
    doc: BookDoc,
    items: FxHashMap<Code, usize>,
    /// Places of the offers of each item, both in the order of the document.
    offers: Vec<Vec<usize>>,
    /// What is known of each offer, in the order of the document.
    offered: Vec<Offered>,
    /// Place of the rate of each task by the usual method, else of its first.
    usual_rates: Vec<Option<usize>>,
}

/// Which version of which book an answer was computed from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BookRef {
    /// Id of the version.
    pub version_id: String,
    /// Name of the book.
    pub name: String,
    /// Number of the version within the book.
    pub number: i64,
}

fn usual_rate(task: Task, rates: &[LaborRate]) -> Option<usize> {
    let of_task = |rate: &LaborRate| rate.task == task;
    rates.iter().position(|r| of_task(r) && r.usual.0).or_else(|| rates.iter().position(of_task))
}

impl PriceBook {
    /// Checks a document whole.
    ///
    /// # Errors
    /// Every fault that stops publishing, with pointers into the document.
    pub fn check(doc: BookDoc) -> Result<PriceBook, Faults> {
        let faults = check::faults(&doc);
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(Self::published(doc))
    }

    /// A document that was published, as it is: what is refused today may have been published before, and estimates were made
    /// from it.
    pub fn published(doc: BookDoc) -> PriceBook {
        let items = doc.items.iter().enumerate().map(|(i, item)| (item.code.clone(), i)).collect();
        let offered = Offered::all(&doc, &items);
        let mut offers = vec![Vec::new(); doc.items.len()];
        for offer in &offered {
            if let Some(of_item) = offers.get_mut(offer.item) {
                of_item.push(offer.place);
            }
        }
        let usual_rates = Task::ALL.iter().map(|task| usual_rate(*task, &doc.labor)).collect();
        PriceBook { doc, items, offers, offered, usual_rates }
    }

    /// The document.
    pub fn doc(&self) -> &BookDoc {
        &self.doc
    }

    /// The currency of every price.
    pub fn currency(&self) -> Currency {
        self.doc.currency
    }

    /// An item by its code.
    pub fn item(&self, code: &Code) -> Option<&Item> {
        self.items.get(code).and_then(|i| self.doc.items.get(*i))
    }

    /// An item by its code, with its place in the document.
    pub fn listed(&self, code: &Code) -> Option<Listed<'_>> {
        let place = *self.items.get(code)?;
        let item = self.doc.items.get(place)?;
        Some(Listed { place, item, is_offered: self.offers.get(place).is_some_and(|of| !of.is_empty()) })
    }

    /// What is offered of an item, in the order of the document.
    pub fn offers_of(&self, item: &Code) -> impl Iterator<Item = &SupplierOffer> {
        let places = self.items.get(item).and_then(|place| self.offers.get(*place));
        places.into_iter().flatten().filter_map(|place| self.doc.offers.get(*place))
    }

    /// Every offer with what is known of it, in the order of the document.
    pub fn offered(&self) -> impl Iterator<Item = (&SupplierOffer, &Offered)> {
        self.offered.iter().filter_map(|known| Some((self.doc.offers.get(known.place)?, known)))
    }

    /// Every item that is a stock length, with its length: channel, grates, pipe, boards, bars.
    pub fn stock_items(&self) -> impl Iterator<Item = (&Code, Length)> {
        let doc = &self.doc;
        let systems = doc.channel_systems.iter();
        let channel = systems.clone().flat_map(|s| s.stock.iter().map(|l| (&l.item, l.length)));
        let grates = systems.flat_map(|s| s.grates.iter().map(|g| (&g.item, g.length)));
        let pipes = doc.pipes.iter().flat_map(Pipe::stock);
        let boards = doc.forms.iter().map(|f| (&f.item, f.board_length));
        let bars = doc.setting_details.iter().filter_map(|d| d.reinforcement.as_ref());
        let bars = bars.map(|r| (&r.item, r.bar_length));
        channel.chain(grates).chain(pipes).chain(boards).chain(bars)
    }

    /// The length of an item that is a stock length.
    pub fn stock_length(&self, item: &Code) -> Option<Length> {
        self.stock_items().find(|(code, _)| *code == item).map(|(_, length)| length)
    }

    /// A channel system by its code.
    pub fn system(&self, code: &Code) -> Option<&ChannelSystem> {
        self.doc.channel_systems.iter().find(|s| s.code == *code)
    }

    /// A pipe by its code.
    pub fn pipe(&self, code: &Code) -> Option<&Pipe> {
        self.doc.pipes.iter().find(|p| p.code == *code)
    }

    /// The setting detail for a crossing.
    pub fn detail_for(&self, crossing: Crossing) -> Option<&SettingDetail> {
        self.doc.setting_details.iter().find(|d| d.crossings.contains(&crossing))
    }

    /// A setting detail by its code.
    pub fn detail(&self, code: &Code) -> Option<&SettingDetail> {
        self.doc.setting_details.iter().find(|d| d.code == *code)
    }

    /// The least class a crossing calls for, in the standard of `of`; `None` for a use of which the book does not say it.
    pub fn least_class(&self, crossing: Crossing, of: LoadClass) -> Option<LoadClass> {
        if let Some(named) = crossing.class() {
            return Some(named);
        }
        let rule = self.doc.use_classes.iter().find(|u| u.crossing == crossing)?;
        if of.is_en_1433() { rule.en_1433 } else { rule.asme_a112_6_3 }
    }

    /// Whether what is made for `made_for` serves what crosses too; `None` where the two cannot be compared. A use stands for
    /// the least class it calls for.
    pub fn serves(&self, made_for: Crossing, crossing: Crossing) -> Option<bool> {
        if made_for == crossing {
            return Some(true);
        }
        let by =
            |standard| self.least_class(made_for, standard)?.carries(self.least_class(crossing, standard)?);
        match made_for.class().or(crossing.class()) {
            Some(standard) => by(standard),
            // two uses: by whichever standard the book has classes of both
            None => by(LoadClass::A15).or_else(|| by(LoadClass::Light)),
        }
    }

    /// How a soil behaves.
    pub fn soil(&self, soil: Soil) -> Option<&SoilFacts> {
        self.doc.soils.iter().find(|s| s.soil == soil)
    }

    /// How an existing surface is treated.
    pub fn surface(&self, kind: SurfaceKind) -> Option<&SurfaceRule> {
        self.doc.surfaces.iter().find(|s| s.surface == kind)
    }

    /// A trade by its code.
    pub fn trade(&self, code: &Code) -> Option<&Trade> {
        self.doc.trades.iter().find(|t| t.code == *code)
    }

    /// A machine by its code.
    pub fn equipment(&self, code: &Code) -> Option<&Equipment> {
        self.doc.equipment.iter().find(|e| e.code == *code)
    }

    /// The rates for a task: by the method named, else the usual one, else the first.
    pub fn labor(&self, task: Task, method: Option<&Code>) -> Option<&LaborRate> {
        match method {
            Some(code) => self.doc.labor.iter().find(|r| r.task == task && r.method == *code),
            None => self.usual_rates.get(task as usize).and_then(|place| self.doc.labor.get((*place)?)),
        }
    }
}
