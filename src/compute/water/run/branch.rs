//! The part of a run that drains one way to one outlet, from its closed end (or divide) down to the outlet.

use super::error::RunError;
use super::joint::Joint;
use super::terms::Reach;

/// Where a reach lies in the run: bed level and channel depth at both its ends, m; straight between.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Wall {
    pub(super) bed_start: f64,
    pub(super) bed_end: f64,
    pub(super) depth_start: f64,
    pub(super) depth_end: f64,
    /// Station of the run at the reach's start, m.
    pub(super) station: f64,
}

/// Reaches in the direction of the flow.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Branch {
    pub(super) reaches: Vec<Reach>,
    /// `joints[k]` stands just upstream of `reaches[k]`; the first is what joins at the upper end.
    pub(super) joints: Vec<Joint>,
    pub(super) walls: Vec<Wall>,
    /// Flow that enters at the upper end along the channel, m³/s.
    pub(super) carried: f64,
    /// Station of the run at the upper end, m.
    pub(super) origin_m: f64,
    /// +1 when the branch flows towards the run's finish, -1 towards its start.
    pub(super) direction: f64,
}

impl Branch {
    pub(super) fn new(origin_m: f64, direction: f64, carried: f64) -> Self {
        Self { reaches: Vec::new(), joints: Vec::new(), walls: Vec::new(), carried, origin_m, direction }
    }

    /// Adds the next reach downstream.
    pub(super) fn push(&mut self, length: f64, slope: f64, lateral: f64, joint: Joint, wall: Wall) {
        let above = self.reaches.last().map_or(self.carried, Reach::end_flow);
        let flow = above + joint.inflow;
        self.reaches.push(Reach { length_m: length, slope, lateral, flow });
        self.joints.push(joint);
        self.walls.push(wall);
    }

    /// Flow that reaches the outlet, m³/s.
    pub(super) fn outflow(&self) -> f64 {
        self.reaches.last().map_or(self.carried, Reach::end_flow)
    }

    /// Flow just upstream of a reach's joint, m³/s.
    pub(super) fn flow_above(&self, index: usize) -> f64 {
        index.checked_sub(1).and_then(|above| self.reaches.get(above)).map_or(self.carried, Reach::end_flow)
    }

    /// Bed level and channel depth at a station of a reach, m.
    pub(super) fn bed_and_depth(&self, reach: usize, x: f64) -> (f64, f64) {
        let (Some(wall), Some(at)) = (self.walls.get(reach), self.reaches.get(reach)) else {
            return (0.0, 0.0);
        };
        let length = at.length_m;
        let share = if length > 0.0 { (x / length).clamp(0.0, 1.0) } else { 0.0 };
        (
            wall.bed_start + share * (wall.bed_end - wall.bed_start),
            wall.depth_start + share * (wall.depth_end - wall.depth_start),
        )
    }

    /// How fast the channel deepens along a reach, m/m.
    pub(super) fn deepening(&self, reach: usize) -> f64 {
        let (Some(wall), Some(at)) = (self.walls.get(reach), self.reaches.get(reach)) else {
            return 0.0;
        };
        if at.length_m > 0.0 { (wall.depth_end - wall.depth_start) / at.length_m } else { 0.0 }
    }

    /// Station of the run at a station of a reach, m.
    pub(super) fn run_station(&self, reach: usize, x: f64) -> f64 {
        self.walls.get(reach).map_or(self.origin_m, |wall| wall.station) + self.direction * x
    }

    /// Station of a reach at a station of the run, m.
    pub(super) fn reach_station(&self, reach: usize, station: f64) -> f64 {
        (station - self.run_station(reach, 0.0)) * self.direction
    }

    /// Gives a failure inside a reach its station along the run.
    pub(super) fn placed(&self, error: RunError, reach: usize) -> RunError {
        match error {
            RunError::StepBudget { station_m, steps } => {
                RunError::StepBudget { station_m: self.run_station(reach, station_m), steps }
            }
            RunError::NoContinuation { station_m, what } => {
                RunError::NoContinuation { station_m: self.run_station(reach, station_m), what }
            }
            other => other,
        }
    }
}
