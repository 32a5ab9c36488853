//! Lines of a form that repeat. A refusal names its field by a word that does not change, so each line has its own.

/// The most lines that one form takes.
pub const MOST: usize = 40;

/// What is asked for in a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    Lot,
    Weight,
    Price,
    Count,
}

macro_rules! numbered {
    ($($n:literal)*) => {
        const LOTS: [&str; MOST] = [$(concat!("lot-", $n)),*];
        const WEIGHTS: [&str; MOST] = [$(concat!("weight-", $n)),*];
        const PRICES: [&str; MOST] = [$(concat!("price-", $n)),*];
        const COUNTS: [&str; MOST] = [$(concat!("count-", $n)),*];
    };
}
numbered!(1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30 31 32 33 34 35 36 37 38 39 40);

/// The field of the line at `index`, counted from 0. Lines beyond the most share the last one's.
pub fn field(part: Part, index: usize) -> &'static str {
    let names = match part {
        Part::Lot => &LOTS,
        Part::Weight => &WEIGHTS,
        Part::Price => &PRICES,
        Part::Count => &COUNTS,
    };
    names[index.min(MOST - 1)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_has_a_field_of_its_own_counted_from_one() {
        assert_eq!(field(Part::Weight, 0), "weight-1");
        assert_eq!(field(Part::Lot, MOST - 1), "lot-40");
        assert_eq!(field(Part::Lot, MOST + 5), "lot-40");
    }
}
