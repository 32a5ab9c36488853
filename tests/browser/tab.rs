//! What a person does in front of the screen. A wait never rests on what was true before: after a click that leads
//! away, the old page itself must have gone.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use thirtyfour::{By, WebDriver, WebElement};

/// How long anything may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

/// One tab, signed in or not.
pub struct Tab {
    browser: WebDriver,
    origin: String,
    name: String,
    pub scripts: bool,
}

impl Tab {
    pub fn new(browser: WebDriver, origin: String, name: &str, scripts: bool) -> Self {
        let name = if scripts { name.to_owned() } else { format!("{name}-without-scripts") };
        Self { browser, origin, name, scripts }
    }

    pub fn browser(&self) -> &WebDriver {
        &self.browser
    }

    pub fn into_browser(self) -> WebDriver {
        self.browser
    }

    /// Goes to an address of the shop.
    pub async fn goto(&self, path: &str) {
        self.browser.goto(format!("{}{path}", self.origin)).await.unwrap();
    }

    /// Signs in, from a page that asks for it.
    pub async fn sign_in(&self, name: &str, password: &str) {
        self.fill_all(&[("sign_in", name), ("password", password)]).await;
        self.press("Sign in").await;
    }

    /// The address of the page, without the shop's own part.
    pub async fn path(&self) -> String {
        let url = self.browser.current_url().await.unwrap().to_string();
        url.strip_prefix(&self.origin).unwrap_or(&url).to_owned()
    }

    /// The first element that fits; waits until there is one.
    pub async fn find(&self, css: &str) -> WebElement {
        let until = Instant::now() + PATIENCE;
        loop {
            if let Ok(found) = self.browser.find(By::Css(css)).await {
                return found;
            }
            if Instant::now() > until {
                return self.give_up(&format!("there is no {css}")).await;
            }
            tokio::time::sleep(Duration::from_millis(30)).await;
        }
    }

    /// The texts of all elements that fit, as they are shown.
    pub async fn all(&self, css: &str) -> Vec<String> {
        let mut texts = Vec::new();
        for element in self.browser.find_all(By::Css(css)).await.unwrap() {
            texts.push(element.text().await.unwrap());
        }
        texts
    }

    /// Where the links of the page lead, inside the shop; files to take away are left out.
    pub async fn local_links(&self) -> Vec<String> {
        let mut links = Vec::new();
        for link in self.browser.find_all(By::Css("a[href^='/']")).await.unwrap() {
            links.extend(link.attr("href").await.unwrap());
        }
        links.retain(|link| !link.contains(".csv"));
        links
    }

    /// Whether the page says this somewhere; fails with the page's picture when it does not.
    pub async fn sees(&self, css: &str, words: &str) {
        let said = self.all(css).await.join("\n");
        if !said.contains(words) {
            self.give_up::<()>(&format!("{css} does not say {words:?} but {said:?}")).await;
        }
    }

    /// Waits until the page says this somewhere, as a script writes it.
    pub async fn comes(&self, css: &str, words: &str) {
        self.turns(css, words, true).await;
    }

    /// Waits until the page no longer says this.
    pub async fn goes(&self, css: &str, words: &str) {
        self.turns(css, words, false).await;
    }

    async fn turns(&self, css: &str, words: &str, said: bool) {
        let until = Instant::now() + PATIENCE;
        while self.all(css).await.join("\n").contains(words) != said {
            if Instant::now() > until {
                let now = self.all(css).await.join("\n");
                return self
                    .give_up(&format!("{css}, {words:?}: {said} does not come, it says {now:?}"))
                    .await;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// What stands in a field.
    pub async fn value(&self, css: &str) -> String {
        self.find(css).await.prop("value").await.unwrap().unwrap_or_default()
    }

    /// Types into a field in place of what stood there.
    pub async fn fill(&self, name: &str, text: &str) {
        self.fill_at(&format!("main [name='{name}']:not([type=hidden])"), text).await;
    }

    /// The same for a field that has company of its name.
    pub async fn fill_at(&self, css: &str, text: &str) {
        let field = self.find(css).await;
        if field.attr("type").await.unwrap().is_some_and(|kind| kind.starts_with("date")) {
            // The order in which a day is typed is the machine's; the field's value is not.
            let set = "arguments[0].value = arguments[1];";
            let arguments = vec![field.to_json().unwrap(), text.into()];
            self.browser.execute(set, arguments).await.unwrap();
            return;
        }
        field.clear().await.unwrap();
        field.send_keys(text).await.unwrap();
    }

    /// Fills several fields.
    pub async fn fill_all(&self, fields: &[(&str, &str)]) {
        for (name, text) in fields {
            self.fill(name, text).await;
        }
    }

    /// Picks the answer whose words begin like this: of a list, of large answers, of ticks.
    pub async fn choose(&self, name: &str, words: &str) {
        let control = self.find(&format!("main [name='{name}']:not([type=hidden])")).await;
        if control.tag_name().await.unwrap() == "select" {
            return self.pick(&control, words).await;
        }
        for label in self.labels(name).await {
            if label.text().await.unwrap().trim().starts_with(words) {
                return label.click().await.unwrap();
            }
        }
        self.give_up::<()>(&format!("{name} offers no {words:?}")).await;
    }

    /// Picks out of the list that fits.
    pub async fn choose_at(&self, css: &str, words: &str) {
        let list = self.find(css).await;
        self.pick(&list, words).await;
    }

    /// The answer with just these words, or else the first that begins with them.
    async fn pick(&self, list: &WebElement, words: &str) {
        let options = list.find_all(By::Tag("option")).await.unwrap();
        for whole in [true, false] {
            for option in &options {
                let text = option.text().await.unwrap();
                if text.trim() == words || (!whole && text.trim().starts_with(words)) {
                    return option.click().await.unwrap();
                }
            }
        }
        self.give_up::<()>(&format!("the list offers no {words:?}")).await;
    }

    /// Whether something on the page that can be pressed is called this, now.
    pub async fn has(&self, words: &str) -> bool {
        let path = format!("//main//*[self::a or self::button][normalize-space()={}]", quoted(words));
        self.browser.find(By::XPath(path)).await.is_ok()
    }

    /// The labels of large answers: around their control, or beside it.
    async fn labels(&self, name: &str) -> Vec<WebElement> {
        let path =
            format!("//main//label[.//input[@name='{name}'] or @for=//main//input[@name='{name}']/@id]");
        self.browser.find_all(By::XPath(path)).await.unwrap()
    }

    /// Clicks what leads away, and waits until the page that was there has gone.
    pub async fn click(&self, css: &str) {
        let act = self.find(css).await;
        self.leave_by(act, css).await;
    }

    /// The same for the link or button with these words.
    pub async fn press(&self, words: &str) {
        let path = format!("//main//*[self::a or self::button][normalize-space()={}]", quoted(words));
        let until = Instant::now() + PATIENCE;
        let act = loop {
            if let Ok(found) = self.browser.find(By::XPath(path.clone())).await {
                break found;
            }
            if Instant::now() > until {
                return self.give_up(&format!("nothing here is called {words:?}")).await;
            }
            tokio::time::sleep(Duration::from_millis(30)).await;
        };
        self.leave_by(act, words).await;
    }

    async fn leave_by(&self, act: WebElement, what: &str) {
        let old = self.browser.find(By::Tag("html")).await.unwrap();
        act.scroll_into_view().await.ok();
        act.click().await.unwrap();
        let until = Instant::now() + PATIENCE;
        while old.tag_name().await.is_ok() {
            if Instant::now() > until {
                return self.give_up(&format!("{what} leads nowhere")).await;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        self.find("main h1").await;
    }

    /// A picture of the page as it is, in `target/browser/`.
    pub async fn picture(&self, of: &str) -> PathBuf {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/browser");
        std::fs::create_dir_all(&folder).unwrap();
        let path = folder.join(format!("{}-{of}.png", self.name));
        self.browser.screenshot(&path).await.unwrap();
        path
    }

    /// Stops the journey with a picture of where it was.
    async fn give_up<T>(&self, why: &str) -> T {
        let picture = self.picture("broke-off").await;
        let words = self.browser.find(By::Tag("body")).await.unwrap().text().await.unwrap();
        panic!("{} at {}: {why}\nsee {}\n{words}", self.name, self.path().await, picture.display());
    }
}

/// A text as `XPath` writes it; none of ours has both kinds of quotation marks.
fn quoted(text: &str) -> String {
    if text.contains('\'') { format!("\"{text}\"") } else { format!("'{text}'") }
}
