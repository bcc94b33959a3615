//! What is seen, what goes in and what reaches the filler, with more in the boot; and chances.

use dryberth::checks::{Ask, Boot, HeadlineId, Scorecard, evaluate_some, tolerance_runs};
use dryberth::model::{Body, Limits, Point, Role, Shape, Viewpoint};
use proptest::prelude::*;

use crate::cases;
use crate::small_boot::{body, boxed, layout, ready};

/// A small boot with an eye, some luggage space beside the pump, and bodies.
fn boot(eye: [f64; 3], bodies: &[Body], space: Shape) -> Boot {
    let mut layout = layout();
    layout.limits.water_step_mm = 100.0;
    layout.bodies.extend_from_slice(bodies);
    layout.viewpoints = vec![Viewpoint { name: "eye".into(), at: Point::from(eye) }];
    layout.boot_space = vec![space];
    ready(layout)
}

fn carpet(boot: &Boot) -> Scorecard {
    let ask = Ask { headlines: vec![HeadlineId::Carpet], stop_at_fail: false, ..Ask::default() };
    evaluate_some(boot, &boot.layout().spots[0], &ask)
}

fn figure(card: &Scorecard, id: &str, subject: &str) -> f64 {
    card.check(id, subject).and_then(|check| check.figure).expect("a figure")
}

fn small_box() -> impl Strategy<Value = Shape> {
    (
        [-400.0..400.0_f64, -400.0..400.0_f64, 0.0..500.0_f64],
        [10.0..200.0_f64, 10.0..200.0_f64, 10.0..200.0_f64],
    )
        .prop_map(|(low, size)| boxed(low, [low[0] + size[0], low[1] + size[1], low[2] + size[2]]))
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn another_body_never_shows_more_nor_widens_the_way(
        first in small_box(), second in small_box(),
        eye in [-900.0..900.0_f64, -900.0..900.0_f64, 300.0..1500.0_f64],
    ) {
        let space = boxed([200.0, -200.0, 0.0], [700.0, 200.0, 300.0]);
        let first = body("first", Role::Other, first);
        let second = body("second", Role::Other, second);
        let few = carpet(&boot(eye, std::slice::from_ref(&first), space.clone()));
        let many = carpet(&boot(eye, &[first, second], space));
        prop_assert!(figure(&many, "seen", "pump") <= figure(&few, "seen", "pump") + 1e-9);
        prop_assert!(figure(&many, "service", "filler") <= figure(&few, "service", "filler") + 1e-6);
    }

    #[test]
    fn luggage_is_never_more_than_its_litres_and_the_pump_never_adds_any(
        low in [-300.0..100.0_f64, -300.0..100.0_f64, 0.0..100.0_f64],
        size in [50.0..600.0_f64, 50.0..600.0_f64, 40.0..400.0_f64], body_shape in small_box(),
    ) {
        let high = [low[0] + size[0], low[1] + size[1], low[2] + size[2]];
        let boot = boot([0.0, -900.0, 900.0], &[body("case", Role::Other, body_shape)], boxed(low, high));
        let (litres, blocks) = boot.luggage().expect("a space");
        let exact = size[0] * size[1] * size[2] / 1e6;
        prop_assert!((litres - exact).abs() <= 1e-9 * exact, "{litres} for {exact}");
        prop_assert!(blocks as f64 <= exact);
        let card = carpet(&boot);
        let (lost, taken) = (figure(&card, "blocks", "boot"), figure(&card, "space", "boot"));
        prop_assert!(lost >= 0.0 && lost <= blocks as f64);
        prop_assert!(blocks as f64 - lost <= exact - taken * 0.98 + 1e-9);
        // The pump is 2 litres in all.
        prop_assert!((0.0..=2.0 + 1e-9).contains(&taken));
        if taken <= 0.0 {
            prop_assert!(lost <= 0.0, "{lost} blocks lost to nothing");
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_exact_measures_no_doubt() {
    let opened = dryberth::format::open_demo(None).expect("the demo");
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("sound");
    let spot = &opened.layout.spots[1];
    let card = |seed: u64| {
        serde_json::to_string(&tolerance_runs(&boot, spot, 6, seed)).expect("a card as JSON")
    };
    assert_eq!(card(3), card(3));

    let mut exact = opened.layout.clone();
    exact.limits = Limits { tape_mm: 0.0, scan_mm: 0.0, bench_mm: 0.0, ..exact.limits };
    exact.bodies.iter_mut().for_each(|body| body.tolerance_mm = Some(0.0));
    exact.movers.iter_mut().for_each(|mover| mover.tolerance_mm = Some(0.0));
    let fitted = Boot::usual_options(&exact);
    let boot = Boot::prepare(exact, opened.pump.clone(), &opened.meshes, &fitted).expect("sound");
    for spot in &opened.layout.spots {
        let card = tolerance_runs(&boot, spot, 3, 1);
        for check in card.headlines.iter().flat_map(|headline| &headline.checks) {
            let expected = check.margin.map(|margin| f64::from(u8::from(margin >= 0.0)));
            let chance = check.holds.map(|holds| holds.chance);
            assert_eq!(chance, expected, "{}: {check:?}", spot.name);
        }
    }
}
