//! Blocks that follow each other down the pages.
//!
//! A block is a pile of slices, each as wide as the text. It stays on one page, and goes to the next where it no longer fits. Only a block that is longer than
//! a page is broken, between two slices, and its head stands over what follows as well.

use crate::draw::Drawing;

/// A pile of slices that belong together.
#[derive(Clone, Debug, Default)]
pub(crate) struct Block {
    /// Stands over the slices, and again where the block is broken.
    pub(crate) head: Option<Drawing>,
    /// What may be parted where it has to be.
    pub(crate) slices: Vec<Drawing>,
    /// Whether it begins a page.
    pub(crate) new_page: bool,
    /// What is left free under it, mm.
    pub(crate) after: f64,
}

impl Block {
    /// A block that leaves so much free under it, mm.
    pub(crate) fn new(after: f64) -> Self {
        Self { after, ..Self::default() }
    }

    /// Begins a page.
    pub(crate) fn on_new_page(mut self) -> Self {
        self.new_page = true;
        self
    }

    /// Adds a slice.
    pub(crate) fn push(&mut self, slice: Drawing) {
        self.slices.push(slice);
    }

    /// How high it is, mm.
    pub(crate) fn height(&self) -> f64 {
        self.head.iter().chain(&self.slices).map(|slice| slice.height).sum()
    }
}

/// Pages of one width and height, filled from the top.
#[derive(Debug)]
pub(crate) struct Flow {
    title: String,
    width: f64,
    height: f64,
    pages: Vec<Drawing>,
    down: f64,
}

/// What a sum of heights may be too high by: less than anybody sees.
const SLACK: f64 = 1e-9;

impl Flow {
    /// Pages whose text is so wide and high, mm.
    pub(crate) fn new(title: impl Into<String>, width: f64, height: f64) -> Self {
        let mut flow = Self { title: title.into(), width, height, pages: Vec::new(), down: 0.0 };
        flow.turn();
        flow
    }

    fn turn(&mut self) {
        self.pages.push(Drawing::new(self.title.as_str(), self.width, self.height));
        self.down = 0.0;
    }

    fn fits(&self, height: f64) -> bool {
        self.down + height <= self.height + SLACK
    }

    fn put(&mut self, slice: &Drawing) {
        let down = self.down;
        if let Some(page) = self.pages.last_mut() {
            page.place(slice, (0.0, down));
        }
        self.down += slice.height;
    }

    /// Adds a block.
    pub(crate) fn add(&mut self, block: &Block) {
        let top = self.down <= 0.0;
        if !top && (block.new_page || !self.fits(block.height())) {
            self.turn();
        }
        if let Some(head) = &block.head {
            self.put(head);
        }
        for (place, slice) in block.slices.iter().enumerate() {
            // A slice that is higher than a page stands alone and runs over: there is no place for it anywhere.
            if place > 0 && !self.fits(slice.height) {
                if slice.items.is_empty() {
                    // Free space is for what follows on the same page; it begins none.
                    continue;
                }
                self.turn();
                if let Some(head) = &block.head {
                    self.put(head);
                }
            }
            self.put(slice);
        }
        self.down += block.after;
    }

    /// What is left of the page, mm.
    #[cfg(test)]
    fn left(&self) -> f64 {
        (self.height - self.down).max(0.0)
    }

    /// The pages.
    pub(crate) fn pages(self) -> Vec<Drawing> {
        self.pages
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Label;

    fn slice(name: &str, height: f64) -> Drawing {
        let mut slice = Drawing::new("", 100.0, height);
        slice.text(Label::new((0.0, 5.0), name));
        slice
    }

    fn block(name: &str, slices: usize, height: f64) -> Block {
        let mut block = Block::new(2.0);
        for number in 0..slices {
            block.push(slice(&format!("{name}{number}"), height));
        }
        block
    }

    fn words(pages: &[Drawing]) -> Vec<Vec<String>> {
        pages.iter().map(|page| page.labels().iter().map(|(label, _)| label.words.clone()).collect()).collect()
    }

    #[test]
    fn a_block_that_no_longer_fits_goes_to_the_next_page_whole() {
        let mut flow = Flow::new("", 100.0, 100.0);
        flow.add(&block("a", 3, 20.0));
        assert!((flow.left() - 38.0).abs() < 1e-9);
        flow.add(&block("b", 2, 20.0));
        flow.add(&block("c", 1, 20.0).on_new_page());
        assert_eq!(words(&flow.pages()), [vec!["a0", "a1", "a2"], vec!["b0", "b1"], vec!["c0"]]);
    }

    #[test]
    fn only_a_block_longer_than_a_page_is_broken_and_its_head_stands_over_the_rest_too() {
        let mut flow = Flow::new("", 100.0, 100.0);
        flow.add(&block("a", 1, 20.0));
        let mut long = block("b", 5, 30.0);
        long.head = Some(slice("head", 10.0));
        flow.add(&long);
        let pages = words(&flow.pages());
        assert_eq!(pages, [vec!["a0"], vec!["head", "b0", "b1", "b2"], vec!["head", "b3", "b4"]]);
    }

    #[test]
    fn free_space_alone_begins_no_page() {
        let mut flow = Flow::new("", 100.0, 100.0);
        let mut full = block("a", 4, 24.0);
        full.push(Drawing::new("", 100.0, 5.0));
        flow.add(&full);
        assert_eq!(flow.pages().len(), 1);
    }

    #[test]
    fn a_block_as_high_as_a_page_fits_it() {
        let mut flow = Flow::new("", 100.0, 0.3);
        flow.add(&block("a", 3, 0.1));
        assert_eq!(flow.pages().len(), 1);
    }
}
