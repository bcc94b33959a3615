//! Spots side by side, check by check, with differences to a chosen one.

use serde::Serialize;

use super::weights::{TurnsOver, score_with, turns_over};
use crate::checks::{HeadlineId, Holds, Scorecard, Verdict};
use crate::model::Weights;

/// A check's figure for one spot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// The figure; none when something was not measured.
    pub figure: Option<f64>,
    /// How far inside the limit; negative outside.
    pub margin: Option<f64>,
    /// Its score.
    pub score: Option<f64>,
    /// Its verdict.
    pub verdict: Verdict,
    /// The margin less that of the chosen spot: positive is better.
    pub margin_difference: Option<f64>,
    /// The chance that it holds, when it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub holds: Option<Holds>,
}

/// One check over all spots.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckRow {
    /// The headline it belongs to.
    pub headline: HeadlineId,
    /// Which question.
    pub id: &'static str,
    /// What it is about; empty where spots were asked about different things in this place.
    pub subject: String,
    /// Unit of its figures.
    pub unit: &'static str,
    /// One for each spot, in their order; none where the check doesn't arise.
    pub figures: Vec<Option<Figure>>,
}

/// A spot as a column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shown {
    /// Its name.
    pub name: String,
    /// Its verdict.
    pub verdict: Verdict,
    /// Its score under the weights asked for.
    pub score: Option<f64>,
    /// Its score under the layout's own weights.
    pub score_own: Option<f64>,
    /// Its place in the order under the layout's own weights, from 1.
    pub place_own: usize,
    /// Scores of the five headlines in their order.
    pub headlines: Vec<Option<f64>>,
    /// The chance that every check holds, when it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub holds: Option<Holds>,
}

/// A spot that another beats on everything.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Beaten {
    /// The spot that needs no more thought.
    pub spot: String,
    /// The one that is at least as good on every headline and better on one.
    pub by: String,
}

/// Spots side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The spot that differences are taken to.
    pub to: String,
    /// The weights asked for.
    pub weights: Weights,
    /// The spots, best first under those weights.
    pub spots: Vec<Shown>,
    /// The checks, by headline, in the order in which they first arise.
    pub checks: Vec<CheckRow>,
    /// Spots that another beats on everything.
    pub beaten: Vec<Beaten>,
    /// Weights at which the first two spots change places.
    pub turns_over: Vec<TurnsOver>,
}

/// Compares evaluated spots. `to` is the spot that differences are taken to, the best when none;
/// `own` are the layout's weights, `weights` those asked for. None when there is no spot, or none
/// called `to`.
///
/// Order: not failing before failing, then by score, then as given. Cost: the square of the number
/// of spots, and of a spot's checks.
pub fn side_by_side(
    cards: &[Scorecard],
    to: Option<&str>,
    own: &Weights,
    weights: &Weights,
) -> Option<Comparison> {
    let order = |weights: &Weights| {
        let mut order: Vec<&Scorecard> = cards.iter().collect();
        order.sort_by(|a, b| {
            let failing = |card: &Scorecard| card.verdict == Verdict::Fail;
            let score = |card: &Scorecard| score_with(card, weights).unwrap_or(-1.0);
            failing(a).cmp(&failing(b)).then(score(b).total_cmp(&score(a)))
        });
        order
    };
    let ordered = order(weights);
    let own_order = order(own);
    let base = match to {
        Some(name) => ordered.iter().find(|card| card.name == name)?,
        None => ordered.first()?,
    };
    let spots = ordered
        .iter()
        .map(|card| Shown {
            name: card.name.clone(),
            verdict: card.verdict,
            score: score_with(card, weights),
            score_own: score_with(card, own),
            place_own: own_order.iter().position(|other| other.name == card.name).unwrap_or(0) + 1,
            headlines: HeadlineId::ALL
                .iter()
                .map(|id| card.headline(*id).and_then(|headline| headline.score))
                .collect(),
            holds: card.holds,
        })
        .collect();
    let checks = HeadlineId::ALL.iter().flat_map(|id| rows(&ordered, base, *id)).collect();
    let mut beaten = Vec::new();
    for card in &ordered {
        if let Some(better) = ordered.iter().find(|other| beats(other, card)) {
            beaten.push(Beaten { spot: card.name.clone(), by: better.name.clone() });
        }
    }
    let turns_over = match ordered[..] {
        [first, second, ..] => turns_over(first, second, weights),
        _ => Vec::new(),
    };
    Some(Comparison { to: base.name.clone(), weights: *weights, spots, checks, beaten, turns_over })
}

fn rows(cards: &[&Scorecard], base: &Scorecard, id: HeadlineId) -> Vec<CheckRow> {
    let mut rows: Vec<CheckRow> = Vec::new();
    for card in cards {
        for check in card.headline(id).into_iter().flat_map(|headline| &headline.checks) {
            if rows.iter().any(|row| row.id == check.id && row.subject == check.subject) {
                continue;
            }
            let against = base.check(check.id, &check.subject).and_then(|check| check.margin);
            let figure = |card: &&Scorecard| {
                card.check(check.id, &check.subject).map(|found| Figure {
                    figure: found.figure,
                    margin: found.margin,
                    score: found.score,
                    verdict: found.verdict,
                    margin_difference: found.margin.zip(against).map(|(a, b)| a - b + 0.0),
                    holds: found.holds,
                })
            };
            rows.push(CheckRow {
                headline: id,
                id: check.id,
                subject: check.subject.clone(),
                unit: check.unit,
                figures: cards.iter().map(figure).collect(),
            });
        }
    }
    rows
}

/// Whether `a` is at least as good as `b` on every headline and better on one. What isn't known
/// neither beats nor is beaten.
fn beats(a: &Scorecard, b: &Scorecard) -> bool {
    let pairs: Option<Vec<(f64, f64)>> = HeadlineId::ALL
        .iter()
        .map(|id| a.headline(*id)?.score.zip(b.headline(*id)?.score))
        .collect();
    pairs.is_some_and(|pairs| pairs.iter().all(|(a, b)| a >= b) && pairs.iter().any(|(a, b)| a > b))
}
