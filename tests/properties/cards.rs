//! Scorecards of random spots in the demo boots.

use std::sync::OnceLock;

use dryberth::checks::{Boot, Check, HeadlineId, Scorecard, Verdict, evaluate};
use dryberth::model::{Place, Point, Spot};
use proptest::prelude::*;

use crate::cases;

const VERDICTS: [Verdict; 4] = [Verdict::Pass, Verdict::Tight, Verdict::Fail, Verdict::Unknown];

fn boots() -> &'static [Boot] {
    static BOOTS: OnceLock<Vec<Boot>> = OnceLock::new();
    BOOTS.get_or_init(|| {
        dryberth::format::DEMOS
            .iter()
            .map(|demo| {
                let opened = dryberth::format::open_demo(Some(demo.name)).expect("a demo");
                opened.boot(&Boot::usual_options(&opened.layout)).expect("sound")
            })
            .collect()
    })
}

fn sound_check(check: &Check) {
    let numbers = [
        Some(check.limit),
        Some(check.comfort),
        Some(check.tolerance),
        check.figure,
        check.margin,
        check.score,
    ];
    assert!(numbers.iter().flatten().all(|number| number.is_finite()), "{check:?}");
    assert!(check.at.iter().flatten().all(|number| number.is_finite()), "{check:?}");
    assert!(check.tolerance >= 0.0 && !check.why.is_empty() && !check.id.is_empty(), "{check:?}");
    let Some(figure) = check.figure else {
        assert_eq!(check.verdict, Verdict::Unknown, "{check:?}");
        assert!(check.margin.is_none() && check.score.is_none(), "{check:?}");
        return;
    };
    // Design §4: margin is on the good side; 0 at the limit, 100 at comfort, linear between.
    let good = if check.comfort < check.limit { -1.0 } else { 1.0 };
    let margin = check.margin.expect("a figure has a margin");
    assert!((margin - (figure - check.limit) * good).abs() < 1e-9, "{check:?}");
    let span = (check.comfort - check.limit).abs();
    let score = check.score.expect("a figure has a score");
    let expected = if span > 0.0 {
        (100.0 * margin / span).clamp(0.0, 100.0)
    } else if margin < 0.0 {
        0.0
    } else {
        100.0
    };
    assert!((score - expected).abs() < 1e-9, "{check:?}");
    let verdict = if margin < 0.0 {
        Verdict::Fail
    } else if margin < check.tolerance || margin < span / 2.0 {
        Verdict::Tight
    } else {
        Verdict::Pass
    };
    assert_eq!(check.verdict, verdict, "{check:?}");
}

fn sound(card: &Scorecard) {
    let ids: Vec<HeadlineId> = card.headlines.iter().map(|headline| headline.id).collect();
    assert_eq!(ids, HeadlineId::ALL);
    for headline in &card.headlines {
        assert!(!headline.checks.is_empty(), "{:?} asks nothing", headline.id);
        headline.checks.iter().for_each(sound_check);
        let worst = headline.checks.iter().map(|c| c.verdict).fold(Verdict::Pass, Verdict::worse);
        assert_eq!(headline.verdict, worst);
        assert!(headline.score.is_none_or(|score| (0.0..=100.0).contains(&score)));
        let lowest = headline.checks.iter().filter_map(|check| check.score).fold(100.0, f64::min);
        match headline.verdict {
            Verdict::Fail => assert_eq!(headline.score, Some(0.0)),
            Verdict::Unknown => assert_eq!(headline.score, None),
            _ => assert!(headline.score.is_some_and(|score| (score - lowest).abs() < 1e-9)),
        }
        assert!(headline.deciding().is_some_and(|check| check.verdict == worst));
    }
    let worst = card.headlines.iter().map(|h| h.verdict).fold(Verdict::Pass, Verdict::worse);
    assert_eq!(card.verdict, worst);
    assert!(card.score.is_none_or(|score| (0.0..=100.0).contains(&score)));
    if card.verdict == Verdict::Fail {
        assert_eq!(card.score, Some(0.0));
    }
    for line in &card.drawn.lines {
        // A route is never shorter than the straight between its ends, and the slack says so too.
        let (first, last) = (line.centreline[0], line.centreline[line.centreline.len() - 1]);
        let drawn: f64 = line.centreline.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
        assert!(drawn >= (last - first).norm() - 1e-6);
    }
}

#[test]
fn every_demo_spot_has_a_sound_card() {
    for boot in boots() {
        for spot in &boot.layout().spots {
            sound(&evaluate(boot, spot));
        }
    }
}

proptest! {
    #![proptest_config(cases(12))]

    #[test]
    fn a_random_spot_has_a_sound_card_and_the_same_one_twice(
        which in 0..2_usize, near in 0..4_usize, by in [-250.0..250.0_f64, -250.0..250.0_f64, -100.0..200.0_f64],
        turn_deg in (-180.0..180.0_f64, -90.0..90.0_f64, -180.0..180.0_f64), upright in any::<bool>(),
    ) {
        let boot = &boots()[which];
        let spots = &boot.layout().spots;
        let mut spot = spots[near % spots.len()].clone();
        let turn_deg = if upright { (0.0, 0.0, turn_deg.2) } else { turn_deg };
        spot.place = Place { at: spot.place.at + Point::from(by).coords, turn_deg };
        let card = evaluate(boot, &spot);
        sound(&card);
        let again = evaluate(boot, &spot);
        prop_assert_eq!(serde_json::to_string(&card).expect("json"), serde_json::to_string(&again).expect("json"));
        prop_assert_eq!(&card.drawn, &again.drawn);
        for line in boot.lines() {
            let slack = card.check("slack", &line.name).and_then(|check| check.figure);
            if let (Some(slack), Some(port)) = (slack, boot.pump().ports.iter().find(|port| port.name == line.to)) {
                let chord = (spot.place.pose() * port.at - line.from.at).norm();
                prop_assert!(line.free_mm - slack >= chord - 1e-6, "{} needs less than its chord", line.name);
            }
        }
    }
}

#[test]
fn a_boot_made_ready_twice_answers_the_same_bytes() {
    let opened = dryberth::format::open_demo(None).expect("the demo");
    let again = opened.boot(&Boot::usual_options(&opened.layout)).expect("sound");
    let spot: &Spot = &opened.layout.spots[0];
    let json = |boot: &Boot| serde_json::to_string(&evaluate(boot, spot)).expect("json");
    assert_eq!(json(&boots()[0]), json(&again));
}

#[test]
fn worse_is_a_lattice() {
    for a in VERDICTS {
        assert_eq!(a.worse(a), a);
        assert_eq!(Verdict::Pass.worse(a), a);
        assert_eq!(Verdict::Fail.worse(a), Verdict::Fail);
        for b in VERDICTS {
            assert_eq!(a.worse(b), b.worse(a));
            assert!(a.worse(b) == a || a.worse(b) == b);
            for c in VERDICTS {
                assert_eq!(a.worse(b).worse(c), a.worse(b.worse(c)));
            }
        }
    }
    assert_eq!(Verdict::Tight.worse(Verdict::Unknown), Verdict::Unknown);
}
