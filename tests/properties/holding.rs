//! Load factors.

use dryberth::checks::hold::{CASES, Holding, LoadCase, load_factor};
use dryberth::model::{Point, Pose};
use proptest::prelude::*;

use crate::{cases, point, pose, way};

fn holding() -> impl Strategy<Value = Holding> {
    prop_oneof![
        (point(100.0), 20.0..300.0_f64).prop_map(|(at, working_n)| Holding::Bolt { at, working_n }),
        (point(100.0), way(), 20.0..300.0_f64).prop_map(|(at, along, working_n)| Holding::Pull {
            at,
            along,
            working_n
        }),
        (point(100.0), way(), 0.0..0.6_f64).prop_map(|(at, along, friction)| Holding::Push {
            at,
            along,
            friction
        }),
        (point(100.0), way(), 0.0..0.6_f64, 20.0..300.0_f64).prop_map(
            |(at, along, friction, working_n)| Holding::Wedge { at, along, friction, working_n }
        ),
    ]
}

/// Straps and smooth rests: nothing that is approximated by directions of the frame.
fn smooth() -> impl Strategy<Value = Holding> {
    prop_oneof![
        3 => (point(100.0), way(), 20.0..300.0_f64)
            .prop_map(|(at, along, working_n)| Holding::Pull { at, along, working_n }),
        1 => (point(100.0), way()).prop_map(|(at, along)| Holding::Push { at, along, friction: 0.0 }),
    ]
}

fn moved(holding: &Holding, by: &Pose) -> Holding {
    match *holding {
        Holding::Bolt { at, working_n } => Holding::Bolt { at: by * at, working_n },
        Holding::Pull { at, along, working_n } => {
            Holding::Pull { at: by * at, along: by * along, working_n }
        }
        Holding::Push { at, along, friction } => {
            Holding::Push { at: by * at, along: by * along, friction }
        }
        Holding::Wedge { at, along, friction, working_n } => {
            Holding::Wedge { at: by * at, along: by * along, friction, working_n }
        }
    }
}

fn factor(holdings: &[Holding], centre: &Point, case: &LoadCase) -> f64 {
    load_factor(holdings, centre, 4.0, case).expect("solved")
}

fn mount(of: impl Strategy<Value = Holding>) -> impl Strategy<Value = Vec<Holding>> {
    proptest::collection::vec(of, 1..9)
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn one_more_holding_never_holds_less(mount in mount(holding()), more in holding(), case in 0..CASES.len(), centre in point(20.0)) {
        let before = factor(&mount, &centre, &CASES[case]);
        let with: Vec<Holding> = mount.iter().copied().chain([more]).collect();
        let after = factor(&with, &centre, &CASES[case]);
        prop_assert!(after >= before - 1e-7 * before.max(1.0), "{} fell to {}", before, after);
    }

    #[test]
    fn a_stronger_strap_or_more_friction_never_holds_less(mount in mount(holding()), case in 0..CASES.len(), more in 1.0..3.0_f64) {
        let before = factor(&mount, &Point::origin(), &CASES[case]);
        let stronger: Vec<Holding> = mount
            .iter()
            .map(|holding| match *holding {
                Holding::Bolt { at, working_n } => Holding::Bolt { at, working_n: working_n * more },
                Holding::Pull { at, along, working_n } => {
                    Holding::Pull { at, along, working_n: working_n * more }
                }
                Holding::Push { at, along, friction } => {
                    Holding::Push { at, along, friction: friction * more }
                }
                Holding::Wedge { at, along, friction, working_n } => {
                    Holding::Wedge { at, along, friction, working_n: working_n * more }
                }
            })
            .collect();
        let after = factor(&stronger, &Point::origin(), &CASES[case]);
        prop_assert!(after >= before - 1e-7 * before.max(1.0), "{} fell to {}", before, after);
    }

    #[test]
    fn order_doesnt_matter(mount in mount(holding()), case in 0..CASES.len()) {
        let mut turned = mount.clone();
        turned.reverse();
        let (a, b) = (factor(&mount, &Point::origin(), &CASES[case]), factor(&turned, &Point::origin(), &CASES[case]));
        prop_assert!((a - b).abs() <= 1e-7 * a.max(1.0), "{} and {}", a, b);
    }

    #[test]
    fn a_motion_of_everything_changes_nothing(mount in mount(smooth()), case in 0..CASES.len(), by in pose(800.0)) {
        // With the load turned too. Bolts and friction are left out: their directions stay with the
        // frame, within the bound that tests/published states.
        let load = by * nalgebra::Vector3::from(CASES[case].load_g);
        let turned = LoadCase { words: "turned", load_g: load.into() };
        let all: Vec<Holding> = mount.iter().map(|holding| moved(holding, &by)).collect();
        let here = factor(&mount, &Point::new(3.0, -8.0, 5.0), &CASES[case]);
        let there = factor(&all, &(by * Point::new(3.0, -8.0, 5.0)), &turned);
        prop_assert!((here - there).abs() <= 1e-6 * here.max(1.0), "{} and {}", here, there);
    }

    #[test]
    fn bolts_and_friction_turn_with_quarter_turns(mount in mount(holding()), case in 0..CASES.len(), quarters in [0..4_u8, 0..4_u8]) {
        // The 26 directions and the 8 sides go into themselves.
        let quarter = std::f64::consts::FRAC_PI_2;
        let by = Pose::rotation(nalgebra::Vector3::z() * quarter * f64::from(quarters[0]))
            * Pose::rotation(nalgebra::Vector3::x() * quarter * f64::from(quarters[1]));
        let load = by * nalgebra::Vector3::from(CASES[case].load_g);
        let turned = LoadCase { words: "turned", load_g: load.into() };
        let all: Vec<Holding> = mount.iter().map(|holding| moved(holding, &by)).collect();
        let here = factor(&mount, &Point::origin(), &CASES[case]);
        let there = factor(&all, &Point::origin(), &turned);
        prop_assert!((here - there).abs() <= 1e-6 * here.max(1.0), "{} and {}", here, there);
    }

    #[test]
    fn twice_the_mass_takes_half_the_factor(mount in mount(smooth()), case in 0..CASES.len()) {
        let light = load_factor(&mount, &Point::origin(), 2.0, &CASES[case]).expect("solved");
        let heavy = load_factor(&mount, &Point::origin(), 4.0, &CASES[case]).expect("solved");
        prop_assert!(light >= 49.999 || (light - 2.0 * heavy).abs() <= 1e-6 * light.max(1.0), "{} and {}", light, heavy);
    }
}
