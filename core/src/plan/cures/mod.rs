//! Cures: changes that make an order possible where there is none, each tried by planning again.
//!
//! A cure is offered only where the changed tube, on the changed bender, was solved and its best order walked to the end with every step
//! as clear as it was asked to be. Each changes one thing, by the smallest amount of a ladder that works. They stand in the order of the
//! effort that they are, of the same kind the cheaper plan first.
//!
//! ```text
//! tail          more tube at an end, cut off after bending      up to 3 x 9 plans
//! accept-tight  gaps that touch nothing, watched                        1
//! node, leg     a corner moved along a leg, or a leg's length           4 x 10 a corner, 2 x 10 a leg
//! die           another die for one bend, or for all                    8 x (bends + 1)
//! split         two tubes, joined after bending                         2 x (bends + 1)
//! higher        the bender further up from the floor                    4
//! ```
//!
//! That is 742 plans at most for 14 bends. With more bends one plan takes long: then only three lengths of tail at either end, tight gaps and
//! the height are tried, 11 plans.

mod shapes;

use core::sync::atomic::Ordering;
use std::collections::BTreeSet;

use nalgebra::Vector3;

use self::shapes::{fitted, halves, image, with_dies, with_leg, with_node, written};
use super::fitness::Fitness;
use super::walk::Walk;
use super::{Options, PlanStep, WhyNot, notes, tightest};
use crate::centreline::BendId;
use crate::clearance::Machine;
use crate::job::{GivenBy, Job, Tube};
use crate::order::cost::Cost;
use crate::order::{self, MOST_BENDS, Progress, Task, Watch};
use crate::round::{People, Units};
use crate::units::{Angle, Length};

/// One change, and what it changes in the files.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// More tube left on at the ends: what `extra` becomes, `None` where it stays.
    Tail {
        /// Beyond the first node.
        extra_a: Option<Length>,
        /// Beyond the last node.
        extra_b: Option<Length>,
    },
    /// Gaps under what should be kept are accepted where nothing touches.
    AcceptTight,
    /// A node moved.
    Node {
        /// Its name in the file.
        node: String,
        /// By so much in the job's axes, mm.
        by: Vector3<f64>,
    },
    /// A leg made longer.
    Leg {
        /// Which, counted from end A, the first being 1.
        leg: usize,
        /// By so much; below 0 it gets shorter.
        by: Length,
    },
    /// Another die.
    Die {
        /// For these bends.
        bends: Vec<BendId>,
        /// The die's name.
        die: String,
    },
    /// Two tubes, joined after bending.
    Split {
        /// The leg that is cut in the middle of its straight, counted from end A, the first being 1.
        leg: usize,
        /// Where, along the finished centreline from the first node.
        at: Length,
    },
    /// The bender stands higher.
    Higher {
        /// The new height of the tube's centreline at the die above the floor.
        centre_height: Length,
    },
}

impl Change {
    /// The word for this kind of change in the output for machines.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Tail { .. } => "tail",
            Self::AcceptTight => "accept-tight",
            Self::Node { .. } => "node",
            Self::Leg { .. } => "leg",
            Self::Die { .. } => "die",
            Self::Split { .. } => "split",
            Self::Higher { .. } => "higher",
        }
    }
}

/// A change with which the tube can be bent, and what its best order then comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Cure {
    /// The change.
    pub change: Change,
    /// In words, with figures in the units asked for.
    pub text: String,
    /// What the best order costs with it; of two tubes the sum.
    pub cost: Cost,
    /// Smallest gap of all bends of that order; `None` where all are comfortable.
    pub tightest: Option<Length>,
}

/// What was found.
#[derive(Clone, Debug, Default)]
pub(super) struct Cures {
    pub(super) found: Vec<Cure>,
    /// Whether it was stopped before everything was tried.
    pub(super) stopped: bool,
}

/// Tubes of more bends get the short list: each plan takes a good part of a second by then.
const ALL_UP_TO: usize = 14;

/// Dies that are tried, in the order of the file.
const MOST_DIES: usize = 8;

/// Cures of a kind that are offered where more would do.
const OFFERED: usize = 2;

/// The bends that a cure is looked for at: those that a reason names.
pub(super) fn bends_named(why_not: &[WhyNot]) -> Vec<BendId> {
    let bends: BTreeSet<BendId> = why_not.iter().map(|why| why.bend).collect();
    bends.into_iter().collect()
}

/// All cures of a tube that has no order; `named` are the bends that are in the way.
pub(super) fn cures(
    machine: &Machine,
    job: &Job,
    tube: &Tube,
    options: &Options,
    named: &[BendId],
    watch: &mut Watch<'_>,
) -> Cures {
    if tube.dies.is_empty() || tube.dies.len() > MOST_BENDS {
        return Cures::default();
    }
    let mut search = Search { machine, job, tube, options, named, watch };
    let mut found = search.tail();
    found.extend(search.accept_tight());
    if tube.dies.len() <= ALL_UP_TO {
        found.extend(if tube.given == GivenBy::Nodes { search.node() } else { search.leg() });
        found.extend(search.die());
        found.extend(search.split());
    }
    found.extend(search.higher());
    Cures { found, stopped: search.stopped() }
}

struct Search<'a, 'w> {
    machine: &'a Machine,
    job: &'a Job,
    tube: &'a Tube,
    options: &'a Options,
    named: &'a [BendId],
    watch: &'a mut Watch<'w>,
}

/// The best order of a changed tube, walked to its end.
struct Planned {
    cost: Cost,
    tightest: Option<Length>,
    steps: Vec<PlanStep>,
}

impl Planned {
    fn cure(self, change: Change, text: String) -> Cure {
        Cure { change, text, cost: self.cost, tightest: self.tightest }
    }
}

/// Amounts to be tried, the smallest first, round in the units that people read.
fn ladder(people: &People, mm: &[f64], inch: &[f64]) -> Vec<Length> {
    match people.units {
        Units::Mm(_) => mm.iter().copied().map(Length::mm).collect(),
        Units::Inch(_) => inch.iter().copied().map(Length::inch).collect(),
    }
}

fn sort(cures: &mut [Cure]) {
    cures.sort_by(|one, other| (one.cost, &one.text).cmp(&(other.cost, &other.text)));
}

impl Search<'_, '_> {
    fn stopped(&self) -> bool {
        self.watch.stop.load(Ordering::Relaxed)
    }

    fn people(&self) -> &People {
        &self.options.people
    }

    /// The plan of a changed tube, where it has one that is as clear as asked.
    fn plan(&mut self, machine: &Machine, job: &Job, tube: &Tube, options: &Options) -> Option<Planned> {
        if self.stopped() {
            return None;
        }
        // The work that is left cannot be told, so that the part that is done stays where it is.
        (self.watch.progress)(Progress { share: 1.0, expanded: 0 });
        let blank = tube.blank(&job.bender);
        // Springback below 0 can take a bend away.
        if blank.bends.iter().any(|bend| bend.die_angle <= Angle::ZERO) {
            return None;
        }
        // A cure that breaks a rule of the user's is none.
        let [before, after] =
            [(self.job, self.tube), (job, tube)].map(|(job, tube)| Fitness::new(job, tube, &options.people));
        if after.broken().any(|limit| before.broken().all(|before| !limit.is_no_worse_than(before))) {
            return None;
        }
        let accept_tight = options.accept_tight;
        let task = Task { bender: &job.bender, machine, blank: &blank, accept_tight, best: 1 };
        let order = order::best(&task, &mut Watch { stop: self.watch.stop, progress: &mut |_| {} })?;
        let walked = Walk { machine, job, tube, blank: &blank, options, begun: 0 }.whole(&order);
        walked.blocked_at.is_none().then(|| Planned {
            cost: walked.cost,
            tightest: tightest(&walked.steps),
            steps: walked.steps,
        })
    }

    fn plan_tube(&mut self, tube: &Tube) -> Option<Planned> {
        self.plan(self.machine, self.job, tube, self.options)
    }

    fn tail(&mut self) -> Vec<Cure> {
        let mut ladder = ladder(
            self.people(),
            &[25.0, 50.0, 75.0, 100.0, 150.0, 200.0, 300.0, 400.0, 600.0],
            &[1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0],
        );
        let few = self.tube.dies.len() > ALL_UP_TO;
        if few {
            ladder = [3, 6, 8].map(|rung| ladder[rung]).to_vec();
        }
        let mut found: Vec<Cure> = [(true, false), (false, true)]
            .into_iter()
            .filter_map(|(a, b)| ladder.iter().find_map(|more| self.longer(*more, a, b)))
            .collect();
        if found.is_empty() && !few {
            found.extend(ladder.iter().find_map(|more| self.longer(*more, true, true)));
        }
        sort(&mut found);
        found
    }

    fn longer(&mut self, more: Length, a: bool, b: bool) -> Option<Cure> {
        let tube = self.tube;
        let extra_a = a.then(|| tube.extra_a + more);
        let extra_b = b.then(|| tube.extra_b + more);
        let longer =
            Tube { extra_a: extra_a.unwrap_or(tube.extra_a), extra_b: extra_b.unwrap_or(tube.extra_b), ..tube.clone() };
        let planned = self.plan_tube(&longer)?;
        let more = self.people().length_with_unit(more);
        let place = match (a, b) {
            (true, true) => "both ends",
            (true, false) => "end A",
            _ => "end B",
        };
        let text = format!("leave {more} more at {place} and cut it off after bending");
        Some(planned.cure(Change::Tail { extra_a, extra_b }, text))
    }

    fn accept_tight(&mut self) -> Option<Cure> {
        /// Gaps that are put in words.
        const TOLD: usize = 3;
        if self.options.accept_tight {
            return None;
        }
        let options = Options { accept_tight: true, ..self.options.clone() };
        let planned = self.plan(self.machine, self.job, self.tube, &options)?;
        let mut watched = notes::tight(&planned.steps, &options);
        let more = watched.len().saturating_sub(TOLD);
        watched.truncate(TOLD);
        let mut text = format!("accept what is tight (--accept-tight) and watch {}", watched.join("; "));
        if more > 0 {
            text.push_str(&format!("; and {more} more such gaps"));
        }
        Some(planned.cure(Change::AcceptTight, text))
    }

    /// Amounts by which a corner is moved or a leg changed.
    fn moves(&self) -> Vec<Length> {
        ladder(
            self.people(),
            &[5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0],
            &[0.125, 0.25, 0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0],
        )
    }

    /// The smallest changes of all that work, at most two; each candidate by its own smallest amount.
    fn smallest<C>(&mut self, mut left: Vec<C>, attempt: impl Fn(&mut Self, &C, Length) -> Option<Cure>) -> Vec<Cure> {
        let mut found = Vec::new();
        for amount in self.moves() {
            let mut here = Vec::new();
            left.retain(|candidate| {
                let cure = attempt(self, candidate, amount);
                let open = cure.is_none();
                here.extend(cure);
                open
            });
            sort(&mut here);
            found.extend(here);
            if found.len() >= OFFERED {
                break;
            }
        }
        found.truncate(OFFERED);
        sort(&mut found);
        found
    }

    /// Corners beside a bend that is named first; the others only where that yields nothing.
    fn in_turn(
        &mut self,
        near: impl Fn(usize) -> bool,
        count: usize,
        of: impl Fn(&mut Self, Vec<usize>) -> Vec<Cure>,
    ) -> Vec<Cure> {
        let (first, rest): (Vec<usize>, Vec<usize>) = (0..count).partition(|place| near(*place));
        let found = of(self, first);
        if found.is_empty() { of(self, rest) } else { found }
    }

    fn node(&mut self) -> Vec<Cure> {
        let named = self.named;
        let near = |bend: usize| named.iter().any(|named| named.0.abs_diff(bend) <= 1);
        let mut known = BTreeSet::new();
        let candidates: Vec<Vec<Move>> =
            (0..self.tube.dies.len()).map(|bend| self.moves_of(bend, &mut known)).collect();
        self.in_turn(near, candidates.len(), |search, bends| {
            let moves = bends.into_iter().flat_map(|bend| candidates[bend].iter().cloned()).collect();
            search.smallest(moves, Self::moved)
        })
    }

    /// The moves of a bend's node along its two legs. One that moves the same node of the file the same way as one that is known already
    /// is left out: a tube that is its own mirror image has each twice.
    fn moves_of(&self, bend: usize, known: &mut BTreeSet<(String, [i64; 3])>) -> Vec<Move> {
        let line = &self.tube.centreline;
        let corner = |bend: usize| line.bend_nodes.get(bend).copied().unwrap_or(line.nodes.len() - 1);
        let at = corner(bend);
        let point = |place: usize| line.nodes.get(place).copied().flatten();
        let name = |place: usize| self.tube.node_names.get(place)?.as_deref();
        let mut moves = Vec::new();
        for other in [bend.checked_sub(1).map_or(0, corner), corner(bend + 1)] {
            let (Some(from), Some(to), Some(own), Some(toward)) = (point(at), point(other), name(at), name(other))
            else {
                continue;
            };
            for (sign, way) in [(1.0, "toward"), (-1.0, "away from")] {
                let along = (to - from).normalize() * sign;
                let node = written(self.job, own);
                // What was surveyed is where it is: no file moves it.
                if self.job.surveyed.as_ref().is_some_and(|surveyed| surveyed.nodes.contains_key(node)) {
                    continue;
                }
                let (along, words) = if node == own {
                    (along, format!(" {way} {toward}"))
                } else {
                    (image(self.job, &along), String::new())
                };
                // To a millionth: far above rounding, far below what a figure shows.
                let key = [along.x, along.y, along.z].map(|part| (part * 1e6).round() as i64);
                if known.insert((node.to_owned(), key)) {
                    moves.push(Move { node: node.to_owned(), along, words });
                }
            }
        }
        moves
    }

    fn moved(&mut self, candidate: &Move, amount: Length) -> Option<Cure> {
        let Move { node, along, words } = candidate;
        let job = self.job;
        let people = *self.people();
        // What is tried is what is printed: tenths of a millimetre, thousandths of an inch.
        let by = along.map(|part| {
            let part = amount * part;
            let rounded = match people.units {
                Units::Mm(_) => Length::mm((part.to_mm() * 10.0).round() / 10.0),
                Units::Inch(_) => Length::inch((part.to_inch() * 1000.0).round() / 1000.0),
            };
            rounded.to_mm() + 0.0
        });
        let tube = with_node(self.tube, job, node, &by)?;
        let others = job.tubes.iter().filter(|other| {
            other.name != tube.name && other.node_names.iter().flatten().any(|name| written(job, name) == node)
        });
        let others: Vec<&Tube> = others.collect();
        // The job must stay one that can be read.
        let moved = others.iter().map(|other| with_node(other, job, node, &by));
        let changed: Vec<Tube> = core::iter::once(Some(tube)).chain(moved).collect::<Option<_>>()?;
        let tube = fitted(job, &changed)?;
        let planned = self.plan_tube(&tube)?;
        let parts: Vec<String> = ["x", "y", "z"]
            .into_iter()
            .zip(by.iter())
            .filter(|(_, part)| **part != 0.0)
            .map(|(axis, part)| format!("{axis} by {}", people.figure(Length::mm(*part))))
            .collect();
        let mut text = format!("move node {node} by {}{words}: {}", people.length_with_unit(amount), parts.join(", "));
        let images = job.mirror.iter().flat_map(|mirror| &mirror.images);
        for (image, _) in images.filter(|(_, of)| *of == node) {
            text.push_str(&format!("; its image {image} moves with it"));
        }
        if !others.is_empty() {
            let names: Vec<&str> = others.iter().map(|other| other.name.as_str()).collect();
            text.push_str(&format!("; it changes {} too", names.join(", ")));
        }
        Some(planned.cure(Change::Node { node: node.clone(), by }, text))
    }

    fn leg(&mut self) -> Vec<Cure> {
        let named = self.named;
        let legs = self.tube.dies.len() + 1;
        let near = |leg: usize| named.iter().any(|named| leg == named.0 || leg == named.0 + 1);
        self.in_turn(near, legs, |search, chosen| {
            // Longer end legs are tails, which cost the finished tube nothing.
            let ways = |leg: usize| if leg == 0 || leg + 1 == legs { vec![-1.0] } else { vec![1.0, -1.0] };
            let candidates =
                chosen.into_iter().flat_map(|leg| ways(leg).into_iter().map(move |way| (leg, way))).collect();
            search.smallest(candidates, Self::other_leg)
        })
    }

    fn other_leg(&mut self, (leg, way): &(usize, f64), amount: Length) -> Option<Cure> {
        let by = amount * *way;
        let tube = fitted(self.job, &[with_leg(self.tube, &self.job.bender, *leg, by)?])?;
        let planned = self.plan_tube(&tube)?;
        let amount = self.people().length_with_unit(amount);
        let longer = if *way > 0.0 { "longer" } else { "shorter" };
        let leg = leg + 1;
        Some(planned.cure(Change::Leg { leg, by }, format!("make leg {leg} {longer} by {amount}")))
    }

    fn die(&mut self) -> Vec<Cure> {
        let (job, tube) = (self.job, self.tube);
        let bender = &job.bender;
        let bends = tube.dies.len();
        let fits = |die: usize| {
            let die = &bender.dies[die];
            let listed = tube.stock.material.is_none() || tube.material_in(die).is_some();
            // A cure that breaks a rule of the user's is none.
            let allowed = job.rules.as_ref().is_none_or(|rules| rules.allow_clr(die.clr, tube.stock.od));
            listed && allowed && (tube.stock.od - die.od).abs() <= die.fit
        };
        let mut found = Vec::new();
        for die in (0..bender.dies.len()).filter(|die| fits(*die)).take(MOST_DIES) {
            let smaller = |bend: usize| bender.dies[die].clr < bender.dies[tube.dies[bend]].clr;
            let one = self.named.iter().map(|named| vec![named.0]).filter(|bends| smaller(bends[0]));
            let all: Vec<usize> = (0..bends).collect();
            let sets: Vec<Vec<usize>> =
                one.chain(Some(all).filter(|all| bends > 1 && all.iter().all(|bend| smaller(*bend)))).collect();
            for set in sets {
                let mut dies = tube.dies.clone();
                set.iter().for_each(|bend| dies[*bend] = die);
                let Some(planned) = with_dies(tube, bender, dies)
                    .and_then(|changed| fitted(self.job, &[changed]))
                    .and_then(|changed| self.plan_tube(&changed))
                else {
                    continue;
                };
                let name = &bender.dies[die].name;
                let which = match set[..] {
                    [bend] if bends > 1 => format!("bend {}", bend + 1),
                    [_] => "the bend".to_owned(),
                    _ => "all bends".to_owned(),
                };
                let clr = self.people().figure(bender.dies[die].clr);
                let mut text = format!("make {which} with die {name}, whose CLR is {clr}");
                if tube.given == GivenBy::Rows {
                    text.push_str("; the straights of the rows stay, so that its corners move");
                }
                let change = Change::Die { bends: set.into_iter().map(BendId).collect(), die: name.clone() };
                found.push(planned.cure(change, text));
            }
        }
        sort(&mut found);
        found.truncate(OFFERED);
        found
    }

    fn split(&mut self) -> Option<Cure> {
        if self.tube.one_piece {
            return None;
        }
        let mut found: Vec<Cure> = (0..=self.tube.dies.len()).filter_map(|leg| self.split_at(leg)).collect();
        sort(&mut found);
        found.into_iter().next()
    }

    fn split_at(&mut self, leg: usize) -> Option<Cure> {
        let (halves, at) = halves(self.tube, &self.job.bender, leg)?;
        let [a, b] = &halves;
        let (a, b) = (self.plan_tube(a)?, self.plan_tube(b)?);
        let leg = leg + 1;
        let text = format!(
            "make it of two tubes, cut in the middle of leg {leg}, {} along the centreline from the first node, and joined after bending; \
             have the joint judged by somebody who answers for it",
            self.people().length_with_unit(at)
        );
        let nearer = |one: Length, other: Length| if other < one { other } else { one };
        Some(Cure {
            change: Change::Split { leg, at },
            text,
            cost: a.cost + b.cost,
            tightest: [a.tightest, b.tightest].into_iter().flatten().reduce(nearer),
        })
    }

    /// A floor that is further off is never nearer to the tube, so that the smallest height is found by halving.
    fn higher(&mut self) -> Option<Cure> {
        let ladder = ladder(
            self.people(),
            &[50.0, 100.0, 150.0, 200.0, 300.0, 400.0, 600.0],
            &[2.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0],
        );
        let (mut low, mut high) = (0, ladder.len() - 1);
        let mut best = self.raised(ladder[high])?;
        while low < high {
            let middle = (low + high) / 2;
            match self.raised(ladder[middle]) {
                Some(cure) => (best, high) = (cure, middle),
                None => low = middle + 1,
            }
        }
        (!self.stopped()).then_some(best)
    }

    fn raised(&mut self, by: Length) -> Option<Cure> {
        let mut job = self.job.clone();
        job.bender.centre_height += by;
        let centre_height = job.bender.centre_height;
        let planned = self.plan(&Machine::new(&job.bender), &job, self.tube, self.options)?;
        let people = self.people();
        let (by, height) = (people.length_with_unit(by), people.length_with_unit(centre_height));
        let text = format!(
            "raise the bender by {by}, to {height} from the floor to the centreline at the die; what its file describes is taken to go up \
             with it"
        );
        Some(planned.cure(Change::Higher { centre_height }, text))
    }
}

/// A way to move a node of the file.
#[derive(Clone, Debug)]
struct Move {
    node: String,
    /// Which way, of length 1.
    along: Vector3<f64>,
    /// The same in words; empty for the image of the node that is meant.
    words: String,
}
