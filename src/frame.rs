//! Frames: ISO 8855 vehicle frame, glTF, parry; the only place where one is turned into another.
//!
//! Vehicle frame (ISO 8855): x forward, y left, z up, mm. glTF 2.0: +Y up, +Z forward, metres; with
//! +X pointing left, so `(X, Y, Z) = (y, z, x) / 1000`.

use parry3d::math as parry;

use crate::model::{Point, Pose, Vector};

/// A point of the vehicle frame, mm, in glTF's frame, m.
///
/// ```
/// use dryberth::model::Point;
/// let gltf = dryberth::frame::gltf_from_vehicle(&Point::new(1000.0, 200.0, 30.0));
/// assert_eq!(gltf, [0.2, 0.03, 1.0]);
/// ```
pub fn gltf_from_vehicle(point: &Point) -> [f64; 3] {
    [point.y / 1000.0, point.z / 1000.0, point.x / 1000.0]
}

/// A point of glTF's frame, m, in the vehicle frame, mm.
///
/// ```
/// let point = dryberth::frame::vehicle_from_gltf([0.2, 0.03, 1.0]);
/// assert_eq!(point, dryberth::model::Point::new(1000.0, 200.0, 30.0));
/// ```
pub fn vehicle_from_gltf(position: [f64; 3]) -> Point {
    Point::new(position[2] * 1000.0, position[0] * 1000.0, position[1] * 1000.0)
}

pub(crate) fn parry_from_point(point: &Point) -> parry::Vector {
    parry::Vector::new(point.x, point.y, point.z)
}

pub(crate) fn parry_from_vector(vector: &Vector) -> parry::Vector {
    parry::Vector::new(vector.x, vector.y, vector.z)
}

pub(crate) fn point_from_parry(point: parry::Vector) -> Point {
    Point::new(point.x, point.y, point.z)
}

pub(crate) fn vector_from_parry(vector: parry::Vector) -> Vector {
    Vector::new(vector.x, vector.y, vector.z)
}

pub(crate) fn parry_from_pose(pose: &Pose) -> parry::Pose {
    let turn = pose.rotation.coords;
    parry::Pose::from_parts(
        parry_from_vector(&pose.translation.vector),
        parry::Rotation::from_xyzw(turn.x, turn.y, turn.z, turn.w),
    )
}
