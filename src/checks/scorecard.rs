//! The answer: checks, headlines, the scorecard of a spot.

use serde::Serialize;

use super::Details;
use super::feed::TankDrawing;
use super::hold::{Rest, Rock};
use super::water::DripTrack;
use crate::model::{Point, Weights};

/// What a check, a headline or a spot comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Inside the limit with room to spare.
    Pass,
    /// Inside the limit, but by less than the tolerance or half the way to comfort.
    Tight,
    /// Outside the limit.
    Fail,
    /// Something needed was not measured.
    Unknown,
}

impl Verdict {
    /// The verdict as a word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Pass => "pass",
            Verdict::Tight => "tight",
            Verdict::Fail => "fail",
            Verdict::Unknown => "unknown",
        }
    }

    /// The verdict as a shape, told apart without colour.
    pub fn mark(self) -> &'static str {
        match self {
            Verdict::Pass => "●",
            Verdict::Tight => "◐",
            Verdict::Fail => "✖",
            Verdict::Unknown => "?",
        }
    }

    fn gravity(self) -> u8 {
        match self {
            Verdict::Pass => 0,
            Verdict::Tight => 1,
            Verdict::Unknown => 2,
            Verdict::Fail => 3,
        }
    }

    /// The worse of two: fail, then unknown, then tight, then pass.
    #[must_use]
    pub fn worse(self, other: Verdict) -> Verdict {
        if other.gravity() > self.gravity() { other } else { self }
    }
}

/// One of the five groups of checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum HeadlineId {
    /// Do hoses, cable and release cord reach?
    Reach,
    /// Do carpet and tray go back, and is the pump clear of everything?
    Carpet,
    /// Does fluid feed the pump?
    Feed,
    /// Does water stay away from it?
    Water,
    /// Does something hold it?
    Hold,
}

impl HeadlineId {
    /// All five, in their fixed order.
    pub const ALL: [HeadlineId; 5] = [
        HeadlineId::Reach,
        HeadlineId::Carpet,
        HeadlineId::Feed,
        HeadlineId::Water,
        HeadlineId::Hold,
    ];

    /// The headline as the screen and the table name it.
    pub fn title(self) -> &'static str {
        match self {
            HeadlineId::Reach => "Reach",
            HeadlineId::Carpet => "Carpet line",
            HeadlineId::Feed => "Feed",
            HeadlineId::Water => "Water",
            HeadlineId::Hold => "Hold",
        }
    }
}

/// One question about a spot, answered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    /// Which question: `slack`, `clearance`, `head` …
    pub id: &'static str,
    /// What it was asked about: a hose, a body, a case.
    pub subject: String,
    /// The computed figure; none when something needed was not measured.
    pub figure: Option<f64>,
    /// Unit of figure, limit, comfort, tolerance and margin.
    pub unit: &'static str,
    /// The figure at which it begins to fail.
    pub limit: f64,
    /// The figure from which it is comfortable; on the good side of the limit.
    pub comfort: f64,
    /// How far the figure may be off, ±.
    pub tolerance: f64,
    /// How far inside the limit the figure is; negative outside.
    pub margin: Option<f64>,
    /// 0 at the limit or beyond, 100 at comfort or beyond.
    pub score: Option<f64>,
    /// What it comes to.
    pub verdict: Verdict,
    /// Why, in one plain sentence.
    pub why: String,
    /// Where in the boot.
    pub at: Option<[f64; 3]>,
    /// The chance that it holds, when [`tolerance_runs`](super::tolerance_runs) was asked for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub holds: Option<Holds>,
}

/// How often something held when the boot was measured again and again with other errors.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Holds {
    /// The share of runs in which it held, 0 to 1.
    pub chance: f64,
    /// Low end of its 95 % interval.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// How many runs there were.
    pub runs: u32,
}

impl Holds {
    /// The share `held` of `runs` with Wilson's 95 % score interval; none without a run.
    /// Source: Wilson (1927), as given in the NIST/SEMATECH handbook, section 7.2.4.1, from memory.
    ///
    /// ```
    /// // The closed form for none of 10: z² / (10 + z²) = 0.2775.
    /// let holds = dryberth::checks::Holds::of(0, 10).unwrap();
    /// assert!(holds.low.abs() < 1e-12 && (holds.high - 0.277_533).abs() < 1e-6);
    /// ```
    pub fn of(held: u32, runs: u32) -> Option<Holds> {
        // Two-sided 95 % point of the normal distribution.
        const Z: f64 = 1.959_963_984_540_054;
        if runs == 0 || held > runs {
            return None;
        }
        let (count, chance) = (f64::from(runs), f64::from(held) / f64::from(runs));
        let scale = 1.0 + Z * Z / count;
        let centre = (chance + Z * Z / (2.0 * count)) / scale;
        let half =
            Z / scale * (chance * (1.0 - chance) / count + Z * Z / (4.0 * count * count)).sqrt();
        let low = if held == 0 { 0.0 } else { (centre - half).max(0.0) };
        let high = if held == runs { 1.0 } else { (centre + half).min(1.0) };
        Some(Holds { chance, low, high, runs })
    }
}

/// A figure with what it is held to, before it is judged.
#[derive(Debug, Clone)]
pub(crate) struct Reading {
    pub(crate) id: &'static str,
    pub(crate) subject: String,
    pub(crate) unit: &'static str,
    pub(crate) limit: f64,
    pub(crate) comfort: f64,
    pub(crate) tolerance: f64,
}

impl Reading {
    /// Judges a figure. The side of the limit on which comfort lies is the good side.
    pub(crate) fn judge(self, figure: f64, why: String, at: Option<Point>) -> Check {
        if !figure.is_finite() {
            return self.unknown(why, at);
        }
        let figure = figure + 0.0; // no negative zero
        let span = self.comfort - self.limit;
        let good = if span < 0.0 { -1.0 } else { 1.0 };
        let margin = (figure - self.limit) * good + 0.0;
        let score = if margin <= 0.0 {
            if margin == 0.0 && span == 0.0 { 100.0 } else { 0.0 }
        } else if margin >= span.abs() {
            100.0
        } else {
            100.0 * margin / span.abs()
        };
        let verdict = if margin < 0.0 {
            Verdict::Fail
        } else if margin < self.tolerance || margin < span.abs() / 2.0 {
            Verdict::Tight
        } else {
            Verdict::Pass
        };
        Check {
            id: self.id,
            subject: self.subject,
            figure: Some(figure),
            unit: self.unit,
            limit: self.limit,
            comfort: self.comfort,
            tolerance: self.tolerance,
            margin: Some(margin),
            score: Some(score),
            verdict,
            why,
            at: coordinates(at),
            holds: None,
        }
    }

    /// The answer when something needed was not measured; `why` says what.
    pub(crate) fn unknown(self, why: String, at: Option<Point>) -> Check {
        Check {
            id: self.id,
            subject: self.subject,
            figure: None,
            unit: self.unit,
            limit: self.limit,
            comfort: self.comfort,
            tolerance: self.tolerance,
            margin: None,
            score: None,
            verdict: Verdict::Unknown,
            why,
            at: coordinates(at),
            holds: None,
        }
    }
}

fn coordinates(at: Option<Point>) -> Option<[f64; 3]> {
    at.filter(|point| point.iter().all(|value| value.is_finite()))
        .map(|point| [point.x, point.y, point.z])
}

/// One headline: its lowest check counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Headline {
    /// Which of the five.
    pub id: HeadlineId,
    /// Score of its lowest check; none while a check is unknown.
    pub score: Option<f64>,
    /// Its worst check's verdict.
    pub verdict: Verdict,
    /// Its checks, in a fixed order.
    pub checks: Vec<Check>,
}

impl Headline {
    pub(crate) fn of(id: HeadlineId, checks: Vec<Check>) -> Headline {
        let verdict = checks.iter().map(|check| check.verdict).fold(Verdict::Pass, Verdict::worse);
        // A failing check settles the score; otherwise an unknown one leaves it open.
        let score = if verdict == Verdict::Fail {
            Some(0.0)
        } else {
            checks
                .iter()
                .map(|check| check.score)
                .try_fold(100.0_f64, |lowest, score| score.map(|score| lowest.min(score)))
        };
        Headline { id, score, verdict, checks }
    }

    /// The check that decides this headline: the worst verdict, then the lowest score, then the
    /// smallest margin for its comfort.
    pub fn deciding(&self) -> Option<&Check> {
        let ease = |check: &Check| {
            let span = (check.comfort - check.limit).abs();
            check.margin.filter(|_| span > 0.0).map_or(f64::INFINITY, |margin| margin / span)
        };
        self.checks.iter().min_by(|a, b| {
            b.verdict
                .gravity()
                .cmp(&a.verdict.gravity())
                .then(a.score.unwrap_or(0.0).total_cmp(&b.score.unwrap_or(0.0)))
                .then(ease(a).total_cmp(&ease(b)))
        })
    }
}

/// A line as routed, for drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnLine {
    /// The line's name.
    pub name: String,
    /// Points along its centreline from exit to port, mm.
    pub centreline: Vec<Point>,
    /// Half its outside diameter, mm.
    pub radius_mm: f64,
    /// The worst verdict of its checks.
    pub verdict: Verdict,
}

/// A fixing as it runs, for drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnFixing {
    /// The anchor's name.
    pub anchor: String,
    /// At the pump.
    pub from: Point,
    /// At the anchor.
    pub to: Point,
    /// Whether the anchor is in reach.
    pub in_reach: bool,
}

/// The free surface of the fluid on level ground with the rams in, for drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnSurface {
    /// Its corners in order, mm, vehicle frame; the longest loop where the fluid stands in several legs.
    pub outline: Vec<Point>,
    /// The other loops.
    pub more: Vec<Vec<Point>>,
}

/// The worst case of the water, for drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnWater {
    /// Its place in [`Boot::water`](super::Boot::water): slope and drain state.
    pub case: usize,
    /// The live part that is nearest to the water, or deepest under it.
    pub part: String,
    /// Its point.
    pub at: Point,
    /// The water's surface, or the dry floor, right below or above that point along gravity.
    pub surface: Point,
    /// How far the point stands over it, mm; negative under water.
    pub freeboard_mm: f64,
    /// Whether water stands there at all.
    pub wet: bool,
}

/// A piece that would have to be cut out of a trim, for drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnCutOut {
    /// The trim's name.
    pub trim: String,
    /// Its corners in order, mm, vehicle frame, in one flat face; a hole runs the other way.
    pub outline: Vec<Point>,
}

/// What a spot's figures look like in the boot.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drawn {
    /// Lines as routed.
    pub lines: Vec<DrawnLine>,
    /// Fixings as they run.
    pub fixings: Vec<DrawnFixing>,
    /// The fluid's surface.
    pub surface: Option<DrawnSurface>,
    /// Closest pairs, pump point first, with their gap in mm.
    pub gaps: Vec<(Point, Point, f64)>,
    /// The worst case of the water.
    pub water: Option<DrawnWater>,
    /// Sections of the reservoir with the fluid in every case.
    pub tank: Option<TankDrawing>,
    /// Where the pump rests on something, and the way that pushes it.
    pub rests: Vec<Rest>,
    /// How hard it can be shaken each way before it moves; only made when
    /// [`Ask::rock`](super::Ask::rock) asks for it.
    pub rock: Option<Rock>,
    /// Where trims would have to be cut out to go back; only made when
    /// [`Ask::details`](super::Ask::details) asks for it.
    pub cut_outs: Vec<DrawnCutOut>,
    /// The drips that the pump turns aside, each in the place of the one of [`Boot::drips`] with its leak
    /// and slope.
    ///
    /// [`Boot::drips`]: super::Boot::drips
    pub drips: Vec<DripTrack>,
}

/// The answer for one spot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Scorecard {
    /// The spot's name.
    pub name: String,
    /// The worst headline's verdict.
    pub verdict: Verdict,
    /// Weighted mean of the headlines; 0 when a check fails, none while one is unknown.
    pub score: Option<f64>,
    /// The headlines asked for, in their fixed order.
    pub headlines: Vec<Headline>,
    /// The chance that every check holds at once, when it was asked for and every check is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub holds: Option<Holds>,
    /// What a workshop writes down beside the verdicts, when it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub details: Option<Details>,
    /// The same, to be drawn.
    #[serde(skip)]
    pub drawn: Drawn,
}

impl Scorecard {
    /// This card with the headline reach and the lines of another one of the same spot: the newest of the
    /// rest, while routes are still being looked for.
    #[must_use]
    pub fn with_reach_of(&self, other: &Scorecard, weights: &Weights) -> Scorecard {
        let is_reach = |headline: &&Headline| headline.id == HeadlineId::Reach;
        let rest = self.headlines.iter().filter(|headline| !is_reach(headline));
        let mut headlines: Vec<Headline> =
            other.headlines.iter().filter(is_reach).chain(rest).cloned().collect();
        headlines.sort_by_key(|headline| headline.id);
        let drawn = Drawn { lines: other.drawn.lines.clone(), ..self.drawn.clone() };
        let card = Scorecard::of(&self.name, headlines, weights, drawn);
        Scorecard { details: other.details.clone(), ..card }
    }

    pub(crate) fn of(
        name: &str,
        headlines: Vec<Headline>,
        weights: &Weights,
        drawn: Drawn,
    ) -> Scorecard {
        let verdict =
            headlines.iter().map(|headline| headline.verdict).fold(Verdict::Pass, Verdict::worse);
        let score =
            if verdict == Verdict::Fail { Some(0.0) } else { weighted_mean(&headlines, weights) };
        Scorecard {
            name: name.to_string(),
            verdict,
            score,
            headlines,
            holds: None,
            details: None,
            drawn,
        }
    }

    /// The headline `id`, if it was asked for.
    pub fn headline(&self, id: HeadlineId) -> Option<&Headline> {
        self.headlines.iter().find(|headline| headline.id == id)
    }

    /// The first check called `check` about `subject`.
    pub fn check(&self, check: &str, subject: &str) -> Option<&Check> {
        self.headlines
            .iter()
            .flat_map(|headline| &headline.checks)
            .find(|found| found.id == check && found.subject == subject)
    }

    /// Where this spot stands in a list: non-failing first, then by score.
    pub fn rank(&self, other: &Scorecard) -> std::cmp::Ordering {
        let failing = |card: &Scorecard| card.verdict == Verdict::Fail;
        failing(self)
            .cmp(&failing(other))
            .then(other.score.unwrap_or(-1.0).total_cmp(&self.score.unwrap_or(-1.0)))
    }
}

fn weighted_mean(headlines: &[Headline], weights: &Weights) -> Option<f64> {
    let mut sum = 0.0;
    let mut total = 0.0;
    for headline in headlines {
        let weight = match headline.id {
            HeadlineId::Reach => weights.reach,
            HeadlineId::Carpet => weights.carpet,
            HeadlineId::Feed => weights.feed,
            HeadlineId::Water => weights.water,
            HeadlineId::Hold => weights.hold,
        };
        sum += weight * headline.score?;
        total += weight;
    }
    (total > 0.0).then(|| sum / total)
}
