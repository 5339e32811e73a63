//! A job that is being worked on: its text, what it says, its plan, and the way back.
//!
//! ```text
//! text --edit--> text --read--> job --a thread of its own--> plan
//!   |                  \--> mistakes, each beside its figure
//!   undo, redo, save
//! ```
//!
//! The text is the only thing that is kept: every figure that is changed in the window is changed in the text of the file,
//! and what is saved is what was typed, with the remarks around it. The plan that is shown is that of the text when the
//! [`State`] is solved, and else the last good one, which then is old.

pub mod changes;
mod disk;
pub mod live;
pub mod outline;
mod paper;
mod solver;

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use tubewright::file::edit::{self, At, Edit};
use tubewright::file::mistake::{Mistake, Mistakes, Place, Source};
use tubewright::file::tree::{self, Node, Value};
use tubewright::file::{Disk, Files, open_job};
use tubewright::job::Job;
use tubewright::plan::Plan;
use tubewright::round::People;
use tubewright::units::LengthUnit;

use self::disk::{Beside, Overlaid};
pub use self::disk::{NotWritten, write_whole};
use self::outline::Outline;
pub use self::paper::Kind;
use self::solver::{Answer, Ask, Solver};

/// Bytes of text that the way back may hold: some ten thousand changes of a usual job.
const WAY_BACK: usize = 64 * 1024 * 1024;

/// What the plan that is shown has to do with what stands in the fields.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// It is the plan of what stands there.
    Solved,
    /// It is being worked out; what is shown is old.
    Solving,
    /// There is none, and why; what is shown is old.
    Stale(String),
}

/// What is asked of the plan, as on the command line.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Orders fixed by hand, by the tube's name.
    pub orders: BTreeMap<String, String>,
    /// Whether tight steps count as feasible.
    pub accept_tight: bool,
    /// How figures are printed; `None` goes by the units of the file.
    pub people: Option<People>,
}

/// What undo goes back to.
#[derive(Clone, Debug)]
struct Past {
    text: Arc<str>,
    orders: BTreeMap<String, String>,
    anew: bool,
}

/// A job that is being worked on.
#[derive(Debug)]
pub struct Work {
    path: PathBuf,
    /// Bytes of the file as it was read or written last.
    on_disk: Vec<u8>,
    beside: Beside,
    text: Arc<str>,
    tree: Node,
    outline: Arc<Outline>,
    /// The text was written anew: its remarks are gone.
    anew: bool,
    asked: Asked,
    /// The job of the text; `None` where it has mistakes.
    job: Option<Arc<Job>>,
    mistakes: Option<Mistakes>,
    shown: Option<(Arc<Job>, Arc<Plan>)>,
    state: State,
    progress: (usize, usize),
    solver: Solver,
    undo: Vec<Past>,
    redo: Vec<Past>,
    /// The figure whose last change the next one joins.
    joining: Option<At>,
    outside: Option<PathBuf>,
}

impl Work {
    /// Reads a job and asks for its plan. A job whose figures have mistakes is opened all the same, to be put right.
    ///
    /// # Errors
    /// What cannot be read at all: a missing file, one that is no tree.
    pub fn open(path: &Path, asked: Asked) -> Result<Self, Mistakes> {
        let (text, tree) = read(path)?;
        let mut work = Self {
            path: path.to_path_buf(),
            on_disk: text.as_bytes().to_vec(),
            beside: Beside::default(),
            text: text.into(),
            outline: Arc::new(Outline::of(&tree)),
            tree,
            anew: false,
            asked,
            job: None,
            mistakes: None,
            shown: None,
            state: State::Solving,
            progress: (0, 0),
            solver: Solver::new(),
            undo: Vec::new(),
            redo: Vec::new(),
            joining: None,
            outside: None,
        };
        work.read_again();
        Ok(work)
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What the file says with all changes.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What the file holds, figure by figure.
    #[must_use]
    pub fn outline(&self) -> Arc<Outline> {
        Arc::clone(&self.outline)
    }

    /// The job of what stands in the fields; `None` where that has mistakes.
    #[must_use]
    pub fn job(&self) -> Option<&Job> {
        self.job.as_deref()
    }

    /// The plan that is shown, with its job; `None` until the first one is there. It is old where [`Work::is_old`] says so.
    #[must_use]
    pub fn shown(&self) -> Option<(&Job, &Plan)> {
        self.shown.as_ref().map(|(job, plan)| (&**job, &**plan))
    }

    /// The same, to be kept while the work goes on.
    #[must_use]
    pub fn held(&self) -> Option<(Arc<Job>, Arc<Plan>)> {
        self.shown.clone()
    }

    /// The plan that is shown.
    #[must_use]
    pub fn plan(&self) -> Option<&Plan> {
        self.shown.as_ref().map(|(_, plan)| &**plan)
    }

    /// What the plan that is shown has to do with what stands in the fields.
    #[must_use]
    pub const fn state(&self) -> &State {
        &self.state
    }

    /// Whether the plan that is shown is not that of what stands in the fields.
    #[must_use]
    pub fn is_old(&self) -> bool {
        self.state != State::Solved
    }

    /// Whether card and layout can be made.
    #[must_use]
    pub fn can_print(&self) -> bool {
        self.state == State::Solved && self.shown.is_some()
    }

    /// Tubes that are planned, of how many, while the plan is worked out.
    #[must_use]
    pub const fn progress(&self) -> (usize, usize) {
        self.progress
    }

    /// How figures are printed.
    #[must_use]
    pub fn people(&self) -> People {
        let units = At::top().key("units").of(&self.tree).and_then(Node::written).and_then(LengthUnit::from_name);
        self.asked.people.unwrap_or_else(|| units.map_or_else(People::mm, People::usual))
    }

    /// All mistakes of what stands in the fields, in the order of the file.
    #[must_use]
    pub fn mistakes(&self) -> &[Mistake] {
        self.mistakes.as_ref().map_or(&[], |mistakes| &mistakes.list)
    }

    /// Line and column of a mistake with the name of its file.
    #[must_use]
    pub fn where_is(&self, mistake: &Mistake) -> String {
        let Some(mistakes) = &self.mistakes else { return String::new() };
        let (line, column) = mistakes.line_column(&mistake.place);
        let file = mistakes.files.get(mistake.place.file).map_or("", |source| source.path.as_str());
        let name = Path::new(file).file_name().unwrap_or_default().to_string_lossy();
        format!("{name}, line {line}, column {column}")
    }

    /// The mistakes that stand at a figure.
    #[must_use]
    pub fn mistakes_at(&self, at: &At) -> Vec<&Mistake> {
        let Some(node) = at.of(&self.tree).filter(|node| !node.aliased) else { return Vec::new() };
        let here = |place: &Place| {
            let (start, end) = place.span;
            place.file == 0 && start >= node.span.start && end <= node.span.end.max(node.span.start + 1)
        };
        let scalar = !matches!(node.value, Value::List(_) | Value::Map(_));
        self.mistakes().iter().filter(|mistake| scalar && here(&mistake.place)).collect()
    }

    /// Something else is said by a figure. Changes of one figure that follow each other are one step on the way back,
    /// until [`Work::pause`].
    ///
    /// # Errors
    /// In words, where there is no such figure.
    pub fn set(&mut self, at: &At, said: &str) -> Result<(), String> {
        let joins = self.joining.as_ref() == Some(at);
        // What is typed over itself is no step that the next change could join.
        if self.change(&[Edit::Set { at: at.clone(), said: said.to_owned() }], joins)? {
            self.joining = Some(at.clone());
        }
        Ok(())
    }

    /// Several changes that are one step on the way back.
    ///
    /// # Errors
    /// In words, where one of them cannot be made; then none is.
    pub fn edit(&mut self, edits: &[Edit]) -> Result<(), String> {
        self.change(edits, false).map(drop)
    }

    /// The next change of the same figure is a step of its own on the way back.
    pub fn pause(&mut self) {
        self.joining = None;
    }

    /// Whether anything is now other than it was.
    fn change(&mut self, edits: &[Edit], joins: bool) -> Result<bool, String> {
        let edited = edit::apply(&self.text, edits).map_err(|refused| refused.to_string())?;
        if edited.text == *self.text {
            return Ok(false);
        }
        if joins {
            self.redo.clear();
        } else {
            self.remember();
        }
        self.text = edited.text.into();
        self.anew |= !edited.in_place;
        self.read_again();
        Ok(true)
    }

    /// The order that is fixed by hand for a tube.
    #[must_use]
    pub fn order(&self, tube: &str) -> Option<&str> {
        self.asked.orders.get(tube).map(String::as_str)
    }

    /// Fixes the order of a tube by hand, as `2A 1A`, or lets it be worked out. It is no part of the file.
    pub fn set_order(&mut self, tube: &str, order: Option<&str>) {
        if self.order(tube) == order {
            return;
        }
        self.remember();
        match order {
            Some(order) => drop(self.asked.orders.insert(tube.to_owned(), order.to_owned())),
            None => drop(self.asked.orders.remove(tube)),
        }
        self.read_again();
    }

    fn now(&self) -> Past {
        Past { text: Arc::clone(&self.text), orders: self.asked.orders.clone(), anew: self.anew }
    }

    fn remember(&mut self) {
        self.joining = None;
        self.redo.clear();
        self.undo.push(self.now());
        let mut held: usize = self.undo.iter().map(|past| past.text.len()).sum();
        while held > WAY_BACK && self.undo.len() > 1 {
            held -= self.undo.remove(0).text.len();
        }
    }

    /// Whether there is something to undo.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Whether there is something to do again.
    #[must_use]
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// One step back.
    pub fn undo(&mut self) {
        if let Some(past) = self.undo.pop() {
            let now = self.now();
            self.redo.push(now);
            self.go_to(past);
        }
    }

    /// One step on again.
    pub fn redo(&mut self) {
        if let Some(past) = self.redo.pop() {
            let now = self.now();
            self.undo.push(now);
            self.go_to(past);
        }
    }

    fn go_to(&mut self, past: Past) {
        self.joining = None;
        (self.text, self.asked.orders, self.anew) = (past.text, past.orders, past.anew);
        self.read_again();
    }

    /// Reads the text again, and asks for its plan.
    fn read_again(&mut self) {
        // What an edit leaves can always be read: it was read back before it was taken.
        if let Ok(tree) = tree::parse(&self.text) {
            self.outline = Arc::new(Outline::of(&tree));
            self.tree = tree;
        }
        self.solver.forget();
        self.progress = (0, 0);
        let files = Overlaid { path: &self.path, text: &self.text, beside: &self.beside };
        match open_job(&files, &self.path) {
            Ok(opened) => {
                let job = Arc::new(opened.job);
                self.job = Some(Arc::clone(&job));
                self.mistakes = None;
                self.state = State::Solving;
                let orders = self.asked.orders.clone();
                self.solver.ask(Ask { job, orders, accept_tight: self.asked.accept_tight, people: self.people() });
            }
            Err(mistakes) => {
                self.job = None;
                let first = mistakes.list.first().map_or_else(String::new, |mistake| mistake.message.clone());
                self.mistakes = Some(mistakes);
                self.state = State::Stale(first);
            }
        }
    }

    /// Takes what the thread has found; whether anything changed. To be called once for each picture.
    pub fn poll(&mut self) -> bool {
        let mut any = false;
        while self.state == State::Solving
            && let Some(answer) = self.solver.answer()
        {
            self.take(answer);
            any = true;
        }
        any
    }

    /// Waits until the plan is there, or cannot be.
    pub fn wait(&mut self) {
        while self.state == State::Solving {
            if let Some(answer) = self.solver.wait(Duration::from_secs(60)) {
                self.take(answer);
            }
        }
    }

    fn take(&mut self, answer: Answer) {
        match answer {
            Answer::At(done, of) => self.progress = (done, of),
            Answer::Planned(job, Ok(plan)) => {
                self.shown = Some((job, Arc::new(plan)));
                self.state = State::Solved;
            }
            Answer::Planned(_, Err(mistake)) => self.state = State::Stale(mistake.to_string()),
            Answer::Gone => {
                self.state =
                    State::Stale("the plan could not be worked out: save your changes and start anew".to_owned());
                self.solver = Solver::new();
            }
        }
    }

    /// Whether there is something to save.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        self.text.as_bytes() != self.on_disk
    }

    /// Whether the last changes cost the file its remarks, so that it can only be saved under another name.
    #[must_use]
    pub const fn is_anew(&self) -> bool {
        self.anew
    }

    /// Writes the changes into the file.
    ///
    /// # Errors
    /// See [`NotWritten`]: above all where the file is no longer the one that was read.
    pub fn save(&mut self) -> Result<(), NotWritten> {
        self.joining = None;
        if self.anew && self.is_changed() {
            return Err(NotWritten::Anew);
        }
        if Disk.read(&self.path).ok().as_ref() != Some(&self.on_disk) {
            self.outside = Some(self.path.clone());
            return Err(NotWritten::ChangedOutside(self.name()));
        }
        if self.is_changed() {
            write_whole(&self.path, true, self.text.as_bytes())?;
            self.on_disk = self.text.as_bytes().to_vec();
        }
        Ok(())
    }

    /// Writes a new file in the folder of the job and goes on with that. A name without an extension gets `.yaml`. Another
    /// folder is refused: the path of the bender in the file starts at the file's own.
    ///
    /// # Errors
    /// See [`NotWritten`]: a file that is there is never replaced.
    pub fn save_as(&mut self, name: &str) -> Result<(), NotWritten> {
        let name = name.trim();
        if Path::new(name).file_name() != Some(OsStr::new(name)) || name.contains(['/', '\\', ':']) {
            return Err(NotWritten::NoName(name.to_owned()));
        }
        let mut path = self.path.with_file_name(name);
        if path.extension().is_none() {
            path.set_extension("yaml");
        }
        write_whole(&path, false, self.text.as_bytes())?;
        self.path = path;
        self.on_disk = self.text.as_bytes().to_vec();
        self.anew = false;
        self.outside = None;
        self.read_again();
        self.joining = None;
        Ok(())
    }

    /// Name of the file, without its folder.
    #[must_use]
    pub fn name(&self) -> String {
        self.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// Reads the files again and compares their bytes; the one that is no longer what was read.
    pub fn look_outside(&mut self) -> Option<&Path> {
        let job = Disk.read(&self.path).ok().filter(|bytes| *bytes == self.on_disk);
        self.outside = if job.is_none() { Some(self.path.clone()) } else { self.beside.changed() };
        self.outside()
    }

    /// The file that was no longer what was read, when that was looked at last.
    #[must_use]
    pub fn outside(&self) -> Option<&Path> {
        self.outside.as_deref()
    }

    /// Takes the files as they are now. Where the job's own file changed its text is taken; undo brings back what stood
    /// in the fields.
    ///
    /// # Errors
    /// In words, where the file cannot be read as a job; then nothing changes.
    pub fn reload(&mut self) -> Result<(), String> {
        let (text, _) = read(&self.path)
            .map_err(|mistakes| mistakes.list.first().map_or_else(String::new, |mistake| mistake.message.clone()))?;
        if text.as_bytes() != self.on_disk || self.outside.is_none() {
            self.remember();
            self.on_disk = text.as_bytes().to_vec();
            self.text = text.into();
            self.anew = false;
        }
        self.joining = None;
        self.outside = None;
        self.beside = Beside::default();
        self.read_again();
        Ok(())
    }
}

/// The text of a file with its tree.
fn read(path: &Path) -> Result<(String, Node), Mistakes> {
    let name = path.to_string_lossy().into_owned();
    let refused = |text: &str, code, span, message: String, help: String| {
        let source = Source { path: name.clone(), text: text.into() };
        Mistakes::new(vec![source], vec![Mistake::new(code, Place::new(0, &span), message, help)])
    };
    // What the reader of jobs says of a file that is none is said in its words.
    let unread = |text: &str| {
        let told = open_job(&Disk, path).err();
        told.unwrap_or_else(|| {
            refused(
                text,
                "file-unreadable",
                0..0,
                "the file changed while it was read".to_owned(),
                "try again".to_owned(),
            )
        })
    };
    let bytes = Disk.read(path).map_err(|_| unread(""))?;
    let text = String::from_utf8(bytes).map_err(|_| unread(""))?;
    match tree::parse(&text) {
        Ok(tree) => Ok((text, tree)),
        Err(wrong) => Err(refused(&text, wrong.code, wrong.span, wrong.message, wrong.help)),
    }
}
