//! Cut lists of small random jobs against an integer programme in another form, solved by a general-purpose library.
//!
//! Source: good_lp with the solver microlp, branch and bound over which piece is cut from which bar; the library's own search goes over ways to fill a bar. Whole mm.

use good_lp::{Expression, ProblemVariables, Solution, SolverModel, constraint, default_solver, variable};
use tubewright::cutting::{Kind, Supply, cut};

/// Figures by chance, the same every time (Knuth, The Art of Computer Programming, volume 2, 3.3.4; the multiplier from memory).
struct Chance(u64);

impl Chance {
    /// A multiple of 50 mm from one to another.
    fn length(&mut self, least: i64, most: i64) -> i64 {
        least + 50 * self.below((most - least) / 50 + 1)
    }

    fn below(&mut self, bound: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % bound as u64) as i64
    }
}

/// The least length to be bought so that all pieces are cut.
fn least_bought(kerf: i64, supplies: &[Supply], pieces: &[i64]) -> i64 {
    // Every bar that may be used: no more are bought of one length than there are pieces.
    let bars: Vec<&Supply> = supplies
        .iter()
        .flat_map(|supply| std::iter::repeat_n(supply, supply.count.map_or(pieces.len(), |count| count as usize)))
        .collect();
    let mut variables = ProblemVariables::new();
    let used = variables.add_vector(variable().binary(), bars.len());
    let from: Vec<Vec<_>> = bars.iter().map(|_| variables.add_vector(variable().binary(), pieces.len())).collect();
    let price = |bar: &Supply| if bar.kind == Kind::Bought { bar.length as f64 } else { 0.0 };
    let cost: Expression = bars.iter().zip(&used).map(|(bar, used)| price(bar) * *used).sum();
    let mut model = variables.minimise(cost.clone()).using(default_solver);
    for piece in 0..pieces.len() {
        let times: Expression = from.iter().map(|cuts| Expression::from(cuts[piece])).sum();
        model = model.with(constraint!(times == 1));
    }
    for (place, bar) in bars.iter().enumerate() {
        // The last piece of a bar needs no kerf.
        let filled: Expression =
            pieces.iter().zip(&from[place]).map(|(length, cut)| (length + kerf) as f64 * *cut).sum();
        model = model.with(constraint!(filled <= (bar.usable + kerf) as f64 * used[place]));
        if place > 0 && bars[place - 1] == *bar {
            // Of bars that are alike the first are used.
            model = model.with(constraint!(used[place] <= used[place - 1]));
        }
    }
    let solution = model.solve().expect("bars can be bought for every piece");
    solution.eval(cost).round() as i64
}

#[test]
fn small_lists_buy_what_an_integer_programme_buys() {
    let mut chance = Chance(11);
    let (mut free, mut several) = (0, 0);
    for list in 0..100 {
        let kerf = chance.below(4);
        let pieces: Vec<i64> = (0..2 + chance.below(4)).map(|_| chance.length(400, 2600)).collect();
        let mut supplies = Vec::new();
        for _ in 0..chance.below(3) {
            let length = chance.length(500, 2000);
            supplies.push(Supply { kind: Kind::Offcut, length, usable: length - 20, count: Some(1) });
        }
        for length in [3000, 4000 + 500 * chance.below(4)] {
            supplies.push(Supply { kind: Kind::Bought, length, usable: length - 20, count: None });
        }
        let cutting = cut(kerf, &supplies, &pieces);
        let least = least_bought(kerf, &supplies, &pieces);
        assert!(cutting.uncut.is_empty() && cutting.best(), "list {list}: {cutting:?}");
        assert_eq!(cutting.bought, least, "list {list}: kerf {kerf}, pieces {pieces:?}, {supplies:?}");
        free += usize::from(least == 0);
        several += usize::from(least > 6000);
    }
    assert!(free > 0 && several > 10, "{free} lists need no bar, {several} more than one");
}
