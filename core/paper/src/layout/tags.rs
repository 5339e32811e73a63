//! Where the words of a layout stand on the sheet: beside their points, whole on one tile, clear of the tube, of the crosses and of each other.

use kurbo::{Point, Rect, Vec2};
use tubewright::centreline::BendId;
use tubewright::job::Cut;
use tubewright::round::People;
use tubewright::units::{Angle, Length};

use super::chalk::Drawn;
use super::shape::{Piece, Shape, What};
use super::tiles::{Grid, Tile, apart};
use crate::draw::Label;

/// Directions that are tried around a point, and how far out, mm.
const AROUND: u32 = 16;
const OUT: [f64; 12] = [3.0, 5.0, 8.0, 12.0, 16.0, 20.0, 25.0, 31.0, 38.0, 46.0, 60.0, 80.0];

/// Further out than this, mm, a line leads from the point to its words.
const LED: f64 = 8.0;

/// Words at a place of the sheet.
#[derive(Clone, Debug)]
pub(super) struct Tag {
    pub(super) label: Label,
    /// The box of its letters on the sheet.
    pub(super) bounds: Rect,
    /// A line from the point to its words, where they are far from it.
    pub(super) leader: Option<(Point, Point)>,
}

struct Wanted {
    at: Point,
    words: String,
    size: f64,
    bold: bool,
    /// How far words may stand from the point without a line that leads to them, mm.
    plain: f64,
}

/// The tags of a layout, in the frame of the sheet.
pub(super) fn tags(drawn: &Drawn<'_>, people: &People, grid: &Grid) -> Vec<Tag> {
    let shape = &drawn.plane.shape;
    let body = body(shape, grid);
    let half = shape.od / 2.0;
    let mut tags: Vec<Tag> = Vec::new();
    for wanted in wanted(shape, people, grid) {
        let label = Label::new((0.0, 0.0), wanted.words).size(wanted.size);
        let label = if wanted.bold { label.bold() } else { label };
        if let Some(tag) = placed(&label, (wanted.at, wanted.plain), half, &body, grid, &tags) {
            tags.push(tag);
        }
    }
    tags
}

/// What is said, the most important first: ends and bends, then what is read at close range.
fn wanted(shape: &Shape, people: &People, grid: &Grid) -> Vec<Wanted> {
    let sheet = |at: Point| grid.sheet_from_layout * at;
    let mut all = Vec::new();
    // Words about a place of the tube stand beside the tube.
    let beside = shape.od / 2.0 + LED;
    let mut say = |at: Point, words: String, size: f64, plain: f64| {
        all.push(Wanted { at: sheet(at), words, size, bold: size > 5.0, plain });
    };
    for spot in &shape.spots {
        if let What::End(end) = spot.what {
            say(spot.at, format!("END {end}"), 9.0, beside);
        }
    }
    for piece in &shape.pieces {
        let Piece::Arc { bend, spoke, sweep, .. } = piece else { continue };
        say(piece.at(0.5), format!("BEND {}", bend.number()), 8.0, beside);
        let radius = people.figure(Length::mm(spoke.hypot()));
        let angle = people.angle_with_unit(Angle::rad(sweep.abs().to_rad()));
        say(piece.at(0.5), format!("turns by {angle}, finished CLR {radius}"), 3.6, 2.0 * beside);
    }
    for spot in &shape.spots {
        let words = match spot.what {
            What::End(_) | What::Middle(_) => continue,
            What::Trim(end) => {
                let cut = shape.end(end == 'B');
                let extra = people.length_with_unit(Length::mm((spot.at - cut).hypot()));
                match shape.taken_by[usize::from(end == 'B')] {
                    None => format!("trim {end}: {extra} extra cut off here after bending"),
                    Some(Cut::Cope) => format!("trim {end}: {extra} extra, off with the cope"),
                    Some(Cut::TwoPlane) => format!("trim {end}: {extra} extra, off with the two cuts"),
                }
            }
            What::Stop(bend) if shape.bends.first().is_some_and(|first| bend < *first) => {
                format!("bend {} ends here, in another plane", bend.number())
            }
            What::Start(bend) if shape.bends.last().is_some_and(|last| bend > *last) => {
                format!("bend {} starts here, in another plane", bend.number())
            }
            what => what.name(),
        };
        say(spot.at, words, 3.6, if matches!(spot.what, What::Corner(_)) { LED } else { beside });
    }
    for (bend, centre) in centres(shape, grid) {
        say(centre, format!("centre {}", bend.number()), 3.6, LED);
    }
    all
}

/// The centres of arcs that happen to lie on a tile, in the frame of the layout.
pub(super) fn centres(shape: &Shape, grid: &Grid) -> Vec<(BendId, Point)> {
    let centre = |piece: &Piece| {
        let Piece::Arc { bend, centre, .. } = *piece else { return None };
        let at = grid.sheet_from_layout * centre;
        let on_a_tile = grid.used.iter().any(|tile| grid.cell(*tile).inset(-8.0).contains(at));
        on_a_tile.then_some((bend, centre))
    };
    shape.pieces.iter().filter_map(centre).collect()
}

/// The centreline on the sheet in short lines.
fn body(shape: &Shape, grid: &Grid) -> Vec<(Point, Point)> {
    let mut lines = Vec::new();
    for piece in &shape.pieces {
        let parts = match piece {
            Piece::Straight { .. } => 1,
            Piece::Arc { sweep, .. } => libm::ceil(sweep.abs().to_deg() / 5.0).max(1.0) as usize,
        };
        let at = |part: usize| grid.sheet_from_layout * piece.at(part as f64 / parts as f64);
        lines.extend((0..parts).map(|part| (at(part), at(part + 1))));
    }
    lines
}

/// The first free place around a point, near before far; on a tile's own cell first, so that nothing is lost where tiles are cut; clear of the tube
/// first, else of everything but the tube. `None` only where no tile has room.
fn placed(
    label: &Label,
    (at, plain): (Point, f64),
    half: f64,
    body: &[(Point, Point)],
    grid: &Grid,
    tags: &[Tag],
) -> Option<Tag> {
    let (wide, high) = (label.length(), label.size);
    // On the point's own tile before another, clear of the tube before on it.
    for (clear_of_tube, home) in [(true, true), (true, false), (false, true), (false, false)] {
        for out in OUT {
            for step in 0..AROUND {
                // Right first, then up and down in turn.
                let way = if step % 2 == 0 { f64::from(step / 2) } else { -f64::from(step.div_ceil(2)) };
                let (sin, cos) = libm::sincos(way * 2.0 * core::f64::consts::PI / f64::from(AROUND));
                // The middle of the box so far out that its near side is at that distance.
                let middle = at + Vec2::new(cos * (out + wide / 2.0 * cos.abs()), sin * (out + high / 2.0 * sin.abs()));
                let base = Point::new(middle.x - wide / 2.0, middle.y + 0.29 * high);
                let label = Label { at: base, ..label.clone() };
                let bounds = label.bounds();
                let near = bounds.inflate(1.5, 1.5);
                let whole = grid.used.iter().find(|tile| {
                    let cell = grid.cell(**tile);
                    contains(cell, bounds.inflate(2.0, 2.0)) && (!home || cell.contains(at))
                });
                let Some(tile) = whole else { continue };
                let tube = || clear_of_tube && body.iter().any(|(from, to)| apart(bounds, *from, *to) < half + 1.0);
                let others = tags.iter().any(|tag| tag.bounds.overlaps(near) || tag.meets(bounds));
                if others || on_a_cross(grid, *tile, near) || tube() {
                    continue;
                }
                let foot = Point::new(at.x.clamp(bounds.x0, bounds.x1), at.y.clamp(bounds.y0, bounds.y1));
                let leader = ((foot - at).hypot() > plain).then_some((at, foot));
                let through =
                    leader.is_some_and(|(from, to)| tags.iter().any(|tag| apart(tag.bounds, from, to) <= 0.5));
                if through {
                    continue;
                }
                return Some(Tag { label, bounds, leader });
            }
        }
    }
    None
}

impl Tag {
    /// Whether the line that leads to these words runs through a box.
    fn meets(&self, bounds: Rect) -> bool {
        self.leader.is_some_and(|(from, to)| apart(bounds, from, to) <= 0.5)
    }
}

fn on_a_cross(grid: &Grid, tile: Tile, bounds: Rect) -> bool {
    grid.crosses(tile).into_iter().any(|cross| bounds.inflate(4.0, 4.0).contains(cross))
}

/// Whether one box holds another.
pub(super) fn contains(outer: Rect, inner: Rect) -> bool {
    outer.x0 <= inner.x0 && outer.y0 <= inner.y0 && outer.x1 >= inner.x1 && outer.y1 >= inner.y1
}
