//! A page that came back, asked by CSS selector.

use axum::http::{HeaderMap, StatusCode};
use scraper::{Html, Selector};

#[derive(Debug)]
pub struct Page {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
    /// Bytes as they were sent.
    pub size: usize,
}

impl Page {
    /// The texts of all elements that fit, each with its spaces drawn together.
    pub fn all(&self, selector: &str) -> Vec<String> {
        let html = Html::parse_document(&self.text);
        let selector = Selector::parse(selector).unwrap();
        html.select(&selector)
            .map(|found| found.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" "))
            .collect()
    }

    /// The text of the first element that fits.
    ///
    /// # Panics
    /// When none does.
    pub fn one(&self, selector: &str) -> String {
        let found = self.all(selector);
        found.first().unwrap_or_else(|| panic!("no {selector} in\n{}", self.text)).clone()
    }

    /// An attribute of the first element that fits.
    pub fn attribute(&self, selector: &str, name: &str) -> Option<String> {
        let html = Html::parse_document(&self.text);
        let selector = Selector::parse(selector).unwrap();
        html.select(&selector).next().and_then(|found| found.value().attr(name)).map(ToOwned::to_owned)
    }

    /// The number that the page's form was drawn with.
    pub fn form_id(&self) -> String {
        self.attribute("input[name=id]", "value").unwrap()
    }

    /// What a field says is wrong with it.
    pub fn error_at(&self, field: &str) -> String {
        self.all(&format!("#f-{field}-error")).join(" ")
    }
}
