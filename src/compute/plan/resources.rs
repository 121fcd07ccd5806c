//! Crews and machines as numbered resources, and who can man a task.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    error::PlanError,
    ids::{CrewId, MachineId, TaskId, TradeId},
    network::Manning,
    request::{Crew, PlanRequest, Work},
};

/// People and machines as numbered resources.
pub(super) struct Resources<'a> {
    request: &'a PlanRequest,
    pub(super) limits: Vec<u32>,
    trades: BTreeMap<(&'a CrewId, &'a TradeId), usize>,
    machines: BTreeMap<&'a str, usize>,
}

impl<'a> Resources<'a> {
    pub(super) fn of(request: &'a PlanRequest, faults: &mut Vec<PlanError>) -> Self {
        let mut limits = Vec::new();
        let mut trades = BTreeMap::new();
        let mut seen = BTreeSet::new();
        for (at, crew) in request.crews.iter().enumerate() {
            if !seen.insert(&crew.id) {
                let at = format!("crews[{at}].id");
                faults.push(PlanError::DuplicateId { at, id: crew.id.to_string() });
            }
            for (trade, people) in &crew.people {
                trades.insert((&crew.id, trade), limits.len());
                limits.push(*people);
            }
        }
        let mut machines = BTreeMap::new();
        for (at, machine) in request.machines.iter().enumerate() {
            if machines.insert(machine.id.as_str(), limits.len()).is_some() {
                let at = format!("machines[{at}].id");
                faults.push(PlanError::DuplicateId { at, id: machine.id.to_string() });
            }
            limits.push(machine.count);
        }
        Resources { request, limits, trades, machines }
    }

    /// The resources that these machines are.
    pub(super) fn of_machines(&self, machines: &BTreeSet<MachineId>) -> Vec<usize> {
        machines.iter().filter_map(|m| self.machines.get(m.as_str()).copied()).collect()
    }

    pub(super) fn mannings(
        &self,
        work: &Work,
        task: &TaskId,
        at: &str,
        faults: &mut Vec<PlanError>,
    ) -> Vec<Manning> {
        let needs = self.trade_needs(work, at, faults);
        let machines = self.machine_demands(work, at, faults);
        if needs.is_empty() && machines.is_empty() {
            faults.push(PlanError::NobodyWorks { at: at.into() });
        }
        if needs.is_empty() {
            return vec![Manning { crew: None, demands: machines }];
        }
        let with = |index: usize, crew: &Crew| {
            let mut demands: Vec<(usize, u32)> = needs
                .iter()
                .filter_map(|(trade, n)| self.trades.get(&(&crew.id, *trade)).map(|r| (*r, *n)))
                .collect();
            demands.extend(&machines);
            Manning { crew: Some(index), demands }
        };
        let crews = self.request.crews.iter().enumerate();
        if let Some(named) = &work.crew {
            let Some((index, crew)) = crews.into_iter().find(|(_, c)| c.id == *named) else {
                let known = list(self.request.crews.iter().map(|c| c.id.as_str()));
                faults.push(PlanError::UnknownCrew { at: format!("{at}.crew"), crew: named.clone(), known });
                return Vec::new();
            };
            for (trade, needed) in &needs {
                let has = crew.people.get(*trade).copied().unwrap_or(0);
                if has < *needed {
                    faults.push(PlanError::CrewLacksTrade {
                        at: format!("{at}.crew"),
                        crew: named.clone(),
                        trade: (*trade).clone(),
                        has,
                        needed: *needed,
                    });
                }
            }
            return vec![with(index, crew)];
        }
        let able = |crew: &Crew| needs.iter().all(|(t, n)| crew.people.get(*t).is_some_and(|has| has >= n));
        let mannings: Vec<Manning> =
            crews.filter(|(_, c)| able(c)).map(|(index, crew)| with(index, crew)).collect();
        if mannings.is_empty() {
            faults.push(PlanError::NoCrewHasTrades {
                at: format!("{at}.trades"),
                task: task.clone(),
                needed: list(needs.iter().map(|(t, n)| format!("{n} {t}"))),
                known: list(self.request.crews.iter().map(|c| {
                    format!("{} ({})", c.id, list(c.people.iter().map(|(t, n)| format!("{n} {t}"))))
                })),
            });
        }
        mannings
    }

    fn trade_needs<'w>(
        &self,
        work: &'w Work,
        at: &str,
        faults: &mut Vec<PlanError>,
    ) -> BTreeMap<&'w TradeId, u32> {
        let mut needs: BTreeMap<&TradeId, u32> = BTreeMap::new();
        for (number, need) in work.trades.iter().enumerate() {
            if need.people == 0 {
                faults.push(PlanError::NoNeed { at: format!("{at}.trades[{number}].people") });
            }
            let sum = needs.entry(&need.trade).or_default();
            *sum = sum.saturating_add(need.people);
        }
        needs
    }

    fn machine_demands(&self, work: &Work, at: &str, faults: &mut Vec<PlanError>) -> Vec<(usize, u32)> {
        let mut needs: BTreeMap<usize, u32> = BTreeMap::new();
        for (number, need) in work.machines.iter().enumerate() {
            let at = format!("{at}.machines[{number}]");
            if need.count == 0 {
                faults.push(PlanError::NoNeed { at: format!("{at}.count") });
            }
            let Some(&resource) = self.machines.get(need.machine.as_str()) else {
                let known = list(self.request.machines.iter().map(|m| m.id.as_str()));
                faults.push(PlanError::UnknownMachine { at, machine: need.machine.clone(), known });
                continue;
            };
            let sum = needs.entry(resource).or_default();
            *sum = sum.saturating_add(need.count);
            let has = self.limits.get(resource).copied().unwrap_or(0);
            if *sum > has {
                let machine = need.machine.clone();
                faults.push(PlanError::TooFewMachines { at, machine, has, needed: *sum });
            }
        }
        needs.into_iter().collect()
    }
}

fn list<T: AsRef<str>>(items: impl Iterator<Item = T>) -> String {
    let items: Vec<T> = items.collect();
    if items.is_empty() {
        return "none".into();
    }
    items.iter().map(AsRef::as_ref).collect::<Vec<_>>().join(", ")
}
