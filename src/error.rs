//! One error type at the edge. A refusal is something a person can mend; a failure is something we must.

use std::fmt;

/// A rule or a field that says no, and where on the page it says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The name of the field that it stands at; empty when it is about the whole form.
    pub field: &'static str,
    /// A sentence for the person.
    pub message: String,
}

impl Refusal {
    pub fn at(field: &'static str, message: impl Into<String>) -> Self {
        Self { field, message: message.into() }
    }

    /// A refusal about the form as a whole.
    pub fn of(message: impl Into<String>) -> Self {
        Self::at("", message)
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

/// Everything that is wrong with a form, in the order of its fields.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Errors(Vec<Refusal>);

impl Errors {
    pub fn push(&mut self, refusal: Refusal) {
        self.0.push(refusal);
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn iter(&self) -> impl Iterator<Item = &Refusal> {
        self.0.iter()
    }

    /// Everything, in order, for the summary on top of a form.
    pub fn list(&self) -> &[Refusal] {
        &self.0
    }

    /// What stands at the field of this name.
    pub fn of(&self, field: &str) -> Option<&str> {
        self.0.iter().find(|refusal| refusal.field == field).map(|refusal| refusal.message.as_str())
    }
}

impl From<Refusal> for Errors {
    fn from(refusal: Refusal) -> Self {
        Self(vec![refusal])
    }
}

/// How a request or a command ends when it does not end well.
#[derive(Debug)]
pub enum Error {
    /// There is no such thing, or it is not this person's to see.
    NotFound,
    /// The person has not the right.
    Forbidden,
    /// The person can mend it: what was typed stays, each sentence at its field.
    Form(Errors),
    /// We must mend it. The page shows a number, the log has the rest.
    Broken(anyhow::Error),
}

/// The result of nearly everything here.
pub type Result<T, E = Error> = std::result::Result<T, E>;

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFound => f.write_str("there is no such thing"),
            Self::Forbidden => f.write_str("this needs a right that the person has not"),
            Self::Form(errors) => {
                let said: Vec<&str> = errors.iter().map(|r| r.message.as_str()).collect();
                f.write_str(&said.join(" "))
            }
            Self::Broken(why) => write!(f, "{why:#}"),
        }
    }
}

impl std::error::Error for Error {}

impl From<Refusal> for Error {
    fn from(refusal: Refusal) -> Self {
        Self::Form(refusal.into())
    }
}

impl From<Errors> for Error {
    fn from(errors: Errors) -> Self {
        Self::Form(errors)
    }
}

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Self {
        Self::Broken(error.into())
    }
}

impl From<anyhow::Error> for Error {
    fn from(error: anyhow::Error) -> Self {
        Self::Broken(error)
    }
}

/// Lets a broken constraint speak to a field.
pub trait OnConstraint<T>: Sized {
    /// Turns a violation of one of these constraints (name, field, sentence) into a refusal; all else stays broken.
    fn on_constraints(self, known: &[(&str, &'static str, &str)]) -> Result<T>;

    /// The same for one constraint.
    fn on_constraint(self, name: &str, field: &'static str, message: &str) -> Result<T> {
        self.on_constraints(&[(name, field, message)])
    }
}

impl<T> OnConstraint<T> for Result<T, sqlx::Error> {
    fn on_constraints(self, known: &[(&str, &'static str, &str)]) -> Result<T> {
        self.map_err(|error| {
            let broken = error.as_database_error().and_then(sqlx::error::DatabaseError::constraint);
            match known.iter().find(|(name, _, _)| broken == Some(*name)) {
                Some((_, field, message)) => Refusal::at(field, *message).into(),
                None => error.into(),
            }
        })
    }
}
