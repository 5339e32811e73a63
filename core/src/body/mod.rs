//! The tube as pieces, placed in the bender at a step and a die angle.
