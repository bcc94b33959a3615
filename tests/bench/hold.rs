//! How long do all load cases of a spot take, and the surface of accelerations that move it?
//!
//! Beside them the same programs on random mounts by scipy's linprog (HiGHS), when the environment
//! variable DRYBERTH_REFEREE names a Python that has scipy; otherwise its row says skipped.

#![allow(missing_docs, clippy::print_stdout, reason = "a bench prints its table")]

mod stopwatch;

use std::process::Command;
use std::time::Duration;

use dryberth::checks::hold::{CASES, Held, Holding, Load, Mounting, rock};
use dryberth::checks::{Ask, Boot, HeadlineId, evaluate_some};
use dryberth::format::open_demo;
use dryberth::model::{Point, Vector};
use stopwatch::{print, timed};

const BUDGET: Duration = Duration::from_millis(1_500);

#[derive(serde::Deserialize)]
#[serde(untagged)]
#[allow(dead_code, reason = "the kind stands in the data")]
enum Given {
    Wedge(String, [f64; 3], [f64; 3], f64, f64),
    Aligned(String, [f64; 3], [f64; 3], f64),
    Bolt(String, [f64; 3], f64),
}

type Case = (Vec<Given>, [f64; 3], f64, [f64; 3], [f64; 3], [f64; 3], serde_json::Value);

#[derive(serde::Deserialize)]
struct Data {
    cases: Vec<Case>,
}

fn holding(given: &Given) -> Holding {
    let unit = |along: &[f64; 3]| Vector::from(*along).normalize();
    match given {
        Given::Wedge(_, at, along, friction, working_n) => Holding::Wedge {
            at: Point::from(*at),
            along: unit(along),
            friction: *friction,
            working_n: *working_n,
        },
        Given::Aligned(kind, at, along, value) if kind == "pull" => {
            Holding::Pull { at: Point::from(*at), along: unit(along), working_n: *value }
        }
        Given::Aligned(_, at, along, value) => {
            Holding::Push { at: Point::from(*at), along: unit(along), friction: *value }
        }
        Given::Bolt(_, at, working_n) => {
            Holding::Bolt { at: Point::from(*at), working_n: *working_n }
        }
    }
}

fn main() {
    spots();
    mounts();
}

fn spots() {
    let opened = open_demo(None).expect("the demo");
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
    let hold = Ask { headlines: vec![HeadlineId::Hold], ..Ask::default() };
    let rocked = Ask { rock: true, ..hold.clone() };
    let detailed = Ask { details: true, ..hold.clone() };
    for spot in &opened.layout.spots {
        let rows = [
            timed("hold: anchors, contacts, 12 load cases, shake", BUDGET / 4, || {
                evaluate_some(&boot, spot, &hold)
            }),
            timed("hold with the surface of accelerations", BUDGET / 4, || {
                evaluate_some(&boot, spot, &rocked)
            }),
            timed("hold with all details", BUDGET / 4, || evaluate_some(&boot, spot, &detailed)),
        ];
        print(&spot.name, &rows);
    }
}

fn mounts() {
    let data: Data =
        serde_json::from_str(include_str!("../referees/data/mounts.json")).expect("sound data");
    let mounts: Vec<(Vec<Holding>, Point, f64)> = data
        .cases
        .iter()
        .take(50)
        .map(|case| (case.0.iter().map(holding).collect(), Point::from(case.1), case.2))
        .collect();
    let mut at = 0;
    let mut next = || {
        at = (at + 1) % mounts.len();
        &mounts[at]
    };
    let rows = [timed("six load cases of a random mount", BUDGET, || {
        let (holdings, centre, mass_kg) = next();
        let mut mounting = Mounting::of(holdings, centre, *mass_kg);
        for case in &CASES {
            let load = Load::of_g(*mass_kg, case.load_g);
            mounting.carries(&Load::default(), &load).expect("solved");
        }
    })];
    print("50 random mounts", &rows);
    // Only what hangs can be rocked: 1 g at least.
    let hangs = |mount: &&(Vec<Holding>, Point, f64)| {
        let mut mounting = Mounting::of(&mount.0, &mount.1, mount.2);
        let weight = Load::of_g(mount.2, [0.0, 0.0, -1.0]);
        let carried = mounting.carries(&Load::default(), &weight).expect("solved");
        matches!(carried.held, Held::Factor(factor) if factor >= 1.0)
    };
    let mounts: Vec<_> = mounts.iter().filter(hangs).take(5).collect();
    let mut at = 0;
    let mut next = || {
        at = (at + 1) % mounts.len();
        mounts[at]
    };
    let rows = [timed("rock of a random mount, 266 directions", BUDGET, || {
        let (holdings, centre, mass_kg) = next();
        rock(&mut Mounting::of(holdings, centre, *mass_kg), *mass_kg).expect("solved")
    })];
    print("5 random mounts", &rows);
    // The Python is named by whoever runs the bench: none is looked for.
    let Some(python) = std::env::var_os("DRYBERTH_REFEREE") else {
        println!("scipy: skipped, DRYBERTH_REFEREE names no Python that has it");
        return;
    };
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/referees/mounts.py");
    match Command::new(python).args([script, "time"]).output() {
        Ok(out) => println!(
            "scipy's linprog, the same kind of mounts: {}{}",
            String::from_utf8_lossy(&out.stdout),
            String::from_utf8_lossy(&out.stderr)
        ),
        Err(error) => println!("scipy: skipped, {error}"),
    }
}
