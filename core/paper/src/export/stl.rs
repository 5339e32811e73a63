//! STL in its binary form: 80 bytes of words, the number of triangles, and for each its direction and its corners in single precision.
//!
//! Lengths are in mm, which no STL says anywhere but in its words. Single precision is good to 1e-4 mm at a metre from the origin of the job.

use super::mesh::{Chord, Mesh};
use super::{Parts, WRITER};

/// Bytes of words.
const HEAD: usize = 80;

/// The STL file with all tubes, each a closed surface of its own.
#[must_use]
pub fn stl(parts: &Parts, chord: Chord) -> Vec<u8> {
    let error = chord.error().to_mm();
    let mut file = format!("{WRITER}, mm, axes of the job, chord error {error} mm, no copes").into_bytes();
    file.resize(HEAD, b' ');
    let meshes: Vec<Mesh> = parts.parts.iter().map(|part| Mesh::of(part, chord)).collect();
    let count: usize = meshes.iter().map(|mesh| mesh.triangles.len()).sum();
    file.extend((count as u32).to_le_bytes());
    for (corners, outward) in meshes.iter().flat_map(Mesh::faces) {
        let figures = std::iter::once(outward).chain(corners.map(|corner| corner.coords));
        file.extend(figures.flat_map(|of| [of.x, of.y, of.z]).flat_map(|figure| (figure as f32).to_le_bytes()));
        file.extend([0; 2]);
    }
    file
}
