//! The pages of signing in and of the people who do: a file a page.

pub mod door;
pub mod me;
pub mod people;
pub mod person;
pub mod shop;
pub mod sign_in;
pub mod switch;

pub use shop::ShopFields;

use crate::error::{Errors, Refusal};
use crate::measure::{Initials, one_line};
use crate::web::reader::LINE;

/// Only an address of our own: a sign-in link must not lead elsewhere.
fn own_address(next: &str) -> &str {
    let inside = next.starts_with('/') && !next.starts_with("//") && !next.contains(['\\', '\r', '\n']);
    if inside { next } else { "/" }
}

/// Takes the value, or says its problem at the field. For forms that are read before there is a shop.
pub fn take<T, E: std::fmt::Display>(
    errors: &mut Errors,
    field: &'static str,
    read: Result<T, E>,
) -> Option<T> {
    read.map_err(|why| errors.push(Refusal::at(field, why.to_string()))).ok()
}

/// One line of text that must be there.
pub fn line(errors: &mut Errors, field: &'static str, text: &str, missing: &str) -> Option<String> {
    if text.trim().is_empty() {
        errors.push(Refusal::at(field, missing));
        return None;
    }
    take(errors, field, one_line(text, LINE))
}

/// Initials as typed, or from the name when left open.
pub fn initials(errors: &mut Errors, typed: &str, name: Option<&str>) -> Option<Initials> {
    match (name, typed.trim()) {
        (Some(name), "") => take(errors, "initials", Initials::of_name(name)),
        (None, "") => None,
        (_, typed) => take(errors, "initials", Initials::parse(typed)),
    }
}

/// The name to sign in with: one line, kept in lower case.
pub fn sign_in_name(errors: &mut Errors, text: &str) -> Option<String> {
    line(errors, "sign_in", text, "Give the name to sign in with.").map(|name| name.to_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_signing_in_one_stays_in_the_book() {
        assert_eq!(own_address("/block/breakdowns/1?a=b"), "/block/breakdowns/1?a=b");
        for elsewhere in
            ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example", "", "/a\r\nb"]
        {
            assert_eq!(own_address(elsewhere), "/");
        }
    }
}
