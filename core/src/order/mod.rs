//! Which bend first, and which end leads.
//!
//! An [`Order`] is a list of bends, each with its lead end. [`natural`] gives the two that a person tries first: from end A to end B
//! with A leading, and from end B to end A with B leading. [`cost`] says what an order costs the operator, in whole
//! milliseconds so that sums are exact and ties are real ties. [`solve()`] finds the order that costs least, or proves that there is none.
//!
//! ```text
//! task    what is asked, and how one step is judged    rooms    each part of the tube for every set of made bends
//! exact   the shortest path over all states            bounded  the same for more bends than memory holds
//! blame   why there is none: the fewest causes in its way    chain   whether the hard limits alone leave one
//! greedy  what is at hand without searching            solve    which of them is used, and what it proves
//! ```

pub(crate) mod blame;
mod bounded;
mod chain;
pub mod cost;
mod exact;
mod greedy;
mod rooms;
mod solve;
mod task;

pub(crate) use self::exact::MOST_BENDS;
pub(crate) use self::solve::best;
pub use self::solve::{Solved, solve, solve_rest};
pub use self::task::{Priced, Progress, Task, Watch};
pub(crate) use self::task::{gap_cost, handling};

use crate::centreline::BendId;
use crate::forming::LeadEnd;

/// One bend of an order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Turn {
    /// Which bend.
    pub bend: BendId,
    /// Which end leads.
    pub lead: LeadEnd,
}

/// Bends in the order in which they are made.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Order(pub Vec<Turn>);

/// The two orders that feed the tube one way only: bend 1 to the last with lead A, and the last to bend 1 with lead B.
///
/// With no bend at all both are empty.
#[must_use]
pub fn natural(bends: usize) -> [Order; 2] {
    let forward = (0..bends).map(|bend| Turn { bend: BendId(bend), lead: LeadEnd::A }).collect();
    let backward = (0..bends).rev().map(|bend| Turn { bend: BendId(bend), lead: LeadEnd::B }).collect();
    [Order(forward), Order(backward)]
}

/// Why a written order cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OrderMistake {
    /// A word that is not a bend number with a lead end.
    #[error("`{word}` is not a bend number with its lead end: write for example `2A` for bend 2 with end A leading")]
    Word {
        /// The word.
        word: String,
    },
    /// A bend that the tube has not.
    #[error("there is no bend {number}: the tube has {bends}")]
    NoSuchBend {
        /// The number as written.
        number: String,
        /// How many the tube has.
        bends: usize,
    },
    /// A bend named twice.
    #[error("bend {number} is named twice")]
    Twice {
        /// The bend's number.
        number: usize,
    },
    /// Bends that are not named.
    #[error("{} not named: every bend of the tube is made once", Missing(.numbers))]
    Missing {
        /// Their numbers.
        numbers: Vec<usize>,
    },
}

struct Missing<'a>(&'a [usize]);

impl core::fmt::Display for Missing<'_> {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let list: Vec<String> = self.0.iter().map(ToString::to_string).collect();
        match list.as_slice() {
            [one] => write!(f, "bend {one} is"),
            many => write!(f, "bends {} are", many.join(", ")),
        }
    }
}

impl Order {
    /// The order written as `2A 1A 3B`: bend number and lead end, in the order of making.
    ///
    /// # Errors
    /// A word that cannot be read, a bend that the tube has not, one named twice, or some not named.
    pub fn parse(text: &str, bends: usize) -> Result<Self, OrderMistake> {
        let mut turns = Vec::with_capacity(bends);
        let mut named = vec![false; bends];
        for word in text.split(|c: char| c.is_whitespace() || c == ',').filter(|word| !word.is_empty()) {
            let turn = Self::turn(word, bends)?;
            if core::mem::replace(&mut named[turn.bend.0], true) {
                return Err(OrderMistake::Twice { number: turn.bend.number() });
            }
            turns.push(turn);
        }
        let numbers: Vec<usize> =
            named.iter().enumerate().filter(|(_, named)| !**named).map(|(bend, _)| BendId(bend).number()).collect();
        if numbers.is_empty() { Ok(Self(turns)) } else { Err(OrderMistake::Missing { numbers }) }
    }

    pub(crate) fn turn(word: &str, bends: usize) -> Result<Turn, OrderMistake> {
        let mistake = || OrderMistake::Word { word: word.to_owned() };
        let lead = match word.chars().next_back() {
            Some('A' | 'a') => LeadEnd::A,
            Some('B' | 'b') => LeadEnd::B,
            _ => return Err(mistake()),
        };
        let digits = &word[..word.len() - 1];
        if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(mistake());
        }
        match digits.parse::<usize>() {
            Ok(number) if (1..=bends).contains(&number) => Ok(Turn { bend: BendId(number - 1), lead }),
            _ => Err(OrderMistake::NoSuchBend { number: digits.to_owned(), bends }),
        }
    }
}

impl core::fmt::Display for Turn {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{}{}", self.bend.number(), self.lead.letter())
    }
}

impl core::fmt::Display for Order {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        for (place, turn) in self.0.iter().enumerate() {
            if place > 0 {
                f.write_str(" ")?;
            }
            write!(f, "{turn}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_written_order_reads_back() {
        let order = Order::parse(" 2A 1a, 3B", 3).unwrap();
        assert_eq!(order.to_string(), "2A 1A 3B");
        assert_eq!(order.0[2], Turn { bend: BendId(2), lead: LeadEnd::B });
    }

    #[test]
    fn every_refusal_of_an_order_says_what_is_wrong() {
        let said = |text: &str, bends: usize| Order::parse(text, bends).unwrap_err().to_string();
        assert!(said("2C", 2).contains("`2C`"));
        assert!(said("A", 2).contains("`A`"));
        assert!(said("-1A", 2).contains("`-1A`"));
        assert!(said("0A 1A", 1).contains("no bend 0"));
        assert!(said("99999999999999999999999A", 1).contains("no bend 9"));
        assert!(said("1A 1B", 2).contains("twice"));
        assert_eq!(said("2A", 3), "bends 1, 3 are not named: every bend of the tube is made once");
        assert_eq!(said("1A", 2), "bend 2 is not named: every bend of the tube is made once");
        assert!(said("1\u{e9}", 1).contains("is not a bend number"));
    }

    #[test]
    fn natural_orders_run_from_either_end() {
        let [forward, backward] = natural(3);
        assert_eq!(forward.to_string(), "1A 2A 3A");
        assert_eq!(backward.to_string(), "3B 2B 1B");
        assert!(natural(0)[0].0.is_empty());
    }
}
