//! Triangles out of a GLB file, turned from glTF's frame into ours.

use std::collections::BTreeSet;

use gltf::accessor::{DataType, Dimensions};
use nalgebra::{Matrix4, Point3};

use super::error::FileError;
use crate::frame::vehicle_from_gltf;
use crate::geometry::Triangles;

/// Most triangles one file may draw, through all its nodes.
const MOST_TRIANGLES: usize = 5_000_000;

/// Most corners that they may have: a small file can draw one large mesh through very many nodes.
const MOST_CORNERS: usize = 15_000_000;

/// Farthest that a corner may lie from the origin: a kilometre, mm.
const FARTHEST_MM: f64 = 1e6;

/// Reads every triangle that the default scene of a GLB file draws, in the vehicle frame, mm.
/// `file` is its name for messages.
///
/// # Errors
/// When it is not GLB 2.0, is cut short, needs an extension, points outside its data, or holds a
/// coordinate that is not a number.
pub fn triangles_from_glb(file: &str, bytes: &[u8]) -> Result<Triangles, FileError> {
    triangles_within(file, bytes, FARTHEST_MM)
}

/// The same with corners no farther than `farthest_mm` from the origin.
pub(super) fn triangles_within(
    file: &str,
    bytes: &[u8],
    farthest_mm: f64,
) -> Result<Triangles, FileError> {
    let fail = |found: String, expected: &str| FileError::one(file, found, expected);
    let bytes = whole_glb(file, bytes)?;
    let document = gltf::Gltf::from_slice(bytes).map_err(|error| {
        let said: String = error.to_string().chars().take(300).collect();
        fail(format!("a GLB file that can't be read ({said})"), "valid GLB; export it again")
    })?;
    if let Some(needed) = document.extensions_required().next() {
        let needed = short(needed);
        return Err(fail(
            format!("the required extension `{needed}`"),
            "plain triangles; export without compression",
        ));
    }
    let binary = document.blob.as_deref().unwrap_or_default();
    let scene = document
        .default_scene()
        .or_else(|| document.scenes().next())
        .ok_or_else(|| fail("no scene".into(), "a scene with a mesh in it"))?;
    let mut reader = Reader { file, binary, farthest_mm, found: Triangles::default() };
    let mut open: Vec<(gltf::Node, Matrix4<f64>)> =
        scene.nodes().map(|node| (node, Matrix4::identity())).collect();
    let mut seen = BTreeSet::new();
    while let Some((node, above)) = open.pop() {
        if !seen.insert(node.index()) {
            return Err(fail(
                format!("node {} reached twice", node.index()),
                "nodes that form a tree; export it again",
            ));
        }
        let pose = above * matrix(node.transform().matrix());
        if let Some(mesh) = node.mesh() {
            for primitive in mesh.primitives() {
                reader.add(&primitive, &pose)?;
            }
        }
        open.extend(node.children().map(|child| (child, pose)));
    }
    if reader.found.indices.is_empty() {
        return Err(fail("no triangle".into(), "a scene that draws at least one triangle"));
    }
    Ok(reader.found)
}

/// The bytes that the header promises, after checking that they are there: for a message better
/// than the reader's, and because the reader takes a length shorter than the header for granted.
fn whole_glb<'a>(file: &str, bytes: &'a [u8]) -> Result<&'a [u8], FileError> {
    let fail = |found: String, expected: &str| Err(FileError::one(file, found, expected));
    if bytes.len() < 12 || &bytes[..4] != b"glTF" {
        return fail("a file that doesn't begin with `glTF`".into(), "a binary glTF (.glb) file");
    }
    let word =
        |at: usize| u32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
    if word(4) != 2 {
        return fail(format!("GLB version {}", word(4)), "version 2");
    }
    if word(8) < 20 {
        return fail(
            format!("a GLB header that promises {} bytes", word(8)),
            "at least 20; the file is damaged, export it again",
        );
    }
    if word(8) as usize > bytes.len() {
        return fail(
            format!("{} bytes of the {} that its header promises", bytes.len(), word(8)),
            "the whole file; it was cut short, copy or export it again",
        );
    }
    Ok(&bytes[..word(8) as usize])
}

struct Reader<'a> {
    file: &'a str,
    binary: &'a [u8],
    farthest_mm: f64,
    found: Triangles,
}

impl Reader<'_> {
    fn fail<T>(&self, found: String, expected: &str) -> Result<T, FileError> {
        Err(FileError::one(self.file, found, expected))
    }

    fn add(&mut self, primitive: &gltf::Primitive, pose: &Matrix4<f64>) -> Result<(), FileError> {
        if primitive.mode() != gltf::mesh::Mode::Triangles {
            return self.fail(
                format!("a mesh drawn as {:?}", primitive.mode()),
                "separate triangles; export as a triangle mesh",
            );
        }
        let Some(positions) = primitive.get(&gltf::Semantic::Positions) else {
            return self.fail("a mesh without positions".into(), "a POSITION for every corner");
        };
        let first = self.found.vertices.len();
        let corners = positions.count();
        if first.saturating_add(corners) > MOST_CORNERS {
            return self.fail(
                format!("more than {MOST_CORNERS} corners"),
                "a simpler mesh; reduce it before export",
            );
        }
        for value in self.floats(&positions)? {
            let moved = pose.transform_point(&Point3::from(value.map(f64::from)));
            let point = vehicle_from_gltf([moved.x, moved.y, moved.z]);
            if !point.iter().all(|value| value.is_finite() && value.abs() < self.farthest_mm) {
                return self.fail(
                    "a corner that is not a number or lies over a kilometre away".into(),
                    "coordinates in metres; check the export's units",
                );
            }
            self.found.vertices.push(point);
        }
        let indices = match primitive.indices() {
            Some(accessor) => self.indices(&accessor)?,
            None => (0..corners as u32).collect(),
        };
        if indices.len() % 3 != 0 {
            return self
                .fail(format!("{} corner numbers", indices.len()), "three for each triangle");
        }
        if let Some(outside) = indices.iter().find(|&&index| index as usize >= corners) {
            return self.fail(
                format!("a triangle with corner {outside} of {corners}"),
                "corner numbers within the mesh; export it again",
            );
        }
        if self.found.indices.len() + indices.len() / 3 > MOST_TRIANGLES {
            return self.fail(
                format!("more than {MOST_TRIANGLES} triangles"),
                "a simpler mesh; reduce it before export",
            );
        }
        let numbered = indices
            .chunks_exact(3)
            .map(|corner| [corner[0], corner[1], corner[2]].map(|index| index + first as u32));
        self.found.indices.extend(numbered);
        // A mirroring node turns triangles inside out.
        if pose.fixed_view::<3, 3>(0, 0).determinant() < 0.0 {
            let added = self.found.indices.len() - indices.len() / 3;
            for index in &mut self.found.indices[added..] {
                index.swap(1, 2);
            }
        }
        Ok(())
    }

    /// The accessor's elements as byte slices, after checking that all of them are there.
    fn elements<'a>(
        &'a self,
        accessor: &gltf::Accessor,
    ) -> Result<impl Iterator<Item = &'a [u8]> + use<'a>, FileError> {
        let size = accessor.size();
        let Some(view) = accessor.view().filter(|_| accessor.sparse().is_none()) else {
            return self.fail("sparse or missing data".into(), "plain data; export it again");
        };
        if matches!(view.buffer().source(), gltf::buffer::Source::Uri(_)) {
            return self.fail(
                "data kept in another file".into(),
                "a single .glb file with its data inside",
            );
        }
        let stride = view.stride().unwrap_or(size).max(1);
        let count = accessor.count();
        let needed = count
            .checked_sub(1)
            .and_then(|last| last.checked_mul(stride))
            .and_then(|span| span.checked_add(accessor.offset())?.checked_add(size));
        let end = view.offset().checked_add(view.length());
        let inside = end.is_some_and(|end| end <= self.binary.len())
            && needed.is_some_and(|needed| needed <= view.length());
        if !inside {
            return self.fail(
                format!("data of {count} elements that reaches outside the file"),
                "the whole data; the file is damaged, export it again",
            );
        }
        let begin = view.offset() + accessor.offset();
        Ok((0..count).map(move |index| {
            let at = begin + index * stride;
            &self.binary[at..at + size]
        }))
    }

    fn floats(&self, accessor: &gltf::Accessor) -> Result<Vec<[f32; 3]>, FileError> {
        if accessor.data_type() != DataType::F32 || accessor.dimensions() != Dimensions::Vec3 {
            return self.fail(
                format!("positions of {:?} {:?}", accessor.dimensions(), accessor.data_type()),
                "three 32-bit floats a corner; export without quantisation",
            );
        }
        let float = |bytes: &[u8], at: usize| {
            f32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]])
        };
        Ok(self
            .elements(accessor)?
            .map(|bytes| [float(bytes, 0), float(bytes, 4), float(bytes, 8)])
            .collect())
    }

    fn indices(&self, accessor: &gltf::Accessor) -> Result<Vec<u32>, FileError> {
        let kind = accessor.data_type();
        let whole = matches!(kind, DataType::U8 | DataType::U16 | DataType::U32);
        if !whole || accessor.dimensions() != Dimensions::Scalar {
            return self.fail(
                format!("corner numbers of {:?} {kind:?}", accessor.dimensions()),
                "whole numbers",
            );
        }
        Ok(self
            .elements(accessor)?
            .map(|bytes| bytes.iter().rev().fold(0_u32, |sum, &byte| sum << 8 | u32::from(byte)))
            .collect())
    }
}

fn matrix(columns: [[f32; 4]; 4]) -> Matrix4<f64> {
    Matrix4::from_fn(|row, column| f64::from(columns[column][row]))
}

fn short(text: &str) -> String {
    text.chars().take(60).collect()
}
