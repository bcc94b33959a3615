//! Axes: ISO 8855 and glTF 2.0.

use dryberth::frame::{gltf_from_vehicle, vehicle_from_gltf};
use dryberth::model::{Place, Point, Vector};

use crate::near;

#[test]
fn gltf_is_left_up_forward_in_metres() {
    // glTF 2.0: +Y up, +Z forward, −X right, so left is +X: its maintainers' comment, READ; metres,
    // from memory. ISO 8855: x forward, y left, z up (from memory). CALC: (X, Y, Z) = (y, z, x) / 1000.
    for (vehicle, gltf) in [
        ([1000.0, 0.0, 0.0], [0.0, 0.0, 1.0]), // forward
        ([0.0, 1000.0, 0.0], [1.0, 0.0, 0.0]), // left
        ([0.0, 0.0, 1000.0], [0.0, 1.0, 0.0]), // up
    ] {
        near(
            (Vector::from(gltf_from_vehicle(&Point::from(vehicle))) - Vector::from(gltf)).norm(),
            0.0,
            1e-15,
        );
        assert_eq!(vehicle_from_gltf(gltf), Point::from(vehicle));
    }
}

#[test]
fn neither_frame_is_the_mirror_of_the_other() {
    // det = +1, CALC: three points turn the same way round in both.
    let to = |vehicle: Vector| Vector::from(gltf_from_vehicle(&Point::from(vehicle * 1000.0)));
    let (forward, left, up) = (to(Vector::x()), to(Vector::y()), to(Vector::z()));
    near(forward.cross(&left).dot(&up), 1.0, 1e-12);
}

#[test]
fn iso_8855_turns() {
    // ISO 8855, right-handed about x forward, y left, z up (from memory): yaw + turns the nose left,
    // pitch + lowers the nose, roll + lowers the right side. Intermediate axes stay level with yaw
    // alone (a manual that quotes it, READ).
    let turned = |turn_deg: (f64, f64, f64), own: Vector| {
        Place { at: Point::origin(), turn_deg }.pose() * own
    };
    near((turned((0.0, 0.0, 90.0), Vector::x()) - Vector::y()).norm(), 0.0, 1e-12);
    near(turned((0.0, 10.0, 0.0), Vector::x()).z, -(10.0_f64.to_radians().sin()), 1e-12);
    near(turned((10.0, 0.0, 0.0), Vector::y()).z, 10.0_f64.to_radians().sin(), 1e-12);
    for own in [Vector::x(), Vector::y()] {
        near(turned((0.0, 0.0, 33.0), own).z, 0.0, 1e-12);
    }
    // With all three the left axis lifts by sin roll × cos pitch.
    let (roll, pitch) = (7.0_f64.to_radians(), 21.0_f64.to_radians());
    near(turned((7.0, 21.0, 54.0), Vector::y()).z, roll.sin() * pitch.cos(), 1e-12);
}
