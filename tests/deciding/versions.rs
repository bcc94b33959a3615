//! Saved, upgraded, compared, reopened: 1,000 random layouts, and nothing is lost.

use std::sync::{Mutex, OnceLock};

use dryberth::compare::changes;
use dryberth::format::{LayoutFile, layout_from_text, open_demo, upgraded_text};
use dryberth::model::{
    Body, Fixing, FixingKind, Layout, Notch, Opening, OpeningOutline, OptionModule, Place, Point,
    Remark, Role, SCHEMA, Said, Shape, Spot, TapeEdge, Trial, Unbolt,
};
use proptest::prelude::*;
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;

fn written(layout: &Layout) -> String {
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
        .to_string_pretty(layout, PrettyConfig::default())
        .expect("written")
}

fn mm() -> impl Strategy<Value = f64> {
    prop_oneof![(-9_000..9_000_i32).prop_map(f64::from), -900.0..900.0_f64]
}

fn point() -> impl Strategy<Value = Point> {
    (mm(), mm(), mm()).prop_map(|(x, y, z)| Point::new(x, y, z))
}

fn place() -> impl Strategy<Value = Place> {
    (point(), -180.0..180.0_f64).prop_map(|(at, yaw)| Place { at, turn_deg: (0.0, 0.0, yaw) })
}

fn words() -> impl Strategy<Value = String> {
    "[a-zA-Zé½(\\[\"\\\\'/,:-][a-z 0-9é\"\\\\\\])(]{0,18}[a-z]"
}

fn body() -> impl Strategy<Value = Body> {
    let shape = prop_oneof![
        (point(), 1.0..400.0_f64).prop_map(|(from, size)| Shape::Box {
            from,
            to: from + nalgebra::Vector3::new(size, size + 1.0, size / 2.0 + 1.0),
        }),
        (point(), 1.0..90.0_f64).prop_map(|(from, radius_mm)| Shape::Cylinder {
            from,
            to: from + nalgebra::Vector3::new(0.0, 0.0, 50.0),
            radius_mm,
        }),
    ];
    (shape, place(), 0..10_usize, any::<bool>(), proptest::option::of(0.0..90.0_f64), words())
        .prop_map(|(shape, place, role, sharp, tolerance_mm, note)| Body {
            name: String::new(),
            role: Role::ALL[role],
            shape,
            place,
            option: None,
            skin: None,
            sharp,
            tolerance_mm,
            note,
        })
}

fn said() -> impl Strategy<Value = Said> {
    prop_oneof![
        (words(), 0.0..90.0_f64).prop_map(|(trim, mm)| Said::Proud { trim, mm }),
        (words(), 0.0..90.0_f64).prop_map(|(body, mm)| Said::Gap { body, mm }),
        words().prop_map(|line| Said::Touched { line }),
        (words(), -90.0..90.0_f64).prop_map(|(line, mm)| Said::Slack { line, mm }),
        any::<bool>().prop_map(Said::Rocked),
        any::<bool>().prop_map(Said::LevelSeen),
        words().prop_map(Said::Other),
    ]
}

/// What every random layout begins from.
fn base() -> &'static Layout {
    static BASE: OnceLock<Layout> = OnceLock::new();
    BASE.get_or_init(|| open_demo(None).expect("the demo").layout)
}

/// The file that every random layout is saved over; its text is set anew for each.
fn file() -> &'static Mutex<LayoutFile> {
    static FILE: OnceLock<Mutex<LayoutFile>> = OnceLock::new();
    FILE.get_or_init(|| Mutex::new(open_demo(None).expect("the demo").file))
}

/// A small layout of random things, of schema 1 or 2.
fn layout() -> impl Strategy<Value = Layout> {
    let spot = (place(), proptest::option::of(1.0..13.0_f64), words());
    let remark = (said(), proptest::option::of(-50.0..50.0_f64), words());
    (
        (1..=SCHEMA, words(), words()),
        proptest::collection::vec(body(), 1..5),
        proptest::collection::vec((words(), any::<bool>()), 0..4),
        proptest::collection::vec(spot, 0..4),
        proptest::collection::vec(proptest::collection::vec(remark, 1..3), 0..3),
        (proptest::collection::vec(mm(), 0..3), any::<bool>(), 0.0..9.0_f64),
    )
        .prop_map(
            |((schema, name, about), bodies, options, spots, trials, (edges, cut, carpet_mm))| {
                let mut layout = base().clone();
                let anchor = layout.anchors[0].name.clone();
                layout.schema = schema;
                layout.name = name;
                layout.about = about;
                layout.cars.clear();
                layout.option_rules.clear();
                layout.trims.clear();
                layout.movers.clear();
                layout.lines.truncate(1);
                layout.drains.truncate(1);
                layout.anchors.truncate(1);
                layout.options = options
                    .into_iter()
                    .enumerate()
                    .map(|(index, (name, fitted))| OptionModule {
                        code: format!("o{index}"),
                        fitted,
                        ..OptionModule::called(&format!("{name} {index}"))
                    })
                    .collect();
                layout.bodies = bodies;
                for (index, body) in layout.bodies.iter_mut().enumerate() {
                    body.name = format!("body {index}");
                    body.option = layout.options.get(index).map(|option| option.name.clone());
                }
                if schema > 1 && layout.options.len() > 1 {
                    layout.option_rules = vec!["not (o0 and o1)".to_string()];
                    layout.bodies[0].option = Some("o0 or not o1".to_string());
                }
                layout.spots = spots
                    .into_iter()
                    .enumerate()
                    .map(|(index, (place, tie, note))| Spot {
                        name: format!("spot {index}"),
                        place,
                        fixings: tie
                            .map(|width_mm| {
                                Fixing::new(FixingKind::Tie { width_mm }, "motor top", &anchor)
                            })
                            .into_iter()
                            .collect(),
                        note,
                        tap_hz: tie.map(|width_mm| width_mm * 9.0),
                    })
                    .collect();
                layout.trials = trials
                    .into_iter()
                    .map(|remarks| Trial {
                        spot: "spot 0".to_string(),
                        when: String::new(),
                        by: "two of us".to_string(),
                        options: Vec::new(),
                        remarks: remarks
                            .into_iter()
                            .map(|(said, predicted, note)| Remark {
                                said,
                                predicted,
                                tolerance: predicted.map(f64::abs),
                                verdict: "tight".to_string(),
                                note,
                            })
                            .collect(),
                    })
                    .collect();
                layout.handover = Default::default();
                layout.handover.tape_edges = edges
                    .into_iter()
                    .map(|at_mm| TapeEdge {
                        name: "an edge".to_string(),
                        axis: dryberth::model::Axis::Y,
                        at_mm,
                    })
                    .collect();
                layout.handover.unbolt = vec![Unbolt {
                    body: "body 0".to_string(),
                    how: "two nuts".to_string(),
                    refit: cut.then(Place::default),
                    refit_words: "elsewhere".to_string(),
                }];
                layout.openings = vec![Opening {
                    name: "hatch".to_string(),
                    place: Place::default(),
                    outline: if cut {
                        OpeningOutline::Cut { around: (carpet_mm, 1.0) }
                    } else {
                        OpeningOutline::Measured(vec![
                            (0.0, 0.0),
                            (90.0, 0.0),
                            (40.0, carpet_mm + 50.0),
                        ])
                    },
                    carpet_mm,
                    fit_mm: -carpet_mm,
                    notch: cut.then_some(Notch {
                        near: (0.0, 0.0),
                        width_mm: 20.0,
                        depth_mm: 15.0,
                    }),
                    grain_deg: 90.0,
                    relief_mm: 3.0,
                }];
                layout
            },
        )
}

/// Changes one thing of the layout; which, and what must be told of it.
fn change(layout: &mut Layout, which: u8) -> &'static str {
    match which {
        0 => {
            layout.bodies[0].place.at.x += 12.5;
            "12.5 mm forward"
        }
        1 => {
            layout.limits.gap_mm += 1.0;
            "limits"
        }
        2 => {
            layout.bodies.push(Body { name: "one more".to_string(), ..layout.bodies[0].clone() });
            "new"
        }
        3 => {
            layout.anchors.clear();
            layout.spots.clear();
            "gone"
        }
        4 => {
            layout.about.push_str(" again");
            "again"
        }
        5 => {
            layout.bodies[0].tolerance_mm =
                layout.bodies[0].tolerance_mm.map_or(Some(4.0), |_| None);
            "stated"
        }
        6 => {
            layout.openings[0].carpet_mm += 0.5;
            "+0.5"
        }
        7 => {
            layout.bodies[0].name = "another".to_string();
            layout.handover.unbolt[0].body = "another".to_string();
            "body `another`: has another name, was `body 0`"
        }
        _ => {
            layout.weights.water += 2.0;
            "water"
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1_000) })]

    #[test]
    fn nothing_is_lost(layout in layout(), which in 0..9_u8) {
        let fail = |error: dryberth::format::FileError| TestCaseError::fail(error.to_string());
        // Saved and reopened.
        let text = written(&layout);
        let again = layout_from_text("x.ron", &text).map_err(fail)?;
        prop_assert_eq!(&again, &layout);
        // Upgraded and reopened: the same but for the schema.
        let upgraded = upgraded_text("x.ron", &text).map_err(fail)?;
        prop_assert_eq!(upgraded.is_none(), layout.schema == SCHEMA);
        let newest = layout_from_text("x.ron", &upgraded.unwrap_or_else(|| text.clone())).map_err(fail)?;
        prop_assert_eq!(&newest, &Layout { schema: SCHEMA, ..layout.clone() });
        let told = changes(&layout, &newest);
        prop_assert_eq!(told.len(), usize::from(layout.schema != SCHEMA));
        // Compared: nothing is told exactly when nothing changed.
        prop_assert!(changes(&layout, &again).is_empty());
        let mut changed = layout.clone();
        let word = change(&mut changed, which);
        let told = changes(&layout, &changed);
        prop_assert!(!told.is_empty());
        prop_assert!(told.iter().any(|change| change.to_string().contains(word)), "{:?} lacks {}", told, word);
        prop_assert!(!changes(&changed, &layout).is_empty());
        // Saved over the old text, as the program does, and reopened.
        let mut file = file().lock().expect("no test panicked with it");
        file.rebase(text).map_err(fail)?;
        let saved = file.text_with(&changed).map_err(fail)?;
        prop_assert_eq!(&layout_from_text("x.ron", &saved).map_err(fail)?, &changed);
    }
}

#[test]
fn a_new_name_is_told_once_with_the_places_that_follow() {
    let old = open_demo(Some("sandlark-cabriolet")).expect("the demo").layout;
    let text = written(&old).replace("parking aid module", "distance warner");
    let new = layout_from_text("x.ron", &text).expect("sound");
    let told: Vec<String> = changes(&old, &new).iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(
        told[0].starts_with("body `distance warner`: has another name, was `parking aid module`")
    );
    assert!(told[1].starts_with("option `distance warner`: has another name"), "{told:?}");
    assert!(told[0].ends_with("places name it accordingly"), "{told:?}");
}
