//! The simple cut list: fewest stock lengths leg by leg, the last piece cut, offcuts serving later pieces.

use crate::units::Length;

/// A stock length on offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stock {
    /// Position in the list of stock lengths.
    pub index: usize,
    /// Length of one.
    pub length: Length,
}

/// What limits cutting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rules {
    /// Width of a saw cut.
    pub kerf: Length,
    /// Shortest piece that may be made.
    pub least_piece: Length,
    /// Gap between pieces laid end to end.
    pub gap: Length,
}

/// One piece of a leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// Which demand it belongs to.
    pub demand: usize,
    /// Length.
    pub length: Length,
    /// Stock length it is cut from; an offcut names the stock it came from.
    pub stock: usize,
    /// Whether a cut is made for it.
    pub cut: bool,
    /// Whether it comes from an earlier offcut.
    pub from_offcut: bool,
}

/// A simple cut list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Cutting {
    /// Pieces in the order of the demands.
    pub pieces: Vec<Piece>,
    /// How many of each stock length are opened, by index.
    pub opened: Vec<i64>,
    /// Cuts made.
    pub cuts: i64,
    /// Joints between pieces of one demand.
    pub joints: i64,
    /// What is left over, longest first.
    pub offcuts: Vec<Length>,
    /// Demands no stock can make: too short for the least piece.
    pub impossible: Vec<usize>,
}

/// Covers each demand with the fewest stock lengths.
///
/// # Formula
/// `n` pieces with gap `g` cover `sum of pieces + (n - 1) g`. Full lengths of the longest stock are laid until the rest
/// is shorter; the rest comes from the shortest offcut or stock that is long enough. A rest below the least piece takes
/// the difference from the pieces before it, as far as they stay above the least piece; they are then cut as well.
/// # Units
/// exact lengths
/// # Valid for
/// at least one stock length not shorter than the least piece; a demand that no pieces of the least length and more
/// can make up is reported
/// # Source
/// common practice, no source
/// # Example
/// ```
/// use rillcast::compute::takeoff::stock::{Rules, Stock, simple};
/// use rillcast::units::Length;
/// let stock = [Stock { index: 0, length: Length::feet(4) }];
/// let rules = Rules { kerf: Length::inches(1, 8), least_piece: Length::feet(1), gap: Length::ZERO };
/// let plan = simple(&[Length::feet(10), Length::inches(18, 1)], &stock, rules);
/// assert_eq!((plan.opened[0], plan.joints, plan.cuts), (3, 2, 2)); // 4 + 4 + 2; the offcut gives the 18 in
/// ```
pub fn simple(demands: &[Length], stock: &[Stock], rules: Rules) -> Cutting {
    let mut plan = Cutting { opened: vec![0; stock.len()], ..Cutting::default() };
    let Some(longest) = stock.iter().max_by_key(|s| (s.length, std::cmp::Reverse(s.index))).copied() else {
        plan.impossible = (0..demands.len()).collect();
        return plan;
    };
    let mut offcuts: Vec<(Length, usize)> = Vec::new();
    for (d, demand) in demands.iter().enumerate() {
        if *demand < rules.least_piece && *demand != longest.length {
            plan.impossible.push(d);
            continue;
        }
        let mut lengths: Vec<Length> = Vec::new();
        let mut rest = *demand;
        while rest > longest.length {
            lengths.push(longest.length);
            rest = rest - longest.length - rules.gap;
        }
        // A rest of nothing, or of less than one gap, is the gap at the end of the leg.
        if rest.is_positive() {
            lengths.push(rest);
        }
        if !lend(&mut lengths, rules.least_piece) {
            plan.impossible.push(d);
            continue;
        }
        plan.joints += lengths.len() as i64 - 1;
        for length in lengths {
            take(length, d, stock, rules, &mut offcuts, &mut plan);
        }
    }
    plan.offcuts = offcuts.into_iter().map(|(l, _)| l).filter(|l| l.is_positive()).collect();
    plan.offcuts.sort_by(|a, b| b.cmp(a));
    plan
}

/// Brings the last piece up to the least piece at the cost of those before it; false when they have too little to lend.
fn lend(lengths: &mut [Length], least: Length) -> bool {
    let Some((last, before)) = lengths.split_last_mut() else { return true };
    if before.is_empty() || *last >= least {
        return true;
    }
    let mut missing = least - *last;
    *last = least;
    for piece in before.iter_mut().rev() {
        let lent = missing.min((*piece - least).max(Length::ZERO));
        *piece = *piece - lent;
        missing = missing - lent;
    }
    !missing.is_positive()
}

fn take(
    length: Length,
    demand: usize,
    stock: &[Stock],
    rules: Rules,
    offcuts: &mut Vec<(Length, usize)>,
    plan: &mut Cutting,
) {
    let fits = |have: Length| have == length || have >= length + rules.kerf;
    let best = offcuts
        .iter()
        .enumerate()
        .filter(|(_, (have, _))| fits(*have))
        .min_by_key(|(i, (have, _))| (*have, *i));
    if let Some((i, _)) = best {
        let (have, from) = offcuts.swap_remove(i);
        cut(have, from, length, demand, true, rules, offcuts, plan);
        return;
    }
    let from = stock.iter().filter(|s| fits(s.length)).min_by_key(|s| (s.length, s.index)).or_else(|| {
        // A piece longer than stock less kerf but shorter than stock: the cut takes the sliver.
        stock.iter().filter(|s| s.length >= length).min_by_key(|s| (s.length, s.index))
    });
    if let Some(from) = from {
        if let Some(opened) = plan.opened.get_mut(from.index) {
            *opened += 1;
        }
        cut(from.length, from.index, length, demand, false, rules, offcuts, plan);
    }
}

#[expect(
    clippy::too_many_arguments,
    reason = "one step of the plan, named arguments read better than a struct"
)]
fn cut(
    have: Length,
    from: usize,
    length: Length,
    demand: usize,
    from_offcut: bool,
    rules: Rules,
    offcuts: &mut Vec<(Length, usize)>,
    plan: &mut Cutting,
) {
    let is_cut = have != length;
    plan.cuts += i64::from(is_cut);
    plan.pieces.push(Piece { demand, length, stock: from, cut: is_cut, from_offcut });
    if is_cut {
        offcuts.push((have - length - rules.kerf, from));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ft(feet: i64) -> Length {
        Length::feet(feet)
    }

    #[test]
    fn a_rest_below_the_least_piece_borrows_from_the_piece_before() {
        let stock = [Stock { index: 0, length: ft(4) }];
        let rules = Rules { kerf: Length::ZERO, least_piece: ft(1), gap: Length::ZERO };
        let plan = simple(&[ft(8) + Length::inches(6, 1)], &stock, rules);
        let pieces: Vec<Length> = plan.pieces.iter().map(|p| p.length).collect();
        assert_eq!(pieces, [ft(4), ft(4) - Length::inches(6, 1), ft(1)]);
        assert_eq!(pieces.iter().copied().sum::<Length>(), ft(8) + Length::inches(6, 1));
    }

    #[test]
    fn lending_never_makes_a_piece_too_short() {
        let stock = [Stock { index: 0, length: ft(4) }];
        let rules = Rules { kerf: Length::ZERO, least_piece: ft(3), gap: Length::ZERO };
        // 5 ft: one piece is too short, two of 3 ft are too long.
        assert_eq!(simple(&[ft(5)], &stock, rules).impossible, [0]);
        let pieces: Vec<Length> = simple(&[ft(9)], &stock, rules).pieces.iter().map(|p| p.length).collect();
        assert_eq!(pieces, [ft(3), ft(3), ft(3)]);
    }

    #[test]
    fn grates_with_a_gap_cover_the_leg() {
        // n grates of length G with gap g cover n G + (n - 1) g.
        let stock = [Stock { index: 0, length: ft(2) }];
        let gap = Length::inches(1, 8);
        let rules = Rules { kerf: Length::ZERO, least_piece: Length::ZERO, gap };
        for demand in [ft(7), ft(6) + gap * 2, ft(6) + gap * 2 + gap, ft(2), ft(11) + Length::inches(1, 16)] {
            let plan = simple(&[demand], &stock, rules);
            let covered =
                plan.pieces.iter().map(|p| p.length).sum::<Length>() + gap * (plan.pieces.len() as i64 - 1);
            assert!(covered <= demand && demand - covered <= gap, "{demand:?}");
            assert!(plan.pieces.iter().all(|p| p.length <= ft(2)));
        }
    }

    #[test]
    fn a_demand_below_the_least_piece_is_reported() {
        let stock = [Stock { index: 0, length: ft(4) }];
        let rules = Rules { kerf: Length::ZERO, least_piece: ft(1), gap: Length::ZERO };
        assert_eq!(simple(&[Length::inches(6, 1)], &stock, rules).impossible, [0]);
    }
}
