//! A run over its limit whose deviation was decided.

use super::*;

const WHOLE: [(&str, &str); 4] = [
    ("cause", "The cabinet's thermostat stuck; it was replaced."),
    ("control", "25.1 °C, read every hour since."),
    ("prevent", "A second probe stops the heating at 28 °C."),
    ("product", "Every piece was sampled for enterotoxin before anything is let go."),
];

/// Somebody decides on the deviation of the run.
async fn decide(shop: &Shop, made: &Made, decisions: &[&str]) -> String {
    let open = deviations::all_open_deviations(&mut shop.app.db().await.unwrap()).await.unwrap();
    let [deviation] = open.as_slice() else { panic!("{} are open", open.len()) };
    let path = deviation.id.path();
    goes_to(&shop.post(Cast::Cutter, &format!("{path}/corrective-action"), &WHOLE).await);
    let lots: Vec<String> = deviation.lots.iter().map(ToString::to_string).collect();
    assert_eq!(lots.len(), made.pieces.len());
    let mut fields = vec![("every", ""), ("words", "No enterotoxin in any sample, report 2214.")];
    for (lot, decision) in lots.iter().zip(decisions.iter().cycle()) {
        fields.extend([("lot", lot.as_str()), ("decision", *decision)]);
    }
    goes_to(&shop.post(Cast::Reviewer, &format!("{path}/decision"), &fields).await);
    path
}

async fn over() -> (Shop, Larder, Made) {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    read_chamber(&shop, &larder.chamber, "35").await;
    warm(&shop, &larder.chamber, 32, 4, "35").await;
    assert!(matches!(stands(&shop, &made).await, Some(Found::Failed { .. })));
    (shop, larder, made)
}

#[tokio::test]
async fn the_criterion_is_met_by_the_decision_that_lifted_the_hold_with_its_words_and_its_line() {
    let (shop, larder, made) = over().await;
    decide(&shop, &made, &["lift the hold"]).await;
    let line = shop.lines().await;
    let Some(Found::Met { figure, by }) = stands(&shop, &made).await else { panic!("not met") };
    assert!(figure.starts_with("620.8 of 555\u{a0}°C-hours"), "{figure}");
    assert!(figure.contains(": over the limit before pH 5.3; "), "{figure}");
    assert!(figure.contains(&format!("hold lifted by RE, line {line}, of ")), "{figure}");
    assert!(made.pieces.iter().all(|piece| figure.contains(&piece.code.to_string())), "{figure}");
    assert!(figure.ends_with("No enterotoxin in any sample, report 2214"), "{figure}");
    assert_eq!(by.last().map(|seq| seq.0), Some(line));
    let page = shop.get(Cast::Inspector, &path(&made)).await;
    assert!(page.all(".notice.met").concat().contains("hold lifted by RE"), "{:?}", page.all(".notice"));
    assert!(!shop.get(Cast::Owner, "/").await.text.contains("Degree-hours of"), "it no longer presses");
    // Later readings judge it no second time.
    warm(&shop, &larder.chamber, 4, 4, "25").await;
    assert_eq!(deviations(&shop).await, 0);
    // The decision is struck: nothing stands for it any more.
    let strike = format!("/entries/{line}/strike");
    goes_to(&shop.post(Cast::Owner, &strike, &[("reason", "another batch's report")]).await);
    assert!(matches!(stands(&shop, &made).await, Some(Found::Failed { .. })));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_decision_that_lets_nothing_go_leaves_it_as_it_is() {
    for kept in ["keep on hold", "discard"] {
        let (shop, _, made) = over().await;
        decide(&shop, &made, &[kept]).await;
        assert!(matches!(stands(&shop, &made).await, Some(Found::Failed { .. })), "{kept}");
        assert!(held(&shop, made.pieces[0].lot).await.is_some());
    }
}
