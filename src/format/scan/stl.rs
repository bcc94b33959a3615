//! STL, read by stl_io: binary, and text with one solid or several.

use std::io::{BufRead, Read, Seek, SeekFrom};

use super::input::{Input, said};
use crate::format::error::FileError;
use crate::geometry::Triangles;

/// Bytes of a binary file before its triangles, and of each.
const HEADER: u64 = 84;
const TRIANGLE: u64 = 50;

/// Every triangle of an STL file, in its own coordinates; corners are not yet shared.
pub(super) fn read(input: &mut Input) -> Result<Triangles, FileError> {
    let start = match input.fill_buf() {
        Ok(start) => start[..start.len().min(HEADER as usize)].to_vec(),
        Err(error) => return input.fail(said(&error.to_string()), "a file that can be read"),
    };
    let text = start.len() >= 5 && start[..5].eq_ignore_ascii_case(b"solid");
    let promised = (start.len() == HEADER as usize)
        .then(|| u64::from(u32::from_le_bytes([start[80], start[81], start[82], start[83]])));
    // Some programs write `solid` at the start of binary files too; their size tells.
    let exact = promised.is_some_and(|count| HEADER + count * TRIANGLE == input.size);
    let mut found = Triangles::default();
    if text && !exact {
        read_text(input, &mut found)?;
    } else {
        let Some(promised) = promised else {
            return input.fail(
                format!("{} bytes", input.size),
                "an STL file: text that begins with `solid`, or binary of 84 bytes and more",
            );
        };
        let held = (input.size - HEADER) / TRIANGLE;
        if promised > held {
            return input.fail(
                format!("{held} triangles of the {promised} that its header promises"),
                "the whole file; it was cut short, copy or export it again",
            );
        }
        input.not_too_many(promised as usize)?;
        add(input, Part::Binary, &mut found)?;
    }
    input.sized(found)
}

fn read_text(input: &mut Input, found: &mut Triangles) -> Result<(), FileError> {
    loop {
        let mut line = Vec::new();
        loop {
            line.clear();
            match input.read_until(b'\n', &mut line) {
                Ok(0) => return Ok(()),
                Ok(_) if line.trim_ascii().is_empty() => {}
                Ok(_) => break,
                Err(error) => {
                    return input.fail_here(said(&error.to_string()), "a file that can be read");
                }
            }
        }
        if !line.trim_ascii().get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid")) {
            return input.fail_here(
                format!("`{}`", said(&String::from_utf8_lossy(&line))),
                "`solid`, or the end of the file",
            );
        }
        add(input, Part::Text, found)?;
    }
}

fn add(input: &mut Input, part: Part, found: &mut Triangles) -> Result<(), FileError> {
    let binary = part == Part::Binary;
    let known = found.vertices.len();
    // A line's end first: the look at the first line stops there, before the triangles.
    let start = if binary { [&b"\n"[..], &[0; 79]].concat() } else { b"solid scan\n".to_vec() };
    if binary {
        input.consume(80);
    }
    let mut feed = Feed { input, part, start, at: 0, line: Vec::new(), line_at: 0 };
    let problem = (|| {
        for triangle in stl_io::create_stl_reader(&mut feed).map_err(|e| e.to_string())? {
            let triangle = triangle.map_err(|error| error.to_string())?;
            let first = found.vertices.len() as u32;
            for vertex in triangle.vertices {
                let at = [vertex[0], vertex[1], vertex[2]].map(f64::from);
                found.vertices.push(at.into());
            }
            found.indices.push([first, first + 1, first + 2]);
            if found.indices.len() > super::input::MOST_TRIANGLES {
                return Err("more triangles than a scan may have".to_string());
            }
        }
        Ok(())
    })();
    if let Err(error) = problem {
        let error = said(&error);
        let expected = "`facet normal`, `outer loop`, three times `vertex x y z`, `endloop`, \
            `endfacet`, and `endsolid` at the end";
        return match binary {
            true => input.fail(error, "triangles of 50 bytes; export it again"),
            false => input.fail_here(error, expected),
        };
    }
    for vertex in &found.vertices[known..] {
        input.corner([vertex.x, vertex.y, vertex.z])?;
    }
    Ok(())
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    Binary,
    Text,
}

/// The file as stl_io wants it: a start that tells it what follows, then text in small letters and
/// one line at a time, so that the line of an error is known and what follows a solid is kept.
struct Feed<'a, 'b> {
    input: &'a mut Input<'b>,
    part: Part,
    start: Vec<u8>,
    at: usize,
    line: Vec<u8>,
    line_at: usize,
}

impl Read for Feed<'_, '_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        if self.at < self.start.len() {
            let count = (&self.start[self.at..]).read(into)?;
            self.at += count;
            return Ok(count);
        }
        if self.part == Part::Binary {
            return self.input.read(into);
        }
        if self.line_at == self.line.len() {
            self.line.clear();
            self.line_at = 0;
            self.input.read_until(b'\n', &mut self.line)?;
            self.line.make_ascii_lowercase();
        }
        let count = (&self.line[self.line_at..]).read(into)?;
        self.line_at += count;
        Ok(count)
    }
}

impl Seek for Feed<'_, '_> {
    /// stl_io looks at the first line and goes back to the beginning; nothing else is asked for.
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        if to != SeekFrom::Start(0) {
            return Err(std::io::ErrorKind::Unsupported.into());
        }
        self.at = 0;
        Ok(0)
    }
}
