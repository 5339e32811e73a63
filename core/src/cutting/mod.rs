//! Pieces on bars: which piece is cut from which bar, so that least has to be bought.
//!
//! ```text
//!  |<-------------------- usable --------------------->|
//!  |==piece==|k|====piece====|k|==piece==|k|   left    |
//! ```
//!
//! Lengths are whole numbers of any one unit, so that what fits is no matter of rounding. n pieces take n - 1 kerfs if the last ends where the
//! bar ends, else n; where less than a kerf is left behind the last piece, its cut takes all of that. So pieces fit where the sum of piece + kerf is at most
//! usable + kerf.
//!
//! What is asked for, one after the other, each as far as the ones before it allow: least length of pieces that no bar is left for, least length bought, least
//! length of bars at hand that are cut into, fewest bars. Offcuts cost nothing. Last of all the longest single rest is made as long as moving and swapping
//! pieces can make it; that is not proved. A whole offcut is cut into for that only where the longest rest grows and becomes longer than that offcut was.
//!
//! - `first_fit` gives a first answer.
//! - `prices` bounds from below what any answer costs, by the linear programme over all ways to fill a bar (P. C. Gilmore and R. E. Gomory, "A linear
//!   programming approach to the cutting-stock problem", Operations Research 9 (1961) 849-859: ways are made as they are needed). Its floating figures
//!   are only a hint: the bound is what prices in whole numbers prove.
//! - `search` looks for a better answer, bar by bar, and leaves out what the prices rule out. It ends after a number of ways to fill a bar, never after a
//!   time, so that the same lists give the same bytes everywhere.
//!
//! - `programme` puts an answer together from the ways that the bound was found with, where the search does not come to its end.
//!
//! An answer is the best where it costs no more than the bound, or where the search came to its end.

mod first_fit;
mod gather;
mod prices;
mod programme;
mod search;
#[cfg(test)]
mod tests;

/// What a piece of stock costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// It lies about: free.
    Offcut,
    /// A whole bar that is there.
    AtHand,
    /// A bar to be bought.
    Bought,
}

/// Stock of one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Supply {
    /// What it costs.
    pub kind: Kind,
    /// Its whole length, above 0.
    pub length: i64,
    /// What of it can be cut into pieces, at most its length.
    pub usable: i64,
    /// How many there are; `None` for as many as are wanted.
    pub count: Option<u32>,
}

/// Stock with the pieces that are cut from it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cut {
    /// Its place in the list of supplies.
    pub supply: usize,
    /// Places of the pieces, in the order of cutting: the longest first.
    pub pieces: Vec<usize>,
}

/// Which piece is cut from which bar.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cutting {
    /// One entry for every bar and offcut that is cut into: by supply, in the order of their list; the fullest first.
    pub cuts: Vec<Cut>,
    /// Places of the pieces that no stock is left for, or that are longer than any.
    pub uncut: Vec<usize>,
    /// Length that is bought.
    pub bought: i64,
    /// Length that has to be bought at least by any cutting that leaves no more uncut; not above `bought`.
    pub at_least: i64,
    /// Whether it is proved that no cutting leaves a shorter length of pieces uncut.
    pub proved_uncut: bool,
}

impl Cutting {
    /// Whether it is proved that no cutting leaves less uncut, and none that leaves as much buys less.
    #[must_use]
    pub fn best(&self) -> bool {
        self.proved_uncut && self.at_least == self.bought
    }
}

/// What is minimised, in this order: length uncut, length bought, length of bars at hand, bars.
const LEVELS: usize = 4;
const UNCUT: usize = 0;
const BOUGHT: usize = 1;

/// Costs of a bar, or of an answer: one for each level.
type Cost = [i64; LEVELS];

/// A way to fill a bar: how many of each size.
type Way = Vec<u32>;

/// One bar of an answer.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Filled {
    supply: usize,
    way: Way,
}

/// The same question with equal pieces put together. A kerf stands with every piece, and one more with every bar.
#[derive(Clone, Debug)]
struct Task {
    /// Piece + kerf for each size, the largest first.
    sizes: Vec<i64>,
    /// How many of each size.
    demand: Way,
    /// Usable + kerf for each supply.
    rooms: Vec<i64>,
    /// How many there are of each.
    counts: Vec<Option<u32>>,
    costs: Vec<Cost>,
}

impl Task {
    fn cost(&self, answer: &[Filled]) -> Cost {
        let mut sum = [0; LEVELS];
        for bar in answer {
            for (sum, cost) in sum.iter_mut().zip(self.costs[bar.supply]) {
                *sum += cost;
            }
        }
        sum
    }

    /// What is left of a bar behind a way to fill it, the last kerf taken off.
    fn left(&self, supply: usize, way: &[u32]) -> i64 {
        self.rooms[supply] - self.sizes.iter().zip(way).map(|(size, count)| size * i64::from(*count)).sum::<i64>()
    }
}

/// The cutting of pieces, whose lengths are above 0, from supplies.
///
/// A count of 0 and a supply of nothing usable do no harm. The answer does not depend on the order of the pieces, but for which of two equal pieces is cut where.
///
/// ```
/// use tubewright::cutting::{Kind, Supply, cut};
/// let bars = [Supply { kind: Kind::Bought, length: 8, usable: 8, count: None }];
/// // 4 + 2 + 2 and 3 + 3 + 2; taking the longest that fits would open a third bar.
/// let cutting = cut(0, &bars, &[4, 3, 3, 2, 2, 2]);
/// assert_eq!((cutting.cuts.len(), cutting.bought, cutting.best()), (2, 16, true));
/// ```
#[must_use]
pub fn cut(kerf: i64, supplies: &[Supply], pieces: &[i64]) -> Cutting {
    let fits = |piece: i64| supplies.iter().any(|supply| supply.usable >= piece && supply.count != Some(0));
    let mut places: Vec<usize> = (0..pieces.len()).filter(|place| fits(pieces[*place])).collect();
    let mut uncut: Vec<usize> = (0..pieces.len()).filter(|place| !fits(pieces[*place])).collect();
    places.sort_by_key(|place| (core::cmp::Reverse(pieces[*place]), *place));
    let alike: Vec<&[usize]> = places.chunk_by(|one, other| pieces[*one] == pieces[*other]).collect();
    let task = task(kerf, supplies, &alike.iter().map(|group| (pieces[group[0]], group.len())).collect::<Vec<_>>());

    let mut answer = first_fit::first_fit(&task);
    let mut proved = [false; LEVELS];
    let mut at_least = [0; LEVELS];
    for level in 0..LEVELS {
        let found = search::improve(&task, level, &answer);
        answer = found.answer;
        at_least[level] = found.at_least;
        proved[level] = found.proved;
    }
    gather::gather(&task, &mut answer);

    answer.sort_by(|one, other| one.supply.cmp(&other.supply).then_with(|| other.way.cmp(&one.way)));
    let mut left: Vec<core::slice::Iter<'_, usize>> = alike.iter().map(|group| group.iter()).collect();
    let mut cuts = Vec::new();
    for bar in &answer {
        let taken: Vec<usize> = bar
            .way
            .iter()
            .zip(&mut left)
            .flat_map(|(count, left)| left.by_ref().take(*count as usize).copied().collect::<Vec<_>>())
            .collect();
        if bar.supply < supplies.len() {
            cuts.push(Cut { supply: bar.supply, pieces: taken });
        } else {
            uncut.extend(taken);
        }
    }
    uncut.sort_unstable();
    let bought = task.cost(&answer)[BOUGHT];
    Cutting { cuts, uncut, bought, at_least: at_least[BOUGHT].min(bought), proved_uncut: proved[UNCUT] }
}

/// The task; behind the supplies stands one for each size that could run short, which is what is not cut.
fn task(kerf: i64, supplies: &[Supply], sizes: &[(i64, usize)]) -> Task {
    let endless = supplies.iter().filter(|supply| supply.count.is_none()).map(|supply| supply.usable).max();
    let mut task = Task {
        sizes: sizes.iter().map(|(piece, _)| piece + kerf).collect(),
        demand: sizes.iter().map(|(_, count)| u32::try_from(*count).unwrap_or(u32::MAX)).collect(),
        rooms: supplies.iter().map(|supply| supply.usable + kerf).collect(),
        counts: supplies.iter().map(|supply| supply.count).collect(),
        costs: supplies
            .iter()
            .map(|supply| match supply.kind {
                Kind::Offcut => [0; LEVELS],
                Kind::AtHand => [0, 0, supply.length, 1],
                Kind::Bought => [0, supply.length, 0, 1],
            })
            .collect(),
    };
    for (piece, _) in sizes.iter().filter(|(piece, _)| endless.is_none_or(|most| *piece > most)) {
        task.rooms.push(piece + kerf);
        task.counts.push(None);
        task.costs.push([*piece, 0, 0, 0]);
    }
    task
}
