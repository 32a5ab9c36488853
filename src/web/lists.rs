//! Lists that many pages show, drawn once: the macros of `templates/parts/` hand on to these, because a macro's text is compiled anew
//! into every page that calls it.

use askama::Template;
use askama::filters::HtmlSafe;

use super::parts::{Due, Fact, Figure, Line, Notice, Tab};

/// Lines of the book as a table; an empty title has no heading.
#[derive(Template)]
#[template(path = "parts/lists/lines.html")]
pub struct Lines<'a> {
    title: &'a str,
    rows: &'a [Line],
    figure: &'a str,
    second: &'a str,
}

impl<'a> Lines<'a> {
    pub fn new(title: &'a str, lines: &'a [Line], figure: &'a str, second: &'a str) -> Self {
        Self { title, rows: lines, figure, second }
    }
}

/// What is due, as a table.
#[derive(Template)]
#[template(path = "parts/lists/dues.html")]
pub struct Dues<'a> {
    title: &'a str,
    list: &'a [Due],
}

impl<'a> Dues<'a> {
    pub fn new(title: &'a str, list: &'a [Due]) -> Self {
        Self { title, list }
    }
}

#[derive(Template)]
#[template(path = "parts/lists/figures.html")]
pub struct Figures<'a> {
    list: &'a [Figure],
}

impl<'a> Figures<'a> {
    pub fn new(list: &'a [Figure]) -> Self {
        Self { list }
    }
}

#[derive(Template)]
#[template(path = "parts/lists/facts.html")]
pub struct Facts<'a> {
    list: &'a [Fact],
}

impl<'a> Facts<'a> {
    pub fn new(list: &'a [Fact]) -> Self {
        Self { list }
    }
}

/// The sheets of an area.
#[derive(Template)]
#[template(path = "parts/lists/tabs.html")]
pub struct Tabs<'a> {
    label: &'a str,
    list: &'a [Tab],
}

impl<'a> Tabs<'a> {
    pub fn new(label: &'a str, list: &'a [Tab]) -> Self {
        Self { label, list }
    }
}

/// A notice, said.
#[derive(Template)]
#[template(path = "parts/lists/notice.html")]
pub struct Said<'a> {
    mark: &'a str,
    text: &'a str,
    href: &'a str,
    link: &'a str,
}

impl<'a> Said<'a> {
    pub fn new(notice: &'a Notice) -> Self {
        Self { mark: notice.mark, text: &notice.text, href: &notice.href, link: &notice.link }
    }
}

impl HtmlSafe for Lines<'_> {}
impl HtmlSafe for Dues<'_> {}
impl HtmlSafe for Figures<'_> {}
impl HtmlSafe for Facts<'_> {}
impl HtmlSafe for Tabs<'_> {}
impl HtmlSafe for Said<'_> {}
