//! An answer out of the ways that the bound was found with: the integer programme over them.
//!
//! The best prices are proved by few ways, and an answer that costs little more than the bound is mostly made of these. What the programme finds is
//! made whole again in whole numbers: pieces too many are left out, and nothing is taken that costs more than what was there.

use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, SolveOptions};

use super::{Filled, Task};

/// Nodes of the search that the programme may open.
const NODES: u64 = 400;

/// Ways, of which the programme takes the first; a job of a workshop has some hundreds.
const WAYS: usize = 1_500;

/// An answer that costs less at a level than the one there is and no more at those before it; `None` where none was found.
pub(super) fn programme(task: &Task, level: usize, answer: &[Filled], ways: &[Filled]) -> Option<Vec<Filled>> {
    let budget = task.cost(answer);
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let dearest = task.costs.iter().map(|cost| cost[level]).max().filter(|most| *most > 0)? as f64;
    let most = i32::try_from(task.demand.iter().copied().max()?).ok()?;
    let ways = &ways[..ways.len().min(WAYS)];
    let times: Vec<_> = ways
        .iter()
        .map(|way| problem.add_integer_var(task.costs[way.supply][level] as f64 / dearest, (0, most)))
        .collect();
    let mut ask = |weight: &dyn Fn(&Filled) -> f64, op: ComparisonOp, limit: f64| {
        let mut sum = LinearExpr::empty();
        for (times, way) in times.iter().zip(ways).filter(|(_, way)| weight(way) > 0.0) {
            sum.add(*times, weight(way));
        }
        problem.add_constraint(sum, op, limit);
    };
    for (size, demand) in task.demand.iter().enumerate() {
        ask(&|way| f64::from(way.way[size]), ComparisonOp::Ge, f64::from(*demand));
    }
    for (supply, count) in task.counts.iter().enumerate() {
        if let Some(count) = count {
            ask(&|way| f64::from(u8::from(way.supply == supply)), ComparisonOp::Le, f64::from(*count));
        }
    }
    for before in 0..level {
        let dearest = task.costs.iter().map(|cost| cost[before]).max().unwrap_or(0).max(1) as f64;
        ask(&|way| task.costs[way.supply][before] as f64 / dearest, ComparisonOp::Le, budget[before] as f64 / dearest);
    }
    let mut options = SolveOptions::default();
    options.node_limit = Some(NODES);
    let found = problem.solve_with(options).ok()?.into_solution().ok()?;
    let mut rest = task.demand.clone();
    let mut counts = task.counts.clone();
    let mut bars = Vec::new();
    for (times, way) in times.iter().zip(ways) {
        for _ in 0..libm::round(found.var_value(*times)).max(0.0) as u32 {
            let taken: Vec<u32> = way.way.iter().zip(&rest).map(|(count, rest)| *count.min(rest)).collect();
            if taken.iter().all(|count| *count == 0) {
                continue;
            }
            if let Some(count) = &mut counts[way.supply] {
                *count = count.checked_sub(1)?;
            }
            for (rest, taken) in rest.iter_mut().zip(&taken) {
                *rest -= taken;
            }
            bars.push(Filled { supply: way.supply, way: taken });
        }
    }
    let cost = task.cost(&bars);
    let cheaper = cost[level] < budget[level] && cost[..level] <= budget[..level];
    (cheaper && rest.iter().all(|rest| *rest == 0)).then_some(bars)
}
