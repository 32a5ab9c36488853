//! The initials that end a line of the book.

use std::fmt;
use std::str::FromStr;

use super::stored::text_column;
use super::text::TextError;

/// One to four capital letters of any script.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Initials(String);

text_column!(Initials);

const MOST: usize = 4;

impl Initials {
    /// Reads typed initials; spaces and points between them are left out: `a. o.` is `AO`.
    pub fn parse(text: &str) -> Result<Self, TextError> {
        let letters: String =
            text.chars().filter(|c| !c.is_whitespace() && *c != '.').flat_map(char::to_uppercase).collect();
        if letters.is_empty() {
            return Err(TextError::Empty);
        }
        let fits = letters.chars().count() <= MOST && letters.chars().all(char::is_alphabetic);
        if fits { Ok(Self(letters)) } else { Err(TextError::NotInitials) }
    }

    /// The first letters of the words of a name, at most four: Ada Okoro is `AO`, Jean-Luc Ba is `JLB`. A name without
    /// a letter has none.
    pub fn of_name(name: &str) -> Result<Self, TextError> {
        let letters: String = name
            .split(|c: char| c.is_whitespace() || c == '-')
            .filter_map(|word| word.chars().find(|c| c.is_alphabetic()))
            .flat_map(char::to_uppercase)
            .filter(|c| c.is_alphabetic())
            .take(MOST)
            .collect();
        Self::parse(&letters)
    }

    /// The letters.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Initials {
    type Err = TextError;

    fn from_str(text: &str) -> Result<Self, TextError> {
        Self::parse(text)
    }
}

impl fmt::Display for Initials {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn initials_are_taken_from_the_words_of_a_name() {
        for (name, initials) in [
            ("Ada Okoro", "AO"),
            ("jean-luc ba", "JLB"),
            ("Émile", "É"),
            ("Maria del Carmen Ruiz Soto", "MDCR"),
            ("(Bo) 'Olsen", "BO"),
        ] {
            assert_eq!(Initials::of_name(name).unwrap().as_str(), initials, "{name}");
        }
        assert!(Initials::of_name("123").is_err());
    }

    #[test]
    fn typed_initials_are_one_to_four_letters_in_capitals() {
        assert_eq!(Initials::parse(" a. o. ").unwrap().as_str(), "AO");
        assert_eq!(Initials::parse(""), Err(TextError::Empty));
        for bad in ["ABCDE", "A1", "A-B", "<A>"] {
            assert_eq!(Initials::parse(bad), Err(TextError::NotInitials), "{bad}");
        }
        assert!(serde_json::from_str::<Initials>("\"ao\"").is_err());
    }
}
