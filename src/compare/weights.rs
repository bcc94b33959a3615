//! How much each headline counts, and what that does to the order of spots.

use serde::Serialize;

use crate::checks::{HeadlineId, Scorecard, Verdict};
use crate::model::Weights;

/// The weight of a headline.
pub fn weight_of(weights: &Weights, id: HeadlineId) -> f64 {
    match id {
        HeadlineId::Reach => weights.reach,
        HeadlineId::Carpet => weights.carpet,
        HeadlineId::Feed => weights.feed,
        HeadlineId::Water => weights.water,
        HeadlineId::Hold => weights.hold,
    }
}

/// The same weights with some of them replaced, from text such as `water=2, hold=0.5`.
///
/// ```
/// use dryberth::{compare::named_weights, model::Weights};
/// let weights = named_weights(&Weights::default(), "water=2, hold=0.5").unwrap();
/// assert_eq!((weights.water, weights.hold, weights.reach), (2.0, 0.5, 1.0));
/// assert!(named_weights(&weights, "watr=2").unwrap_err().contains("`watr`"));
/// ```
///
/// # Errors
/// In words, when a headline is unknown, a weight is no number from 0 to 1000, or all are zero.
pub fn named_weights(weights: &Weights, text: &str) -> Result<Weights, String> {
    let mut weights = *weights;
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let (name, value) =
            part.split_once('=').ok_or_else(|| format!("`{part}`, not such as `water=2`"))?;
        let (name, value) = (name.trim(), value.trim());
        let number: f64 = value
            .parse()
            .ok()
            .filter(|number| (0.0..=1000.0).contains(number))
            .ok_or_else(|| format!("`{value}` for {name}, not a number from 0 to 1000"))?;
        match name {
            "reach" => weights.reach = number,
            "carpet" => weights.carpet = number,
            "feed" => weights.feed = number,
            "water" => weights.water = number,
            "hold" => weights.hold = number,
            _ => {
                return Err(format!("`{name}`, not one of reach, carpet, feed, water, hold"));
            }
        }
    }
    let sum: f64 = HeadlineId::ALL.iter().map(|id| weight_of(&weights, *id)).sum();
    if sum > 0.0 { Ok(weights) } else { Err("weights that are all zero".to_string()) }
}

/// A spot's score under other weights: the weighted mean of its headlines, 0 when it fails, none while
/// a headline is unknown. With the layout's own weights it equals [`Scorecard::score`].
pub fn score_with(card: &Scorecard, weights: &Weights) -> Option<f64> {
    if card.verdict == Verdict::Fail {
        return Some(0.0);
    }
    let mut sum = 0.0;
    let mut total = 0.0;
    for headline in &card.headlines {
        let weight = weight_of(weights, headline.id);
        sum += weight * headline.score?;
        total += weight;
    }
    (total > 0.0).then(|| sum / total)
}

/// A weight at which two spots change places.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TurnsOver {
    /// The headline whose weight is changed, the others left.
    pub headline: HeadlineId,
    /// Its weight now.
    pub now: f64,
    /// The weight at which the two are level.
    pub level_at: f64,
    /// The spot that is ahead now.
    pub ahead: String,
    /// The spot that is ahead beyond it.
    pub then: String,
}

/// For each headline, the weight at which two spots that don't fail are level, the other weights left;
/// only where there is one from 0 to 1000 and it isn't the present one.
pub fn turns_over(a: &Scorecard, b: &Scorecard, weights: &Weights) -> Vec<TurnsOver> {
    let score = |card: &Scorecard, id| card.headline(id).and_then(|headline| headline.score);
    let usable = |card: &Scorecard| card.verdict != Verdict::Fail && card.score.is_some();
    if !usable(a) || !usable(b) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let lead = |id| score(a, id).zip(score(b, id)).map_or(0.0, |(a, b)| a - b);
    let total: f64 = HeadlineId::ALL.iter().map(|id| weight_of(weights, *id) * lead(*id)).sum();
    for id in HeadlineId::ALL {
        let (now, slope) = (weight_of(weights, id), lead(id));
        if slope.abs() < 1e-9 || total.abs() < 1e-9 {
            continue;
        }
        let level_at = now - total / slope;
        if (0.0..=1000.0).contains(&level_at) && level_at.is_finite() {
            let (ahead, then) = if total > 0.0 { (a, b) } else { (b, a) };
            let (ahead, then) = (ahead.name.clone(), then.name.clone());
            found.push(TurnsOver { headline: id, now, level_at, ahead, then });
        }
    }
    found
}
