//! The best order of a tube, proved where that can be done.

use super::{Order, Turn};
use core::sync::atomic::AtomicBool;

use super::bounded::{FEW, MANY, bounded};
use super::chain::limits_allow;
use super::exact::{Exact, MOST_BENDS, fits};
use super::greedy::greedy;
use super::task::{Priced, Task, Watch};

/// What a search came to.
#[derive(Clone, Debug, Default)]
pub struct Solved {
    /// Orders that can be made, the best first; empty where none was found.
    pub orders: Vec<Priced>,
    /// Where none was found, the beginning of an order that gets furthest: most bends made, then least cost, then smallest bend numbers.
    pub furthest: Order,
    /// Whether it is proved that no order is better than the first, or that there is none.
    pub proved: bool,
    /// Whether the search kept only a part of what there is, for want of room.
    pub bounded: bool,
    /// Whether it was stopped before its end.
    pub stopped: bool,
}

/// Finds the orders of least cost, or proves that there is none.
///
/// Up to 22 bends the answer is exact; beyond that, or where the search outgrows its bounds, the best of what was looked at. The answer is the same
/// on every machine, unless it is stopped.
#[must_use]
pub fn solve(task: &Task<'_>, watch: &mut Watch<'_>) -> Solved {
    if task.bends() == 0 {
        let order = Priced { order: Order(Vec::new()), cost: super::cost::Cost::default() };
        return Solved { orders: vec![order], proved: true, ..Solved::default() };
    }
    if task.bends() > MOST_BENDS || !fits(task) {
        let looked = bounded(task, &[], MANY, watch);
        let (orders, furthest) = (looked.orders, looked.furthest);
        return fall_back(task, watch, Solved { orders, furthest, bounded: true, ..Solved::default() });
    }
    let Some(mut exact) = Exact::new(task, watch) else { return fall_back(task, watch, Solved::default()) };
    let ended = exact.best(task.bends(), watch);
    if !ended.complete {
        let bounded = !watch.stopped();
        return fall_back(task, watch, Solved { orders: ended.orders, bounded, ..Solved::default() });
    }
    let mut solved = Solved { orders: ended.orders, proved: !exact.unproven(), ..Solved::default() };
    if solved.orders.is_empty() {
        for goal in (1..=exact.furthest().min(task.bends() - 1)).rev() {
            let ended = exact.best(goal, watch);
            solved.bounded |= !ended.complete && !watch.stopped();
            if let Some(longest) = ended.orders.into_iter().next() {
                solved.furthest = longest.order;
                break;
            }
        }
    }
    solved
}

/// The order of least cost alone, as [`solve`] finds it; `None` where there is none, or where the search did not come to its end.
///
/// How far one gets where there is none is not looked at, and where the hard limits alone leave none, no gap is: both save most of the time.
pub(crate) fn best(task: &Task<'_>, watch: &mut Watch<'_>) -> Option<Order> {
    if task.bends() == 0 {
        return Some(Order::default());
    }
    if task.bends() > MOST_BENDS || !fits(task) || !limits_allow(task) {
        return None;
    }
    let ended = Exact::new(task, watch)?.best(task.bends(), watch);
    ended.orders.into_iter().next().filter(|_| ended.complete).map(|priced| priced.order)
}

/// The order of least cost that goes on from these turns, which are made; its orders begin with them, and their cost is that of what is left.
///
/// Exact where so few are left that no set of made bends is dropped, which is up to a dozen; beyond that the best of what was looked at. Of `task.best`
/// orders behind the first each ends with another turn.
#[must_use]
pub fn solve_rest(task: &Task<'_>, made: &[Turn], watch: &mut Watch<'_>) -> Solved {
    let looked = bounded(task, made, MANY, watch);
    let stopped = watch.stopped();
    Solved {
        proved: looked.whole && !looked.unproven,
        bounded: !looked.whole && !stopped,
        orders: looked.orders,
        furthest: looked.furthest,
        stopped,
    }
}

/// Of a search that did not come to its end: what it has, or what is at hand without searching.
fn fall_back(task: &Task<'_>, watch: &Watch<'_>, mut solved: Solved) -> Solved {
    solved.stopped = watch.stopped();
    if solved.orders.is_empty() {
        solved.orders.extend(greedy(task));
    }
    if solved.orders.is_empty() && solved.furthest.0.is_empty() {
        let mut quick = Watch { stop: &AtomicBool::new(false), progress: &mut |_| {} };
        let looked = bounded(task, &[], FEW, &mut quick);
        (solved.orders, solved.furthest) = (looked.orders, looked.furthest);
    }
    solved
}
