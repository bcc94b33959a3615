//! Vehicle frame (mm, f64) to Bevy's (m, f32) and back; the scene's only conversions.
//!
//! Bevy's axes are glTF's: X left, Y up, Z forward.

use std::collections::BTreeMap;

use bevy::asset::RenderAssetUsages;
use bevy::mesh::{Indices, PrimitiveTopology};
use bevy::prelude::{Mesh, Quat, Transform, Vec3};

use crate::frame::{gltf_from_vehicle, vehicle_from_gltf};
use crate::geometry::Triangles;
use crate::model::{Point, Pose, Vector};

/// Below this angle between two faces their common edge is drawn round, above it sharp, degrees.
const CREASE_DEG: f64 = 28.0;

/// How far an edge is drawn in front of its faces, so that they don't hide it, mm.
const EDGE_STANDS_OUT_MM: f64 = 0.5;

/// A point of the vehicle frame, mm, as a position in the scene, m.
pub(crate) fn scene_point(point: &Point) -> Vec3 {
    let [x, y, z] = gltf_from_vehicle(point);
    Vec3::new(x as f32, y as f32, z as f32)
}

/// A position in the scene, m, as a point of the vehicle frame, mm.
pub(crate) fn vehicle_point(position: Vec3) -> Point {
    vehicle_from_gltf([f64::from(position.x), f64::from(position.y), f64::from(position.z)])
}

/// A direction in the scene in the vehicle frame; its length is kept.
pub(crate) fn vehicle_direction(direction: Vec3) -> Vector {
    Vector::new(f64::from(direction.z), f64::from(direction.x), f64::from(direction.y))
}

/// A pose of the vehicle frame as a transform of the scene.
pub(crate) fn scene_pose(pose: &Pose) -> Transform {
    // The axes are exchanged in a cycle, so the vector part of a quaternion is exchanged likewise.
    let turn = pose.rotation.coords;
    Transform {
        translation: scene_point(&Point::from(pose.translation.vector)),
        rotation: Quat::from_xyzw(turn.y as f32, turn.z as f32, turn.x as f32, turn.w as f32)
            .normalize(),
        scale: Vec3::ONE,
    }
}

/// A triangle list as a mesh to draw: sharp where faces meet at more than 28°, round elsewhere.
pub(crate) fn scene_mesh(triangles: &Triangles) -> Mesh {
    let surface = triangles.welded();
    let normals: Vec<Vector> = surface.each().map(|[a, b, c]| (b - a).cross(&(c - a))).collect();
    let mut round: Vec<Vec<usize>> = vec![Vec::new(); surface.vertices.len()];
    for (face, corners) in surface.indices.iter().enumerate() {
        for &corner in corners {
            round[corner as usize].push(face);
        }
    }
    let crease = CREASE_DEG.to_radians().cos();
    let mut positions = Vec::with_capacity(surface.indices.len() * 3);
    let mut shades = Vec::with_capacity(surface.indices.len() * 3);
    for (face, corners) in surface.indices.iter().enumerate() {
        let own = normals[face].try_normalize(1e-12).unwrap_or_else(Vector::z);
        for &corner in corners {
            let sum = round[corner as usize]
                .iter()
                .map(|&other| normals[other])
                .filter(|normal| normal.dot(&own) >= crease * normal.norm())
                .fold(Vector::zeros(), |sum, normal| sum + normal);
            let normal = sum.try_normalize(1e-12).unwrap_or(own);
            positions.push(scene_point(&surface.vertices[corner as usize]).to_array());
            shades.push(shade(&normal));
        }
    }
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, positions)
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, shades)
}

/// How light a face is, by the way it looks, as a vertex colour: lit from above, behind and a
/// little to the left. Fixed to the thing, so that no light has to be worked out for each pixel;
/// that matters where there is no graphics card.
fn shade(normal: &Vector) -> [f32; 4] {
    let light = Vector::new(-0.46, 0.26, 0.85);
    let facing = (0.5 + 0.5 * normal.dot(&light) / light.norm()).clamp(0.0, 1.0);
    let value = (0.30 + 0.70 * facing.powf(1.3)) as f32;
    [value, value, value, 1.0]
}

/// The sharp edges and open rims of a triangle list as lines to draw; none when there are none.
pub(crate) fn scene_edges(triangles: &Triangles) -> Option<Mesh> {
    let surface = triangles.welded();
    let normals: Vec<Vector> = surface
        .each()
        .map(|[a, b, c]| (b - a).cross(&(c - a)).try_normalize(1e-12).unwrap_or_else(Vector::z))
        .collect();
    let mut sides: BTreeMap<(u32, u32), Vec<usize>> = BTreeMap::new();
    for (face, &[a, b, c]) in surface.indices.iter().enumerate() {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            sides.entry((from.min(to), from.max(to))).or_default().push(face);
        }
    }
    let crease = CREASE_DEG.to_radians().cos();
    let mut positions = Vec::new();
    for (&(from, to), faces) in &sides {
        let sharp = match faces[..] {
            [one, other] => normals[one].dot(&normals[other]) < crease,
            _ => true,
        };
        if sharp {
            let out = faces.iter().fold(Vector::zeros(), |sum, &face| sum + normals[face]);
            let out = out.try_normalize(1e-9).unwrap_or_else(Vector::zeros) * EDGE_STANDS_OUT_MM;
            positions.push(scene_point(&(surface.vertices[from as usize] + out)).to_array());
            positions.push(scene_point(&(surface.vertices[to as usize] + out)).to_array());
        }
    }
    (!positions.is_empty()).then(|| {
        Mesh::new(PrimitiveTopology::LineList, RenderAssetUsages::RENDER_WORLD)
            .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, positions)
    })
}

/// A mesh from plain corners, three indices a triangle, with given normals; all vehicle frame, mm.
pub(crate) fn scene_mesh_of(vertices: &[Point], normals: &[Vector], indices: Vec<u32>) -> Mesh {
    let positions: Vec<[f32; 3]> =
        vertices.iter().map(|vertex| scene_point(vertex).to_array()).collect();
    let shades: Vec<[f32; 4]> = normals.iter().map(shade).collect();
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, positions)
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, shades)
        .with_inserted_indices(Indices::U32(indices))
}

/// A mesh of triangles whose corners have colours of their own, linear.
pub(crate) fn coloured_mesh(positions: Vec<[f32; 3]>, colours: Vec<[f32; 4]>) -> Mesh {
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::RENDER_WORLD)
        .with_inserted_attribute(Mesh::ATTRIBUTE_POSITION, positions)
        .with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, colours)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Place;

    #[test]
    fn a_pose_moves_points_the_same_way_on_both_sides() {
        let place = Place { at: Point::new(310.0, -42.0, 97.0), turn_deg: (12.0, -33.0, 118.0) };
        let point = Point::new(81.0, 17.0, -29.0);
        let direct = scene_point(&(place.pose() * point));
        let turned = scene_pose(&place.pose()) * scene_point(&point);
        assert!((direct - turned).length() < 1e-6, "{direct} {turned}");
    }

    #[test]
    fn there_and_back_is_the_same_point() {
        let point = Point::new(1.0, -2.5, 1200.0);
        assert!((vehicle_point(scene_point(&point)) - point).norm() < 1e-3);
        let way = Vector::new(0.3, -0.4, 0.5);
        let there = scene_point(&Point::from(way * 1000.0));
        assert!((vehicle_direction(there) - way).norm() < 1e-6);
    }

    #[test]
    fn a_box_has_twelve_edges_and_a_bar_two_rims() {
        let cuboid = Triangles::cuboid(&Point::origin(), &Point::new(10.0, 20.0, 30.0));
        let lines = scene_edges(&cuboid).map(|mesh| mesh.count_vertices() / 2);
        assert_eq!(lines, Some(12));
        let bar = Triangles::cylinder(&Point::origin(), &Point::new(0.0, 0.0, 50.0), 10.0);
        let sides = scene_edges(&bar).map(|mesh| mesh.count_vertices() / 2);
        assert_eq!(sides, Some(2 * 96));
    }
}
