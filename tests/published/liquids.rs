//! Liquid in a tilted or accelerated tank, rams, pressure of a head.

use std::f64::consts::PI;

use dryberth::checks::feed::{Fill, Surface};
use dryberth::checks::water::Slope;
use dryberth::geometry::{Solid, Triangles, clip};
use dryberth::model::{Point, Pose, Ram, Vector};
use dryberth::units::{gradient_deg, head_pa};

use crate::near;
use crate::small_boot::pump;

/// Up as a liquid sees it in a tank that accelerates along x at `a` m/s² (g 9.81 as the sources
/// take it).
fn up(a: f64) -> Vector {
    Vector::new(a, 0.0, 9.81).normalize()
}

fn tank(size: [f64; 3]) -> Triangles {
    Triangles::cuboid(&Point::origin(), &Point::from(size))
}

#[test]
fn l1_cylinder_on_a_truck() {
    // Cylinder 60 cm high, 40 cm across, 4 m/s²: the liquid rises 8.2 cm at the wall, so it may
    // stand 51.8 cm deep. A textbook problem, READ; CALC 8.155 and 51.845. ± 0.05 cm (rounded; a
    // circle of 96 sides adds 0.003 cm). The page prints the rise as 0.082 cm: metres.
    let drum = Triangles::cylinder(&Point::origin(), &Point::new(0.0, 0.0, 600.0), 200.0);
    let depth_mm = 518.45;
    let volume = PI * 200.0 * 200.0 * depth_mm;
    let level = Surface::of(&drum, &Vector::z(), volume);
    near(level.height_mm, depth_mm, 1e-3);
    let surface = Surface::of(&drum, &up(4.0), volume);
    // Height of the surface over the rear wall, where x = −200: up · p = height.
    let up = up(4.0);
    let at_wall = (surface.height_mm + up.x * 200.0) / up.z;
    near(at_wall, 600.0, 0.5);
    near((at_wall - depth_mm) / 10.0, 8.2, 0.05);
    near(surface.over_mm3, 0.0, 0.0);
}

#[test]
fn l2_a_tank_that_spills_until_its_floor_is_dry() {
    // 4.0 × 2.0 × 1.2 m, 1.0 m deep, 5 m/s²: the rear would rise to 2.02 m, so it spills; the floor
    // is wet over 2.353 m and 2.824 m³ stay. An examination problem, READ; CALC 2.354 and 2.825 (it
    // rounds the tangent to 0.510). ± 0.002.
    let tank = tank([4000.0, 2000.0, 1200.0]);
    let up = up(5.0);
    let rim = up.dot(&Vector::new(0.0, 0.0, 1200.0));
    let kept = clip::volume_below_mm3(&tank, &up, rim) / 1e9;
    near(kept, 2.824, 2e-3);
    near(8.0 - kept, 5.176, 2e-3);
    near(rim / up.x / 1000.0, 2.353, 2e-3);
}

#[test]
fn l4_a_cube_that_keeps_two_thirds() {
    // An open cube loses a third of its liquid at a = 2 g / 3. An exercise, READ; proved by algebra.
    // ± 1e-9 of the whole.
    let cube = tank([300.0, 300.0, 300.0]);
    let up = up(9.81 * 2.0 / 3.0);
    let kept = clip::volume_below_mm3(&cube, &up, up.dot(&Vector::new(0.0, 0.0, 300.0)));
    near(kept / 27.0e6, 2.0 / 3.0, 1e-9);
}

/// A lying drum and the volume in it `depth` deep.
fn lying(radius: f64, length: f64, depth: f64) -> f64 {
    let drum = Triangles::cylinder(&Point::origin(), &Point::new(length, 0.0, 0.0), radius);
    clip::volume_below_mm3(&drum, &Vector::z(), depth - radius)
}

#[test]
fn lying_drum_of_radius_3() {
    // R 3, length 10: 30.975 at depth 1, 82.502 at 2, 282.743 in all; 240 stands 4.74860 deep. A
    // calculus problem, READ, answers CALC: R² acos((R−h)/R) − (R−h) √(2Rh−h²). ± 0.1 %: ours is a
    // drum of 96 sides with the circle's area.
    for (depth, volume) in [(1.0, 30.975), (2.0, 82.502), (6.01, 282.743)] {
        near(lying(3.0, 10.0, depth), volume, volume * 1e-3);
    }
    let drum = Triangles::cylinder(&Point::origin(), &Point::new(10.0, 0.0, 0.0), 3.0);
    let height = clip::height_of_volume_mm(&drum, &Vector::z(), 240.0).expect("it fits");
    near(height + 3.0, 4.748_60, 2e-3);
}

#[test]
fn lying_drum_of_1200_litres() {
    // 1 m across, 1200 L: litres at 10, 20, 25, 30, 40, 50 cm. A public question, READ, answers CALC.
    // ± 0.1 % of the whole.
    let length = 1.2e9 / (PI * 500.0 * 500.0);
    for (depth, litres) in [
        (100.0, 62.5),
        (200.0, 170.9),
        (250.0, 234.6),
        (300.0, 302.8),
        (400.0, 448.2),
        (500.0, 600.0),
    ] {
        near(lying(500.0, length, depth) / 1e6, litres, 1.2);
    }
}

#[test]
fn slopes_and_surfaces_in_degrees() {
    // Parking brake 20 % (UN R13-H, from memory), ramps 1:6 and 1:10 (a car-park guide, READ),
    // crossfall 2.5 % (road drawings, READ), 12 % (READ); braking 0.25 to 1 g tilts the surface by
    // atan(a / g). Angles CALC. ± 0.006°.
    for (percent, degrees) in [
        (20.0, 11.31),
        (100.0 / 6.0, 9.46),
        (10.0, 5.71),
        (2.5, 1.43),
        (12.0, 6.84),
        (25.0, 14.04),
        (30.0, 16.70),
        (35.0, 19.29),
        (50.0, 26.57),
        (80.0, 38.66),
        (100.0, 45.0),
    ] {
        near(gradient_deg(percent), degrees, 6e-3);
    }
}

#[test]
fn along_and_across_together() {
    // 20 % along and 2.5 % across fall 20.16 % in all, 11.40°. CALC. ± 0.005°.
    let up = Slope { words: "", along_pct: 20.0, across_pct: 2.5 }.up();
    near(up.z.acos().to_degrees(), 11.40, 5e-3);
    near(100.0 * up.x.hypot(up.y) / up.z, 20.16, 5e-3);
    // Nose up: up leans towards the nose, so liquid stands higher at the tail.
    assert!(up.x > 0.0 && up.y > 0.0);
}

#[test]
fn a_slope_moves_the_surface_the_right_way() {
    // Closed form: nose up 20 % in a tank 80 mm long: the surface falls 8 mm at the nose end.
    let inside = tank([80.0, 80.0, 80.0]);
    let slope = Slope { words: "", along_pct: 20.0, across_pct: 0.0 };
    let surface = Surface::of(&inside, &slope.up(), 80.0 * 80.0 * 40.0);
    let stands = |x: f64| (surface.height_mm - slope.up().x * x) / slope.up().z;
    near(stands(80.0), 32.0, 1e-4);
    near(stands(0.0), 48.0, 1e-4);
}

fn ram(rod_mm: f64, stroke_mm: f64, count: u32) -> Ram {
    Ram { name: "ram".into(), bore_mm: None, rod_mm, stroke_mm, count }
}

#[test]
fn c2_to_c4_rods_draw_their_volume_from_the_tank() {
    // Rod volume, ml: 10 × 100: 7.85; 12 × 150: 16.96; 14 × 200: 30.79; two of the last 61.6. CALC
    // (π d² / 4 × stroke = cap side less rod side). ± 0.05 ml (rounded).
    let pump = pump();
    let inside = Solid::of(&pump.reservoir.inside, &Pose::identity(), |_| None).expect("a tank");
    let drawn = |ram: Ram| {
        let fill = Fill::of(&pump, inside.triangles(), &[ram]);
        // Filled to the line at half height: 80 × 80 × 40 mm, 256 ml.
        near(fill.rams_in_mm3 / 1000.0, 256.0, 1e-9);
        (fill.rams_in_mm3 - fill.rams_out_mm3) / 1000.0
    };
    near(drawn(ram(10.0, 100.0, 1)), 7.85, 5e-3);
    near(drawn(ram(12.0, 150.0, 1)), 16.96, 5e-3);
    near(drawn(ram(14.0, 200.0, 1)), 30.79, 5e-3);
    near(drawn(ram(14.0, 200.0, 2)), 61.6, 0.05);
    // Cap side less rod side is the rod, exactly: 25/14 × 200: 98.17 − 67.39 ml (CALC).
    near(drawn(ram(14.0, 200.0, 1)), 98.17 - 67.39, 0.015);
}

#[test]
fn a_missing_volume_is_said() {
    // Closed form: 100 mm rods 100 mm long want 785 ml; the tank holds 256: 529 ml too little.
    let pump = pump();
    let inside = Solid::of(&pump.reservoir.inside, &Pose::identity(), |_| None).expect("a tank");
    let fill = Fill::of(&pump, inside.triangles(), &[ram(100.0, 100.0, 1)]);
    let surface = Surface::of(inside.triangles(), &Vector::z(), fill.rams_out_mm3);
    near(surface.over_mm3 / 1000.0, 256.0 - 785.4, 0.05);
    near(surface.height_mm, 10.0, 1e-6);
}

#[test]
fn pressure_of_a_head() {
    // 0.5 m of 850 kg/m³: 0.0417 bar. CALC, p = ρ g h. ± 5e-5 bar (rounded).
    near(head_pa(500.0, 0.85) / 1e5, 0.0417, 5e-5);
    // 10.33 m of water is a standard atmosphere, 1.013 bar (textbook, from memory). ± 0.001 bar.
    near(head_pa(10_332.0, 1.0) / 1e5, 1.013, 1e-3);
}

#[test]
fn e1_e2_warm_fluid_needs_room() {
    // 100 l from 20 to 40 °C: 1.4 l more (an engineering handbook's example, READ, MATCH). 1.2 l from
    // −10 to 50 °C: 50.4 ml (CALC with 0.0007 /K, a fluid power textbook's equation 2.81, READ).
    let fill = |litres: f64| Fill {
        rams_in_mm3: litres * 1e6,
        rams_out_mm3: litres * 1e6,
        elsewhere_mm3: 0.0,
    };
    near((fill(100.0).tank_mm3(false, 20.0) - 100e6) / 1e6, 1.4, 1e-9);
    let pack = fill(1.2);
    near((pack.tank_mm3(false, 30.0) - pack.tank_mm3(false, -30.0)) / 1e3, 50.4, 1e-9);
    // Fluid in hoses and rams grows too, and only the reservoir has room: 1 l in it and 0.2 l elsewhere.
    let split = Fill { rams_in_mm3: 1.0e6, rams_out_mm3: 1.0e6, elsewhere_mm3: 0.2e6 };
    near((split.tank_mm3(false, 30.0) - split.tank_mm3(false, -30.0)) / 1e3, 50.4, 1e-9);
}

#[test]
fn l2_the_open_tank_spills_the_same_through_its_rim() {
    // The same examination problem as above, asked as a tank with an open top: 8 m³ in it, 2.824 m³ stay,
    // 5.176 m³ are spilled. ± 0.002.
    let tank = tank([4000.0, 2000.0, 1200.0]);
    let rim = [[0.0, 0.0], [4000.0, 0.0], [4000.0, 2000.0], [0.0, 2000.0]];
    let rim = rim.map(|[x, y]| Point::new(x, y, 1200.0));
    let surface = Surface::open(&tank, &up(5.0), 8.0e9, rim.iter());
    near(surface.over_mm3 / 1e9, 5.176, 2e-3);
    // And one that just holds it spills nothing.
    near(Surface::open(&tank, &up(5.0), 2.82e9, rim.iter()).over_mm3, 0.0, 1.0);
}

#[test]
fn braking_at_0_9_g_leans_the_surface_by_42_degrees() {
    // tan θ = a / g (textbooks, READ): 0.8 g 38.66°, 0.5 g 26.57° (CALC); 0.9 g 41.99° (CALC). The fluid
    // rises towards the front when braking: effective gravity leans forward.
    let found = dryberth::checks::feed::attitudes();
    assert_eq!(found.len(), 13);
    for (words, degrees, towards) in [
        ("braking at 0.9 g", 41.99, [-1.0, 0.0]),
        ("speeding up at 0.5 g", 26.57, [1.0, 0.0]),
        ("in a right bend at 0.7 g", 34.99, [0.0, -1.0]),
        ("in a left bend at 0.7 g", 34.99, [0.0, 1.0]),
    ] {
        let up = found.iter().find(|attitude| attitude.words == words).expect("it is there").up;
        near((up.z / up.norm()).acos().to_degrees(), degrees, 5e-3);
        let flat = up.xy().normalize();
        near(flat.x, towards[0], 1e-12);
        near(flat.y, towards[1], 1e-12);
    }
}

#[test]
fn a_hose_holds_its_bore_times_its_length() {
    // A maker's table of polyamide tube (READ): 4 / 6 / 8 / 10 mm outside have a bore of 2.5 / 4 / 5.7 /
    // 7.2 mm. 1 m of 5.7 mm holds 25.52 ml (CALC: π / 4 × 5.7² × 1000).
    let mut hose = crate::small_boot::hose([0.0; 3], [1.0, 0.0, 0.0], 1000.0);
    for (od_mm, bore_mm) in [(4.0, 2.5), (6.0, 4.0), (8.0, 5.7), (10.0, 7.2), (7.0, 4.85)] {
        hose.od_mm = od_mm;
        near(hose.bore_mm(), bore_mm, 1e-9);
    }
    hose.od_mm = 8.0;
    let empty = Fill { rams_in_mm3: 0.0, rams_out_mm3: 0.0, elsewhere_mm3: 0.0 };
    near(empty.with_lines(std::iter::once(&hose)).elsewhere_mm3 / 1000.0, 25.52, 5e-3);
}
