//! Improvement of a plan for many legs: small unions of groups are planned anew, exactly, always in the same
//! order.

use super::component::{Budget, Group, Terms};
use super::few::Few;
use super::matching::Assignment;
use super::menu::Menu;
use super::model::{Model, UNLIMITED};

/// Nodes one pattern search may take inside a step.
const EFFORT: usize = 300;
/// Most states of one step.
const STATES: usize = 1 << 10;
/// At most so many of a limited kind are handed out in a step.
const STOCK: u32 = 3;
/// Legs in one step.
const LEGS: usize = 8;
/// Steps without gain, per group, before giving up.
const PATIENCE: usize = 6;

/// What every improvement step shares.
pub(super) struct Step<'a> {
    pub m: &'a Model,
    /// Unlimited kinds only.
    pub menu: &'a Menu,
    /// Scarcity charge per kind.
    pub charge: &'a [i64],
}

/// Stock left beside these groups; `None` when they take more than there is.
pub(super) fn left_over(groups: &[Group], limits: &[u32]) -> Option<Vec<u32>> {
    let mut left = limits.to_vec();
    for &k in groups.iter().flat_map(|g| &g.stock) {
        let n = left.get_mut(k)?;
        if *n != UNLIMITED {
            *n = n.checked_sub(1)?;
        }
    }
    Some(left)
}

/// Groups along the cycles of the assignment, two legs at a time.
pub(super) fn start(t: &Step, a: &Assignment, limits: &[u32], budget: &mut Budget) -> Option<Vec<Group>> {
    let mut seen = vec![false; a.column.len()];
    let mut limits = limits.to_vec();
    let mut groups = Vec::new();
    for first in 0..a.column.len() {
        let mut cycle = Vec::new();
        let mut i = first;
        while !*seen.get(i)? {
            *seen.get_mut(i)? = true;
            cycle.push(i);
            i = *a.column.get(i)?;
        }
        for pair in cycle.chunks(2) {
            let mut legs = pair.to_vec();
            legs.sort_unstable();
            let found = union(t, &legs, &limits, budget)?;
            limits = left_over(&found, &limits)?;
            groups.extend(found);
        }
    }
    Some(groups)
}

/// The best plan for a few legs from unlimited stock and some of the limited stock at hand.
pub(super) fn union(t: &Step, legs: &[usize], limits: &[u32], budget: &mut Budget) -> Option<Vec<Group>> {
    let mut some = limits.to_vec();
    let (mut states, room) = (1_usize, STATES >> legs.len());
    for n in some.iter_mut().filter(|n| **n != UNLIMITED) {
        let most = (room / states).saturating_sub(1);
        *n = (*n).min(u32::try_from(most).unwrap_or(u32::MAX)).min(STOCK);
        states *= *n as usize + 1;
    }
    let terms = Terms { m: t.m, menu: t.menu, limits: &some, effort: EFFORT };
    let mut few = Few::new(terms, legs, STATES)?;
    few.solve(budget).map(|found| few.groups(&found))
}

/// Solves unions of groups exactly until nothing is gained for a while.
pub(super) fn improve(
    t: &Step,
    mut groups: Vec<Group>,
    limits: &[u32],
    guide: &Guide,
    budget: &mut Budget,
) -> Vec<Group> {
    let Some(mut free) = left_over(&groups, limits) else {
        return groups;
    };
    let (share, bound) = (&guide.share, guide.bound);
    let mut dice = 0x2545_F491_4F6C_DD1D_u64;
    let mut idle = 0;
    let mut cost: i64 = groups.iter().map(|g| g.cost).sum();
    // the groups that pay most above their share first
    let excess =
        |g: &Group| 2 * g.charged(t.charge) - g.legs.iter().filter_map(|&l| share.get(l)).sum::<i64>();
    while cost > bound && budget.is_open() && idle < PATIENCE * groups.len() {
        let mut gained = true;
        while gained && cost > bound && budget.is_open() {
            let gain = follow(t, &mut groups, &mut free, &guide.hints, budget);
            cost -= gain;
            gained = gain > 0;
        }
        groups.sort_by_cached_key(|g| (std::cmp::Reverse(excess(g)), g.legs.first().copied()));
        for turn in 0..groups.len() {
            let chosen = choose(&groups, turn, &mut dice);
            idle += 1;
            if chosen.len() < 2 {
                continue;
            }
            if let Some(gain) = step(t, &mut groups, &mut free, chosen, budget) {
                cost -= gain;
                idle = if gain > 0 { 0 } else { idle };
            }
            if cost <= bound || !budget.is_open() {
                break;
            }
        }
    }
    groups
}

/// What the bound teaches the improvement.
pub(super) struct Guide {
    /// Twice the price of each leg.
    pub share: Vec<i64>,
    /// Groups worth having.
    pub hints: Vec<Vec<usize>>,
    /// No plan costs less.
    pub bound: i64,
}

/// Groups of the linear programme one by one, the legs left over a few at a time.
pub(super) fn take(
    t: &Step,
    taken: &[Vec<usize>],
    limits: &[u32],
    budget: &mut Budget,
) -> Option<Vec<Group>> {
    let mut open = vec![true; t.m.legs.len()];
    let mut sets: Vec<Vec<usize>> = Vec::new();
    for g in taken {
        if g.len() <= LEGS && g.iter().all(|&l| open.get(l) == Some(&true)) {
            g.iter().for_each(|&l| open.iter_mut().skip(l).take(1).for_each(|o| *o = false));
            sets.push(g.clone());
        }
    }
    let rest: Vec<usize> = open.iter().enumerate().filter(|(_, o)| **o).map(|(i, _)| i).collect();
    sets.extend(rest.chunks(LEGS).map(<[usize]>::to_vec));
    let mut limits = limits.to_vec();
    let mut groups = Vec::new();
    for legs in sets {
        let found = union(t, &legs, &limits, budget)?;
        limits = left_over(&found, &limits)?;
        groups.extend(found);
    }
    Some(groups)
}

/// One pass over the groups worth having: the groups in their way are planned anew together. Returns the
/// gain.
fn follow(
    t: &Step,
    groups: &mut Vec<Group>,
    free: &mut Vec<u32>,
    hints: &[Vec<usize>],
    budget: &mut Budget,
) -> i64 {
    let mut gain = 0;
    let mut home = homes(groups, t.m.legs.len());
    for hint in hints {
        let mut chosen: Vec<usize> = hint.iter().filter_map(|&l| home.get(l).copied()).collect();
        chosen.sort_unstable();
        chosen.dedup();
        let legs: usize = chosen.iter().filter_map(|&c| groups.get(c)).map(|g| g.legs.len()).sum();
        if chosen.len() < 2 || legs > LEGS || !budget.is_open() {
            continue;
        }
        if let Some(g) = step(t, groups, free, chosen, budget) {
            gain += g;
            home = homes(groups, t.m.legs.len());
        }
    }
    gain
}

/// The group each leg is in.
fn homes(groups: &[Group], legs: usize) -> Vec<usize> {
    let mut home = vec![0; legs];
    for (i, g) in groups.iter().enumerate() {
        for &l in &g.legs {
            if let Some(h) = home.get_mut(l) {
                *h = i;
            }
        }
    }
    home
}

/// The group whose turn it is and some others, few enough legs to be solved exactly.
fn choose(groups: &[Group], turn: usize, dice: &mut u64) -> Vec<usize> {
    let size = |i: usize| groups.get(i).map_or(0, |g| g.legs.len());
    let mut chosen = vec![turn % groups.len().max(1)];
    let mut legs = chosen.iter().map(|&c| size(c)).sum::<usize>();
    for _ in 0..LEGS {
        *dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let pick = usize::try_from(*dice >> 33).unwrap_or(0) % groups.len().max(1);
        if legs + size(pick) <= LEGS && !chosen.contains(&pick) {
            chosen.push(pick);
            legs += size(pick);
        }
    }
    chosen
}

/// Replaces the chosen groups by a plan for their legs that is no dearer; returns the gain.
fn step(
    t: &Step,
    groups: &mut Vec<Group>,
    free: &mut Vec<u32>,
    mut chosen: Vec<usize>,
    budget: &mut Budget,
) -> Option<i64> {
    let old = chosen.iter().filter_map(|&c| groups.get(c));
    let mut legs: Vec<usize> = old.clone().flat_map(|g| g.legs.iter().copied()).collect();
    legs.sort_unstable();
    let cost: i64 = old.clone().map(|g| g.cost).sum();
    let mut limits = free.clone();
    for &k in old.flat_map(|g| &g.stock) {
        if let Some(n) = limits.get_mut(k).filter(|n| **n != UNLIMITED) {
            *n += 1;
        }
    }
    let found = union(t, &legs, &limits, budget)?;
    let new: i64 = found.iter().map(|g| g.cost).sum();
    if new > cost {
        return None;
    }
    *free = left_over(&found, &limits)?;
    chosen.sort_unstable();
    for c in chosen.into_iter().rev() {
        groups.swap_remove(c);
    }
    groups.extend(found);
    Some(cost - new)
}
