//! Many named things into one GLB file, turned from our frame into glTF's.

use std::collections::BTreeMap;

use gltf_json as json;
use json::validation::Checked::Valid;
use json::validation::USize64;

use super::error::FileError;
use super::glb_out::accessor_of;
use crate::frame::{gltf_from_vehicle, gltf_turn_from_vehicle};
use crate::geometry::Triangles;
use crate::model::{Pose, Vector};

/// A named node: a surface of its own, or others that it carries, or both.
#[derive(Debug, Clone, PartialEq)]
pub struct GlbNode {
    /// Its name.
    pub name: String,
    /// Where it stands in what carries it; its surface is in its own frame.
    pub pose: Pose,
    /// Its surface with a normal for each corner of each triangle, and its colour; none for a node that
    /// only carries others.
    pub surface: Option<GlbSurface>,
    /// What it carries.
    pub children: Vec<GlbNode>,
}

/// A surface with its look.
#[derive(Debug, Clone, PartialEq)]
pub struct GlbSurface {
    /// Triangles, mm.
    pub triangles: Triangles,
    /// A unit normal for each corner of each triangle.
    pub normals: Vec<[Vector; 3]>,
    /// Red, green and blue as on a screen.
    pub colour: [u8; 3],
    /// 1 hides what lies behind.
    pub alpha: f32,
}

/// A GLB 2.0 file of these nodes: metres, +Y up, +Z forward, +X left. Materials are two-sided, and one
/// for each colour. Cost: grows with the triangles.
///
/// # Errors
/// When there is no triangle, or more than a GLB file can hold.
pub fn glb_from_nodes(file: &str, nodes: &[GlbNode]) -> Result<Vec<u8>, FileError> {
    let fail = |found: String, expected: &str| FileError::one(file, found, expected);
    let mut writer = Writer::default();
    writer.root.asset.generator = Some(format!("dryberth {}", env!("CARGO_PKG_VERSION")));
    let buffer = writer.root.push(json::Buffer {
        byte_length: USize64(0),
        uri: None,
        name: None,
        extensions: None,
        extras: json::Extras::default(),
    });
    let top: Vec<_> = nodes.iter().map(|node| writer.node(buffer, node)).collect();
    if writer.data.is_empty() {
        return Err(fail("no triangle to write".into(), "at least one"));
    }
    let scene = writer.root.push(json::Scene {
        nodes: top,
        name: None,
        extensions: None,
        extras: json::Extras::default(),
    });
    writer.root.scene = Some(scene);
    writer.root.buffers[buffer.value()].byte_length = USize64::from(writer.data.len());
    let mut text = json::serialize::to_vec(&writer.root)
        .map_err(|error| fail(error.to_string(), "nodes that can be described"))?;
    text.resize(text.len().next_multiple_of(4), b' ');
    let whole = 12 + 8 + text.len() + 8 + writer.data.len();
    let Ok(whole_size) = u32::try_from(whole) else {
        return Err(fail(format!("{whole} bytes"), "less than 4 GiB; simplify the meshes"));
    };
    let mut out = Vec::with_capacity(whole);
    out.extend(b"glTF");
    for word in [2, whole_size, text.len() as u32] {
        out.extend(word.to_le_bytes());
    }
    out.extend(b"JSON");
    out.extend(text);
    out.extend((writer.data.len() as u32).to_le_bytes());
    out.extend(b"BIN\0");
    out.extend(writer.data);
    Ok(out)
}

#[derive(Default)]
struct Writer {
    root: json::Root,
    data: Vec<u8>,
    materials: BTreeMap<([u8; 3], u32), json::Index<json::Material>>,
}

impl Writer {
    fn node(
        &mut self,
        buffer: json::Index<json::Buffer>,
        node: &GlbNode,
    ) -> json::Index<json::Node> {
        let children: Vec<_> = node.children.iter().map(|child| self.node(buffer, child)).collect();
        let mesh = node
            .surface
            .as_ref()
            .filter(|surface| !surface.triangles.indices.is_empty())
            .map(|surface| self.mesh(buffer, &node.name, surface));
        let still = node.pose == Pose::identity();
        let at = gltf_from_vehicle(&node.pose.translation.vector.into()).map(|value| value as f32);
        let turn = gltf_turn_from_vehicle(&node.pose.rotation);
        self.root.push(json::Node {
            mesh,
            name: Some(node.name.clone()),
            children: (!children.is_empty()).then_some(children),
            translation: (!still).then_some(at),
            rotation: (!still).then_some(json::scene::UnitQuaternion(turn)),
            ..json::Node::default()
        })
    }

    fn mesh(
        &mut self,
        buffer: json::Index<json::Buffer>,
        name: &str,
        surface: &GlbSurface,
    ) -> json::Index<json::Mesh> {
        // Corners with the same place and normal are one.
        let mut known: BTreeMap<[u32; 6], u32> = BTreeMap::new();
        let mut corners: Vec<[f32; 6]> = Vec::new();
        let mut indices: Vec<u32> = Vec::new();
        for (triangle, normals) in surface.triangles.each().zip(&surface.normals) {
            for (corner, normal) in triangle.iter().zip(normals) {
                let at = gltf_from_vehicle(corner).map(|value| value as f32 + 0.0);
                let [nx, ny, nz] = [normal.y, normal.z, normal.x].map(|value| value as f32 + 0.0);
                let both = [at[0], at[1], at[2], nx, ny, nz];
                let next = corners.len() as u32;
                let index = *known.entry(both.map(f32::to_bits)).or_insert(next);
                if index == next {
                    corners.push(both);
                }
                indices.push(index);
            }
        }
        use json::accessor::{ComponentType, Type};
        use json::buffer::Target::{ArrayBuffer, ElementArrayBuffer};
        let mut low = [f32::INFINITY; 3];
        let mut high = [f32::NEG_INFINITY; 3];
        for corner in &corners {
            for axis in 0..3 {
                low[axis] = low[axis].min(corner[axis]);
                high[axis] = high[axis].max(corner[axis]);
            }
        }
        let part =
            |from: usize| corners.iter().flat_map(move |corner| corner[from..from + 3].iter());
        let bytes =
            |from: usize| part(from).flat_map(|value| value.to_le_bytes()).collect::<Vec<u8>>();
        let (positions, normals) = (bytes(0), bytes(3));
        let span = Some((low, high));
        let count = corners.len();
        let positions = self.accessor(
            buffer,
            &positions,
            ArrayBuffer,
            count,
            ComponentType::F32,
            Type::Vec3,
            span,
        );
        let normals = self.accessor(
            buffer,
            &normals,
            ArrayBuffer,
            count,
            ComponentType::F32,
            Type::Vec3,
            None,
        );
        let small = count <= usize::from(u16::MAX);
        let (numbers, kind): (Vec<u8>, _) = if small {
            (
                indices.iter().flat_map(|index| (*index as u16).to_le_bytes()).collect(),
                ComponentType::U16,
            )
        } else {
            (indices.iter().flat_map(|index| index.to_le_bytes()).collect(), ComponentType::U32)
        };
        let numbers = self.accessor(
            buffer,
            &numbers,
            ElementArrayBuffer,
            indices.len(),
            kind,
            Type::Scalar,
            None,
        );
        let material = self.material(surface);
        let primitive = json::mesh::Primitive {
            attributes: [
                (Valid(json::mesh::Semantic::Positions), positions),
                (Valid(json::mesh::Semantic::Normals), normals),
            ]
            .into_iter()
            .collect(),
            indices: Some(numbers),
            material: Some(material),
            mode: Valid(json::mesh::Mode::Triangles),
            targets: None,
            extensions: None,
            extras: json::Extras::default(),
        };
        self.root.push(json::Mesh {
            primitives: vec![primitive],
            weights: None,
            name: Some(name.to_string()),
            extensions: None,
            extras: json::Extras::default(),
        })
    }

    fn accessor(
        &mut self,
        buffer: json::Index<json::Buffer>,
        bytes: &[u8],
        target: json::buffer::Target,
        count: usize,
        kind: json::accessor::ComponentType,
        of: json::accessor::Type,
        span: Option<([f32; 3], [f32; 3])>,
    ) -> json::Index<json::Accessor> {
        let offset = self.data.len();
        self.data.extend(bytes);
        self.data.resize(self.data.len().next_multiple_of(4), 0);
        let view = self.root.push(json::buffer::View {
            buffer,
            byte_length: USize64::from(bytes.len()),
            byte_offset: Some(USize64::from(offset)),
            byte_stride: None,
            target: Some(Valid(target)),
            name: None,
            extensions: None,
            extras: json::Extras::default(),
        });
        self.root.push(accessor_of(view, count, kind, of, span))
    }

    fn material(&mut self, surface: &GlbSurface) -> json::Index<json::Material> {
        let key = (surface.colour, surface.alpha.to_bits());
        if let Some(known) = self.materials.get(&key) {
            return *known;
        }
        // glTF colours are linear light; a screen's follow sRGB, IEC 61966-2-1, from memory.
        let [r, g, b] = surface.colour.map(|value| {
            let value = f32::from(value) / 255.0;
            if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        });
        let glassy = surface.alpha < 1.0;
        let index = self.root.push(json::Material {
            name: Some(format!(
                "#{:02x}{:02x}{:02x}",
                surface.colour[0], surface.colour[1], surface.colour[2]
            )),
            alpha_mode: Valid(if glassy {
                json::material::AlphaMode::Blend
            } else {
                json::material::AlphaMode::Opaque
            }),
            double_sided: true,
            pbr_metallic_roughness: json::material::PbrMetallicRoughness {
                base_color_factor: json::material::PbrBaseColorFactor([r, g, b, surface.alpha]),
                metallic_factor: json::material::StrengthFactor(0.0),
                roughness_factor: json::material::StrengthFactor(0.8),
                ..Default::default()
            },
            ..Default::default()
        });
        self.materials.insert(key, index);
        index
    }
}
