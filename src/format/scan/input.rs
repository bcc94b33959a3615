//! A scan file while it is read: how far, on which line, and what went wrong there.

use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;

use crate::format::error::{FileError, FileProblem};
use crate::geometry::Triangles;
use crate::model::Point;

/// Most triangles of a scan.
pub(super) const MOST_TRIANGLES: usize = 5_000_000;

/// Most corners of a scan, and most elements of any other kind in one.
pub(super) const MOST_CORNERS: usize = 15_000_000;

/// Farthest a corner may lie from the origin, in the file's own unit: a kilometre in mm.
const FARTHEST: f64 = 1e6;

/// The bytes between two reports of progress.
const REPORT_EVERY: u64 = 1 << 20;

/// A file that counts its lines and bytes while it is read.
pub(super) struct Input<'a> {
    pub(super) name: String,
    /// Bytes in all.
    pub(super) size: u64,
    /// Lines used up.
    lines: usize,
    used: u64,
    reported: u64,
    inner: BufReader<File>,
    progress: &'a mut dyn FnMut(u64, u64),
}

impl<'a> Input<'a> {
    pub(super) fn open(
        path: &Path,
        progress: &'a mut dyn FnMut(u64, u64),
    ) -> Result<Input<'a>, FileError> {
        let name = path.display().to_string();
        let unreadable = |error: std::io::Error| {
            let found = format!("a file that can't be read ({error})");
            FileError::one(&name, found, "a scan that is there and may be read")
        };
        let about = std::fs::metadata(path).map_err(unreadable)?;
        if !about.is_file() {
            let expected = "a scan: a .glb, .obj, .stl or .ply file";
            return Err(FileError::one(&name, "no plain file", expected));
        }
        let inner = BufReader::with_capacity(1 << 16, File::open(path).map_err(unreadable)?);
        Ok(Input { name, size: about.len(), lines: 0, used: 0, reported: 0, inner, progress })
    }

    /// An error about the file as a whole.
    pub(super) fn fail<T>(
        &self,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> Result<T, FileError> {
        Err(FileError::one(&self.name, found, expected))
    }

    /// An error in the line read last.
    pub(super) fn fail_here<T>(
        &self,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> Result<T, FileError> {
        self.fail_at(Some(self.lines), found, expected)
    }

    /// An error in a line.
    pub(super) fn fail_at<T>(
        &self,
        line: Option<usize>,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) -> Result<T, FileError> {
        let problem = FileProblem {
            position: line.map(|line| (line.max(1), 1)),
            place: String::new(),
            found: found.into(),
            expected: expected.into(),
        };
        Err(FileError { file: self.name.clone(), problems: vec![problem] })
    }

    /// The whole rest of the file.
    pub(super) fn rest(&mut self) -> Result<Vec<u8>, FileError> {
        let mut bytes = Vec::with_capacity((self.size as usize).min(1 << 30));
        match self.read_to_end(&mut bytes) {
            Ok(_) => Ok(bytes),
            Err(error) => self.fail(
                format!("a file that can't be read to its end ({error})"),
                "a file that can be read",
            ),
        }
    }

    /// The same corner if it can be used.
    pub(super) fn corner(&self, at: [f64; 3]) -> Result<Point, FileError> {
        if at.iter().all(|value| value.is_finite() && value.abs() <= FARTHEST) {
            return Ok(Point::from(at));
        }
        self.fail(
            format!("a corner at ({}, {}, {})", at[0], at[1], at[2]),
            format!("numbers within {FARTHEST} of the origin; check the export"),
        )
    }

    /// Refuses more than a scan may have, and nothing at all.
    pub(super) fn sized(&self, found: Triangles) -> Result<Triangles, FileError> {
        if found.indices.is_empty() {
            return self.fail("no triangle", "a surface, not only points; export it as a mesh");
        }
        self.not_too_many(found.indices.len())?;
        Ok(found)
    }

    pub(super) fn not_too_many(&self, triangles: usize) -> Result<(), FileError> {
        if triangles <= MOST_TRIANGLES {
            return Ok(());
        }
        self.fail(
            format!("more than {MOST_TRIANGLES} triangles"),
            "a simpler mesh; reduce it before export",
        )
    }
}

impl Read for Input<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let count = self.inner.read(into)?;
        self.count(count as u64);
        Ok(count)
    }
}

impl Input<'_> {
    fn count(&mut self, bytes: u64) {
        self.used += bytes;
        if self.used - self.reported >= REPORT_EVERY || self.used == self.size {
            self.reported = self.used;
            (self.progress)(self.used, self.size);
        }
    }
}

impl BufRead for Input<'_> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        self.inner.fill_buf()
    }

    fn consume(&mut self, count: usize) {
        let taken = &self.inner.buffer()[..count];
        self.lines += taken.iter().filter(|&&byte| byte == b'\n').count();
        self.inner.consume(count);
        self.count(count as u64);
    }
}

/// What a library said, short and on one line.
pub(super) fn said(message: &str) -> String {
    let words: Vec<&str> = message.split_whitespace().collect();
    words.join(" ").chars().take(200).collect()
}
