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

/// What was found.
pub(super) struct Looked {
    /// The best orders.
    pub(super) orders: Vec<Priced>,
    /// Where there is none, the longest beginning of one.
    pub(super) furthest: Order,
    /// Whether nothing was left out: then the first is the best, or there is none.
    pub(super) whole: bool,
    /// Whether some step could not be told.
    pub(super) unproven: bool,
}

/// Looks for the best orders that go on from these turns, which are made and cost nothing more.
pub(super) fn bounded(task: &Task<'_>, from: &[Turn], steps: usize, watch: &mut Watch<'_>) -> Looked {
    let bends = task.bends();
    let width = steps / (2 * bends * bends).max(1);
    let mut looked = Looked { orders: Vec::new(), furthest: Order(from.to_vec()), whole: true, unproven: false };
    if width == 0 {
        looked.whole = false;
        return looked;
    }
    let mut layer: BTreeMap<Vec<bool>, Ways> = BTreeMap::new();
    let start = Way { cost: Cost::default(), turns: from.to_vec() };
    let mut made = vec![false; bends];
    from.iter().for_each(|turn| made[turn.bend.0] = true);
    let mut ways: Vec<(Vec<bool>, Vec<Way>)> = vec![(made, vec![start])];
    for depth in from.len()..bends {
        layer.clear();
        for (made, ways) in &ways {
            if watch.stopped() {
                looked.whole = false;
                return looked;
            }
            for turn in (0..bends).filter(|bend| !made[*bend]).flat_map(turns) {
                let near = match task.near(turn, made) {
                    Judged::Free(near) => near,
                    Judged::Blocked => continue,
                    Judged::Unproven => {
                        looked.unproven = true;
                        continue;
                    }
                };
                let mut then = made.clone();
                then[turn.bend.0] = true;
                let there = layer.entry(then).or_default();
                for way in ways {
                    let turned = task.turns(way.turns.last().copied(), turn, made);
                    looked.unproven |= turned == Decision::Unproven;
                    if turned != Decision::Clear {
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
        looked.whole &= sets.len() <= width;
        sets.truncate(width);
        let Some((_, best)) = sets.first() else { break };
        looked.furthest = Order(best[0].turns.clone());
        ways = sets;
        watch.tell((depth + 1) as f64 / bends as f64, 0);
    }
    if looked.furthest.0.len() < bends {
        return looked;
    }
    let mut found: Vec<Priced> = ways
        .into_iter()
        .flat_map(|(_, ways)| ways)
        .map(|way| Priced { order: Order(way.turns), cost: way.cost })
        .collect();
    found.sort_by(|one, other| (one.cost, &one.order).cmp(&(other.cost, &other.order)));
    found.truncate(task.best);
    looked.orders = found;
    looked
}
