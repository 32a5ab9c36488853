//! Words that people type: names and remarks.

use std::fmt;
use std::ops::Deref;
use std::str::FromStr;

use thiserror::Error;

use super::stored::text_column;

/// Why a text was not taken, as a sentence for the person who typed it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum TextError {
    #[error("Enter something here.")]
    Empty,
    #[error("This is too long: at most {max} characters can be kept here.")]
    TooLong { max: usize },
    #[error("This holds a character that cannot be printed. Type it again.")]
    Unprintable,
    #[error("Initials are one to four letters.")]
    NotInitials,
}

/// One line: trimmed, any run of white space made one space, from 1 to `max` characters.
///
/// Refuses control characters, and marks that turn the direction of writing, which make a line read as another.
pub fn one_line(text: &str, max: usize) -> Result<String, TextError> {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.is_empty() {
        return Err(TextError::Empty);
    }
    kept(line, max)
}

/// Several lines, or none: trimmed at the end of each line and around the whole, at most one empty line in a row, at
/// most `max` characters. Refuses the same characters as [`one_line`]. An empty note is an empty text.
pub fn note(text: &str, max: usize) -> Result<String, TextError> {
    let text = text.replace("\r\n", "\n").replace('\r', "\n").replace('\t', " ");
    let mut note = String::with_capacity(text.len());
    for line in text.trim().lines() {
        let line = line.trim_end();
        if !(line.is_empty() && note.ends_with("\n\n")) {
            note.push_str(line);
            note.push('\n');
        }
    }
    note.truncate(note.trim_end().len());
    kept(note, max)
}

fn kept(text: String, max: usize) -> Result<String, TextError> {
    if text.chars().any(|c| (c.is_control() && c != '\n') || turns_direction(c)) {
        return Err(TextError::Unprintable);
    }
    if text.chars().count() > max { Err(TextError::TooLong { max }) } else { Ok(text) }
}

/// Explicit embeddings, overrides and isolates of the Unicode Bidirectional Algorithm (UAX #9), and the byte order mark.
fn turns_direction(c: char) -> bool {
    matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// A line of 1 to `MAX` characters, read by [`one_line`]; stored as it is printed.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ShortText<const MAX: usize>(String);

text_column!(ShortText<const MAX: usize>);

impl<const MAX: usize> ShortText<MAX> {
    /// Reads a typed line.
    pub fn parse(text: &str) -> Result<Self, TextError> {
        one_line(text, MAX).map(Self)
    }

    /// The line.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl<const MAX: usize> FromStr for ShortText<MAX> {
    type Err = TextError;

    fn from_str(text: &str) -> Result<Self, TextError> {
        Self::parse(text)
    }
}

impl<const MAX: usize> fmt::Display for ShortText<MAX> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl<const MAX: usize> Deref for ShortText<MAX> {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_line_is_trimmed_and_its_spaces_made_one() {
        assert_eq!(one_line("  Back \t fat,\u{00A0}rind  off\n", 40).as_deref(), Ok("Back fat, rind off"));
        assert_eq!(one_line(" \n ", 40), Err(TextError::Empty));
        assert_eq!(one_line("żółć", 4).as_deref(), Ok("żółć"));
        assert_eq!(one_line("abcde", 4), Err(TextError::TooLong { max: 4 }));
    }

    #[test]
    fn characters_that_cannot_be_seen_are_refused() {
        for bad in ["a\u{0}b", "a\u{7}b", "a\u{202E}b", "a\u{2066}b"] {
            assert_eq!(one_line(bad, 40), Err(TextError::Unprintable));
            assert_eq!(note(bad, 40), Err(TextError::Unprintable));
        }
        assert!(one_line("<script>alert(1)</script>", 40).is_ok(), "a page escapes what it prints");
    }

    #[test]
    fn a_note_keeps_its_lines() {
        assert_eq!(
            note(" Skin torn.  \r\n\r\n\r\n\r\nTrimmed.\r\n ", 40).as_deref(),
            Ok("Skin torn.\n\nTrimmed.")
        );
        assert_eq!(note("  ", 40).as_deref(), Ok(""));
        assert_eq!(note("abcde", 4), Err(TextError::TooLong { max: 4 }));
    }

    #[test]
    fn a_stored_line_must_be_tidy() {
        assert!(serde_json::from_str::<ShortText<5>>("\"Loin\"").is_ok());
        for bad in ["\"\"", "\" Loin\"", "\"Collar\""] {
            assert!(serde_json::from_str::<ShortText<5>>(bad).is_err(), "{bad}");
        }
    }

    proptest! {
        #[test]
        fn what_was_read_once_reads_the_same_again(text in "[ \\r\\n\\ta-zé.]{0,60}") {
            if let Ok(line) = one_line(&text, 60) {
                prop_assert_eq!(one_line(&line, 60), Ok(line.clone()));
            }
            let read = note(&text, 60).unwrap();
            prop_assert_eq!(note(&read, 60), Ok(read.clone()));
        }
    }
}
