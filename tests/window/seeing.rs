//! What the picture can show and the panels can answer: loads, cuts, swept room, water on any slope, the
//! reservoir, spots side by side, their chances, work that is given up.

use std::sync::{Arc, Mutex};

use bevy::ecs::world::World;
use bevy::input::keyboard::{Key, KeyCode};
use bevy_egui::egui::{Pos2, Rect};
use dryberth::checks::{HeadlineId, tolerance_runs};
use dryberth::model::{Layout, Leak, Point};
use dryberth::scene::{Chances, Document, Orbit, Scores, View};

use crate::drive::*;

/// The upper part of the window that lies over everything.
fn upper(world: &mut World) -> Rect {
    let rect = world.resource::<Orbit>().rect;
    Rect::from_min_max(Pos2::new(30.0, 60.0), Pos2::new(rect.right(), 170.0))
}

fn details_landed(world: &mut World) -> bool {
    let document = world.resource::<Document>();
    let landed = world.resource::<Scores>().of(document.current());
    settled_now(world) && landed.is_some_and(|landed| landed.card.details.is_some())
}

fn settled_now(world: &World) -> bool {
    world.resource::<Scores>().settled(world.resource::<Document>())
}

/// Turns to the spot that would have something cut out of a trim, and shows it.
fn cut_outs(script: &mut Script) {
    script.click("Where to cut trim");
    let mut spot = 0;
    script.step("a spot that needs a cut", move |world| {
        if !details_landed(world) {
            return Progress::Wait;
        }
        let document = world.resource::<Document>();
        let landed = world.resource::<Scores>().of(document.current()).unwrap();
        if !landed.card.drawn.cut_outs.is_empty() {
            return Progress::Done;
        }
        spot += 1;
        assert!(spot < document.spots().len(), "no spot needs a cut");
        world.resource_mut::<Document>().turn_to(spot);
        Progress::Wait
    });
    script.click("Pump");
    script.pause(25);
    script.picture("cut-outs");
    // With the lid as solid as it is, the map on it is seen.
    script.click("Clear view of the pump");
    script.pause(6);
    script.picture("lift-map");
    script.click("Clear view of the pump");
    script.click("All");
    script.click("Where to cut trim");
}

fn loads(script: &mut Script) {
    script.click("Loads on fixings");
    script.until("what the fixings take is worked out", details_landed);
    script.act("the forces balance the load", |world| {
        let document = world.resource::<Document>();
        let landed = world.resource::<Scores>().of(document.current()).unwrap();
        let hold = &landed.card.details.as_ref().unwrap().hold;
        assert!(hold.cases.iter().any(|case| !case.reactions.is_empty()));
        // Each arrow begins on the pump: within its bounds as it stands.
        let pump = document.boot().pump_at(&document.spot().place);
        let bounds = pump.iter().map(|s| *s.bounds()).reduce(|a, b| a.with(&b)).unwrap();
        let around = bounds.grown(30.0);
        let inside = |at: &Point| (0..3).all(|i| (around.low[i]..=around.high[i]).contains(&at[i]));
        for reaction in hold.cases.iter().flat_map(|case| &case.reactions) {
            assert!(inside(&reaction.at), "{}: {}", reaction.what, reaction.at);
        }
    });
    script.picture("loads");
    script.click("Loads on fixings");
    script.click("Rests");
    script.click("Shaken until it moves");
    script.until("the surface is worked out", |world| {
        let document = world.resource::<Document>();
        let landed = world.resource::<Scores>().of(document.current()).unwrap();
        settled_now(world) && landed.card.drawn.rock.is_some()
    });
    script.picture("rock");
    script.click("Shaken until it moves");
    script.click("Rests");
}

fn water(script: &mut Script) {
    script.click("Another slope");
    script.until("a slope of its own", |world| world.resource::<View>().slope.is_some());
    script.act("nose up and leaning", |world| {
        world.resource_mut::<View>().slope = Some((14.0, -6.0));
    });
    script.pause(20);
    script.picture("own-slope");
    script.click("Worst case");
    script.until("the worst case is shown", |world| {
        let document = world.resource::<Document>();
        let landed = world.resource::<Scores>().of(document.current()).unwrap();
        let worst = landed.card.drawn.water.as_ref().unwrap();
        let view = world.resource::<View>();
        view.slope.is_none() && view.water_case == worst.case && view.marker.is_some()
    });
    script.pause(20);
    script.picture("worst-water");
    script.click("Reservoir");
    script.until("the reservoir is shown", |world| world.resource::<View>().tank);
    script.picture("reservoir");
    // The upper one is the window's own title.
    script.click_nth("Reservoir", 1);
    script.until("and closed", |world| !world.resource::<View>().tank);
}

fn compared(script: &mut Script) {
    script.click("Side by side");
    script.until("side by side", |world| world.resource::<View>().compare);
    script.picture("side-by-side");
    // Only water counts: the boxes are those of reach, carpet, feed, water, hold.
    for (nth, text) in [(0, "0"), (1, "0"), (2, "0"), (4, "0")] {
        script.number(upper, nth, text);
    }
    script.until("the weights are tried", |world| {
        world.resource::<View>().weights.is_some_and(|weights| {
            weights.reach + weights.carpet + weights.feed + weights.hold < 1e-9
                && weights.water > 0.0
        })
    });
    script.act("the layout's own are as they were", |world| {
        assert!(world.resource::<Document>().layout().weights.reach > 0.0);
    });
    script.picture("other-weights");
    script.click("Keep in the layout");
    script.until("the layout has them", |world| {
        world.resource::<Document>().layout().weights.reach < 1e-9 && settled(world)
    });
    script.act("scores are those of water", |world| {
        let document = world.resource::<Document>();
        let landed = world.resource::<Scores>().of(document.current()).unwrap();
        let water = landed.card.headline(HeadlineId::Water).unwrap().score;
        let failing = landed.card.score == Some(0.0);
        assert!(failing || landed.card.score == water, "{:?} {water:?}", landed.card.score);
        assert_eq!(document.undo_words(), Some("weights"));
    });
    script.tap(KeyCode::Escape, Key::Escape);
    script.until("closed", |world| !world.resource::<View>().compare);
    with_control(script, "undo", KeyCode::KeyZ, "z");
    script.until("the old weights", |world| {
        world.resource::<Document>().layout().weights.reach > 0.0 && settled(world)
    });
}

/// The chances of every spot: begun and given up, then asked for less often and waited for.
fn chances(script: &mut Script) {
    script.click("Side by side");
    script.until("side by side", |world| world.resource::<View>().compare);
    script.number(upper, 5, "5000");
    script.until("a long run", |world| world.resource::<Chances>().runs == 5000);
    script.click("Chances");
    script.until("it shows how far it is", |world| {
        world.resource::<Chances>().share().is_some_and(|share| share > 0.0)
    });
    script.click("Cancel");
    script.until("it is given up", |world| !world.resource::<Chances>().running());
    script.act("no spot has chances of a run that was given up", |world| {
        let (chances, document) = (world.resource::<Chances>(), world.resource::<Document>());
        assert_eq!(chances.age(), 0);
        assert!((0..document.spots().len()).all(|spot| chances.of(document, spot).is_none()));
    });
    script.number(upper, 5, "6");
    script.click("Chances");
    script.until("every spot has them", |world| {
        let (chances, document) = (world.resource::<Chances>(), world.resource::<Document>());
        let fresh = |spot| chances.of(document, spot).is_some_and(|(_, fresh)| fresh);
        !chances.running() && (0..document.spots().len()).all(fresh)
    });
    script.act("they are those of the command line", |world| {
        let (chances, document) = (world.resource::<Chances>(), world.resource::<Document>());
        let spot = &document.spots()[1];
        let card = tolerance_runs(document.boot(), spot, 6, 1);
        assert_eq!(chances.of(document, 1).map(|(card, _)| card), Some(&card));
        assert!(card.holds.is_some_and(|holds| holds.runs == 6));
    });
    script.click("in brackets");
    script.picture("chances");
    script.tap(KeyCode::Escape, Key::Escape);
    script.until("closed", |world| !world.resource::<View>().compare);
}

/// So many leak points that making the boot ready takes seconds.
fn many_leaks(layout: &mut Layout) {
    let known = layout.leaks[0].clone();
    for number in 0..150_u32 {
        let (x, y) = (f64::from(50 + number * 37 % 600), f64::from(number * 53 % 800) - 400.0);
        let at = Point::new(x, y, 300.0);
        layout.leaks.push(Leak { name: format!("seam {number}"), at, ..known.clone() });
    }
    layout.limits.water_step_mm = 2.0;
}

/// Making the boot ready is cancelled: its figures stay and are marked, until it is ready after all.
fn given_up(script: &mut Script) {
    let kept: Arc<Mutex<(u64, Vec<Option<i64>>)>> = Arc::default();
    let before = Arc::clone(&kept);
    script.act("much is measured at once", move |world| {
        *before.lock().unwrap() = (world.resource::<Document>().boot_age(), headlines(world));
        let mut document = world.resource_mut::<Document>();
        let gesture = document.gesture();
        document.measure("leaks", gesture, many_leaks).unwrap();
    });
    script.until("it shows how far it is", |world| {
        world.resource::<Scores>().preparing_share().is_some()
    });
    script.click("Cancel");
    script.until("it is given up", |world| {
        let (document, scores) = (world.resource::<Document>(), world.resource::<Scores>());
        scores.cancelled(document) && !scores.preparing_boot()
    });
    script.pause(10);
    let before = Arc::clone(&kept);
    script.act("the figures stay and are marked", move |world| {
        let (document, scores) = (world.resource::<Document>(), world.resource::<Scores>());
        let current = document.current();
        assert!(scores.cancelled(document) && !scores.fresh(document, current));
        assert_eq!((document.boot_age(), headlines(world)), *before.lock().unwrap());
        // Those of before the change stay too, and aren't told as of now.
        let (_, fresh) = world.resource::<Chances>().of(document, current).unwrap();
        assert!(!fresh);
    });
    script.picture("given-up");
    script.click("Make it ready");
    script.until("it is ready after all", move |world| {
        world.resource::<Document>().boot_age() > kept.lock().unwrap().0
    });
    with_control(script, "undo", KeyCode::KeyZ, "z");
    script.until("as it was", settled);
}

#[test]
fn loads_cuts_water_reservoir_and_spots_side_by_side_are_shown() {
    if !alone("seeing::loads_cuts_water_reservoir_and_spots_side_by_side_are_shown") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = demo_copy(folder.path()).with_file_name("sandlark-cabriolet.ron");
    drive(&path, (1280, 800), |script| {
        script.past_the_cautions();
        script.click("More to draw");
        loads(script);
        script.click("Room of moving parts");
        script.pause(40);
        script.picture("swept");
        script.click("Room of moving parts");
        cut_outs(script);
        water(script);
        compared(script);
        chances(script);
        given_up(script);
    });
}
