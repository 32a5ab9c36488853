//! The fields of a form, drawn: label, control, hint and error in one place. The macros of `templates/parts/fields.html` hand on to
//! these, because a macro's text is compiled anew into every page that calls it and a component only once.

use std::borrow::Cow;

use askama::Template;
use askama::filters::HtmlSafe;

use super::parts::Choice;
use crate::error::Errors;

/// What every field has, whatever its control. Empty texts stand for nothing.
#[derive(Debug, Clone, Copy)]
pub struct Field<'a> {
    errors: &'a Errors,
    name: &'a str,
    label: &'a str,
    hint: &'a str,
    id: &'a str,
    optional: bool,
}

impl<'a> Field<'a> {
    pub fn new(
        errors: &'a Errors,
        name: &'a str,
        label: &'a str,
        hint: &'a str,
        id: &'a str,
        optional: impl Yes,
    ) -> Self {
        Self { errors, name, label, hint, id, optional: optional.yes() }
    }

    /// Everything that is wrong with the form, above it; nothing when nothing is.
    pub fn summary(errors: &'a Errors, title: &'a str) -> Summary<'a> {
        Summary { errors, title }
    }

    /// What is wrong with a control that the page draws by itself.
    pub fn fault(errors: &'a Errors, name: &'a str) -> Fault<'a> {
        Fault { field: Self::new(errors, name, "", "", "", false) }
    }

    /// The id of the control: its own, or "f-" and the name.
    fn own(&self) -> Cow<'a, str> {
        if self.id.is_empty() { format!("f-{}", self.name).into() } else { self.id.into() }
    }

    fn error(&self) -> Option<&'a str> {
        self.errors.of(self.name)
    }

    /// The class of a field with an error, after its first class.
    fn bad(&self) -> &'static str {
        if self.error().is_some() { " bad" } else { "" }
    }

    fn input(self, kind: &'static str, value: &'a str) -> Input<'a> {
        Input {
            field: self,
            kind,
            value,
            complete: "off",
            class: "",
            mode: "",
            unit: "",
            takes_code: false,
            focus: false,
        }
    }

    pub fn text(self, value: &'a str, complete: &'a str, class: &'a str) -> Input<'a> {
        Input { complete, class, ..self.input("text", value) }
    }

    /// A tag's code; what a scanner types stays in it.
    pub fn code(self, value: &'a str, focus: impl Yes) -> Input<'a> {
        Input { class: "code", takes_code: true, focus: focus.yes(), ..self.input("text", value) }
    }

    /// What was typed does not come back.
    pub fn password(self, complete: &'a str) -> Input<'a> {
        Input { complete, ..self.input("password", "") }
    }

    pub fn pin(self) -> Input<'a> {
        Input { mode: "numeric", ..self.input("password", "") }
    }

    pub fn date(self, value: &'a str) -> Input<'a> {
        Input { class: "short", ..self.input("date", value) }
    }

    pub fn datetime(self, value: &'a str) -> Input<'a> {
        self.input("datetime-local", value)
    }

    /// A number, with its unit beside it where it has one.
    pub fn decimal(self, value: &'a str, unit: &'a str) -> Input<'a> {
        let class = if unit.is_empty() { "short" } else { "" };
        Input { class, mode: "decimal", unit, ..self.input("text", value) }
    }

    pub fn area(self, value: &'a str) -> TextArea<'a> {
        TextArea { field: self, value }
    }

    pub fn select(self, value: &'a str, choices: &'a [Choice], none: &'a str) -> Select<'a> {
        Select { field: self, value, choices, none }
    }

    pub fn picks(self, value: &'a str, choices: &'a [Choice], class: &str) -> Radios<'a> {
        let class = if class.is_empty() { "picks" } else { "picks wide" };
        Radios { field: self, value, choices, class }
    }

    pub fn segments(self, value: &'a str, choices: &'a [Choice]) -> Radios<'a> {
        Radios { field: self, value, choices, class: "segments" }
    }

    pub fn ticks(self, values: &'a [String], choices: &'a [Choice]) -> Ticks<'a> {
        Ticks { field: self, values, choices }
    }

    pub fn tick(self, value: &str) -> TickBox<'a> {
        TickBox { field: self, ticked: value == "yes" }
    }

    /// The big entry of a page that weighs.
    pub fn weight(self, value: &'a str, unit: &'a str, from: &'a str, focus: impl Yes) -> Weight<'a> {
        Weight { field: self, value, unit, from, focus: focus.yes(), class: "weight" }
    }

    /// The same at the size of other fields.
    pub fn small_weight(self, value: &'a str, unit: &'a str, from: &'a str) -> Weight<'a> {
        Weight { field: self, value, unit, from, focus: false, class: "small-weight" }
    }
}

/// A yes or no as a template hands it on: by value or by reference.
pub trait Yes {
    fn yes(self) -> bool;
}

impl Yes for bool {
    fn yes(self) -> bool {
        self
    }
}

impl<T: Yes + Copy> Yes for &T {
    fn yes(self) -> bool {
        (*self).yes()
    }
}

#[derive(Template)]
#[template(path = "parts/fields/errors.html")]
pub struct Summary<'a> {
    errors: &'a Errors,
    title: &'a str,
}

#[derive(Template)]
#[template(path = "parts/fields/error.html")]
pub struct Fault<'a> {
    field: Field<'a>,
}

#[derive(Template)]
#[template(path = "parts/fields/input.html")]
pub struct Input<'a> {
    field: Field<'a>,
    kind: &'static str,
    value: &'a str,
    complete: &'a str,
    class: &'a str,
    mode: &'static str,
    unit: &'a str,
    takes_code: bool,
    focus: bool,
}

#[derive(Template)]
#[template(path = "parts/fields/area.html")]
pub struct TextArea<'a> {
    field: Field<'a>,
    value: &'a str,
}

#[derive(Template)]
#[template(path = "parts/fields/select.html")]
pub struct Select<'a> {
    field: Field<'a>,
    value: &'a str,
    choices: &'a [Choice],
    none: &'a str,
}

#[derive(Template)]
#[template(path = "parts/fields/radios.html")]
pub struct Radios<'a> {
    field: Field<'a>,
    value: &'a str,
    choices: &'a [Choice],
    class: &'static str,
}

#[derive(Template)]
#[template(path = "parts/fields/ticks.html")]
pub struct Ticks<'a> {
    field: Field<'a>,
    values: &'a [String],
    choices: &'a [Choice],
}

impl Ticks<'_> {
    /// Whether an answer is a sentence, which wants a wider button than a word.
    fn wordy(&self) -> bool {
        self.choices.iter().any(|choice| choice.label.chars().count() > 28)
    }
}

#[derive(Template)]
#[template(path = "parts/fields/tick.html")]
pub struct TickBox<'a> {
    field: Field<'a>,
    ticked: bool,
}

#[derive(Template)]
#[template(path = "parts/fields/weight.html")]
pub struct Weight<'a> {
    field: Field<'a>,
    value: &'a str,
    unit: &'a str,
    from: &'a str,
    focus: bool,
    class: &'static str,
}

impl HtmlSafe for Summary<'_> {}
impl HtmlSafe for Fault<'_> {}
impl HtmlSafe for Input<'_> {}
impl HtmlSafe for TextArea<'_> {}
impl HtmlSafe for Select<'_> {}
impl HtmlSafe for Radios<'_> {}
impl HtmlSafe for Ticks<'_> {}
impl HtmlSafe for TickBox<'_> {}
impl HtmlSafe for Weight<'_> {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Refusal;

    #[test]
    fn what_was_typed_comes_back_and_cannot_become_markup() {
        let errors = Errors::from(Refusal::at("docket", "Say \"which\" docket."));
        let drawn =
            Field::new(&errors, "docket", "Docket", "", "", false).text("<b>7</b>", "off", "").to_string();
        assert!(drawn.contains("value=\"&#60;b&#62;7&#60;/b&#62;\""), "{drawn}");
        assert!(
            drawn.contains("class=\"field bad\"") && drawn.contains("aria-describedby=\" f-docket-error\"")
        );
        assert!(drawn.contains("Say &#34;which&#34; docket."));
    }

    #[test]
    fn a_password_never_comes_back() {
        let errors = Errors::default();
        let drawn = Field::new(&errors, "password", "Password", "", "", false).password("new-password");
        assert!(drawn.to_string().contains("value=\"\" autocomplete=\"new-password\""));
    }
}
