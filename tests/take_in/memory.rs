//! A million triangles go in within memory of ten times the file.

use serde_json::Value;

use crate::files::{Bench, Faces, f};

/// Squares along a side of the sheet.
const SQUARES: u32 = 708;

/// A wavy sheet of 1.3 × 1.3 m with just over a million triangles, in metres.
fn sheet() -> Faces {
    Faces::sheet(SQUARES, |x, y| {
        let (x, y) = (f64::from(x) / 540.0, f64::from(y) / 540.0);
        [x, y, 0.05 * (x * 9.0).sin() * (y * 7.0).cos()]
    })
}

#[test]
fn a_million_triangles_go_in_within_ten_times_the_file() {
    let bench = Bench::new();
    let sheet = sheet();
    for (name, bytes) in [
        ("scan.ply", sheet.ply_binary(false)),
        ("scan.glb", sheet.glb()),
        ("scan.obj", sheet.obj().into()),
    ] {
        // Address space, which is more than the memory in use.
        let most_kib = bytes.len() as u64 * 10 / 1024;
        bench.write(name, bytes);
        let run = bench.run_within(most_kib, &[name, "-o", "body.glb", "--json"]);
        assert_eq!(run.status, Some(0), "{name} within {most_kib} KiB: {}", run.err);
        let report: Value = serde_json::from_str(&run.out).expect("a report");
        assert!(f(&report["written"]["triangles"]) > 1e6, "{report}");
        assert_eq!(report["edges"]["open"], 4 * SQUARES);
    }
}
