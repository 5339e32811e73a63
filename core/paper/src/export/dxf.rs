//! Centrelines as a DXF file: lines and arcs in space, exact, in the axes of the job.
//!
//! Each tube has a layer of its own, by its name as far as release 12 allows one: capital letters, digits, `-`, `_` and `$`, at most 31. At end A stands its name
//! as it is, with what it is. An arc lies in a frame that the format derives from its normal alone (the arbitrary axis).

use nalgebra::{Point3, Vector3};
use tubewright::centreline::Segment;
use tubewright::units::{Angle, Length};

use super::{Part, Parts};
use crate::dxf::{File, Layer};

/// Height of letters, mm.
const LETTERS: f64 = 8.0;

const TEXT: &str = "TEXT";

/// Longest name of a layer.
const LONGEST: usize = 31;

/// The DXF file.
#[must_use]
pub fn dxf(parts: &Parts) -> String {
    let mut file = File::new(parts.units);
    let mut layers: Vec<String> = vec!["0".to_owned(), TEXT.to_owned()];
    for part in &parts.parts {
        let layer = layer(&part.name, &layers);
        for span in &part.spans {
            piece(&mut file, &layer, &span.segment);
        }
        tag(&mut file, parts, part);
        layers.push(layer);
    }
    // The first stands in every drawing; colours from 1 to 6 are those that can be told apart.
    let mut colours = (1..=6).cycle();
    let used: Vec<Layer<'_>> = layers[1..]
        .iter()
        .map(|layer| (layer.as_str(), if layer == TEXT { 7 } else { colours.next().unwrap_or(7) }))
        .collect();
    file.whole(&used)
}

/// A name for a layer that none has yet.
fn layer(name: &str, taken: &[String]) -> String {
    let plain = |letter: char| match letter.to_ascii_uppercase() {
        letter @ ('A'..='Z' | '0'..='9' | '-' | '_' | '$') => letter,
        _ => '_',
    };
    let mut layer: String = name.chars().map(plain).take(LONGEST).collect();
    let first = layer.clone();
    for number in 2.. {
        if !taken.contains(&layer) {
            break;
        }
        let end = format!("_{number}");
        layer = first.chars().take(LONGEST - end.len()).collect::<String>() + &end;
    }
    layer
}

fn piece(file: &mut File, layer: &str, segment: &Segment) {
    match segment {
        Segment::Straight { from, to, .. } => file.line(layer, from, to),
        Segment::Arc { centre, outward, direction, normal, radius, angle, .. } => {
            let (x, y) = plane(normal);
            file.entity("ARC", layer);
            file.length(10, centre.coords.dot(&x));
            file.length(20, centre.coords.dot(&y));
            file.length(30, centre.coords.dot(normal));
            file.length(40, radius.to_mm());
            let from = Angle::rad(libm::atan2(outward.dot(&y), outward.dot(&x)));
            file.figure(50, from.to_deg().rem_euclid(360.0));
            file.figure(51, (from + *angle).to_deg().rem_euclid(360.0));
            for (code, part) in [(210, normal.x), (220, normal.y), (230, normal.z)] {
                file.figure(code, part);
            }
            // It reaches furthest along an axis at its ends, or where it runs square to that axis.
            let furthest = (0..3).flat_map(|axis| {
                let at = libm::atan2(direction[axis], outward[axis]);
                [at, at + core::f64::consts::PI].map(|at| at.rem_euclid(core::f64::consts::TAU))
            });
            for turned in furthest.filter(|turned| *turned < angle.to_rad()).chain([0.0, angle.to_rad()]) {
                file.reach(&segment.at(*radius * turned).0);
            }
        }
    }
}

/// The axes of the plane that has a normal, as the format derives them: along the world's y axis by the normal where that is nearly along z, else along the
/// world's z axis by the normal.
fn plane(normal: &Vector3<f64>) -> (Vector3<f64>, Vector3<f64>) {
    const NEAR: f64 = 1.0 / 64.0;
    let by = if normal.x.abs() < NEAR && normal.y.abs() < NEAR { Vector3::y() } else { Vector3::z() };
    let x = by.cross(normal).normalize();
    (x, normal.cross(&x).normalize())
}

/// What a tube is, beside its end A.
fn tag(file: &mut File, parts: &Parts, part: &Part) {
    let at = part.spans.first().map_or_else(Point3::origin, |span| span.start().at);
    let files = format!("job {}, fingerprint {}", parts.job, parts.fingerprint);
    let unit = file.unit();
    let lines = [format!("{}: centreline from end A, lengths in {unit}", part.name), part.about.clone(), files];
    for (place, line) in lines.iter().enumerate() {
        let below = Length::mm(-1.5 * LETTERS) * place as f64;
        let aside = Vector3::new(part.od.to_mm(), below.to_mm(), 0.0);
        file.words(TEXT, &(at + aside), LETTERS, line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layers_have_names_of_release_12_and_none_twice() {
        let taken: Vec<String> = ["0", TEXT, "HOOP", "B_GEL"].map(str::to_owned).to_vec();
        assert_eq!(layer("rail-left", &taken), "RAIL-LEFT");
        assert_eq!(layer("hoop", &taken), "HOOP_2");
        assert_eq!(layer("text", &taken), "TEXT_2");
        assert_eq!(layer("bügel", &taken), "B_GEL_2");
        let long = layer(&"long".repeat(20), &taken);
        assert_eq!(long.len(), LONGEST);
        assert_eq!(layer(&"long".repeat(21), &[long]).len(), LONGEST);
    }
}
