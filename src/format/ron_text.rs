//! Where a value stands in the text of a RON file.
//!
//! The values themselves are read by the `ron` crate, which doesn't keep their places; this walks
//! the same text along a path, for error messages and for changing one value without touching the
//! rest of the file.

use std::ops::Range;

use crate::model::Step;

/// The text range of the value at `path`; none when the text doesn't go that way.
pub(super) fn find(text: &str, path: &[Step]) -> Option<Range<usize>> {
    let mut walk = Walk { bytes: text.as_bytes(), at: 0 };
    walk.skip_blank();
    while walk.starts(b"#![") {
        walk.skip_until(b']');
        walk.at += 1;
        walk.skip_blank();
    }
    for step in path {
        walk.enter()?;
        match step {
            Step::Field(name) => walk.enter_field(name)?,
            Step::Index(index) => walk.enter_index(*index)?,
        }
    }
    let from = walk.at;
    walk.skip_value()?;
    Some(from..walk.at)
}

/// How many elements the list at `path` has.
pub(super) fn count(text: &str, path: &[Step]) -> Option<usize> {
    let range = find(text, path)?;
    let mut walk = Walk { bytes: &text.as_bytes()[range], at: 0 };
    walk.enter()?;
    let mut count = 0;
    while !walk.closes() {
        walk.skip_value()?;
        count += 1;
        walk.skip_comma();
    }
    Some(count)
}

/// Where a struct's fields end: after the last value, and at the closing bracket.
pub(super) struct FieldsEnd {
    /// The byte after the last value, or after the opening bracket.
    pub(super) last: usize,
    /// Whether a comma, or no value at all, stands before the closing bracket.
    pub(super) comma: bool,
    /// The closing bracket.
    pub(super) bracket: usize,
}

/// Where the fields of the struct that the text is end.
pub(super) fn fields_end(text: &str) -> Option<FieldsEnd> {
    let mut walk = Walk { bytes: text.as_bytes(), at: find(text, &[])?.start };
    walk.enter()?;
    let mut end = FieldsEnd { last: walk.at, comma: true, bracket: walk.at };
    while !walk.closes() {
        walk.skip_word();
        walk.skip_blank();
        (walk.peek()? == b':').then(|| walk.at += 1)?;
        walk.skip_value()?;
        end.last = walk.at;
        walk.skip_blank();
        end.comma = walk.peek() == Some(b',');
        walk.skip_comma();
    }
    end.bracket = walk.at;
    walk.peek().map(|_| end)
}

/// Line and column of the nearest place on the way to a value that the text has: a field left out
/// has none.
pub(super) fn locate(text: &str, path: &[Step]) -> Option<(usize, usize)> {
    (1..=path.len())
        .rev()
        .find_map(|length| find(text, &path[..length]))
        .map(|range| line_column(text, range.start))
}

/// The first byte from `at` on that is neither white space nor comment.
pub(super) fn past_blank(text: &str, at: usize) -> usize {
    let mut walk = Walk { bytes: text.as_bytes(), at };
    walk.skip_blank();
    walk.at.min(text.len())
}

/// Line and column, both from 1, of a byte of the text; the column counts characters.
pub(super) fn line_column(text: &str, at: usize) -> (usize, usize) {
    let before = &text[..at.min(text.len())];
    let line = before.matches('\n').count() + 1;
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (line, before[start..].chars().count() + 1)
}

struct Walk<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Walk<'_> {
    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn starts(&self, with: &[u8]) -> bool {
        self.bytes.get(self.at..).is_some_and(|rest| rest.starts_with(with))
    }

    fn skip_until(&mut self, stop: u8) {
        while self.peek().is_some_and(|byte| byte != stop) {
            self.at += 1;
        }
    }

    /// White space and comments; block comments nest.
    fn skip_blank(&mut self) {
        loop {
            if self.peek().is_some_and(|byte| byte.is_ascii_whitespace()) {
                self.at += 1;
            } else if self.starts(b"//") {
                self.skip_until(b'\n');
            } else if self.starts(b"/*") {
                let mut depth = 0;
                while self.at < self.bytes.len() {
                    if self.starts(b"/*") {
                        depth += 1;
                        self.at += 2;
                    } else if self.starts(b"*/") {
                        depth -= 1;
                        self.at += 2;
                        if depth == 0 {
                            break;
                        }
                    } else {
                        self.at += 1;
                    }
                }
            } else {
                return;
            }
        }
    }

    /// Past the opening bracket of a list, tuple or struct, and its name if it has one.
    fn enter(&mut self) -> Option<()> {
        self.skip_blank();
        self.skip_word();
        self.skip_blank();
        matches!(self.peek()?, b'(' | b'[' | b'{').then(|| self.at += 1)?;
        self.skip_blank();
        Some(())
    }

    fn skip_word(&mut self) {
        while self
            .peek()
            .is_some_and(|byte| byte.is_ascii_alphanumeric() || b"_.+-#".contains(&byte))
        {
            self.at += 1;
        }
    }

    fn closes(&mut self) -> bool {
        self.skip_blank();
        self.peek().is_none_or(|byte| matches!(byte, b')' | b']' | b'}'))
    }

    fn skip_comma(&mut self) {
        self.skip_blank();
        if self.peek() == Some(b',') {
            self.at += 1;
        }
        self.skip_blank();
    }

    fn enter_field(&mut self, wanted: &str) -> Option<()> {
        while !self.closes() {
            let from = self.at;
            self.skip_word();
            let name = &self.bytes[from..self.at];
            self.skip_blank();
            if self.peek()? != b':' {
                return None;
            }
            self.at += 1;
            self.skip_blank();
            if name == wanted.as_bytes() {
                return Some(());
            }
            self.skip_value()?;
            self.skip_comma();
        }
        None
    }

    fn enter_index(&mut self, wanted: usize) -> Option<()> {
        for _ in 0..wanted {
            if self.closes() {
                return None;
            }
            self.skip_value()?;
            self.skip_comma();
        }
        (!self.closes()).then_some(())
    }

    /// Past one value: text, number, word, or anything in brackets.
    fn skip_value(&mut self) -> Option<()> {
        self.skip_blank();
        let from = self.at;
        if self.skip_text() {
            return Some(());
        }
        self.skip_word();
        let after_word = self.at;
        self.skip_blank();
        if !matches!(self.peek(), Some(b'(' | b'[' | b'{')) {
            self.at = after_word;
            return (self.at > from).then_some(());
        }
        let mut depth = 0;
        while let Some(byte) = self.peek() {
            match byte {
                b'(' | b'[' | b'{' => depth += 1,
                b')' | b']' | b'}' => depth -= 1,
                _ => {}
            }
            if !self.skip_text() && !self.skip_char() {
                self.at += 1;
            }
            if depth == 0 {
                return Some(());
            }
            self.skip_blank();
        }
        None
    }

    /// Past a quoted or raw text, if one begins here.
    fn skip_text(&mut self) -> bool {
        if self.peek() == Some(b'"') {
            self.at += 1;
            while let Some(byte) = self.peek() {
                self.at += if byte == b'\\' { 2 } else { 1 };
                if byte == b'"' {
                    break;
                }
            }
            return true;
        }
        if self.starts(b"r\"") || self.starts(b"r#") {
            let mut end = vec![b'"'];
            let mut at = self.at + 1;
            while self.bytes.get(at) == Some(&b'#') {
                end.push(b'#');
                at += 1;
            }
            if self.bytes.get(at) == Some(&b'"') {
                self.at = at + 1;
                while self.at < self.bytes.len() && !self.starts(&end) {
                    self.at += 1;
                }
                self.at = (self.at + end.len()).min(self.bytes.len());
                return true;
            }
        }
        false
    }

    /// Past a quoted character, so that `'('` is no bracket.
    fn skip_char(&mut self) -> bool {
        let escaped = usize::from(self.bytes.get(self.at + 1) == Some(&b'\\'));
        if self.peek() == Some(b'\'') && self.bytes.get(self.at + 2 + escaped) == Some(&b'\'') {
            self.at += 3 + escaped;
            return true;
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r##"// top
#![enable(implicit_some)]
Layout(
    name: "a (b", /* [ /* nested */ */ about: r#"raw ")" "#,
    bodies: [
        (name: "one", shape: Box(from: (0, 0, 0), to: (1, 2.5, -3e2))),
        // (name: "not one"),
        (name: "two", at: (7, 8, 9)),
    ],
)"##;

    fn at(path: &[Step]) -> Option<&'static str> {
        find(TEXT, path).map(|range| &TEXT[range])
    }

    #[test]
    fn values_are_found_past_comments_and_brackets_in_text() {
        use Step::{Field, Index};
        assert_eq!(at(&[Field("name")]), Some("\"a (b\""));
        assert_eq!(at(&[Field("about")]), Some("r#\"raw \")\" \"#"));
        let to = [Field("bodies"), Index(0), Field("shape"), Field("to")];
        assert_eq!(at(&to), Some("(1, 2.5, -3e2)"));
        assert_eq!(at(&[Field("bodies"), Index(1), Field("name")]), Some("\"two\""));
        assert_eq!(at(&[Field("bodies"), Index(1), Field("at"), Index(2)]), Some("9"));
        assert_eq!(at(&[Field("bodies"), Index(2)]), None);
        assert_eq!(count(TEXT, &[Field("bodies")]), Some(2));
        let two = find(TEXT, &[Field("bodies"), Index(1)]).expect("the second body");
        assert_eq!(line_column(TEXT, two.start), (8, 9));
    }
}
