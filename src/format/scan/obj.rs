//! OBJ, read by tobj. Colours, names, groups and materials are left alone.

use std::io::{BufRead, Read};

use super::input::{Input, MOST_CORNERS};
use super::polygons::{MOST_SIDES, add_face};
use crate::format::error::FileError;
use crate::geometry::Triangles;

/// Every face of an OBJ file, in its own coordinates.
pub(super) fn read(input: &mut Input) -> Result<Triangles, FileError> {
    let options = tobj::LoadOptions {
        triangulate: false,
        ignore_points: true,
        ignore_lines: true,
        ..tobj::LoadOptions::default()
    };
    if input
        .fill_buf()
        .is_ok_and(|begun| begun.starts_with(&[0xFE, 0xFF]) || begun.starts_with(&[0xFF, 0xFE]))
    {
        return input.fail("text in UTF-16", "an OBJ file in plain text or UTF-8; export it again");
    }
    // Nothing but the file itself is opened.
    let no_materials = |_: &std::path::Path| Err(tobj::LoadError::OpenFileFailed);
    let mut lines = SurfaceLines { input, line: Vec::new(), taken: 0 };
    let (models, _) = match tobj::load_obj_buf(&mut lines, &options, no_materials) {
        Ok(read) => read,
        Err(error) => {
            return input.fail_here(
                format!("a line of an OBJ file that can't be read ({error})"),
                "`v x y z` with numbers and `f` with corners listed before it",
            );
        }
    };
    let mut found = Triangles::default();
    for model in models {
        let mesh = model.mesh;
        let first = found.vertices.len();
        if first + mesh.positions.len() / 3 > MOST_CORNERS {
            return input.fail(
                format!("more than {MOST_CORNERS} corners"),
                "a simpler mesh; reduce it before export",
            );
        }
        for at in mesh.positions.chunks_exact(3) {
            found.vertices.push(input.corner([at[0], at[1], at[2]])?);
        }
        let numbers: Vec<u32> = mesh.indices.iter().map(|&corner| corner + first as u32).collect();
        if let Some(outside) = numbers.iter().find(|&&one| one as usize >= found.vertices.len()) {
            return input.fail(format!("corner {outside}"), "corners that the file lists");
        }
        if mesh.face_arities.is_empty() {
            input.not_too_many(found.indices.len() + numbers.len() / 3)?;
            found
                .indices
                .extend(numbers.chunks_exact(3).map(|three| [three[0], three[1], three[2]]));
            continue;
        }
        let mut rest = numbers.as_slice();
        for sides in mesh.face_arities {
            let sides = sides as usize;
            if sides > MOST_SIDES {
                return input.fail(
                    format!("a face of {sides} corners"),
                    format!("at most {MOST_SIDES}; export as triangles"),
                );
            }
            let (face, after) = rest.split_at(sides.min(rest.len()));
            add_face(&mut found, face);
            rest = after;
            input.not_too_many(found.indices.len())?;
        }
    }
    input.sized(found)
}

/// The lines of an OBJ file that say corners and faces; the others as empty ones, so that an odd name of a
/// material, or one that is not in UTF-8, does no harm.
struct SurfaceLines<'a, 'b> {
    input: &'a mut Input<'b>,
    line: Vec<u8>,
    taken: usize,
}

impl Read for SurfaceLines<'_, '_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let mut ready = self.fill_buf()?;
        let count = ready.read(into)?;
        self.consume(count);
        Ok(count)
    }
}

impl BufRead for SurfaceLines<'_, '_> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        if self.taken >= self.line.len() {
            self.line.clear();
            self.taken = 0;
            self.input.read_until(b'\n', &mut self.line)?;
            // A backslash at its end: the next line belongs to it.
            while let Some(end) = continued(&self.line) {
                self.line.truncate(end);
                self.line.push(b' ');
                if self.input.read_until(b'\n', &mut self.line)? == 0 {
                    break;
                }
            }
            let first = self.line.split(u8::is_ascii_whitespace).find(|word| !word.is_empty());
            let wanted = first.is_some_and(|word| matches!(word, b"v" | b"vt" | b"vn" | b"f"));
            if !wanted && !self.line.is_empty() {
                self.line = b"\n".to_vec();
            }
        }
        Ok(&self.line[self.taken..])
    }

    fn consume(&mut self, count: usize) {
        self.taken += count;
    }
}

/// Where the backslash stands with which a line says that the next one belongs to it.
fn continued(line: &[u8]) -> Option<usize> {
    let end = line.trim_ascii_end();
    let ended = line.len() > end.len();
    (ended && end.last() == Some(&b'\\')).then(|| end.len() - 1)
}
