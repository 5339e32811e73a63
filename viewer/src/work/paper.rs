//! Paper from the window: the same card and layout as on the command line, written beside the job.

use std::path::PathBuf;

use tubewright_paper::card::Card;
use tubewright_paper::layout::{Layout, TooLarge, pages, text as chalk};
use tubewright_paper::pdf::{Paper, pdf};
use tubewright_paper::sheet::sheets;
use tubewright_paper::text::text;
use tubewright_paper::words::{Words, job_name};

use super::Work;
use super::disk::{NotWritten, write_whole};

/// What is put on paper. Pages are Letter for a job in inches or feet, else A4.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The card as pages.
    Card,
    /// The card as plain text of 80 columns.
    CardText,
    /// The tubes at full size, in pages.
    Layout,
    /// Coordinates to chalk them out by, as plain text.
    Chalk,
}

impl Kind {
    /// All of them, the most used first.
    pub const ALL: [Self; 4] = [Self::Card, Self::CardText, Self::Layout, Self::Chalk];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Card => "Card",
            Self::CardText => "Card as text",
            Self::Layout => "Layout",
            Self::Chalk => "Chalk coordinates",
        }
    }
}

impl Work {
    /// Where it is written: beside the job.
    #[must_use]
    pub fn paper_path(&self, kind: Kind) -> PathBuf {
        self.path().with_extension(match kind {
            Kind::Card => "card.pdf",
            Kind::CardText => "card.txt",
            Kind::Layout => "layout.pdf",
            Kind::Chalk => "layout.txt",
        })
    }

    /// Card or layout of the job, as the command line writes it.
    ///
    /// # Errors
    /// [`NotWritten`] where there is no plan of what stands in the fields, or nothing that pages can show.
    pub fn paper(&self, kind: Kind) -> Result<Vec<u8>, NotWritten> {
        let (job, plan) = self.shown().filter(|_| self.can_print()).ok_or(NotWritten::NoPlan)?;
        let people = self.people();
        let name = job_name(self.path());
        let size = Paper::usual(job.units);
        let card = || Card::new(&name, job, plan, &people, None);
        let layout = || Layout::new(&name, job, plan, &people, None);
        Ok(match kind {
            Kind::CardText => text(&card()).into_bytes(),
            Kind::Chalk => chalk(&layout()).into_bytes(),
            Kind::Card => {
                let words: Vec<Words<'_>> =
                    plan.tubes.iter().map(|tube| Words { job, tube, people: &people }).collect();
                pdf(&format!("Step card of {name}"), &sheets(&card(), &words, size))
            }
            Kind::Layout => {
                let pages = pages(&layout(), &people, size).map_err(|TooLarge { tube, plane, most }| {
                    NotWritten::NoPages(format!("`{tube}`, {plane}, needs more than {most} pages at full size"))
                })?;
                if pages.is_empty() {
                    return Err(NotWritten::NoPages("there is nothing to draw, since no tube is bent".to_owned()));
                }
                pdf(&format!("Layout of {name}"), &pages)
            }
        })
    }

    /// Writes card or layout beside the job; where there is one already only with `replace`.
    ///
    /// # Errors
    /// See [`NotWritten`].
    pub fn write_paper(&self, kind: Kind, replace: bool) -> Result<PathBuf, NotWritten> {
        let bytes = self.paper(kind)?;
        let path = self.paper_path(kind);
        write_whole(&path, replace && path.exists(), &bytes)?;
        Ok(path)
    }
}
