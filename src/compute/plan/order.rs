//! Predecessors first, or the circle that forbids it.

use std::collections::BTreeSet;

use super::network::Node;

/// Fills in successors and puts predecessors first; or returns a circle, its first node repeated at the end.
pub(super) fn sort(nodes: &mut [Node]) -> Result<Vec<usize>, Vec<usize>> {
    let mut successors: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); nodes.len()];
    for (index, node) in nodes.iter().enumerate() {
        for link in &node.predecessors {
            if let Some(set) = successors.get_mut(link.node) {
                set.insert(index);
            }
        }
    }
    let distinct = |node: &Node| node.predecessors.iter().map(|p| p.node).collect::<BTreeSet<_>>().len();
    let mut open: Vec<usize> = nodes.iter().map(distinct).collect();
    let mut ready: BTreeSet<usize> = (0..nodes.len()).filter(|i| open.get(*i) == Some(&0)).collect();
    let mut order = Vec::with_capacity(nodes.len());
    while let Some(index) = ready.pop_first() {
        order.push(index);
        for &next in successors.get(index).into_iter().flatten() {
            if let Some(left) = open.get_mut(next) {
                *left -= 1;
                if *left == 0 {
                    ready.insert(next);
                }
            }
        }
    }
    for (node, set) in nodes.iter_mut().zip(successors) {
        node.successors = set.into_iter().collect();
    }
    if order.len() == nodes.len() { Ok(order) } else { Err(circle(nodes, &open)) }
}

/// Every node that is still open has an open predecessor: walking back must meet a node twice.
fn circle(nodes: &[Node], open: &[usize]) -> Vec<usize> {
    let is_open = |i: &usize| open.get(*i).is_some_and(|left| *left > 0);
    let mut path: Vec<usize> = (0..nodes.len()).find(is_open).into_iter().collect();
    while let Some(last) = path.last().and_then(|i| nodes.get(*i)) {
        let Some(before) = last.predecessors.iter().map(|p| p.node).find(is_open) else {
            break;
        };
        if let Some(at) = path.iter().position(|i| *i == before) {
            let mut circle = path.split_off(at);
            circle.push(before);
            circle.reverse();
            return circle;
        }
        path.push(before);
    }
    path
}
