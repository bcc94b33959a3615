//! A folder of layouts, searched; and a new layout begun from another.

use std::path::{Path, PathBuf};

use super::atomic::write_atomically;
use super::error::FileError;
use super::layout_file::{LayoutFile, read_capped, utf8};
use super::read::layout_from_text;
use super::ron_text::find;
use super::{Opened, mesh_files};
use crate::model::{Layout, Step};

/// How deep folders are looked into.
const DEEPEST: usize = 6;

/// Most files that are looked at.
const MOST_FILES: usize = 20_000;

/// Largest layout, bytes.
const LARGEST_TEXT: u64 = 4 << 20;

/// What is looked for; what is left empty is not asked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wanted {
    /// Words of the model's name, what the layout says about itself, or the file's name.
    pub words: Vec<String>,
    /// Options that the layout must list, by name or code or part of a name.
    pub options: Vec<String>,
    /// Words of the pump's name or file.
    pub pump: Vec<String>,
}

/// What a layout of the library is like.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct LibraryEntry {
    /// Its file.
    pub file: String,
    /// The model.
    pub name: String,
    /// The pump's name; its path where its file can't be read.
    pub pump: String,
    /// The options it lists.
    pub options: Vec<String>,
    /// Its spots.
    pub spots: Vec<String>,
    /// How many trial fits it keeps.
    pub trials: usize,
    /// How well it answers, 0 to 1.
    pub likeness: f64,
}

/// A file that looks like a layout and can't be read.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Unread {
    /// Its file.
    pub file: String,
    /// Why.
    pub why: String,
}

/// What a search of the library found.
#[derive(Debug, Clone, Default, PartialEq, serde::Serialize)]
pub struct Found {
    /// Layouts that answer, best first, then by file.
    pub layouts: Vec<LibraryEntry>,
    /// Layouts that can't be read, by file.
    pub unread: Vec<Unread>,
}

/// Searches a folder and those in it for layouts. Every word must be found, or one that is spelt nearly
/// so (Jaro and Winkler's likeness of at least 0.9).
///
/// # Errors
/// When the folder can't be read.
pub fn search_library(folder: &Path, wanted: &Wanted) -> Result<Found, FileError> {
    let mut files = Vec::new();
    list(folder, 0, &mut files)?;
    files.sort();
    let mut found = Found::default();
    for path in files {
        let name = path.display().to_string();
        let Ok(text) = read_capped(&path, &name, LARGEST_TEXT, "a layout")
            .and_then(|bytes| utf8(&name, bytes))
        else {
            continue;
        };
        // Pumps, plans, jobs and settings lie in the same folders.
        let layout_like =
            ["bodies", "origin"].iter().all(|field| find(&text, &[Step::Field(field)]).is_some());
        if !layout_like {
            continue;
        }
        match layout_from_text(&name, &text) {
            Ok(layout) => {
                let pump = LayoutFile::read(&path)
                    .ok()
                    .and_then(|file| super::pump_of(&file, &layout).ok())
                    .map_or_else(|| layout.pump.clone(), |(.., pump)| pump.name);
                if let Some(likeness) = likeness(&layout, &name, &pump, wanted) {
                    found.layouts.push(entry(layout, name, pump, likeness));
                }
            }
            Err(error) => {
                let why = error.to_string().lines().next().unwrap_or_default().to_string();
                found.unread.push(Unread { file: name, why });
            }
        }
    }
    found
        .layouts
        .sort_by(|a, b| b.likeness.total_cmp(&a.likeness).then_with(|| a.file.cmp(&b.file)));
    Ok(found)
}

fn entry(layout: Layout, file: String, pump: String, likeness: f64) -> LibraryEntry {
    LibraryEntry {
        file,
        name: layout.name,
        pump,
        options: layout.options.into_iter().map(|option| option.name).collect(),
        spots: layout.spots.into_iter().map(|spot| spot.name).collect(),
        trials: layout.trials.len(),
        likeness,
    }
}

fn list(folder: &Path, depth: usize, files: &mut Vec<PathBuf>) -> Result<(), FileError> {
    let entries = std::fs::read_dir(folder).map_err(|error| {
        FileError::one(
            folder.display().to_string(),
            format!("a folder that can't be read ({error})"),
            "a folder of layouts",
        )
    })?;
    for entry in entries.flatten() {
        let Ok(kind) = entry.file_type() else { continue };
        let path = entry.path();
        if kind.is_dir() && depth < DEEPEST {
            // A folder within that can't be read hides nothing of the others.
            let _ = list(&path, depth + 1, files);
        } else if kind.is_file()
            && path.extension().is_some_and(|ending| ending == "ron")
            && files.len() < MOST_FILES
        {
            files.push(path);
        }
    }
    Ok(())
}

/// How well a layout answers, 0 to 1; none when it doesn't.
fn likeness(layout: &Layout, file: &str, pump: &str, wanted: &Wanted) -> Option<f64> {
    let stem = Path::new(file).file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let own = format!("{} {stem}", layout.name);
    let mut sum = 0.0;
    let mut count = 0.0;
    for word in &wanted.words {
        // What stands in the name counts more than what is told about it.
        sum +=
            word_in(word, &own).or_else(|| word_in(word, &layout.about).map(|like| like * 0.5))?;
        count += 1.0;
    }
    for word in &wanted.pump {
        sum += word_in(word, &format!("{pump} {}", layout.pump))?;
        count += 1.0;
    }
    for option in &wanted.options {
        let lower = option.to_lowercase();
        let has = |known: &crate::model::OptionModule| {
            known.name.to_lowercase().contains(&lower) || known.code.to_lowercase() == lower
        };
        layout.options.iter().find(|known| has(known))?;
        sum += 1.0;
        count += 1.0;
    }
    Some(if count > 0.0 { sum / count } else { 1.0 })
}

fn word_in(word: &str, text: &str) -> Option<f64> {
    let (word, text) = (word.to_lowercase(), text.to_lowercase());
    if text.contains(&word) {
        return Some(1.0);
    }
    let words = text.split(|letter: char| !letter.is_alphanumeric());
    let best = words.map(|known| strsim::jaro_winkler(&word, known)).fold(0.0, f64::max);
    (best >= 0.9).then_some(best)
}

impl Opened {
    /// Begins a new layout from this one: its text under a new name, without its trial fits, in a new
    /// file; pump and meshes go along where the new folder lacks them. This layout stays as it is.
    ///
    /// # Errors
    /// When the new file exists already or something can't be written.
    pub fn begin_new(&self, path: &Path, name: &str) -> Result<Layout, FileError> {
        let shown = path.display().to_string();
        if path.extension().is_none_or(|ending| ending != "ron") {
            return Err(FileError::one(shown, "no file name ending in .ron", "such as boot-2.ron"));
        }
        if path.exists() {
            return Err(FileError::one(shown, "a file that exists already", "a new name"));
        }
        let expected = Layout { name: name.to_string(), trials: Vec::new(), ..self.layout.clone() };
        let text = self.file.text_with(&expected)?;
        let from = self.file.name().replace('\n', " ");
        let text = format!(
            "// Begun from {from}.\n// Measure again what differs on this car; what was told of the other still stands below.\n{text}"
        );
        let layout = layout_from_text(&shown, &text)?;
        let folder = path.parent().unwrap_or(Path::new(""));
        let mut needed = vec![(self.layout.pump.as_str(), "ron", vec![Step::Field("pump")])];
        needed.extend(mesh_files(&self.layout).map(|(file, path)| (file, "glb", path)));
        for (wanted, ending, step) in needed {
            let there = [
                folder.join(wanted),
                folder.join("assets").join(wanted),
                folder.join("..").join("assets").join(wanted),
            ];
            if there.iter().any(|place| place.exists()) {
                continue;
            }
            let bytes = self.file.beside(wanted, &[ending], &step)?.bytes;
            let to = &there[0];
            if let Some(parent) = to.parent() {
                std::fs::create_dir_all(parent).map_err(|error| {
                    FileError::one(
                        parent.display().to_string(),
                        format!("a folder that can't be made ({error})"),
                        "a place that may be written to",
                    )
                })?;
            }
            write_atomically(to, &bytes)?;
        }
        write_atomically(path, text.as_bytes())?;
        Ok(layout)
    }
}
