//! Attitudes and axes, against scipy's Rotation (`turns.py`).

use dryberth::model::{Place, Point, Vector};
use serde::Deserialize;

#[derive(Deserialize)]
struct Data {
    turns: Vec<Vec<f64>>,
}

fn turns() -> Vec<(Place, nalgebra::Matrix3<f64>)> {
    let data: Data = serde_json::from_str(include_str!("data/turns.json")).expect("sound data");
    data.turns
        .iter()
        .map(|row| {
            let place =
                Place { at: Point::new(3.0, -2.0, 9.0), turn_deg: (row[0], row[1], row[2]) };
            (place, nalgebra::Matrix3::from_row_slice(&row[3..]))
        })
        .collect()
}

#[test]
fn attitude_is_yaw_then_pitch_then_roll_about_the_turned_axes() {
    let turns = turns();
    assert_eq!(turns.len(), 100);
    for (place, matrix) in turns {
        for own in [Vector::x(), Vector::y(), Vector::z(), Vector::new(12.0, -7.0, 3.0)] {
            let found = place.pose() * Point::from(own);
            let expected = place.at + matrix * own;
            assert!((found - expected).norm() < 1e-9, "{place:?}: {found}, expected {expected}");
        }
    }
}

#[test]
fn attitude_read_back_from_a_pose_is_the_same_turn() {
    for (place, matrix) in turns() {
        let again = Place::from_pose(&place.pose());
        let turned = again.pose().rotation.to_rotation_matrix();
        assert!((turned.matrix() - matrix).norm() < 1e-9, "{place:?} {again:?}");
        assert!((again.at - place.at).norm() < 1e-12);
    }
}

#[test]
fn gltf_axes_turn_without_a_mirror() {
    // The same right-handed turn in both frames: what the axes' permutation does to the referee's
    // matrix is what it does to our points.
    let swap = nalgebra::Matrix3::<f64>::new(0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0, 0.0);
    assert!((swap.determinant() - 1.0).abs() < 1e-12);
    for (place, matrix) in turns() {
        let own = Vector::new(120.0, -70.0, 35.0);
        let moved = place.pose() * Point::from(own) - place.at;
        let gltf = dryberth::frame::gltf_from_vehicle(&Point::from(moved));
        let expected = (swap * matrix * swap.transpose()) * (swap * own) / 1000.0;
        assert!((Vector::from(gltf) - expected).norm() < 1e-12, "{place:?}");
    }
}
