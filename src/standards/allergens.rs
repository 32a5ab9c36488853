//! What must be named on a label because some people fall ill of it: the lists of two laws as one, with which of them
//! names what.
//!
//! - United States: section 201(qq) of the Federal Food, Drug, and Cosmetic Act (21 U.S.C. 321(qq)), eight of the Food
//!   Allergen Labeling and Consumer Protection Act of 2004 and sesame of the FASTER Act of 2021.
//! - European Union: Regulation (EU) No 1169/2011, Annex II, fourteen; the same list stands in the law of Great Britain.

/// One of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allergen {
    /// How the book calls it.
    pub word: &'static str,
    /// Named by the law of the United States.
    pub us: bool,
    /// Named by the law of the European Union.
    pub eu: bool,
    /// What else belongs to it, or from when on.
    pub note: &'static str,
}

const fn both(word: &'static str, note: &'static str) -> Allergen {
    Allergen { word, us: true, eu: true, note }
}

const fn eu(word: &'static str, note: &'static str) -> Allergen {
    Allergen { word, us: false, eu: true, note }
}

/// All, in the order in which a shop that cures meat meets them. Annex II has one line for cereals with gluten; wheat,
/// which the United States name by itself, stands apart from the others here.
pub const ALLERGENS: [Allergen; 15] = [
    both("milk", "lactose too"),
    eu("mustard", ""),
    eu("celery", ""),
    eu("sulphites", "sulphur dioxide above 10 mg/kg or 10 mg/l"),
    both("wheat", "spelt and khorasan too"),
    eu("other cereals with gluten", "rye, barley, oats"),
    both("soybeans", ""),
    both("eggs", ""),
    both("nuts", "tree nuts: almonds, hazelnuts, pistachios …"),
    both("peanuts", ""),
    both("sesame", ""),
    both("fish", ""),
    both("crustaceans", ""),
    eu("molluscs", ""),
    eu("lupin", ""),
];

impl Allergen {
    /// The one of this word.
    pub fn find(word: &str) -> Option<Self> {
        ALLERGENS.into_iter().find(|allergen| allergen.word == word)
    }

    /// Which law names it: `US, EU` or `EU`.
    pub fn named_by(self) -> &'static str {
        match (self.us, self.eu) {
            (true, true) => "US, EU",
            (true, false) => "US",
            (false, _) => "EU",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_united_states_name_nine() {
        // 21 U.S.C. 321(qq)(1): milk, egg, fish, crustacean shellfish, tree nuts, wheat, peanuts, soybeans, sesame.
        assert_eq!(ALLERGENS.iter().filter(|allergen| allergen.us).count(), 9);
    }

    #[test]
    fn the_european_union_names_fourteen_with_wheat_among_the_cereals() {
        assert_eq!(ALLERGENS.iter().filter(|allergen| allergen.eu).count(), 14 + 1);
    }

    #[test]
    fn each_word_is_there_once() {
        for allergen in ALLERGENS {
            assert_eq!(ALLERGENS.iter().filter(|other| other.word == allergen.word).count(), 1);
            assert_eq!(Allergen::find(allergen.word), Some(allergen));
        }
        assert_eq!(Allergen::find("salt"), None);
    }
}
