//! Placing by named points, against scipy's Rotation.align_vectors (`aligned.py`).

use dryberth::geometry::align;
use dryberth::model::Point;
use serde::Deserialize;

#[derive(Deserialize)]
struct Data {
    clouds: Vec<Vec<f64>>,
}

fn points(values: &[f64]) -> Vec<Point> {
    values.chunks_exact(3).map(|at| Point::new(at[0], at[1], at[2])).collect()
}

#[test]
fn a_hundred_clouds_are_placed_as_scipy_places_them() {
    let data: Data = serde_json::from_str(include_str!("data/aligned.json")).expect("sound data");
    assert_eq!(data.clouds.len(), 100);
    let (mut worst_turn, mut worst_mm) = (0.0_f64, 0.0_f64);
    for (index, row) in data.clouds.iter().enumerate() {
        let count = row[0] as usize;
        let (from, rest) = row[1..].split_at(count * 3);
        let (to, found) = rest.split_at(count * 3);
        let (from, to) = (points(from), points(to));
        let turn = nalgebra::Matrix3::from_row_slice(&found[..9]);
        let [x, y, z, rms, scale, rms_free] = found[9..] else { panic!("row {index}") };

        let kept = align(&from, &to, false).expect("points off a line");
        let off = (kept.pose.rotation.to_rotation_matrix().matrix() - turn).norm();
        let shift_mm = (kept.pose.translation.vector - nalgebra::Vector3::new(x, y, z)).norm();
        let free = align(&from, &to, true).expect("points off a line");
        let rms_mm = (kept.rms() - rms).abs().max((free.rms() - rms_free).abs());
        worst_turn = worst_turn.max(off);
        worst_mm = worst_mm.max(shift_mm).max(rms_mm);
        assert!(off < 1e-7, "cloud {index}: {off}");
        assert!(shift_mm < 1e-4, "cloud {index}: {shift_mm} mm");
        assert!(rms_mm < 1e-6, "cloud {index}: {} for {rms}", kept.rms());
        assert!((free.scale - scale).abs() < 1e-8, "cloud {index}: {}", free.scale);
    }
    eprintln!("worst: turn {worst_turn:.1e}, place or rms {worst_mm:.1e} mm");
}
