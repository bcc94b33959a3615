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

/// A turn of the vehicle frame as a unit quaternion (x, y, z, w) of glTF's frame. The frames' axes are the
/// same three in another order, so the quaternion's are too.
///
/// ```
/// use dryberth::{frame::gltf_turn_from_vehicle, model::Place};
/// // A yaw of 90° to the left is 90° about glTF's +Y.
/// let place = Place { turn_deg: (0.0, 0.0, 90.0), ..Place::default() };
/// let turn = gltf_turn_from_vehicle(&place.pose().rotation);
/// assert!((turn[1] - 0.5_f32.sqrt()).abs() < 1e-6 && (turn[3] - 0.5_f32.sqrt()).abs() < 1e-6);
/// ```
pub fn gltf_turn_from_vehicle(turn: &nalgebra::UnitQuaternion<f64>) -> [f32; 4] {
    let of = turn.coords;
    [of.y as f32, of.z as f32, of.x as f32, of.w as f32]
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
