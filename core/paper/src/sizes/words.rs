//! What each size is, in words for somebody with a tape.

/// A row of the sheet: a part with its sizes.
pub(super) struct Row {
    /// Its letter.
    pub(super) letter: char,
    /// Its key in the file.
    pub(super) key: &'static str,
    /// What it is.
    pub(super) says: &'static str,
    /// Number and key of each size.
    pub(super) sizes: &'static [(u8, &'static str)],
}

const BESIDE: &[(u8, &str)] =
    &[(1, "gap"), (2, "thick"), (3, "ahead"), (4, "behind"), (5, "tube_side"), (6, "far_side")];
const STANDING: &[(u8, &str)] =
    &[(1, "height"), (3, "ahead"), (4, "behind"), (5, "tube_side"), (6, "far_side"), (7, "front"), (8, "back")];
const HOLDER: &[(u8, &str)] = &[(1, "length"), (5, "out"), (7, "over"), (8, "under")];

/// The rows in the order of the sheet.
pub(super) const ROWS: [Row; 15] = [
    Row {
        letter: 'A',
        key: "floor",
        says: "up to the tube beside the clamp, and where on it: top, centre or underside. Upright: up to the die's axis",
        sizes: &[(1, "tube"), (2, "measured"), (1, "axis")],
    },
    Row {
        letter: 'B',
        key: "die",
        says: "the tube's OD by caliper, the radius stamped on the die, how far it can turn; over and under: tube to the die's faces",
        sizes: &[(1, "od"), (2, "clr"), (3, "max_angle"), (7, "over"), (8, "under")],
    },
    Row {
        letter: 'C',
        key: "clamp",
        says: "how much tube it holds, from the start of bend forward; out, over, under: from the tube to its faces",
        sizes: HOLDER,
    },
    Row {
        letter: 'D',
        key: "follower",
        says: "how much tube it covers, from the start of bend backward; out, over, under: from the tube to its faces",
        sizes: HOLDER,
    },
    Row {
        letter: 'E',
        key: "arm_over",
        says: "the arm or plate over the tube; gap: from the top of the tube up to it, then its thickness and four edges",
        sizes: BESIDE,
    },
    Row {
        letter: 'F',
        key: "arm_under",
        says: "the one under the tube; gap: from the underside of the tube down to it",
        sizes: BESIDE,
    },
    Row {
        letter: 'G',
        key: "ram",
        says: "with its mounting, all that it sweeps; gap: from the underside of the tube down to it, minus if it is higher",
        sizes: BESIDE,
    },
    Row {
        letter: 'H',
        key: "post",
        says: "what carries the bender; height from the floor to its top, then its four faces",
        sizes: STANDING,
    },
    Row { letter: 'J', key: "base", says: "the foot on the floor, bolts and wheels too", sizes: STANDING },
    Row {
        letter: 'K',
        key: "plate",
        says: "what stands over the die and turns with it: pin, nut, hub; gap from the top of the tube; reach from the axis",
        sizes: &[(1, "gap"), (2, "thick"), (9, "reach")],
    },
    Row {
        letter: 'L',
        key: "handle",
        says: "a lever or pointer over the die; which way it points before the bend: ahead, behind, tube_side, far_side",
        sizes: &[(1, "gap"), (2, "thick"), (9, "reach"), (3, "points")],
    },
    Row { letter: 'M', key: "pump", says: "with all that its handle sweeps", sizes: STANDING },
    Row { letter: 'N', key: "bench", says: "or a machine, within reach of the longest tube", sizes: STANDING },
    Row { letter: 'P', key: "operator", says: "where you stand, as wide as you need it", sizes: STANDING },
    Row {
        letter: 'R',
        key: "room",
        says: "walls, each from the die's axis; the ceiling from the floor",
        sizes: &[
            (1, "ceiling"),
            (3, "ahead"),
            (4, "behind"),
            (5, "tube_side"),
            (6, "far_side"),
            (7, "front"),
            (8, "back"),
        ],
    },
];

/// How the tape is held, on the sheet.
pub(super) const HOW: [&str; 6] = [
    "Lay a straight tube in the die, clamp it, swing the bender to 0. Measure to the outermost point, bolts and welds too.",
    "AHEAD is along the tube to the end that is clamped and swings, BEHIND to the follower. TUBE'S SIDE is from the die's axis across to the tube and beyond, FAR SIDE away from it.",
    "Numbers 3 to 6 are always taken from the middle of the die's pin: 3 ahead, 4 behind, 5 tube's side, 6 far side. A face on the other side of the pin gets a minus.",
    "Number 1 is the gap from the tube's surface, or the height from the floor; 2 is a thickness; 9 is how far from the pin a part reaches.",
    "Leave out what your bender does not have: what is not on the sheet is not there for a plan, and a plan cannot warn of it.",
    "Bend plane upright: over is toward you, under is away from you; what stands on the floor has 7 front and 8 back, from the tube's surface, in place of the two that point up and down.",
];

/// What hangs on the sizes.
pub(super) const CAUTION: &str = "Measured sizes decide what a plan calls clear: measure twice, and round so that a part gets larger: faces out, gaps down.";
