//! A search that keeps only the best so many sets of made bends at each depth: for tubes with too many bends to be searched exactly.
//!
//! What it finds can be bent; that nothing is better, or that there is nothing, it cannot tell.

use std::collections::BTreeMap;

use super::cost::Cost;
use super::task::{Judged, Priced, Task, Watch, turns};
use super::{Order, Turn};
use crate::clearance::Decision;

/// Steps that may be judged in all, by a search that has the time.
pub(super) const MANY: usize = 200_000;

/// Steps that may be judged where somebody waits for what is at hand: a second at most.
pub(super) const FEW: usize = 20_000;

/// A way to a set of made bends.
#[derive(Clone)]
struct Way {
    cost: Cost,
    turns: Vec<Turn>,
}

/// The ways to one set, by last turn.
type Ways = BTreeMap<Turn, Way>;

/// The best orders found, and where none was, the longest beginning of one.
pub(super) fn bounded(task: &Task<'_>, steps: usize, watch: &mut Watch<'_>) -> (Vec<Priced>, Order) {
    let bends = task.bends();
    let width = steps / (2 * bends * bends).max(1);
    let mut furthest = Order(Vec::new());
    if width == 0 {
        return (Vec::new(), furthest);
    }
    let mut layer: BTreeMap<Vec<bool>, Ways> = BTreeMap::new();
    let start = Way { cost: Cost::default(), turns: Vec::new() };
    let mut ways: Vec<(Vec<bool>, Vec<Way>)> = vec![(vec![false; bends], vec![start])];
    for depth in 0..bends {
        layer.clear();
        for (made, ways) in &ways {
            if watch.stopped() {
                return (Vec::new(), furthest);
            }
            for turn in (0..bends).filter(|bend| !made[*bend]).flat_map(turns) {
                let Judged::Free(near) = task.near(turn, made) else { continue };
                let mut then = made.clone();
                then[turn.bend.0] = true;
                let there = layer.entry(then).or_default();
                for way in ways {
                    if task.turns(way.turns.last().copied(), turn, made) != Decision::Clear {
                        continue;
                    }
                    let cost = way.cost + task.handling(way.turns.last().copied(), turn) + near;
                    let mut turns = way.turns.clone();
                    turns.push(turn);
                    let better = there.get(&turn).is_none_or(|known| (cost, &turns) < (known.cost, &known.turns));
                    if better {
                        there.insert(turn, Way { cost, turns });
                    }
                }
            }
        }
        let mut sets: Vec<(Vec<bool>, Vec<Way>)> = core::mem::take(&mut layer)
            .into_iter()
            .map(|(made, there)| {
                let mut ways: Vec<Way> = there.into_values().collect();
                ways.sort_by(|one, other| (one.cost, &one.turns).cmp(&(other.cost, &other.turns)));
                (made, ways)
            })
            .collect();
        sets.sort_by(|(_, one), (_, other)| (one[0].cost, &one[0].turns).cmp(&(other[0].cost, &other[0].turns)));
        sets.truncate(width);
        let Some((_, best)) = sets.first() else { break };
        furthest = Order(best[0].turns.clone());
        ways = sets;
        watch.tell((depth + 1) as f64 / bends as f64, 0);
    }
    if furthest.0.len() < bends {
        return (Vec::new(), furthest);
    }
    let mut found: Vec<Priced> = ways
        .into_iter()
        .flat_map(|(_, ways)| ways)
        .map(|way| Priced { order: Order(way.turns), cost: way.cost })
        .collect();
    found.sort_by(|one, other| (one.cost, &one.order).cmp(&(other.cost, &other.order)));
    found.truncate(task.best);
    (found, furthest)
}
