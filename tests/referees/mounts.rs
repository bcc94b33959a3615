//! How much of a load is held, against scipy's linear programming (`mounts.py`).

use dryberth::checks::hold::{Held, Holding, Load, Mounting};
use dryberth::model::{Point, Vector};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(untagged)]
enum Given {
    Wedge(String, [f64; 3], [f64; 3], f64, f64),
    Aligned(String, [f64; 3], [f64; 3], f64),
    Bolt(String, [f64; 3], f64),
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Answer {
    Factor(f64),
    Word(String),
}

/// Holdings, centre, mass, what is always there in g, what grows in g, moment that grows, answer.
type Case = (Vec<Given>, [f64; 3], f64, [f64; 3], [f64; 3], [f64; 3], Answer);

#[derive(Deserialize)]
struct Data {
    cases: Vec<Case>,
}

impl Given {
    fn holding(&self) -> Holding {
        match self {
            Given::Bolt(kind, at, working_n) => {
                assert_eq!(kind, "bolt");
                Holding::Bolt { at: Point::from(*at), working_n: *working_n }
            }
            Given::Wedge(kind, at, along, friction, working_n) => {
                assert_eq!(kind, "wedge");
                let (at, along) = (Point::from(*at), Vector::from(*along).normalize());
                Holding::Wedge { at, along, friction: *friction, working_n: *working_n }
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

fn data() -> Data {
    serde_json::from_str(include_str!("data/mounts.json")).expect("sound data")
}

#[test]
fn a_thousand_mounts() {
    let data = data();
    assert_eq!(data.cases.len(), 1000);
    let (mut none, mut some, mut unbounded, mut infeasible) = (0, 0, 0, 0);
    for (index, (given, centre, mass_kg, always, load, moment, expected)) in
        data.cases.iter().enumerate()
    {
        let holdings: Vec<Holding> = given.iter().map(Given::holding).collect();
        let always = Load::of_g(*mass_kg, *always);
        let mut growing = Load::of_g(*mass_kg, *load);
        growing.moment_nmm = Vector::from(*moment);
        let mut mounting = Mounting::of(&holdings, &Point::from(*centre), *mass_kg);
        let found = mounting.carries(&always, &growing).expect("solved").held;
        // One more strap never holds less.
        let (turn, lift) = (index as f64 * 2.399_963, (index % 20) as f64 / 10.0 - 0.95);
        let flat = (1.0 - lift * lift).sqrt();
        let along = Vector::new(flat * turn.cos(), flat * turn.sin(), lift);
        let strap = Holding::Pull { at: Point::from(along * 90.0), along, working_n: 120.0 };
        let more: Vec<Holding> = holdings.iter().copied().chain([strap]).collect();
        let mut more = Mounting::of(&more, &Point::from(*centre), *mass_kg);
        let with = more.carries(&always, &growing).expect("solved").held;
        let size = |held: Held| match held {
            Held::Nothing => -1.0,
            Held::Factor(factor) => factor,
            Held::AnyMultiple => 1e12,
        };
        assert!(
            size(with) >= size(found) - 1e-7 * size(found).abs().max(1.0),
            "case {index}: {with:?}"
        );
        // Asked for many loads at once the answer is the same.
        if let Some(each) = mounting.carries_each(&always, &[growing]).expect("solved") {
            match (each[0], found) {
                (Held::Factor(a), Held::Factor(b)) => assert!((a - b).abs() <= 1e-6 * b.max(1.0)),
                (a, b) => assert_eq!(a, b, "case {index}"),
            }
        }
        let alike = match (found, expected) {
            (Held::Factor(found), Answer::Factor(expected)) => {
                none += usize::from(*expected < 1e-9);
                some += usize::from(*expected >= 1e-9);
                (found - expected).abs() <= 1e-6 * expected.max(1.0)
            }
            (Held::AnyMultiple, Answer::Word(word)) => {
                unbounded += 1;
                word == "unbounded"
            }
            (Held::Nothing, Answer::Word(word)) => {
                infeasible += 1;
                word == "infeasible"
            }
            _ => false,
        };
        assert!(alike, "case {index}: {found:?}, expected {expected:?}: {holdings:?}");
    }
    // Every kind of answer is there often enough to mean something.
    assert!(none > 100 && some > 200, "{none} at nothing, {some} between");
    assert!(unbounded > 20 && infeasible > 50, "{unbounded} unbounded, {infeasible} infeasible");
}

#[test]
fn reactions_balance_to_a_millionth_of_a_newton() {
    let mut balanced = 0;
    for (index, (given, centre, mass_kg, always, load, moment, _)) in
        data().cases.iter().enumerate()
    {
        let holdings: Vec<Holding> = given.iter().map(Given::holding).collect();
        // What is always there and what grows, as one load.
        let both = Vector::from(*always) + Vector::from(*load);
        let mut load = Load::of_g(*mass_kg, both.into());
        load.moment_nmm = Vector::from(*moment);
        let centre = Point::from(*centre);
        let mut mounting = Mounting::of(&holdings, &centre, *mass_kg);
        let found = mounting.reactions(&load).expect("solved");
        assert!((0.0..=1.0).contains(&found.factor));
        let held = mounting.carries(&Load::default(), &load).expect("solved").held;
        let expected = match held {
            Held::Factor(factor) => factor.min(1.0),
            Held::AnyMultiple => 1.0,
            Held::Nothing => panic!("case {index}: nothing is always balanced"),
        };
        assert!(
            (found.factor - expected).abs() < 1e-6,
            "case {index}: {} {expected}",
            found.factor
        );
        // Added up here again, in N and N at 100 mm.
        let mut force = load.force_n * found.factor;
        let mut moment = load.moment_nmm * found.factor;
        for (holding, push) in holdings.iter().zip(&found.forces_n) {
            force += push;
            moment += (holding.at() - centre).cross(push);
            if let Some(share) = holding.share(push) {
                assert!(share <= 1.0 + 1e-7, "case {index}: {holding:?} takes {share}");
            }
            if let Holding::Pull { along, .. } = holding {
                assert!(push.dot(along) > -1e-9, "case {index}: a strap pushes");
            }
            if let Holding::Push { along, friction, .. } = holding {
                let normal = push.dot(along);
                let across = (push - along * normal).norm();
                assert!(across <= friction * normal + 1e-6, "case {index}: more than friction");
            }
        }
        let left = force.norm().max(moment.norm() / 100.0);
        assert!(left < 1e-6, "case {index}: {left} N left over, factor {}", found.factor);
        assert!(found.residual_n < 1e-6, "case {index}: {} N", found.residual_n);
        balanced += usize::from(found.factor > 1e-9);
    }
    assert!(balanced > 300, "{balanced}");
}
