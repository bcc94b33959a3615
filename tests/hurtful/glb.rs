//! GLB files made to measure.

use serde_json::{Value, json};

/// A GLB file in parts.
pub(crate) struct Glb {
    pub(crate) json: Value,
    pub(crate) data: Vec<u8>,
}

impl Glb {
    /// A closed tetrahedron 40 mm high: 4 corners as floats, 4 triangles as 16-bit numbers.
    pub(crate) fn sound() -> Glb {
        let corners: [[f32; 3]; 4] =
            [[0.0, 0.0, 0.0], [0.05, 0.0, 0.0], [0.0, 0.04, 0.0], [0.0, 0.0, 0.05]];
        let triangles: [[u16; 3]; 4] = [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];
        let mut data: Vec<u8> =
            corners.iter().flatten().flat_map(|value| value.to_le_bytes()).collect();
        data.extend(triangles.iter().flatten().flat_map(|index| index.to_le_bytes()));
        let json = json!({
            "asset": { "version": "2.0" },
            "scene": 0,
            "scenes": [{ "nodes": [0] }],
            "nodes": [{ "mesh": 0 }],
            "meshes": [{ "primitives": [{ "attributes": { "POSITION": 0 }, "indices": 1 }] }],
            "accessors": [
                { "bufferView": 0, "componentType": 5126, "count": 4, "type": "VEC3",
                  "min": [0, 0, 0], "max": [0.05, 0.04, 0.05] },
                { "bufferView": 1, "componentType": 5123, "count": 12, "type": "SCALAR" }
            ],
            "bufferViews": [
                { "buffer": 0, "byteOffset": 0, "byteLength": 48 },
                { "buffer": 0, "byteOffset": 48, "byteLength": 24 }
            ],
            "buffers": [{ "byteLength": 72 }]
        });
        Glb { json, data }
    }

    /// The sound file with the value at a JSON pointer set, made if it isn't there.
    pub(crate) fn with(mut self, pointer: &str, value: Value) -> Glb {
        let (parent, key) = pointer.rsplit_once('/').expect("a pointer with a slash");
        match self.json.pointer_mut(parent).expect("a place that is there") {
            Value::Object(fields) => drop(fields.insert(key.to_string(), value)),
            Value::Array(items) => items[key.parse::<usize>().expect("an index")] = value,
            _ => panic!("`{parent}` holds nothing"),
        }
        self
    }

    /// The sound file with some of its data overwritten.
    pub(crate) fn with_data(mut self, at: usize, bytes: &[u8]) -> Glb {
        self.data[at..at + bytes.len()].copy_from_slice(bytes);
        self
    }

    pub(crate) fn bytes(&self) -> Vec<u8> {
        assemble(self.json.to_string().as_bytes(), &self.data)
    }
}

/// A GLB of a JSON chunk, sound or not, and a data chunk.
pub(crate) fn assemble(json: &[u8], data: &[u8]) -> Vec<u8> {
    let padded = |bytes: &[u8], with: u8| {
        let mut bytes = bytes.to_vec();
        bytes.resize(bytes.len().next_multiple_of(4), with);
        bytes
    };
    let (json, data) = (padded(json, b' '), padded(data, 0));
    let mut glb = b"glTF".to_vec();
    let word = |glb: &mut Vec<u8>, value: usize| {
        glb.extend((u32::try_from(value).expect("a small file")).to_le_bytes());
    };
    word(&mut glb, 2);
    word(&mut glb, 12 + 8 + json.len() + 8 + data.len());
    word(&mut glb, json.len());
    glb.extend(b"JSON");
    glb.extend(&json);
    word(&mut glb, data.len());
    glb.extend(b"BIN\0");
    glb.extend(&data);
    glb
}
