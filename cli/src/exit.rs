//! How the program ends, as the calling shell sees it.

use std::process::ExitCode;

/// The four ways to end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exit {
    /// All that was asked for is done.
    Done,
    /// Some tube cannot be bent as asked, a part is out of tolerance, or a survey is misread or incomplete; the document still says all that is known.
    NotAsAsked,
    /// The input or the command line is wrong.
    Mistake,
    /// Something outside is missing or full: a disk, a right to write.
    Outside,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(match exit {
            Exit::Done => 0,
            Exit::NotAsAsked => 1,
            Exit::Mistake => 2,
            Exit::Outside => 3,
        })
    }
}
