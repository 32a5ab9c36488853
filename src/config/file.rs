//! The settings file: flat TOML, `name = value`.

use std::fs;
use std::ops::Range;
use std::path::Path;

use toml::de::{DeTable, DeValue};

use super::{NAMES, Placed, SettingError, Values, known};

/// Reads the file whole.
pub fn read(path: &Path) -> Result<Values, SettingError> {
    let name = path.display().to_string();
    let text = fs::read_to_string(path)
        .map_err(|error| SettingError::at(&name, format!("the settings file could not be read: {error}.")))?;
    parse(&name, &text)
}

fn parse(file: &str, text: &str) -> Result<Values, SettingError> {
    let place = |span: Range<usize>| format!("{file}, line {}", line(text, span.start));
    let table = DeTable::parse(text).map_err(|error| {
        let place = error.span().map_or_else(|| file.to_owned(), place);
        SettingError::at(&place, format!("this is not TOML: {}.", error.message()))
    })?;
    let mut values = Values::new();
    for (key, value) in table.into_inner() {
        let place = place(key.span());
        let key = key.into_inner();
        let Some(known) = known(&key) else {
            let all = NAMES.join(", ");
            return Err(SettingError::at(&place, format!("“{key}” is not a setting. There are {all}.")));
        };
        let value = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Boolean(answer) => answer.to_string(),
            _ => {
                return Err(SettingError::at(
                    &place,
                    format!("{known} takes one value: a text, a number, true or false."),
                ));
            }
        };
        values.insert(known, Placed { value, place: format!("{place}, {known}") });
    }
    Ok(values)
}

/// Counted from 1.
fn line(text: &str, offset: usize) -> usize {
    text.bytes().take(offset).filter(|byte| *byte == b'\n').count() + 1
}
