//! Orders that are found without searching: the two natural ones, and always the cheapest next step.

use super::task::{Judged, Priced, Task, turns};
use super::{Order, Turn, natural};
use crate::clearance::Decision;
use crate::order::cost::Cost;

/// Steps that may be tried for each bend before the cheapest-next order is given up.
const TRIES: usize = 60;

/// The cheapest order that is at hand without searching; `None` where none was found, which proves nothing.
pub(super) fn greedy(task: &Task<'_>) -> Option<Priced> {
    let natural = natural(task.bends()).into_iter().filter_map(|order| price(task, &order));
    let mut found: Vec<Priced> = natural.collect();
    if found.is_empty() {
        found.extend(cheapest_next(task));
    }
    found.into_iter().min_by(|one, other| (one.cost, &one.order).cmp(&(other.cost, &other.order)))
}

/// What an order costs; `None` where one of its steps cannot be made.
pub(super) fn price(task: &Task<'_>, order: &Order) -> Option<Priced> {
    let mut made = vec![false; task.bends()];
    let mut cost = Cost::default();
    let mut before = None;
    for turn in &order.0 {
        let Judged::Free(near) = task.near(*turn, &made) else { return None };
        if task.turns(before, *turn, &made) != Decision::Clear {
            return None;
        }
        cost += task.handling(before, *turn) + near;
        made[turn.bend.0] = true;
        before = Some(*turn);
    }
    Some(Priced { order: order.clone(), cost })
}

/// Goes on with the cheapest step, and back where none is left, as long as the tries last.
fn cheapest_next(task: &Task<'_>) -> Option<Priced> {
    let bends = task.bends();
    let mut tries = TRIES * bends;
    let mut made = vec![false; bends];
    let mut path: Vec<(Turn, Cost)> = Vec::with_capacity(bends);
    let mut open = vec![choices(task, None, &made, &mut tries)];
    while path.len() < bends {
        if tries == 0 {
            return None;
        }
        match open.last_mut().and_then(Vec::pop) {
            Some((cost, turn)) => {
                made[turn.bend.0] = true;
                path.push((turn, cost));
                open.push(choices(task, Some(turn), &made, &mut tries));
            }
            None => {
                open.pop();
                let (turn, _) = path.pop()?;
                made[turn.bend.0] = false;
            }
        }
    }
    let mut cost = Cost::default();
    path.iter().for_each(|(_, step)| cost += *step);
    Some(Priced { order: Order(path.into_iter().map(|(turn, _)| turn).collect()), cost })
}

/// The steps that can be made, the cheapest last.
fn choices(task: &Task<'_>, before: Option<Turn>, made: &[bool], tries: &mut usize) -> Vec<(Cost, Turn)> {
    let mut found = Vec::new();
    for turn in (0..task.bends()).filter(|bend| !made[*bend]).flat_map(turns) {
        if *tries == 0 {
            break;
        }
        *tries -= 1;
        if let Judged::Free(near) = task.near(turn, made)
            && task.turns(before, turn, made) == Decision::Clear
        {
            found.push((task.handling(before, turn) + near, turn));
        }
    }
    found.sort_by(|one, other| other.cmp(one));
    found
}
