//! The first answer: the longest piece first, into the first bar that has room for it.
//!
//! Done once for each supply that there is no end of, taken for new bars wherever a piece fits in it, and once into the bar with least room instead of the first;
//! the best of these is kept.

use super::{Filled, Task};

/// How a bar is chosen among those that have room.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Into {
    First,
    Tightest,
}

/// A bar that is being filled.
struct Open {
    filled: Filled,
    left: i64,
}

/// An answer that cuts every piece.
///
/// # Panics
/// Where a size fits in no supply that there is no end of: a task has one for each.
pub(super) fn first_fit(task: &Task) -> Vec<Filled> {
    let endless = (0..task.rooms.len()).filter(|supply| task.counts[*supply].is_none());
    endless
        .flat_map(|new| [Into::First, Into::Tightest].map(|into| filled(task, new, into)))
        .min_by_key(|answer| (task.cost(answer), answer.len()))
        .unwrap_or_default()
}

fn filled(task: &Task, new: usize, into: Into) -> Vec<Filled> {
    let mut open: Vec<Open> = Vec::new();
    let mut counts = task.counts.clone();
    for (place, (size, demand)) in task.sizes.iter().zip(&task.demand).enumerate() {
        for _ in 0..*demand {
            let with_room = open.iter_mut().filter(|bar| bar.left >= *size);
            let bar = match into {
                Into::First => with_room.into_iter().next(),
                Into::Tightest => with_room.min_by_key(|bar| bar.left),
            };
            if let Some(bar) = bar {
                bar.filled.way[place] += 1;
                bar.left -= size;
                continue;
            }
            let supply = opened(task, &counts, *size, new);
            if let Some(count) = &mut counts[supply] {
                *count -= 1;
            }
            let mut way = vec![0; task.sizes.len()];
            way[place] = 1;
            open.push(Open { filled: Filled { supply, way }, left: task.rooms[supply] - size });
        }
    }
    // What is in a bar may fit in a cheaper one that is still there.
    for bar in &mut open {
        let used = task.rooms[bar.filled.supply] - bar.left;
        let there = |supply: &usize| task.rooms[*supply] >= used && counts[*supply] != Some(0);
        let cheapest =
            (0..task.rooms.len()).filter(there).min_by_key(|supply| (task.costs[*supply], task.rooms[*supply]));
        let Some(supply) = cheapest.filter(|supply| task.costs[*supply] < task.costs[bar.filled.supply]) else {
            continue;
        };
        for (changed, back) in [(supply, false), (bar.filled.supply, true)] {
            if let Some(count) = &mut counts[changed] {
                *count = if back { *count + 1 } else { *count - 1 };
            }
        }
        bar.filled.supply = supply;
    }
    open.into_iter().map(|bar| bar.filled).collect()
}

/// A new bar for a size: the cheapest that is limited, the shortest of these first; else `new`, or the cheapest where it is too short.
fn opened(task: &Task, counts: &[Option<u32>], size: i64, new: usize) -> usize {
    let with_room = || (0..task.rooms.len()).filter(|supply| task.rooms[*supply] >= size && counts[*supply] != Some(0));
    let by_cost = |supply: &usize| (task.costs[*supply], task.rooms[*supply]);
    let limited = with_room().filter(|supply| counts[*supply].is_some()).min_by_key(by_cost);
    let fitting = Some(new).filter(|new| task.rooms[*new] >= size && task.costs[*new][super::UNCUT] == 0);
    limited
        .or(fitting)
        .or_else(|| with_room().min_by_key(by_cost))
        .expect("every size has a supply that there is no end of")
}
