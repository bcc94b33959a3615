//! Pictures, decoded again.

use dryberth::checks::{Boot, Scorecard};
use dryberth::documents::picture::{Picture, TrimShown, View, picture};
use dryberth::model::Spot;
use tiny_skia::Pixmap;

use crate::sandlark;

fn taken(boot: &Boot, spot: &Spot, card: &Scorecard, wanted: &Picture) -> Pixmap {
    let png = picture(boot, spot, card, wanted).expect("a picture");
    Pixmap::decode_png(&png).expect("a PNG file")
}

/// Pixels in which two pictures differ clearly.
fn different(a: &Pixmap, b: &Pixmap) -> usize {
    let off = |p: u8, q: u8| p.abs_diff(q) > 12;
    a.pixels()
        .iter()
        .zip(b.pixels())
        .filter(|(p, q)| {
            off(p.red(), q.red()) || off(p.green(), q.green()) || off(p.blue(), q.blue())
        })
        .count()
}

fn small(view: View, trim: TrimShown) -> Picture {
    Picture { width: 320, height: 200, view, trim, labels: false, ..Picture::default() }
}

#[test]
fn every_view_shows_the_boot_and_has_the_size_asked_for() {
    let ready = sandlark();
    for (name, view) in View::ALL {
        let map =
            taken(&ready.boot, &ready.spot, &ready.card, &small(view, TrimShown::SeenThrough));
        assert_eq!((map.width(), map.height()), (320, 200), "{name}");
        let colours: std::collections::BTreeSet<[u8; 3]> = map
            .pixels()
            .iter()
            .map(|pixel| [pixel.red() / 16, pixel.green() / 16, pixel.blue() / 16])
            .collect();
        assert!(colours.len() > 25, "{name}: {} colours", colours.len());
    }
}

#[test]
fn the_trim_hides_and_shows_the_pump() {
    let ready = sandlark();
    let mut away = ready.spot.clone();
    away.place.at.z += 4_000.0;
    let with = |trim| taken(&ready.boot, &ready.spot, &ready.card, &small(View::Right, trim));
    let hidden = different(&with(TrimShown::In), &with(TrimShown::Out));
    assert!(hidden > 3_000, "trim in and out differ in {hidden} pixels");
    let glassy = different(&with(TrimShown::SeenThrough), &with(TrimShown::Out));
    assert!(glassy > 1_000 && glassy < hidden * 2, "{glassy}");
}

#[test]
fn a_pump_elsewhere_makes_another_picture_and_the_same_pump_the_same() {
    let ready = sandlark();
    let wanted = small(View::Behind, TrimShown::Out);
    let here = taken(&ready.boot, &ready.spot, &ready.card, &wanted);
    let well = ready.opened.layout.spot("In its well, as built").expect("the spot");
    let there = taken(&ready.boot, well, &ready.card, &wanted);
    assert!(different(&here, &there) > 100);
    let png = || picture(&ready.boot, &ready.spot, &ready.card, &wanted);
    assert_eq!(png(), png());
}

#[test]
fn names_are_written_only_when_asked_for() {
    let ready = sandlark();
    let plain = Picture { width: 640, height: 400, ..small(View::Behind, TrimShown::Out) };
    let named = Picture { labels: true, ..plain };
    let a = taken(&ready.boot, &ready.spot, &ready.card, &plain);
    let b = taken(&ready.boot, &ready.spot, &ready.card, &named);
    // The accent of the main label, at the picture's sides where nothing else stands.
    let accent = |map: &Pixmap| {
        let width = map.width() as usize;
        let like = |(index, p): &(usize, &tiny_skia::PremultipliedColorU8)| {
            // The box lets a little of what lies behind it through.
            let off = [p.red().abs_diff(0x0F), p.green().abs_diff(0x6B), p.blue().abs_diff(0x73)];
            (index % width < width / 12 || index % width > width - width / 12)
                && off.iter().all(|off| *off < 22)
        };
        map.pixels().iter().enumerate().filter(like).count()
    };
    assert_eq!(accent(&a), 0);
    assert!(accent(&b) > 100, "{}", accent(&b));
}

#[test]
fn sizes_beyond_reason_are_refused() {
    let ready = sandlark();
    for (width, height) in [(0, 100), (100, 63), (5_000, 100), (u32::MAX, u32::MAX)] {
        let wanted = Picture { width, height, ..Picture::default() };
        assert!(picture(&ready.boot, &ready.spot, &ready.card, &wanted).is_none());
    }
}
