//! Triangles into a GLB file, turned from our frame into glTF's.

use gltf_json as json;
use json::validation::Checked::Valid;
use json::validation::USize64;

use super::error::FileError;
use crate::frame::{gltf_from_vehicle, vehicle_from_gltf};
use crate::geometry::Triangles;

/// The same surface with the corners as a GLB file holds them: 32-bit floats in metres, which is
/// within 0.0003 mm a few metres from the origin.
#[must_use]
pub fn as_glb_holds(mut surface: Triangles) -> Triangles {
    for vertex in &mut surface.vertices {
        let at = gltf_from_vehicle(vertex).map(|value| f64::from(value as f32));
        *vertex = vehicle_from_gltf(at);
    }
    surface
}

/// A GLB 2.0 file of one mesh without material. Reading it gives [`as_glb_holds`] of the triangles.
///
/// # Errors
/// When there is no triangle, or more than a GLB file can hold.
pub fn glb_from_triangles(
    file: &str,
    name: &str,
    surface: &Triangles,
) -> Result<Vec<u8>, FileError> {
    let fail = |found: String, expected: &str| FileError::one(file, found, expected);
    if surface.indices.is_empty() {
        return Err(fail("no triangle to write".into(), "at least one"));
    }
    let small = surface.vertices.len() <= usize::from(u16::MAX);
    let positions = surface.vertices.len() * 12;
    let indices = surface.indices.len() * 3 * if small { 2 } else { 4 };
    let root = described(name, surface, positions, indices, small);
    let mut text = json::serialize::to_vec(&root)
        .map_err(|error| fail(error.to_string(), "a mesh that can be described"))?;
    text.resize(text.len().next_multiple_of(4), b' ');
    let data = (positions + indices).next_multiple_of(4);
    let whole = 12 + 8 + text.len() + 8 + data;
    let Ok(whole_size) = u32::try_from(whole) else {
        return Err(fail(format!("{whole} bytes"), "less than 4 GiB; simplify the mesh"));
    };
    let mut out = Vec::with_capacity(whole);
    out.extend(b"glTF");
    for word in [2, whole_size, text.len() as u32] {
        out.extend(word.to_le_bytes());
    }
    out.extend(b"JSON");
    out.extend(text);
    out.extend((data as u32).to_le_bytes());
    out.extend(b"BIN\0");
    for vertex in &surface.vertices {
        for value in gltf_from_vehicle(vertex) {
            out.extend((value as f32).to_le_bytes());
        }
    }
    for &corner in surface.indices.iter().flatten() {
        if small {
            out.extend((corner as u16).to_le_bytes());
        } else {
            out.extend(corner.to_le_bytes());
        }
    }
    out.resize(whole, 0);
    Ok(out)
}

fn described(
    name: &str,
    surface: &Triangles,
    positions: usize,
    indices: usize,
    small: bool,
) -> json::Root {
    let mut root = json::Root::default();
    root.asset.generator = Some(format!("dryberth {}", env!("CARGO_PKG_VERSION")));
    let buffer = root.push(json::Buffer {
        byte_length: USize64::from((positions + indices).next_multiple_of(4)),
        uri: None,
        name: None,
        extensions: None,
        extras: json::Extras::default(),
    });
    let mut view = |offset: usize, length: usize, target| {
        root.push(json::buffer::View {
            buffer,
            byte_length: USize64::from(length),
            byte_offset: Some(USize64::from(offset)),
            byte_stride: None,
            target: Some(Valid(target)),
            name: None,
            extensions: None,
            extras: json::Extras::default(),
        })
    };
    let position_view = view(0, positions, json::buffer::Target::ArrayBuffer);
    let index_view = view(positions, indices, json::buffer::Target::ElementArrayBuffer);
    let (mut low, mut high) = ([f32::INFINITY; 3], [f32::NEG_INFINITY; 3]);
    for vertex in &surface.vertices {
        let at = gltf_from_vehicle(vertex).map(|value| value as f32);
        for axis in 0..3 {
            low[axis] = low[axis].min(at[axis]);
            high[axis] = high[axis].max(at[axis]);
        }
    }
    let mut accessor = |view, count: usize, kind, of, span: Option<([f32; 3], [f32; 3])>| {
        root.push(accessor_of(view, count, kind, of, span))
    };
    use json::accessor::{ComponentType, Type};
    let corners = accessor(
        position_view,
        surface.vertices.len(),
        ComponentType::F32,
        Type::Vec3,
        Some((low, high)),
    );
    let number = if small { ComponentType::U16 } else { ComponentType::U32 };
    let numbers = accessor(index_view, surface.indices.len() * 3, number, Type::Scalar, None);
    let primitive = json::mesh::Primitive {
        attributes: std::iter::once((Valid(json::mesh::Semantic::Positions), corners)).collect(),
        indices: Some(numbers),
        material: None,
        mode: Valid(json::mesh::Mode::Triangles),
        targets: None,
        extensions: None,
        extras: json::Extras::default(),
    };
    let mesh = root.push(json::Mesh {
        primitives: vec![primitive],
        weights: None,
        name: Some(name.to_string()),
        extensions: None,
        extras: json::Extras::default(),
    });
    let node = root.push(json::Node {
        mesh: Some(mesh),
        name: Some(name.to_string()),
        ..json::Node::default()
    });
    let scene = root.push(json::Scene {
        nodes: vec![node],
        name: None,
        extensions: None,
        extras: json::Extras::default(),
    });
    root.scene = Some(scene);
    root
}

/// What a whole view of a buffer holds; `span` is the lowest and highest of its vectors.
pub(super) fn accessor_of(
    view: json::Index<json::buffer::View>,
    count: usize,
    kind: json::accessor::ComponentType,
    of: json::accessor::Type,
    span: Option<([f32; 3], [f32; 3])>,
) -> json::Accessor {
    json::Accessor {
        buffer_view: Some(view),
        byte_offset: Some(USize64(0)),
        count: USize64::from(count),
        component_type: Valid(json::accessor::GenericComponentType(kind)),
        type_: Valid(of),
        min: span.map(|(low, _)| json::Value::from(low.to_vec())),
        max: span.map(|(_, high)| json::Value::from(high.to_vec())),
        name: None,
        normalized: false,
        sparse: None,
        extensions: None,
        extras: json::Extras::default(),
    }
}
