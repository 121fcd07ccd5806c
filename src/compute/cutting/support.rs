//! Which stock piece serves which legs, when a chain of cuts breaks the least piece or the joint limit.
//!
//! Most stock pieces of a group go whole into one leg. Depth first over the others: each takes a set of legs and is
//! either used up or not, equal stock pieces take their sets in one order, and the cost follows from these sets
//! alone, so most are cut off early. What is left of each leg is then filled with whole pieces (`fill`). Legs of one length that no stock piece tells apart yet are taken from the
//! first on: of all patterns that differ only by an exchange of such legs, one is tried.

mod fill;

use super::component::{Budget, Group};
use super::model::{Model, len_i64};

/// Most legs a pattern is searched for.
const MOST_LEGS: usize = 8;

/// What one stock piece does.
#[derive(Debug, Clone, Copy)]
struct Role {
    mask: u32,
    /// Used up to its last length.
    all: bool,
    /// Shortest pieces of its legs together.
    least: i64,
}

/// Equal stock pieces of the group.
#[derive(Debug, Clone, Copy)]
struct Block {
    /// Place of the first in the stock.
    from: usize,
    count: usize,
    len: i64,
}

/// What the stock pieces cut so far come to.
#[derive(Debug, Clone, Copy, Default)]
struct Placed {
    /// Block at hand, and its pieces already cut.
    block: usize,
    cut: usize,
    /// First role the next one of the block may take.
    first: usize,
    /// Pieces of all blocks, those that stay whole included.
    pieces: usize,
    /// Stock pieces used up.
    exact: usize,
    /// Most and least that the blocks up to this one add, its whole pieces not counted yet.
    most: i64,
    least: i64,
    /// Legs that nothing tells apart from the one before them, as bits.
    tied: u32,
    /// Legs that cut pieces connect so far.
    parts: Parts,
}

/// The legs as sets that share stock pieces, directly or over others.
#[derive(Debug, Clone, Copy, Default)]
struct Parts {
    sets: [u8; MOST_LEGS],
    count: usize,
}

impl Parts {
    /// So many legs, none connected.
    fn of(legs: usize) -> Self {
        let mut sets = [0; MOST_LEGS];
        sets.iter_mut().take(legs).enumerate().for_each(|(i, s)| *s = 1 << i);
        Self { sets, count: legs }
    }

    /// How many sets are left once these legs are connected.
    fn after(&self, mask: u32) -> usize {
        self.count + 1 - self.sets.iter().filter(|s| u32::from(**s) & mask != 0).count()
    }

    /// Connects these legs.
    fn join(&self, mask: u32) -> Self {
        let (mut joined, mut at) = (Self::default(), 1);
        for set in self.sets.iter().take(self.count) {
            let (to, next) = if u32::from(*set) & mask != 0 { (0, at) } else { (at, at + 1) };
            if let Some(s) = joined.sets.get_mut(to) {
                *s |= set;
            }
            at = next;
        }
        Self { count: at, ..joined }
    }
}

struct Search<'a> {
    m: &'a Model,
    /// Leg lengths plus one gap: what pieces plus their gaps must add up to.
    goal: Vec<i64>,
    need: i64,
    /// Shortest piece of each leg, and of all of them.
    least: Vec<i64>,
    shortest: i64,
    /// Most that one stock piece gains by being cut for all legs, where a gap is wider than a kerf.
    bonus: i64,
    stock: &'a [usize],
    blocks: Vec<Block>,
    /// Most and least that the blocks from each on can add.
    reach: Vec<i64>,
    floor: Vec<i64>,
    roles: Vec<Role>,
    prices: i64,
    /// Role and block of every stock piece that is cut.
    chosen: Vec<(usize, usize)>,
    low: Vec<i64>,
    high: Vec<i64>,
    count: Vec<i64>,
    bar: i64,
    base: i64,
    best: Option<Group>,
    nodes: usize,
    effort: usize,
    complete: bool,
}

/// The cheapest pattern below `bar` for these legs and exactly this stock (equal kinds side by side), and
/// whether the search was complete.
pub(super) fn search(
    m: &Model,
    legs: &[i64],
    stock: &[usize],
    base: i64,
    bar: i64,
    effort: usize,
    budget: &mut Budget,
) -> (Option<Group>, bool) {
    if legs.len() > MOST_LEGS || effort == 0 {
        return (None, false);
    }
    let mut blocks: Vec<Block> = Vec::new();
    let mut prices = 0;
    for (i, &k) in stock.iter().enumerate() {
        let Some(kind) = m.kinds.get(k) else {
            return (None, true);
        };
        prices += kind.price;
        match blocks.last_mut() {
            Some(b) if stock.get(b.from) == Some(&k) => b.count += 1,
            _ => blocks.push(Block { from: i, count: 1, len: kind.len }),
        }
    }
    let a = legs.len();
    let bonus = (m.gap - m.kerf).max(0) * (len_i64(a) - 1);
    let least: Vec<i64> = legs.iter().map(|leg| m.least_of(*leg)).collect();
    let shortest = least.iter().copied().min().unwrap_or(m.least);
    let (mut reach, mut floor) = (vec![0_i64; blocks.len() + 1], vec![0_i64; blocks.len() + 1]);
    for (i, b) in blocks.iter().enumerate().rev() {
        let (r, f) = (reach.get(i + 1).copied().unwrap_or(0), floor.get(i + 1).copied().unwrap_or(0));
        if let (Some(to), Some(least)) = (reach.get_mut(i), floor.get_mut(i)) {
            *to = r + len_i64(b.count) * (b.len + m.gap + bonus);
            *least = f + len_i64(b.count) * (shortest + m.gap);
        }
    }
    let goal: Vec<i64> = legs.iter().map(|l| l + m.gap).collect();
    let mut search = Search {
        m,
        need: goal.iter().sum(),
        bonus,
        goal,
        stock,
        blocks,
        reach,
        floor,
        roles: roles(&least),
        least,
        shortest,
        prices,
        chosen: Vec::new(),
        low: vec![0; a],
        high: vec![0; a],
        count: vec![0; a],
        bar,
        base,
        best: None,
        nodes: 0,
        effort: effort.min(usize::try_from(budget.left()).unwrap_or(effort)),
        complete: true,
    };
    search.walk(Placed {
        pieces: stock.len(),
        exact: stock.len(),
        tied: tied(legs),
        parts: Parts::of(a),
        ..Placed::default()
    });
    budget.take(search.nodes);
    (search.best, search.complete)
}

/// Legs as long as the one before them, as bits.
fn tied(legs: &[i64]) -> u32 {
    let pairs = legs.iter().zip(legs.iter().skip(1)).enumerate();
    pairs.filter(|(_, (a, b))| a == b).fold(0, |bits, (i, _)| bits | 2 << i)
}

/// Roles of stock pieces that are cut, by number of legs, those used up first.
fn roles(least: &[i64]) -> Vec<Role> {
    let legs = least.len();
    let sum = |mask: u32| least.iter().enumerate().filter(|(i, _)| mask >> i & 1 == 1).map(|(_, l)| l).sum();
    let mut masks: Vec<u32> = (1..1_u32 << legs).collect();
    masks.sort_by_key(|m| (m.count_ones(), *m));
    let mut roles: Vec<Role> = Vec::with_capacity(masks.len() * 2);
    for size in 1..=u32::try_from(legs).unwrap_or(0) {
        for all in [true, false] {
            let cut = masks.iter().filter(|m| m.count_ones() == size && !(size == 1 && all));
            roles.extend(cut.map(|&mask| Role { mask, all, least: sum(mask) }));
        }
    }
    roles
}

impl Search<'_> {
    fn spent(&mut self) -> bool {
        self.nodes += 1;
        let spent = self.nodes > self.effort;
        self.complete &= !spent;
        spent
    }

    /// Cuts one stock piece more, or none.
    fn walk(&mut self, p: Placed) {
        if self.spent() || self.cost(p.pieces, p.exact, p.parts.count) >= self.bar || self.bar <= self.base {
            return;
        }
        let Some(&block) = self.blocks.get(p.block) else {
            self.fill(p);
            return;
        };
        let whole = block.count - p.cut;
        let unit = block.len + self.m.gap;
        let after = |v: &[i64]| v.get(p.block + 1).copied().unwrap_or(0);
        let reach = len_i64(whole) * (unit + self.bonus) + after(&self.reach);
        let floor = len_i64(whole) * (self.shortest + self.m.gap) + after(&self.floor);
        if p.most + reach < self.need || p.least + floor > self.need {
            return;
        }
        let rest = len_i64(whole) * unit;
        let next = Placed { block: p.block + 1, cut: 0, first: 0, ..p };
        let connected = next.block < self.blocks.len() || p.parts.count == 1;
        if connected {
            self.walk(Placed { most: p.most + rest, least: p.least + rest, ..next });
        }
        if whole == 0 {
            return;
        }
        let closed = self.closed();
        for r in p.first..self.roles.len() {
            let Some(&role) = self.roles.get(r) else { break };
            // of legs that nothing tells apart, the first go first
            if role.mask & (closed | p.tied & !(role.mask << 1)) != 0 {
                continue;
            }
            let legs = role.mask.count_ones() as usize;
            let (pieces, exact) = (p.pieces + legs - 1, p.exact - usize::from(!role.all));
            let n = len_i64(legs);
            let give = block.len - (n - 1) * self.m.kerf - i64::from(!role.all);
            if give < role.least || self.cost(pieces, exact, p.parts.after(role.mask)) >= self.bar {
                continue;
            }
            let least = if role.all { give + n * self.m.gap } else { role.least + n * self.m.gap };
            let placed = Placed {
                cut: p.cut + 1,
                first: r,
                pieces,
                exact,
                most: p.most + give + n * self.m.gap,
                least: p.least + least,
                tied: p.tied & !(role.mask ^ role.mask << 1),
                parts: p.parts.join(role.mask),
                ..p
            };
            self.shift(role, give, 1);
            self.chosen.push((r, p.block));
            self.walk(placed);
            self.chosen.pop();
            self.shift(role, give, -1);
            if self.nodes > self.effort {
                return;
            }
        }
    }

    /// Least cost of what is placed, once the legs hang together: legs that do not are better cut as two groups.
    fn cost(&self, pieces: usize, exact: usize, parts: usize) -> i64 {
        self.m.cost(self.prices, self.goal.len(), pieces + parts - 1, exact)
    }

    /// Legs that have no room for another piece, as bits.
    fn closed(&self) -> u32 {
        let legs = self.goal.iter().zip(&self.low).zip(&self.count).zip(&self.least).enumerate();
        let full = legs.filter(|(_, (((goal, low), count), least))| {
            *low + *least + self.m.gap > **goal || **count >= self.m.max_pieces
        });
        full.fold(0, |bits, (i, _)| bits | 1 << i)
    }

    /// One piece more for each leg of a role that gives so much, or with `one` of -1 one less: no shorter than the least of the leg,
    /// no longer than what the least of the other legs leave.
    fn shift(&mut self, role: Role, give: i64, one: i64) {
        for i in (0..self.goal.len()).filter(|i| role.mask >> i & 1 == 1) {
            if let (Some(l), Some(h), Some(c), Some(least)) =
                (self.low.get_mut(i), self.high.get_mut(i), self.count.get_mut(i), self.least.get(i))
            {
                *l += one * (least + self.m.gap);
                *h += one * (give - role.least + least + self.m.gap);
                *c += one;
            }
        }
    }
}
