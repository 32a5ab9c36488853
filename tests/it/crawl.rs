//! Every page that a link leads to, from a book in which every area has signed: it is there, it has one heading, its
//! fields have names, and nothing on it comes from elsewhere.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use scraper::{ElementRef, Html, Selector};

use crate::shop::{Cast, Page, Shop};

/// How many pages of one shape are asked for: `/entries/7` and `/entries/8` are one shape.
const OF_A_SHAPE: usize = 12;

/// The most that a page may weigh: as it is written, and as it is sent.
const HEAVIEST: usize = 400_000;
const HEAVIEST_SENT: usize = 100_000;

/// Walks a whole shop as one of its cast; everything that is wrong, by page.
pub async fn crawl(shop: &Shop, cast: Cast) -> (usize, Vec<String>) {
    let walk = walked(shop, cast, OF_A_SHAPE).await;
    (walk.pages.len(), walk.wrong)
}

/// Every page that a walk meets, with its text; `of_a_shape` of each at most.
pub async fn pages(shop: &Shop, cast: Cast, of_a_shape: usize) -> Vec<(String, String)> {
    walked(shop, cast, of_a_shape).await.pages
}

async fn walked(shop: &Shop, cast: Cast, of_a_shape: usize) -> Walk {
    let mut walk = Walk { of_a_shape, ..Walk::default() };
    walk.queue.push_back(("the start".into(), "/".into()));
    for room in ["/block", "/trace", "/me"] {
        walk.queue.push_back(("the start".into(), room.into()));
    }
    while let Some((from, path)) = walk.queue.pop_front() {
        walk.visit(shop, cast, &from, &path).await;
    }
    walk
}

#[derive(Default)]
struct Walk {
    of_a_shape: usize,
    queue: VecDeque<(String, String)>,
    seen: BTreeSet<String>,
    shapes: BTreeMap<String, usize>,
    pages: Vec<(String, String)>,
    wrong: Vec<String>,
}

impl Walk {
    async fn visit(&mut self, shop: &Shop, cast: Cast, from: &str, path: &str) {
        let path = path.split('#').next().unwrap_or(path);
        let shape = self.shapes.entry(shape(path)).or_default();
        if *shape >= self.of_a_shape || !self.seen.insert(path.to_owned()) {
            return;
        }
        *shape += 1;
        let request = Request::get(path).header(header::ACCEPT_ENCODING, "identity");
        let page = shop.send(cast, request, Body::empty()).await;
        match page.status {
            StatusCode::OK => {}
            StatusCode::SEE_OTHER => {
                let to = page.headers[header::LOCATION].to_str().unwrap().to_owned();
                self.queue.push_back((path.to_owned(), to));
                return;
            }
            status => {
                self.wrong.push(format!("{path}: {status}, linked from {from}"));
                return;
            }
        }
        if !page.headers[header::CONTENT_TYPE].to_str().unwrap().starts_with("text/html") {
            return;
        }
        let sent = Request::get(path).header(header::ACCEPT_ENCODING, "gzip");
        let sent = shop.send(cast, sent, Body::empty()).await.size;
        let (wrong, links) = look(&page, sent);
        self.wrong.extend(wrong.into_iter().map(|what| format!("{path}: {what}")));
        self.queue.extend(links.into_iter().map(|link| (path.to_owned(), link)));
        self.pages.push((path.to_owned(), page.text));
    }
}

/// An address with its numbers and ids taken out.
pub fn shape(path: &str) -> String {
    let path = path.split('?').next().unwrap_or(path);
    let word = |part: &str| {
        if part.chars().any(|c| c.is_ascii_digit()) { "{id}".to_owned() } else { part.to_owned() }
    };
    if path.starts_with("/static/") {
        path.to_owned()
    } else {
        path.split('/').map(word).collect::<Vec<_>>().join("/")
    }
}

/// What is wrong with one page, and where it leads.
fn look(page: &Page, sent: usize) -> (Vec<String>, Vec<String>) {
    let html = Html::parse_document(&page.text);
    let mut wrong = Vec::new();
    let headings = all(&html, "h1").count();
    if headings != 1 {
        wrong.push(format!("{headings} headings of the first level"));
    }
    if page.text.len() > HEAVIEST || sent > HEAVIEST_SENT {
        wrong.push(format!("weighs {} bytes, sent as {sent}", page.text.len()));
    }
    let mut ids = BTreeSet::new();
    for id in all(&html, "[id]").filter_map(|element| element.attr("id")) {
        if !ids.insert(id) {
            wrong.push(format!("two things are called {id}"));
        }
    }
    wrong.extend(dangling(&html, &ids));
    wrong.extend(unnamed(&html));
    let (links, foreign) = links(&html, &ids);
    wrong.extend(foreign);
    (wrong, links)
}

fn all<'a>(html: &'a Html, selector: &str) -> impl Iterator<Item = ElementRef<'a>> {
    let selector = Selector::parse(selector).unwrap();
    html.select(&selector).collect::<Vec<_>>().into_iter()
}

/// What points to something on the page that is not there.
fn dangling(html: &Html, ids: &BTreeSet<&str>) -> Vec<String> {
    let mut wrong = Vec::new();
    for attribute in ["for", "aria-describedby", "aria-labelledby", "aria-controls", "list"] {
        for element in all(html, &format!("[{attribute}]")) {
            let targets = element.attr(attribute).unwrap_or_default().split_whitespace();
            for target in targets.filter(|target| !ids.contains(target)) {
                wrong.push(format!("{attribute} points to {target}, which is not there"));
            }
        }
    }
    wrong
}

/// Controls without a name, and links and buttons without a word.
fn unnamed(html: &Html) -> Vec<String> {
    let labels: BTreeSet<&str> = all(html, "label[for]").filter_map(|label| label.attr("for")).collect();
    let mut wrong = Vec::new();
    for control in all(html, "input:not([type=hidden]):not([type=submit]), select, textarea") {
        let labelled = control.attr("id").is_some_and(|id| labels.contains(id))
            || ["aria-label", "aria-labelledby"].iter().any(|name| control.attr(name).is_some())
            || control.ancestors().filter_map(ElementRef::wrap).any(|above| above.value().name() == "label");
        if !labelled {
            wrong.push(format!("a control without a name: {}", control.html()));
        }
    }
    for act in all(html, "a, button") {
        if act.text().all(|text| text.trim().is_empty()) && act.attr("aria-label").is_none() {
            wrong.push(format!("a link or button without a word: {}", act.html()));
        }
    }
    wrong
}

/// Where the page leads, and what it takes from elsewhere.
fn links(html: &Html, ids: &BTreeSet<&str>) -> (Vec<String>, Vec<String>) {
    let mut links = Vec::new();
    let mut wrong = Vec::new();
    for attribute in ["href", "src", "action", "formaction"] {
        for element in all(html, &format!("[{attribute}]")) {
            let to = element.attr(attribute).unwrap_or_default();
            // A form is not a link: what it leads to hangs on what is typed.
            let posts = matches!(attribute, "action" | "formaction");
            match to {
                _ if to.starts_with('#') && (to == "#" || ids.contains(&to[1..])) => {}
                _ if to.starts_with("mailto:") || to.starts_with("tel:") || to.starts_with("data:") => {}
                _ if to.starts_with('/') && !to.starts_with("//") && !posts => links.push(to.to_owned()),
                _ if to.starts_with('/') && !to.starts_with("//") => {}
                _ => wrong.push(format!("{attribute} leads to {to:?}")),
            }
        }
    }
    (links, wrong)
}

#[tokio::test]
async fn every_page_that_the_owner_can_reach_is_there_and_in_order() {
    let shop = Shop::filled().await;
    let (pages, wrong) = crawl(&shop, Cast::Owner).await;
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(pages > 10, "only {pages} pages");
}

#[tokio::test]
async fn every_page_of_the_demo_is_there_and_in_order() {
    let shop = Shop::demo().await;
    let (pages, wrong) = crawl(&shop, Cast::Owner).await;
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(pages > 100, "only {pages} pages");
}

#[tokio::test]
async fn an_inspector_is_led_to_no_page_that_refuses_him() {
    let shop = Shop::filled().await;
    let (_, wrong) = crawl(&shop, Cast::Inspector).await;
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_crawl_itself_sees_what_it_looks_for() {
    let text = r##"<h1>a</h1><h1>b</h1><p id="x"></p><p id="x"></p><label for="y"></label><input name="z">
        <a href="https://elsewhere.example/x.js">e</a><a href="#nowhere">n</a><a href="/there"></a>"##;
    let page = Page { status: StatusCode::OK, headers: header::HeaderMap::new(), text: text.into(), size: 0 };
    let (wrong, links) = look(&page, 0);
    assert_eq!(wrong.len(), 7, "{wrong:#?}");
    assert_eq!(links, ["/there"]);
    assert_eq!(shape("/block/breakdowns/0199-ab?x=1"), "/block/breakdowns/{id}");
}
