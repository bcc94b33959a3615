//! Expressions over options: on which cars a thing is fitted.
//!
//! ```text
//! rule   = either { "or" either }
//! either = one { "and" one }
//! one    = "not" one | "(" rule ")" | name
//! ```
//!
//! A name is the name or the code of an option of the layout. It may have several words; one that
//! holds `and`, `or`, `not` or a bracket as a word of its own stands in single quotes. A text that is
//! exactly the name or code of an option means that option, whatever words it has.

use super::OptionModule;
use super::problem::nearest_name;

/// Deepest nesting of brackets and `not`.
const DEEPEST: usize = 32;

/// Longest text of a rule, characters.
const LONGEST: usize = 1_000;

/// On which cars a thing is fitted, as a rule over a layout's options.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OptionRule {
    /// Cars that have the option of this place in the layout's list.
    Has(usize),
    /// Cars for which the rule doesn't hold.
    Not(Box<OptionRule>),
    /// Cars for which both hold.
    Both(Box<OptionRule>, Box<OptionRule>),
    /// Cars for which one of the two holds, or both.
    Either(Box<OptionRule>, Box<OptionRule>),
}

/// Why a text is no rule over a layout's options.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RuleError {
    /// A name that no option of the layout has.
    #[error("`{found}` at character {at}; expected {expected}")]
    Unknown {
        /// The name.
        found: String,
        /// Where it begins, counted from 1.
        at: usize,
        /// What would have done.
        expected: String,
    },
    /// Something that doesn't belong there.
    #[error("{found} at character {at}; expected {expected}")]
    Form {
        /// What stands there.
        found: String,
        /// Where, counted from 1.
        at: usize,
        /// What would have done.
        expected: &'static str,
    },
}

impl OptionRule {
    /// Reads a rule; the names are those of `options`, or their codes.
    ///
    /// ```
    /// use dryberth::model::{OptionModule, OptionRule};
    /// let options = ["tow-bar", "amplifier"].map(OptionModule::called);
    /// let rule = OptionRule::read("tow-bar and not amplifier", &options)?;
    /// assert!(rule.holds(&|option| option == 0));
    /// assert!(!rule.holds(&|_| true));
    /// assert!(OptionRule::read("tow-bra", &options).unwrap_err().to_string().contains("`tow-bar`"));
    /// # Ok::<(), dryberth::model::RuleError>(())
    /// ```
    ///
    /// # Errors
    /// When a name is not listed or the text doesn't have a rule's form; it says where.
    pub fn read(text: &str, options: &[OptionModule]) -> Result<OptionRule, RuleError> {
        if let Some(index) = listed(text.trim(), options) {
            return Ok(OptionRule::Has(index));
        }
        let length = text.chars().count();
        if length > LONGEST {
            let found = format!("a rule of {length} characters");
            return Err(RuleError::Form { found, at: 1, expected: "at most 1000 characters" });
        }
        let words = words(text)?;
        let mut reader = Reader { words: &words, at: 0, end: length + 1, options };
        let rule = reader.rule(0)?;
        match reader.words.get(reader.at) {
            None => Ok(rule),
            Some(word) => Err(RuleError::Form {
                found: word.found(),
                at: word.at,
                expected: "`and`, `or` or the end of the rule",
            }),
        }
    }

    /// Whether it holds for a car; `has` says of an option, by its place in the layout's list,
    /// whether the car has it.
    pub fn holds(&self, has: &impl Fn(usize) -> bool) -> bool {
        match self {
            OptionRule::Has(option) => has(*option),
            OptionRule::Not(rule) => !rule.holds(has),
            OptionRule::Both(a, b) => a.holds(has) && b.holds(has),
            OptionRule::Either(a, b) => a.holds(has) || b.holds(has),
        }
    }
}

/// Whether what is fitted by `rule` is on a car with the options called `fitted`; a rule that can't be
/// read is reported by [`Layout::problems`](super::Layout::problems), and then the thing is taken as
/// fitted, which hides nothing.
pub(crate) fn rule_holds(
    rule: &Option<String>,
    options: &[OptionModule],
    fitted: &[String],
) -> bool {
    let Some(text) = rule else { return true };
    let has = |index: usize| fitted.contains(&options[index].name);
    OptionRule::read(text, options).map_or(true, |rule| rule.holds(&has))
}

fn listed(name: &str, options: &[OptionModule]) -> Option<usize> {
    let by_name = options.iter().position(|option| option.name == name);
    by_name.or_else(|| {
        options.iter().position(|option| !option.code.is_empty() && option.code == name)
    })
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Kind {
    Open,
    Close,
    And,
    Or,
    Not,
    Name,
    Quoted,
}

#[derive(Debug)]
struct Word {
    kind: Kind,
    text: String,
    at: usize,
}

impl Word {
    fn found(&self) -> String {
        format!("`{}`", self.text)
    }
}

fn words(text: &str) -> Result<Vec<Word>, RuleError> {
    let letters: Vec<char> = text.chars().collect();
    let mut words = Vec::new();
    let mut at = 0;
    while at < letters.len() {
        let from = at;
        let (kind, word): (Kind, String) = match letters[at] {
            blank if blank.is_whitespace() => {
                at += 1;
                continue;
            }
            '(' => (Kind::Open, "(".to_string()),
            ')' => (Kind::Close, ")".to_string()),
            '\'' => {
                let Some(length) = letters[at + 1..].iter().position(|&letter| letter == '\'')
                else {
                    return Err(RuleError::Form {
                        found: "a quote that isn't closed".to_string(),
                        at: at + 1,
                        expected: "a name between two single quotes",
                    });
                };
                at += length + 1;
                (Kind::Quoted, letters[from + 1..at].iter().collect())
            }
            _ => {
                let stops = |letter: &char| letter.is_whitespace() || "()'".contains(*letter);
                let length = letters[at..].iter().position(stops).unwrap_or(letters.len() - at);
                at += length - 1;
                let word: String = letters[from..=at].iter().collect();
                let kind = match word.to_lowercase().as_str() {
                    "and" => Kind::And,
                    "or" => Kind::Or,
                    "not" => Kind::Not,
                    _ => Kind::Name,
                };
                (kind, word)
            }
        };
        at += 1;
        words.push(Word { kind, text: word, at: from + 1 });
    }
    Ok(words)
}

struct Reader<'a> {
    words: &'a [Word],
    at: usize,
    end: usize,
    options: &'a [OptionModule],
}

impl Reader<'_> {
    fn next_is(&self, kind: &Kind) -> bool {
        self.words.get(self.at).is_some_and(|word| word.kind == *kind)
    }

    fn rule(&mut self, depth: usize) -> Result<OptionRule, RuleError> {
        let mut rule = self.either(depth)?;
        while self.next_is(&Kind::Or) {
            self.at += 1;
            rule = OptionRule::Either(Box::new(rule), Box::new(self.either(depth)?));
        }
        Ok(rule)
    }

    fn either(&mut self, depth: usize) -> Result<OptionRule, RuleError> {
        let mut rule = self.one(depth)?;
        while self.next_is(&Kind::And) {
            self.at += 1;
            rule = OptionRule::Both(Box::new(rule), Box::new(self.one(depth)?));
        }
        Ok(rule)
    }

    fn one(&mut self, depth: usize) -> Result<OptionRule, RuleError> {
        let expected = "an option, `not` or `(`";
        let Some(word) = self.words.get(self.at) else {
            let found = "the end of the rule".to_string();
            return Err(RuleError::Form { found, at: self.end, expected });
        };
        if depth > DEEPEST {
            let expected = "brackets and `not` nested at most 32 deep";
            return Err(RuleError::Form { found: word.found(), at: word.at, expected });
        }
        match word.kind {
            Kind::Not => {
                self.at += 1;
                Ok(OptionRule::Not(Box::new(self.one(depth + 1)?)))
            }
            Kind::Open => {
                self.at += 1;
                let rule = self.rule(depth + 1)?;
                if self.next_is(&Kind::Close) {
                    self.at += 1;
                    return Ok(rule);
                }
                let (found, at) = self.words.get(self.at).map_or_else(
                    || ("the end of the rule".to_string(), self.end),
                    |word| (word.found(), word.at),
                );
                Err(RuleError::Form { found, at, expected: "`)`, `and` or `or`" })
            }
            Kind::Quoted => {
                self.at += 1;
                self.named(&word.text, word.at)
            }
            Kind::Name => {
                let from = self.at;
                while self.next_is(&Kind::Name) {
                    self.at += 1;
                }
                let parts: Vec<&str> =
                    self.words[from..self.at].iter().map(|word| word.text.as_str()).collect();
                self.named(&parts.join(" "), word.at)
            }
            Kind::And | Kind::Or | Kind::Close => {
                Err(RuleError::Form { found: word.found(), at: word.at, expected })
            }
        }
    }

    fn named(&self, name: &str, at: usize) -> Result<OptionRule, RuleError> {
        if let Some(index) = listed(name, self.options) {
            return Ok(OptionRule::Has(index));
        }
        let names = self.options.iter().flat_map(|option| {
            [option.name.as_str(), option.code.as_str()].into_iter().filter(|name| !name.is_empty())
        });
        let expected = match nearest_name(name, names) {
            Some(near) => format!("the name or code of an option; did you mean `{near}`?"),
            None if self.options.is_empty() => {
                "the name of an option, but the layout lists none".to_string()
            }
            None => "the name or code of an option of this file".to_string(),
        };
        Err(RuleError::Unknown { found: name.to_string(), at, expected })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn options() -> Vec<OptionModule> {
        ["tow-bar", "space-saver wheel", "stow and go", "amplifier"]
            .map(OptionModule::called)
            .to_vec()
    }

    fn holds(text: &str, fitted: &[usize]) -> bool {
        let rule = OptionRule::read(text, &options()).expect(text);
        rule.holds(&|option| fitted.contains(&option))
    }

    #[test]
    fn a_rule_means_what_it_says() {
        // `and` before `or`, as in logic and in every language that has both.
        assert!(holds("tow-bar or amplifier and space-saver wheel", &[0]));
        assert!(!holds("(tow-bar or amplifier) and space-saver wheel", &[0]));
        assert!(holds("not tow-bar and not amplifier", &[1]));
        assert!(holds("not (tow-bar and amplifier)", &[0]));
        assert!(holds("NOT  not tow-bar", &[0]));
        // An old plain name, keywords in it or not.
        assert!(holds("stow and go", &[2]) && holds("space-saver wheel", &[1]));
        assert!(holds("'stow and go' and not tow-bar", &[2]));
    }

    #[test]
    fn what_is_no_rule_is_refused_with_its_place() {
        for (text, said) in [
            (
                "tow-bra",
                "`tow-bra` at character 1; expected the name or code of an option; did you",
            ),
            ("tow-bar and amplifeir", "`amplifeir` at character 13"),
            ("tow-bar and", "the end of the rule at character 12"),
            ("tow-bar amplifier", "`tow-bar amplifier` at character 1"),
            ("(tow-bar", "the end of the rule at character 9; expected `)`"),
            ("tow-bar)", "`)` at character 8"),
            ("or tow-bar", "`or` at character 1"),
            ("'tow-bar", "a quote that isn't closed at character 1"),
            ("", "the end of the rule at character 1"),
            ("'stow and go' tow-bar", "`tow-bar` at character 15; expected `and`"),
        ] {
            let error = OptionRule::read(text, &options()).expect_err(text).to_string();
            assert!(error.contains(said), "{text}: {error}");
        }
        let deep = format!("{}tow-bar{}", "(".repeat(200), ")".repeat(200));
        assert!(OptionRule::read(&deep, &options()).is_err());
        assert!(OptionRule::read(&"not ".repeat(240), &options()).is_err());
    }
}
