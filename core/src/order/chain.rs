//! Whether the hard limits alone leave any order: far quicker than a search, which gaps need.
//!
//! A limit looks no further than the next made bend on either side. Of the bends between two made ones l and r, with none of them made yet,
//! let i be made first; whatever comes after lies between l and i or between i and r, and one side knows nothing of the other:
//!
//! ```text
//!   open(l, r) = some i between l and r, either end leading, keeps its limits with l and r next to it, and open(l, i) and open(i, r)
//! ```
//!
//! That is exact for the limits, in about bends cubed steps.

use super::Turn;
use super::task::{Task, turns};
use crate::bender::limits;

/// Whether there is an order that keeps all hard limits, gaps aside.
pub(super) fn limits_allow(task: &Task<'_>) -> bool {
    let bends = task.bends();
    // Both sides of every bend, and beyond the ends.
    let sides = bends + 2;
    let mut open = vec![false; sides * sides];
    let mut made = vec![false; bends];
    for apart in 1..sides {
        for left in 0..sides - apart {
            let right = left + apart;
            // A place counts from 1, with the ends at 0 and at the last: bend i stands at place i + 1.
            let bend_at = |place: usize| place.checked_sub(1).filter(|bend| *bend < bends);
            let next = [bend_at(left), bend_at(right)].into_iter().flatten();
            next.clone().for_each(|bend| made[bend] = true);
            let keeps = |turn: Turn| limits::check(&task.step(turn, &made)).is_empty();
            let first = (left + 1..right).any(|place| {
                open[left * sides + place] && open[place * sides + right] && turns(place - 1).into_iter().any(keeps)
            });
            open[left * sides + right] = apart == 1 || first;
            next.for_each(|bend| made[bend] = false);
        }
    }
    open[sides - 1]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clearance::Machine;
    use crate::clearance::testing;

    /// Every order in turn, limits alone.
    fn any(task: &Task<'_>, made: &mut Vec<bool>) -> bool {
        if made.iter().all(|made| *made) {
            return true;
        }
        (0..made.len()).any(|bend| {
            let fits = |turn| limits::check(&task.step(turn, made)).is_empty();
            if made[bend] || !turns(bend).into_iter().any(fits) {
                return false;
            }
            made[bend] = true;
            let found = any(task, made);
            made[bend] = false;
            found
        })
    }

    #[test]
    fn it_agrees_with_trying_every_order() {
        let bender = testing::bender();
        let machine = Machine::new(&bender);
        let (mut yes, mut no) = (0, 0);
        let mut seed = 1_u64;
        let mut next = move |below: u64| {
            // Park and Miller, Communications of the ACM 31 (1988).
            seed = seed * 48_271 % 2_147_483_647;
            seed % below
        };
        for _ in 0..300 {
            let bends = 1 + next(5) as usize;
            let rows: Vec<(f64, f64, f64)> =
                (0..bends).map(|_| (10.0 + next(300) as f64, 0.0, 10.0 + next(100) as f64)).collect();
            let blank = testing::blank(&rows, 10.0 + next(300) as f64, 100.0, 40.0);
            let task = Task { bender: &bender, machine: &machine, blank: &blank, accept_tight: false, best: 1 };
            let found = any(&task, &mut vec![false; bends]);
            assert_eq!(limits_allow(&task), found, "{rows:?}");
            *(if found { &mut yes } else { &mut no }) += 1;
        }
        assert!(yes > 30 && no > 30, "{yes} {no}");
    }
}
