//! Simplified to a stated deviation, measured here by another way than the program's own: the
//! distance that clearance uses, at points strewn over every triangle.

use dryberth::geometry::{Solid, Triangles};
use dryberth::model::Point;

use crate::files::{Bench, Faces, f};

/// A pressed sheet of 300 × 300 mm with a ridge, dense and slightly rough, mm, z up.
fn pressed() -> Faces {
    let n: u32 = 120;
    let step = 300.0 / f64::from(n);
    let mut dice = 7_u64;
    Faces::sheet(n, |x, y| {
        let (x, y) = (f64::from(x) * step, f64::from(y) * step);
        dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let rough = (dice >> 40) as f64 / (1_u64 << 24) as f64 * 0.2;
        let ridge = (20.0 - (x - 150.0).abs()).max(0.0) * 0.8;
        [x, y, ridge + 3.0 * (y / 40.0).sin() + rough]
    })
}

/// Points at corners, on edges and inside of every triangle.
fn strewn(surface: &Triangles) -> Vec<Point> {
    let shares = [
        [1.0, 0.0, 0.0],
        [0.5, 0.5, 0.0],
        [0.0, 0.5, 0.5],
        [1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0],
        [0.6, 0.2, 0.2],
    ];
    let mut points = Vec::new();
    for [a, b, c] in surface.each() {
        for [u, v, w] in shares {
            points.push(Point::from(a.coords * u + b.coords * v + c.coords * w));
        }
    }
    points
}

fn farthest(from: &Triangles, to: &Triangles) -> f64 {
    let to = Solid::sheet(to).expect("a surface");
    strewn(from).iter().map(|point| to.distance_to_point_mm(point).abs()).fold(0.0, f64::max)
}

#[test]
fn the_stated_deviation_holds_where_it_is_measured_and_between() {
    let bench = Bench::new();
    bench.write("scan.ply", pressed().ply_text());
    let arguments = ["--unit", "mm", "--up", "z", "--plan", "plan.ron"];
    bench.write("plan.ron", "(schema: 1)");
    let (_, whole) = bench.taken("scan.ply", &arguments);
    let mut before = whole.indices.len();
    for asked_mm in [0.3, 1.0, 3.0] {
        bench.write("plan.ron", format!("(schema: 1, deviation_mm: {asked_mm})"));
        let (report, thin) = bench.taken("scan.ply", &arguments);
        let said_mm = f(&report["deviation_mm"]);
        assert!(said_mm > 0.0 && said_mm <= asked_mm, "{report}");
        // Other points than the program's, and so not its very figure; none farther off.
        let found_mm = farthest(&whole, &thin);
        assert!(found_mm >= said_mm * 0.6 && found_mm <= said_mm * 1.1, "{found_mm} {report}");
        assert!(found_mm <= asked_mm, "{found_mm} {report}");
        assert!(thin.indices.len() <= before, "{report}");
        // The other way round: nothing new sticks out of the scan.
        let back_mm = farthest(&thin, &whole);
        eprintln!(
            "{asked_mm} mm asked: {} of {} triangles, {said_mm:.3} said, {found_mm:.3} found, \
             {back_mm:.3} the other way",
            thin.indices.len(),
            whole.indices.len()
        );
        assert!(back_mm <= 2.0 * asked_mm, "{back_mm}");
        assert_eq!(report["edges"]["crowded"], 0);
        assert_eq!(report["edges"]["at_odds"], 0);
        before = thin.indices.len();
    }
    assert!(before < whole.indices.len() / 20, "{before}");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let bench = Bench::new();
    bench.write("scan.ply", pressed().ply_binary(true));
    bench.write(
        "plan.ron",
        "(schema: 1, deviation_mm: 0.5, cut_away: [(from: (10, 10, -9), to: (40, 50, 90))])",
    );
    let arguments = ["--unit", "mm", "--up", "z", "--plan", "plan.ron"];
    let bytes = |()| {
        bench.taken("scan.ply", &arguments);
        std::fs::read(bench.path("body.glb")).expect("the body")
    };
    assert!(bytes(()) == bytes(()));
}
