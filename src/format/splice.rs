//! A layout's text changed in place: only what differs is written anew, so that comments, order and
//! spacing of everything else stay.

use std::ops::Range;

use super::read::options;
use super::ron_text::{count, fields_end, find, past_blank};
use super::written::Node;
use crate::model::{Layout, Step};

/// The text, which reads as `old`, changed so that it reads as `new`; proven by reading it back.
/// None when the text doesn't go that way.
///
/// Things in a list are told apart by their names; one that was renamed is found by its place. A
/// thing that was taken out takes a comment behind it on its line along, one above it stays. A
/// change of order, or of a list without names that grew or shrank, writes that list anew.
pub(super) fn spliced(text: &str, old: &Layout, new: &Layout) -> Option<String> {
    let (was, is) = (Node::of(old)?, Node::of(new)?);
    let reads =
        |text: &String| options().from_str::<Layout>(text).is_ok_and(|layout| layout == *new);
    // What may be left out is left out, unless that reads as something else.
    [true, false].into_iter().find_map(|sparse| {
        let mut splice = Splice { text, sparse, cuts: Vec::new() };
        splice.value(&mut Vec::new(), &was, &is)?;
        Some(splice.applied()).filter(reads)
    })
}

/// A part of the text, and what stands there instead.
struct Cut {
    at: Range<usize>,
    words: String,
}

struct Splice<'a> {
    text: &'a str,
    sparse: bool,
    cuts: Vec<Cut>,
}

impl Splice<'_> {
    fn applied(mut self) -> String {
        self.cuts.sort_by_key(|cut| cut.at.start);
        let mut out = String::with_capacity(self.text.len() + 256);
        let mut from = 0;
        for cut in &self.cuts {
            if cut.at.start < from {
                continue; // within what was taken out
            }
            out.push_str(&self.text[from..cut.at.start]);
            out.push_str(&cut.words);
            from = cut.at.end;
        }
        out.push_str(&self.text[from..]);
        out
    }

    fn written(&self, node: &Node, indent: usize) -> String {
        if self.sparse { node.sparse().text(indent) } else { node.text(indent) }
    }

    fn put(&mut self, at: Range<usize>, words: String) {
        self.cuts.push(Cut { at, words });
    }

    fn value(&mut self, path: &mut Vec<Step>, old: &Node, new: &Node) -> Option<()> {
        if old == new {
            return Some(());
        }
        match (old, new) {
            (Node::Record(a, was), Node::Record(b, is))
                if a == b && was.len() == is.len() && find(self.text, path).is_some() =>
            {
                self.fields(path, was, is)
            }
            (Node::Tuple(a, was), Node::Tuple(b, is)) if a == b && was.len() == is.len() => {
                self.items(path, was, is)
            }
            (Node::List(was), Node::List(is)) => self.list(path, was, is),
            _ => self.anew(path, new),
        }
    }

    /// Writes the whole value anew.
    fn anew(&mut self, path: &[Step], new: &Node) -> Option<()> {
        let at = find(self.text, path)?;
        let words = self.written(new, depth(path));
        self.put(at, words);
        Some(())
    }

    fn items(&mut self, path: &mut Vec<Step>, was: &[Node], is: &[Node]) -> Option<()> {
        for (index, (old, new)) in was.iter().zip(is).enumerate() {
            path.push(Step::Index(index));
            let done = self.value(path, old, new);
            path.pop();
            done?;
        }
        Some(())
    }

    fn fields(
        &mut self,
        path: &mut Vec<Step>,
        was: &[(&'static str, Node)],
        is: &[(&'static str, Node)],
    ) -> Option<()> {
        for (index, ((field, old), (_, new))) in was.iter().zip(is).enumerate() {
            if old == new {
                continue;
            }
            path.push(Step::Field(field));
            let done = match (find(self.text, path), new) {
                (Some(at), Node::Nothing) => {
                    let words = "None".to_string();
                    let at = self.whole_field(field, &at);
                    let gone = if at.1 { String::new() } else { words };
                    self.put(at.0, gone);
                    Some(())
                }
                (Some(_), _) => self.value(path, old, new),
                (None, _) if self.sparse => {
                    self.new_field(path, &is[..index], field, &differing(old, new))
                }
                (None, _) => self.new_field(path, &is[..index], field, new),
            };
            path.pop();
            done?;
        }
        Some(())
    }

    /// The text of a field with the comma before it, when nothing but blanks stands between; else
    /// only its value, and `false`.
    fn whole_field(&self, field: &str, value: &Range<usize>) -> (Range<usize>, bool) {
        let before = self.text[..value.start].trim_end();
        let bare = before
            .strip_suffix(':')
            .map(str::trim_end)
            .and_then(|rest| rest.strip_suffix(field))
            .map(str::trim_end)
            .and_then(|rest| rest.strip_suffix(','));
        match bare {
            Some(bare) if !bare.rsplit('\n').next().is_some_and(|line| line.contains("//")) => {
                (bare.len()..value.end, true)
            }
            _ => (value.clone(), false),
        }
    }

    /// Writes a field that the text has left out so far, after the one that comes before it.
    fn new_field(
        &mut self,
        path: &[Step],
        before: &[(&'static str, Node)],
        field: &'static str,
        new: &Node,
    ) -> Option<()> {
        let (_, above) = path.split_last()?;
        if above.is_empty() {
            return self.new_top_field(field, new);
        }
        let written = self.written(new, depth(path));
        let end = before.iter().rev().find_map(|(field, _)| {
            let mut beside = above.to_vec();
            beside.push(Step::Field(field));
            find(self.text, &beside).map(|range| range.end)
        });
        match end {
            Some(end) => {
                let long = written.len() > 60;
                let gap = if long { format!("\n{}", " ".repeat(depth(path))) } else { " ".into() };
                self.put(end..end, format!(",{gap}{field}: {written}"));
            }
            None => {
                let at = find(self.text, above)?;
                let open = at.start + self.text[at].find('(')? + 1;
                self.put(open..open, format!("{field}: {written}, "));
            }
        }
        Some(())
    }

    /// A field at the end of the file.
    fn new_top_field(&mut self, field: &'static str, new: &Node) -> Option<()> {
        let end = fields_end(self.text)?;
        let words = match new {
            Node::List(items) if !items.is_empty() => {
                let items: String = items
                    .iter()
                    .map(|item| format!("        {},\n", self.written(item, 8)))
                    .collect();
                format!("    {field}: [\n{items}    ],\n")
            }
            _ => format!("    {field}: {},\n", self.written(new, 4)),
        };
        if !end.comma {
            self.put(end.last..end.last, ",".into());
        }
        let rest = &self.text[end.last..end.bracket];
        let newline = if rest.trim_end_matches(' ').ends_with('\n') { "" } else { "\n" };
        self.put(end.bracket..end.bracket, format!("{newline}{words}"));
        Some(())
    }

    fn list(&mut self, path: &mut Vec<Step>, was: &[Node], is: &[Node]) -> Option<()> {
        if find(self.text, path).is_none() {
            let Some(Step::Field(field)) = path.last().cloned() else { return None };
            return self.new_field(path, &[], field, &Node::List(is.to_vec()));
        }
        let named = |items: &[Node]| items.iter().all(|item| item.name().is_some());
        if !named(was) || !named(is) {
            if was.len() == is.len() {
                return self.items(path, was, is);
            }
            if !was.is_empty() && is.starts_with(was) {
                return self.more(path, was.len(), &is[was.len()..]);
            }
            return self.list_anew(path, is);
        }
        let Some(pairs) = paired(was, is) else { return self.list_anew(path, is) };
        if was.is_empty() || pairs.iter().all(|(_, old)| old.is_none()) {
            return self.list_anew(path, is);
        }
        let kept: Vec<usize> = pairs.iter().filter_map(|(_, old)| *old).collect();
        for gone in (0..was.len()).filter(|index| !kept.contains(index)) {
            self.take_out(path, gone)?;
        }
        let mut last: Option<usize> = None;
        for (new, old) in pairs {
            if let Some(old) = old {
                path.push(Step::Index(old));
                let done = self.value(path, &was[old], &is[new]);
                path.pop();
                done?;
                last = Some(old);
                continue;
            }
            let inner = depth(path) + 4;
            let (pad, written) = (" ".repeat(inner), self.written(&is[new], inner));
            match last {
                Some(last) => {
                    path.push(Step::Index(last));
                    let end = find(self.text, path)?.end;
                    path.pop();
                    self.put(end..end, format!(",\n{pad}{written}"));
                }
                None => {
                    path.push(Step::Index(kept[0]));
                    let start = find(self.text, path)?.start;
                    path.pop();
                    self.put(start..start, format!("{written},\n{pad}"));
                }
            }
        }
        Some(())
    }

    /// Writes what a list has more than before after its last element.
    fn more(&mut self, path: &mut Vec<Step>, count: usize, new: &[Node]) -> Option<()> {
        path.push(Step::Index(count - 1));
        let end = find(self.text, path)?.end;
        path.pop();
        let inner = depth(path) + 4;
        let pad = " ".repeat(inner);
        let words: String =
            new.iter().map(|item| format!(",\n{pad}{}", self.written(item, inner))).collect();
        self.put(end..end, words);
        Some(())
    }

    /// Writes a list anew; an empty one keeps what stands between its brackets.
    fn list_anew(&mut self, path: &[Step], is: &[Node]) -> Option<()> {
        let at = find(self.text, path)?;
        let pad = depth(path);
        let inner = " ".repeat(pad + 4);
        let named = is.iter().any(|item| item.name().is_some());
        let words: String =
            is.iter().map(|item| format!("\n{inner}{},", self.written(item, pad + 4))).collect();
        if count(self.text, path) == Some(0) && !is.is_empty() {
            let open = at.start + 1;
            self.put(open..open, format!("{words}\n{}", " ".repeat(pad)));
        } else if named && !is.is_empty() {
            self.put(at, format!("[{words}\n{}]", " ".repeat(pad)));
        } else {
            let words = self.written(&Node::List(is.to_vec()), pad);
            self.put(at, words);
        }
        Some(())
    }

    /// Takes an element of a list out, with its comma, and with its lines when nothing else stands on
    /// them.
    fn take_out(&mut self, path: &mut Vec<Step>, index: usize) -> Option<()> {
        path.push(Step::Index(index));
        let at = find(self.text, path)?;
        path.pop();
        let text = self.text;
        let after = past_blank(text, at.end);
        let mut end = if text[after..].starts_with(',') { after + 1 } else { at.end };
        let line = text[..at.start].rfind('\n').map_or(0, |newline| newline + 1);
        let mut start = at.start;
        if text[line..at.start].trim().is_empty() {
            let rest_end = text[end..].find('\n').map(|far| end + far);
            let rest = &text[end..rest_end.unwrap_or(text.len())];
            if let Some(rest_end) = rest_end
                && (rest.trim().is_empty() || rest.trim_start().starts_with("//"))
            {
                start = line;
                end = rest_end + 1;
            }
        }
        self.put(start..end, String::new());
        Some(())
    }
}

/// Of a record that the text left out, the fields that aren't as they are when left out.
fn differing(old: &Node, new: &Node) -> Node {
    match (old, new) {
        (Node::Record(_, was), Node::Record(name, is)) if was.len() == is.len() => {
            let changed = was.iter().zip(is).filter(|(old, new)| old != new);
            Node::Record(*name, changed.map(|(_, new)| new.clone()).collect())
        }
        (_, new) => new.clone(),
    }
}

/// Columns that a value at `path` is in, in a file laid out as the demos are.
fn depth(path: &[Step]) -> usize {
    4 * path.len()
}

/// Which old element each new one was; none when the order changed.
fn paired(was: &[Node], is: &[Node]) -> Option<Vec<(usize, Option<usize>)>> {
    let mut pairs: Vec<(usize, Option<usize>)> = is
        .iter()
        .enumerate()
        .map(|(new, item)| (new, was.iter().position(|old| old.name() == item.name())))
        .collect();
    let ordered: Vec<usize> = pairs.iter().filter_map(|(_, old)| *old).collect();
    if !ordered.is_sorted() {
        return None;
    }
    // Between two that are known, as many new names as old ones were renamed.
    let mut from = 0;
    while from < pairs.len() {
        let to = (from..pairs.len()).find(|&at| pairs[at].1.is_some()).unwrap_or(pairs.len());
        let low = from.checked_sub(1).and_then(|at| pairs[at].1).map_or(0, |old| old + 1);
        let high = pairs.get(to).and_then(|pair| pair.1).unwrap_or(was.len());
        if to > from && high.checked_sub(low) == Some(to - from) {
            for (offset, pair) in pairs[from..to].iter_mut().enumerate() {
                pair.1 = Some(low + offset);
            }
        }
        from = to + 1;
    }
    Some(pairs)
}
