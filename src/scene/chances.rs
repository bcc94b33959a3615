//! The chance that each check of each spot holds, worked out beside the frames when it is asked for.

use std::sync::Arc;
use std::time::Instant;

use bevy::prelude::{App, IntoScheduleConfigs, Res, ResMut, Resource, Update};
use bevy::winit::EventLoopProxyWrapper;

use super::beside::{Broken, SHOWN_AFTER, Slot, Work, beside_the_frames};
use super::document::Document;
use super::scores::{Question, ScoreSystems, Scores};
use crate::checks::{Boot, Holds, Scorecard, tolerance_runs_watched};
use crate::model::Spot;

/// The errors of every run are drawn from this seed, as by the command line when none is given.
const SEED: u64 = 1;

/// How often a boot may be measured again, least and most.
pub(crate) const RUNS: (u32, u32) = (2, 10_000);

/// How often it is unless another number is typed. The 95 % interval is then ten in a hundred to either
/// side at most.
const USUAL_RUNS: u32 = 100;

/// The chances of one spot, and what they were worked out from.
#[derive(Debug, Clone)]
struct Found {
    name: String,
    question: Question,
    card: Scorecard,
}

/// The spots that are being worked out, one after the other.
struct Running {
    boot: Arc<Boot>,
    spots: Vec<(Question, Spot)>,
    /// Which of them is.
    at: usize,
    runs: u32,
    slot: Slot<Option<Scorecard>>,
    work: Arc<Work>,
    since: Instant,
}

/// The newest chances of every spot, and what is being worked out.
#[derive(Resource)]
pub struct Chances {
    found: Vec<Found>,
    /// Rises with every spot that lands.
    age: u64,
    running: Option<Running>,
    wanted: bool,
    /// How often the boot is to be measured again.
    pub runs: u32,
}

impl Default for Chances {
    fn default() -> Chances {
        Chances { found: Vec::new(), age: 0, running: None, wanted: false, runs: USUAL_RUNS }
    }
}

impl Chances {
    /// A spot's card with its chances, and whether it belongs to what the document says now; none where
    /// they were never worked out.
    pub fn of(&self, document: &Document, spot: usize) -> Option<(&Scorecard, bool)> {
        let spot = document.spots().get(spot)?;
        let question = Question::of(document.boot_age(), spot);
        let now = self.found.iter().find(|found| found.question == question);
        let known = now.or_else(|| self.found.iter().find(|found| found.name == spot.name))?;
        Some((&known.card, now.is_some() && !document.boot_stale()))
    }

    /// The chance that a check holds for a spot, or all of them where `check` is none, from those that were
    /// worked out last.
    pub(crate) fn holds(
        &self,
        document: &Document,
        spot: usize,
        check: Option<(&str, &str)>,
    ) -> Option<Holds> {
        let (card, _) = self.of(document, spot)?;
        match check {
            Some((id, subject)) => card.check(id, subject)?.holds,
            None => card.holds,
        }
    }

    /// Rises with every spot that lands.
    pub fn age(&self) -> u64 {
        self.age
    }

    /// Whether something is being worked out.
    pub fn running(&self) -> bool {
        self.running.is_some() || self.wanted
    }

    /// How far the work is, 0 to 1, once it has taken a tenth of a second.
    pub fn share(&self) -> Option<f64> {
        let running = self.running.as_ref()?;
        (running.since.elapsed() > SHOWN_AFTER)
            .then(|| (running.at as f64 + running.work.share()) / running.spots.len().max(1) as f64)
    }

    /// Asks for the chances of every spot that has none of what the document says now, or of fewer or more
    /// runs.
    pub fn work_out(&mut self) {
        self.wanted = true;
    }

    /// Gives up; what has landed stays.
    pub fn cancel(&mut self) {
        self.wanted = false;
        if let Some(running) = self.running.take() {
            running.work.stop();
        }
    }

    /// Forgets everything: another document is open.
    pub(crate) fn forget(&mut self) {
        self.cancel();
        self.found.clear();
        self.age += 1;
    }

    fn land(&mut self, question: Question, name: String, card: Scorecard) {
        self.found.retain(|found| found.name != name && found.question != question);
        self.found.push(Found { name, question, card });
        self.age += 1;
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Chances>().add_systems(Update, work_out.after(ScoreSystems));
}

/// The spots whose chances aren't those of what the document says now.
fn lacking(chances: &Chances, document: &Document) -> Vec<(Question, Spot)> {
    let age = document.boot_age();
    document
        .spots()
        .iter()
        .map(|spot| (Question::of(age, spot), spot.clone()))
        .filter(|(question, _)| {
            let known = chances.found.iter().find(|found| found.question == *question);
            // A spot that isn't known to hold has its checks' runs still.
            known.is_none_or(|known| runs_of(&known.card) != Some(chances.runs))
        })
        .collect()
}

fn runs_of(card: &Scorecard) -> Option<u32> {
    card.headlines
        .iter()
        .flat_map(|headline| &headline.checks)
        .find_map(|check| check.holds.map(|holds| holds.runs))
}

fn begin(
    boot: &Arc<Boot>,
    spot: &Spot,
    runs: u32,
    wake: Option<&EventLoopProxyWrapper>,
) -> (Slot<Option<Scorecard>>, Arc<Work>) {
    let work = Arc::new(Work::default());
    let (boot, spot, watched) = (Arc::clone(boot), spot.clone(), Arc::clone(&work));
    let slot = beside_the_frames(wake, move || {
        let go_on = |done: u32| watched.go_on(f64::from(done) / f64::from(runs.max(1)));
        tolerance_runs_watched(&boot, &spot, runs, SEED, &go_on)
    });
    (slot, work)
}

fn work_out(
    document: Res<Document>,
    mut chances: ResMut<Chances>,
    mut scores: ResMut<Scores>,
    wake: Option<Res<EventLoopProxyWrapper>>,
) {
    let answer = chances.running.as_ref().and_then(|running| running.slot.take());
    if let Some(answer) = answer
        && let Some(mut running) = chances.running.take()
    {
        match answer {
            Ok(card) => {
                if let (Some(card), Some((question, spot))) = (card, running.spots.get(running.at))
                {
                    chances.land(question.clone(), spot.name.clone(), card);
                }
                running.at += 1;
                if let Some((_, spot)) = running.spots.get(running.at) {
                    (running.slot, running.work) =
                        begin(&running.boot, spot, running.runs, wake.as_deref());
                    chances.running = Some(running);
                }
            }
            Err(Broken(why)) => scores.tell_panic(why),
        }
    }
    // Never of a boot that is older than what was measured: they would land old.
    if !chances.wanted || chances.running.is_some() || document.boot_stale() {
        return;
    }
    chances.wanted = false;
    let (spots, runs) = (lacking(&chances, &document), chances.runs);
    let Some((_, first)) = spots.first() else { return };
    let boot = Arc::clone(document.boot());
    let (slot, work) = begin(&boot, first, runs, wake.as_deref());
    chances.running = Some(Running { boot, spots, at: 0, runs, slot, work, since: Instant::now() });
}
