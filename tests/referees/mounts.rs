//! Load factors, against scipy's linear programming (`mounts.py`).

use dryberth::checks::hold::{Holding, LoadCase, load_factor};
use dryberth::model::{Point, Vector};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(untagged)]
enum Given {
    Aligned(String, [f64; 3], [f64; 3], f64),
    Bolt(String, [f64; 3], f64),
}

#[derive(Deserialize)]
struct Data {
    cases: Vec<(Vec<Given>, [f64; 3], f64, [f64; 3], f64)>,
}

impl Given {
    fn holding(&self) -> Holding {
        match self {
            Given::Bolt(kind, at, working_n) => {
                assert_eq!(kind, "bolt");
                Holding::Bolt { at: Point::from(*at), working_n: *working_n }
            }
            Given::Aligned(kind, at, along, value) => {
                let (at, along) = (Point::from(*at), Vector::from(*along).normalize());
                match kind.as_str() {
                    "pull" => Holding::Pull { at, along, working_n: *value },
                    _ => Holding::Push { at, along, friction: *value },
                }
            }
        }
    }
}

#[test]
fn two_hundred_mounts() {
    let data: Data = serde_json::from_str(include_str!("data/mounts.json")).expect("sound data");
    assert_eq!(data.cases.len(), 200);
    let (mut none, mut most) = (0, 0);
    for (index, (given, centre, mass_kg, load_g, expected)) in data.cases.iter().enumerate() {
        let holdings: Vec<Holding> = given.iter().map(Given::holding).collect();
        let case = LoadCase { words: "as given", load_g: *load_g };
        let found = load_factor(&holdings, &Point::from(*centre), *mass_kg, &case)
            .unwrap_or_else(|| panic!("case {index} was not solved"));
        assert!(
            (found - expected).abs() <= 1e-6 * expected.max(1.0),
            "case {index}: {found}, expected {expected}: {holdings:?} {centre:?} {mass_kg} {load_g:?}"
        );
        none += usize::from(*expected < 1e-9);
        most += usize::from(*expected > 49.999);
    }
    assert!(none > 20 && most > 10 && none + most < 150, "{none} at nothing, {most} at the cap");
}
