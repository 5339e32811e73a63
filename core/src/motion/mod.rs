//! Where the body goes during a motion, and how fast at most.
