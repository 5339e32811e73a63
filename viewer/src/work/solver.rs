//! The plan worked out on a thread of its own while somebody types. The newest request wins.
//!
//! A request that is overtaken is stopped, and what it would have answered is thrown away: only a plan that was searched
//! to its end is ever shown, so the same file gives the same plan however fast it was typed.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, TryRecvError, channel};
use std::time::Duration;

use tubewright::job::Job;
use tubewright::plan::{AskMistake, Options, Plan, plan};
use tubewright::round::People;

/// What is asked.
#[derive(Clone, Debug)]
pub(super) struct Ask {
    pub(super) job: Arc<Job>,
    /// Orders fixed by hand, by the tube's name.
    pub(super) orders: BTreeMap<String, String>,
    pub(super) accept_tight: bool,
    pub(super) people: People,
}

/// What comes back.
#[derive(Debug)]
pub(super) enum Answer {
    /// So many tubes are planned, of so many.
    At(usize, usize),
    /// The plan.
    Planned(Arc<Job>, Result<Plan, AskMistake>),
    /// The thread is gone.
    Gone,
}

struct Sent {
    number: u64,
    ask: Ask,
    stop: Arc<AtomicBool>,
}

#[derive(Debug)]
pub(super) struct Solver {
    requests: Sender<Sent>,
    answers: Receiver<(u64, Answer)>,
    latest: u64,
    stop: Arc<AtomicBool>,
}

impl std::fmt::Debug for Sent {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "request {}", self.number)
    }
}

impl Solver {
    pub(super) fn new() -> Self {
        let (requests, asked) = channel::<Sent>();
        let (answering, answers) = channel();
        std::thread::spawn(move || {
            while let Ok(first) = asked.recv() {
                let newest = asked.try_iter().last().unwrap_or(first);
                let Sent { number, ask, stop } = newest;
                let planned = solved(&ask, &stop, &mut |done, of| drop(answering.send((number, Answer::At(done, of)))));
                if stop.load(Ordering::Relaxed) {
                    continue;
                }
                if answering.send((number, Answer::Planned(ask.job, planned))).is_err() {
                    return;
                }
            }
        });
        Self { requests, answers, latest: 0, stop: Arc::default() }
    }

    /// Asks for a plan; what was asked before is no longer answered.
    pub(super) fn ask(&mut self, ask: Ask) {
        self.forget();
        // A thread that is gone says so when it is asked for its answer.
        let _ = self.requests.send(Sent { number: self.latest, ask, stop: Arc::clone(&self.stop) });
    }

    /// What was asked is no longer wanted.
    pub(super) fn forget(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        self.stop = Arc::default();
        self.latest += 1;
    }

    /// An answer to the newest request, if there is one.
    pub(super) fn answer(&self) -> Option<Answer> {
        loop {
            match self.answers.try_recv() {
                Ok((number, answer)) if number == self.latest => return Some(answer),
                Ok(_) => {}
                Err(TryRecvError::Empty) => return None,
                Err(TryRecvError::Disconnected) => return Some(Answer::Gone),
            }
        }
    }

    /// The same, waiting for it; `None` where it takes longer.
    pub(super) fn wait(&self, at_most: Duration) -> Option<Answer> {
        loop {
            match self.answers.recv_timeout(at_most) {
                Ok((number, answer)) if number == self.latest => return Some(answer),
                Ok(_) => {}
                Err(RecvTimeoutError::Timeout) => return None,
                Err(RecvTimeoutError::Disconnected) => return Some(Answer::Gone),
            }
        }
    }
}

impl Drop for Solver {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

/// The plan of a job. A tube whose order is fixed by hand is asked for alone, as on the command line.
fn solved(ask: &Ask, stop: &AtomicBool, progress: &mut dyn FnMut(usize, usize)) -> Result<Plan, AskMistake> {
    let options = |tubes: Vec<String>, order: Option<String>| Options {
        tubes,
        order,
        accept_tight: ask.accept_tight,
        best: 1,
        people: ask.people,
    };
    let of = ask.job.tubes.len();
    if ask.orders.is_empty() {
        return plan(&ask.job, &options(Vec::new(), None), stop, &mut |at| progress(at.done, of));
    }
    let mut whole: Option<Plan> = None;
    for (done, tube) in ask.job.tubes.iter().enumerate() {
        progress(done, of);
        let order = ask.orders.get(&tube.name).cloned();
        let one = plan(&ask.job, &options(vec![tube.name.clone()], order), stop, &mut |_| {})?;
        match &mut whole {
            Some(whole) => whole.tubes.extend(one.tubes),
            None => whole = Some(one),
        }
    }
    match whole {
        Some(whole) => Ok(whole),
        // A job always has a tube: its reader refuses an empty list.
        None => plan(&ask.job, &options(Vec::new(), None), stop, &mut |_| {}),
    }
}
