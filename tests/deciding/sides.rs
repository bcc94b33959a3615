//! Spots side by side: differences, what is beaten, weights and where they turn the order.

use std::sync::OnceLock;

use dryberth::checks::{Boot, HeadlineId, Scorecard, Verdict, evaluate};
use dryberth::compare::{score_with, side_by_side};
use dryberth::format::open_demo;
use dryberth::model::Weights;
use proptest::prelude::*;

fn cards() -> &'static Vec<Scorecard> {
    static CARDS: OnceLock<Vec<Scorecard>> = OnceLock::new();
    CARDS.get_or_init(|| {
        let mut opened = open_demo(Some("wrenfield-drop-top")).expect("the demo");
        opened.layout.limits.water_step_mm = 20.0;
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
        opened.layout.spots.iter().map(|spot| evaluate(&boot, spot)).collect()
    })
}

/// The same cards with headline scores of our own and no failing check.
fn made(scores: &[[f64; 5]]) -> Vec<Scorecard> {
    let card = &cards()[0];
    let one = |(index, scores): (usize, &[f64; 5])| {
        let mut card = card.clone();
        card.name = format!("spot {index}");
        card.verdict = Verdict::Pass;
        for (headline, score) in card.headlines.iter_mut().zip(scores) {
            headline.score = Some(*score);
            headline.verdict = Verdict::Pass;
        }
        card.score = Some(scores.iter().sum::<f64>() / 5.0);
        card
    };
    scores.iter().enumerate().map(one).collect()
}

#[test]
fn differences_are_of_margins_and_nil_to_itself() {
    let own = Weights::default();
    for base in cards() {
        let found = side_by_side(cards(), Some(&base.name), &own, &own).expect("a comparison");
        assert_eq!(found.to, base.name);
        let column =
            found.spots.iter().position(|spot| spot.name == base.name).expect("its column");
        for row in &found.checks {
            for (spot, figure) in found.spots.iter().zip(&row.figures) {
                let card = cards().iter().find(|card| card.name == spot.name).expect("its card");
                let check = card.check(row.id, &row.subject);
                assert_eq!(figure.as_ref().map(|f| f.margin), check.map(|check| check.margin));
                let wanted = figure
                    .as_ref()
                    .and_then(|f| f.margin)
                    .zip(base.check(row.id, &row.subject).and_then(|check| check.margin));
                let difference = figure.as_ref().and_then(|f| f.margin_difference);
                assert_eq!(difference.is_some(), wanted.is_some());
                if let (Some(difference), Some((a, b))) = (difference, wanted) {
                    assert!((difference - (a - b)).abs() < 1e-12);
                }
            }
            if let Some(own) = &row.figures[column] {
                assert!(own.margin_difference.is_none_or(|difference| difference == 0.0));
            }
        }
        // Every check of every card stands in one row.
        let all: usize =
            cards().iter().flat_map(|card| &card.headlines).map(|h| h.checks.len()).sum();
        let shown: usize =
            found.checks.iter().map(|row| row.figures.iter().flatten().count()).sum();
        assert!(shown <= all && shown > all / 2);
    }
}

#[test]
fn the_layouts_weights_give_the_layouts_score_and_order() {
    let own = open_demo(Some("sandlark-cabriolet")).expect("the demo").layout.weights;
    let mut opened = open_demo(Some("sandlark-cabriolet")).expect("the demo");
    opened.layout.limits.water_step_mm = 20.0;
    let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("a boot");
    let mut cards: Vec<Scorecard> =
        opened.layout.spots.iter().take(4).map(|spot| evaluate(&boot, spot)).collect();
    for card in &cards {
        let (a, b) = (score_with(card, &own), card.score);
        assert!(a.zip(b).is_none_or(|(a, b)| (a - b).abs() < 1e-12) && a.is_some() == b.is_some());
    }
    let found = side_by_side(&cards, None, &own, &own).expect("a comparison");
    cards.sort_by(Scorecard::rank);
    let names: Vec<&str> = found.spots.iter().map(|spot| spot.name.as_str()).collect();
    assert_eq!(names, cards.iter().map(|card| card.name.as_str()).collect::<Vec<_>>());
    assert!(found.spots.iter().enumerate().all(|(index, spot)| spot.place_own == index + 1));
}

#[test]
fn weights_turn_the_order_just_where_it_says() {
    // By hand: with equal weights 0 leads by (90 − 70 + 50 − 60) / 5 = 2; water at w makes
    // 20 − 10 w = 0, so they are level at w = 2.
    let cards = made(&[[90.0, 80.0, 70.0, 50.0, 60.0], [70.0, 80.0, 70.0, 60.0, 60.0]]);
    let own = Weights::default();
    let found = side_by_side(&cards, None, &own, &own).expect("a comparison");
    assert_eq!(found.spots[0].name, "spot 0");
    let water =
        found.turns_over.iter().find(|turn| turn.headline == HeadlineId::Water).expect("a turn");
    assert!((water.level_at - 2.0).abs() < 1e-12, "{water:?}");
    assert_eq!((water.ahead.as_str(), water.then.as_str()), ("spot 0", "spot 1"));
    for (water, first) in [(1.99, "spot 0"), (2.01, "spot 1")] {
        let weights = Weights { water, ..own };
        let found = side_by_side(&cards, None, &own, &weights).expect("a comparison");
        assert_eq!(found.spots[0].name, first);
    }
    let changed =
        side_by_side(&cards, None, &own, &Weights { water: 3.0, ..own }).expect("a comparison");
    assert_eq!(changed.spots[0].place_own, 2, "what the layout's own weights say stands beside");
}

#[test]
fn beaten_means_on_everything() {
    let cards = made(&[
        [90.0, 80.0, 70.0, 50.0, 60.0],
        [90.0, 80.0, 70.0, 50.0, 59.0],
        [10.0, 80.0, 70.0, 50.0, 61.0],
        [90.0, 80.0, 70.0, 50.0, 60.0],
    ]);
    let own = Weights::default();
    let found = side_by_side(&cards, None, &own, &own).expect("a comparison");
    let beaten: Vec<&str> = found.beaten.iter().map(|beaten| beaten.spot.as_str()).collect();
    // Equal spots don't beat each other, and the third is best held.
    assert_eq!(beaten, ["spot 1"]);
    let mut unknown = cards.clone();
    unknown[1].headlines[0].score = None;
    let found = side_by_side(&unknown, None, &own, &own).expect("a comparison");
    assert!(found.beaten.is_empty(), "what isn't known isn't beaten");
    assert!(side_by_side(&[], None, &own, &own).is_none());
    assert!(side_by_side(&cards, Some("nowhere"), &own, &own).is_none());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn a_beaten_spot_never_leads_whatever_the_weights(
        scores in proptest::collection::vec(proptest::array::uniform5(0.0..100.0_f64), 2..6),
        weights in proptest::array::uniform5(0.01..9.0_f64),
    ) {
        let cards = made(&scores);
        let [reach, carpet, feed, water, hold] = weights;
        let weights = Weights { reach, carpet, feed, water, hold };
        let found = side_by_side(&cards, None, &Weights::default(), &weights).expect("a comparison");
        let place = |name: &str| found.spots.iter().position(|spot| spot.name == name).expect("a place");
        for beaten in &found.beaten {
            prop_assert!(place(&beaten.by) < place(&beaten.spot));
        }
        for turn in &found.turns_over {
            // Level at the stated weight.
            let mut at = weights;
            match turn.headline {
                HeadlineId::Reach => at.reach = turn.level_at,
                HeadlineId::Carpet => at.carpet = turn.level_at,
                HeadlineId::Feed => at.feed = turn.level_at,
                HeadlineId::Water => at.water = turn.level_at,
                HeadlineId::Hold => at.hold = turn.level_at,
            }
            let score = |name: &str| cards.iter().find(|c| c.name == name).and_then(|c| score_with(c, &at));
            let (a, b) = (score(&turn.ahead).expect("a score"), score(&turn.then).expect("a score"));
            prop_assert!((a - b).abs() < 1e-6, "{a} and {b}");
        }
    }
}
