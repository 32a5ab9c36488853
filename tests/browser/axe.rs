//! What axe-core has to say of a page. It is fetched by `.ci/setup --tests`, not kept here.

use serde_json::json;

use crate::tab::Tab;

/// Where `.ci/setup --tests` puts it.
const AXE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/target/axe/axe.min.js");

/// The success criteria of WCAG 2.2 at level A and AA, and axe-core's own best practice.
const ASK: &str = r"
    const done = arguments[arguments.length - 1];
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
    // Colours that are still changing over from the other scheme are nobody's colours.
    const frame = () => new Promise(next => requestAnimationFrame(next));
    const still = () => Promise.allSettled(document.getAnimations().map(moving => moving.finished));
    frame().then(frame).then(still).then(() => axe.run(document, { runOnly: tags })).then(
        found => done(found.violations.map(v => `${v.id}: ${v.help}\n    ` + v.nodes.map(n => n.html).join('\n    '))),
        why => done([`axe-core did not run: ${why}`]));";

impl Tab {
    /// Fails when axe-core finds anything on the page. Without scripts it cannot ask.
    pub async fn is_accessible(&self) {
        let found = self.axe().await;
        assert!(found.is_empty(), "{}", found.join("\n"));
    }

    /// What axe-core finds on the page, in the light and in the dark.
    pub async fn axe(&self) -> Vec<String> {
        if !self.scripts || !self.is_a_page().await {
            return Vec::new();
        }
        let axe = std::fs::read_to_string(AXE)
            .unwrap_or_else(|why| panic!("{AXE} cannot be read ({why}); run .ci/setup --tests"));
        self.browser().execute(axe, Vec::new()).await.unwrap();
        let mut all = Vec::new();
        for scheme in ["light", "dark"] {
            self.scheme(scheme).await;
            let answer = self.browser().execute_async(ASK, Vec::new()).await.unwrap();
            let found: Vec<String> = answer.convert().unwrap();
            if !found.is_empty() {
                self.picture(&format!("axe-{scheme}")).await;
                all.push(format!("{} in the {scheme}: {}", self.path().await, found.join("\n  ")));
            }
        }
        self.scheme("light").await;
        all
    }

    /// Whether what is shown is a page of ours, and no text or picture that the browser frames by itself.
    async fn is_a_page(&self) -> bool {
        let kind = self.browser().execute("return document.contentType", Vec::new()).await.unwrap();
        kind.convert::<String>().unwrap() == "text/html"
    }

    /// Shows the page as a device in the light or in the dark would.
    pub async fn scheme(&self, scheme: &str) {
        let media = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        self.browser().cdp().send_raw("Emulation.setEmulatedMedia", media).await.unwrap();
    }
}
