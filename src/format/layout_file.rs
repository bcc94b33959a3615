//! The layout's file: read, found beside, changed and saved without losing anything.

use std::fs;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

use super::atomic::write_atomically;
use super::demo::{self, Demo};
use super::error::FileError;
use super::read::{layout_from_text, nothing_wrong, options};
use super::ron_text::line_column;
use super::splice::spliced;
use super::upgrade::upgraded_text;
use crate::compare::Adjustment;
use crate::model::{Layout, Spot, Step, Trial};

/// Largest layout or pump file, bytes. The demo layouts take 30 thousand.
const LARGEST_TEXT: u64 = 4 << 20;

/// Largest mesh file, bytes.
const LARGEST_MESH: u64 = 256 << 20;

/// A layout's text and where it came from.
#[derive(Debug, Clone)]
pub struct LayoutFile {
    origin: Origin,
    text: String,
}

#[derive(Debug, Clone)]
enum Origin {
    Disk(PathBuf),
    Demo(&'static Demo),
}

/// A file that a layout names.
pub(super) struct Beside {
    pub(super) name: String,
    pub(super) bytes: Vec<u8>,
}

impl Beside {
    pub(super) fn text(&self) -> Result<String, FileError> {
        utf8(&self.name, self.bytes.clone())
    }
}

impl LayoutFile {
    pub(super) fn read(path: &Path) -> Result<LayoutFile, FileError> {
        let name = path.display().to_string();
        let text = utf8(&name, read_capped(path, &name, LARGEST_TEXT, "a layout")?)?;
        Ok(LayoutFile { origin: Origin::Disk(path.to_path_buf()), text })
    }

    pub(super) fn of_demo(demo: &'static Demo) -> LayoutFile {
        LayoutFile { origin: Origin::Demo(demo), text: demo.layout.to_string() }
    }

    /// Where it is on disk; none for a demo built into the program.
    pub fn path(&self) -> Option<&Path> {
        match &self.origin {
            Origin::Disk(path) => Some(path),
            Origin::Demo(_) => None,
        }
    }

    /// Its name for messages.
    pub fn name(&self) -> String {
        match &self.origin {
            Origin::Disk(path) => path.display().to_string(),
            Origin::Demo(demo) => format!("demo {}", demo.name),
        }
    }

    /// Its text as last read or written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// A file that the layout names, at `path` in its text, by a relative path: in the layout's own
    /// folder, then in the assets folder next to that, then among the assets built into the program.
    pub(super) fn beside(
        &self,
        wanted: &str,
        endings: &[&str],
        path: &[Step],
    ) -> Result<Beside, FileError> {
        self.named_by(wanted, endings, (&self.name(), &self.text, path))
    }

    /// Like [`beside`](Self::beside), for a path that stands in another file than the layout, such as
    /// the pump's: its name, its text, and where in it.
    pub(super) fn named_by(
        &self,
        wanted: &str,
        endings: &[&str],
        (by, text, path): (&str, &str, &[Step]),
    ) -> Result<Beside, FileError> {
        let on_disk = self.find(wanted, endings, by).map_err(|error| error.at(text, path))?;
        if let Some(found) = on_disk {
            let largest = if endings.contains(&"glb") { LARGEST_MESH } else { LARGEST_TEXT };
            let name = found.display().to_string();
            let bytes = read_capped(&found, &name, largest, "such a file")?;
            return Ok(Beside { name, bytes });
        }
        demo::asset(wanted)
            .map(|bytes| Beside { name: wanted.to_string(), bytes: bytes.to_vec() })
            .ok_or_else(|| {
                FileError::one(
                    by,
                    format!("`{wanted}`, which doesn't exist"),
                    "a file in the layout's folder or in the assets folder next to it; put it there \
                     or correct the path",
                )
                .at(text, path)
            })
    }

    /// Where on disk the file is that the layout names `wanted`, if it is there.
    fn find(&self, wanted: &str, endings: &[&str], by: &str) -> Result<Option<PathBuf>, FileError> {
        let relative = jailed(by, wanted, endings)?;
        let Origin::Disk(path) = &self.origin else { return Ok(None) };
        let folder = match path.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
            _ => PathBuf::from("."),
        };
        let assets = [folder.join("assets"), folder.join("..").join("assets")];
        for root in std::iter::once(folder).chain(assets) {
            if let Some(found) = inside(&root, &relative, wanted, by)? {
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    /// Saves a spot: replaces the one of its name in the file's text, or adds it at the end of the
    /// list; see [`save_layout`](Self::save_layout).
    ///
    /// # Errors
    /// As for [`save_layout`](Self::save_layout).
    pub fn save_spot(&mut self, spot: &Spot) -> Result<PathBuf, FileError> {
        self.save_spot_over(&spot.name, spot)
    }

    /// Like [`save_spot`](Self::save_spot), but replaces the spot that stands in the file as
    /// `filed_as`: a spot that was renamed keeps its place there.
    ///
    /// # Errors
    /// As for [`save_layout`](Self::save_layout), and when another spot of the file has its new name.
    pub fn save_spot_over(&mut self, filed_as: &str, spot: &Spot) -> Result<PathBuf, FileError> {
        let layout = self.layout_with(filed_as, spot)?;
        self.save_layout(&layout)
    }

    /// Saves a layout: writes into the file's text what differs from what stands there. Comments and
    /// everything else stay as they are. The file is written beside, synced and renamed; the last
    /// version is kept as `….ron.bak`. A demo is first unpacked into `dryberth-demo` in the current
    /// folder, or into the next free one numbered after it. Gives the path written.
    ///
    /// # Errors
    /// When the layout holds values that can't be used, the file was changed on disk since it was
    /// read, or it can't be written.
    pub fn save_layout(&mut self, layout: &Layout) -> Result<PathBuf, FileError> {
        let text = self.text_with(layout)?;
        self.write_over(text)
    }

    /// Keeps a trial fit with the layout: adds it at the end of `trials`, and sets the tolerances that
    /// `adjustments` ask for. As for [`save_layout`](Self::save_layout), everything else in the file
    /// stays to the byte and the last version is kept. Gives the path written.
    ///
    /// # Errors
    /// As for [`save_layout`](Self::save_layout).
    pub fn save_trial(
        &mut self,
        trial: &Trial,
        adjustments: &[Adjustment],
    ) -> Result<PathBuf, FileError> {
        let before = layout_from_text(&self.name(), &self.text)?;
        let mut layout = crate::compare::adjusted(before, adjustments);
        layout.trials.push(trial.clone());
        self.save_layout(&layout)
    }

    /// Brings the file to the newest schema; the original is kept beside as `….schema-N.ron`. Gives the
    /// paths of the layout and of the original; none when the schema is the newest already.
    ///
    /// # Errors
    /// When it is a demo, a file of the original's name exists with other text, or it can't be written.
    pub fn upgrade(&mut self) -> Result<Option<(PathBuf, PathBuf)>, FileError> {
        let layout = layout_from_text(&self.name(), &self.text)?;
        let Some(text) = upgraded_text(&self.name(), &self.text)? else { return Ok(None) };
        let Origin::Disk(path) = &self.origin else {
            return Err(FileError::one(
                self.name(),
                "a demo",
                "a layout file; unpack the demo first",
            ));
        };
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let kept = path.with_file_name(format!("{stem}.schema-{}.ron", layout.schema));
        let original = read_capped(path, &self.name(), LARGEST_TEXT, "a layout")?;
        if kept.exists() && fs::read(&kept).ok().as_ref() != Some(&original) {
            return Err(FileError::one(
                kept.display().to_string(),
                "a file that exists already and says something else",
                "a free name for the original; move that file away",
            ));
        }
        write_atomically(&kept, &original)?;
        let path = self.write_over(text)?;
        Ok(Some((path, kept)))
    }

    /// Writes a text over the file that was read, keeping its last version beside.
    fn write_over(&mut self, text: String) -> Result<PathBuf, FileError> {
        let path = match &self.origin {
            Origin::Disk(path) => path.clone(),
            Origin::Demo(demo) => demo.unpack(&demo.free_folder())?,
        };
        self.origin = Origin::Disk(path.clone());
        let on_disk = read_capped(&path, &self.name(), LARGEST_TEXT, "a layout")?;
        if utf8(&self.name(), on_disk.clone())? != self.text {
            return Err(FileError::one(
                self.name(),
                "a file that was changed on disk since it was opened",
                "the text that was read; open it again, then save; nothing was written",
            ));
        }
        write_atomically(&backup_path(&path), &on_disk)?;
        write_atomically(&path, text.as_bytes())?;
        self.text = text;
        Ok(path)
    }

    /// Saves a spot like [`save_spot_over`](Self::save_spot_over), but into a new file in the same
    /// folder, so that relative paths hold, and goes on from that file. The old file stays as it is.
    ///
    /// # Errors
    /// When the new file exists already, lies in another folder, or can't be written.
    pub fn save_copy(
        &mut self,
        path: &Path,
        filed_as: &str,
        spot: &Spot,
    ) -> Result<PathBuf, FileError> {
        let layout = self.layout_with(filed_as, spot)?;
        self.save_layout_copy(path, &layout)
    }

    /// Saves a layout like [`save_layout`](Self::save_layout), but into a new file in the same folder,
    /// and goes on from that file. The old file stays as it is.
    ///
    /// # Errors
    /// When the new file exists already, lies in another folder, or can't be written.
    pub fn save_layout_copy(&mut self, path: &Path, layout: &Layout) -> Result<PathBuf, FileError> {
        let text = self.text_with(layout)?;
        let name = path.display().to_string();
        let folder = match &self.origin {
            Origin::Disk(old) => old.parent().map(Path::to_path_buf).unwrap_or_default(),
            Origin::Demo(demo) => {
                let unpacked = demo.unpack(&demo.free_folder())?;
                unpacked.parent().map(Path::to_path_buf).unwrap_or_default()
            }
        };
        let Some(file) = path.file_name().filter(|_| path.extension().is_some_and(|e| e == "ron"))
        else {
            return Err(FileError::one(name, "no file name ending in .ron", "such as boot-2.ron"));
        };
        let beside =
            path.parent().is_none_or(|parent| parent.as_os_str().is_empty() || parent == folder);
        if !beside {
            return Err(FileError::one(
                name,
                "another folder",
                format!(
                    "a name in `{}`, where the layout's pump and meshes are found",
                    folder.display()
                ),
            ));
        }
        let path = folder.join(file);
        if path.exists() {
            return Err(FileError::one(name, "a file that exists already", "a new name"));
        }
        write_atomically(&path, text.as_bytes())?;
        self.origin = Origin::Disk(path.clone());
        self.text = text;
        Ok(path)
    }

    /// Begins a new layout in a file that doesn't exist yet, with comments that say what goes where.
    ///
    /// # Errors
    /// When the layout holds values that can't be used, the name doesn't end in .ron, a file of that
    /// name exists, or it can't be written.
    pub fn create(path: &Path, layout: &Layout) -> Result<LayoutFile, FileError> {
        let name = path.display().to_string();
        if path.extension().is_none_or(|ending| ending != "ron") {
            return Err(FileError::one(name, "no file name ending in .ron", "such as boot.ron"));
        }
        if path.exists() {
            return Err(FileError::one(name, "a file that exists already", "a new name"));
        }
        let blank = super::blank::TEXT;
        let mut file =
            LayoutFile { origin: Origin::Disk(path.to_path_buf()), text: blank.to_string() };
        let text = file.text_with(layout)?;
        write_atomically(path, text.as_bytes())?;
        file.text = text;
        Ok(file)
    }

    /// The text that saving `layout` would write, proven to read back as that layout.
    ///
    /// # Errors
    /// When the layout holds values that can't be used, or the file's text can't be changed in place.
    pub fn text_with(&self, layout: &Layout) -> Result<String, FileError> {
        nothing_wrong(&self.name(), "", &layout.problems())?;
        let before = options().from_str::<Layout>(&self.text).map_err(|_| self.unchangeable())?;
        spliced(&self.text, &before, layout).ok_or_else(|| self.unchangeable())
    }

    fn unchangeable(&self) -> FileError {
        FileError::one(
            self.name(),
            "a text that can't be changed in place",
            "lists such as `spots: [ … ]` in brackets; nothing was written",
        )
    }

    /// The file's layout with a spot in it.
    fn layout_with(&self, filed_as: &str, spot: &Spot) -> Result<Layout, FileError> {
        let mut layout = layout_from_text(&self.name(), &self.text)?;
        match layout.spots.iter().position(|known| known.name == filed_as) {
            Some(index) => layout.spots[index] = spot.clone(),
            None => layout.spots.push(spot.clone()),
        }
        Ok(layout)
    }

    /// The text that is on disk now, when it is another one than was read or written last; none for a
    /// demo, and when the file can't be read now.
    pub fn changed_on_disk(&self) -> Option<String> {
        let Origin::Disk(path) = &self.origin else { return None };
        let name = self.name();
        let bytes = read_capped(path, &name, LARGEST_TEXT, "a layout").ok()?;
        utf8(&name, bytes).ok().filter(|text| *text != self.text)
    }

    /// Goes on from another text of the same file: what is saved next is written into that.
    ///
    /// # Errors
    /// When the text is no sound layout.
    pub fn rebase(&mut self, text: String) -> Result<(), FileError> {
        layout_from_text(&self.name(), &text)?;
        self.text = text;
        Ok(())
    }
}

fn backup_path(path: &Path) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(".bak");
    path.with_file_name(name)
}

/// The file at `relative` under `root`, if there is one; an error when a link leads out.
fn inside(
    root: &Path,
    relative: &Path,
    wanted: &str,
    by: &str,
) -> Result<Option<PathBuf>, FileError> {
    let candidate = root.join(relative);
    let (Ok(real_root), Ok(real)) = (root.canonicalize(), candidate.canonicalize()) else {
        return Ok(None);
    };
    if !real.starts_with(&real_root) {
        return Err(FileError::one(
            by,
            format!("`{wanted}`, a link that leads out of `{}`", root.display()),
            "a file that lies inside the layout's folder or the assets folder",
        ));
    }
    Ok(Some(candidate))
}

pub(super) fn jailed(file: &str, wanted: &str, endings: &[&str]) -> Result<PathBuf, FileError> {
    let refuse = |found: String, expected: &str| Err(FileError::one(file, found, expected));
    let path = Path::new(wanted);
    let inward = path.components().all(|part| matches!(part, Component::Normal(_)))
        && !wanted.contains(['\\', ':', '\0']);
    if !inward || wanted.is_empty() {
        return refuse(
            format!("the path `{wanted}`"),
            "a relative path with forward slashes that stays inside the layout's folder or the \
             assets folder: no `..`, no leading `/`, no drive",
        );
    }
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    if !endings.iter().any(|known| known.eq_ignore_ascii_case(ending)) {
        return refuse(
            format!("the path `{wanted}`"),
            &format!("a file ending in .{}", endings[0]),
        );
    }
    Ok(path.to_path_buf())
}

pub(super) fn read_capped(
    path: &Path,
    name: &str,
    largest: u64,
    what: &str,
) -> Result<Vec<u8>, FileError> {
    let cannot = |error: std::io::Error| {
        let expected = if error.kind() == std::io::ErrorKind::NotFound {
            "a file that exists; check the path"
        } else {
            "a file that can be read"
        };
        FileError::one(name, format!("a file that can't be opened ({error})"), expected)
    };
    let kind = fs::metadata(path).map_err(cannot)?;
    if !kind.is_file() {
        return Err(FileError::one(name, "a folder or device", "a file"));
    }
    let mut bytes = Vec::new();
    let file = fs::File::open(path).map_err(cannot)?;
    file.take(largest + 1).read_to_end(&mut bytes).map_err(cannot)?;
    if bytes.len() as u64 > largest {
        return Err(FileError::one(
            name,
            format!("a file of {:.1} MB", kind.len() as f64 / 1e6),
            format!("{what} of at most {:.0} MB; is it the right file?", largest as f64 / 1e6),
        ));
    }
    Ok(bytes)
}

pub(super) fn utf8(name: &str, bytes: Vec<u8>) -> Result<String, FileError> {
    let text = String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let odd = error.as_bytes().get(valid).copied().unwrap_or_default();
        let text = String::from_utf8_lossy(&error.as_bytes()[..valid]);
        let mut refused = FileError::one(
            name,
            format!("the byte {odd:#04x}, which is not UTF-8 text"),
            "RON text in UTF-8; save it as that",
        );
        refused.problems[0].position = Some(line_column(&text, valid));
        refused
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_string).unwrap_or(text))
}
