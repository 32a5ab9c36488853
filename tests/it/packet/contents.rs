//! The text of a packet against the rows of the database.

use flitchbook::book::{Say, Seq};
use flitchbook::measure::{Grams, ShopZone, UnitSystem, clock, day_year};
use time::OffsetDateTime;

use super::*;

/// A line as it stands in the table of every line, without spaces.
async fn printed(shop: &Shop, seqs: &[i64], zone: &ShopZone) -> Vec<String> {
    let mut conn = shop.app.db().await.unwrap();
    let seqs: Vec<Seq> = seqs.iter().copied().map(Seq).collect();
    let entries = flitchbook::book::db::these(&mut conn, &seqs).await.unwrap();
    let at = |at: OffsetDateTime| format!("{} {}", day_year(zone.date(at)), clock(zone.local(at)));
    entries
        .iter()
        .map(|entry| {
            let say = Say { system: UnitSystem::Metric };
            let line = shop.app.book.kinds.read(&entry.kind, &entry.body).unwrap().line(&say);
            let alarm = line.alarm.map_or(String::new(), |word| format!("({word})"));
            let (seq, happened) = (entry.at.seq, at(entry.at.happened_at));
            let same = zone.date(entry.at.happened_at) == zone.date(entry.at.recorded_at);
            let written = entry.at.recorded_at;
            let written = if same { clock(zone.local(written)) } else { at(written) };
            let Some(by) = &entry.struck else {
                return squeezed(&format!(
                    "{seq}{happened}{written}{}{alarm}{}{}{}",
                    line.what, line.why, line.figure, entry.initials
                ));
            };
            let struck = format!("struck {} by {}, line {}: {}", at(by.at), by.initials, by.seq, by.reason);
            squeezed(&format!(
                "{seq}{happened}{written}{}{alarm}{}{}{}{struck}",
                line.what, line.why, line.figure, entry.initials
            ))
        })
        .collect()
}

/// The numbers that a query gives for a batch.
async fn seqs(shop: &Shop, query: &'static str, batch: BatchId) -> Vec<i64> {
    sqlx::query_scalar(query).bind(batch.0).fetch_all(&shop.app.book.pool).await.unwrap()
}

/// Records of a batch by the tables of the areas, each by a query of its own that knows nothing of how a packet chooses.
const RECORDS: [(&str, &str); 9] = [
    ("lines", "SELECT lines_of_batch($1) ORDER BY 1"),
    ("ingredients", "SELECT seq FROM batch_ingredient WHERE batch = $1"),
    ("meat", "SELECT seq FROM batch_meat WHERE batch = $1"),
    ("stages", "SELECT seq FROM batch_stage WHERE batch = $1"),
    ("weigh-ins", "SELECT w.seq FROM weigh_in w JOIN piece p ON p.lot = w.lot WHERE p.batch = $1"),
    (
        "readings",
        "SELECT r.seq FROM reading r LEFT JOIN piece p ON p.lot = r.lot WHERE r.batch = $1 OR p.batch = $1",
    ),
    (
        "deliveries",
        "SELECT r.seq FROM batch_meat m JOIN received r ON r.lot = m.lot WHERE m.batch = $1
         UNION SELECT r.seq FROM batch_ingredient i JOIN received r ON r.lot = i.lot WHERE i.batch = $1
         UNION SELECT d.seq FROM batch_ingredient i JOIN received r ON r.lot = i.lot JOIN delivery d ON d.id = r.delivery
               WHERE i.batch = $1",
    ),
    (
        "readings of where its pieces hung",
        "SELECT r.seq FROM batch_stage s JOIN reading r ON r.place = s.place
         WHERE s.batch = $1 AND s.struck_by IS NULL AND r.at >= s.at
           AND r.at <= coalesce((SELECT min(n.at) FROM batch_stage n
                                 WHERE n.batch = s.batch AND n.seq > s.seq AND n.struck_by IS NULL), 'infinity')
           AND EXISTS (SELECT 1 FROM piece p JOIN lot l ON l.id = p.lot WHERE p.batch = s.batch AND l.grams > 0)",
    ),
    (
        "dispatches",
        "SELECT d.seq FROM piece p JOIN pack k ON k.source = p.lot JOIN dispatch_line d ON d.lot = k.lot WHERE p.batch = $1
         UNION SELECT k.seq FROM piece p JOIN pack k ON k.source = p.lot WHERE p.batch = $1",
    ),
];

#[tokio::test]
async fn the_packet_of_every_batch_holds_every_record_of_it() {
    let shop = Shop::demo().await;
    let zone = ShopZone::parse("Europe/London").unwrap();
    let batches = batches(&shop).await;
    assert!(batches.len() >= 5, "{} batches", batches.len());
    let mut files = Vec::new();
    for (batch, _) in &batches {
        files.push(shop.file(Cast::Inspector, &format!("{}/packet.pdf", Scope::Batch(*batch).path())).await);
    }
    let mut found = std::collections::BTreeMap::new();
    for ((batch, code), opened) in batches.iter().zip(opened(&files)) {
        let text = text(&opened);
        for (what, query) in RECORDS {
            let seqs = seqs(&shop, query, *batch).await;
            *found.entry(what).or_insert(0) += seqs.len();
            for line in printed(&shop, &seqs, &zone).await {
                assert!(text.contains(&line), "{what} of {code}: {line}\nis not in\n{text}");
            }
        }
    }
    for (what, count) in &found {
        assert!(*count > 0, "the demo has no {what}: {found:?}");
    }
    assert!(found["lines"] > 300, "{found:?}");
}

#[tokio::test]
async fn readings_and_weigh_ins_stand_with_value_unit_limit_and_instrument() {
    let shop = Shop::demo().await;
    let zone = ShopZone::parse("Europe/London").unwrap();
    let at = |at: OffsetDateTime| format!("{}{}", day_year(zone.date(at)), clock(zone.local(at)));
    let (batch, _) = batches(&shop).await.remove(0);
    let file = shop.file(Cast::Owner, &format!("{}/packet.pdf", Scope::Batch(batch).path())).await;
    let text = text(&opened(&[file])[0]);
    let weighed: Vec<(OffsetDateTime, String, Grams, Grams)> = sqlx::query_as(
        "SELECT w.at, l.code, w.grams, w.before FROM weigh_in w JOIN piece p ON p.lot = w.lot JOIN lot l ON l.id = w.lot
         WHERE p.batch = $1",
    )
    .bind(batch.0)
    .fetch_all(&shop.app.book.pool)
    .await
    .unwrap();
    assert!(weighed.len() > 5);
    for (moment, code, grams, before) in weighed {
        let (grams, before) = (grams.in_system(UnitSystem::Metric), before.in_system(UnitSystem::Metric));
        let row = squeezed(&format!("{code}{}", at(moment)));
        let begins = text.match_indices(&row).map(|(from, _)| &text[from + row.len()..]);
        let figures = squeezed(&format!("{grams}{before}"));
        let there = begins
            .into_iter()
            .any(|rest| rest.split_once(&figures).is_some_and(|(written, _)| written.len() < 20));
        assert!(there, "{code} at {moment}: {figures}");
    }
    let limits: Vec<(i64, String, String)> = sqlx::query_as(
        "SELECT c.seq, c.limit_name, c.source FROM check_record c JOIN reading r ON r.seq = c.seq JOIN piece p ON p.lot = r.lot
         WHERE p.batch = $1",
    )
    .bind(batch.0)
    .fetch_all(&shop.app.book.pool)
    .await
    .unwrap();
    for (_, name, source) in limits {
        assert!(text.contains(&squeezed(&name)) && text.contains(&squeezed(&source)), "{name}: {source}");
    }
}

#[tokio::test]
async fn it_is_tagged_numbered_and_carries_its_fonts_and_heads_stand_on_every_sheet() {
    let shop = Shop::demo().await;
    let (batch, code) = batches(&shop).await.remove(0);
    let path = format!("{}/packet.pdf", Scope::Batch(batch).path());
    let file = shop.file(Cast::Owner, &path).await;
    assert!(file == shop.file(Cast::Owner, &path).await, "the same book at the same time is the same file");
    let opened = opened(&[file]).remove(0);
    let pages = opened["pages"].as_array().unwrap();
    for (n, page) in (1..).zip(pages) {
        let page = page.as_str().unwrap();
        assert!(page.contains(&format!("Page {n} of {}", pages.len())), "page {n}:\n{page}");
    }
    let texts = pages.iter().map(|page| page.as_str().unwrap());
    let last = "Every line of the book about it";
    let of_lines: Vec<&str> =
        texts.filter(|page| page.contains(last) && !page.contains("What is in it")).collect();
    assert!(of_lines.len() > 2, "{} pages of lines", of_lines.len());
    let headed = of_lines.iter().filter(|page| page.contains("How and why")).count();
    assert_eq!(headed, of_lines.len(), "the heads of the table stand on each of its sheets");
    assert!(opened["title"].as_str().unwrap().contains(&code));
    assert_eq!(opened["language"], "en");
    assert_eq!(opened["tagged"], true);
    assert_eq!(opened["fonts embedded"], true);
    let kinds = &opened["structure"];
    for kind in ["/Document", "/H1", "/H2", "/P", "/Table", "/THead", "/TBody", "/TR", "/TH", "/TD"] {
        assert!(kinds[kind].as_u64().unwrap_or(0) > 0, "no {kind} in {kinds}");
    }
    let sections = opened["outline"].as_array().unwrap();
    assert!(sections.iter().any(|name| name == "Monitoring: readings and checks"), "{sections:?}");
}

#[tokio::test]
async fn what_was_struck_is_struck_in_the_packet_with_who_and_why() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    shop.later(time::Duration::days(7));
    let code = made.pieces[0].code.to_string();
    let weighed = [("code", code.as_str()), ("weight", "1900"), ("weight_unit", "g"), ("again", "yes")];
    crate::shop::goes_to(&shop.post(Cast::Curer, "/hanging/weigh", &weighed).await);
    let path = format!("/entries/{}/strike", shop.lines().await);
    crate::shop::goes_to(&shop.post(Cast::Curer, &path, &[("reason", "the scale stood on a cloth")]).await);
    let scope = Scope::Batch(made.batch).path();
    let text = text(&opened(&[shop.file(Cast::Inspector, &format!("{scope}/packet.pdf")).await])[0]);
    let note =
        squeezed("by QR, line") + &shop.lines().await.to_string() + &squeezed(": the scale stood on a cloth");
    // Among the weigh-ins, among the struck lines, and among all lines.
    assert_eq!(text.matches(&note).count(), 3, "{text}");
    let csv = shop.get(Cast::Inspector, &format!("{scope}/tables/struck.csv")).await;
    assert_eq!(csv.text.lines().count(), 2);
    assert!(csv.text.lines().nth(1).unwrap().ends_with("the scale stood on a cloth\""), "{}", csv.text);
}
