//! Layouts that are valid and absurd: they give findings, finite ones, in bounded time.

use std::time::{Duration, Instant};

use dryberth::checks::{Boot, Meshes, Scorecard, Verdict, evaluate};
use dryberth::format::{layout_from_text, pump_from_text, triangles_from_glb};
use dryberth::model::{Body, Layout, Motion, Place, Point, Role, Shape, Spot};

use crate::glb::Glb;
use crate::workshop::{LAYOUT, PUMP};

/// Longest that one of these may take in any build on a busy machine.
const BOUND: Duration = Duration::from_secs(20);

fn layout() -> Layout {
    layout_from_text("layout.ron", LAYOUT).expect("the sound layout")
}

/// Prepares, evaluates every spot, and holds every card to what all cards must be.
fn cards(layout: Layout) -> Vec<Scorecard> {
    let started = Instant::now();
    assert_eq!(layout.problems(), [], "an absurd layout must still be a valid one");
    let pump = pump_from_text("pump.ron", PUMP).expect("the sound pump");
    let mesh = triangles_from_glb("bump.glb", &Glb::sound().bytes()).expect("the sound mesh");
    let meshes = Meshes::from([("bump.glb".to_string(), mesh)]);
    let fitted = Boot::usual_options(&layout);
    let boot = Boot::prepare(layout, pump, &meshes, &fitted).expect("a boot that can be prepared");
    let cards: Vec<Scorecard> =
        boot.layout().spots.iter().map(|spot| evaluate(&boot, spot)).collect();
    for card in &cards {
        sound(card);
    }
    let took = started.elapsed();
    assert!(took < BOUND, "took {took:?}");
    if took > Duration::from_secs(3) {
        eprintln!("slow: {took:?}");
    }
    cards
}

/// Every figure is finite, every open question says what is missing, and scores keep their range.
fn sound(card: &Scorecard) {
    assert_eq!(card.headlines.len(), 5);
    assert_eq!(card.score.is_none(), card.verdict == Verdict::Unknown, "{}", card.name);
    for headline in &card.headlines {
        assert!(!headline.checks.is_empty(), "{:?} has no check", headline.id);
        for check in &headline.checks {
            let about = format!("{} {} {}", card.name, check.id, check.subject);
            let plain = [check.limit, check.comfort, check.tolerance];
            let open = [check.figure, check.margin, check.score];
            let numbers = plain.into_iter().chain(open.into_iter().flatten());
            for value in numbers.chain(check.at.into_iter().flatten()) {
                assert!(value.is_finite(), "{about}: {check:?}");
            }
            assert!(check.score.is_none_or(|score| (0.0..=100.0).contains(&score)), "{about}");
            let unknown = check.verdict == Verdict::Unknown;
            assert_eq!(unknown, check.figure.is_none(), "{about}: {check:?}");
            assert!(!check.why.is_empty() && !check.why.contains("NaN"), "{about}");
            assert!(!check.why.contains("inf "), "{about}: {}", check.why);
        }
    }
    for line in &card.drawn.lines {
        let finite = |point: &Point| point.iter().all(|value| value.is_finite());
        assert!(line.centreline.iter().all(finite), "{}", line.name);
    }
}

fn verdicts(layout: Layout) -> Vec<Verdict> {
    cards(layout).iter().map(|card| card.verdict).collect()
}

fn body(name: String, role: Role, from: [f64; 3], to: [f64; 3]) -> Body {
    Body {
        name,
        role,
        shape: Shape::Box { from: Point::from(from), to: Point::from(to) },
        place: Place::default(),
        option: None,
        skin: None,
        sharp: false,
        tolerance_mm: None,
        note: String::new(),
    }
}

fn spot(name: &str, at: [f64; 3]) -> Spot {
    let place = Place { at: Point::from(at), ..Place::default() };
    Spot { name: name.to_string(), place, fixings: Vec::new(), note: String::new(), tap_hz: None }
}

#[test]
fn a_floor_40_metres_across() {
    let mut layout = layout();
    layout.bodies[0] = body("floor".into(), Role::Floor, [-20e3, -20e3, -4.0], [20e3, 20e3, 0.0]);
    assert_eq!(verdicts(layout).len(), 2);
}

#[test]
fn bodies_40_metres_apart() {
    let mut layout = layout();
    for (index, corner) in [-20e3, 19.9e3].into_iter().enumerate() {
        let far = [corner + 100.0; 3];
        layout.bodies.push(body(format!("far {index}"), Role::Panel, [corner; 3], far));
    }
    assert_eq!(verdicts(layout).len(), 2);
}

#[test]
fn the_pump_15_metres_away_fails() {
    let mut layout = layout();
    layout.spots[0].place.at.x += 15e3;
    layout.spots[1].place.at.z -= 15e3;
    assert_eq!(verdicts(layout), [Verdict::Fail, Verdict::Fail]);
}

#[test]
fn the_pump_inside_a_wall_fails() {
    let mut layout = layout();
    layout.bodies.push(body("block".into(), Role::Panel, [-2e3; 3], [2e3; 3]));
    for card in cards(layout) {
        let clearance = card.check("clearance", "block").expect("the block is looked at");
        assert_eq!(clearance.verdict, Verdict::Fail);
        assert!(clearance.figure.is_some_and(|depth| depth < 0.0));
    }
}

#[test]
fn three_hundred_bodies_are_answered_in_time() {
    let mut layout = layout();
    for index in 0..300 {
        let (x, y) = (f64::from(index % 20) * 30.0, f64::from(index / 20) * 40.0 - 300.0);
        let name = format!("stone {index}");
        layout.bodies.push(body(name, Role::Other, [x, y, 0.0], [x + 5.0, y + 5.0, 30.0]));
    }
    assert_eq!(verdicts(layout).len(), 2);
}

#[test]
fn many_spots_in_one_place_give_the_same_card() {
    let mut layout = layout();
    layout.spots = (0..20).map(|i| spot(&format!("spot {i}"), [200.0, 0.0, 40.0])).collect();
    let cards = cards(layout);
    assert!(cards.iter().all(|card| card.headlines == cards[0].headlines));
}

#[test]
fn no_spots_give_no_cards() {
    let mut layout = layout();
    layout.spots.clear();
    assert_eq!(cards(layout).len(), 0);
}

#[test]
fn what_was_not_measured_is_unknown_and_says_so() {
    let lists: [(&str, fn(&mut Layout)); 10] = [
        ("no floor", |layout| layout.bodies.retain(|body| !body.role.holds_water())),
        ("no drains", |layout| layout.drains.clear()),
        ("no leaks", |layout| layout.leaks.clear()),
        ("no anchors", |layout| {
            layout.anchors.clear();
            layout.spots[0].fixings.clear();
        }),
        ("no lines", |layout| layout.lines.clear()),
        ("no trims", |layout| layout.trims.clear()),
        ("no movers", |layout| layout.movers.clear()),
        ("no rams", |layout| layout.rams.clear()),
        ("no viewpoints", |layout| layout.viewpoints.clear()),
        ("no boot space", |layout| layout.boot_space.clear()),
    ];
    for (name, clear) in lists {
        let mut layout = layout();
        clear(&mut layout);
        let cards = cards(layout);
        // Nothing to check is no pass by itself: whatever is missing, the card is complete.
        assert!(cards.iter().all(|card| card.headlines.len() == 5), "{name}");
        if matches!(name, "no floor" | "no lines") {
            assert!(cards.iter().all(|card| card.verdict != Verdict::Pass), "{name}");
        }
    }
}

#[test]
fn nothing_but_one_body() {
    let mut layout = layout();
    layout.bodies.truncate(1);
    layout.trims.clear();
    layout.movers.clear();
    layout.drains.clear();
    layout.leaks.clear();
    layout.anchors.clear();
    layout.lines.clear();
    layout.rams.clear();
    layout.viewpoints.clear();
    layout.spots = vec![spot("anywhere", [0.0, 0.0, 100.0]), spot("below", [0.0, 0.0, -500.0])];
    assert!(verdicts(layout).iter().all(|verdict| *verdict != Verdict::Pass));
}

#[test]
fn things_that_coincide() {
    let mut layout = layout();
    // Two bodies in one place, a drain under the pump, a leak in it, an anchor at its mount, the
    // hose beginning where it ends, and a mover that doesn't move.
    let mut twin = layout.bodies[1].clone();
    twin.name = "twin".into();
    layout.bodies.push(twin);
    layout.drains[0].at = Point::new(200.0, 170.0, 0.0);
    layout.leaks[0].at = Point::new(200.0, 170.0, 50.0);
    layout.anchors[0].at = Point::new(120.0, 170.0, 5.0);
    layout.lines[0].from.at = Point::new(200.0, 215.0, 65.0);
    layout.lines[0].free_mm = 1.0;
    layout.viewpoints[0].at = Point::new(200.0, 170.0, 50.0);
    if let Motion::Swing { from_deg, to_deg, .. } = &mut layout.movers[0].motion {
        (*from_deg, *to_deg) = (30.0, 30.0);
    }
    assert_eq!(verdicts(layout).len(), 2);
}

#[test]
fn sizes_at_the_ends_of_what_is_allowed() {
    let mut layout = layout();
    layout.bodies.push(body("speck".into(), Role::Other, [200.0; 3], [200.02; 3]));
    layout.bodies.push(body(
        "foil".into(),
        Role::Floor,
        [0.0, -300.0, 10.0],
        [600.0, 300.0, 10.02],
    ));
    layout.bodies.push(body("needle".into(), Role::Loom, [-20e3, 0.0, 90.0], [20e3, 0.01, 90.01]));
    layout.boot_space.push(Shape::Box {
        from: Point::new(-20e3, -20e3, -20e3),
        to: Point::new(20e3, 20e3, 20e3),
    });
    layout.boot_space.push(Shape::Box {
        from: Point::new(300.0, 0.0, 210.0),
        to: Point::new(300.02, 0.02, 210.02),
    });
    layout.lines[0].bend_mm = 2_000.0;
    layout.lines[0].free_mm = 20_000.0;
    layout.lines[0].lead_mm = Some(500.0);
    layout.lines[1].od_mm = 100.0;
    layout.drains[0].diameter_mm = 200.0;
    layout.limits.water_step_mm = 2.0;
    layout.rams[0].rod_mm = 200.0;
    layout.rams[0].stroke_mm = 5_000.0;
    layout.rams[0].count = 20;
    assert_eq!(verdicts(layout).len(), 2);
}

#[test]
fn the_pump_on_its_head_and_every_way_round() {
    let mut layout = layout();
    layout.spots = [(180.0, 0.0, 0.0), (0.0, 90.0, 0.0), (0.0, -90.0, 0.0), (90.0, 0.0, 0.0)]
        .into_iter()
        .map(|turn_deg| {
            let mut turned = spot(&format!("{turn_deg:?}"), [200.0, 0.0, 120.0]);
            turned.place.turn_deg = turn_deg;
            turned
        })
        .collect();
    for card in cards(layout) {
        let feed = card.headline(dryberth::checks::HeadlineId::Feed).expect("a feed headline");
        assert_eq!(feed.verdict, Verdict::Fail, "{}", card.name);
    }
}

#[test]
fn a_mover_that_sweeps_everything() {
    let mut layout = layout();
    if let Motion::Swing { from_deg, to_deg, .. } = &mut layout.movers[0].motion {
        (*from_deg, *to_deg) = (-360.0, 360.0);
    }
    if let Motion::Slide { from_mm, to_mm, .. } = &mut layout.movers[1].motion {
        (*from_mm, *to_mm) = (-5_000.0, 5_000.0);
    }
    assert_eq!(verdicts(layout).len(), 2);
}
