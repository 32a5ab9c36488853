//! What stands on top of the pages of one breakdown: what lies on the block and where it came from.

use sqlx::PgConnection;

use super::super::db;
use super::super::entry::OnTheBlock;
use crate::error::Result;
use crate::ids::SupplierId;
use crate::receiving::{self, Origin};
use crate::web::Me;
use crate::web::ledger;
use crate::web::parts::Step;

/// Ready to print by `block/heading.html`.
pub struct Heading {
    pub form_word: &'static str,
    pub code: String,
    pub lot_href: String,
    /// "pig carcass, Saddleback, ear tag 0217, Hazelrigg Farm, received 24 Nov"
    pub said: String,
    /// From the source's own source down to it; empty for what came through the door.
    pub way: Vec<Step>,
}

/// What a breakdown's source came from.
pub struct From {
    pub origin: Option<Origin>,
    pub parent: Option<db::Parent>,
}

impl From {
    pub async fn of(db: &mut PgConnection, block: &OnTheBlock) -> Result<Self> {
        let parent = db::parent(db, block.source.id).await?;
        let origin = match db::root_of(db, &block.source.code).await? {
            Some(root) => receiving::origin(db, root).await?,
            None => None,
        };
        Ok(Self { origin, parent })
    }

    pub fn supplier(&self) -> Option<(SupplierId, &str)> {
        self.origin.as_ref().map(|origin| (origin.supplier, origin.supplier_name.as_str()))
    }
}

impl Heading {
    pub fn of(me: &Me, block: &OnTheBlock, from: &From) -> Self {
        let code = block.source.code.to_string();
        Self {
            form_word: block.source.form.word(),
            lot_href: block.source.id.path(),
            said: said(me, block, from.origin.as_ref()),
            way: from.parent.as_ref().map(|parent| way(me, parent, &code, block)).unwrap_or_default(),
            code,
        }
    }
}

fn said(me: &Me, block: &OnTheBlock, origin: Option<&Origin>) -> String {
    let mut words = vec![block.source.item_name.clone()];
    if let Some(origin) = origin {
        let tag =
            if origin.ear_tag.is_empty() { String::new() } else { format!("ear tag {}", origin.ear_tag) };
        let received = format!("received {}", ledger::day(me, origin.happened_at));
        words.extend([origin.breed.clone(), tag, origin.supplier_name.clone(), received]);
    }
    words.retain(|word| !word.is_empty());
    words.join(", ")
}

fn way(me: &Me, parent: &db::Parent, code: &str, block: &OnTheBlock) -> Vec<Step> {
    let above = Step {
        href: parent.breakdown.path(),
        code: parent.code.to_string(),
        note: format!("{} {}", parent.item_name, me.shop.weight(parent.taken_in)),
        ..Step::default()
    };
    let here = Step {
        code: code.to_owned(),
        note: format!("{} {}", block.source.item_name, me.shop.weight(block.taken_in)),
        here: true,
        ..Step::default()
    };
    vec![above, here]
}
