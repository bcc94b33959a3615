//! Opening another layout in the same window: a list of those near by, or a path.

use std::path::{Path, PathBuf};

use bevy_egui::egui::{Context, Key, RichText, ScrollArea, TextEdit};

use super::{Desk, dialog};
use crate::checks::Verdict;
use crate::scene::view::Choosing;

/// Most layouts that are listed.
const MOST: usize = 100;

/// The largest file that is taken for a layout, bytes.
const LARGEST: u64 = 4 << 20;

/// How deep folders are looked into below one that holds layouts.
const DEEP: usize = 3;

/// Asks which layout to open.
pub(crate) fn ask(desk: &mut Desk) {
    if desk.opening.busy() {
        return;
    }
    desk.keep_name();
    let found = near(desk.document.file().path());
    desk.view.choosing = Some(Choosing { found, ..Choosing::default() });
}

/// The dialog, while a layout is being chosen.
pub(crate) fn show(ctx: &Context, desk: &mut Desk) {
    let Some(mut choosing) = desk.view.choosing.take() else { return };
    let unsaved = desk.document.any_unsaved();
    let (mut open, mut leave, mut close) = (false, false, false);
    dialog(ctx, "open", "Open a layout", 470.0, |ui| {
        let faint = |words: &str| RichText::new(words).size(12.0).color(desk.palette.faint);
        if choosing.found.is_empty() {
            ui.label(faint("No layout lies beside the open one or in a folder `layouts`."));
        }
        ScrollArea::vertical().max_height(230.0).auto_shrink([false, true]).show(ui, |ui| {
            for (name, path) in &choosing.found {
                let shown = path.display().to_string();
                let file = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
                let alike = |(other, at): &&(String, PathBuf)| {
                    other == name && at.file_name() == path.file_name()
                };
                // Those that would look alike are told apart by where they lie.
                let words = if choosing.found.iter().filter(alike).count() > 1 {
                    format!("{name} ({shown})")
                } else {
                    format!("{name} ({file})")
                };
                let row = ui.selectable_label(choosing.path == shown, words);
                if row.clone().on_hover_text(&shown).clicked() {
                    choosing.path.clone_from(&shown);
                    choosing.wrong = None;
                }
                open |= row.double_clicked() && !unsaved;
            }
        });
        ui.label("Its file");
        let edit = TextEdit::singleline(&mut choosing.path).desired_width(f32::INFINITY);
        let edit = ui.add(edit.hint_text("a path to a .ron file"));
        if !choosing.ready {
            edit.request_focus();
            choosing.ready = true;
        }
        if edit.changed() {
            choosing.wrong = None;
        }
        open |= edit.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if let Some(wrong) = &choosing.wrong {
            ui.label(RichText::new(wrong).color(desk.palette.verdict(Verdict::Fail)));
        }
        if unsaved {
            let words = "The open layout has unsaved changes.";
            ui.label(RichText::new(words).size(12.5).color(desk.palette.verdict(Verdict::Tight)));
        }
        ui.add_space(4.0);
        ui.horizontal(|ui| {
            open |= ui.button(if unsaved { "Save and open" } else { "Open" }).clicked();
            if unsaved {
                leave = ui.button("Open without saving").clicked();
            }
            close = ui.button("Cancel").clicked();
        });
    });
    if close {
        return;
    }
    if open || leave {
        match wanted(&choosing.path) {
            Err(why) => choosing.wrong = Some(why),
            Ok(path) => {
                if !leave && unsaved {
                    desk.save();
                }
                if leave || !desk.document.any_unsaved() {
                    desk.opening.open_known(path, leave);
                    return;
                }
                choosing.wrong = Some("The open layout could not be saved".into());
            }
        }
    }
    desk.view.choosing = Some(choosing);
}

/// The path as typed, when there is a file.
fn wanted(typed: &str) -> Result<PathBuf, String> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Err("Choose a layout above, or type the path of its file".into());
    }
    let path = PathBuf::from(typed);
    if path.is_file() {
        return Ok(path);
    }
    let shown = std::path::absolute(&path).unwrap_or(path);
    Err(format!("There is no file {}", shown.display()))
}

/// The layouts in the folder of the open one and below it in `layouts`, and in `layouts` below the current
/// folder, by their model and path.
fn near(open: Option<&Path>) -> Vec<(String, PathBuf)> {
    let here = PathBuf::from(".");
    let beside = open.and_then(Path::parent).map(|folder| {
        if folder.as_os_str().is_empty() { here.clone() } else { folder.to_path_buf() }
    });
    let beside = beside.unwrap_or(here);
    let mut files = Vec::new();
    look_into(&beside, 0, &mut files);
    look_into(&beside.join("layouts"), DEEP, &mut files);
    look_into(Path::new("layouts"), DEEP, &mut files);
    let mut found: Vec<(String, PathBuf)> = Vec::new();
    let mut seen = std::collections::BTreeSet::new();
    for file in files {
        if found.len() >= MOST {
            break;
        }
        let whole = file.canonicalize().unwrap_or_else(|_| file.clone());
        if !seen.insert(whole) {
            continue;
        }
        let Ok(text) = std::fs::read_to_string(&file) else { continue };
        if let Ok(layout) = crate::format::layout_from_text("", &text) {
            found.push((layout.name, file));
        }
    }
    found.sort();
    found
}

/// Files in a folder that may be layouts, and in the folders below it as deep as said.
fn look_into(folder: &Path, deep: usize, files: &mut Vec<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    for path in paths {
        if files.len() > 4 * MOST {
            return;
        }
        let Ok(known) = std::fs::symlink_metadata(&path) else { continue };
        if known.is_dir() {
            if deep > 0 {
                look_into(&path, deep - 1, files);
            }
        } else if path.extension().is_some_and(|end| end == "ron")
            && std::fs::metadata(&path).is_ok_and(|it| it.is_file() && it.len() <= LARGEST)
        {
            files.push(path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layouts_near_by_are_listed_once_and_nothing_else_is() {
        let folder = tempfile::tempdir().expect("a folder");
        let text = include_str!("../../../layouts/wrenfield-drop-top.ron");
        let below = folder.path().join("layouts/2026");
        std::fs::create_dir_all(&below).expect("folders");
        for path in [folder.path().join("a.ron"), below.join("b.ron")] {
            std::fs::write(path, text).expect("a file");
        }
        std::fs::write(folder.path().join("pump.ron"), "(schema: 1)").expect("a file");
        std::fs::write(folder.path().join("a.txt"), text).expect("a file");
        let found = near(Some(&folder.path().join("a.ron")));
        let own: Vec<&PathBuf> =
            found.iter().map(|it| &it.1).filter(|path| path.starts_with(folder.path())).collect();
        assert_eq!(own.len(), 2, "{found:?}");
        assert!(own.iter().any(|path| path.ends_with("layouts/2026/b.ron")));
    }

    #[test]
    fn a_path_without_a_file_is_refused_in_words() {
        assert!(wanted(" ").is_err());
        let why = wanted("no/such/layout.ron").expect_err("there is none");
        assert!(why.contains("layout.ron"), "{why}");
    }
}
