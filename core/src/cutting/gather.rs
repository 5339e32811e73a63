//! The longest single rest: pieces are moved and swapped so that what is left is left in one place.
//!
//! Offcuts that are still whole are places to move to as well, as they cost nothing. One of them is cut into only where the longest rest grows by that, and
//! becomes longer than that offcut was: no long offcut is spoilt for a rest that is no longer.

use core::cmp::Reverse;
use core::ops::RangeInclusive;

use super::{Cost, Filled, LEVELS, Task};

/// Bars up to which each is tried as the one that is emptied; of more only the emptiest ones.
const TRIED: usize = 12;

/// Lengths of whole offcuts up to which all are tried; of more only the longest ones.
const OFFERED: usize = 24;

/// What an answer costs and its longest single rest: the greater, the better.
type Reached = (Reverse<Cost>, i64);

/// Moves and swaps pieces between the bars of an answer and into whole offcuts, without one bar more that costs anything, so that the longest single rest becomes
/// longer. A bar that is emptied is left out.
pub(super) fn gather(task: &Task, answer: &mut Vec<Filled>) {
    let mut emptiest: Vec<usize> = (0..answer.len()).filter(|place| real(task, &answer[*place])).collect();
    emptiest.sort_by_key(|place| (Reverse(task.left(answer[*place].supply, &answer[*place].way)), *place));
    emptiest.truncate(TRIED);

    let mut best = (reached(task, answer), Reverse(answer.len()));
    let mut found = None;
    for from in &emptiest {
        let tried = emptied(task, answer, *from, Vec::new());
        let tried_reached = (reached(task, &tried), Reverse(tried.len()));
        if tried_reached > best {
            best = tried_reached;
            found = Some(tried);
        }
    }

    let without = best.0;
    let whole = whole(task, answer);
    for (from, offered) in emptiest.iter().flat_map(|from| offers(whole.len()).map(move |offered| (from, offered))) {
        let tried = emptied(task, answer, *from, fresh(task, &whole[offered], &answer[*from]));
        let (cost, rest) = reached(task, &tried);
        let spoilt = |(supply, _): &(usize, u32)| {
            let used = |bars: &[Filled]| bars.iter().filter(|bar| bar.supply == *supply).count();
            task.rooms[*supply] >= rest && used(&tried) > used(answer)
        };
        let tried_reached = ((cost, rest), Reverse(tried.len()));
        if tried_reached.0 > without && tried_reached > best && !whole.iter().any(spoilt) {
            best = tried_reached;
            found = Some(tried);
        }
    }
    if let Some(found) = found {
        *answer = found;
    }
}

/// Whether a bar is one, and does not stand for a piece that is not cut.
fn real(task: &Task, bar: &Filled) -> bool {
    task.costs[bar.supply][super::UNCUT] == 0
}

/// The offcuts that an answer leaves whole, the shortest first: supply, and how many. Only such as hold a piece and are shorter than the longest bar that is cut
/// into, as no rest could be longer than the others.
fn whole(task: &Task, answer: &[Filled]) -> Vec<(usize, u32)> {
    let smallest = task.sizes.iter().copied().min().unwrap_or(0);
    let longest = answer.iter().filter(|bar| real(task, bar)).map(|bar| task.rooms[bar.supply]).max().unwrap_or(0);
    let mut whole: Vec<(usize, u32)> = (0..task.rooms.len())
        .filter(|supply| task.costs[*supply] == [0; LEVELS] && (smallest..longest).contains(&task.rooms[*supply]))
        .map(|supply| {
            let used = answer.iter().filter(|bar| bar.supply == supply).count();
            let used = u32::try_from(used).unwrap_or(u32::MAX);
            (supply, task.counts[supply].unwrap_or(u32::MAX).saturating_sub(used))
        })
        .filter(|(_, count)| *count > 0)
        .collect();
    whole.sort_by_key(|(supply, _)| (task.rooms[*supply], *supply));
    whole.split_off(whole.len().saturating_sub(OFFERED))
}

/// Which of so many lengths of offcuts are offered together: each alone, and with all the shorter ones.
fn offers(lengths: usize) -> impl Iterator<Item = RangeInclusive<usize>> {
    (0..lengths).flat_map(|last| [last..=last, 0..=last])
}

/// Empty offcuts, of each length no more than the pieces of one bar could open.
fn fresh(task: &Task, whole: &[(usize, u32)], from: &Filled) -> Vec<Filled> {
    let pieces: u32 = from.way.iter().sum();
    let bar = |supply: usize| Filled { supply, way: vec![0; task.sizes.len()] };
    whole.iter().flat_map(|(supply, count)| (0..*count.min(&pieces)).map(move |_| bar(*supply))).collect()
}

/// The answer with one bar emptied as far as that can be done, into the others first, then into fresh ones.
fn emptied(task: &Task, answer: &[Filled], from: usize, fresh: Vec<Filled>) -> Vec<Filled> {
    let mut tried = answer.to_vec();
    tried.extend(fresh);
    empty(task, &mut tried, from);
    tried.retain(|bar| bar.way.iter().any(|count| *count > 0));
    tried
}

fn reached(task: &Task, answer: &[Filled]) -> Reached {
    let rests = answer.iter().filter(|bar| real(task, bar)).map(|bar| task.left(bar.supply, &bar.way));
    (Reverse(task.cost(answer)), rests.max().unwrap_or(0))
}

/// Moves pieces out of one bar, or swaps them for smaller ones, as long as that can be done.
fn empty(task: &Task, answer: &mut [Filled], from: usize) {
    while let Some((to, size, back)) = step(task, answer, from) {
        answer[from].way[size] -= 1;
        answer[to].way[size] += 1;
        if let Some(back) = back {
            answer[to].way[back] -= 1;
            answer[from].way[back] += 1;
        }
    }
}

/// The first thing to be done: into which bar, which size, and the smaller one that comes back for it. Each makes the bar emptier, so there is an end.
fn step(task: &Task, answer: &[Filled], from: usize) -> Option<(usize, usize, Option<usize>)> {
    let held = |bar: &Filled| (0..bar.way.len()).filter(|size| bar.way[*size] > 0).collect::<Vec<_>>();
    for size in held(&answer[from]) {
        for (to, bar) in answer.iter().enumerate() {
            if to == from || !real(task, bar) {
                continue;
            }
            let left = task.left(bar.supply, &bar.way);
            if left >= task.sizes[size] {
                return Some((to, size, None));
            }
            // The smallest that makes room for it comes back.
            let smaller =
                |back: &usize| task.sizes[*back] < task.sizes[size] && left + task.sizes[*back] >= task.sizes[size];
            if let Some(back) = held(bar).into_iter().rev().find(smaller) {
                return Some((to, size, Some(back)));
            }
        }
    }
    None
}
