//! Lengths for a chosen pattern: a small transport problem from stock pieces to legs.

/// One stock piece with the legs it serves.
#[derive(Debug, Clone)]
pub(super) struct Supply {
    /// Length it can give beyond the least piece of each leg it serves.
    pub spare: i64,
    /// Whether all of it must be given.
    pub all: bool,
    /// Legs it serves, as indices.
    pub legs: Vec<usize>,
}

/// What each supply gives each of its legs beyond the least piece, so that every demand is met exactly and
/// every supply marked `all` is used up; `None` when that is impossible.
pub(super) fn ship(supplies: &[Supply], demand: &[i64]) -> Option<Vec<Vec<i64>>> {
    if demand.iter().any(|&d| d < 0) || supplies.iter().any(|s| s.spare < 0) {
        return None;
    }
    let mut flow: Vec<Vec<i64>> = supplies.iter().map(|s| vec![0; s.legs.len()]).collect();
    let mut open = demand.to_vec();
    let must = supplies.iter().enumerate().filter(|(_, s)| s.all);
    let may = supplies.iter().enumerate().filter(|(_, s)| !s.all);
    for (start, supply) in must.chain(may) {
        let mut left = supply.spare;
        while left > 0 {
            match augment(supplies, &mut flow, &mut open, start, left) {
                Some(sent) => left -= sent,
                None if supply.all => return None,
                None => break,
            }
        }
    }
    open.iter().all(|&d| d == 0).then_some(flow)
}

/// Sends as much as one path from `start` takes; returns the amount.
fn augment(
    supplies: &[Supply],
    flow: &mut [Vec<i64>],
    open: &mut [i64],
    start: usize,
    left: i64,
) -> Option<i64> {
    // breadth first over legs; `via[leg]` is (supply, edge) it was reached by, `back[supply]` the leg and
    // edge undone
    let mut via: Vec<Option<(usize, usize)>> = vec![None; open.len()];
    let mut back: Vec<Option<(usize, usize)>> = vec![None; supplies.len()];
    let mut seen = vec![false; supplies.len()];
    let mut queue = std::collections::VecDeque::from([start]);
    *seen.get_mut(start)? = true;
    let mut goal = None;
    'search: while let Some(s) = queue.pop_front() {
        for (e, &leg) in supplies.get(s)?.legs.iter().enumerate() {
            if via.get(leg)?.is_some() {
                continue;
            }
            *via.get_mut(leg)? = Some((s, e));
            if *open.get(leg)? > 0 {
                goal = Some(leg);
                break 'search;
            }
            for (other, supply) in supplies.iter().enumerate() {
                if *seen.get(other)? {
                    continue;
                }
                let undo = supply.legs.iter().position(|&l| l == leg);
                if let Some(edge) = undo
                    && *flow.get(other)?.get(edge)? > 0
                {
                    *seen.get_mut(other)? = true;
                    *back.get_mut(other)? = Some((leg, edge));
                    queue.push_back(other);
                }
            }
        }
    }
    let goal = goal?;
    let mut amount = left.min(*open.get(goal)?);
    let mut leg = goal;
    while let Some((s, _)) = *via.get(leg)? {
        let Some((from, edge)) = *back.get(s)? else { break };
        amount = amount.min(*flow.get(s)?.get(edge)?);
        leg = from;
    }
    leg = goal;
    while let Some((s, e)) = *via.get(leg)? {
        *flow.get_mut(s)?.get_mut(e)? += amount;
        let Some((from, edge)) = *back.get(s)? else { break };
        *flow.get_mut(s)?.get_mut(edge)? -= amount;
        leg = from;
    }
    *open.get_mut(goal)? -= amount;
    Some(amount)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reroutes_to_meet_every_demand() {
        let supplies = [
            Supply { spare: 5, all: true, legs: vec![0, 1] },
            Supply { spare: 5, all: false, legs: vec![0] },
        ];
        let flow = ship(&supplies, &[4, 3]);
        assert_eq!(flow, Some(vec![vec![2, 3], vec![2]]));
    }

    #[test]
    fn refuses_what_cannot_be_used_up() {
        let supplies = [Supply { spare: 5, all: true, legs: vec![0] }];
        assert_eq!(ship(&supplies, &[4]), None);
        assert_eq!(ship(&supplies, &[6]), None);
    }
}
