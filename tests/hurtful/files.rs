//! Files that are not what they should be, and odd ones that are.

use std::fs;

use crate::workshop::{LAYOUT, PUMP, Run, Workshop, edited};

fn run_on(layout: &[u8]) -> Run {
    let workshop = Workshop::new();
    workshop.write("layout.ron", layout);
    workshop.check()
}

#[track_caller]
fn refused(layout: &[u8], wanted: &[&str]) {
    assert_eq!(run_on(layout).refusal(wanted), "");
}

#[test]
fn the_sound_files_are_answered() {
    assert_eq!(run_on(LAYOUT.as_bytes()).answer(), "");
}

#[test]
fn text_that_is_no_layout_is_refused() {
    refused(b"", &["layout.ron:1:1: found the end of the file"]);
    refused(b"\n\n   \n", &["layout.ron:4:1: found the end of the file"]);
    refused(b"()", &["layout.ron:1:", "no field `schema`"]);
    refused(b"hello", &["layout.ron:1:1: found `hello`"]);
    refused(b"{\"schema\": 1}", &["layout.ron:1:1: found `{`"]);
    refused(b"\"text\"", &["layout.ron:1:1: found "]);
    refused(b"/* never closed", &["layout.ron:1:"]);
    refused(b"#![enable(everything)]\n()", &["layout.ron:1:"]);
    refused(&[0; 5000], &["layout.ron:1:1: found "]);
}

#[test]
fn text_after_the_end_is_refused() {
    let lines = LAYOUT.lines().count();
    let text = format!("{LAYOUT}stray");
    refused(
        text.as_bytes(),
        &[&format!("layout.ron:{}:1: found `stray`", lines + 1), "nothing after"],
    );
    let twice = format!("{LAYOUT}{LAYOUT}");
    refused(twice.as_bytes(), &["layout.ron:", "nothing after the closing bracket"]);
}

#[test]
fn bytes_that_are_no_text_are_refused_where_they_stand() {
    let (text, place) = edited(LAYOUT, "name: \"lump\"", "name: \"lu§mp\"");
    let (line, column) = place.expect("a marked place");
    let at = text.find("mp\", role: Other, shape: Hull").expect("the lump");
    let mut bytes = text.into_bytes();
    bytes.splice(at..at, [0xff, 0xfe]);
    refused(&bytes, &[&format!("layout.ron:{line}:{column}: found "), "UTF-8"]);
    let garbage: Vec<u8> =
        (0..20_000_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    refused(&garbage, &["layout.ron:", "UTF-8"]);
    let wide: Vec<u8> = LAYOUT.encode_utf16().flat_map(u16::to_le_bytes).collect();
    refused(&wide, &["layout.ron:"]);
}

#[test]
fn text_cut_short_anywhere_is_refused() {
    let workshop = Workshop::new();
    let end = LAYOUT.rfind(')').expect("a closing bracket");
    for length in (0..end).step_by(397) {
        workshop.write("layout.ron", &LAYOUT.as_bytes()[..length]);
        let what = workshop.check().refusal(&["layout.ron:", "found ", "expected "]);
        assert_eq!(what, "", "cut after {length} bytes");
    }
    for length in (0..PUMP.rfind(')').expect("a closing bracket")).step_by(397) {
        workshop.write("layout.ron", LAYOUT.as_bytes());
        workshop.write("pump.ron", &PUMP.as_bytes()[..length]);
        let what = workshop.check().refusal(&["pump.ron:", "found ", "expected "]);
        assert_eq!(what, "", "cut after {length} bytes");
    }
}

#[test]
fn deep_brackets_are_refused() {
    for depth in [200, 10_000, 1_000_000] {
        for (open, close) in [("[", "]"), ("(", ")"), ("Some(", ")"), ("{1:", "}")] {
            let deep = format!("{}{}", open.repeat(depth), close.repeat(depth));
            if deep.len() < 4 << 20 {
                refused(deep.as_bytes(), &["layout.ron:"]);
                let (inside, _) =
                    edited(LAYOUT, "bodies: [", &format!("bodies: {deep}, trash: [")[..]);
                if inside.len() < 4 << 20 {
                    refused(inside.as_bytes(), &["layout.ron:"]);
                }
            }
        }
        let comments = format!("{}{}", "/*".repeat(depth), LAYOUT);
        refused(comments.as_bytes(), &["layout.ron:"]);
    }
}

#[test]
fn a_million_entries_are_refused() {
    let outline = "outline: [(0, 400), (150, 450), (150, 600), (0, 600)]";
    let many = |pair: &str, count: usize| format!("outline: [{}]", pair.repeat(count));
    let (text, _) = edited(LAYOUT, outline, &many("(0,1),", 650_000));
    refused(text.as_bytes(), &["layout.ron:", "650000"]);
    // The bodies alone, without a shape to them, a million times over: too large to be a layout.
    let (text, _) = edited(LAYOUT, "bodies: [", &format!("bodies: [{}", "(),\n".repeat(1_000_000)));
    refused(text.as_bytes(), &["layout.ron:12:", "no field `name`"]);
    let (text, _) = edited(LAYOUT, "bodies: [", &format!("bodies: [{}", "1,\n".repeat(1_000_000)));
    refused(text.as_bytes(), &["layout.ron:12:14: found `1`"]);
    let drain = "(name:\"\",at:(0,0,0),diameter_mm:9),";
    let (text, _) = edited(LAYOUT, "drains: [", &format!("drains: [{}", drain.repeat(100_000)));
    refused(text.as_bytes(), &["layout.ron:43:13: ", "a list of 100001 entries"]);
    let (text, _) = edited(LAYOUT, "name: \"lump\"", &format!("name: \"{}\"", "x".repeat(3 << 20)));
    refused(text.as_bytes(), &["layout.ron:", "a name of 3145728 characters"]);
    let (text, _) = edited(LAYOUT, "role: Loom", &format!("role: {}", "x".repeat(3 << 20)));
    refused(text.as_bytes(), &["layout.ron:", "`xxxx"]);
}

#[test]
fn references_by_the_ten_thousand_are_refused() {
    let fixing = "(kind:Tie(width_mm:5),mount:\"a\",anchor:\"b\"),";
    let anchors: String = (0..4_000)
        .map(|i| {
            format!(
                "(name:\"an anchor with a long name, number {i}\",kind:Loop,at:(0,0,0),\
                 normal:(0,0,1),strength_n:9),"
            )
        })
        .collect();
    let (text, _) = edited(LAYOUT, "anchors: [", &format!("anchors: [{anchors}"));
    let place = "place: (at: (200, 170, 5)), fixings: [";
    let (text, _) = edited(&text, place, &format!("{place}{}", fixing.repeat(4_900)));
    refused(text.as_bytes(), &["layout.ron:", "the name of an anchor", "more problems"]);
}

#[test]
fn a_file_of_100_megabytes_is_refused_unread() {
    let workshop = Workshop::new();
    let file = fs::File::create(workshop.path("layout.ron")).expect("a new file");
    file.set_len(100_000_000).expect("room on the disk");
    assert_eq!(
        workshop.check().refusal(&["layout.ron: found a file of 100.0 MB", "at most 4 MB"]),
        ""
    );
    workshop.write("layout.ron", LAYOUT.as_bytes());
    let file = fs::File::create(workshop.path("pump.ron")).expect("a new file");
    file.set_len(100_000_000).expect("room on the disk");
    assert_eq!(workshop.check().refusal(&["pump.ron: found a file of 100.0 MB"]), "");
}

#[test]
fn a_mesh_of_100_megabytes_of_nothing_is_refused() {
    let workshop = Workshop::new();
    let file = fs::File::create(workshop.path("bump.glb")).expect("a new file");
    file.set_len(100_000_000).expect("room on the disk");
    assert_eq!(workshop.check().refusal(&["bump.glb: found ", "`glTF`"]), "");
}

#[test]
fn folders_and_missing_files_are_refused() {
    let workshop = Workshop::new();
    let run = workshop.check_file(&workshop.path(""));
    assert_eq!(run.refusal(&["boot: found a folder or device; expected a file"]), "");
    let run = workshop.check_file(&workshop.path("nowhere.ron"));
    assert_eq!(run.refusal(&["nowhere.ron: found ", "check the path"]), "");
    fs::remove_file(workshop.path("pump.ron")).expect("the pump");
    fs::create_dir(workshop.path("pump.ron")).expect("a folder in its place");
    assert_eq!(workshop.check().refusal(&["pump.ron: found a folder or device"]), "");
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_are_read() {
    let marked = format!("\u{feff}{LAYOUT}");
    let windows = LAYOUT.replace('\n', "\r\n");
    let both = format!("\u{feff}{windows}");
    let usual = run_on(LAYOUT.as_bytes());
    for text in [marked, windows.clone(), both] {
        let run = run_on(text.as_bytes());
        assert_eq!(run.answer(), "");
        assert_eq!(run.out, usual.out);
    }
    // And a mistake in such a file is still found on its line.
    let (text, place) = edited(&windows, "radius_mm: 10", "radius_mm: §-10");
    let (line, column) = place.expect("a marked place");
    let text = format!("\u{feff}{text}");
    refused(text.as_bytes(), &[&format!("layout.ron:{line}:{column}: ")]);
}

#[cfg(unix)]
mod unix {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::symlink;
    use std::path::Path;
    use std::process::Command;

    use super::*;

    #[test]
    fn devices_and_pipes_are_refused() {
        let workshop = Workshop::new();
        for device in ["/dev/zero", "/dev/null", "/dev/stdin", "/proc/self/mem"] {
            if Path::new(device).exists() && device != "/proc/self/mem" {
                let run = workshop.check_file(Path::new(device));
                assert_eq!(run.refusal(&[device, "found a folder or device"]), "");
            } else if Path::new(device).exists() {
                assert_eq!(workshop.check_file(Path::new(device)).refusal(&[device]), "");
            }
        }
        let pipe = workshop.path("pipe.ron");
        if Command::new("mkfifo").arg(&pipe).status().is_ok_and(|status| status.success()) {
            let run = workshop.check_file(&pipe);
            assert_eq!(run.refusal(&["pipe.ron: found a folder or device"]), "");
        }
    }

    #[test]
    fn links_that_lead_out_are_refused_and_links_inside_are_followed() {
        let workshop = Workshop::new();
        fs::write(workshop.outside("secret.ron"), PUMP).expect("a file outside");
        fs::remove_file(workshop.path("pump.ron")).expect("the pump");
        symlink(workshop.outside("secret.ron"), workshop.path("pump.ron")).expect("a link");
        let wanted = ["layout.ron:6:11: ", "found `pump.ron`, a link that leads out", "expected "];
        assert_eq!(workshop.check().refusal(&wanted), "");

        fs::remove_file(workshop.path("pump.ron")).expect("the link");
        workshop.write("unit.ron", PUMP.as_bytes());
        symlink(workshop.path("unit.ron"), workshop.path("pump.ron")).expect("a link");
        assert_eq!(workshop.check().answer(), "");

        // A folder that is a link out.
        fs::create_dir(workshop.outside("elsewhere")).expect("a folder");
        fs::write(workshop.outside("elsewhere/pump.ron"), PUMP).expect("a file outside");
        symlink(workshop.outside("elsewhere"), workshop.path("parts")).expect("a link");
        let (text, _) = edited(LAYOUT, "\"pump.ron\"", "\"parts/pump.ron\"");
        workshop.write("layout.ron", text.as_bytes());
        assert_eq!(workshop.check().refusal(&["a link that leads out"]), "");

        // A link to itself.
        fs::remove_file(workshop.path("pump.ron")).expect("the link");
        symlink(workshop.path("pump.ron"), workshop.path("pump.ron")).expect("a link");
        workshop.write("layout.ron", LAYOUT.as_bytes());
        assert_eq!(workshop.check().refusal(&["layout.ron:6:11: ", "`pump.ron`"]), "");
    }

    #[test]
    fn a_pump_that_is_a_device_is_refused() {
        let workshop = Workshop::new();
        fs::remove_file(workshop.path("pump.ron")).expect("the pump");
        symlink("/dev/zero", workshop.path("pump.ron")).expect("a link");
        assert_eq!(workshop.check().refusal(&["`pump.ron`, a link that leads out"]), "");
    }

    #[test]
    fn a_file_name_that_is_no_text_is_read_or_refused_but_shown() {
        let workshop = Workshop::new();
        let path = workshop.path("").join(OsStr::from_bytes(b"lay\xffout\x1b[31m.ron"));
        if fs::write(&path, LAYOUT.replace("schema: 1", "schema: 9")).is_ok() {
            assert_eq!(workshop.check_file(&path).refusal(&["schema 9"]), "");
        }
    }
}
