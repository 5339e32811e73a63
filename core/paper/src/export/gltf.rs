//! glTF 2.0: a node and a closed mesh for each tube, by its name, as JSON or in its binary form.
//!
//! The standard has lengths in metres and y up. The job's +z is taken for up: what is (x, y, z) there is (x, z, -y) here. Numbers are in single
//! precision, good to 1e-4 mm at a metre from the origin of the job. Source: Khronos, glTF 2.0 specification, sections 3 and 4.4, from memory.

use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;
use serde_json::{Value, json};
use tubewright::json::pretty;

use super::mesh::{Chord, Mesh};
use super::{Parts, WRITER};

/// Codes of the standard: single precision, unsigned of 32 bits, corners, places of corners.
const FLOAT: u32 = 5126;
const UNSIGNED: u32 = 5125;
const CORNERS: u32 = 34962;
const PLACES: u32 = 34963;

const MM_PER_M: f64 = 1000.0;

/// As JSON, its numbers in it as base64.
#[must_use]
pub fn gltf(parts: &Parts, chord: Chord) -> String {
    let (mut document, bytes) = document(parts, chord);
    let uri = format!("data:application/octet-stream;base64,{}", BASE64_STANDARD.encode(&bytes));
    document["buffers"] = json!([{ "byteLength": bytes.len(), "uri": uri }]);
    pretty(&document)
}

/// In its binary form.
#[must_use]
pub fn glb(parts: &Parts, chord: Chord) -> Vec<u8> {
    let (mut document, bytes) = document(parts, chord);
    document["buffers"] = json!([{ "byteLength": bytes.len() }]);
    let mut text = document.to_string().into_bytes();
    // Both parts take whole words of four bytes; the second does by what it holds.
    text.resize(text.len().next_multiple_of(4), b' ');
    let mut file = b"glTF".to_vec();
    let words = [2, (12 + 8 + text.len() + 8 + bytes.len()) as u32, text.len() as u32];
    file.extend(words.iter().flat_map(|word: &u32| word.to_le_bytes()));
    file.extend(b"JSON");
    file.extend(text);
    file.extend((bytes.len() as u32).to_le_bytes());
    file.extend(b"BIN\0");
    file.extend(bytes);
    file
}

/// The document without its buffer, and the bytes of that.
fn document(parts: &Parts, chord: Chord) -> (Value, Vec<u8>) {
    let mut bytes = Vec::new();
    let (mut nodes, mut meshes, mut accessors, mut views) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (place, part) in parts.parts.iter().enumerate() {
        let mesh = Mesh::of(part, chord);
        let points: Vec<[f32; 3]> =
            mesh.points.iter().map(|at| [at.x, at.z, -at.y].map(|figure| (figure / MM_PER_M) as f32)).collect();
        let bound = |pick: fn(f32, f32) -> f32| {
            let pick = |all: [f32; 3], one: &[f32; 3]| [0, 1, 2].map(|axis| pick(all[axis], one[axis]));
            points.iter().skip(1).fold(points[0], pick)
        };
        let mut view = |target: u32, put: &mut dyn FnMut(&mut Vec<u8>)| {
            let from = bytes.len();
            put(&mut bytes);
            views.push(json!({ "buffer": 0, "byteOffset": from, "byteLength": bytes.len() - from, "target": target }));
        };
        view(CORNERS, &mut |bytes| bytes.extend(points.iter().flatten().flat_map(|figure| figure.to_le_bytes())));
        view(PLACES, &mut |bytes| {
            bytes.extend(mesh.triangles.iter().flatten().flat_map(|corner| corner.to_le_bytes()))
        });
        accessors.push(json!({
            "bufferView": 2 * place, "componentType": FLOAT, "count": points.len(), "type": "VEC3",
            "min": bound(f32::min), "max": bound(f32::max),
        }));
        accessors.push(json!({
            "bufferView": 2 * place + 1, "componentType": UNSIGNED, "count": 3 * mesh.triangles.len(), "type": "SCALAR",
        }));
        meshes.push(json!({
            "name": part.name,
            "primitives": [{ "attributes": { "POSITION": 2 * place }, "indices": 2 * place + 1 }],
        }));
        nodes.push(json!({ "name": part.name, "mesh": place, "extras": { "about": part.about } }));
    }
    let mut says = parts.says();
    says.push(format!("Metres, y up: x, y, z of the job are x, -z, y here. Chord error {} mm.", chord.error().to_mm()));
    let document = json!({
        "asset": { "version": "2.0", "generator": WRITER, "extras": { "about": says } },
        "scene": 0,
        "scenes": [{ "name": parts.job, "nodes": (0..nodes.len()).collect::<Vec<_>>() }],
        "nodes": nodes,
        "meshes": meshes,
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [],
    });
    (document, bytes)
}
