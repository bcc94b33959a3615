//! A value of the model as RON text, laid out as a person would.
//!
//! The `ron` crate writes a whole file in one style; here a part of one is written, in the style of
//! the layouts by hand, and two values can be compared part by part.

use serde::ser::Serialize;

use super::nodes::nodes_of;

/// Columns that a line may take before it is broken.
const WIDE: usize = 100;

/// A value as text parts.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Node {
    /// A number, a quoted text, a word.
    Word(String),
    /// Named fields in brackets, with the variant's name before them if it has one.
    Record(Option<&'static str>, Vec<(&'static str, Node)>),
    /// Values in round brackets.
    Tuple(Option<&'static str>, Vec<Node>),
    /// Values in square brackets.
    List(Vec<Node>),
    /// A value left out.
    Nothing,
}

impl Node {
    /// The parts of a value; none when it holds a map, which no layout does.
    pub(super) fn of<T: Serialize>(value: &T) -> Option<Node> {
        nodes_of(value)
    }

    /// The name of a thing in a list, quoted.
    pub(super) fn name(&self) -> Option<&str> {
        let Node::Record(_, fields) = self else { return None };
        fields.iter().find_map(|(field, value)| match value {
            Node::Word(word) if *field == "name" => Some(word.as_str()),
            _ => None,
        })
    }

    /// Without the fields that say nothing: what is left out reads back as the same.
    pub(super) fn sparse(&self) -> Node {
        match self {
            Node::Record(name, fields) => {
                let body = fields.iter().any(|(field, _)| *field == "shape");
                let kept = fields
                    .iter()
                    .filter(|(field, value)| !says_nothing(field, value, body))
                    .map(|(field, value)| (*field, value.sparse()))
                    .collect();
                Node::Record(*name, kept)
            }
            Node::Tuple(name, items) => {
                Node::Tuple(*name, items.iter().map(Node::sparse).collect())
            }
            Node::List(items) => Node::List(items.iter().map(Node::sparse).collect()),
            other => other.clone(),
        }
    }

    /// The text, for a place that is `indent` columns in.
    pub(super) fn text(&self, indent: usize) -> String {
        let flat = self.flat();
        if flat.chars().count() + indent <= WIDE {
            return flat;
        }
        let inner = indent + 4;
        let pad = " ".repeat(inner);
        match self {
            Node::Record(name, fields) => {
                let parts: Vec<String> = fields
                    .iter()
                    .map(|(field, value)| format!("{field}: {}", value.text(inner)))
                    .collect();
                format!("{}({})", name.unwrap_or_default(), parts.join(&format!(",\n{pad}")))
            }
            Node::List(items) => {
                let parts: String =
                    items.iter().map(|item| format!("\n{pad}{},", item.text(inner))).collect();
                format!("[{parts}\n{}]", " ".repeat(indent))
            }
            _ => flat,
        }
    }

    fn flat(&self) -> String {
        match self {
            Node::Word(word) => word.clone(),
            Node::Record(name, fields) => {
                let parts: Vec<String> = fields
                    .iter()
                    .map(|(field, value)| format!("{field}: {}", value.flat()))
                    .collect();
                format!("{}({})", name.unwrap_or_default(), parts.join(", "))
            }
            Node::Tuple(name, items) => {
                format!("{}({})", name.unwrap_or_default(), joined(items))
            }
            Node::List(items) => format!("[{}]", joined(items)),
            Node::Nothing => "None".to_string(),
        }
    }
}

fn joined(items: &[Node]) -> String {
    items.iter().map(Node::flat).collect::<Vec<_>>().join(", ")
}

/// Whether a field may be left out: nothing, an empty text or list, `false`, or a body's place when it
/// stands where it was measured.
fn says_nothing(field: &str, value: &Node, body: bool) -> bool {
    match value {
        Node::Nothing => true,
        Node::Word(word) => word == "\"\"" || word == "false",
        Node::List(items) => items.is_empty(),
        Node::Record(None, fields) if body && field == "place" => {
            fields.iter().all(|(_, part)| match part {
                Node::Tuple(None, items) => {
                    items.iter().all(|item| matches!(item, Node::Word(word) if word == "0"))
                }
                _ => false,
            })
        }
        Node::Record(None, fields) if field == "turn_deg" => fields.is_empty(),
        Node::Tuple(None, items) if field == "turn_deg" => {
            items.iter().all(|item| matches!(item, Node::Word(word) if word == "0"))
        }
        _ => false,
    }
}
