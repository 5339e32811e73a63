//! Closed surfaces of triangles from STL (text and binary) and OBJ files.
//!
//! A mesh is only of use where inside and outside can be told: every edge must be run through as often one way as the
//! other. The files carry no units, so the bender's file names them. Corners that coincide to the last bit are one
//! corner; triangles that use a corner twice are left out. A surface that is turned inside out as a whole is turned
//! back.

use std::collections::{BTreeMap, HashMap};
use std::io::Cursor;
use std::path::Path;

use nalgebra::{Point3, Vector3};

use crate::bender::TriangleMesh;

/// Why a file is no closed surface: code, what is wrong, the way out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flaw {
    /// Stable code.
    pub code: &'static str,
    /// What is wrong, as a clause that follows the file's name.
    pub reason: String,
    /// The way out.
    pub help: &'static str,
}

const RE_EXPORT: &str = "export it again from the drawing, as a binary STL of one closed body";

fn flaw(code: &'static str, reason: impl Into<String>, help: &'static str) -> Flaw {
    Flaw { code, reason: reason.into(), help }
}

/// The closed surface that a file holds, in mm: each coordinate times `scale`, then moved by `at`.
///
/// The ending of the name tells the format: `.stl` or `.obj`.
///
/// # Errors
///
/// `mesh-format` for another ending, `mesh-unreadable` for what is not of its format, `not-finite` for NaN and infinite
/// coordinates, `mesh-open` where the surface has a hole, no volume, or triangles turned both ways.
pub fn read_mesh(name: &Path, bytes: &[u8], scale: f64, at: Vector3<f64>) -> Result<TriangleMesh, Flaw> {
    let ending = name.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
    let corners = match ending.as_deref() {
        Some("stl") => stl(bytes)?,
        Some("obj") => obj(bytes)?,
        _ => {
            return Err(flaw("mesh-format", "is neither `.stl` nor `.obj` by its name", "export the body as an STL"));
        }
    };
    closed(&corners, scale, at)
}

/// Corners of all triangles of an STL.
///
/// The reader that is used takes one body of a text file that names it, and judges by the first word alone; so a
/// binary file is told by its length first, and a text file is handed over body by body with a name put in.
fn stl(bytes: &[u8]) -> Result<Vec<[Point3<f64>; 3]>, Flaw> {
    const HEADER: usize = 84;
    const RECORD: usize = 50;
    let counted = bytes.get(80..HEADER).and_then(|count| <[u8; 4]>::try_from(count).ok());
    let counted = counted.map(|count| u32::from_le_bytes(count) as usize);
    if counted.and_then(|count| count.checked_mul(RECORD)?.checked_add(HEADER)) == Some(bytes.len()) {
        let mut unnamed = bytes.to_vec();
        unnamed[..80].fill(0);
        return stl_body(&unnamed);
    }
    let text = core::str::from_utf8(bytes).ok().map(str::trim_start).filter(|text| text.starts_with("solid"));
    let Some(text) = text else {
        let reason = match counted {
            Some(count) => format!("is no text STL, and its {} bytes are not those of {count} triangles", bytes.len()),
            None => "is too short for an STL".to_owned(),
        };
        return Err(flaw("mesh-unreadable", reason, RE_EXPORT));
    };
    let mut triangles = Vec::new();
    let mut body = String::new();
    for line in text.lines() {
        let first = line.split_whitespace().next();
        match first {
            Some("solid") if body.is_empty() => body.push_str("solid body\n"),
            Some("endsolid") if !body.is_empty() => {
                body.push_str("endsolid\n");
                triangles.extend(stl_body(body.as_bytes())?);
                body.clear();
            }
            None => {}
            _ => {
                body.push_str(line);
                body.push('\n');
            }
        }
    }
    if body.is_empty() {
        Ok(triangles)
    } else {
        Err(flaw("mesh-unreadable", "ends before its `endsolid`: it was cut short", RE_EXPORT))
    }
}

fn stl_body(bytes: &[u8]) -> Result<Vec<[Point3<f64>; 3]>, Flaw> {
    let told = |error: std::io::Error| {
        let (code, text) = (error.kind(), error.to_string());
        if code == std::io::ErrorKind::InvalidData && text.contains("finite") {
            not_finite()
        } else {
            flaw("mesh-unreadable", format!("is no STL that can be read: {text}"), RE_EXPORT)
        }
    };
    let mut cursor = Cursor::new(bytes);
    let triangles = stl_io::create_stl_reader(&mut cursor).map_err(told)?;
    let point = |corner: &stl_io::Vertex| {
        let [x, y, z] = corner.0;
        Point3::new(f64::from(x), f64::from(y), f64::from(z))
    };
    triangles.map(|triangle| triangle.map(|triangle| triangle.vertices.each_ref().map(point)).map_err(told)).collect()
}

/// Corners of all faces of an OBJ, faces of more than three corners cut into triangles.
///
/// Only the lines of corners and faces are handed over, without normals and textures: the reader that is used counts
/// their places without looking whether they fit.
fn obj(bytes: &[u8]) -> Result<Vec<[Point3<f64>; 3]>, Flaw> {
    let text = core::str::from_utf8(bytes).map_err(|_| flaw("mesh-unreadable", "is no text", RE_EXPORT))?;
    let mut plain = String::new();
    for line in text.lines() {
        let mut words = line.split_whitespace();
        match words.next() {
            Some("v") => {
                plain.push('v');
                words.take(3).for_each(|word| plain.extend([" ", word]));
                plain.push('\n');
            }
            Some("f") => {
                plain.push('f');
                words.for_each(|word| plain.extend([" ", word.split('/').next().unwrap_or_default()]));
                plain.push('\n');
            }
            _ => {}
        }
    }
    let options = tobj::LoadOptions { single_index: true, triangulate: true, ignore_points: true, ignore_lines: true };
    let (models, _) = tobj::load_obj_buf(&mut plain.as_bytes(), &options, |_| Ok(Default::default()))
        .map_err(|error| flaw("mesh-unreadable", format!("is no OBJ that can be read: {error}"), RE_EXPORT))?;
    let mut triangles = Vec::new();
    for model in models {
        let point = |index: &u32| {
            let start = *index as usize * 3;
            let corner = model.mesh.positions.get(start..start + 3)?;
            Some(Point3::new(f64::from(corner[0]), f64::from(corner[1]), f64::from(corner[2])))
        };
        for three in model.mesh.indices.chunks_exact(3) {
            if let (Some(a), Some(b), Some(c)) = (point(&three[0]), point(&three[1]), point(&three[2])) {
                triangles.push([a, b, c]);
            }
        }
    }
    Ok(triangles)
}

fn not_finite() -> Flaw {
    flaw("not-finite", "has a corner that is not a finite number", RE_EXPORT)
}

/// Joins corners, and makes sure that the surface is closed and turned outward.
fn closed(corners: &[[Point3<f64>; 3]], scale: f64, at: Vector3<f64>) -> Result<TriangleMesh, Flaw> {
    // Found by hash for speed; the order of the result comes from the file alone.
    let mut known: HashMap<[u64; 3], u32> = HashMap::new();
    let mut points: Vec<Point3<f64>> = Vec::new();
    let mut triangles: Vec<[u32; 3]> = Vec::new();
    let mut edges: BTreeMap<(u32, u32), i64> = BTreeMap::new();
    for three in corners {
        let mut triangle = [0; 3];
        for (corner, place) in three.iter().zip(&mut triangle) {
            let corner = corner.coords * scale + at;
            if !corner.iter().all(|value| value.is_finite() && value.abs() < 1e9) {
                return Err(not_finite());
            }
            // + 0 makes one zero of the two.
            let bits = [corner.x, corner.y, corner.z].map(|value| (value + 0.0).to_bits());
            *place = *known.entry(bits).or_insert_with(|| {
                points.push(Point3::from(corner));
                u32::try_from(points.len() - 1).unwrap_or(u32::MAX)
            });
        }
        let [a, b, c] = triangle;
        if a == b || b == c || c == a {
            continue;
        }
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let way = if from < to { 1 } else { -1 };
            *edges.entry((from.min(to), from.max(to))).or_insert(0) += way;
        }
        triangles.push(triangle);
    }
    if triangles.is_empty() {
        return Err(flaw("mesh-open", "has no triangles", RE_EXPORT));
    }
    let open = edges.iter().filter(|(_, ways)| **ways != 0);
    if let Some(((from, _), _)) = open.clone().next() {
        let place = points[*from as usize];
        return Err(flaw(
            "mesh-open",
            format!(
                "is not closed: {} of its {} edges have a triangle on one side only, or triangles turned both ways, one of them at [{:.1}, {:.1}, {:.1}] mm of the bender frame",
                open.count(),
                edges.len(),
                place.x,
                place.y,
                place.z
            ),
            "close the holes in the drawing and export it again, or draw a box around it instead",
        ));
    }
    let middle = points[0].coords;
    let volume: f64 = triangles
        .iter()
        .map(|three| {
            let [a, b, c] = three.map(|corner| points[corner as usize].coords - middle);
            a.dot(&b.cross(&c))
        })
        .sum();
    // A body of less than a cubic millimetre is none, or one in the wrong units.
    if volume.abs() < 6.0 {
        return Err(flaw(
            "mesh-open",
            format!("encloses {:.3} mm3, which is no body", volume.abs() / 6.0),
            "see whether the units are right; a sheet without thickness cannot be used",
        ));
    }
    if volume < 0.0 {
        triangles.iter_mut().for_each(|three| three.swap(1, 2));
    }
    Ok(TriangleMesh { points, triangles })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tetrahedron on the axes with legs of 10, outward.
    const OBJ: &str = "# invented\no body\nv 0 0 0\nv 10 0 0\nv 0 10 0\nv 0 0 10\nf 1/9/9 3/9/9 2/9/9\nf 1 2 4\nf 1//3 4//3 3//3\nf -3 -2 -1\n";

    fn text_stl(skip: usize) -> String {
        let corners = ["0 0 0", "10 0 0", "0 10 0", "0 0 10"];
        let mut out = "solid\n".to_owned();
        for three in [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]].iter().skip(skip) {
            out.push_str("facet normal 0 0 0\nouter loop\n");
            three.iter().for_each(|corner| out.push_str(&format!("vertex {}\n", corners[*corner])));
            out.push_str("endloop\nendfacet\n");
        }
        out + "endsolid\n"
    }

    fn binary_stl(turned: bool) -> Vec<u8> {
        let corners: [[f32; 3]; 4] = [[0.0; 3], [10.0, 0.0, 0.0], [0.0, 10.0, 0.0], [0.0, 0.0, 10.0]];
        let mut out = b"solid but binary all the same".to_vec();
        out.resize(80, b' ');
        out.extend(4_u32.to_le_bytes());
        for [a, b, c] in [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]] {
            out.extend([0; 12]);
            for corner in if turned { [a, c, b] } else { [a, b, c] } {
                corners[corner].iter().for_each(|value: &f32| out.extend(value.to_le_bytes()));
            }
            out.extend([0; 2]);
        }
        out
    }

    fn read(name: &str, bytes: &[u8]) -> Result<TriangleMesh, Flaw> {
        read_mesh(Path::new(name), bytes, 10.0, Vector3::new(1.0, 2.0, 3.0))
    }

    fn code(name: &str, bytes: &[u8]) -> &'static str {
        read(name, bytes).unwrap_err().code
    }

    #[test]
    fn all_formats_give_the_same_body() {
        let wanted = read("a.stl", text_stl(0).as_bytes()).unwrap();
        assert_eq!(wanted.points.len(), 4);
        assert_eq!(wanted.points[0], Point3::new(1.0, 2.0, 3.0));
        for (name, bytes) in [("a.STL", binary_stl(false)), ("a.obj", OBJ.as_bytes().to_vec())] {
            let mesh = read(name, &bytes).unwrap();
            let place = |mesh: &TriangleMesh| -> Vec<[Point3<f64>; 3]> {
                mesh.triangles.iter().map(|three| three.map(|corner| mesh.points[corner as usize])).collect()
            };
            assert_eq!(place(&mesh), place(&wanted), "{name}");
        }
    }

    #[test]
    fn a_body_inside_out_is_turned() {
        for turned in [false, true] {
            let mesh = read("a.stl", &binary_stl(turned)).unwrap();
            let volume: f64 = mesh
                .triangles
                .iter()
                .map(|three| {
                    let [a, b, c] = three.map(|corner| mesh.points[corner as usize].coords);
                    a.dot(&b.cross(&c)) / 6.0
                })
                .sum();
            // Legs of 100 mm: a sixth of a cube.
            assert!((volume - 1e6 / 6.0).abs() < 1e-3, "{volume}");
        }
    }

    #[test]
    fn every_body_of_a_text_file_counts() {
        let twice = text_stl(0) + &text_stl(0).replace("10", "5");
        assert_eq!(read("a.stl", twice.as_bytes()).unwrap().triangles.len(), 8);
    }

    #[test]
    fn what_is_no_closed_surface_is_refused() {
        assert_eq!(code("a.step", b""), "mesh-format");
        assert_eq!(code("a.stl", b""), "mesh-unreadable");
        assert_eq!(code("a.stl", &binary_stl(false)[..200]), "mesh-unreadable");
        assert_eq!(code("a.stl", text_stl(1).as_bytes()), "mesh-open");
        assert_eq!(code("a.stl", text_stl(4).as_bytes()), "mesh-open");
        assert_eq!(code("a.stl", text_stl(0).replace("vertex 10 0 0", "vertex nan 0 0").as_bytes()), "not-finite");
        assert_eq!(code("a.stl", &text_stl(0).as_bytes()[..300]), "mesh-unreadable");
        assert_eq!(code("a.obj", OBJ.replace("v 10 0 0", "v 1e50 0 0").as_bytes()), "not-finite");
        assert_eq!(code("a.obj", OBJ.replace("f 1 2 4", "f 1 2 9").as_bytes()), "mesh-unreadable");
        assert_eq!(code("a.obj", OBJ.replace("f 1 2 4", "f 1 4 2").as_bytes()), "mesh-open");
        assert_eq!(code("a.obj", OBJ.replace("v 10 0 0", "v 10 0").as_bytes()), "mesh-unreadable");
        assert_eq!(code("a.obj", &[0xff, 0xfe]), "mesh-unreadable");
        assert_eq!(code("a.obj", format!("{OBJ}f 1 -9223372036854775808 3\n").as_bytes()), "mesh-unreadable");
        let mut endless = binary_stl(false);
        endless[96..100].copy_from_slice(&f32::NAN.to_le_bytes());
        assert_eq!(code("a.stl", &endless), "not-finite");
    }
}
