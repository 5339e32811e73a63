//! A bender's file made from its sizes.
//!
//! Each figure of a solid stands beside the sizes that it came from, in the units in which they were taken.

use core::fmt::Write;

use nalgebra::Point3;

use super::reader::shown;
use super::write::{degrees, length, word};
use crate::bender::sizes::{
    Block, Face, Holder, PartKind, Sizes, Stance, Taped, TubeLine, WALL_HEIGHT, WALL_THICK, Way,
};
use crate::bender::{BendMotion, Carrier, Hand, Shape};
use crate::units::{Length, LengthUnit};

/// Decimals of a figure that is a sum: far below what a tape shows, far above what sums of f64 are off by.
const DECIMALS: usize = 9;

/// The file of the bender that [`Sizes::bender`] gives, in the units of the sizes; `source` is the name of the file that they were read from.
///
/// It is read back as that bender: die and dial as they are, heights and places of faces within 1e-9 of its unit.
#[must_use]
pub fn write_bender(sizes: &Sizes, source: &str) -> String {
    let writer = Writer { sizes, unit: sizes.units };
    let mut out = String::new();
    writer.head(&mut out, source);
    writer.die(&mut out);
    writer.solids(&mut out);
    writer.absent(&mut out);
    out
}

struct Writer<'s> {
    sizes: &'s Sizes,
    unit: LengthUnit,
}

impl Writer<'_> {
    fn head(&self, out: &mut String, source: &str) {
        let sizes = self.sizes;
        let source: String = source.chars().map(|letter| if letter.is_control() { '?' } else { letter }).collect();
        let _ = write!(
            out,
            "\
# A bender made from the sizes in {source}, which were taken with a tape. Sizes decide what a plan calls clear, so
# measure twice, and look at the drawing beside this file: is that the bender? Where it is not, change the sizes and make this file again.
#
# Figures are taken from the middle of the die at the height of the middle of the tube. The sizes that a figure came
# from stand behind it: half od is half of the tube's outside diameter, from its middle to its surface.
kind: bender
units: {}
",
            self.unit.name()
        );
        if let Some(name) = &sizes.name {
            let _ = writeln!(out, "name: {}", word(name));
        }
        let motion = match sizes.motion {
            BendMotion::DieTurns => "die-turns",
            BendMotion::DieStands => "die-stands",
        };
        let hand = match sizes.hand {
            Hand::Anticlockwise => "anticlockwise",
            Hand::Clockwise => "clockwise",
        };
        let _ = writeln!(out, "motion: {motion}\nhand: {hand}");
        let height = self.figure(sizes.centre_height().to_mm());
        match sizes.stance {
            Stance::Flat { tube, measured } => {
                let more = match measured {
                    TubeLine::Top => " - half od",
                    TubeLine::Centre => "",
                    TubeLine::Underside => " + half od",
                };
                let from = format!("floor: tube {}{more}", self.said(tube));
                let _ = writeln!(out, "bend_plane: horizontal\ncentre_height: {height}    # {from}");
            }
            Stance::Upright { axis, up } => {
                let direction = up.direction(sizes.hand);
                let [x, y, z] = [direction.x, direction.y, direction.z].map(|part| part + 0.0);
                let _ = writeln!(out, "bend_plane: vertical\nup: [{x}, {y}, {z}]    # up: {}", up.key());
                let _ = writeln!(out, "centre_height: {height}    # floor: axis {}", self.said(axis));
            }
        }
        out.push_str(
            "
# No tape tells these; see the starter file that `tubewright new --bender` writes:
# pin: { first: 40, every: 45 }
# pointer: { set_to: 0, when: slack-out }
",
        );
    }

    fn die(&self, out: &mut String) {
        let die = &self.sizes.die;
        let [od, clr, clamp, follower] =
            [die.od, die.clr, die.clamp.length, die.follower.length].map(|size| length(size, self.unit));
        let _ = writeln!(
            out,
            "\ndies:\n  {}:\n    od: {od}\n    clr: {clr}\n    max_angle: {}\n    clamp_length: {clamp}\n    follower_length: {follower}",
            word(&die.name),
            degrees(die.max_angle)
        );
        let bender = self.sizes.bender();
        let Some(made) = bender.dies.first() else { return };
        let lists = [("die", &made.shapes.die), ("clamp", &made.shapes.clamp), ("follower", &made.shapes.follower)];
        if lists.iter().any(|(_, shapes)| !shapes.is_empty()) {
            out.push_str("    shapes:");
            if !made.shapes.die.is_empty() {
                out.push_str("    # a die has no groove here: take it out where `motions` ask for `take_out`");
            }
            out.push('\n');
        }
        for (key, shapes) in lists {
            let Some(shape) = shapes.first() else { continue };
            let none = Holder { length: Length::ZERO, out: None, over: die.over, under: die.under };
            let holder = match key {
                "clamp" => &die.clamp,
                "follower" => &die.follower,
                _ => &none,
            };
            let sizes = [("out", holder.out), ("over", holder.over), ("under", holder.under)];
            let given = sizes.iter().filter_map(|(name, size)| Some(format!("{name} {}", self.said((*size)?))));
            let given = given.collect::<Vec<_>>().join(", ");
            let _ =
                writeln!(out, "      {key}:    # {given}, each from the tube's surface; what is not given is as usual");
            let _ = writeln!(out, "        - {{ {} }}", self.body(shape));
        }
        match &die.material {
            Some(material) => {
                let _ = writeln!(
                    out,
                    "    materials:\n      {}:    # springback not known yet: make test bends, see `tubewright calibrate --suggest`",
                    word(material)
                );
            }
            None => out.push_str(
                "    # materials: { mild-steel: }    # each that is bent in it; springback comes from test bends\n",
            ),
        }
    }

    fn solids(&self, out: &mut String) {
        let bender = self.sizes.bender();
        if bender.solids.is_empty() {
            return;
        }
        out.push_str("\n# What the tube must not touch: plain blocks, all that a part sweeps included.\nsolids:\n");
        for (part, solid) in self.sizes.parts.iter().zip(&bender.solids) {
            let on = match solid.on {
                Carrier::Frame => "frame",
                Carrier::Die => "die",
                Carrier::Follower => "follower",
            };
            let _ = writeln!(out, "  - name: {}\n    on: {on}", word(&solid.name));
            match (&part.taped, &solid.shape) {
                (Taped::Block(block), Shape::Box { min, max }) => {
                    let (low, high) = match self.sizes.hand {
                        Hand::Anticlockwise => (Way::TubeSide, Way::FarSide),
                        Hand::Clockwise => (Way::FarSide, Way::TubeSide),
                    };
                    let from = |ways: [Way; 3]| ways.map(|way| self.origin(block, way)).join("; ");
                    let _ = writeln!(
                        out,
                        "    box:\n      min: {}    # {}\n      max: {}    # {}",
                        self.point(min),
                        from([Way::Behind, low, Way::Under]),
                        self.point(max),
                        from([Way::Ahead, high, Way::Over])
                    );
                }
                (taped, shape) => {
                    let _ = writeln!(out, "    # {}\n    {}", self.round(taped), self.body(shape));
                }
            }
        }
    }

    /// Which sizes place a face of a block.
    fn origin(&self, block: &Block, way: Way) -> String {
        let up = self.sizes.stance.up();
        let thick = || format!("{} thick", self.said(WALL_THICK));
        let own =
            |faces: &[Face]| faces.iter().find(|face| face.0 == way).map(|face| self.face(*face)).unwrap_or_default();
        match block {
            Block::Beside { side, gap, thick, .. } if way == *side => {
                format!("half od + gap {} + thick {}", self.said(*gap), self.said(*thick))
            }
            Block::Beside { side, gap, .. } if way == side.opposite() => format!("half od + gap {}", self.said(*gap)),
            Block::Standing { height, .. } if way == up => format!("height {} from the floor", self.said(*height)),
            Block::Wall(face) if way == face.0 => thick(),
            Block::Wall(face) if way == face.0.opposite() => self.face(*face),
            Block::Wall(_) if way == up => format!("{} high", self.said(WALL_HEIGHT)),
            Block::Ceiling(_) if way == up => thick(),
            Block::Ceiling(height) if way == up.opposite() => format!("ceiling {} from the floor", self.said(*height)),
            Block::Standing { .. } | Block::Wall(_) if way == up.opposite() => "the floor".to_owned(),
            Block::Beside { faces, .. } | Block::Standing { faces, .. } => own(faces),
            Block::Wall(_) | Block::Ceiling(_) => "longer than any bar".to_owned(),
        }
    }

    fn face(&self, (way, size): Face) -> String {
        let from = if matches!(way, Way::Over | Way::Under) { "half od + " } else { "" };
        format!("{from}{} {}", way.key(), self.said(size))
    }

    fn round(&self, taped: &Taped) -> String {
        let (gap, thick, reach, points) = match *taped {
            Taped::Disc { gap, thick, reach } => (gap, thick, reach, String::new()),
            Taped::Rod { gap, thick, reach, points } => {
                (gap, thick, reach, format!(" with its round end; points {} before the bend", points.key()))
            }
            Taped::Block(_) => return String::new(),
        };
        format!("half od + gap {}; thick {}; reach {}{points}", self.said(gap), self.said(thick), self.said(reach))
    }

    fn body(&self, shape: &Shape) -> String {
        match shape {
            Shape::Box { min, max } => format!("box: {{ min: {}, max: {} }}", self.point(min), self.point(max)),
            Shape::Cylinder { from, to, radius } | Shape::Capsule { from, to, radius } => {
                let sort = if matches!(shape, Shape::Cylinder { .. }) { "cylinder" } else { "capsule" };
                let radius = self.figure(radius.to_mm());
                format!("{sort}: {{ from: {}, to: {}, radius: {radius} }}", self.point(from), self.point(to))
            }
            // No size gives a mesh.
            Shape::Mesh(_) => String::new(),
        }
    }

    fn absent(&self, out: &mut String) {
        let given = |kind: &PartKind| self.sizes.parts.iter().any(|part| part.kind == *kind);
        let absent: Vec<&str> = PartKind::ALL.into_iter().filter(|kind| !given(kind)).map(PartKind::key).collect();
        if !absent.is_empty() {
            let _ = writeln!(out, "\n# Not in the sizes, so for a plan it is not there: {}.", absent.join(", "));
        }
    }

    fn point(&self, point: &Point3<f64>) -> String {
        format!("[{}, {}, {}]", self.figure(point.x), self.figure(point.y), self.figure(point.z))
    }

    /// A sum of sizes, mm, in the units of the file.
    fn figure(&self, mm: f64) -> String {
        let text = format!("{:.DECIMALS$}", Length::mm(mm).to(self.unit));
        let text = text.trim_end_matches('0').trim_end_matches('.');
        if text == "-0" { "0".to_owned() } else { text.to_owned() }
    }

    /// A size as it was taken.
    fn said(&self, size: Length) -> String {
        shown(size, self.unit)
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::super::{Held, load_bender, load_bender_sizes};
    use super::*;

    const SIZES: &str = "kind: bender-sizes
units: in
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
floor: { tube: 33, measured: underside }
die: { name: five-inch, od: 1-1/2, clr: 5, max_angle: 190, material: mild-steel }
clamp: { length: 2-3/4, out: 1 }
follower: { length: 6 }
arm_over: { gap: 1-11/16, thick: 1/2, ahead: 1-3/4, behind: 7, tube_side: 8-3/4, far_side: 1-3/4 }
handle: { gap: 3, thick: 1, reach: 14, points: far_side }
room: { far_side: 80 }
";

    fn written(text: &str) -> String {
        let files = Held::default().with("sizes.yaml", text);
        let sizes = load_bender_sizes(&files, Path::new("sizes.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        write_bender(&sizes, "sizes.yaml")
    }

    #[test]
    fn figures_stand_beside_the_sizes_that_they_came_from() {
        let text = written(SIZES);
        for line in [
            "centre_height: 33.75    # floor: tube 33 in + half od",
            "      min: [-7, -8.75, 2.4375]    # behind 7 in; tube_side 8.75 in; half od + gap 1.6875 in",
            "      max: [1.75, 1.75, 2.9375]    # ahead 1.75 in; far_side 1.75 in; half od + gap 1.6875 in + thick 0.5 in",
            "        - { box: { min: [0, -6.75, -1.125], max: [2.75, -5, 1.125] } }",
            "    capsule: { from: [0, 0, 4.25], to: [0, 13.5, 4.25], radius: 0.5 }",
            "# Not in the sizes, so for a plan it is not there: arm_under, ram, post, base, plate, pump, bench, operator.",
        ] {
            assert!(text.lines().any(|found| found == line), "{line}\n{text}");
        }
        load_bender(&Held::default().with("b.yaml", text), Path::new("b.yaml"))
            .unwrap_or_else(|mistakes| panic!("{mistakes}"));
    }

    #[test]
    fn a_name_is_written_so_that_it_is_read_back() {
        let text = written(&SIZES.replace("units: in", "units: in\nname: \"Yard: 'old' #2\""));
        let bender = load_bender(&Held::default().with("b.yaml", text), Path::new("b.yaml")).unwrap();
        assert_eq!(bender.name.as_deref(), Some("Yard: 'old' #2"));
    }
}
