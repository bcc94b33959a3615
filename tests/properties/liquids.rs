//! Fluid in a tank.

use dryberth::checks::Boot;
use dryberth::checks::feed::{Fill, Surface, attitudes};
use dryberth::format::open_demo;
use dryberth::geometry::{Solid, Triangles, clip};
use dryberth::model::{Axis, Point, Pose, Shape};
use proptest::prelude::*;

use crate::{cases, pose, way};

/// A hollow-sided tank: two legs joined at the top.
fn tank() -> Triangles {
    let shape = Shape::Prism {
        along: Axis::Y,
        outline: vec![
            (0.0, 0.0),
            (0.0, 30.0),
            (50.0, 30.0),
            (50.0, 60.0),
            (0.0, 60.0),
            (0.0, 100.0),
            (80.0, 100.0),
            (80.0, 0.0),
        ],
        from_mm: -25.0,
        to_mm: 35.0,
    };
    let solid = Solid::of(&shape, &Pose::identity(), |_| None).expect("a sound shape");
    solid.triangles().clone()
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn volume_never_falls_as_the_plane_rises(up in way(), steps in proptest::collection::vec(0.0..1.0_f64, 2..12)) {
        let tank = tank();
        let (low, high) = clip::extent_mm(&tank, &up).expect("a tank");
        let mut heights: Vec<f64> = steps.iter().map(|step| low + (high - low) * step).collect();
        heights.sort_by(f64::total_cmp);
        let volumes: Vec<f64> =
            heights.iter().map(|height| clip::volume_below_mm3(&tank, &up, *height)).collect();
        prop_assert!(volumes.windows(2).all(|pair| pair[0] <= pair[1] + 1e-6));
        prop_assert!(volumes.iter().all(|volume| (-1e-6..=tank.volume_mm3() + 1e-6).contains(volume)));
        prop_assert!(clip::volume_below_mm3(&tank, &up, low - 1.0).abs() < 1e-6);
        prop_assert!((clip::volume_below_mm3(&tank, &up, high + 1.0) - tank.volume_mm3()).abs() < 1e-6);
    }

    #[test]
    fn adding_fluid_never_lowers_the_surface(up in way(), share in -0.2..1.2_f64, more in 0.001..0.5_f64) {
        let tank = tank();
        let whole = tank.volume_mm3();
        let before = Surface::of(&tank, &up, whole * share);
        let after = Surface::of(&tank, &up, whole * (share + more));
        prop_assert!(after.height_mm >= before.height_mm);
        if share > 0.0 && share + more < 1.0 {
            prop_assert!(after.height_mm > before.height_mm);
        }
        prop_assert!(after.over_mm3 >= before.over_mm3 - 1e-6);
    }

    #[test]
    fn a_common_motion_of_tank_and_up_changes_no_volume(up in way(), share in 0.0..1.0_f64, motion in pose(900.0)) {
        let tank = tank();
        let (low, high) = clip::extent_mm(&tank, &up).expect("a tank");
        let height = low + (high - low) * share;
        let moved_up = motion * up;
        let moved_height = height + moved_up.dot(&motion.translation.vector);
        let here = clip::volume_below_mm3(&tank, &up, height);
        let there = clip::volume_below_mm3(&tank.moved(&motion), &moved_up, moved_height);
        prop_assert!((here - there).abs() < 1e-9 * tank.volume_mm3() + 1e-4);
    }

    #[test]
    fn a_surface_holds_what_it_should(up in way(), share in 0.0..1.0_f64) {
        let tank = tank();
        let volume = tank.volume_mm3() * share;
        let surface = Surface::of(&tank, &up, volume);
        let held = clip::volume_below_mm3(&tank, &up, surface.height_mm);
        prop_assert!((held - volume).abs() <= 1.1e-9 * tank.volume_mm3());
        prop_assert!(surface.over_mm3.abs() < 1e-9);
        let outline = clip::section(&tank, &up, surface.height_mm);
        prop_assert!(outline.iter().flatten().all(|corner| (up.dot(&corner.coords) - surface.height_mm).abs() < 1e-6));
    }

    /// Fluid in an open reservoir and fluid that ran out is fluid in; what stays is under every opening.
    #[test]
    fn fluid_is_all_accounted_for(
        up in way(),
        share in 0.0..1.5_f64,
        openings in proptest::collection::vec((0.0..80.0_f64, -25.0..35.0_f64, 0.0..100.0_f64), 0..4),
    ) {
        let tank = tank();
        let openings: Vec<Point> = openings.into_iter().map(|(x, y, z)| Point::new(x, y, z)).collect();
        let volume = tank.volume_mm3() * share;
        let surface = Surface::open(&tank, &up, volume, openings.iter());
        let held = clip::volume_below_mm3(&tank, &up, surface.height_mm);
        prop_assert!((held + surface.over_mm3 - volume).abs() <= 1.1e-9 * tank.volume_mm3(),
            "{held} + {} = {volume}", surface.over_mm3);
        prop_assert!(surface.over_mm3 >= -1e-6);
        if surface.over_mm3 > 1e-3 {
            // Something ran out: through an opening, or there was no room.
            let lowest = openings.iter().map(|at| up.dot(&at.coords)).fold(f64::INFINITY, f64::min);
            prop_assert!(surface.height_mm <= lowest + 1e-6);
        }
    }
}

/// Volume error of the root search in each case that the feed headline asks: at every demo spot, 13
/// attitudes, rams in and out, as filled, cold and hot. At most 0.01 ml, which the issue asks.
#[test]
fn every_feed_case_holds_its_fluid_to_a_hundredth_of_a_millilitre() {
    let (mut worst_mm3, mut cases) = (0.0_f64, 0);
    for demo in ["wrenfield-drop-top", "sandlark-cabriolet"] {
        let opened = open_demo(Some(demo)).expect("a demo");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("sound");
        let (layout, pump) = (boot.layout(), boot.pump());
        let inside =
            Solid::of(&pump.reservoir.inside, &Pose::identity(), |_| None).expect("a tank");
        let tank = inside.triangles();
        let fill = Fill::of(pump, tank, &layout.rams).with_lines(boot.lines());
        let limits = &layout.limits;
        for spot in &layout.spots {
            let turned = spot.place.pose().rotation.inverse();
            for attitude in attitudes() {
                let up = turned * attitude.up.normalize();
                for warmer_k in [0.0, limits.cold_c - limits.fill_c, limits.hot_c - limits.fill_c] {
                    for rams_out in [false, true] {
                        let volume = fill.tank_mm3(rams_out, warmer_k);
                        let shut = Surface::of(tank, &up, volume);
                        let open = Surface::open(
                            tank,
                            &up,
                            volume,
                            std::iter::once(&pump.reservoir.breather),
                        );
                        for surface in [shut, open] {
                            let held = clip::volume_below_mm3(tank, &up, surface.height_mm);
                            worst_mm3 = worst_mm3.max((held + surface.over_mm3 - volume).abs());
                        }
                        cases += 1;
                    }
                }
            }
        }
    }
    assert!(cases >= 8 * 78, "{cases}");
    assert!(worst_mm3 <= 10.0, "{worst_mm3} mm³");
}
