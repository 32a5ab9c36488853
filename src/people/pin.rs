//! A PIN: 4 to 8 digits that switch between people on a device where each has given their password.

use crate::error::Refusal;

/// The fewest digits.
pub const LEAST: usize = 4;
/// The most digits.
pub const MOST: usize = 8;

/// Digits that are not the first ones anybody would try.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pin(String);

impl Pin {
    /// Reads a PIN that is being chosen.
    ///
    /// # Errors
    /// A refusal at `pin` when it is no PIN, or one that is guessed in the first tries: one digit all along, digits in
    /// a row, a block said twice.
    pub fn choose(text: &str) -> Result<Self, Refusal> {
        let pin = text.trim();
        let digits: Vec<u8> = pin.bytes().collect();
        if !(LEAST..=MOST).contains(&digits.len()) || !digits.iter().all(u8::is_ascii_digit) {
            return Err(Refusal::at("pin", format!("A PIN is {LEAST} to {MOST} digits.")));
        }
        if in_a_row(&digits) || said_again(&digits) {
            let say = "This PIN is among the first that anybody would try. Take digits without a pattern.";
            return Err(Refusal::at("pin", say));
        }
        Ok(Self(pin.to_owned()))
    }

    /// The digits, to be hashed.
    pub fn digits(self) -> String {
        self.0
    }
}

/// 1234, 9876, 7890: each digit one more or one less than the one before, nought after nine too.
fn in_a_row(digits: &[u8]) -> bool {
    let step = |by: u8| digits.windows(2).all(|pair| (pair[0] - b'0' + by) % 10 == pair[1] - b'0');
    step(1) || step(9)
}

/// 0000, 1212, 123123: a block said again and again, the last time maybe not to its end.
fn said_again(digits: &[u8]) -> bool {
    (1..=digits.len() / 2).any(|block| digits.iter().zip(&digits[block..]).all(|(one, later)| one == later))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_is_four_to_eight_digits() {
        for pin in ["2580", "71906", " 40193726 "] {
            assert!(Pin::choose(pin).is_ok(), "{pin}");
        }
        for pin in ["", "123", "901827364", "12a4", "27 91", "٢٧٩١", "-271"] {
            assert!(Pin::choose(pin).expect_err("refused").message.contains("4 to 8"), "{pin}");
        }
    }

    #[test]
    fn a_pin_with_a_pattern_is_not_taken() {
        for pin in ["0000", "1234", "4321", "7890", "0987", "1212", "123123", "12121", "77777777", "3210"] {
            assert!(Pin::choose(pin).expect_err("refused").message.contains("first"), "{pin}");
        }
    }
}
