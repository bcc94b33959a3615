//! Files and units: out and back is the same.

use dryberth::format::{layout_from_text, open_demo};
use dryberth::frame::{gltf_from_vehicle, vehicle_from_gltf};
use dryberth::model::{Fixing, FixingKind, Place, Spot};
use dryberth::units::{gradient_deg, head_pa, root_sum_of_squares};
use proptest::prelude::*;
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;

use crate::{cases, place, point};

/// The options that layouts are read with: `Some(…)` is left out.
fn written_as_files_are() -> ron::Options {
    ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES)
}

fn spot() -> impl Strategy<Value = Spot> {
    let kind = prop_oneof![
        (1.0..5000.0_f64).prop_map(|working_n| FixingKind::Bolt { working_n }),
        (1.0..13.0_f64).prop_map(|width_mm| FixingKind::Tie { width_mm }),
        (1.0..5000.0_f64).prop_map(|working_n| FixingKind::Strap { working_n }),
        (1.0..5000.0_f64).prop_map(|working_n| FixingKind::Clamp { working_n }),
        (1.0..5000.0_f64).prop_map(|working_n| FixingKind::Wedge { working_n }),
    ];
    (
        "[a-zA-Z][a-z 0-9\"\\\\é'/-]{0,20}[a-z]",
        place(5000.0),
        proptest::collection::vec(kind, 0..4),
        "\\PC{0,40}",
        proptest::option::of(1.0..5000.0_f64),
    )
        .prop_map(|(name, place, kinds, note, tap_hz)| Spot {
            name,
            place,
            fixings: kinds
                .into_iter()
                .map(|kind| Fixing {
                    squeeze_mm: Some(2.5),
                    nut: true,
                    ..Fixing::new(kind, "motor top", "")
                })
                .collect(),
            note,
            tap_hz,
        })
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn a_spot_written_and_read_back_is_the_same(mut spot in spot()) {
        let mut layout = open_demo(None).expect("the demo").layout;
        for fixing in &mut spot.fixings {
            fixing.anchor.clone_from(&layout.anchors[0].name);
        }
        layout.spots = vec![spot];
        layout.handover = Default::default(); // it names spots of the demo
        let text = written_as_files_are().to_string_pretty(&layout, PrettyConfig::default()).expect("written");
        let again = layout_from_text("again.ron", &text).map_err(|error| TestCaseError::fail(error.to_string()))?;
        prop_assert_eq!(&again, &layout);
    }

    #[test]
    fn gltf_and_back_is_the_same_point(at in point(3000.0)) {
        prop_assert!((vehicle_from_gltf(gltf_from_vehicle(&at)) - at).norm() < 1e-9);
    }

    #[test]
    fn place_and_pose_and_back_is_the_same_place(place in place(3000.0)) {
        let again = Place::from_pose(&place.pose());
        prop_assert!((again.at - place.at).norm() < 1e-9);
        let off = again.pose().rotation.angle_to(&place.pose().rotation);
        prop_assert!(off < 1e-6, "{} rad", off);
        // Short of the poles the angles themselves come back.
        for (a, b) in [
            (again.turn_deg.0, place.turn_deg.0),
            (again.turn_deg.1, place.turn_deg.1),
            (again.turn_deg.2, place.turn_deg.2),
        ] {
            prop_assert!((a - b).abs() < 1e-6);
        }
    }

    #[test]
    fn units_keep_their_laws(percent in 0.0..500.0_f64, head in -500.0..500.0_f64, density in 0.5..2.0_f64, parts in proptest::collection::vec(0.0..20.0_f64, 0..6)) {
        prop_assert!((gradient_deg(percent).to_radians().tan() * 100.0 - percent).abs() < 1e-9 * percent.max(1.0));
        prop_assert!((gradient_deg(-percent) + gradient_deg(percent)).abs() < 1e-12);
        prop_assert!((head_pa(2.0 * head, density) - 2.0 * head_pa(head, density)).abs() < 1e-9);
        let together = root_sum_of_squares(&parts);
        let (most, sum) = (parts.iter().copied().fold(0.0, f64::max), parts.iter().sum::<f64>());
        prop_assert!(together >= most - 1e-12 && together <= sum + 1e-12);
    }
}
