//! A better answer, bar by bar.
//!
//! The next bar always holds the largest piece that is left, and room for none that is left beside it. Such an answer is among the best: a piece that fits in an
//! earlier bar can be moved there. What the prices say of the rest, added to what the bars so far cost, must stay below the best answer yet; so each way to
//! fill a bar uses up a part of a small allowance, and most are ruled out at once.

use core::cmp::Reverse;

use super::prices::{Prices, prices};
use super::programme::programme;
use super::{Cost, Filled, LEVELS, Task, Way};

/// Ways that one level looks at.
const LOOKED_AT: usize = 200_000;

/// Ways that are looked at for one bar.
const OF_ONE_BAR: usize = 2_000;

/// Multiples of the smallest step of a level up to which it is found out which of them bars can add up to.
const STEPS: i64 = 1_000_000;

/// What is known of a level.
pub(super) struct Improved {
    pub(super) answer: Vec<Filled>,
    /// What any answer costs at least.
    pub(super) at_least: i64,
    /// Whether `answer` costs no more than that.
    pub(super) proved: bool,
}

/// The answer, or a cheaper one at this level that costs no more at those before it.
pub(super) fn improve(task: &Task, level: usize, answer: &[Filled]) -> Improved {
    let cost = task.cost(answer)[level];
    let same = |at_least: i64| Improved { answer: answer.to_vec(), at_least, proved: at_least >= cost };
    if cost == 0 {
        return same(0);
    }
    let Some(prices) = prices(task, level, answer) else { return same(0) };
    let sums = Sums::new(task, level, cost);
    let at_least = sums.from(ceil(prices.bound, prices.unit)).min(cost);
    if at_least == cost {
        return same(cost);
    }
    let mut search = Search {
        task,
        level,
        budget: task.cost(answer),
        prices: &prices,
        sums: &sums,
        target: sums.below(cost),
        at_least,
        rest: task.demand.clone(),
        counts: task.counts.clone(),
        spent: [0; LEVELS],
        bars: Vec::new(),
        found: None,
        left: LOOKED_AT,
        whole: true,
    };
    search.next(None);
    let Search { found, left, whole, .. } = search;
    let whole = whole && left > 0;
    let mut answer = found.unwrap_or_else(|| answer.to_vec());
    if !whole
        && task.cost(&answer)[level] > at_least
        && let Some(cheaper) = programme(task, level, &answer, &prices.ways)
    {
        answer = cheaper;
    }
    let cost = task.cost(&answer)[level];
    let at_least = if whole { cost } else { at_least };
    Improved { answer, at_least, proved: at_least >= cost }
}

fn ceil(value: i128, unit: i128) -> i64 {
    i64::try_from((value + unit - 1).div_euclid(unit).max(0)).unwrap_or(i64::MAX)
}

/// What bars can cost in all at a level.
struct Sums {
    step: i64,
    /// For each multiple of the step whether bars can add up to it; empty where there are too many to tell.
    reached: Vec<bool>,
}

impl Sums {
    fn new(task: &Task, level: usize, up_to: i64) -> Self {
        let costs: Vec<i64> = task.costs.iter().map(|cost| cost[level]).filter(|cost| *cost > 0).collect();
        let step = costs.iter().copied().fold(0, divisor).max(1);
        let steps = up_to / step;
        let mut reached = Vec::new();
        if steps <= STEPS {
            reached = vec![false; steps as usize + 1];
            reached[0] = true;
            for at in 0..reached.len() {
                let before = |cost: &i64| at.checked_sub((cost / step) as usize).is_some_and(|before| reached[before]);
                reached[at] = reached[at] || costs.iter().any(before);
            }
        }
        Self { step, reached }
    }

    /// The least sum that is not below `value`.
    fn from(&self, value: i64) -> i64 {
        let at = value.div_euclid(self.step) + i64::from(value.rem_euclid(self.step) > 0);
        let found = self.reached.iter().skip(at.max(0) as usize).position(|reached| *reached);
        found.map_or(at, |more| at + more as i64).saturating_mul(self.step)
    }

    /// The largest sum below a sum.
    fn below(&self, sum: i64) -> i64 {
        let at = sum / self.step - 1;
        let found = self.reached.iter().take((at.max(-1) + 1) as usize).rposition(|reached| *reached);
        found.map_or(at, |place| place as i64) * self.step
    }
}

fn divisor(one: i64, other: i64) -> i64 {
    if other == 0 { one } else { divisor(other, one % other) }
}

/// In which order ways with the same largest piece stand in an answer, so that each answer is met once: by supply, then the larger pieces first.
type Key = (usize, Reverse<Way>);

struct Search<'a> {
    task: &'a Task,
    level: usize,
    budget: Cost,
    prices: &'a Prices,
    sums: &'a Sums,
    /// What an answer may cost at most to be of use.
    target: i64,
    at_least: i64,
    rest: Way,
    counts: Vec<Option<u32>>,
    spent: Cost,
    bars: Vec<Filled>,
    found: Option<Vec<Filled>>,
    left: usize,
    whole: bool,
}

impl Search<'_> {
    /// What may still be lost: the target less what the bars so far and, by the prices, the rest cost at least.
    fn allowance(&self) -> i128 {
        let Prices { price, rent, rate, unit, .. } = self.prices;
        let rest: i128 = price.iter().zip(&self.rest).map(|(price, count)| price * i128::from(*count)).sum();
        let rents: i128 =
            rent.iter().zip(&self.counts).map(|(rent, count)| rent * i128::from(count.unwrap_or(0))).sum();
        let rates: i128 =
            (0..self.level).map(|before| rate[before] * i128::from(self.budget[before] - self.spent[before])).sum();
        i128::from(self.target - self.spent[self.level]) * unit - (rest - rents - rates)
    }

    /// Fills the next bar in every way that is of use, the ones that lose least first.
    fn next(&mut self, last: Option<(usize, &Key)>) {
        if self.allowance() < 0 {
            return;
        }
        let Some(largest) = self.rest.iter().position(|count| *count > 0) else {
            self.found = Some(self.bars.clone());
            self.target = self.sums.below(self.spent[self.level]);
            return;
        };
        let after = last.filter(|(size, _)| *size == largest).map(|(_, key)| key);
        for (_, key) in self.ways(largest, after) {
            if self.left == 0 || self.target < self.at_least {
                return;
            }
            let (supply, Reverse(way)) = &key;
            self.change(*supply, way, true);
            self.bars.push(Filled { supply: *supply, way: way.clone() });
            self.next(Some((largest, &key)));
            self.bars.pop();
            self.change(*supply, way, false);
        }
    }

    /// Takes a filled bar out of the rest, or puts it back.
    fn change(&mut self, supply: usize, way: &[u32], taken: bool) {
        for (rest, count) in self.rest.iter_mut().zip(way) {
            *rest = if taken { *rest - count } else { *rest + count };
        }
        if let Some(count) = &mut self.counts[supply] {
            *count = if taken { *count - 1 } else { *count + 1 };
        }
        for (spent, cost) in self.spent.iter_mut().zip(&self.task.costs[supply]) {
            *spent += if taken { *cost } else { -*cost };
        }
    }

    fn ways(&mut self, largest: usize, after: Option<&Key>) -> Vec<(i128, Key)> {
        let allowance = self.allowance();
        let mut found = Vec::new();
        let first = after.map_or(0, |(supply, _)| *supply);
        for supply in first..self.task.rooms.len() {
            let cost = &self.task.costs[supply];
            let too_dear = (0..self.level).any(|before| self.spent[before] + cost[before] > self.budget[before]);
            let Some(worth) = self.prices.worth[supply].filter(|_| !too_dear && self.counts[supply] != Some(0)) else {
                continue;
            };
            let mut filler = Filler {
                search: self,
                // What the pieces must be worth in all.
                need: worth - allowance,
                after: after.filter(|(last, _)| *last == supply).map(|(_, Reverse(way))| way),
                way: vec![0; self.rest.len()],
                found: Vec::new(),
                looked_at: 0,
            };
            filler.fill(largest, largest, self.task.rooms[supply], 0);
            let (ways, looked_at) = (filler.found, filler.looked_at);
            found.extend(ways.into_iter().map(|(value, way)| (worth - value, (supply, Reverse(way)))));
            self.whole &= looked_at < OF_ONE_BAR;
            self.left = self.left.saturating_sub(looked_at);
        }
        found.sort();
        found
    }
}

/// Ways to fill one bar.
struct Filler<'a> {
    search: &'a Search<'a>,
    need: i128,
    after: Option<&'a Way>,
    way: Way,
    found: Vec<(i128, Way)>,
    looked_at: usize,
}

impl Filler<'_> {
    /// From a size on, the most of it first; of the largest at least one.
    fn fill(&mut self, largest: usize, size: usize, room: i64, value: i128) {
        if self.looked_at >= OF_ONE_BAR {
            return;
        }
        let Search { task, prices, rest, .. } = self.search;
        if size == rest.len() {
            self.looked_at += 1;
            let full = (largest..rest.len()).all(|size| rest[size] == self.way[size] || task.sizes[size] > room);
            let in_turn = self.after.is_none_or(|after| self.way <= *after);
            if full && in_turn && value >= self.need {
                self.found.push((value, self.way.clone()));
            }
            return;
        }
        // The rest of the room at the best price for length that is left.
        let best = (size..rest.len())
            .filter(|size| rest[*size] > 0)
            .map(|size| {
                (prices.price[size] * i128::from(room) + i128::from(task.sizes[size]) - 1)
                    / i128::from(task.sizes[size])
            })
            .max();
        if value + best.unwrap_or(0) < self.need {
            self.looked_at += 1;
            return;
        }
        let least = u32::from(size == largest);
        let most = u32::try_from(room / task.sizes[size]).unwrap_or(u32::MAX).min(rest[size]);
        for count in (least..=most).rev() {
            self.way[size] = count;
            let used = task.sizes[size] * i64::from(count);
            self.fill(largest, size + 1, room - used, value + prices.price[size] * i128::from(count));
        }
        self.way[size] = 0;
    }
}
