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
    Yields,
    Setup,
    /// None of them: sign-in, one's own page, a failure.
    Elsewhere,
}

impl Area {
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
}
