//! The legs of each part: channel, grates, pipe, form boards, bars, and by which rules they are cut.

use super::Word::{Number, Shown, Text};
use super::{Gather, Part, Place, Rules, Word, Worth, grate_gap};
use crate::compute::takeoff::form_rows::standing;
use crate::compute::takeoff::trench::Trench;
use crate::domain::layout::{Line, Run};
use crate::domain::words::{Climate, Measure};
use crate::units::Length;
use crate::wire::book::cutting::CuttingRules;
use crate::wire::book::ground::SurfaceKind;
use rust_decimal::Decimal;
use smallvec::{SmallVec, smallvec};

/// The number of what stands at that place, counted from 1.
const fn numbered(place: usize) -> Word<'static> {
    Number(place as i64 + 1)
}

/// The list of each run or line gathered so far: what is made of the same things of the book goes into one list.
struct Known<'l, T>(Vec<(&'l T, usize)>);

impl<T> Default for Known<'_, T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'l, T> Known<'l, T> {
    /// The list of the first that is like the one at hand.
    fn of(&self, like: impl Fn(&&'l T) -> bool) -> Option<usize> {
        self.0.iter().find(|(before, _)| like(before)).map(|(_, list)| *list)
    }

    /// Notes which list it went into.
    fn add(&mut self, it: &'l T, list: usize) {
        self.0.push((it, list));
    }
}

/// How the channel of a run is cut; a joint and a cut cost nothing yet.
pub(super) fn channel_cuts<'a>(run: &Run<'a>, settings: Option<&CuttingRules>) -> Rules<'a> {
    let system = run.system;
    Rules {
        part: Part::Channel,
        code: &system.code,
        stock: system.stock.iter().map(|s| (&s.item, s.length)).collect(),
        kerf: system.kerf,
        gap: Length::ZERO,
        least: system.least_piece,
        longest_setting: settings.and_then(|s| s.longest_setting),
        most_joints: system
            .most_joints
            .or(settings.and_then(|s| s.most_joints))
            .and_then(|n| u32::try_from(n.get()).ok()),
        joint: Worth::default(),
        cut: Worth::default(),
    }
}

/// How the grates of a run are cut; a joint and a cut cost nothing yet.
pub(super) fn grate_cuts<'a>(run: &Run<'a>, climate: Climate) -> Rules<'a> {
    let grate = run.grate;
    Rules {
        part: Part::Grate,
        code: &grate.item,
        stock: smallvec![(&grate.item, grate.length)],
        kerf: run.system.kerf,
        gap: grate_gap(climate, run),
        least: grate.least_piece.unwrap_or(Length::ZERO),
        longest_setting: None,
        most_joints: None,
        joint: Worth::default(),
        cut: Worth::default(),
    }
}

impl<'a> Gather<'a, '_> {
    pub(super) fn channels(&mut self) {
        let layout = self.layout;
        let mut lists = Known::default();
        for (index, run) in layout.runs.iter().enumerate() {
            if run.legs.iter().all(|leg| leg.spans.is_empty()) {
                continue;
            }
            let like = |before: &&Run<'a>| std::ptr::eq(before.system, run.system);
            let list = lists.of(like).unwrap_or_else(|| {
                let rules = self.channel_rules(run);
                self.list(rules)
            });
            lists.add(run, list);
            for (leg, run_leg) in run.legs.iter().enumerate() {
                let parts = run_leg.spans.len();
                for (part, span) in run_leg.spans.iter().enumerate() {
                    let place = Place { owner: run.id, of: index, leg, from: span.from, length: span.length };
                    let mut name: SmallVec<[Word<'_>; 6]> = SmallVec::new();
                    name.extend([Text("run "), Text(run.id.as_str()), Text(", leg "), numbered(leg)]);
                    if parts > 1 {
                        name.extend([Text(", part "), numbered(part)]);
                    }
                    self.add(list, &name, place);
                }
            }
        }
    }

    fn channel_rules(&mut self, run: &Run<'a>) -> Rules<'a> {
        let one = Decimal::ONE;
        Rules {
            joint: self.worth(
                &[(Measure::ChannelJoints, one), (Measure::ChannelSections, one)],
                &[(run.system.coupling.as_ref(), one)],
            ),
            cut: self.worth(&[(Measure::ChannelCuts, one)], &[]),
            ..channel_cuts(run, self.settings())
        }
    }

    pub(super) fn grates(&mut self) {
        let layout = self.layout;
        let mut lists = Known::default();
        for (index, run) in layout.runs.iter().enumerate() {
            if run.legs.is_empty() {
                continue;
            }
            let like = |before: &&Run<'a>| {
                std::ptr::eq(before.grate, run.grate)
                    && std::ptr::eq(before.system, run.system)
                    && std::ptr::eq(before.detail, run.detail)
            };
            let list = lists.of(like).unwrap_or_else(|| {
                let rules = self.grate_rules(run);
                self.list(rules)
            });
            lists.add(run, list);
            for (leg, run_leg) in run.legs.iter().enumerate() {
                let Some(span) = run_leg.covered(run.system.section.overall_width) else { continue };
                let place = Place { owner: run.id, of: index, leg, from: span.from, length: span.length };
                let name = [Text("run "), Text(run.id.as_str()), Text(", leg "), numbered(leg)];
                self.add(list, &name, place);
            }
        }
    }

    fn grate_rules(&mut self, run: &Run<'a>) -> Rules<'a> {
        let screws = Decimal::from(run.grate.screws.get());
        Rules {
            joint: self.worth(
                &[(Measure::Grates, Decimal::ONE), (Measure::GrateScrews, screws)],
                &[(run.system.screw.as_ref(), screws)],
            ),
            cut: self.worth(&[(Measure::GrateCuts, Decimal::ONE)], &[]),
            ..grate_cuts(run, self.layout.climate)
        }
    }

    pub(super) fn pipes(&mut self) {
        let layout = self.layout;
        let mut lists = Known::default();
        for (index, line) in layout.lines.iter().enumerate() {
            if line.legs.is_empty() {
                continue;
            }
            let like = |before: &&Line<'a>| std::ptr::eq(before.pipe, line.pipe);
            let list = lists.of(like).unwrap_or_else(|| {
                let rules = self.pipe_rules(line);
                self.list(rules)
            });
            lists.add(line, list);
            for stretch in line.laid_through() {
                let (leg, length) = (stretch.first, stretch.length);
                let place = Place { owner: line.id, of: index, leg, from: Length::ZERO, length };
                let name = [Text("line "), Text(line.id.as_str()), Text(", "), Shown(&stretch)];
                self.add(list, &name, place);
            }
        }
    }

    fn pipe_rules(&mut self, line: &Line<'a>) -> Rules<'a> {
        let pipe = line.pipe;
        let (kerf, least) = self.loose();
        let one = Decimal::ONE;
        Rules {
            part: Part::Pipe,
            code: &pipe.code,
            stock: pipe.stock().collect(),
            kerf,
            gap: Length::ZERO,
            least,
            longest_setting: None,
            most_joints: None,
            joint: self.worth(&[(Measure::PipeJoints, one)], &[(pipe.coupling.as_ref(), one)]),
            cut: Worth::default(),
        }
    }

    /// Kerf and least piece of what no channel system speaks of.
    fn loose(&self) -> (Length, Length) {
        let settings = self.settings();
        (
            settings.and_then(|s| s.kerf).unwrap_or(Length::ZERO),
            settings.and_then(|s| s.least_piece).unwrap_or(Length::ZERO),
        )
    }

    /// Rows of boards along both sides and at every open end of the trench, where there is no slab edge.
    pub(super) fn boards(&mut self) {
        let layout = self.layout;
        let Some(form) = self.book.doc().forms.as_ref() else { return };
        let (kerf, least) = self.loose();
        let mut list = None;
        for (index, run) in layout.runs.iter().enumerate() {
            if run.top.kind == SurfaceKind::ConcreteSlab {
                continue;
            }
            for (leg, board) in standing(run, &Trench::of(run), form, least).iter().enumerate() {
                let list = *list.get_or_insert_with(|| {
                    self.list(Rules {
                        part: Part::FormBoard,
                        code: &form.item,
                        stock: smallvec![(&form.item, form.board_length)],
                        kerf,
                        gap: Length::ZERO,
                        least,
                        longest_setting: None,
                        most_joints: None,
                        joint: Worth::default(),
                        cut: Worth::default(),
                    })
                });
                let place = Place { owner: run.id, of: index, leg, from: Length::ZERO, length: board.length };
                let between = board.between.map(|(from, to)| [from, to].map(|at| layout.show.length(at)));
                let mut name: SmallVec<[Word<'_>; 12]> = SmallVec::new();
                name.extend([Text("run "), Text(run.id.as_str()), Text(", "), Text(board.place), Text(" ")]);
                name.extend([Number(board.number), Text(", row "), Number(board.row)]);
                if let Some([from, to]) = &between {
                    name.extend([Text(", "), Shown(from), Text(" to "), Shown(to)]);
                }
                self.add(list, &name, place);
            }
        }
    }

    /// Bars side by side along the trench, lapped where they meet.
    pub(super) fn bars(&mut self) {
        let layout = self.layout;
        let mut lists = Known::default();
        for (index, run) in layout.runs.iter().enumerate() {
            let Some(steel) = run.detail.reinforcement.as_ref().filter(|s| s.bars.get() > 0) else {
                continue;
            };
            let length = Trench::of(run).length;
            // a bar that is no longer than the lap is one piece, and needs none
            let single = |run: &Run<'a>| Trench::of(run).length <= steel.lap;
            let like =
                |before: &&Run<'a>| std::ptr::eq(before.detail, run.detail) && single(before) == single(run);
            let list = lists.of(like).unwrap_or_else(|| {
                let (kerf, least) = self.loose();
                let (gap, least) = if single(run) {
                    (Length::ZERO, least)
                } else {
                    (-steel.lap, least.max(steel.lap + Length::from_nm(1)))
                };
                self.list(Rules {
                    part: Part::Bar,
                    code: &steel.item,
                    stock: smallvec![(&steel.item, steel.bar_length)],
                    kerf,
                    gap,
                    least,
                    longest_setting: None,
                    most_joints: single(run).then_some(0),
                    joint: Worth::default(),
                    cut: Worth::default(),
                })
            });
            lists.add(run, list);
            for bar in 1..=steel.bars.get() {
                let leg = usize::try_from(bar - 1).unwrap_or(0);
                let place = Place { owner: run.id, of: index, leg, from: Length::ZERO, length };
                let name = [Text("run "), Text(run.id.as_str()), Text(", bar "), Number(bar)];
                self.add(list, &name, place);
            }
        }
    }
}
