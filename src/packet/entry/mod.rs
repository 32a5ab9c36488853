//! What the book says of packets: of what one was made, on which lines it rests, and the hash of the file.

mod scope;

use serde::{Deserialize, Serialize};

use crate::book::{Entry, Line, Say, Seq};

pub use scope::{LONGEST, Scope, span};

/// A packet was made and handed over. `packet.made`
///
/// It speaks of nothing: a packet stands in the way of no strike, and it leaves the evidence of a batch as it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PacketMade {
    pub scope: Scope,
    /// What it is of, in words.
    pub name: String,
    /// For whom, or what for; may be empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reader: String,
    /// The last line of the book when it was drawn, and its hash.
    pub upto: Seq,
    pub head: String,
    /// How many lines it rests on.
    pub lines: usize,
    /// SHA-256 of the PDF, in hexadecimal.
    pub sha256: String,
}

impl Entry for PacketMade {
    const KIND: &'static str = "packet.made";

    fn line(&self, _say: &Say) -> Line {
        let reader = if self.reader.is_empty() { String::new() } else { format!("for {}; ", self.reader) };
        let lines = if self.lines == 1 { "line" } else { "lines" };
        Line::new(format!("Packet of {}", self.name))
            .why(format!("{reader}book up to line {}; SHA-256 of the file {}", self.upto, self.sha256))
            .figure(format!("{} {lines}", self.lines))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::BatchId;
    use crate::measure::UnitSystem;
    use uuid::Uuid;

    #[test]
    fn its_line_says_what_it_is_of_for_whom_and_the_hash() {
        let made = PacketMade {
            scope: Scope::Batch(BatchId(Uuid::from_u128(1))),
            name: "batch 26301-01, loin, dry cured".into(),
            reader: "Ivo Nakamura".into(),
            upto: Seq(412),
            head: "00".repeat(32),
            lines: 63,
            sha256: "ab".repeat(32),
        };
        let line = made.line(&Say { system: UnitSystem::Metric });
        assert_eq!(line.what, "Packet of batch 26301-01, loin, dry cured");
        assert!(line.why.starts_with("for Ivo Nakamura; book up to line 412; SHA-256"), "{}", line.why);
        assert_eq!(line.figure, "63 lines");
        assert!(
            made.effects().about.is_empty() && made.effects().movements.is_empty(),
            "it stands in no strike's way"
        );
    }
}
