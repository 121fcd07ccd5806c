//! Early and late dates of random networks against the longest paths of a graph library.

use jiff::civil::date;
use petgraph::{
    algo::bellman_ford,
    graph::{DiGraph, NodeIndex},
};
use proptest::prelude::*;
use rillcast::compute::plan::{Lag, PlanRequest, Task, result::Stamp, schedule};

use crate::common::{every_day, request, task, work};

#[derive(Debug, Clone)]
struct Net {
    /// Quarter hours.
    lengths: Vec<u32>,
    /// From, to (a later one), lag in hours.
    links: Vec<(usize, usize, u32)>,
}

fn nets() -> impl Strategy<Value = Net> {
    (2..25_usize).prop_flat_map(|n| {
        let lengths = prop::collection::vec(1..200_u32, n);
        let links =
            prop::collection::vec((0..n, 0..n, prop_oneof![3 => Just(0_u32), 1 => 1..30_u32]), 0..3 * n);
        (lengths, links).prop_map(|(lengths, links)| {
            let forward = links.into_iter().filter(|(a, b, _)| a != b);
            Net { lengths, links: forward.map(|(a, b, lag)| (a.min(b), a.max(b), lag)).collect() }
        })
    })
}

/// The tasks in an order shuffled by name, so that the order of the list is not the order of the work.
fn plan_of(net: &Net) -> PlanRequest {
    let name = |i: usize| task(&format!("t{i}"));
    let mut tasks: Vec<Task> = (0..net.lengths.len())
        .map(|i| {
            let mut made = work(&format!("t{i}"), f64::from(net.lengths[i]) / 4.0);
            for (from, _, lag) in net.links.iter().filter(|(_, to, _)| *to == i) {
                let lag = if *lag == 0 { Lag::None } else { Lag::WorkingHours(f64::from(*lag)) };
                made = made.after_lag(&name(*from), lag);
            }
            made
        })
        .collect();
    tasks.sort_by_key(|t| t.id.as_str().bytes().rev().collect::<Vec<_>>());
    request(every_day(), date(2026, 1, 5), tasks)
}

/// Longest path in minutes from a source to each node, the node's own length left out, by Bellman and Ford on
/// negative weights.
fn longest(lengths: &[f64], links: &[(usize, usize, f64)]) -> Vec<f64> {
    let mut graph: DiGraph<(), f64> = DiGraph::new();
    let nodes: Vec<NodeIndex> = lengths.iter().map(|_| graph.add_node(())).collect();
    let source = graph.add_node(());
    for node in &nodes {
        graph.add_edge(source, *node, 0.0);
    }
    for (from, to, lag) in links {
        graph.add_edge(nodes[*from], nodes[*to], -(lengths[*from] + lag));
    }
    let paths = bellman_ford(&graph, source).unwrap();
    nodes.iter().map(|n| -paths.distances[n.index()]).collect()
}

fn minutes(stamp: Stamp) -> f64 {
    f64::from((stamp.date - date(2026, 1, 5)).get_days()) * 480.0 + f64::from(stamp.into_day.minutes())
}

proptest! {
    #[test]
    fn dates_and_floats_are_those_of_the_longest_paths(net in nets()) {
        let plan = schedule(&plan_of(&net)).unwrap();
        let lengths: Vec<f64> = net.lengths.iter().map(|l| f64::from(*l) * 15.0).collect();
        let links: Vec<_> = net.links.iter().map(|(a, b, lag)| (*a, *b, f64::from(*lag) * 60.0)).collect();
        let head = longest(&lengths, &links);
        // from the other end, a node's tail leaves its own length out as well
        let back: Vec<_> = links.iter().map(|(a, b, lag)| (*b, *a, *lag)).collect();
        let tail = longest(&lengths, &back);
        let finish = (0..lengths.len()).map(|i| head[i] + lengths[i]).fold(0.0, f64::max);
        prop_assert_eq!(f64::from(plan.length.minutes()), finish);
        for i in 0..lengths.len() {
            let t = plan.task(&task(&format!("t{i}"))).unwrap();
            let late_start = finish - tail[i] - lengths[i];
            prop_assert_eq!(minutes(t.early.start), head[i]);
            prop_assert_eq!(minutes(t.early.finish), head[i] + lengths[i]);
            prop_assert_eq!(minutes(t.late.start), late_start);
            prop_assert_eq!(minutes(t.late.finish), late_start + lengths[i]);
            prop_assert_eq!(f64::from(t.total_float.minutes()), late_start - head[i]);
            prop_assert_eq!(t.critical, late_start == head[i]);
            let follows = links.iter().filter(|(a, ..)| *a == i);
            let free = follows.map(|(_, b, lag)| head[*b] - lag).fold(finish, f64::min) - head[i] - lengths[i];
            prop_assert_eq!(f64::from(t.free_float.minutes()), free);
            // enough people: the levelled plan is the early one
            prop_assert_eq!(t.planned, t.early);
        }
        prop_assert_eq!(plan.critical_path.is_empty(), false);
    }
}
