//! Forces on the pump and what holds it: published factors and closed forms.

use dryberth::checks::hold::{
    CASES, CRASH, FRICTION_SIDES, Held, Holding, Load, LoadCase, Mounting, load_factor, rock,
};
use dryberth::model::{Point, Vector};
use dryberth::units::STANDARD_GRAVITY_M_S2;

use crate::near;

const MASS_KG: f64 = 4.0;

/// Weight of 4 kg, N.
const WEIGHT_N: f64 = MASS_KG * STANDARD_GRAVITY_M_S2;

fn factor(holdings: &[Holding], load_g: [f64; 3]) -> f64 {
    let case = LoadCase { words: "as given", load_g };
    load_factor(holdings, &Point::origin(), MASS_KG, &case).expect("solved")
}

fn pull(at: [f64; 3], along: [f64; 3], working_n: f64) -> Holding {
    Holding::Pull { at: Point::from(at), along: Vector::from(along).normalize(), working_n }
}

#[test]
fn r1_to_r6_forces_on_four_kilograms() {
    // N on 4 kg at a multiple of g. Multiples from light-vehicle cargo tables, READ (20 g and 8 g:
    // UN R67/R110 from memory); forces CALC. ± 0.05 N (one decimal).
    for (name, g, newton) in [
        ("R1 forward, up to 2 t", 0.9, 35.3),
        ("R2 forward, over 2 t", 0.8, 31.4),
        ("R3 sideways", 0.7, 27.5),
        ("R4 rearward", 0.5, 19.6),
        ("R5 crash, along", 20.0, 784.5),
        ("R6 crash, across", 8.0, 313.8),
    ] {
        let strap = pull([0.0, 0.0, 0.0], [-1.0, 0.0, 0.0], 500.0);
        let held = 500.0 / factor(&[strap], [g, 0.0, 0.0]);
        assert!((held - newton).abs() < 0.05, "{name}: {held} N, expected {newton}");
    }
}

#[test]
fn the_load_cases_are_the_published_ones() {
    // 0.9 forward, 0.5 rearward, 0.7 to either side, 1.0 down with each: light-vehicle cargo table,
    // gross mass up to 2 t, READ.
    let has = |load_g: [f64; 3]| {
        CASES.iter().any(|case| (Vector::from(case.load_g) - Vector::from(load_g)).norm() < 1e-12)
    };
    for load_g in
        [[0.0, 0.0, -1.0], [0.9, 0.0, -1.0], [-0.5, 0.0, -1.0], [0.0, 0.7, -1.0], [0.0, -0.7, -1.0]]
    {
        assert!(has(load_g), "{load_g:?}");
    }
}

#[test]
fn a_block_hangs_on_two_ties_by_the_law_of_the_lever() {
    // Closed form: ties 100 and 50 mm either side of the centre of gravity carry 1/3 and 2/3.
    let ties = [
        pull([-100.0, 0.0, 50.0], [0.0, 0.0, 1.0], 60.0),
        pull([50.0, 0.0, 50.0], [0.0, 0.0, 1.0], 60.0),
    ];
    near(factor(&ties, [0.0, 0.0, -1.0]), 60.0 / (WEIGHT_N * 2.0 / 3.0), 1e-9);
    // Both on the same side: it tips, nothing balances.
    let aside = [
        pull([50.0, 0.0, 50.0], [0.0, 0.0, 1.0], 60.0),
        pull([100.0, 0.0, 50.0], [0.0, 0.0, 1.0], 60.0),
    ];
    near(factor(&aside, [0.0, 0.0, -1.0]), 0.0, 1e-9);
}

#[test]
fn a_v_of_straps_carries_by_the_cosine() {
    // Closed form: W = 2 T cos α for two straps at α to the upright, through the centre of gravity.
    for degrees in [0.0_f64, 15.0, 30.0, 45.0, 60.0, 75.0] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let straps =
            [pull([0.0; 3], [0.0, sin, cos], 100.0), pull([0.0; 3], [0.0, -sin, cos], 100.0)];
        near(factor(&straps, [0.0, 0.0, -1.0]), 200.0 * cos / WEIGHT_N, 1e-9);
    }
    // Straps only pull: the same two can't hold it up from below.
    let under = [pull([0.0; 3], [0.0, 1.0, -1.0], 100.0), pull([0.0; 3], [0.0, -1.0, -1.0], 100.0)];
    near(factor(&under, [0.0, 0.0, -1.0]), 0.0, 1e-9);
}

/// Four corners of a base of `length` × `width` mm, `below` the centre of gravity.
fn corners(length: f64, width: f64, below: f64, up: &Vector, friction: f64) -> Vec<Holding> {
    let mut found = Vec::new();
    for x in [-length / 2.0, length / 2.0] {
        for y in [-width / 2.0, width / 2.0] {
            found.push(Holding::Push { at: Point::new(x, y, -below), along: *up, friction });
        }
    }
    found
}

#[test]
fn a_box_tips_where_its_half_base_over_height_says() {
    // Stable while (half base) / (height of the centre of gravity) ≥ a / g: a cargo-securing
    // handbook, READ. Base 200, centre 150 high: 0.667, so it tips at 0.9 g and stands at 0.5 g
    // (CALC). Friction 1, so that it doesn't slide first; the load grows with its weight, so the
    // factor is either 0 or the cap of 50.
    let base = corners(200.0, 200.0, 150.0, &Vector::z(), 1.0);
    near(factor(&base, [0.5, 0.0, -1.0]), 50.0, 1e-6);
    near(factor(&base, [0.9, 0.0, -1.0]), 0.0, 1e-9);
    near(factor(&base, [0.666, 0.0, -1.0]), 50.0, 1e-6);
    near(factor(&base, [0.668, 0.0, -1.0]), 0.0, 1e-9);
}

/// Whether a low box with friction 0.3 holds on a slope of `degrees`, falling away along `course`.
fn holds(degrees: f64, course: f64) -> bool {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let base = corners(400.0, 400.0, 1.0, &Vector::z(), 0.3);
    let load = [sin * course.cos(), sin * course.sin(), -cos];
    let found = factor(&base, load);
    assert!(!(1e-6..=49.9).contains(&found), "neither held nor free: {found}");
    found > 1.0
}

#[test]
fn friction_on_a_slope() {
    // Closed form: friction 0.3 holds up to atan 0.3 = 16.70°. A rigid-body simulator (mujoco 4)
    // held at 16.5° and slid at 16.9°. Ours takes a pyramid of 64 sides inside the cone: along its
    // edges it is the cone, between them it reaches cos(π/64) = 99.88 % of it: 16.68°, on the safe side.
    assert_eq!(FRICTION_SIDES, 64);
    assert!(holds(16.5, 0.0) && !holds(16.9, 0.0));
    let between = std::f64::consts::PI / 64.0;
    let weakest = (0.3 * between.cos()).atan().to_degrees();
    near(weakest, 16.68, 0.005);
    assert!(holds(weakest - 0.005, between) && !holds(weakest + 0.005, between));
    // Never on the unsafe side, in any direction.
    for step in 0..96 {
        let course = std::f64::consts::TAU * f64::from(step) / 96.0;
        assert!(!holds(16.70, course) && holds(16.67, course), "course {course}");
    }
}

#[test]
fn tie_down_lashings_press_it_to_the_floor() {
    // n ≥ (c − µ) m g / (2 µ sin α F) for lashings over the top (EN 12195-1, from memory; safety 1).
    // c = 0.9, µ = 0.3, F = 40 N, upright: n = 0.98, so one lashing (two legs) holds with 1 / 0.98
    // (CALC). ± 1e-9.
    let mut holdings = corners(400.0, 400.0, 1.0, &Vector::z(), 0.3);
    holdings.push(pull([0.0, 60.0, 0.0], [0.0, 0.0, -1.0], 40.0));
    holdings.push(pull([0.0, -60.0, 0.0], [0.0, 0.0, -1.0], 40.0));
    let needed = (0.9 - 0.3) * WEIGHT_N / (2.0 * 0.3 * 40.0);
    near(needed, 0.98, 0.005);
    near(factor(&holdings, [0.9, 0.0, -1.0]), 1.0 / needed, 1e-9);
}

#[test]
fn a_bolt_takes_its_strength_every_way_and_no_more() {
    // Closed form: one bolt at the centre of gravity holds any force up to its strength. Ours takes
    // 26 directions inside the sphere: full towards faces, edges and corners of a cube, never more than
    // full, and at least 88.6 % in between: a facet's plane n · (1, 0, 0) = n · (1, 1, 0) / √2 =
    // n · (1, 1, 1) / √3 lies 1 / |n| out, n = (1, √2 − 1, √3 − √2).
    let least =
        1.0 / Vector::new(1.0, 2.0_f64.sqrt() - 1.0, 3.0_f64.sqrt() - 2.0_f64.sqrt()).norm();
    near(least, 0.886, 5e-4);
    let bolt = [Holding::Bolt { at: Point::origin(), working_n: 100.0 }];
    for load in [[1.0, 0.0, 0.0], [0.0, -1.0, 1.0], [1.0, 1.0, -1.0]] {
        near(factor(&bolt, load), 100.0 / (WEIGHT_N * Vector::from(load).norm()), 1e-9);
    }
    for step in 0..500_u32 {
        let (turn, lift) = (f64::from(step) * 2.399_963, f64::from(step) / 250.0 - 0.999);
        let flat = (1.0 - lift * lift).sqrt();
        let share = factor(&bolt, [flat * turn.cos(), flat * turn.sin(), lift]) * WEIGHT_N / 100.0;
        assert!(share <= 1.0 + 1e-9 && share >= least - 1e-9, "{share}");
    }
}

#[test]
fn an_inner_pyramid_asks_for_at_most_a_nine_hundredth_more_lashing() {
    // Lashing over the top, closed form n F = (c − µ) m g / (2 µ): the cone replaced by a pyramid of 64
    // sides asks for (c − µ') / µ' over (c − µ) / µ, µ' = µ cos(π/64): 1.0018 at c = 0.9, µ = 0.3, and
    // never less than the cone does. An independent comparison with true cones found at most 0.9 % for
    // any mount. Here over 64 courses.
    let (mu, c) = (0.3_f64, 0.9_f64);
    let tension = |found: f64| 1.0 / found;
    let exact = (c - mu) * WEIGHT_N / (2.0 * mu * 40.0);
    for step in 0..64 {
        let course = std::f64::consts::TAU * f64::from(step) / 64.0 / 3.0;
        let mut holdings = corners(400.0, 400.0, 1.0, &Vector::z(), mu);
        holdings.push(pull([0.0, 60.0, 0.0], [0.0, 0.0, -1.0], 40.0));
        holdings.push(pull([0.0, -60.0, 0.0], [0.0, 0.0, -1.0], 40.0));
        let found = tension(factor(&holdings, [c * course.cos(), c * course.sin(), -1.0]));
        assert!(found >= exact * (1.0 - 1e-9) && found <= exact * 1.009, "{found} {exact}");
    }
}

#[test]
fn a_box_begins_to_move_at_the_smaller_of_sliding_and_tipping() {
    // Base 200 × 200, centre 150 high, friction 1: tips at 0.667 g square to a side (closed form, as
    // above); friction 0.3: slides at 0.3 g first. On its corners' diagonal it tips at 0.943 g.
    let smallest = |mu: f64| {
        let base = corners(200.0, 200.0, 150.0, &Vector::z(), mu);
        rock(&mut Mounting::of(&base, &Point::origin(), MASS_KG), MASS_KG).expect("solved")
    };
    let tips = smallest(1.0);
    let along = |wanted: Vector, rock: &dryberth::checks::hold::Rock| {
        let at = rock.directions.iter().position(|way| (way - wanted).norm() < 1e-9);
        rock.g[at.expect("a direction of the grid")]
    };
    near(along(Vector::x(), &tips), 2.0 / 3.0, 1e-6);
    near(along(Vector::new(1.0, 1.0, 0.0).normalize(), &tips), 2.0 / 3.0 * 2.0_f64.sqrt(), 1e-6);
    let slides = smallest(0.3);
    near(along(Vector::x(), &slides), 0.3, 1e-6);
    // Straight up it lifts at 1 g; down it never moves.
    near(along(Vector::z(), &slides), 1.0, 1e-6);
    near(along(-Vector::z(), &slides), 50.0, 1e-9);
    // Where force and lift work together it is least: a = µ / (cos φ + µ sin φ) at tan φ = µ upward:
    // µ / √(1 + µ²) = 0.2873 at 16.7°. The grid has 15°: 0.28748.
    let (mu, lift) = (0.3_f64, 15.0_f64.to_radians());
    near(slides.weakest().0, mu / (lift.cos() + mu * lift.sin()), 1e-3);
    assert!(slides.weakest().0 >= 0.9988 * mu / (1.0 + mu * mu).sqrt());
}

#[test]
fn what_hangs_from_nothing_moves_at_once() {
    let mut none = Mounting::of(&[], &Point::origin(), MASS_KG);
    let rock = rock(&mut none, MASS_KG).expect("solved");
    assert!(rock.g.iter().all(|g| g.abs() < 1e-12));
    // Told apart: hanging is impossible, and a load that presses it down is held at any multiple.
    let hanging = Load::of_g(MASS_KG, [0.0, 0.0, -1.0]);
    let aside = Load::of_g(MASS_KG, [0.0, 1.0, 0.0]);
    assert_eq!(none.carries(&hanging, &aside).expect("solved").held, Held::Nothing);
    let base = corners(200.0, 200.0, 150.0, &Vector::z(), 0.3);
    let mut standing = Mounting::of(&base, &Point::origin(), MASS_KG);
    let pressed = standing.carries(&Load::default(), &hanging).expect("solved");
    assert_eq!(pressed.held, Held::AnyMultiple);
    assert!(pressed.governing.is_empty());
}

#[test]
fn the_lever_says_who_gives_out_first_and_what_each_takes() {
    // Ties 100 mm and 50 mm either side carry 1/3 and 2/3: 13.08 and 26.15 N of the weight, and the
    // nearer one gives out first (closed form).
    let ties = [
        pull([-100.0, 0.0, 50.0], [0.0, 0.0, 1.0], 60.0),
        pull([50.0, 0.0, 50.0], [0.0, 0.0, 1.0], 60.0),
    ];
    let mut mounting = Mounting::of(&ties, &Point::origin(), MASS_KG);
    let hanging = Load::of_g(MASS_KG, [0.0, 0.0, -1.0]);
    let carried = mounting.carries(&Load::default(), &hanging).expect("solved");
    assert_eq!(carried.governing, [1]);
    let found = mounting.reactions(&hanging).expect("solved");
    near(found.factor, 1.0, 1e-12);
    near(found.forces_n[0].z, WEIGHT_N / 3.0, 1e-6);
    near(found.forces_n[1].z, WEIGHT_N * 2.0 / 3.0, 1e-6);
    // A box that tips says so: it turns about y, nose down.
    let base = corners(200.0, 200.0, 150.0, &Vector::z(), 1.0);
    let mut standing = Mounting::of(&base, &Point::origin(), MASS_KG);
    let braking = Load::of_g(MASS_KG, [0.9, 0.0, -1.0]);
    let tips = standing.carries(&Load::default(), &braking).expect("solved");
    assert_eq!(tips.held, Held::Factor(0.0));
    assert!(tips.moves.1.y > 0.3 && tips.moves.1.iamax() == 1, "{:?}", tips.moves);
}

#[test]
fn the_crash_case_is_the_remembered_one() {
    // 20 g along, 8 g across: UN R67/R110 for M1 and N1, from memory.
    let has = |x: f64, y: f64| {
        CRASH
            .iter()
            .any(|case| (Vector::from(case.load_g) - Vector::new(x, y, -1.0)).norm() < 1e-12)
    };
    assert!(has(20.0, 0.0) && has(-20.0, 0.0) && has(0.0, 8.0) && has(0.0, -8.0));
}

#[test]
fn a_starting_motor_is_held_by_two_bolts_as_a_couple() {
    // Closed form: 2.6 N m on two bolts 100 mm apart across the motor's axis take 26 N each.
    let bolt = |y: f64| Holding::Bolt { at: Point::new(0.0, y, 0.0), working_n: 100.0 };
    let mut mounting = Mounting::of(&[bolt(50.0), bolt(-50.0)], &Point::origin(), MASS_KG);
    let torque = Load { force_n: Vector::zeros(), moment_nmm: Vector::new(2600.0, 0.0, 0.0) };
    let carried = mounting.carries(&Load::default(), &torque).expect("solved");
    let Held::Factor(found) = carried.held else { panic!("{carried:?}") };
    near(found, 100.0 / 26.0, 1e-9);
}
