//! A thousand planes through a tank and a ball (workload W4), against manifold3d and trimesh (`w4.py`; the
//! two agree to 1e-14 of the whole).

use dryberth::geometry::{Triangles, clip};

use crate::w4::{self, W4};

/// Largest error as a share of the volume below, where the referee has at least a millionth of the whole.
const CLOSE: f64 = 1e-6;

/// Largest error of a root search, mm³: 0.01 ml.
const CLOSE_MM3: f64 = 10.0;

fn bodies() -> (W4, [(Triangles, Vec<f64>, f64, usize); 2]) {
    let data = W4::read();
    let [tank_mm3, ball_mm3] = data.wholes_mm3();
    let tank = (w4::tank(), data.tank.clone(), tank_mm3, 220);
    let ball = (w4::ball(), data.ball.clone(), ball_mm3, 12_800);
    (data, [tank, ball])
}

#[test]
fn volume_below_a_thousand_planes() {
    let (data, bodies) = bodies();
    let planes = data.planes();
    assert_eq!(planes.len(), 1000);
    for (surface, expected, whole, triangles) in &bodies {
        assert_eq!(surface.indices.len(), *triangles);
        assert!((surface.volume_mm3() - whole).abs() < 1e-9 * whole);
        let mut compared = 0;
        for ((up, height), expected) in planes.iter().zip(expected) {
            let found = clip::volume_below_mm3(surface, up, *height);
            if *expected > 1e-6 * whole {
                assert!((found - expected).abs() < CLOSE * expected, "{found} {expected}");
                compared += 1;
            } else {
                assert!(found.abs() < 2e-6 * whole);
            }
        }
        assert!(compared > 900, "{compared}");
    }
}

#[test]
fn the_height_of_each_volume_holds_it_to_a_hundredth_of_a_millilitre() {
    let (data, bodies) = bodies();
    let mut worst: f64 = 0.0;
    for (index, (surface, expected, ..)) in bodies.iter().enumerate() {
        // The ball takes long in the test profile: every tenth plane of it.
        let step = if index == 0 { 1 } else { 10 };
        for ((up, _), volume) in data.planes().iter().zip(expected).step_by(step) {
            let wanted = volume.clamp(0.0, surface.volume_mm3());
            let height = clip::height_of_volume_mm(surface, up, wanted).expect("it fits");
            let held = clip::volume_below_mm3(surface, up, height);
            worst = worst.max((held - wanted).abs());
        }
    }
    // The promise of the function is 0.001 ml.
    assert!(worst < CLOSE_MM3 / 10.0 + 1e-3, "{worst} mm³");
}
