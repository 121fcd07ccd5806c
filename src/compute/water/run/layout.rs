//! A run cut where anything changes: nodes with what joins there, cells between them.

use super::branch::{Branch, Wall};
use super::input::RunInput;
use super::joint::Joint;

/// A station where legs, inflow or outlets begin or end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Node {
    pub(super) x: f64,
    /// Bed level above the bed at the start, m.
    pub(super) bed: f64,
    /// Depth from the grate's underside to the bed, m.
    pub(super) channel_depth: f64,
    pub(super) inflow: f64,
    pub(super) corner_loss: f64,
}

/// A stretch between nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    /// Fall towards the finish.
    pub(super) slope: f64,
    pub(super) lateral: f64,
}

/// Nodes and the cells between them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub(super) nodes: Vec<Node>,
    pub(super) cells: Vec<Cell>,
    /// Node of each outlet, in order.
    pub(super) outlets: Vec<usize>,
}

/// Where the flow parts to two outlets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Place {
    /// Inside a cell.
    Inside { cell: usize, x: f64 },
    /// At a node, whose point inflow may part too.
    At { node: usize, to_left: f64, to_right: f64 },
}

/// Stations closer than this are one, m.
const SAME_STATION_M: f64 = 1e-9;

impl Layout {
    /// Cuts a checked description.
    pub(super) fn new(input: &RunInput) -> Self {
        let length = input.length_m();
        let mut stations = vec![0.0];
        let mut along = 0.0;
        for leg in &input.legs {
            along += leg.length_m;
            stations.push(along);
        }
        let ends = stations.clone();
        stations.extend(input.lateral.iter().flat_map(|l| [l.from_m, l.to_m]));
        stations.extend(input.points.iter().map(|p| p.station_m));
        stations.extend(input.outlets.iter().map(|o| o.station_m));
        stations.iter_mut().for_each(|x| *x = x.clamp(0.0, length));
        stations.sort_by(f64::total_cmp);
        // Of stations that count as one, keep the one a leg ends at.
        let mut kept: Vec<f64> = Vec::with_capacity(stations.len());
        for x in stations {
            let x = ends.iter().copied().find(|end| (end - x).abs() <= SAME_STATION_M).unwrap_or(x);
            if kept.last().is_none_or(|last| x - last > SAME_STATION_M) {
                kept.push(x);
            }
        }
        let mut layout = Self { nodes: Vec::new(), cells: Vec::new(), outlets: Vec::new() };
        let mut bed = 0.0;
        let mut legs = input.legs.iter().zip(&ends).peekable();
        for (i, &x) in kept.iter().enumerate() {
            while legs.peek().is_some_and(|(leg, start)| x > *start + leg.length_m + SAME_STATION_M) {
                legs.next();
            }
            let Some((leg, leg_start)) = legs.peek() else {
                break;
            };
            if let Some(&before) = i.checked_sub(1).and_then(|i| kept.get(i)) {
                let middle = 0.5 * (before + x);
                let lateral = input
                    .lateral
                    .iter()
                    .filter(|l| l.from_m < middle && middle < l.to_m)
                    .map(|l| l.flow_m2_per_s)
                    .sum();
                let slope = leg.bed_slope();
                layout.cells.push(Cell { slope, lateral });
                bed -= slope * (x - before);
            }
            let share = ((x - **leg_start) / leg.length_m).clamp(0.0, 1.0);
            let at_end = (x - **leg_start - leg.length_m).abs() <= SAME_STATION_M;
            let near = |station: f64| (station.clamp(0.0, length) - x).abs() <= SAME_STATION_M;
            layout.nodes.push(Node {
                x,
                bed,
                channel_depth: leg.depth_start_m + share * (leg.depth_end_m - leg.depth_start_m),
                inflow: input.points.iter().filter(|p| near(p.station_m)).map(|p| p.flow_m3_per_s).sum(),
                corner_loss: if at_end { leg.corner_loss_at_end } else { 0.0 },
            });
            if input.outlets.iter().any(|o| near(o.station_m)) {
                layout.outlets.push(i);
            }
        }
        layout
    }

    pub(super) fn node(&self, index: usize) -> Node {
        // The fallback is never reached: indices come from this layout.
        self.nodes.get(index).copied().unwrap_or(Node {
            x: 0.0,
            bed: 0.0,
            channel_depth: 0.0,
            inflow: 0.0,
            corner_loss: 0.0,
        })
    }

    pub(super) fn last_node(&self) -> usize {
        self.nodes.len().saturating_sub(1)
    }

    fn cell_length(&self, cell: usize) -> f64 {
        self.node(cell + 1).x - self.node(cell).x
    }

    /// Inflow of a cell, m³/s.
    fn cell_inflow(&self, cell: usize) -> f64 {
        self.cells.get(cell).map_or(0.0, |c| c.lateral * self.cell_length(cell))
    }

    /// Inflow along the run, without what enters at its ends along the channel, m³/s.
    pub(super) fn total_inflow(&self) -> f64 {
        (0..self.cells.len()).map(|cell| self.cell_inflow(cell)).sum::<f64>()
            + self.nodes.iter().map(|node| node.inflow).sum::<f64>()
    }

    /// Depth of the channel at a station, m.
    pub(super) fn channel_depth_at(&self, x: f64) -> f64 {
        let cell = self.nodes.partition_point(|node| node.x < x).clamp(1, self.last_node().max(1)) - 1;
        let (a, b) = (self.node(cell), self.node(cell + 1));
        let share = if b.x > a.x { ((x - a.x) / (b.x - a.x)).clamp(0.0, 1.0) } else { 0.0 };
        a.channel_depth + share * (b.channel_depth - a.channel_depth)
    }

    /// Inflow strictly between two nodes, m³/s.
    pub(super) fn inflow_between(&self, from: usize, to: usize) -> f64 {
        self.shares(from, to).map(|(_, amount)| amount).sum()
    }

    /// Cells and inner nodes between two nodes in order, with their inflow.
    fn shares(&self, from: usize, to: usize) -> impl Iterator<Item = (Share, f64)> + '_ {
        (from..to).flat_map(move |cell| {
            let node = cell + 1;
            let inner = (node < to).then(|| (Share::Node(node), self.node(node).inflow));
            std::iter::once((Share::Cell(cell), self.cell_inflow(cell))).chain(inner)
        })
    }

    /// Sums of inflow at which a stretch without inflow lies between two nodes: there the place of a divide is
    /// not fixed by the flow.
    pub(super) fn gaps_between(&self, from: usize, to: usize) -> Vec<f64> {
        let mut sum = 0.0;
        let mut gaps: Vec<f64> = Vec::new();
        for (share, amount) in self.shares(from, to) {
            if amount > 0.0 {
                sum += amount;
            } else if matches!(share, Share::Cell(_)) && gaps.last() != Some(&sum) {
                gaps.push(sum);
            }
        }
        gaps
    }

    /// Where the inflow counted from one node towards another has reached a sum. In a stretch without inflow it is
    /// the highest bed there: the ridge.
    pub(super) fn place_of(&self, from: usize, to: usize, sum: f64) -> Place {
        let mut before = 0.0;
        let mut ridge: Option<usize> = None;
        let mut higher = |node: usize| match ridge {
            Some(best) if self.node(best).bed >= self.node(node).bed => {}
            _ => ridge = Some(node),
        };
        if sum <= 0.0 {
            higher(from);
        }
        let mut finished_left = 0.0;
        let mut finished_at = None;
        for (share, amount) in self.shares(from, to) {
            let after = before + amount;
            match share {
                Share::Cell(cell) => {
                    if amount > 0.0 {
                        if sum < after && sum > before {
                            let x = self.node(cell).x + (sum - before) / amount * self.cell_length(cell);
                            return Place::Inside { cell, x };
                        }
                        if before >= sum {
                            break;
                        }
                    }
                    if after >= sum {
                        higher(cell + 1);
                    }
                }
                Share::Node(node) => {
                    if amount > 0.0 {
                        if sum < after && sum > before {
                            return Place::At { node, to_left: sum - before, to_right: after - sum };
                        }
                        if before >= sum {
                            break;
                        }
                        // All of it goes left when the sum is reached here.
                        if after >= sum {
                            higher(node);
                            finished_left = amount;
                            finished_at = Some(node);
                        }
                    }
                }
            }
            before = after;
        }
        let node = ridge.unwrap_or(to);
        let inflow = self.node(node).inflow;
        let inner = node > from && node < to;
        if finished_at == Some(node) {
            Place::At { node, to_left: finished_left, to_right: 0.0 }
        } else {
            Place::At { node, to_left: 0.0, to_right: if inner { inflow } else { 0.0 } }
        }
    }

    pub(super) fn station_of(&self, place: Place) -> f64 {
        match place {
            Place::Inside { x, .. } => x,
            Place::At { node, .. } => self.node(node).x,
        }
    }

    /// The branch that drains from a place towards the finish, to an outlet's node.
    pub(super) fn rightward(&self, upper: Place, to: usize, carried: f64) -> Branch {
        let mut branch = Branch::new(self.station_of(upper), 1.0, carried);
        let (first, mut joint) = match upper {
            Place::Inside { cell, .. } => (cell, Joint::default()),
            Place::At { node, to_right, .. } => (node, Joint { inflow: to_right, corner_loss: 0.0 }),
        };
        let mut x = branch.origin_m;
        for cell in first..to {
            let (Some(at), end) = (self.cells.get(cell), self.node(cell + 1)) else {
                break;
            };
            branch.push(end.x - x, at.slope, at.lateral, joint, self.wall(x, end.x, cell));
            joint = Joint { inflow: end.inflow, corner_loss: end.corner_loss };
            x = end.x;
        }
        branch
    }

    /// The branch that drains from a place towards the start, to an outlet's node.
    pub(super) fn leftward(&self, upper: Place, to: usize, carried: f64) -> Branch {
        let mut branch = Branch::new(self.station_of(upper), -1.0, carried);
        let (first, mut joint) = match upper {
            Place::Inside { cell, .. } => (cell + 1, Joint::default()),
            Place::At { node, to_left, .. } => (node, Joint { inflow: to_left, corner_loss: 0.0 }),
        };
        let mut x = branch.origin_m;
        for cell in (to..first).rev() {
            let (Some(at), end) = (self.cells.get(cell), self.node(cell)) else {
                break;
            };
            branch.push(x - end.x, -at.slope, at.lateral, joint, self.wall(x, end.x, cell));
            joint = Joint { inflow: end.inflow, corner_loss: end.corner_loss };
            x = end.x;
        }
        branch
    }

    fn wall(&self, from: f64, to: f64, cell: usize) -> Wall {
        let (a, b) = (self.node(cell), self.node(cell + 1));
        let at = |x: f64| {
            let share = ((x - a.x) / (b.x - a.x)).clamp(0.0, 1.0);
            (a.bed + share * (b.bed - a.bed), a.channel_depth + share * (b.channel_depth - a.channel_depth))
        };
        let ((bed_start, depth_start), (bed_end, depth_end)) = (at(from), at(to));
        Wall { bed_start, bed_end, depth_start, depth_end, station: from }
    }
}

#[derive(Debug, Clone, Copy)]
enum Share {
    Cell(usize),
    Node(usize),
}
