//! Waits that nobody reported while the work after them went on, and waits whose end nobody reported.

use super::{
    network::{Gap, Kind, Lines, Network, Node, Predecessor},
    request::{PlanRequest, Progress, Task, TaskKind, Wait},
};
use crate::compute::calendar::Moment;

/// Settles what reports leave open. Ground that is still to be broken waits for the marks themselves, also where the task
/// between was done before its turn. A wait that all its followers have left behind holds nothing any more: it stands on the
/// day on which the first of them began, and not after them. A wait that somebody must end and report holds on through the
/// status date.
pub(super) fn settle(request: &PlanRequest, network: &mut Network, lines: &mut Lines<'_>) {
    for (index, task) in request.tasks.iter().enumerate() {
        let TaskKind::Wait(wait) = &task.kind else { continue };
        // Concrete cures and sets whether or not anybody reports it.
        let all_before_done = network.nodes.get(index).is_some_and(|node| {
            node.predecessors.iter().all(|p| request.tasks.get(p.node).is_some_and(is_finished))
        });
        let by_itself = matches!(wait, Wait::Cure(_)) || wait.passes_by_itself() && all_before_done;
        if by_itself || is_finished(task) {
            continue;
        }
        let followers: Vec<&Task> = network
            .nodes
            .get(index)
            .into_iter()
            .flat_map(|n| &n.successors)
            .filter_map(|i| request.tasks.get(*i))
            .collect();
        let first = followers.iter().filter_map(|t| begun(t)).min();
        let done = first.filter(|_| followers.iter().all(|t| is_finished(t)));
        let digging = match wait {
            Wait::Marks(_) if first.is_some() => digging_after(request, network, index),
            _ => Vec::new(),
        };
        for &dig in &digging {
            link(network, index, dig);
        }
        let done = done.filter(|_| digging.is_empty());
        let Some(node) = network.nodes.get_mut(index) else { continue };
        match (done, task.progress) {
            (Some(first), Progress::NotStarted) => {
                let on = Moment::start_of_day(lines.crew.day_of(first));
                (node.kind, node.overtaken) = (Kind::Fixed { start: on, finish: on }, true);
            }
            (None, Progress::Started { .. }) if !wait.passes_by_itself() => {
                let status = request.status_date.map(|d| lines.crew.day_of(d));
                go_on(node, status);
            }
            _ => {}
        }
    }
}

/// Lets a wait under way whose days are over hold on through the status date: nobody has said that it has ended.
fn go_on(node: &mut Node, status: Option<i64>) {
    if let (&Kind::Fixed { start, finish }, Some(status)) = (&node.kind, status)
        && finish <= Moment::start_of_day(status)
    {
        node.due = Some(finish);
        node.kind = Kind::Fixed { start, finish: Moment::end_of_day(status) };
    }
}

fn is_finished(task: &Task) -> bool {
    matches!(task.progress, Progress::Finished { .. })
}

fn begun(task: &Task) -> Option<jiff::civil::Date> {
    match task.progress {
        Progress::NotStarted => None,
        Progress::Started { on, .. } => Some(on),
        Progress::Finished { start, .. } => Some(start),
    }
}

/// Work after a node that breaks ground and has not begun.
fn digging_after(request: &PlanRequest, network: &Network, from: usize) -> Vec<usize> {
    let mut after = vec![false; network.nodes.len()];
    let mut out = Vec::new();
    for &index in &network.order {
        let follows = network.nodes.get(index).is_some_and(|node| {
            node.predecessors.iter().any(|p| p.node == from || after.get(p.node) == Some(&true))
        });
        let (Some(flag), Some(task)) = (after.get_mut(index), request.tasks.get(index)) else { continue };
        *flag = follows;
        let waiting = task.progress == Progress::NotStarted;
        if follows && waiting && matches!(&task.kind, TaskKind::Work(work) if work.breaks_ground) {
            out.push(index);
        }
    }
    out
}

/// Lets `after` wait for `before`, which comes before it already by other tasks.
fn link(network: &mut Network, before: usize, after: usize) {
    let Some(node) = network.nodes.get_mut(after) else { return };
    if node.predecessors.iter().any(|p| p.node == before) {
        return;
    }
    node.predecessors.push(Predecessor { node: before, gap: Gap::None });
    if let Some(node) = network.nodes.get_mut(before) {
        node.successors.push(after);
        node.successors.sort_unstable();
    }
}
