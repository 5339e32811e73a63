//! The keys of every block of every file, in the order in which they are told to people.
//!
//! The reader refuses what is not here; the JSON Schemas hold the same lists under the same names.

/// A block's name in the schemas with its keys.
pub(super) type Keys = &'static [&'static str];

pub(super) const BENDER: Keys = &[
    "kind",
    "units",
    "name",
    "motion",
    "hand",
    "bend_plane",
    "up",
    "centre_height",
    "pin",
    "pointer",
    "clearance",
    "accuracy",
    "level",
    "seconds",
    "lift",
    "motions",
    "dies",
    "solids",
];
pub(super) const PIN: Keys = &["first", "every"];
pub(super) const POINTER: Keys = &["set_to", "when", "step"];
pub(super) const CLEARANCE: Keys = &["keep", "comfortable"];
pub(super) const ACCURACY: Keys = &["mark", "bend", "rotation"];
pub(super) const LEVEL: Keys = &["along", "across"];
pub(super) const SECONDS: Keys =
    &["step", "swap_ends", "change_die", "set_turn", "turn_per_degree", "pin_move", "near"];
pub(super) const MOTIONS: Keys = &["recoil", "return", "put_in", "take_out", "turn"];
pub(super) const DIE: Keys = &[
    "od",
    "clr",
    "max_angle",
    "clamp_length",
    "follower_length",
    "mark_offset",
    "fit",
    "runout",
    "grip_min",
    "tail_min",
    "follower",
    "shapes",
    "materials",
];
pub(super) const SHAPES: Keys = &["die", "clamp", "follower"];
pub(super) const MATERIAL: Keys = &["springback", "stretch", "radius_growth", "measured"];
pub(super) const SPRINGBACK: Keys = &["constant", "proportional"];
pub(super) const MEASURED: Keys = &["date", "lot", "od", "wall", "record", "angles", "diameters", "sd"];
pub(super) const SD: Keys = &["constant", "proportional", "correlation", "clr", "stretch", "mark_offset"];
pub(super) const SOLID: Keys = &["name", "on", "box", "cylinder", "capsule", "mesh"];
pub(super) const BODY: Keys = &["box", "cylinder", "capsule", "mesh"];
pub(super) const BOX: Keys = &["min", "max"];
pub(super) const ROUND: Keys = &["from", "to", "radius"];
pub(super) const MESH: Keys = &["file", "units", "at"];

pub(super) const BENDER_SIZES: Keys = &[
    "kind",
    "units",
    "name",
    "motion",
    "hand",
    "bend_plane",
    "up",
    "floor",
    "die",
    "clamp",
    "follower",
    "arm_over",
    "arm_under",
    "ram",
    "post",
    "base",
    "plate",
    "handle",
    "pump",
    "bench",
    "operator",
    "room",
];
pub(super) const SIZES_FLOOR: Keys = &["tube", "measured", "axis"];
pub(super) const SIZES_DIE: Keys = &["name", "od", "clr", "max_angle", "material", "over", "under"];
pub(super) const SIZES_HOLDER: Keys = &["length", "out", "over", "under"];
pub(super) const SIZES_BESIDE: Keys = &["gap", "thick", "ahead", "behind", "tube_side", "far_side"];
pub(super) const SIZES_STANDING: Keys = &["height", "ahead", "behind", "tube_side", "far_side", "front", "back"];
pub(super) const SIZES_PLATE: Keys = &["gap", "thick", "reach"];
pub(super) const SIZES_HANDLE: Keys = &["gap", "thick", "reach", "points"];
pub(super) const SIZES_ROOM: Keys = &["ahead", "behind", "tube_side", "far_side", "front", "back", "ceiling"];

pub(super) const JOB: Keys =
    &["kind", "units", "date", "bender", "tube", "nodes", "mirror", "tubes", "stock", "survey", "rules"];
pub(super) const RULES: Keys = &[
    "kind",
    "units",
    "name",
    "clr_over_od",
    "od_over_wall",
    "wall_min",
    "outer_wall_min",
    "thinning",
    "outer_strain",
    "straight_min",
    "minor_over_major",
    "major_minus_minor_over_od",
    "minor_over_od",
    "notes",
];
pub(super) const STOCK: Keys = &["od", "wall", "material", "die", "density", "yield", "e_modulus"];
pub(super) const MIRROR: Keys = &["plane", "suffix"];
pub(super) const PLANE: Keys = &["x", "y", "z"];
pub(super) const SUFFIX: Keys = &["from", "to"];
pub(super) const TUBE: Keys = &[
    "path",
    "legs",
    "rows",
    "measured",
    "bends",
    "rotations",
    "tube",
    "dies",
    "extra",
    "seam",
    "one_piece",
    "tolerance",
    "ends",
];
pub(super) const LEG: Keys = &["length", "a", "b"];
pub(super) const INCLUDED: Keys = &["included"];
pub(super) const ROW: Keys = &["length", "rotation", "bend"];
pub(super) const EXTRA: Keys = &["a", "b"];
pub(super) const ENDS: Keys = &["a", "b"];
pub(super) const END: Keys = &["meets", "gap", "cut", "when"];
pub(super) const BARS: Keys = &["kerf", "end_waste", "bars", "offcuts"];
pub(super) const BAR: Keys = &["length", "count", "od", "wall", "material"];

pub(super) const NODES: Keys = &["kind", "units", "clr", "nodes"];
pub(super) const ROWS: Keys = &["kind", "units", "clr", "rows"];

pub(super) const TEST_BENDS: Keys =
    &["kind", "units", "bender", "die", "material", "tube", "lot", "date", "accuracy", "bends"];
pub(super) const TEST_TUBE: Keys = &["od", "wall"];
pub(super) const TEST_ACCURACY: Keys = &["length", "angle", "mark", "reading"];
pub(super) const TEST_BEND: Keys =
    &["reading", "angle", "blank", "mark", "start", "lead", "legs", "measured", "diameters"];

pub(super) const MEASURED_PART: Keys = &[
    "kind",
    "units",
    "job",
    "tube",
    "od",
    "clr",
    "accuracy",
    "nodes",
    "legs",
    "measured",
    "bends",
    "rotations",
    "distances",
    "touched",
    "lying",
    "order",
    "readings",
    "marks",
    "tops",
    "cut",
    "fit",
];
pub(super) const PART_ACCURACY: Keys = &["length", "angle"];
pub(super) const PART_DISTANCE: Keys = &["from", "to", "length", "measured"];
pub(super) const PART_TOUCHED: Keys = &["leg", "at"];
pub(super) const PART_LYING: Keys = &["flat", "up"];
pub(super) const PART_FIT: Keys = &["hold", "weights"];

pub(super) const SURVEY: Keys = &[
    "kind",
    "units",
    "date",
    "accuracy",
    "frame",
    "distances",
    "drops",
    "levels",
    "lines",
    "planes",
    "symmetric",
    "about",
];
pub(super) const SURVEY_ACCURACY: Keys = &["length", "plumb", "height", "flush", "symmetric"];
pub(super) const FRAME: Keys = &["origin", "x", "xy", "up", "flat"];
pub(super) const DISTANCE: Keys = &["from", "to", "length", "accuracy", "measured", "a", "b", "od"];
pub(super) const DROP: Keys = &["from", "to", "length", "accuracy", "plumb"];
pub(super) const LEVELS: Keys = &["heights", "accuracy"];
pub(super) const FLUSH: Keys = &["points", "accuracy"];
pub(super) const SYMMETRY: Keys = &["pairs", "plane", "accuracy"];
