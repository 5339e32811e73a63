//! A bound from below, by prices.
//!
//! Each size has a price, each limited supply a rent for one of its bars, each level before this one a rate for what it may cost. Where no way to fill a bar is
//! worth more than the bar costs with its rent and its rates, any answer costs at least
//!
//! ```text
//! sum (price x demand) - sum (rent x count) - sum (rate x what the levels before cost)
//! ```
//!
//! whatever the prices are (weak duality). The best prices are those of a linear programme with one condition for each way to fill a bar; conditions are
//! added as they are found to be broken. Its answer, in floating point, is taken down to whole numbers and set right by a knapsack that is exact, or is bounded from above.

use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, Solution, Variable};

use super::{Cost, Filled, LEVELS, Task, Way};

/// The dearest bar of a level, in the units of prices; large beside what rounding prices down takes off, small enough for sums in 128 bits.
const DEAREST: i128 = 1 << 50;

/// Prices by length take no bar as shorter than the longest bar divided by this.
const SHORTEST: i64 = 1 << 20;

/// No price, rent or rate of the linear programme is more than so many times the dearest bar.
const MOST: f64 = 1024.0;

/// A way to fill a bar that is worth so little more than the bar, as a part of the dearest, is not added: what floating point leaves.
const WORTH_IT: i128 = DEAREST / 1_000_000_000;

/// Rounds of adding ways; a job of a workshop takes some tens.
const ROUNDS: usize = 300;

/// Ways that one knapsack looks at before it is content with its bound.
const LOOKED_AT: usize = 20_000;

/// Prices that prove a bound, in units of 1 / `unit` of what a level counts.
#[derive(Clone, Debug)]
pub(super) struct Prices {
    /// For each size.
    pub(super) price: Vec<i128>,
    /// For each supply what its best filling may be worth: cost, rates and rent. `None` where the supply may not be used.
    pub(super) worth: Vec<Option<i128>>,
    /// For each supply.
    pub(super) rent: Vec<i128>,
    /// For each level before this one.
    pub(super) rate: Cost128,
    /// How many units make 1.
    pub(super) unit: i128,
    /// What any answer costs at least, in units.
    pub(super) bound: i128,
    /// The ways that were found on the way to them.
    pub(super) ways: Vec<Filled>,
}

pub(super) type Cost128 = [i128; LEVELS];

/// The best prices found for a level, given an answer that tells what the levels before may cost. `None` where there is nothing to count.
pub(super) fn prices(task: &Task, level: usize, answer: &[Filled]) -> Option<Prices> {
    let budget = task.cost(answer);
    let allowed: Vec<bool> =
        task.costs.iter().map(|cost| (0..level).all(|before| budget[before] > 0 || cost[before] == 0)).collect();
    let dearest = (0..task.costs.len())
        .filter(|supply| allowed[*supply])
        .map(|supply| task.costs[supply][level])
        .max()
        .filter(|most| *most > 0)?;
    let scale = Scale { level, budget, unit: (DEAREST / i128::from(dearest)).max(1), dearest, allowed };
    // By length alone, as if the shortest bar cost as much as the dearest: scaled down to what a length costs in the bar where it costs least.
    // Bars that no piece fits in do not count, nor any that is next to nothing beside the longest, so that the prices stay small.
    let smallest = task.sizes.iter().copied().min().unwrap_or(1);
    let longest = task.rooms.iter().copied().max().unwrap_or(1);
    let shortest = task.rooms.iter().copied().filter(|room| *room >= smallest).min().unwrap_or(1);
    let shortest = shortest.max(longest / SHORTEST).max(1);
    let by_length: Vec<i128> =
        task.sizes.iter().map(|size| i128::from(*size) * DEAREST / i128::from(shortest)).collect();
    let mut best = scale.proved(task, &by_length, [0; LEVELS]);
    let Some(mut linear) = Linear::new(task, &scale, answer) else { return Some(best) };
    let mut ways = answer.to_vec();
    for _ in 0..ROUNDS {
        let (price, rate, rent) = linear.read(&scale);
        let found = scale.proved(task, &price, rate);
        if found.bound > best.bound {
            best = found;
        }
        let mut broken = Vec::new();
        for supply in (0..task.rooms.len()).filter(|supply| scale.allowed[*supply]) {
            let filling = knapsack(task, &price, supply);
            if filling.value > scale.limit(task, supply, &rate) + rent[supply] + WORTH_IT {
                broken.push((supply, filling.way));
            }
        }
        ways.extend(broken.iter().map(|(supply, way)| Filled { supply: *supply, way: way.clone() }));
        if broken.is_empty() || !broken.into_iter().all(|(supply, way)| linear.add(task, &scale, supply, &way)) {
            break;
        }
    }
    ways.sort_by(|one, other| (one.supply, &one.way).cmp(&(other.supply, &other.way)));
    ways.dedup();
    Some(Prices { ways, ..best })
}

/// What a level counts, and in which units.
struct Scale {
    level: usize,
    budget: Cost,
    unit: i128,
    dearest: i64,
    allowed: Vec<bool>,
}

impl Scale {
    /// What a bar costs with its rates, without rent.
    fn limit(&self, task: &Task, supply: usize, rate: &Cost128) -> i128 {
        let cost = &task.costs[supply];
        let rates: i128 = (0..self.level).map(|before| rate[before] * i128::from(cost[before])).sum();
        i128::from(cost[self.level]) * self.unit + rates
    }

    /// These prices, scaled down until no supply that there is no end of can be filled for more than it costs, with the rents that the others then need.
    fn proved(&self, task: &Task, price: &[i128], rate: Cost128) -> Prices {
        let used = || (0..task.rooms.len()).filter(|supply| self.allowed[*supply]);
        let most: Vec<i128> = (0..task.rooms.len())
            .map(|supply| if self.allowed[supply] { knapsack(task, price, supply).at_most } else { 0 })
            .collect();
        // The smallest of limit / most, never above 1; compared crosswise.
        let mut ratio = (1, 1);
        for supply in used().filter(|supply| task.counts[*supply].is_none()) {
            let limit = self.limit(task, supply, &rate);
            if limit * ratio.1 < most[supply] * ratio.0 {
                ratio = (limit, most[supply]);
            }
        }
        let price: Vec<i128> = price.iter().map(|price| price * ratio.0 / ratio.1).collect();
        let mut rent = vec![0; task.rooms.len()];
        let mut worth = vec![None; task.rooms.len()];
        for supply in used() {
            let limit = self.limit(task, supply, &rate);
            if task.counts[supply].is_some() {
                rent[supply] = (most[supply] * ratio.0 / ratio.1 + 1 - limit).max(0);
            }
            worth[supply] = Some(limit + rent[supply]);
        }
        let all: i128 = price.iter().zip(&task.demand).map(|(price, demand)| price * i128::from(*demand)).sum();
        let rents: i128 = used().map(|supply| rent[supply] * i128::from(task.counts[supply].unwrap_or(0))).sum();
        let rates: i128 = (0..self.level).map(|before| rate[before] * i128::from(self.budget[before])).sum();
        Prices { price, worth, rent, rate, unit: self.unit, bound: all - rents - rates, ways: Vec::new() }
    }
}

/// The linear programme: prices, rents and rates, all in parts of the dearest bar of their level.
struct Linear {
    price: Vec<Variable>,
    rent: Vec<Option<Variable>>,
    rate: [Option<(Variable, f64)>; LEVELS],
    solution: Option<Solution>,
}

impl Linear {
    /// With the ways that an answer uses, and for each size and supply a bar of nothing else. `None` where it cannot be solved.
    fn new(task: &Task, scale: &Scale, answer: &[Filled]) -> Option<Self> {
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let price = task.demand.iter().map(|demand| problem.add_var(f64::from(*demand), (0.0, MOST))).collect();
        let rent = (0..task.rooms.len())
            .map(|supply| {
                let count = task.counts[supply].filter(|_| scale.allowed[supply])?;
                Some(problem.add_var(-f64::from(count), (0.0, MOST)))
            })
            .collect();
        let mut rate = [None; LEVELS];
        for before in 0..scale.level {
            let costs =
                task.costs.iter().zip(&scale.allowed).filter(|(_, allowed)| **allowed).map(|(cost, _)| cost[before]);
            if let Some(dearest) = costs.max().filter(|most| *most > 0) {
                let dearest = dearest as f64;
                rate[before] = Some((problem.add_var(-(scale.budget[before] as f64) / dearest, (0.0, MOST)), dearest));
            }
        }
        let mut linear = Self { price, rent, rate, solution: None };
        for supply in (0..task.rooms.len()).filter(|supply| scale.allowed[*supply]) {
            for (place, size) in task.sizes.iter().enumerate() {
                let count = u32::try_from(task.rooms[supply] / size).unwrap_or(u32::MAX).min(task.demand[place]);
                if count > 0 {
                    let mut way = vec![0; task.sizes.len()];
                    way[place] = count;
                    let (expression, limit) = linear.condition(task, scale, supply, &way);
                    problem.add_constraint(expression, ComparisonOp::Le, limit);
                }
            }
        }
        for bar in answer {
            let (expression, limit) = linear.condition(task, scale, bar.supply, &bar.way);
            problem.add_constraint(expression, ComparisonOp::Le, limit);
        }
        linear.solution = Some(problem.solve().ok()?.into_solution().ok()?);
        Some(linear)
    }

    /// That a way is worth no more than the bar costs.
    fn condition(&self, task: &Task, scale: &Scale, supply: usize, way: &[u32]) -> (LinearExpr, f64) {
        let mut expression = LinearExpr::empty();
        for (price, count) in self.price.iter().zip(way).filter(|(_, count)| **count > 0) {
            expression.add(*price, f64::from(*count));
        }
        if let Some(rent) = self.rent[supply] {
            expression.add(rent, -1.0);
        }
        let cost = &task.costs[supply];
        for (before, rate) in self.rate.iter().enumerate() {
            if let Some((rate, dearest)) = rate.filter(|_| cost[before] > 0) {
                expression.add(rate, -(cost[before] as f64) / dearest);
            }
        }
        (expression, cost[scale.level] as f64 / scale.dearest as f64)
    }

    /// Adds a condition and solves again; whether that went well.
    fn add(&mut self, task: &Task, scale: &Scale, supply: usize, way: &[u32]) -> bool {
        let (expression, limit) = self.condition(task, scale, supply, way);
        let Some(solution) = self.solution.take() else { return false };
        let next = solution.add_constraint(expression, ComparisonOp::Le, limit);
        self.solution = next.ok().and_then(|next| next.into_solution().ok());
        self.solution.is_some()
    }

    /// Prices, rates and rents in whole units.
    fn read(&self, scale: &Scale) -> (Vec<i128>, Cost128, Vec<i128>) {
        let most = (scale.unit * i128::from(scale.dearest)) as f64;
        let value = |variable: Variable| {
            self.solution.as_ref().map_or(0.0, |solution| solution.var_value(variable)).clamp(0.0, MOST)
        };
        let price = self.price.iter().map(|price| (value(*price) * most) as i128).collect();
        let rate = self.rate.map(|rate| rate.map_or(0, |(rate, dearest)| (value(rate) * most / dearest) as i128));
        let rent = self.rent.iter().map(|rent| rent.map_or(0, |rent| (value(rent) * most) as i128)).collect();
        (price, rate, rent)
    }
}

/// The best filling of a bar that was found.
struct Filling {
    value: i128,
    /// What no filling is worth more than: `value` where every way was looked at.
    at_most: i128,
    way: Way,
}

/// The filling of one bar that is worth most, by price for length first.
fn knapsack(task: &Task, price: &[i128], supply: usize) -> Filling {
    let mut order: Vec<usize> =
        (0..price.len()).filter(|size| price[*size] > 0 && task.sizes[*size] <= task.rooms[supply]).collect();
    order.sort_by(|one, other| {
        let (one_for_other, other_for_one) =
            (price[*one] * i128::from(task.sizes[*other]), price[*other] * i128::from(task.sizes[*one]));
        other_for_one.cmp(&one_for_other).then(one.cmp(other))
    });
    let mut pack = Pack {
        task,
        price,
        order: &order,
        left: LOOKED_AT,
        way: vec![0; price.len()],
        best: (0, vec![0; price.len()]),
    };
    let fractional = pack.at_most(0, task.rooms[supply]);
    pack.fill(0, task.rooms[supply], 0);
    let (value, way) = pack.best;
    Filling { value, at_most: if pack.left > 0 { value } else { fractional }, way }
}

struct Pack<'a> {
    task: &'a Task,
    price: &'a [i128],
    order: &'a [usize],
    left: usize,
    way: Way,
    best: (i128, Way),
}

impl Pack<'_> {
    /// What the room cannot be worth more than, the sizes before `from` left out: the last piece taken in part, rounded up.
    fn at_most(&self, from: usize, mut room: i64) -> i128 {
        let mut value = 0;
        for size in &self.order[from..] {
            let (length, price) = (self.task.sizes[*size], self.price[*size]);
            let fit = (room / length).min(i64::from(self.task.demand[*size]));
            value += price * i128::from(fit);
            room -= length * fit;
            if fit < i64::from(self.task.demand[*size]) {
                return value + (price * i128::from(room) + i128::from(length) - 1) / i128::from(length);
            }
        }
        value
    }

    fn fill(&mut self, from: usize, room: i64, value: i128) {
        if value > self.best.0 {
            self.best = (value, self.way.clone());
        }
        if from == self.order.len() || self.left == 0 || value + self.at_most(from, room) <= self.best.0 {
            return;
        }
        self.left -= 1;
        let size = self.order[from];
        let most = (room / self.task.sizes[size]).min(i64::from(self.task.demand[size]));
        for count in (0..=most).rev() {
            self.way[size] = count as u32;
            self.fill(from + 1, room - self.task.sizes[size] * count, value + self.price[size] * i128::from(count));
        }
        self.way[size] = 0;
    }
}
