//! Figures worked out beside the frames: one question at a time, the current spot first.

use std::sync::Arc;
use std::time::{Duration, Instant};

use bevy::prelude::{App, IntoScheduleConfigs, Res, ResMut, Resource, SystemSet, Update};
use bevy::winit::EventLoopProxyWrapper;

use super::beside::{Broken, SHOWN_AFTER, Slot, Work, beside_the_frames};
use super::document::Document;
use crate::checks::{Ask, Boot, HeadlineId, PrepareError, Scorecard, evaluate_some};
use crate::model::{Fixing, Place, Spot, Weights};

/// When scores are asked for and collected, once a frame.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct ScoreSystems;

/// Everything that a spot's figures follow from.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Question {
    boot_age: u64,
    place: Place,
    fixings: Vec<Fixing>,
}

impl Question {
    pub(crate) fn of(boot_age: u64, spot: &Spot) -> Question {
        Question { boot_age, place: spot.place, fixings: spot.fixings.clone() }
    }
}

/// A question with its number: those asked later have higher ones.
#[derive(Debug, Clone, PartialEq)]
struct Numbered {
    number: u64,
    question: Question,
}

/// A boot that is being made ready, with the age of its layout.
struct Preparing {
    slot: Slot<(u64, Result<Boot, PrepareError>)>,
    work: Arc<Work>,
    /// The options that it is made ready with.
    fitted: Vec<String>,
    since: Instant,
}

/// The longest that a frame waits for the figures of a move made in it: with 46 bodies they take about 4 ms
/// on one core, and some of that is gone when the panels are drawn. See `frames` under tests/bench.
const LATE: Duration = Duration::from_millis(4);

/// A scorecard, and where the pump stood when it was worked out.
pub struct Landed {
    /// The figures.
    pub card: Scorecard,
    /// Where the pump stood.
    pub place: Place,
    /// Rises with every scorecard that lands.
    pub age: u64,
    question: Question,
    /// Where all but reach is of a later place: that one.
    ahead: Option<Numbered>,
    extras: Extras,
}

impl Landed {
    fn is_ahead(&self, of: &Question) -> bool {
        self.ahead.as_ref().is_some_and(|ahead| ahead.question == *of)
    }
}

/// What is worked out beside the verdicts only when it is shown.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Extras {
    /// What a workshop writes down.
    pub(crate) details: bool,
    /// How hard it can be shaken.
    pub(crate) rock: bool,
}

impl Extras {
    /// Whether something of this is not in `had`.
    fn lacking(self, had: Extras) -> bool {
        (self.details && !had.details) || (self.rock && !had.rock)
    }

    fn ask(self) -> Ask {
        Ask { details: self.details, rock: self.rock, ..Ask::default() }
    }
}

/// The newest figures of every spot, and what is being worked out.
#[derive(Resource, Default)]
pub struct Scores {
    landed: Vec<Option<Landed>>,
    /// What could not be worked out for each spot; not asked again as long as it is the same.
    broken: Vec<Option<Question>>,
    ages: u64,
    numbers: u64,
    asked: Option<(usize, Numbered, Extras, Slot<Scorecard>)>,
    /// The current spot's figures but for reach, which takes longest.
    asked_ahead: Option<(usize, Numbered, Slot<Scorecard>)>,
    preparing: Option<Preparing>,
    wanted_options: Option<Vec<String>>,
    /// The layout, by its age, whose boot was not to be made ready.
    cancelled: Option<u64>,
    refused: Option<String>,
    panicked: Option<String>,
    /// What is wanted of the current spot beside its verdicts.
    pub(crate) extras: Extras,
}

impl Scores {
    /// The newest figures of a spot, be they older than its last move or not.
    pub fn of(&self, spot: usize) -> Option<&Landed> {
        self.landed.get(spot)?.as_ref()
    }

    /// Whether a spot's figures belong to what the document says now.
    pub fn fresh(&self, document: &Document, spot: usize) -> bool {
        !document.boot_stale() && self.of_this_boot(document, spot)
    }

    /// Whether a headline's figures belong to what the document says now; while routes are looked for, the
    /// others may be ahead of reach.
    pub fn headline_fresh(&self, document: &Document, spot: usize, id: HeadlineId) -> bool {
        let ahead = || {
            let (Some(landed), Some(now)) = (self.of(spot), document.spots().get(spot)) else {
                return false;
            };
            !document.boot_stale() && landed.is_ahead(&Question::of(document.boot_age(), now))
        };
        self.fresh(document, spot) || (id != HeadlineId::Reach && ahead())
    }

    /// Whether a spot's figures belong to where it is now in the boot as it was last made ready.
    fn of_this_boot(&self, document: &Document, spot: usize) -> bool {
        let (Some(landed), Some(now)) = (self.of(spot), document.spots().get(spot)) else {
            return false;
        };
        landed.question == Question::of(document.boot_age(), now)
    }

    /// Whether the figures that belong to what the document says now could not be worked out.
    pub fn broken(&self, document: &Document, spot: usize) -> bool {
        let (Some(Some(broken)), Some(now)) = (self.broken.get(spot), document.spots().get(spot))
        else {
            return false;
        };
        *broken == Question::of(document.boot_age(), now)
    }

    /// Whether nothing more is to be worked out for a spot.
    fn answered(&self, document: &Document, spot: usize) -> bool {
        self.of_this_boot(document, spot) || self.broken(document, spot)
    }

    /// Whether every spot's figures are up to date and nothing is being worked out.
    pub fn settled(&self, document: &Document) -> bool {
        self.asked.is_none()
            && !self.preparing_boot()
            && !document.boot_stale()
            && (0..document.spots().len()).all(|spot| self.answered(document, spot))
    }

    /// Whether the boot is being made ready with other options.
    pub fn preparing_boot(&self) -> bool {
        self.preparing.is_some() || self.wanted_options.is_some()
    }

    /// How far the making ready of the boot is, 0 to 1, once it has taken a tenth of a second.
    pub fn preparing_share(&self) -> Option<f64> {
        let preparing = self.preparing.as_ref()?;
        (preparing.since.elapsed() > SHOWN_AFTER).then(|| preparing.work.share())
    }

    /// Gives up making the boot ready: the one that there was stays until the layout changes again, or
    /// [`prepare_after_all`](Self::prepare_after_all).
    pub fn cancel_preparing(&mut self, document: &Document) {
        if let Some(preparing) = self.preparing.take() {
            preparing.work.stop();
        }
        self.wanted_options = None;
        self.cancelled = document.boot_stale().then(|| document.layout_age());
    }

    /// Whether the boot is older than what was measured because making it ready was cancelled.
    pub fn cancelled(&self, document: &Document) -> bool {
        document.boot_stale() && self.cancelled == Some(document.layout_age())
    }

    /// Makes the boot ready that was cancelled.
    pub fn prepare_after_all(&mut self) {
        self.cancelled = None;
    }

    /// Asks for the boot to be made ready with these options.
    pub fn fit_options(&mut self, options: Vec<String>) {
        self.cancelled = None;
        self.wanted_options = Some(options);
    }

    /// The options that are fitted, or will be when the boot is next ready.
    pub(crate) fn fitted(&self, document: &Document) -> Vec<String> {
        let next = self.preparing.as_ref().map(|preparing| preparing.fitted.clone());
        let next = self.wanted_options.clone().or(next);
        next.unwrap_or_else(|| document.boot().fitted().to_vec())
    }

    /// Why the boot could not be made ready, once.
    pub fn take_refusal(&mut self) -> Option<String> {
        self.refused.take()
    }

    /// What a panic beside the frames said, once. It is a bug, and the user is to know.
    pub fn take_panic(&mut self) -> Option<String> {
        self.panicked.take()
    }

    fn numbered(&mut self, question: Question) -> Numbered {
        self.numbers += 1;
        Numbered { number: self.numbers, question }
    }

    /// Takes in a whole scorecard. What was asked later in the same boot stays ahead of it.
    fn land(
        &mut self,
        spot: usize,
        asked: Numbered,
        extras: Extras,
        card: Scorecard,
        weights: &Weights,
    ) {
        self.ages += 1;
        let age = self.ages;
        let Some(before) = self.landed.get_mut(spot) else { return };
        let Numbered { number, question } = asked;
        let newer = before.take().filter(|before| {
            before.ahead.as_ref().is_some_and(|ahead| {
                ahead.number > number
                    && ahead.question.boot_age == question.boot_age
                    && ahead.question != question
            })
        });
        *before = Some(match newer {
            Some(newer) => {
                let card = newer.card.with_reach_of(&card, weights);
                Landed { card, age, question, extras, ..newer }
            }
            None => {
                let place = question.place;
                Landed { card, place, age, question, ahead: None, extras }
            }
        });
    }

    /// Takes in all but reach, unless the whole is there already or belongs to another boot.
    fn land_ahead(&mut self, spot: usize, asked: Numbered, card: &Scorecard, weights: &Weights) {
        let Some(Some(landed)) = self.landed.get_mut(spot) else { return };
        let Question { boot_age, place, .. } = &asked.question;
        if landed.question.boot_age != *boot_age || landed.question == asked.question {
            return;
        }
        self.ages += 1;
        landed.card = card.with_reach_of(&landed.card, weights);
        landed.place = *place;
        landed.age = self.ages;
        landed.ahead = Some(asked);
    }

    /// Takes in all but reach of the current spot where it was moved in this frame, waiting a little for it,
    /// so that the figures drawn in a frame are of where the pump is drawn.
    pub(crate) fn catch_up(&mut self, weights: &Weights) {
        let Some((_, _, slot)) = &self.asked_ahead else { return };
        if let Some(answer) = slot.take_within(LATE) {
            self.answered_ahead(answer, weights);
        }
    }

    fn answered_ahead(&mut self, answer: Result<Scorecard, Broken>, weights: &Weights) {
        let Some((spot, numbered, _)) = self.asked_ahead.take() else { return };
        // What broke off will break off again when everything is asked, and is told then.
        if let Ok(card) = answer {
            self.land_ahead(spot, numbered, &card, weights);
        }
    }

    /// Notes what a panic beside the frames said.
    pub(crate) fn tell_panic(&mut self, why: String) {
        self.panicked = Some(why);
    }

    /// Forgets everything: another document is open.
    pub(crate) fn forget(&mut self) {
        let extras = self.extras;
        *self = Scores { ages: self.ages + 1, extras, ..Scores::default() };
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Scores>()
        .add_systems(Update, (prepare_boot, work_out).chain().in_set(ScoreSystems));
}

fn prepare_boot(
    mut document: ResMut<Document>,
    mut scores: ResMut<Scores>,
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    if let Some(done) = scores.preparing.as_ref().and_then(|preparing| preparing.slot.take()) {
        scores.preparing = None;
        match done {
            Ok((age, Ok(boot))) => document.set_boot(boot, age),
            Ok((age, Err(error))) => {
                scores.refused = Some(error.to_string());
                document.no_boot(age);
            }
            Err(Broken(why)) => {
                scores.refused = Some("The boot could not be made ready".into());
                scores.panicked = Some(why);
                let age = document.layout_age();
                document.no_boot(age);
            }
        }
    }
    let stale = document.boot_stale() && !scores.cancelled(&document);
    if scores.preparing.is_none() && (scores.wanted_options.is_some() || stale) {
        let wanted = scores.wanted_options.take();
        let fitted = wanted.unwrap_or_else(|| document.boot().fitted().to_vec());
        let work = Arc::new(Work::default());
        let prepare = document.preparation(&fitted, Arc::clone(&work));
        let slot = beside_the_frames(wake.as_deref(), prepare);
        scores.preparing = Some(Preparing { slot, work, fitted, since: Instant::now() });
    }
}

fn work_out(
    document: Res<Document>,
    mut scores: ResMut<Scores>,
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    let scores = &mut *scores;
    scores.landed.resize_with(document.spots().len(), || None);
    scores.broken.resize(document.spots().len(), None);
    if let Some((spot, numbered, extras, slot)) = &scores.asked
        && let Some(answer) = slot.take()
    {
        match answer {
            Ok(card) => {
                let (spot, numbered, extras) = (*spot, numbered.clone(), *extras);
                scores.land(spot, numbered, extras, card, &document.boot().layout().weights);
            }
            Err(Broken(why)) => {
                if let Some(place) = scores.broken.get_mut(*spot) {
                    *place = Some(numbered.question.clone());
                }
                scores.panicked = Some(why);
            }
        }
        scores.asked = None;
    }
    look_ahead(&document, scores, wake.as_deref());
    if scores.asked.is_some() {
        return;
    }
    let current = document.current();
    let lacks = scores.of_this_boot(&document, current)
        && scores.of(current).is_some_and(|landed| scores.extras.lacking(landed.extras));
    let next = std::iter::once(current)
        .chain(0..document.spots().len())
        .find(|&spot| !scores.answered(&document, spot))
        .or(lacks.then_some(current));
    let Some((index, spot)) = next.and_then(|index| Some((index, document.spots().get(index)?)))
    else {
        return;
    };
    let question = Question::of(document.boot_age(), spot);
    let (boot, spot) = (Arc::clone(document.boot()), spot.clone());
    // First the verdicts, then what is shown beside them: a drag doesn't wait for it.
    let extras = if lacks && index == current { scores.extras } else { Extras::default() };
    let ask = extras.ask();
    let slot = beside_the_frames(wake.as_deref(), move || evaluate_some(&boot, &spot, &ask));
    let asked = scores.numbered(question);
    scores.asked = Some((index, asked, extras, slot));
}

/// All but the routes of the current spot where it was moved: those take longest, and nothing else waits for
/// them. Lines push trim as they were routed last.
fn look_ahead(document: &Document, scores: &mut Scores, wake: Option<&EventLoopProxyWrapper>) {
    if let Some(answer) = scores.asked_ahead.as_ref().and_then(|(_, _, slot)| slot.take()) {
        scores.answered_ahead(answer, &document.boot().layout().weights);
    }
    let current = document.current();
    let (Some(spot), Some(landed)) = (document.spots().get(current), scores.of(current)) else {
        return;
    };
    let question = Question::of(document.boot_age(), spot);
    let known = landed.question == question || landed.is_ahead(&question);
    let other_boot = landed.question.boot_age != question.boot_age;
    if scores.asked_ahead.is_some() || known || other_boot || scores.broken(document, current) {
        return;
    }
    let ask = Ask {
        headlines: HeadlineId::ALL.into_iter().filter(|id| *id != HeadlineId::Reach).collect(),
        lines: landed.card.drawn.lines.clone(),
        rough_depths: true,
        ..Ask::default()
    };
    let (boot, spot) = (Arc::clone(document.boot()), spot.clone());
    let slot = beside_the_frames(wake, move || evaluate_some(&boot, &spot, &ask));
    let asked = scores.numbered(question);
    scores.asked_ahead = Some((current, asked, slot));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::evaluate;
    use crate::format::open_demo;

    /// Cards of a demo spot at two heights, and the weights of its layout.
    fn cards() -> (Spot, Spot, [Scorecard; 2], Weights) {
        let opened = open_demo(None).unwrap();
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).unwrap();
        let low = opened.layout.spots[0].clone();
        let mut high = low.clone();
        high.place.at.z += 30.0;
        let cards = [evaluate(&boot, &low), evaluate(&boot, &high)];
        (low, high, cards, opened.layout.weights)
    }

    #[test]
    fn what_was_asked_of_another_boot_is_not_ahead() {
        let (low, high, [before, after], weights) = cards();
        let mut scores = Scores { landed: vec![None], ..Scores::default() };
        let first = scores.numbered(Question::of(1, &low));
        scores.land(0, first, Extras::default(), before.clone(), &weights);
        let ahead = scores.numbered(Question::of(1, &high));
        scores.land_ahead(0, ahead, &after, &weights);
        assert!(scores.landed[0].as_ref().unwrap().is_ahead(&Question::of(1, &high)));
        // The boot changes: its whole scorecard counts, though the other was of a later move.
        let other = scores.numbered(Question::of(2, &low));
        scores.land(0, other, Extras::default(), before.clone(), &weights);
        let landed = scores.landed[0].as_ref().unwrap();
        assert_eq!(landed.card.headlines, before.headlines);
        assert!(landed.ahead.is_none() && landed.place == low.place);
    }

    #[test]
    fn only_what_was_asked_later_is_ahead() {
        let (low, high, [before, after], weights) = cards();
        let mut scores = Scores { landed: vec![None], ..Scores::default() };
        let first = scores.numbered(Question::of(1, &low));
        scores.land(0, first, Extras::default(), before.clone(), &weights);
        let mut middle = low.clone();
        middle.place.at.z += 10.0;
        let ahead = scores.numbered(Question::of(1, &middle));
        scores.land_ahead(0, ahead, &before, &weights);
        // Asked after that, so nothing is ahead of it.
        let whole = scores.numbered(Question::of(1, &high));
        scores.land(0, whole.clone(), Extras::default(), after.clone(), &weights);
        assert_eq!(scores.landed[0].as_ref().unwrap().card.headlines, after.headlines);
        // The same without reach changes nothing when it comes late.
        let late = Numbered { number: whole.number + 1, ..whole };
        scores.land_ahead(0, late, &before, &weights);
        let landed = scores.landed[0].as_ref().unwrap();
        assert!(landed.ahead.is_none() && landed.card.headlines == after.headlines);
        // A whole one that was asked before what is ahead gives its reach only.
        let whole = scores.numbered(Question::of(1, &low));
        let ahead = scores.numbered(Question::of(1, &middle));
        scores.land_ahead(0, ahead, &after, &weights);
        scores.land(0, whole, Extras::default(), before, &weights);
        let landed = scores.landed[0].as_ref().unwrap();
        assert!(landed.is_ahead(&Question::of(1, &middle)) && landed.place == middle.place);
    }
}
