//! Labels over the picture, painted by egui: legible on any background, none on another.
//!
//! A label stands beside its point with a thin line to it. The one that matters more stays; one that finds no free place is left out.

use kiss3d::egui::{self, Align2, Color32, FontId, Pos2, Rect, Stroke, Vec2};

use crate::scene::Tag;

/// From this rank on a label gives way to one whose point is near its own.
const CROWD: u8 = 4;

/// A label that was placed.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// Place of the tag in the scene's list.
    pub tag: usize,
    /// Its box, points.
    pub bounds: Rect,
    /// The point that it names, points.
    pub anchor: Pos2,
}

/// Where labels go. `anchors` has for each tag where its point is seen, or `None` behind the eye; `free` is the part of the picture that is not covered.
///
/// No two boxes overlap and all lie in `free`.
#[must_use]
pub fn place(tags: &[Tag], anchors: &[Option<Pos2>], free: Rect, size: &dyn Fn(&str) -> Vec2) -> Vec<Placed> {
    let mut placed: Vec<Placed> = Vec::new();
    for (number, (tag, anchor)) in tags.iter().zip(anchors).enumerate() {
        let Some(anchor) = *anchor else { continue };
        if !free.contains(anchor) {
            continue;
        }
        let size = size(&tag.words) + Vec2::new(8.0, 4.0);
        // Of many things in one place those that matter more are named, and not so many that they cover it.
        let near = 1.4 * size.y;
        if tag.rank >= CROWD && placed.iter().any(|other| other.anchor.distance(anchor) < near) {
            continue;
        }
        let ways =
            [(1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (0.0, -1.6), (0.0, 1.6), (1.6, 0.0), (-1.6, 0.0)];
        let spots = [14.0_f32, 30.0, 52.0].into_iter().flat_map(|off| ways.map(|(x, y)| (off, x, y)));
        let found = spots
            .map(|(off, x, y)| {
                let middle =
                    anchor + Vec2::new(x * (off + size.x / 2.0 * f32::from(x != 0.0)), y * (off + size.y / 2.0));
                Rect::from_center_size(middle, size)
            })
            .find(|spot| {
                free.contains_rect(*spot) && placed.iter().all(|other| !other.bounds.expand(2.0).intersects(*spot))
            });
        if let Some(bounds) = found {
            placed.push(Placed { tag: number, bounds, anchor });
        }
    }
    placed
}

/// Paints the labels; gives back where each is.
pub fn paint(context: &egui::Context, tags: &[Tag], anchors: &[Option<Pos2>], free: Rect, letters: f32) -> Vec<Placed> {
    let painter = context.layer_painter(egui::LayerId::new(egui::Order::Background, egui::Id::new("labels")));
    let font = FontId::proportional(letters);
    let size = |words: &str| painter.layout_no_wrap(words.to_owned(), font.clone(), Color32::BLACK).size();
    let placed = place(tags, anchors, free, &size);
    for label in &placed {
        let near = label.bounds.clamp(label.anchor);
        painter.line_segment([label.anchor, near], Stroke::new(1.0, Color32::from_gray(60)));
        painter.circle_filled(label.anchor, 2.5, Color32::from_gray(40));
    }
    for label in &placed {
        let loud = tags[label.tag].words.chars().filter(|letter| letter.is_uppercase()).count() > 3;
        let (fill, ink) =
            if loud { (Color32::BLACK, Color32::WHITE) } else { (Color32::from_white_alpha(230), Color32::BLACK) };
        painter.rect(label.bounds, 3.0, fill, Stroke::new(1.0, Color32::from_gray(90)), egui::StrokeKind::Inside);
        painter.text(label.bounds.center(), Align2::CENTER_CENTER, &tags[label.tag].words, font.clone(), ink);
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_label_lies_on_another_or_outside() {
        let tags: Vec<Tag> = (0..60)
            .map(|number| Tag { at: nalgebra::Point3::origin(), words: format!("label {number}"), rank: 0, node: None })
            .collect();
        let free = Rect::from_min_size(Pos2::ZERO, Vec2::new(640.0, 400.0));
        let anchors: Vec<Option<Pos2>> = (0..60_u16)
            .map(|number| {
                (number % 7 != 0).then(|| Pos2::new(f32::from(number * 37 % 700), f32::from(number * 53 % 420)))
            })
            .collect();
        let placed = place(&tags, &anchors, free, &|words| Vec2::new(7.0 * words.len() as f32, 14.0));
        assert!(placed.len() > 20, "{}", placed.len());
        for (number, one) in placed.iter().enumerate() {
            assert!(free.contains_rect(one.bounds));
            assert!(placed[..number].iter().all(|other| !other.bounds.intersects(one.bounds)));
        }
        // The first ones matter most.
        assert!(placed.iter().any(|label| label.tag == 1));
    }
}
