//! The longest single rest: pieces are moved and swapped so that what is left is left in one place.

use super::{Filled, Task};

/// Bars up to which each is tried as the one that is emptied; of more only the emptiest ones.
const TRIED: usize = 12;

/// Moves and swaps pieces between the bars of an answer, without one bar more, so that the longest single rest becomes longer. A bar that is emptied is left out.
pub(super) fn gather(task: &Task, answer: &mut Vec<Filled>) {
    let real = |bar: &Filled| task.costs[bar.supply][super::UNCUT] == 0;
    let mut emptiest: Vec<usize> = (0..answer.len()).filter(|place| real(&answer[*place])).collect();
    emptiest.sort_by_key(|place| (core::cmp::Reverse(task.left(answer[*place].supply, &answer[*place].way)), *place));
    let mut best = (longest(task, answer), core::cmp::Reverse(answer.len()));
    let mut found = None;
    for place in emptiest.into_iter().take(TRIED) {
        let mut tried = answer.clone();
        empty(task, &mut tried, place);
        tried.retain(|bar| bar.way.iter().any(|count| *count > 0));
        let reached = (longest(task, &tried), core::cmp::Reverse(tried.len()));
        if reached > best {
            best = reached;
            found = Some(tried);
        }
    }
    if let Some(found) = found {
        *answer = found;
    }
}

fn longest(task: &Task, answer: &[Filled]) -> i64 {
    let real = answer.iter().filter(|bar| task.costs[bar.supply][super::UNCUT] == 0);
    real.map(|bar| task.left(bar.supply, &bar.way)).max().unwrap_or(0)
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
            if to == from || task.costs[bar.supply][super::UNCUT] > 0 {
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
