//! Saving a whole layout: what is added, changed, renamed and taken out reads back as it should, and
//! whatever wasn't touched stays to the byte.
#![allow(clippy::unwrap_used, reason = "a test")]

use std::fs;
use std::path::{Path, PathBuf};

use dryberth::format::{Journal, LayoutFile, Opened, open};
use dryberth::model::{
    Anchor, AnchorKind, Body, Drain, Exit, Layout, Leak, Line, LineKind, Motion, Mover, MoverKind,
    OptionModule, Place, Point, Ram, Role, Shape, Trim, TrimKind, Vector, Viewpoint,
};

const DEMOS: [&str; 2] = ["wrenfield-drop-top", "sandlark-cabriolet"];

fn demo(name: &str, folder: &Path) -> (Opened, PathBuf, String) {
    let demo = dryberth::format::DEMOS.iter().find(|demo| demo.name == name).unwrap();
    let path = demo.unpack(folder).unwrap();
    let text = fs::read_to_string(&path).unwrap();
    (open(&path).unwrap(), path, text)
}

fn saved(opened: &mut Opened, path: &Path, change: impl FnOnce(&mut Layout)) -> String {
    change(&mut opened.layout);
    opened.file.save_layout(&opened.layout).unwrap();
    let again = open(path).unwrap();
    assert_eq!(again.layout, opened.layout);
    fs::read_to_string(path).unwrap()
}

fn comments(text: &str) -> Vec<String> {
    text.lines().filter_map(|line| line.find("// ").map(|at| line[at..].to_string())).collect()
}

/// Lines of `before` that `after` no longer has, and the other way round; the text between the first
/// and the last difference.
fn differing(before: &str, after: &str) -> (Vec<String>, Vec<String>) {
    let (old, new): (Vec<&str>, Vec<&str>) = (before.lines().collect(), after.lines().collect());
    let head = old.iter().zip(&new).take_while(|(a, b)| a == b).count();
    let tail =
        old[head..].iter().rev().zip(new[head..].iter().rev()).take_while(|(a, b)| a == b).count();
    let middle = |lines: &[&str]| {
        lines[head..lines.len() - tail].iter().map(|line| (*line).to_string()).collect()
    };
    (middle(&old), middle(&new))
}

fn new_body(name: &str) -> Body {
    Body {
        name: name.into(),
        role: Role::Module,
        shape: Shape::Box { from: Point::new(1.0, 2.0, 3.0), to: Point::new(40.5, 50.0, 60.0) },
        place: Place::default(),
        option: None,
        skin: None,
        sharp: false,
        tolerance_mm: None,
        note: String::new(),
    }
}

#[test]
fn nothing_changed_is_the_same_bytes() {
    for name in DEMOS {
        let folder = tempfile::tempdir().unwrap();
        let (mut opened, path, before) = demo(name, folder.path());
        assert_eq!(saved(&mut opened, &path, |_| {}), before);
    }
}

#[test]
fn one_number_of_a_body_changes_one_line() {
    for name in DEMOS {
        let folder = tempfile::tempdir().unwrap();
        let (mut opened, path, before) = demo(name, folder.path());
        let after = saved(&mut opened, &path, |layout| {
            let body = layout
                .bodies
                .iter_mut()
                .find(|body| matches!(body.shape, Shape::Box { .. }))
                .unwrap();
            if let Shape::Box { from, .. } = &mut body.shape {
                from.x += 0.25;
            }
        });
        let (old, new) = differing(&before, &after);
        assert_eq!((old.len(), new.len()), (1, 1), "{old:?} {new:?}");
        // Taking it back and saving again gives the first bytes.
        let back = saved(&mut opened, &path, |layout| {
            let body = layout
                .bodies
                .iter_mut()
                .find(|body| matches!(body.shape, Shape::Box { .. }))
                .unwrap();
            if let Shape::Box { from, .. } = &mut body.shape {
                from.x -= 0.25;
            }
        });
        assert_eq!(back, before);
    }
}

#[test]
fn a_body_added_and_taken_out_again_leaves_the_first_bytes() {
    for name in DEMOS {
        for at in [0, 3, usize::MAX] {
            let folder = tempfile::tempdir().unwrap();
            let (mut opened, path, before) = demo(name, folder.path());
            let at = at.min(opened.layout.bodies.len());
            let after = saved(&mut opened, &path, |layout| {
                layout.bodies.insert(at, new_body("added \"by\" test"));
            });
            assert_eq!(comments(&after), comments(&before));
            let (old, new) = differing(&before, &after);
            assert!(old.len() <= 1 && new.len() <= 2, "{name} {at}: {old:?} {new:?}");
            let again = saved(&mut opened, &path, |layout| {
                layout.bodies.remove(at);
            });
            assert_eq!(comments(&again), comments(&before));
            let bare = |text: &str| text.split_whitespace().collect::<String>();
            assert_eq!(bare(&again), bare(&before), "{name} {at}");
        }
    }
}

#[test]
fn every_body_can_be_taken_out_and_renamed() {
    for name in DEMOS {
        let folder = tempfile::tempdir().unwrap();
        let (opened, path, before) = demo(name, folder.path());
        for index in 0..opened.layout.bodies.len() {
            let mut layout = opened.layout.clone();
            let gone = layout.bodies.remove(index).name;
            layout.handover.unbolt.retain(|unbolt| unbolt.body != gone);
            let text = opened.file.text_with(&layout).unwrap();
            let lost = comments(&before).len() - comments(&text).len();
            assert!(lost <= 1, "{name}: body {index} took {lost} comments with it");
            if opened.layout.handover.unbolt.iter().any(|unbolt| unbolt.body == gone) {
                continue; // its name stands twice
            }
            let mut layout = opened.layout.clone();
            layout.bodies[index].name = "called something else".into();
            let text = opened.file.text_with(&layout).unwrap();
            assert_eq!(comments(&text), comments(&before));
            let (old, new) = differing(&before, &text);
            assert_eq!((old.len(), new.len()), (1, 1), "{old:?}");
        }
        assert_eq!(fs::read_to_string(&path).unwrap(), before, "only asked, not saved");
    }
}

#[test]
fn options_notes_and_tolerances_come_and_go() {
    let folder = tempfile::tempdir().unwrap();
    let (mut opened, path, before) = demo(DEMOS[1], folder.path());
    let option = opened.layout.options[0].name.clone();
    let index = opened.layout.bodies.iter().position(|body| body.option.is_none()).unwrap();
    let after = saved(&mut opened, &path, |layout| {
        let body = &mut layout.bodies[index];
        body.option = Some(option.clone());
        body.tolerance_mm = Some(1.5);
        body.sharp = true;
        body.note = "a \"note\"".into();
        body.place.at.z = 7.0;
    });
    assert_eq!(comments(&after), comments(&before));
    let back = saved(&mut opened, &path, |layout| {
        let body = &mut layout.bodies[index];
        body.option = None;
        body.tolerance_mm = None;
    });
    assert_eq!(comments(&back), comments(&before));
    assert!(!back.contains("None"), "what is left out isn't written");
}

#[test]
fn one_of_every_kind_is_written_into_a_new_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new.ron");
    let mut layout = Layout {
        schema: dryberth::model::SCHEMA,
        name: "new".into(),
        origin: "the sill".into(),
        pump: "pumps/two-line-unit.ron".into(),
        bodies: vec![new_body("floor")],
        ..Layout::default()
    };
    let mut file = LayoutFile::create(&path, &layout).unwrap();
    assert!(LayoutFile::create(&path, &layout).is_err(), "never over another file");
    let up = Vector::z();
    layout.options.push(OptionModule { fitted: true, ..OptionModule::called("hoop") });
    layout.trims.push(Trim {
        name: "board".into(),
        kind: TrimKind::Board,
        faces: vec![vec![
            Point::new(0.0, 0.0, 200.0),
            Point::new(100.0, 0.0, 200.0),
            Point::new(100.0, 90.0, 200.0),
        ]],
        thickness_mm: 4.0,
        give_mm: 0.0,
        option: Some("hoop".into()),
    });
    layout.movers.push(Mover {
        name: "arm".into(),
        kind: MoverKind::Hinge,
        shapes: vec![Shape::Cylinder {
            from: Point::new(0.0, 0.0, 300.0),
            to: Point::new(0.0, 80.0, 300.0),
            radius_mm: 5.0,
        }],
        motion: Motion::Swing {
            through: Point::new(0.0, 0.0, 300.0),
            along: Vector::y(),
            from_deg: 0.0,
            to_deg: -80.0,
        },
        driven: None,
        option: None,
        tolerance_mm: None,
    });
    layout.drains.push(Drain {
        name: "hole".into(),
        at: Point::new(5.0, 5.0, 3.0),
        diameter_mm: 12.0,
        blocked: true,
    });
    layout.leaks.push(Leak {
        name: "lamp".into(),
        at: Point::new(1.0, 1.0, 400.0),
        rate_l_min: None,
    });
    layout.anchors.push(Anchor {
        name: "slot".into(),
        kind: AnchorKind::Slot { length_mm: 20.0, width_mm: 8.0 },
        at: Point::new(1.0, 2.0, 3.0),
        normal: up,
        strength_n: 450.0,
        free_mm: None,
        hot_c: None,
        inside_mm: None,
        option: None,
    });
    layout.lines.push(Line {
        name: "hose".into(),
        kind: LineKind::Hose,
        from: Exit { at: Point::new(1.0, 2.0, 3.0), towards: up },
        to: "port 1".into(),
        free_mm: 500.0,
        od_mm: 8.0,
        bore_mm: None,
        bend_mm: 40.0,
        bend_rule: Default::default(),
        lead_mm: None,
        bundle: None,
        clips: Vec::new(),
        pull: None,
        measured: None,
        option: None,
    });
    layout.rams.push(Ram {
        name: "bow".into(),
        bore_mm: None,
        rod_mm: 10.0,
        stroke_mm: 200.0,
        count: 2,
    });
    layout
        .viewpoints
        .push(Viewpoint { name: "stander".into(), at: Point::new(-500.0, 0.0, 900.0) });
    layout
        .boot_space
        .push(Shape::Box { from: Point::origin(), to: Point::new(500.0, 400.0, 300.0) });
    let blank = fs::read_to_string(&path).unwrap();
    file.save_layout(&layout).unwrap();
    let after = fs::read_to_string(&path).unwrap();
    assert_eq!(open(&path).unwrap().layout, layout);
    assert_eq!(comments(&after), comments(&blank), "the guiding comments stay");
}

#[test]
fn a_list_that_the_file_leaves_out_is_added_at_its_end() {
    let folder = tempfile::tempdir().unwrap();
    let (_, path, text) = demo(DEMOS[0], folder.path());
    let at = text.find("    boot_space:").unwrap();
    fs::write(&path, format!("{})\n", &text[..at])).unwrap();
    let mut opened = open(&path).unwrap();
    let space = Shape::Box { from: Point::origin(), to: Point::new(500.0, 400.0, 300.0) };
    saved(&mut opened, &path, |layout| layout.boot_space.push(space));
    let before = fs::read_to_string(&path).unwrap();
    let after = saved(&mut opened, &path, |layout| layout.limits.gap_mm = 6.0);
    assert_eq!(comments(&after), comments(&before));
}

#[test]
fn a_change_on_disk_is_noticed_and_can_be_gone_on_from() {
    let folder = tempfile::tempdir().unwrap();
    let (mut opened, path, text) = demo(DEMOS[0], folder.path());
    assert_eq!(opened.file.changed_on_disk(), None);
    let theirs = text.replace("// The Wrenfield", "// Theirs: the Wrenfield");
    assert_ne!(theirs, text);
    fs::write(&path, &theirs).unwrap();
    assert_eq!(opened.file.changed_on_disk().as_deref(), Some(theirs.as_str()));
    let mut mine = opened.layout.clone();
    mine.drains[0].blocked = !mine.drains[0].blocked;
    assert!(opened.file.save_layout(&mine).is_err());
    opened.file.rebase(theirs).unwrap();
    opened.file.save_layout(&mine).unwrap();
    let after = fs::read_to_string(&path).unwrap();
    assert!(after.contains("// Theirs"));
    assert_eq!(open(&path).unwrap().layout, mine);
}

#[test]
fn unsaved_work_is_found_again_and_damage_to_it_is_not_taken_for_work() {
    let folder = tempfile::tempdir().unwrap();
    let (opened, path, text) = demo(DEMOS[0], folder.path());
    let journal = Journal::of(&opened.file, folder.path());
    assert_eq!(journal.path().parent(), path.parent());
    assert!(journal.find().is_none());
    let mut mine = opened.layout.clone();
    mine.bodies.push(new_body("kept"));
    journal.keep(&opened.file.text_with(&mine).unwrap()).unwrap();
    assert_eq!(journal.find().unwrap().layout, mine);
    assert_eq!(fs::read_to_string(&path).unwrap(), text, "the layout's own file is untouched");
    let whole = fs::read_to_string(journal.path()).unwrap();
    for cut in (0..whole.len()).step_by(whole.len() / 40).filter(|cut| whole.is_char_boundary(*cut))
    {
        fs::write(journal.path(), &whole[..cut]).unwrap();
        assert!(journal.find().is_none(), "cut at {cut}");
    }
    journal.clear();
    assert!(!journal.path().exists());
}
