//! What stands around every page: the shop's name, where one is, who is signed in.

use super::App;
use super::me::Me;

/// The areas of the bar on top, in the order of the meat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Area {
    Today,
    Receiving,
    Block,
    Recipes,
    Batches,
    Hanging,
    Checks,
    Trace,
    Dispatch,
    Packet,
    Yields,
    Setup,
    /// None of them: sign-in, one's own page, a failure.
    Elsewhere,
}

/// A link of the bar: the word by which it is known, its address, its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AreaLink {
    pub word: &'static str,
    pub href: &'static str,
    pub name: &'static str,
}

const fn link(word: &'static str, href: &'static str, name: &'static str) -> AreaLink {
    AreaLink { word, href, name }
}

impl Area {
    /// The links of the bar, as they stand in it.
    pub const LINKS: [AreaLink; 12] = [
        link("today", "/", "Today"),
        link("receiving", "/receiving", "Receiving"),
        link("block", "/block", "Block"),
        link("recipes", "/recipes", "Recipes"),
        link("batches", "/batches", "Batches"),
        link("hanging", "/hanging", "Hanging"),
        link("checks", "/checks", "Checks"),
        link("trace", "/trace", "Trace"),
        link("dispatch", "/dispatch", "Dispatch"),
        link("packet", "/packet", "Packet"),
        link("yields", "/yields", "Yields"),
        link("setup", "/setup", "Setup"),
    ];

    /// The word by which the layout knows which link is the current one.
    pub fn word(self) -> &'static str {
        match self {
            Self::Today => "today",
            Self::Receiving => "receiving",
            Self::Block => "block",
            Self::Recipes => "recipes",
            Self::Batches => "batches",
            Self::Hanging => "hanging",
            Self::Checks => "checks",
            Self::Trace => "trace",
            Self::Dispatch => "dispatch",
            Self::Packet => "packet",
            Self::Yields => "yields",
            Self::Setup => "setup",
            Self::Elsewhere => "",
        }
    }
}

/// Who is signed in, for the ring on top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Who {
    pub name: String,
    pub initials: String,
}

/// The values that the layout prints.
#[derive(Debug, Clone)]
pub struct Frame {
    pub shop_name: String,
    pub area: &'static str,
    pub css: String,
    pub js: String,
    /// `None` on the open pages: then there is no bar.
    pub person: Option<Who>,
    /// "", "light" or "dark"; empty follows the device.
    pub theme: &'static str,
    pub notice: Option<super::parts::Notice>,
}

impl Frame {
    /// The frame of a page of `area` for who is signed in.
    pub fn new(app: &App, me: &Me, area: Area) -> Self {
        Self {
            shop_name: me.shop.name.clone(),
            area: area.word(),
            css: app.assets.css_path.clone(),
            js: app.assets.js_path.clone(),
            person: Some(Who { name: me.person.name.clone(), initials: me.person.initials.clone() }),
            theme: me.theme,
            notice: None,
        }
    }

    /// The frame of a page that is open to everyone.
    pub fn open(app: &App) -> Self {
        Self {
            shop_name: String::new(),
            area: "",
            css: app.assets.css_path.clone(),
            js: app.assets.js_path.clone(),
            person: None,
            theme: "",
            notice: None,
        }
    }

    /// The bar on top; nothing where nobody is signed in.
    pub fn bar(&self) -> Bar<'_> {
        Bar { areas: &Area::LINKS, here: self.area, shop_name: &self.shop_name, person: self.person.as_ref() }
    }
}

/// The bar on top of a page.
#[derive(askama::Template)]
#[template(path = "parts/lists/bar.html")]
pub struct Bar<'a> {
    areas: &'static [AreaLink],
    here: &'a str,
    shop_name: &'a str,
    person: Option<&'a Who>,
}

impl askama::filters::HtmlSafe for Bar<'_> {}
